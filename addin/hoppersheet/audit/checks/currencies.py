"""Currencies: prices, amounts and totals that show the same number in another one."""

from __future__ import annotations

from collections.abc import Iterator

from ...workbook.formulas import Place
from ..context import Context, cell_name
from ..currency import currency_of
from ..findings import Finding, finding, in_ranges
from ..line_cells import Worked
from ..roles import role_of

__all__ = ["check"]


def _currencies(context: Context) -> Iterator[Finding]:
    """Prices of a catalog in one currency that a quote shows in another, at the same number."""
    groups: dict[tuple[str, str], list[Place]] = {}
    for worked in context.worked:
        listed, place = worked.line.listed, worked.record.cells.get("list price")
        if listed is None or not listed.prices or place is None:
            continue
        first = next(iter(listed.rows))
        currency = currency_of(context, listed.beside(first, listed.prices))
        here = currency_of(context, place)
        if currency and here and currency != here and worked.price == worked.right_price:
            groups.setdefault((currency, here), []).append(place)
    for (currency, here), places in groups.items():
        yield finding(
            "currency",
            "error",
            min(places),
            f"The catalog's prices are in {currency}, {in_ranges(places)} shows the same numbers "
            f"in {here}; the customer is quoted another amount than the list says; convert the "
            "prices, with the rate in a cell of its own, or correct the format.",
            cells=places,
            money=sum(abs(worked.net or 0.0) for worked in context.worked),
        )


def _net_currencies(context: Context) -> Iterator[Finding]:
    """Net prices in another currency than the price that they are the same number of."""
    groups: dict[tuple[str, str], list[Worked]] = {}
    for worked in context.worked:
        price, net = worked.record.cells.get("list price"), worked.net_place
        if price is None or net is None or worked.price is None or worked.net is None:
            continue
        unchanged = worked.price * worked.quantity * (1 - worked.discount)
        if not unchanged or abs(worked.net - unchanged) > 0.005 * max(worked.quantity, 1):
            continue
        of_price, of_net = currency_of(context, price), currency_of(context, net)
        if of_price and of_net and of_price != of_net:
            groups.setdefault((of_price, of_net), []).append(worked)
    for (of_price, of_net), found in groups.items():
        places = [worked.net_place for worked in found if worked.net_place is not None]
        yield finding(
            "currency",
            "error",
            min(places),
            f"The prices are in {of_price}, {in_ranges(places)} shows the same numbers in "
            f"{of_net}; the customer is quoted another amount; convert the prices, with the rate "
            "in a cell of its own, or correct the format.",
            cells=places,
            money=sum(abs(worked.net or 0.0) for worked in found),
        )


def _total_currency(context: Context) -> Iterator[Finding]:
    """A total in another currency than the lines that it adds up without a rate."""
    money = context.money
    if money.total is None or money.typed or not money.parts.known:
        return
    labels = context.labels
    named = (role_of(labels.left_label(factor.place)) for factor in money.parts.factors)
    if not all(role in ("discount", "tax") for role in named):
        return  # one of them may be the rate
    nets = [worked.net_place for worked in context.worked if worked.net_place is not None]
    of_lines = {currency for place in nets if (currency := currency_of(context, place))}
    of_total = currency_of(context, money.total, labels.left_label(money.total))
    if len(of_lines) != 1 or not of_total or of_total in of_lines:
        return
    cell = context.book.cell(money.total)
    (currency,) = of_lines
    yield finding(
        "currency",
        "error",
        money.total,
        f"The total in {cell_name(money.total)} is shown in {of_total} and adds up amounts in "
        f"{currency}, {in_ranges(nets)}, without a rate; convert it, with the rate in a cell of "
        "its own, or correct its label or format.",
        formula=cell.formula if cell is not None else None,
        value=money.value,
        money=abs(money.value or 0.0),
    )


def check(context: Context) -> Iterator[Finding]:
    """``currency``."""
    yield from _currencies(context)
    yield from _net_currencies(context)
    yield from _total_currency(context)
