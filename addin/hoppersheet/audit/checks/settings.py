"""Settings of the workbook that change what its numbers mean, and calculations in a circle."""

from __future__ import annotations

from collections.abc import Iterator

from ...cells.values import is_error
from ...workbook.book import Book, Cell
from ...workbook.formulas import Place, Reference
from ..context import Context, cell_name
from ..findings import Finding, finding, in_ranges

__all__ = ["calculation_settings", "check", "circles"]

_ON = ("1", "true")
_NAMED = 5  # cells with a name: whoever made the workbook refers by names


def calculation_settings(book: Book) -> dict[str, str]:
    """Attributes of ``calcPr`` (ECMA-376 part 1, 18.2.2)."""
    package = book.package
    for element in package.elements(package.workbook_part):
        if element.tag == "calcPr":
            return dict(element.attributes)
    return {}


def _of_workbook(context: Context) -> Iterator[Finding]:
    settings = calculation_settings(context.book)
    messages = []
    if settings.get("calcMode") == "manual":
        messages.append(
            "The workbook is set to manual calculation: whoever changes an input still reads the "
            "old results; set it to automatic and calculate it before it is sent."
        )
    if settings.get("fullPrecision", "1") not in _ON:
        messages.append(
            "The workbook calculates with its numbers as displayed (precision as displayed): a "
            "format with fewer digits changes sizes and prices for good; switch it off, and type "
            "again what was rounded away."
        )
    if settings.get("iterate", "0") in _ON:
        messages.append(
            "Iterative calculation is on: a calculation in a circle (circular reference) gives "
            "some number without a warning; switch it off and see whether the program reports a "
            "circle."
        )
    for message in messages:
        yield Finding("setting", "warning", "", "workbook", message)


def circles(context: Context) -> list[list[Cell]]:
    """Formulas that follow from themselves, each circle once (strongly connected cells)."""
    found: list[list[Cell]] = []
    if not context.precedents.in_order[1]:
        return found
    number: dict[Place, int] = {}
    lowest: dict[Place, int] = {}
    stack: list[Cell] = []
    on_stack: set[Place] = set()
    for start in context.book.formulas():
        if start.place in number:
            continue
        waiting: list[tuple[Cell, list[Cell]]] = []

        def enter(cell: Cell, waiting: list[tuple[Cell, list[Cell]]] = waiting) -> None:
            number[cell.place] = lowest[cell.place] = len(number)
            stack.append(cell)
            on_stack.add(cell.place)
            waiting.append((cell, _before(context, cell)))

        enter(start)
        while waiting:
            cell, before = waiting[-1]
            if before:
                other = before.pop()
                if other.place not in number:
                    enter(other)
                elif other.place in on_stack:
                    lowest[cell.place] = min(lowest[cell.place], number[other.place])
                continue
            waiting.pop()
            if waiting:
                above = waiting[-1][0].place
                lowest[above] = min(lowest[above], lowest[cell.place])
            if lowest[cell.place] == number[cell.place]:
                circle = []
                while True:
                    member = stack.pop()
                    on_stack.discard(member.place)
                    circle.append(member)
                    if member is cell:
                        break
                if len(circle) > 1 or cell in _before(context, cell):
                    found.append(circle)
    return found


def _before(context: Context, cell: Cell) -> list[Cell]:
    """Formulas that a cell follows from; an array formula's own cells are no circle."""
    return [
        taken
        for area in context.values.areas_of(cell)
        for taken in context.values.cells_in(area)
        if taken.formula is not None
    ]


def _circular(context: Context) -> Iterator[Finding]:
    for circle in circles(context):
        # Both branches of an IF are never taken: what could be worked out is no circle.
        open_ = [
            cell
            for cell in circle
            if cell.place in context.values.unknown or is_error(context.value(cell.place))
        ]
        settings = calculation_settings(context.book)
        if not open_ and settings.get("iterate", "0") not in _ON:
            continue
        places = [cell.place for cell in circle]
        first = circle[0] if not open_ else min(open_, key=lambda c: c.place)
        yield finding(
            "circular",
            "error",
            first.place,
            f"{in_ranges(places)} follow{'s' if len(places) == 1 else ''} from "
            f"{'itself' if len(places) == 1 else 'each other'} in a circle (circular reference): "
            "no program can say what is right there, nor in any total that takes them; break the "
            "circle.",
            formula=first.formula,
            value=first.value,
            cells=places,
        )


def _names(context: Context) -> Iterator[Finding]:
    """Two names for one figure that is worked out: one of them once stood for another cell."""
    of_cell: dict[Place, list[str]] = {}
    for name, node in context.book.names.items():
        area = context.area_of(node, ("", 1, 1)) if isinstance(node, Reference) else None
        if area is not None and area[1:3] == area[3:]:
            of_cell.setdefault(area[:3], []).append(name)
    if sum(map(len, of_cell.values())) < _NAMED:
        return
    for place, names in of_cell.items():
        cell = context.book.cell(place)
        worked_out = cell is not None and cell.formula is not None
        if len(names) < 2 or not worked_out or not isinstance(context.value(place), float):
            continue
        yield finding(
            "setting",
            "warning",
            place,
            f"The names {' and '.join(map(repr, names))} both stand for {cell_name(place)} "
            f"({context.labels.left_label(place)!r}, {context.value(place):g}); whatever takes "
            "the other figure takes this one; see which of them belongs elsewhere.",
            value=context.value(place),
        )


def check(context: Context) -> Iterator[Finding]:
    """``setting``, ``circular``."""
    yield from _of_workbook(context)
    yield from _circular(context)
    yield from _names(context)
