"""Lists of prices: a figure, a currency or a comment that is unlike the rest of its list."""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter
from collections.abc import Iterator
from statistics import median

from ...cells.wording import rounded
from ...workbook.formulas import Place, address
from ..calls import places_of
from ..context import Context, cell_name
from ..currency_words import currency_in, currency_named
from ..find_total import number_in
from ..findings import Finding, finding, in_ranges
from ..item_lists import ItemList
from .looks import other_numbers
from .values import value_text

__all__ = ["check"]

_LEAST = 5  # figures that make a list in which one stands out
_FAR = math.log(3.0)  # from what the figures beside it say
_QUIET = 0.5  # of that, at most, for the others
_CODE = 4  # letters of a currency
_MOST = 0.6  # of the rows have it: the others lack it
_FEW = 0.25  # of a list in another currency: a slip, not a second list
_SIZES = ("size", "chosen size", "required volume")
#: Headings of a list beside which its figures rise or fall together.
_MONEY = ("list price", "net price")


def _columns(context: Context, listed: ItemList) -> Iterator[list[tuple[Place, float]]]:
    """The typed figures of a list, column by column, from top to bottom."""
    prices = sorted(listed.models)
    sheet = context.book.sheets[prices[0][0]]
    columns = dict.fromkeys(cell.place[2] for place in prices for cell in sheet.rows[place[1]])
    for column in columns:
        cells = [sheet.cells.get((place[1], column)) for place in prices]
        figures = [
            (cell.place, cell.value)
            for cell in cells
            if cell is not None and cell.typed and isinstance(cell.value, float) and cell.value > 0
        ]
        if len(figures) >= _LEAST:
            yield figures


def _off(values: list[float]) -> list[float]:
    """By how much each figure is off what those beside it say, as a logarithm."""
    logs = [math.log(value) for value in values]
    steps = [after - before for before, after in itertools.pairwise(logs)]
    usual = median(steps)
    inside = [logs[n] - (logs[n - 1] + logs[n + 1]) / 2 for n in range(1, len(logs) - 1)]
    return [logs[0] - (logs[1] - usual), *inside, logs[-1] - (logs[-2] + usual)]


def _unrest(values: list[float]) -> float:
    """How far the figure that fits worst is off."""
    return max(map(abs, _off(values)))


def _slips(context: Context) -> Iterator[Finding]:
    """A price or a capacity of a list that is about ten times off."""
    for listed in context.item_lists:
        for figures in _columns(context, listed):
            values = [value for _, value in figures]
            off = _off(values)
            at = min(range(len(values)), key=lambda n: _unrest(values[:n] + values[n + 1 :]))
            quiet = _unrest(values[:at] + values[at + 1 :])
            if abs(off[at]) < _FAR or quiet > _QUIET * abs(off[at]):
                continue
            place, value = figures[at]
            beside = [figures[n] for n in (at - 1, at + 1) if 0 <= n < len(figures)]
            side = "above" if off[at] > 0 else "below"
            yield finding(
                "catalog entry",
                "warning",
                place,
                f"{value:g} in {cell_name(place)} ({context.labels.heading(place)!r}) is far "
                f"{side} what the list has beside it "
                f"({' and '.join(f'{v:g}' for _, v in beside)}); about "
                f"{rounded(value / math.exp(off[at]), 2)} would fit; whoever takes the row gets "
                "another dryer or price; compare it with the maker's list.",
                value=value,
            )


def _below_0(context: Context) -> Iterator[Finding]:
    """Sizes of 0 or less, with which a list ends that formulas take as a whole."""
    taken = {place for area in context.catalogs.of_area for place in places_of(area)}
    for place in sorted(taken):
        cell, size = context.book.cell(place), context.value(place)
        if size in (None, ""):
            yield from _blank(context, place)
            continue
        if cell is None or not cell.typed or not isinstance(size, float) or size > 0:
            continue
        if context.labels.role(place) in _SIZES:
            yield _row(context, place, f"{size:g} is no size", [])


def _blank(context: Context, place: Place) -> Iterator[Finding]:
    """A blank in a range of sizes, beside a model and a price."""
    sheet, row, column = place
    if context.labels.role((sheet, row - 1, column)) not in _SIZES:
        return
    beside = [context.value((sheet, row, column + step)) for step in (1, 2)]
    if all(value not in (None, "") for value in beside):
        yield _row(context, place, f"the size is blank beside {value_text(beside[0])}", [])


