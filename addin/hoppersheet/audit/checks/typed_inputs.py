"""What is typed for a line and is unlike what is typed for the others."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...cells.wording import rounded
from ...workbook.formulas import Literal, Place, walk
from ..context import Context, cell_name
from ..find_total import CALLED_TOTAL, number_in
from ..findings import Finding, finding, in_ranges
from ..records import Record
from .values import value_text

__all__ = ["check"]

#: Roles of what somebody types for each line.
_TYPED = frozenset(
    ("throughput", "hours", "density", "virgin density", "regrind density", "virgin share",
     "regrind share", "quantity", "discount")
)  # fmt: skip
_MANY, _TIMES = 20.0, 10.0  # pieces that are many, and times what any other line has
_LEAST = 3  # lines that say what is usual
_PERCENT = re.compile(r"-?\d+(?:[.,]\d+)? ?%")


def _of_another_line(context: Context) -> Iterator[Finding]:
    """Inputs that repeat another line's, of another resin, where the others are typed."""
    owner = {place: (r, role) for r in context.records for role, place in r.cells.items()}
    for role in _TYPED:
        taken: list[tuple[Record, Place, Record, Place]] = []
        typed = 0
        for record in context.records:
            place = record.cells.get(role)
            cell = context.book.cell(place) if place is not None else None
            if cell is None or place is None:
                continue
            typed += cell.typed
            source = context.trail(place)[-1] if cell.formula is not None else place
            other, of = owner.get(source, (record, ""))
            if other is not record and of == role:
                taken.append((record, place, other, source))
        for record, place, other, source in taken:
            if typed < _LEAST or len(taken) >= typed or _same_resin(context, record, other):
                continue
            yield finding(
                "odd formula",
                "warning",
                place,
                f"{cell_name(place)} takes the {role} of {context.where(other.line)} from "
                f"{cell_name(source)}, {value_text(context.value(place))}, and the other lines "
                "have their own; it changes with that line, which is of another resin; type what "
                "this line needs, or state in the sheet why it follows the other.",
                formula=context.book.sheets[place[0]].cells[place[1:]].formula,
                value=context.value(place),
            )


def _same_resin(context: Context, one: Record, other: Record) -> bool:
    names = [context.value(r.cells["resin"]) if "resin" in r.cells else None for r in (one, other)]
    return names[0] == names[1]


def _many(context: Context) -> Iterator[Finding]:
    """A quantity far above that of every other line."""
    found = [
        (r.cells["quantity"], value)
        for r in context.records
        if "quantity" in r.cells and isinstance(value := context.value(r.cells["quantity"]), float)
    ]
    if len(found) < _LEAST:
        return
    place, most = max(found, key=lambda one: one[1])
    others = max(value for where, value in found if where != place)
    if most >= _MANY and most >= _TIMES * others:
        yield finding(
            "outside typical range",
            "warning",
            place,
            f"{most:g} hoppers of one line, where no other line has more than {others:g}; the "
            "customer would pay for each; see whether that many are meant.",
            value=most,
        )


def _texts_in_total(context: Context) -> Iterator[Finding]:
    """Amounts and rates that the total takes, stored as text."""
    total = context.money.total
    cell = context.book.cell(total) if total is not None else None
    follows = context.behind(cell) if cell is not None else None
    if follows is None or total is None:
        return
    own = {place for record in context.records for place in record.places}
    for typed in follows[0]:
        value = typed.value
        if not isinstance(value, str) or typed.place in own or context.in_catalog(typed.place):
            continue
        if number_in(value) is None and not _PERCENT.fullmatch(value.strip()):
            continue
        label = context.labels.left_label(typed.place)
        if not label:
            continue
        yield _as_text(context, typed.place, f"{label!r} {value!r}", [typed.place, total])


def _discounts_as_text(context: Context) -> Iterator[Finding]:
    for record in context.records:
        place = record.cells.get("discount")
        cell = context.book.cell(place) if place is not None else None
        if cell is None or not cell.typed or not isinstance(cell.value, str):
            continue
        if _PERCENT.fullmatch(cell.value.strip()):
            yield _as_text(context, cell.place, f"The discount {cell.value!r}", [])


