"""From the net price of each line to the grand total: what counts, how often, and what does not.

Which cell is the total, :mod:`.find_total` says; what it takes of each line and what else it is
made of, :mod:`.followed_total`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..workbook.formulas import Place
from .amounts_beside import AmountsBeside, amounts_beside
from .calls import cell_name, in_area
from .find_total import TotalFinder, number_in
from .followed_total import FollowedTotal, usual_weight
from .line_cells import Worked
from .records import LineRecords
from .roles import role_of
from .total_parts import TotalParts

if TYPE_CHECKING:
    from ..workbook.book import Cell

__all__ = ["BlockInput", "Money", "money_of"]

_CENT = 0.01
_NEAR = 14  # rows around the total in which its discount or tax stands
_OPTION = re.compile(r"\b(option(s|al)?|alternat(iv)?e|instead of)\b", re.IGNORECASE)
_WITHOUT = re.compile(r"\b(without|excl\w*|base|before) (the )?(options?|alternat)", re.IGNORECASE)
_YES = frozenset(("yes", "y", "x", "true", "1", "1.0", "o"))
_BLOCK = ("discount", "tax", "freight")


@dataclass(frozen=True)
class BlockInput:
    """A typed figure beside the total: a discount, tax or freight.

    Attributes:
        counts: whether the total follows from it.
    """

    place: Place
    role: str
    value: float
    counts: bool


@dataclass
class Money:
    """How the lines' money reaches the grand total.

    Attributes:
        total: the cell of the grand total, None where there is none.
        value: what it shows.
        weights: per line how much of its amount reaches the total; None where it is not known.
        usual: the weight of most lines.
        adding: the cells that add lines up, on the way to the total.
        block: typed figures beside the total.
        parts: what it is made of besides the lines.
        beside: amounts beside the lines that it does not take once.
        options: lines that the total leaves out on purpose, as their row or place says.
        typed: somebody typed the total over what the lines come to.
        right: the total that follows from the lines worked out again; None where it does not
            follow from all of them.
        as_they_are: lines in it whose net price was taken as the workbook has it.
        why: why it could not be followed or worked out again, ``""`` where it could.
    """

    total: Place | None = None
    value: float | None = None
    weights: list[float | None] = field(default_factory=list)
    usual: float = 1.0
    adding: list[Cell] = field(default_factory=list)
    block: list[BlockInput] = field(default_factory=list)
    parts: TotalParts = field(default_factory=TotalParts)
    beside: AmountsBeside = field(default_factory=AmountsBeside)
    options: list[Worked] = field(default_factory=list)
    typed: bool = False
    right: float | None = None
    as_they_are: int = 0
    why: str = ""


def _block(
    context: LineRecords, worked: list[Worked], followed: FollowedTotal
) -> Iterator[BlockInput]:
    """Typed figures by the name of a discount, tax or freight: near the total all of them,
    elsewhere those that no formula takes."""
    total = context.trail(followed.place)[-1]  # a page only repeats it
    own = {place for one in worked for place in one.record.cells.values()}
    last = max((one.line.place[1] for one in worked if one.line.place[0] == total[0]), default=0)
    for name, sheet in context.book.sheets.items():
        for (row, column), cell in sheet.cells.items():
            if not cell.typed:
                if column == total[2] and name == total[0] and last < row < total[1]:
                    yield from _step(context, cell, followed)
                continue
            if not isinstance(cell.value, float) or not cell.value:
                continue
            if cell.place in own or context.in_catalog(cell.place):
                continue
            left = context.labels.left_label(cell.place)
            role = role_of(left)
            if role not in _BLOCK or (role == "freight" and _is_its_quantity(context, cell, total)):
                continue
            near = name == total[0] and abs(row - total[1]) <= _NEAR
            if near and row <= last and context.labels.role(cell.place) != role:
                continue  # in the rows of the lines the heading says what it is
            counts = cell.place in followed.typed
            if not near and (counts or role != "discount" or _is_taken(context, cell.place)):
                continue
            yield BlockInput(cell.place, role, cell.value, counts)


def _is_its_quantity(context: LineRecords, cell: Cell, total: Place) -> bool:
    """Whether the amount that a label is about stands further on, under the lines' amounts."""
    sheet, row, column = cell.place
    further = sheet == total[0] and column < total[2]
    return (
        further
        and float(cell.value).is_integer()
        and isinstance(context.value((sheet, row, total[2])), float)
    )


def _step(context: LineRecords, cell: Cell, followed: FollowedTotal) -> Iterator[BlockInput]:
    """A discount, tax or freight worked out over the total that does not reach it."""
    role, value = role_of(context.labels.left_label(cell.place)), context.value(cell.place)
    if role not in _BLOCK or not isinstance(value, float) or not value:
        return
    if cell.place not in followed.calculated and not _only_shows(context, cell, value, followed):
        yield BlockInput(cell.place, role, value, False)