def _rows(context: Context) -> Iterator[Finding]:
    """Rows of a catalog that lack a size, a model or a price, or have a size as text or below 0."""
    for listed in context.catalogs.all:
        rows = list(listed.rows)
        sizes = {row: context.value(row) for row in rows}
        numbers = sum(isinstance(size, float) for size in sizes.values())
        columns = [column for column in (listed.models, listed.prices) if column]
        filled = {
            column: sum(context.value(listed.beside(row, column)) not in (None, "") for row in rows)
            for column in columns
        }
        for row, size in sizes.items():
            cell = context.book.cell(row)
            beside = [listed.beside(row, column) for column in columns]
            has = [place for place in beside if context.value(place) not in (None, "")]
            if (
                isinstance(size, str)
                and cell is not None
                and cell.typed
                and number_in(size) is not None
                and numbers >= _MOST * len(rows)
            ):
                yield _row(context, row, f"the size {size!r} is stored as text", [])
            for place, column in zip(beside, columns, strict=True):
                if place in has or not isinstance(size, float) or not has:
                    continue
                if filled[column] >= _MOST * len(rows):
                    takers = [
                        line.chosen for line in context.lines
                        if line.chosen and context.value(line.chosen) == size
                    ]  # fmt: skip
                    what = "model" if column == listed.models else "price"
                    yield _row(context, place, f"the size {size:g} has no {what}", takers)


def _row(context: Context, place: Place, what: str, takers: list[Place]) -> Finding:
    effect = (
        f"{in_ranges(takers)} takes it" if takers else "no line takes it as it should from here"
    )
    return finding(
        "catalog entry",
        "error" if takers else "warning",
        place,
        f"In the catalog, {cell_name(place)}, {what}; {effect}; fill in the row, or take it out.",
        value=context.value(place),
        cells=[place, *takers] if takers else (),
    )


def _groups(context: Context) -> Iterator[list[Place]]:
    """Cells that hold prices of one kind."""
    for listed in context.catalogs.all:
        if listed.prices:
            yield [listed.beside(row, listed.prices) for row in listed.rows]
    for items in context.item_lists:
        yield sorted(items.models)
    for role in _MONEY:
        yield [r.cells[role] for r in context.records if role in r.cells]
    shown = list(context.precedents.followers(_totals(context)))
    yield [*_totals(context), *sorted(shown)]


def _stated(context: Context) -> str:
    """The one currency that the workbook says it is in, in a cell of that name."""
    found = {
        currency_named(cell.value)
        for cell in context.book.cells()
        if cell.typed and isinstance(cell.value, str) and len(cell.value) <= _CODE
        if currency_named(cell.value)
        if re.match(r"(currency|w\u00e4hrung)\b", context.labels.left_label(cell.place), re.I)
    }
    return found.pop() if len(found) == 1 else ""


def _totals(context: Context) -> list[Place]:
    return [] if context.money.total is None else [context.money.total]


def _currencies(context: Context) -> Iterator[Finding]:
    """Prices whose format shows another currency than the rest of their list."""
    known: set[Place] = set()
    stated = _stated(context)
    for places in _groups(context):
        cells = [cell for place in places if (cell := context.book.cell(place)) is not None]
        cells = [cell for cell in cells if isinstance(context.value(cell.place), float)]
        by_cell = {cell.place: currency_in(cell.style.number_format) for cell in cells}
        counts = Counter(by_cell.values())
        if len(counts) < 2 and not (stated and len(by_cell) == 1):
            continue
        usual = stated or counts.most_common(1)[0][0]
        for currency, count in counts.items():
            odd = [place for place, shows in by_cell.items() if shows == currency]
            if (
                not currency
                or currency == usual
                or (count > _FEW * len(by_cell) and len(by_cell) > 1)
            ):
                continue
            if known & set(odd):
                continue
            known |= set(odd)
            alone = len(by_cell) == 1
            rest = (
                "the amounts of the quote"
                if alone
                else f"the other {len(by_cell) - count} prices of the list"
            )
            others = f"are shown in {usual}" if usual else "show no currency of their own"
            yield finding(
                "currency",
                "warning",
                odd[0],
                f"{value_text(context.value(odd[0]))} in {in_ranges(odd)} is shown in {currency}; "
                f"{rest} {others}; the number counts "
                "as it is, in the currency of the quote; convert it, or correct the format.",
                value=context.value(odd[0]),
                cells=odd if len(odd) > 1 else (),
            )


def _comments(context: Context) -> Iterator[Finding]:
    """Comments at prices, of which the one that says another number contradicts its cell."""
    own = {place for record in context.records for place in record.cells.values()}
    for name, sheet in context.book.sheets.items():
        for at, text in sheet.settings.comments.items():
            place: Place = (name, *at)
            value = context.value(place)
            if place in own or not isinstance(value, float):
                continue
            if context.labels.role(context.trail(place)[-1]) not in _MONEY and not currency_named(
                text
            ):
                continue
            if not any(other_numbers(text, value, "")):
                continue
            cell = sheet.cells.get(at)
            yield finding(
                "comment",
                "warning",
                place,
                f"The comment says {' '.join(text.split())[:80]!r}, the cell {address(*at)} holds "
                f"{value_text(value)}: one of the two is out of date; ask which one, and correct "
                "the other.",
                formula=cell.formula if cell is not None else None,
                value=value,
            )


def check(context: Context) -> Iterator[Finding]:
    """``catalog entry``, ``currency``, ``comment`` of price lists."""
    yield from _slips(context)
    yield from _below_0(context)
    yield from _rows(context)
    yield from _currencies(context)
    yield from _comments(context)
