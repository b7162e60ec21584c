"""From the net price of each line to the grand total: what counts, how often, and what does not.

Followed by trying it out: each line's amount is changed a little, and the total says with which
weight it took it. So it makes no difference how the total adds up: SUM, SUMPRODUCT, SUMIFS, by
phases, or through another sheet.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from ..cells.values import is_error
from ..workbook.evaluator import FormulaError, Unknown, WhatIf
from ..workbook.formulas import Place
from .records import LineRecords
from .requote import Worked
from .roles import role_of

if TYPE_CHECKING:
    from ..workbook.book import Cell

__all__ = ["BlockInput", "Money", "money_of"]

_STEP = 100.0  # a change of an amount; rounding to cents does not hide it
_EACH = 400  # so many lines are tried one by one
_MOST_CELLS = 200_000
_NEAR = 14  # rows around the total in which its discount or tax stands
_BLOCK = ("discount", "tax", "freight")


@dataclass(frozen=True)
class BlockInput:
    """A typed figure beside the total: a discount, tax or freight.

    Attributes:
        counts: whether the total follows from it.
        as_stated: whether the total takes a discount once and whole.
    """

    place: Place
    role: str
    value: float
    counts: bool
    as_stated: bool = True


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
    right: float | None = None
    as_they_are: int = 0
    why: str = ""


class _Follower:
    def __init__(self, context: LineRecords, worked: list[Worked]) -> None:
        self.context, self.worked = context, worked
        #: per line: the cell to change, and how much a change there is worth
        self.amounts: list[tuple[Place, float] | None] = [None] * len(worked)
        self.typed: set[Place] = set()
        self.calculated: set[Place] = set()
        self.base = 0.0
        self._followed: Place | None = None
        self._weights: tuple[Place, list[float | None]] | None = None

    # -- the total

    def _amounts(self) -> set[Place]:
        """Every cell with a line's money."""
        return {
            place
            for one in self.worked
            for role in ("net price", "list price")
            if (place := one.record.cells.get(role)) is not None
        }

    def candidates(self) -> Iterator[tuple[Place, set[Place], str]]:
        """(cell, all that it follows from, role) of formulas that take the money of lines."""
        context, money = self.context, self._amounts()
        own = {place for one in self.worked for place in one.record.places}
        priced = sum(one.net_place is not None or one.price is not None for one in self.worked)
        for cell in context.book.formulas():
            if len(self.worked) > 1 and (cell.place in own or cell.place not in context.of_several):
                continue
            value = context.value(cell.place)
            if not isinstance(value, float) and not is_error(value):
                continue
            role = role_of(context.labels.label(cell.place))
            if role not in ("grand total", "subtotal", "net price", "list price", "tax"):
                continue
            follows = context.values.inputs_of(cell, _MOST_CELLS)
            if follows is None:
                continue
            behind = follows[1] | {typed.place for typed in follows[0]}
            taken = len(behind & money - {cell.place})
            if taken and 2 * taken >= priced:
                yield cell.place, behind - {cell.place}, role

    def total(self) -> Place | None:
        """The last cell in which the money of most lines comes together."""
        found = list(self.candidates())
        if len(self.worked) == 1:
            found = [f for f in found if f[2] in ("grand total", "subtotal")]
        # A circle follows from itself; what nothing else follows from is the last one.
        last = [
            f for f in found
            if not any(f[0] in other[1] and other[0] not in f[1] for other in found)
        ]  # fmt: skip
        named = [f for f in last if f[2] == "grand total"] or last
        if not named:
            return None
        values = {f[0]: self.context.value(f[0]) for f in named}
        numbers = [place for place, value in values.items() if isinstance(value, float)]
        numbers.sort(key=lambda place: -values[place])
        taking = next((place for place in numbers if self._takes_lines(place)), None)
        # A cell that the lines' money does not move is no total, whatever it is called.
        return taking or next((place for place in values if place not in numbers), None)

    def _takes_lines(self, total: Place) -> bool:
        """Whether a cell takes the amounts of most lines."""
        self.follow(total)
        known = [at for at, amount in enumerate(self.amounts) if amount is not None]
        if not known or not self.weight(total, known):
            return False
        taken = sum(bool(weight) for weight in self.weights(total))
        return 2 * taken >= len(known)

    # -- weights

    def follow(self, total: Place) -> None:
        """Take a cell for the total: what it follows from, and which amounts of lines that is."""
        if total == self._followed:
            return
        self._followed = total
        cell = self.context.book.cell(total)
        follows = self.context.values.inputs_of(cell, _MOST_CELLS) if cell is not None else None
        if follows is None:
            return
        value = self.context.value(total)
        self.base = value if isinstance(value, float) else 0.0
        self.typed = {typed.place for typed in follows[0]}
        self.calculated = follows[1]
        self.amounts = [None] * len(self.worked)
        self.__dict__.pop("_followers", None)
        behind = self.typed | self.calculated
        nets = [one.net_place for one in self.worked if one.net_place is not None]
        by_net = 2 * sum(place in behind for place in nets) >= len(nets)
        for at, one in enumerate(self.worked):
            place = one.net_place
            if by_net:
                self.amounts[at] = (place, 1.0) if place is not None else None
            else:
                price = one.record.cells.get("list price")
                weight = one.quantity * (1 - one.discount)
                self.amounts[at] = (price, weight) if price is not None and weight else None

    def tried(self, total: Place, instead: dict[Place, Any]) -> float | None:
        """The total with other amounts."""
        changed = self._affected(instead)
        try:
            value = WhatIf(self.context.values, instead, changed).cell_value(total)
        except (Unknown, FormulaError, RecursionError):
            return None
        return value if isinstance(value, float) else None

    def _affected(self, instead: dict[Place, Any]) -> set[Place]:
        """Formulas on the way from some cells to the total, not those before them."""
        found = set(instead)
        waiting = list(instead)
        while waiting:
            for place in self._followers.get(waiting.pop(), ()):
                if place not in found:
                    found.add(place)
                    waiting.append(place)
        return found - set(instead)

    @cached_property
    def _followers(self) -> dict[Place, list[Place]]:
        """Cell -> formulas on the way to the total that take it."""
        found: dict[Place, list[Place]] = {}
        for place in self.calculated:
            cell = self.context.book.cell(place)
            for area in self.context.values.areas_of(cell) if cell is not None else ():
                for taken in self.context.values.cells_in(area):
                    found.setdefault(taken.place, []).append(place)
        return found

    def weight(self, total: Place, lines: list[int]) -> float | None:
        """With which weight the total takes a change in all of these lines."""
        instead: dict[Place, Any] = {}
        change = 0.0
        for order, at in enumerate(lines):
            amount = self.amounts[at]
            assert amount is not None
            before = self.context.value(amount[0])
            # another step for each, so that slips do not cancel
            step = _STEP * (1 + 0.618 * ((order * 0.754877) % 1)) if len(lines) > 1 else _STEP
            instead[amount[0]] = (before if isinstance(before, float) else 0.0) + step
            change += step * amount[1]
        value = self.tried(total, instead)
        return None if value is None or not change else round((value - self.base) / change, 6)

    def weights(self, total: Place) -> list[float | None]:
        """Per line its weight in the total, kept for the last cell that was asked for."""
        if self._weights is None or self._weights[0] != total:
            self._weights = (total, self._each_weight(total))
        return self._weights[1]

    def _each_weight(self, total: Place) -> list[float | None]:
        found: list[float | None] = [None] * len(self.worked)
        known = [at for at, amount in enumerate(self.amounts) if amount is not None]
        waiting = [known] if len(known) > _EACH else [[at] for at in known]
        usual = self.weight(total, known[:1]) if known else None
        while waiting:
            lines = waiting.pop()
            weight = self.weight(total, lines)
            if len(lines) == 1 or weight == usual:
                for at in lines:
                    found[at] = weight
            else:
                middle = len(lines) // 2
                waiting += [lines[:middle], lines[middle:]]
        return found

    def adding(self) -> list[Cell]:
        """Formulas on the way to the total that take the amounts of several lines."""
        amounts = {amount[0] for amount in self.amounts if amount is not None}
        found = []
        for place in sorted(self.calculated):
            cell = self.context.book.cell(place)
            if cell is None or cell.formula is None or place in amounts:
                continue
            taken = {
                c.place for area in self.context.values.areas_of(cell)
                for c in self.context.values.cells_in(area)
            }  # fmt: skip
            if len(taken & amounts) > 1 or (len(amounts) == 1 and taken & amounts):
                found.append(cell)
        return found

    # -- what stands beside the total

    def block(self, total: Place) -> Iterator[BlockInput]:
        context = self.context
        sheet, row, _ = total
        own = {place for one in self.worked for place in one.record.cells.values()}
        for (at, _), cell in context.book.sheets[sheet].cells.items():
            if abs(at - row) > _NEAR or not cell.typed or not isinstance(cell.value, float):
                continue
            role = role_of(context.labels.label(cell.place))
            if role not in _BLOCK or not cell.value or cell.place in own:
                continue
            if context.in_catalog(cell.place) or not context.labels.left_label(cell.place):
                continue
            if role_of(context.labels.left_label(cell.place)) != role:
                continue
            counts = cell.place in self.typed
            as_stated = not counts or role != "discount" or self._once(total, cell)
            yield BlockInput(cell.place, role, cell.value, counts, as_stated)

    def _once(self, total: Place, cell: Cell) -> bool:
        """Whether a discount is taken once, and of all that stands above it."""
        without = self.tried(total, {cell.place: 0.0})
        if without is None or not isinstance(cell.value, float) or not 0 < cell.value < 1:
            return True
        return abs(without * (1 - cell.value) - self.base) <= 1e-6 * abs(self.base) + 0.02


