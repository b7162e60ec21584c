"""Money: what each line counts for, by its quantity, its discount and its price."""

from __future__ import annotations

from collections.abc import Iterator

from ...cells.values import is_error
from ...cells.wording import rounded
from ...workbook.formulas import Place
from ..context import Context, cell_name
from ..findings import Finding, finding
from ..line_cells import Worked

__all__ = ["check", "in_money"]


def in_money(value: float) -> str:
    """An amount of money in a message."""
    return rounded(value, 9)


def _quantities(context: Context) -> Iterator[Finding]:
    """Lines whose quantity is blank or 0, though others have one."""
    for worked in context.worked:
        record = worked.record
        place = record.cells.get("quantity") or record.blank.get("quantity")
        net = record.cells.get("net price") or record.blank.get("net price")
        amount = context.book.cell(net) if net is not None else None
        if place is None or not worked.price or amount is None:
            continue
        place = context.trail(place)[-1]  # a page may repeat a blank as 0
        value = context.value(place)
        if isinstance(value, float) and value > 0:
            if value != round(value):
                yield _part_of_a_hopper(worked, place, value)
            continue
        says = "is blank" if value in (None, "") else f"is {value:g}" if _is(value) else "is text"
        name = f" of {worked.name!r}" if worked.name else ""
        one = worked.price * (1 - worked.discount)
        yield finding(
            "quantity",
            "error",
            place,
            f"The quantity{name} {says}, so the line counts as nothing in the total; one hopper is "
            f"{in_money(one)}; type the quantity, or take the line out of the quote.",
            value=value,
            money=one,
        )


def _part_of_a_hopper(worked: Worked, place: Place, value: float) -> Finding:
    name = f" of {worked.name!r}" if worked.name else ""
    whole = abs(value - round(value)) * (worked.price or 0.0) * (1 - worked.discount)
    return finding(
        "quantity",
        "warning",
        place,
        f"The quantity{name} is {value:g}, no whole number of hoppers; the line counts as "
        f"{value:g} times its price; type how many are offered.",
        value=value,
        money=whole,
    )


def _discounts(context: Context) -> Iterator[Finding]:
    """Discounts of lines that are no share between 0 and 1 as the net price takes them."""
    for worked in context.worked:
        place = worked.record.cells.get("discount")
        if place is None or 0 <= worked.discount <= 1:
            continue
        name = f" of {worked.name!r}" if worked.name else ""
        effect = "raises the price" if worked.discount < 0 else "makes the amount negative"
        amount = abs((worked.price or 0.0) * worked.quantity * worked.discount)
        yield finding(
            "discount",
            "error",
            place,
            f"The discount{name} counts as {worked.discount * 100:g} %, which {effect}: "
            f"{in_money(amount)} at stake; 5 % is typed as 5% or as 0.05; correct the input.",
            value=context.value(place),
            cells=[p for p in (place, worked.net_place) if p is not None],
            money=amount,
        )


def _without_price(context: Context) -> Iterator[Finding]:
    """Lines that have no price, and lines that count as 0 because their price is no number."""
    for worked in context.worked:
        if not context.is_quoted(worked.line) or worked.price or worked.priced_on is not None:
            continue
        if worked.line.chosen_size is None:
            continue  # without a size there is no price to be had
        record = worked.record
        price = record.cells.get("list price") or record.blank.get("list price")
        net = record.cells.get("net price") or record.blank.get("net price")
        at = price or net
        if at is None or (price is None and "net price" in record.cells):
            continue
        value, amount = context.value(at), context.value(net) if net is not None else None
        if is_error(value) or is_error(amount) or (isinstance(amount, float) and amount):
            continue  # an error shows, and is told where it begins; a text may count as its number
        says = "is blank" if value in (None, "") else f"is {value!r}, no number"
        says = "is 0" if value == 0.0 else says
        name = f" of {worked.name!r}" if worked.name else ""
        cell = context.book.cell(net) if net is not None else None
        zero = net is not None and amount == 0.0
        effect = (
            f"{cell_name(net)} makes a 0 of it" if zero and net is not None else "it has no amount"
        )
        yield finding(
            "no price",
            "error",
            at,
            f"The list price{name} {says}, and {effect}: the line counts as nothing in the total; "
            "type the price, and let an error show.",
            formula=cell.formula if cell is not None else None,
            value=value,
            cells=[place for place in (at, net) if place is not None],
        )


def _is(value: object) -> bool:
    return isinstance(value, float)


def check(context: Context) -> Iterator[Finding]:
    """``quantity``, ``discount``, ``no price``."""
    yield from _quantities(context)
    yield from _discounts(context)
    yield from _without_price(context)
