"""Formulas that no check has taken, and what they may be; what is hidden is said of each.

A formula is *taken* where it is a call of ours, a plain formula recognized for one, a cell of a
line that was worked out again, the grand total, a check of the workbook's own, or where one of
these follows from it. Of the others those that only show or use such results, or that count and
look up, size and price nothing of their own. The rest nobody has examined.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..workbook.addresses import column_letters
from ..workbook.formulas import Binary, Literal, Place, Reference, walk
from .calls import cell_name
from .find_total import CALLED_TOTAL
from .line_cells import prices_of
from .plain_formulas import sized_anew
from .verdicts import judges

if TYPE_CHECKING:
    from ..workbook.book import Book, Cell
    from .context import Context

__all__ = ["LeftOver", "left_over", "why_hidden"]

_SAME = 1e-6  # relative; what a formula may round
_MOST_REPEATED = 20_000  # cells of a range that are looked through for the same value


@dataclass
class LeftOver:
    """The formulas that no check has taken.

    Attributes:
        not_examined: cell -> why it should have been.
        recalculated: formulas that only show, use or count; nobody judged what they say.
        taken: number of formulas that were taken.
    """

    not_examined: dict[Place, str] = field(default_factory=dict)
    recalculated: list[Place] = field(default_factory=list)
    taken: int = 0


def why_hidden(book: Book, place: Place) -> str:
    """Why a cell cannot be seen, such as ``"the sheet 'Old' is hidden"``, or ``""``."""
    name, row, column = place
    sheet = book.sheets[name]
    if sheet.hidden:
        very = any(s.name == name and s.state == "veryHidden" for s in book.package.sheets)
        return f"the sheet {name!r} is hidden{' from its menu too' if very else ''}"
    if row in sheet.unseen_rows:
        return f"row {row} of {name!r} is hidden"
    if column in sheet.hidden_columns:
        return f"column {column_letters(column)} of {name!r} is hidden"
    return ""


def _steps_left_out(context: Context) -> dict[Place, str]:
    """Formulas of offered lines that could not be worked out again, and why."""
    found = {}
    for worked in context.worked:
        for role, why in worked.left_out.items():
            place = worked.record.cells.get(role)
            cell = context.book.cell(place) if place is not None else None
            if cell is None or cell.formula is None or cell.place in context.calls:
                continue
            if context.is_quoted(worked.line):
                found[cell.place] = f"the {role} could not be worked out again: {why}"
    return found


def _results(context: Context, left_out: Iterable[Place]) -> set[Place]:
    """Formulas that a check has taken for what they are."""
    cells = (
        place for worked in context.worked for place in worked.record.cells.values()
    )  # fmt: skip
    found = {cell.place for cell in map(context.book.cell, cells) if cell and cell.formula}
    found -= set(left_out)
    found |= set(context.calls)
    found |= {cell.place for cell in context.money.adding}
    if context.money.total is not None:
        found.add(context.money.total)
    return found | {cell.place for cell in context.book.formulas() if judges(cell)}


def _inputs(context: Context, cell: Cell) -> Iterator[Cell]:
    for area in context.values.areas_of(cell):
        if (area[3] - area[1] + 1) * (area[4] - area[2] + 1) <= _MOST_REPEATED:
            yield from context.values.cells_in(area)


def _shows_a_cell(context: Context, cell: Cell) -> bool:
    """Whether a formula gives the value of a cell that it refers to."""
    value = context.value(cell.place)
    return any(context.value(taken.place) == value for taken in _inputs(context, cell))


def _with_numbers(context: Context, cells: list[Cell]) -> set[Place]:
    """Those of some formulas that work something out from typed numbers, alone or through others.

    Counts, row numbers and places in a list come from no typed number.
    """
    found = {cell.place for cell in cells if _calculates(context, cell)}
    return found | (context.precedents.followers(found) if found else set())


#: Functions that only say something of many cells: how much they come to, the least, the most.
_SAYS_OF_MANY = frozenset(("SUM", "AVERAGE", "MEDIAN", "MIN", "MAX", "SUBTOTAL"))


def _of_one_column(context: Context, cell: Cell) -> bool:
    """Whether a formula only says what one figure of the lines comes to, such as the quantities."""
    if getattr(cell.tree, "name", "") not in _SAYS_OF_MANY:
        return False
    taken = {c.place for c in _inputs(context, cell) if context.value(c.place) not in (None, "")}
    roles = {
        role
        for worked in context.worked
        for role, place in worked.record.cells.items()
        if place in taken and role not in ("net price", "list price")
    }
    lines = {p for worked in context.worked for p in worked.record.cells.values()}
    return len(roles) == 1 and taken <= lines


def _calculates(context: Context, cell: Cell) -> bool:
    if cell.tree is None or _of_one_column(context, cell):
        return False
    typed = False
    for node in walk(cell.tree):
        if isinstance(node, Binary) and node.operator in ("*", "/"):
            sides = (node.left, node.right)
            if all(isinstance(side, Literal) and isinstance(side.value, float) for side in sides):
                return True  # two figures in the formula itself
        typed |= isinstance(node, Reference)
    numbers = any(c.typed and isinstance(c.value, float) for c in _inputs(context, cell))
    return numbers and not _counts(cell)


#: What makes a summary by model, hall or state, beside the quote; no total of it.
_OF_SOME = frozenset(("SUMIF", "SUMIFS", "AVERAGE", "AVERAGEIF", "AVERAGEIFS", "MIN", "MAX"))


def _adds_up(context: Context, cell: Cell, money: set[Place]) -> bool:
    """Whether a formula takes the prices of several lines, and does more than show or count one."""
    if getattr(cell.tree, "name", "") in _OF_SOME or _counts(cell):
        return False
    return _takes_prices(context, cell, money)


def _takes_prices(context: Context, cell: Cell, money: set[Place]) -> bool:
    """Whether a formula takes prices of several lines, where they stand or are repeated."""
    prices = (c for c in _inputs(context, cell) if context.trail(c.place)[-1] in money)
    return next(prices, None) is not None and next(prices, None) is not None


def _total_not_followed(context: Context, cell: Cell, money: set[Place]) -> bool:
    """Whether a formula is called a total, takes the lines' prices, and no total was found."""
    if context.money.total is not None or _counts(cell):
        return False
    label = f"{context.labels.label(cell.place)} {context.labels.heading(cell.place)}"
    if not CALLED_TOTAL.search(label) or _adds_up(context, cell, money):
        return False  # what adds up is told as such
    return _takes_prices(context, cell, money)