def money_of(context: LineRecords, worked: list[Worked]) -> Money:
    """How the lines' money reaches the grand total."""
    money = Money(weights=[None] * len(worked))
    follower = _Follower(context, worked)
    total = follower.total() if worked else None
    if total is None:
        money.why = "no cell was found in which the lines' prices come together"
        return money
    money.total = total
    value = context.value(total)
    money.value = value if isinstance(value, float) else None
    if money.value is None:
        money.why = f"the total shows {value}"
        return money
    follower.follow(total)
    money.weights = follower.weights(total)
    money.adding = follower.adding()
    known = Counter(weight for weight in money.weights if weight)
    money.usual = known.most_common(1)[0][0] if known else 1.0
    money.block = list(follower.block(total))
    money.why = _not_derived(money, worked)
    if not money.why:
        money.right = _right(money, worked)
    return money


def _not_derived(money: Money, worked: list[Worked]) -> str:
    """Why the total does not follow from the lines worked out again, ``""`` where it does."""
    for one, weight in zip(worked, money.weights, strict=True):
        role = next((r for r in ("net price", "list price") if r in one.record.blank), "")
        if one.net is None and (one.net_place is not None or role):
            return f"{one.in_words} has no price"
        if weight is None and one.net is not None:
            return f"it is not known how the total takes {one.in_words}"
    return ""


def _right(money: Money, worked: list[Worked]) -> float | None:
    """The total with each line's right amount, counted once with the usual weight."""
    assert money.value is not None
    right = money.value
    for one, weight in zip(worked, money.weights, strict=True):
        if weight is None or one.right_net is None or one.net is None:
            continue
        money.as_they_are += "net price" in one.left_out
        right += money.usual * one.right_net - weight * one.net
    for figure in money.block:
        if figure.role == "discount" and not figure.counts and 0 < figure.value < 1:
            right *= 1 - figure.value
    return right
