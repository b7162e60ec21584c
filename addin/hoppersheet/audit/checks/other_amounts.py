"""Amounts beside the lines that the total does not take once: freight, options, services."""

from __future__ import annotations

from collections.abc import Iterator

from ...cells.wording import counted, rounded
from ...workbook.formulas import Place
from ..amounts_beside import Miscounted
from ..context import Context, cell_name
from ..findings import Finding, finding, in_ranges
from ..label_words import without_unit

__all__ = ["check"]


def _called(context: Context, place: Place) -> str:
    return repr(without_unit(context.labels.left_label(place)) or "An amount")


def _names(context: Context, places: list[Place]) -> str:
    more = f" and {len(places) - 3} more" if len(places) > 3 else ""
    return ", ".join(_called(context, place) for place in places[:3]) + more


def _not_once(context: Context, total: Place) -> Iterator[Finding]:
    """Amounts that the total takes in part, or more than once."""
    groups: dict[str, list[Miscounted]] = {}
    for one in context.money.beside.miscounted:
        if not one.sum_of:
            groups.setdefault(f"{one.times:.4g} times", []).append(one)
    cell = context.book.cell(total)
    for times, found in groups.items():
        places = [one.amount.place for one in found]
        stake = sum(abs(one.amount.counts - one.meant) for one in found)
        part = found[0].times < 1
        what = f"{_names(context, places)} in {in_ranges(places)}"
        how = "only in part, as a tax does" if part else "more than once, as with their own sum"
        yield finding(
            "total skips lines",
            "error",
            total,
            f"The total in {cell_name(total)} takes {what} {times}, {how}: {rounded(stake, 9)} at "
            "stake; let it take each amount once.",
            formula=cell.formula if cell is not None else None,
            value=context.money.value,
            cells=(total, *places),
            money=stake,
        )


def _typed_sums(context: Context) -> Iterator[Finding]:
    """A typed amount where the amounts above it count nowhere."""
    for one in context.money.beside.miscounted:
        if one.sum_of:
            parts = [cell.place for cell in one.sum_of]
            value = one.amount.value
            yield finding(
                "typed over",
                "error",
                one.amount.place,
                f"{_called(context, one.amount.place)} {rounded(value, 9)} is typed, and no "
                f"formula takes the amounts above it in {in_ranges(parts)}, which come to "
                f"{rounded(one.meant, 9)}; let a formula add them up.",
                value=value,
                expected=one.meant,
                cells=[one.amount.place, *parts],
                money=abs(value - one.meant),
            )


def _nowhere(context: Context, total: Place) -> Iterator[Finding]:
    """Amounts above the total that no formula takes."""
    money = context.money
    known = {figure.place for figure in money.block if not figure.counts}
    rest = [cell for cell in money.beside.nowhere if cell.place not in known]
    if not rest or money.typed:
        return
    places = [cell.place for cell in rest]
    stake = abs(sum(context.value(place) for place in places))
    formula = context.book.cell(total)
    one = len(rest) == 1
    yield finding(
        "total skips lines",
        "warning",
        min(places),
        f"{counted(len(rest), 'amount')} in {in_ranges(places)} ({_names(context, places)}) "
        f"{'stands' if one else 'stand'} above the total and no formula takes "
        f"{'it' if one else 'them'}: {rounded(stake, 9)} at stake; let the total in "
        f"{cell_name(total)} take what is offered, or say that it is optional.",
        formula=formula.formula if formula is not None else None,
        cells=(*places, total),
        money=stake,
    )


def check(context: Context) -> Iterator[Finding]:
    """``total skips lines`` and ``typed over`` of amounts beside the lines."""
    total = context.money.total
    if total is not None:
        yield from _not_once(context, total)
        yield from _typed_sums(context)
        yield from _nowhere(context, total)