#: Functions that give a number of cells, a place or a date, whatever numbers stand there.
_COUNTS = frozenset(
    ("COUNT", "COUNTA", "COUNTBLANK", "COUNTIF", "COUNTIFS", "MATCH", "XMATCH", "ROW", "ROWS",
     "COLUMN", "COLUMNS", "TODAY", "NOW", "SHEET", "SHEETS", "LEN", "AREAS")
)  # fmt: skip


def _counts(cell: Cell) -> bool:
    """Whether a formula is nothing but a count or a place."""
    return getattr(cell.tree, "name", "") in _COUNTS


#: A text that would be a formula if its cell were no text cell.
_FORMULA = re.compile(r"\s*=\s*[\w$(+-].*", re.DOTALL)


def _not_calculated(context: Context) -> Iterator[tuple[Place, str]]:
    """Formulas stored as text, and required volumes that are typed in a book without a line."""
    for cell in context.book.cells():
        if not cell.typed:
            continue
        if isinstance(cell.value, str):
            if _FORMULA.fullmatch(cell.value):
                yield cell.place, "a formula stored as text, which calculates nothing"
        elif (
            not context.lines
            and isinstance(cell.value, float)
            and context.labels.role(cell.place) == "required volume"
        ):
            yield cell.place, "typed required volumes; nothing says how they came about"


