"""Money: how the total takes what the lines count for."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...cells.wording import counted
from ...workbook.book import Cell
from ...workbook.formulas import Place
from ..calls import in_area
from ..context import Context, cell_name, percent
from ..findings import Finding, finding, in_ranges
from ..line_cells import Worked
from ..roles import role_of
from ..total_parts import Factor
from .line_money import in_money

__all__ = ["check"]


#: What may be taken off a total.
_TAX_ALONE = 0.4  # of a line: the tax without the line
_LOWERS = re.compile(
    r"\b(discount|rebate|credit|trade|allowance|refund|deduct\w*|less|deposit|paid|payment|"
    r"advance|minus|return\w*|bonus|voucher)\b", re.IGNORECASE,
)  # fmt: skip
_IN_PART = "takes in part"


def _amount_of(worked: Worked) -> float:
    """What a line costs; where no cell says so, the total multiplies its price itself."""
    if worked.net is not None:
        return worked.right_net or worked.net
    price = worked.right_price or worked.price or 0.0
    return price * worked.quantity * (1 - worked.discount) if worked.net_place is None else 0.0


def _weights(context: Context) -> Iterator[Finding]:
    """Lines that the total leaves out, or takes more than once or in part."""
    money = context.money
    if money.total is None or len(context.worked) < 2:
        return
    groups: dict[str, list[Worked]] = {}
    more_of: dict[int, float] = {}
    for worked, weight in zip(context.worked, money.weights, strict=True):
        if weight is None or weight == money.usual or not _amount_of(worked):
            continue
        if abs(weight - money.usual) <= 1e-4 * abs(money.usual):
            continue
        how = _IN_PART if weight else "does not take"
        if weight and abs(weight / money.usual - round(weight / money.usual)) < 1e-3:
            how = f"counts {round(weight / money.usual)} times"
        more_of[id(worked)] = weight - money.usual
        if worked not in money.options:
            groups.setdefault(how, []).append(worked)
    if money.options:
        yield _options(context)
    for how, lines in groups.items():
        cells = (one.net_place or one.record.cells.get("list price") for one in lines)
        places = [place for place in cells if place is not None]
        at = _adding(context, places)
        if at is None or _added_elsewhere(context, places, at):
            at = worked_out_in(context)
        names = ", ".join(repr(one.name) for one in lines[:3] if one.name)
        more = f" and {len(lines) - 3} more" if len(lines) > 3 else ""
        amount = abs(sum(_amount_of(one) * more_of[id(one)] for one in lines))
        cell = context.book.cell(at)
        if how == _IN_PART:
            shares = sorted({f"{1 + more_of[id(one)] / money.usual:.4g}" for one in lines})
            how = f"takes {' to '.join(dict.fromkeys((shares[0], shares[-1])))} of"
        yield finding(
            "total skips lines",
            "error",
            at,
            f"The total {how} {counted(len(lines), 'line')} in {in_ranges(places)}"
            f"{f' ({names}{more})' if names else ''}: {in_money(amount)} at stake; "
            "make the total count every line once.",
            formula=cell.formula if cell is not None else None,
            value=context.value(at),
            cells=dict.fromkeys((at, money.total, *places)),
            money=amount,
        )


def worked_out_in(context: Context) -> Place:
    """The cell that works out the total, where the last one only repeats it, as a page does."""
    assert context.money.total is not None
    return context.trail(context.money.total)[-1]


def _added_elsewhere(context: Context, places: list[Place], at: Place) -> bool:
    """Whether another cell adds just these amounts up: the total should have taken that one."""
    if len(places) < 2:
        return False
    for place in context.precedents.followers(places):
        cell = context.book.cell(place)
        if cell is None or cell.formula is None or place == at:
            continue
        for area in context.values.areas_of(cell):
            if area[1:3] != area[3:] and all(in_area(one, area) for one in places):
                return not any(in_area(one, area) for one in _counted_nets(context))
    return False


def _counted_nets(context: Context) -> list[Place]:
    """Amounts that the total takes."""
    return [
        worked.net_place
        for worked, weight in zip(context.worked, context.money.weights, strict=True)
        if weight and worked.net_place is not None
    ]


def _options(context: Context) -> Finding:
    """Lines beside the total."""
    money = context.money
    assert money.total is not None
    places = [one.net_place for one in money.options if one.net_place is not None]
    amount = sum(one.net or 0.0 for one in money.options)
    return finding(
        "total skips lines",
        "note",
        min(places, default=money.total),
        f"{counted(len(money.options), 'line')} in {in_ranges(places)} "
        f"{'is' if len(places) == 1 else 'are'} in no total: {in_money(amount)}, as an option; "
        "see that the quote says so.",
        cells=places if len(places) > 1 else (),
    )


def _adding(context: Context, places: list[Place]) -> Place | None:
    """The cell that should add up these amounts: the one whose range is nearest."""
    best: tuple[float, Place] | None = None
    for cell in context.money.adding:
        for area in context.values.areas_of(cell):
            for sheet, row, column in places:
                if area[0] != sheet:
                    continue
                away = max(area[1] - row, row - area[3], 0) + max(
                    area[2] - column, column - area[4], 0
                )
                if best is None or away < best[0]:
                    best = (away, cell.place)
    if best is None and len(context.money.adding) == 1:
        return context.money.adding[0].place
    return best[1] if best is not None else None


def _block(context: Context) -> Iterator[Finding]:
    """A discount, tax or freight beside the total that does not count, or counts twice."""
    money = context.money
    if money.total is None or money.value is None:
        return
    at = worked_out_in(context)
    cell = context.book.cell(at)
    for figure in money.block:
        if figure.counts:
            continue
        label = context.labels.left_label(figure.place)
        share = figure.value if abs(figure.value) < 1 else 0.0
        shown = percent(share) if share else in_money(figure.value)
        stake = abs((money.value - money.parts.added) * share) if share else abs(figure.value)
        says = (
            f"The total in {cell_name(at)} does not follow from {label!r} {shown} in "
            f"{cell_name(figure.place)}"
        )
        yield finding(
            "discount" if figure.role == "discount" else "total skips lines",
            "error",
            at,
            f"{says}: {in_money(stake)} at stake; make the total count it once, or take it out.",
            formula=cell.formula if cell is not None else None,
            value=money.value,
            cells=dict.fromkeys((at, money.total, figure.place)),
            money=stake,
        )


def _parts(context: Context) -> Iterator[Finding]:
    """Numbers typed inside the total's formulas, lines that count twice, and odd amounts."""
    money, parts = context.money, context.money.parts
    if money.total is None or money.value is None or not parts.known:
        return
    at = cell_name(worked_out_in(context))
    if parts.unnamed != 1:
        times = parts.unnamed
        stake = abs(money.value - parts.added) * abs(1 - 1 / times)
        if abs(times - round(times)) < 1e-6:
            says = f"counts every line {round(times)} times, as lines and their subtotals together"
            advice = "let it take each line once"
        else:
            says = f"takes {times:g} of every line, by a number that is typed inside a formula"
            advice = "put the number into a cell with its name, or take it out"
        yield _of_total(context, "error", f"The total in {at} {says}", stake, advice)
    if parts.constant:
        what = f"{in_money(parts.constant)} that is of no line and of no cell with a name"
        yield _of_total(
            context, "warning",
            f"The total in {at} holds {what}: it is typed inside a formula", abs(parts.constant),
            "put it into a cell with its name, or take it out",
        )  # fmt: skip
    for factor in parts.factors:
        label = context.labels.left_label(factor.place)
        if role_of(label) == "tax" and 0 < factor.ratio < _TAX_ALONE:
            yield _of_total(
                context, "error",
                f"The total in {at} takes {percent(factor.ratio)} of every line, by {label!r} in "
                f"{cell_name(factor.place)}, and not the lines themselves",
                abs((money.value - parts.added) * (1 - 1 / factor.ratio)),
                "let it take the subtotal of the lines too", factor.place, "total skips lines",
            )  # fmt: skip
            return
    for factor in parts.factors:
        if factor.once and parts.unnamed == 1:
            yield from _nameless(context, factor)
        if factor.once or parts.unnamed != 1:
            continue
        label = context.labels.left_label(factor.place) or "a figure"
        yield _of_total(
            context, "error",
            f"The total in {at} multiplies the lines by {factor.ratio:.6g} for {label!r} "
            f"{factor.value:g} in {cell_name(factor.place)}, which is not what that says",
            abs((money.value - parts.added) * (1 - factor.meant / factor.ratio)),
            "let the total take it once", factor.place,
            "discount" if factor.discount else "total differs",
        )  # fmt: skip
    for amount in parts.amounts:
        label = context.labels.label(amount.place)
        named = f"{context.labels.left_label(amount.place)} {label}"  # its row's and its column's
        if amount.counts >= 0 or _LOWERS.search(named):
            continue
        yield _of_total(
            context, "warning",
            f"{label or 'An amount'} in {cell_name(amount.place)} is {in_money(amount.value)} "
            "and lowers the total",
            abs(amount.counts), "correct its sign, or call it what it is", amount.place,
        )  # fmt: skip