def _as_text(context: Context, place: Place, what: str, cells: list[Place]) -> Finding:
    return finding(
        "number as text",
        "warning",
        place,
        f"{what} is stored as text, not as a number: SUM skips it, and another program may show "
        "an error or read its decimal sign differently; type it again in a cell that is not "
        "formatted as text.",
        value=context.value(place),
        cells=cells,
    )


def _typed_taxes(context: Context) -> Iterator[Finding]:
    """A tax or discount that is an amount, typed beside the rate that it should follow from."""
    block = context.money.block
    for figure in block:
        if figure.counts or abs(figure.value) >= 1:
            continue
        for other in block:
            if other.role == figure.role and other.counts and abs(other.value) > 1:
                label = context.labels.left_label(other.place)
                yield finding(
                    "typed over",
                    "error",
                    other.place,
                    f"{label!r}, {rounded(other.value, 9)}, is typed beside the rate of "
                    f"{figure.value * 100:g} % in {cell_name(figure.place)}; it stays when a line "
                    "changes; let it follow from the rate and the subtotal.",
                    value=other.value,
                    cells=[place for place in (other.place, context.money.total) if place],
                )


def _typed_inside(context: Context) -> Iterator[Finding]:
    """The formula between the lines and the total in which an amount is typed."""
    money = context.money
    total = context.book.cell(money.total) if money.total is not None else None
    if total is None or not money.parts.known or not money.parts.constant:
        return
    follows = context.behind(total)
    own = {place for record in context.records for place in record.places}
    steps = [total.place, *(follows[1] if follows is not None else ())]
    found = []
    for place in steps:
        cell = context.book.cell(place)
        if cell is None or cell.tree is None or place in own:
            continue
        numbers = [n.value for n in walk(cell.tree) if isinstance(n, Literal)]
        if any(isinstance(n, float) and abs(n) > 2 for n in numbers):
            found.append(cell)
    if len(found) == 1 and found[0].place != total.place:
        yield finding(
            "total differs",
            "warning",
            found[0].place,
            f"An amount is typed inside the formula of {cell_name(found[0].place)}; it counts in "
            f"the total, {rounded(abs(money.parts.constant), 9)}, and is of no line; put it into "
            "a cell with its name, or take it out.",
            formula=found[0].formula,
            value=context.value(found[0].place),
            cells=[found[0].place, total.place],
            money=abs(money.parts.constant),
        )


def _typed_subtotals(context: Context) -> Iterator[Finding]:
    """A subtotal that somebody typed, and for which the total takes none of its lines."""
    money = context.money
    total = context.book.cell(money.total) if money.total is not None else None
    follows = context.behind(total) if total is not None and not money.typed else None
    if follows is None or money.total is None:
        return
    left_out = [
        worked
        for worked, weight in zip(context.worked, money.weights, strict=True)
        if weight == 0 and worked.net_place is not None and worked not in money.options
    ]
    nets = [worked.net_place for worked in left_out if worked.net_place is not None]
    for typed in follows[0]:
        label = context.labels.left_label(typed.place)
        if not isinstance(typed.value, float) or not CALLED_TOTAL.search(label) or not nets:
            continue
        if all(net[::2] == typed.place[::2] and net[1] < typed.place[1] for net in nets):
            yield finding(
                "typed over",
                "error",
                typed.place,
                f"{label!r}, {rounded(typed.value, 9)}, is typed: it follows from none of the "
                f"lines in {in_ranges(nets)}, which come to "
                f"{rounded(sum(worked.right_net or 0.0 for worked in left_out), 9)}; let a formula "
                "add them up.",
                value=typed.value,
                cells=dict.fromkeys((typed.place, *nets, money.total, *_sums(context))),
            )


def _sums(context: Context) -> list[Place]:
    return [cell.place for cell in context.money.adding]


def check(context: Context) -> Iterator[Finding]:
    """``odd formula``, ``outside typical range``, ``number as text``, ``typed over``."""
    yield from _of_another_line(context)
    yield from _many(context)
    yield from _texts_in_total(context)
    yield from _discounts_as_text(context)
    yield from _typed_taxes(context)
    yield from _typed_inside(context)
    yield from _typed_subtotals(context)