def left_over(context: Context) -> LeftOver:
    """The formulas of a workbook that no check has taken."""
    found = LeftOver({**_steps_left_out(context), **dict(_not_calculated(context))})
    results = _results(context, found.not_examined)
    taken = results | {cell.place for cell in context.precedents.taken_by(results)}
    rest: list[Cell] = []
    for cell in context.book.formulas():
        if cell.place in taken:
            found.taken += 1
        elif cell.place not in found.not_examined and context.value(cell.place) not in (None, ""):
            rest.append(cell)
    if not rest:
        return found
    known = {*context.unread, *context.values.unknown}
    numbers = [c for c in rest if isinstance(context.value(c.place), float)]
    uses = context.precedents.followers(results)
    money = prices_of(context.worked)
    with_a_price = _with_a_catalog_price(context, rest)
    summed = _summed_without_a_price(context, rest)
    apart = _with_numbers(context, [c for c in numbers if c.place not in uses])
    for cell in rest:
        if cell.place in known:
            continue  # told with the reason why it could not be computed
        value, why = context.value(cell.place), ""
        if _total_not_followed(context, cell, money):
            why = "is called a total, and does not add up the lines' prices as one"
        elif not isinstance(value, float) or _shows_a_cell(context, cell):
            pass  # a text sizes nothing, and an error is a finding
        elif value == context.money.value and not context.money.why:
            pass  # the total once more, added up in another way
        elif _adds_up(context, cell, money):
            why = "adds up prices of the lines, and is not on the way to a total that was found"
        elif (anew := sized_anew(context, cell)) is not None:
            if not _near(anew.result, value):
                why = "takes a throughput, hours and a density, and gives no volume of these"
        elif cell.place in with_a_price:
            why = "works with a price of the catalog, and no heading says what a line costs"
        elif cell.place in summed and (unknown := _unknown_figures(context, cell)):
            why = f"takes {unknown} into a sum: a heading that was not recognized"
        elif cell.place not in uses and cell.place in apart:
            why = "a calculation of its own that no heading explains"
        if why:
            found.not_examined[cell.place] = why
        else:
            found.recalculated.append(cell.place)
    return found


def _with_a_catalog_price(context: Context, rest: list[Cell]) -> set[Place]:
    """Formulas that multiply a price, in a book where no heading says what a line costs."""
    if any({"list price", "net price"} & worked.record.cells.keys() for worked in context.worked):
        return set()
    lists = [listed.area(listed.prices) for listed in context.catalogs.all if listed.prices]
    prices = {
        cell.place
        for cell in context.book.formulas()
        if isinstance(context.value(cell.place), float)
        and any(area in lists for area in context.values.areas_of(cell))
    }
    return {
        cell.place
        for cell in rest
        if isinstance(cell.tree, Binary) and any(t.place in prices for t in _inputs(context, cell))
    }


def _summed_without_a_price(context: Context, rest: list[Cell]) -> set[Place]:
    """Formulas that others add up, in a book where no heading says what a line costs."""
    if any("net price" in worked.record.cells for worked in context.worked):
        return set()
    return {
        taken.place
        for cell in rest
        for area in context.values.areas_of(cell)
        if area[1:3] != area[3:]
        for taken in context.values.cells_in(area)
    }


def _unknown_figures(context: Context, cell: Cell) -> str:
    """The headings that nobody knows, of typed figures that an amount of a line takes; or ""."""
    labels = context.labels
    named = [
        repr(labels.label(taken.place)) if labels.label(taken.place) else cell_name(taken.place)
        for taken in _inputs(context, cell)
        if taken.typed and isinstance(taken.value, float) and not labels.role(taken.place)
    ]
    return " and ".join(dict.fromkeys(named)) if not labels.role(cell.place) else ""


def _near(one: object, other: float) -> bool:
    return isinstance(one, float) and abs(one - other) <= _SAME * max(abs(one), abs(other))