def _only_shows(context: LineRecords, cell: Cell, value: float, followed: FollowedTotal) -> bool:
    """Whether a cell repeats an amount that the total follows from, as a page for printing does."""
    return any(
        taken.place in followed.calculated or taken.place in followed.typed
        for area in context.values.areas_of(cell)
        for taken in context.values.cells_in(area)
        if context.value(taken.place) == value
    )


def _each_once(context: LineRecords, block: list[BlockInput]) -> list[BlockInput]:
    """Without what is worked out from a figure that is told itself."""
    left_out = {figure.place for figure in block if not figure.counts}
    kept = []
    for figure in block:
        cell = context.book.cell(figure.place)
        follows = context.behind(cell) if cell is not None and cell.formula else None
        if follows is None or left_out.isdisjoint(typed.place for typed in follows[0]):
            kept.append(figure)
    return kept


def _is_taken(context: LineRecords, place: Place) -> bool:
    """Whether any formula takes a cell."""
    return any(
        in_area(place, area)
        for cell in context.book.formulas()
        for area in context.values.areas_of(cell)
    )


def _is_option(context: LineRecords, one: Worked, total: Place) -> bool:
    """Whether a line is offered beside the total: its row says so, or a title under the total."""
    sheet, row, _ = one.line.place
    labels = context.labels
    if _WITHOUT.search(labels.left_label(total)):
        return True
    for cell in labels.beside(one.line.place):
        text = context.value(cell.place)
        if isinstance(text, str) and _OPTION.search(text):
            return True
        if _OPTION.search(labels.label(cell.place)) and str(text).strip().lower() in _YES:
            return True
    if sheet != total[0] or row <= total[1] or labels.sideways(sheet):
        return False
    between = range(total[1] + 1, row)  # a title over lines under the total may call them so
    rows = context.book.sheets[sheet].rows
    texts = (context.value(cell.place) for at in between for cell in rows.get(at, ()))
    return any(isinstance(text, str) and _OPTION.search(text) for text in texts)


def money_of(context: LineRecords, worked: list[Worked]) -> Money:
    """How the lines' money reaches the grand total."""
    money = Money(weights=[None] * len(worked))
    finder = TotalFinder(context, worked)
    total = finder.total() if worked else None
    typed = finder.typed_total(total) if worked else None
    if total is None and typed is None:
        money.why = "no cell was found in which the lines' prices come together"
        return money
    if total is None or typed is not None:
        assert typed is not None
        money.total, money.typed = typed, True
        money.value = number_in(context.value(typed))
        money.why = f"somebody typed the total in {cell_name(typed)}; nothing was followed to it"
        return money
    money.total = total
    value = context.value(total)
    money.value = value if isinstance(value, float) else None
    if money.value is None:
        money.why = f"the total shows {value}"
        return money
    followed = finder.followed(total)
    money.weights = followed.weights
    money.adding = followed.adding()
    money.usual = usual_weight(money.weights)
    money.block = _each_once(context, list(_block(context, worked, followed)))
    heart = finder.followed(followed.heart())
    money.parts = heart.parts()
    money.beside = amounts_beside(context, worked, total, money.parts)
    money.options = [
        one
        for one, weight in zip(worked, money.weights, strict=True)
        if weight == 0 and _is_option(context, one, total)
    ]
    for one, weight in zip(worked, money.weights, strict=True):
        if weight is not None and one.net_place is None:
            one.left_out.pop("net price", None)  # the total multiplies its price itself
    money.why = _not_derived(money, worked)
    if not money.why:
        money.right = _right(money, worked)
        if abs(money.right - heart.base) <= _CENT * (1 + len(money.parts.amounts)):
            money.right = money.value  # what is rounded on the way
    return money


def _not_derived(money: Money, worked: list[Worked]) -> str:
    """Why the total does not follow from the lines worked out again, ``""`` where it does."""
    for one, weight in zip(worked, money.weights, strict=True):
        role = next((r for r in ("net price", "list price") if r in one.record.blank), "")
        if one.net is None and (one.net_place is not None or role):
            return f"{one.in_words} has no price"
        if weight is None and one.net is not None:
            return f"it is not known how the total takes {one.in_words}"
    if not money.parts.known:
        return "it could not be told apart into its lines and what is added to them"
    return ""


def _right(money: Money, worked: list[Worked]) -> float:
    """The total of each line's right amount, counted once, with the figures that have a name."""
    lines = 0.0
    for one in worked:
        if one in money.options:
            continue
        if one.right_net is not None and one.net is not None:
            money.as_they_are += "net price" in one.left_out
            lines += one.right_net
        elif one.price is not None:  # no cell of its own: the total multiplies
            lines += (one.right_price or one.price) * one.quantity * (1 - one.discount)
    right = money.parts.weight * lines + money.parts.added
    right += sum(one.meant - one.amount.counts for one in money.beside.miscounted)
    for figure in money.block:
        if figure.role == "discount" and not figure.counts and 0 < figure.value < 1:
            right -= figure.value * money.parts.weight * lines
    return right