def _nameless(context: Context, factor: Factor) -> Iterator[Finding]:
    """A factor of the total whose cell says nothing, or that is typed as its label states it."""
    money = context.money
    assert money.total is not None and money.value is not None
    if factor.typed:
        label = context.labels.left_label(factor.place)
        yield finding(
            "number in formula", "note", factor.place,
            f"{percent(factor.value)} is typed inside the formula of {label!r}; put it into a "
            "cell of its own.",
        )  # fmt: skip
    elif not context.labels.label(factor.place):
        yield _of_total(
            context, "warning",
            f"The total in {cell_name(worked_out_in(context))} multiplies the lines by "
            f"{factor.ratio:.6g} for {factor.value:g} in {cell_name(factor.place)}, "
            "a figure without a name",
            abs((money.value - money.parts.added) * (1 - 1 / factor.ratio)),
            "give it a name, or take it out", factor.place,
        )  # fmt: skip


def _of_total(
    context: Context,
    severity: str,
    says: str,
    stake: float,
    advice: str,
    at: Place | None = None,
    kind: str = "total differs",
) -> Finding:
    money = context.money
    assert money.total is not None
    total = worked_out_in(context)
    cell = context.book.cell(total)
    return finding(
        kind,
        severity,
        total,
        f"{says}: {in_money(stake)} at stake; {advice}.",
        formula=cell.formula if cell is not None else None,
        value=money.value,
        expected=money.right,
        cells=() if at is None else dict.fromkeys((total, money.total, at)),
        money=stake,
    )


