"""Blank cells that count as 0."""

from __future__ import annotations

from collections.abc import Iterator

from ...call import call as compute
from ...cells.quantities import QUANTITIES
from ...errors import CellError
from ...functions import get
from ...workbook.book import Cell
from ...workbook.formulas import Place
from ..blanks import BlankRead
from ..context import Context, cell_name, percent
from ..findings import Finding, finding, in_ranges
from .values import value_text

#: Quantity -> a step that says how much the missing value matters, in US and in metric units.
_STEPS = {
    "temperature": ("10 degF", "5 degC"),
    "room temperature": ("10 degF", "5 degC"),
    "length or zero": ("1 ft", "0.3 m"),
    "altitude": ("1000 ft", "300 m"),
    "empty mass": ("100 lb", "50 kg"),
    "reserve": ("10 %", "10 %"),
    "shortfall": ("1 %", "1 %"),
}


def _effect(read: BlankRead) -> str:
    """What a step of the missing value does to the result."""
    step = _STEPS.get(read.argument.quantity, ("", ""))[read.system != "US"]
    record = get(read.call.name)
    if not step or record is None or not isinstance(read.result, float):
        return "the result is not what was meant"
    at = [a.name for a in record.arguments].index(read.argument.name)
    values = list(read.values)
    values[at] = float(step.split()[0]) / (100 if step.endswith("%") else 1)
    try:
        then = compute(read.call.name, *values)
    except CellError:
        return "the result is not what was meant"
    if not isinstance(then, float) or not read.result:
        return "the result is not what was meant"
    change = then / read.result - 1
    if abs(change) < 5e-5:
        return f"{step} would give the same"
    return f"with {step} the {record.result.text} is {percent(change)} {_side(change)}"


def _shown(read: BlankRead) -> str:
    record = get(read.call.name)
    measure = QUANTITIES.get(record.result.quantity) if record is not None else None
    unit = measure.unit(read.system) if measure is not None else "1"
    return value_text(read.result) if unit == "1" else f"{value_text(read.result)} {unit}"


def _side(change: float) -> str:
    return "less" if change < 0 else "more"


def _drifting(context: Context) -> Iterator[Finding]:
    """Copies of a formula of money whose reference moved off a figure onto blank cells.

    A figure of the whole quote, such as a markup, stands in no line's own row or column.
    """
    copies: dict[tuple[str, str], list[Cell]] = {}
    worked_out = {step.place for worked in context.worked for step in worked.differences}
    for place in sorted(_of_money(context)):
        cell = context.book.cell(place)
        if cell is not None and cell.form:
            copies.setdefault((place[0], cell.form), []).append(cell)
    for cells in copies.values():
        read = [
            [area[:3] for area in context.values.areas_of(cell) if area[1:3] == area[3:]]
            for cell in cells
        ]
        if len({len(places) for places in read}) != 1:
            continue
        for places in zip(*read, strict=True):
            pairs = list(zip(cells, places, strict=True))
            figure = next((p for _, p in pairs if isinstance(context.value(p), float)), None)
            blank = [
                (cell, place) for cell, place in pairs
                if context.value(place) is None and _apart(cell.place, place)
                and cell.place not in worked_out
            ]  # fmt: skip
            if figure is not None and blank:
                yield _drifted(context, figure, blank)


def _of_money(context: Context) -> set[Place]:
    """The lines' prices, and the formulas that they follow from."""
    found: set[Place] = set()
    for worked in context.worked:
        cells = worked.record.cells
        for place in (cells.get("net price"), cells.get("list price")):
            if place is None:
                continue
            cell = context.book.cell(place)
            follows = context.behind(cell) if cell is not None and cell.formula else None
            if follows is not None:
                found |= {place, *follows[1]}
    return found


def _apart(cell: Place, place: Place) -> bool:
    return cell[0] != place[0] or (cell[1] != place[1] and cell[2] != place[2])


def _drifted(context: Context, figure: Place, blank: list[tuple[Cell, Place]]) -> Finding:
    label = context.labels.label(figure) or "a figure"
    lines = in_ranges(cell.place for cell, _ in blank)
    first = blank[0][0]
    return finding(
        "blank read as 0",
        "error",
        first.place,
        f"{lines} should take {label!r} from {cell_name(figure)} and takes a blank cell, "
        f"{in_ranges(place for _, place in blank)}, as 0: the reference moved as the formula was "
        "copied; fix it with $ signs, or give the figure a name.",
        formula=first.formula,
        value=context.value(first.place),
        cells=[cell.place for cell, _ in blank],
    )


def check(context: Context) -> Iterator[Finding]:
    """``blank read as 0``: one per blank cell; per column where it is as if left out."""
    yield from _drifting(context)
    groups: dict[tuple[object, ...], list[BlankRead]] = {}
    for read in context.blank_reads:
        harmless = read.argument.default == 0 and not read.repeated
        sheet, row, column = read.place
        key = (harmless, read.argument.name, sheet, column, 0 if harmless else row)
        groups.setdefault(key, []).append(read)
    for (harmless, *_), reads in groups.items():
        read = reads[0]
        others = len({(r.place, r.call.cell.place) for r in reads}) - 1
        more = f" (and {others} more like it)" if others else ""
        where = cell_name(read.call.cell.place)
        taken = (
            f"{cell_name(read.place)} is blank, and {read.call.name} in {where}{more} takes it for "
            f"its {read.argument.name}"
        )
        shows = _shown(read)
        if read.repeated:
            how = f"a formula makes a 0 of the blank, so {read.zero} gives {shows}"
        else:
            how = (
                f"LibreOffice Calc passes a blank on as {read.zero} and shows "
                f"{shows}, Excel shows #VALUE!"
            )
        advice = "type the value"
        if harmless:
            advice = "type a 0 if you mean none, so that both programs show the same"
        yield finding(
            "blank read as 0",
            "warning" if harmless else "error",
            read.place,
            f"{taken}: {how}; {_effect(read)}; {advice}.",
            formula=read.call.cell.formula,
            value=None,
        )