def _total(context: Context) -> Iterator[Finding]:
    """The grand total against the lines worked out again; said where nothing else says it."""
    money = context.money
    if money.total is None or money.value is None:
        return
    cell = context.book.cell(money.total)
    if money.typed:
        lines = sum(worked.right_net or 0.0 for worked in context.worked)
        yield finding(
            "typed over",
            "error",
            money.total,
            f"The total, {in_money(money.value)}, is typed: it follows from no line, and stays "
            f"when a line changes; the lines come to {in_money(lines)}; let a formula add them up.",
            value=money.value,
            money=abs(money.value - lines),
        )
        return
    if money.right is None:
        return
    gap = money.value - money.right
    if abs(gap) <= max(0.02 * len(context.worked), 1e-6 * abs(money.right)):
        return
    if money.parts.unnamed != 1 or not all(factor.once for factor in money.parts.factors):
        return  # told with its cause
    if money.parts.constant and abs(gap - money.parts.constant) <= 0.02 * len(context.worked):
        return
    yield finding(
        "total differs",
        "error",
        money.total,
        f"Worked out again from the typed inputs the total is {in_money(money.right)}; the "
        f"workbook says {in_money(money.value)}, {in_money(abs(gap))} "
        f"{'more' if gap > 0 else 'less'}; the other findings say where it begins.",
        formula=cell.formula if cell is not None else None,
        value=money.value,
        expected=money.right,
        money=abs(gap),
    )


def _other_amounts(context: Context) -> Iterator[Finding]:
    """Amounts in the total that are of no line: negative ones, and what is hidden."""
    own = {place for worked in context.worked for place in worked.record.places}
    seen: set[Place] = set()
    for adding in context.money.adding:
        for area in context.values.areas_of(adding):
            if area[1:3] == area[3:]:
                continue
            sheet = context.book.sheets[area[0]]
            for cell in context.values.cells_in(area):
                value = context.value(cell.place)
                if cell.place in seen or not isinstance(value, float) or not value:
                    continue
                seen.add(cell.place)
                hidden = (
                    sheet.hidden
                    or cell.place[1] in sheet.unseen_rows
                    or cell.place[2] in sheet.hidden_columns
                )
                foreign = cell.place not in own and cell.typed
                if hidden or (foreign and value < 0):
                    yield _amount_found(context, adding, cell, value, hidden, foreign)


def _amount_found(
    context: Context, adding: Cell, cell: Cell, value: float, hidden: bool, foreign: bool
) -> Finding:
    what = "A negative amount" if value < 0 else "An amount"
    where = "in a hidden row or column" if hidden else "of no line"
    return finding(
        "hidden" if hidden else "total skips lines",
        "error" if foreign and value < 0 and hidden else "warning",
        cell.place,
        f"{what}, {in_money(value)}, {where} counts in {cell_name(adding.place)}; whoever reads "
        "the quote cannot see what the total is made of; show it with its name, or take it out.",
        formula=cell.formula,
        value=value,
        cells=(cell.place, adding.place),
        money=abs(value),
    )


def check(context: Context) -> Iterator[Finding]:
    """``total skips lines``, ``hidden``, ``total differs`` and what else the total takes."""
    yield from _weights(context)
    yield from _block(context)
    yield from _parts(context)
    yield from _other_amounts(context)
    yield from _total(context)
