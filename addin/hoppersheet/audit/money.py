"""From the net price of each line to the grand total: what counts, how often, and what does not.

Followed by trying it out: each line's amount is changed a little, and the total says with which
weight it took it. So it makes no difference how the total adds up: SUM, SUMPRODUCT, SUMIFS, by
phases, or through another sheet.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from ..cells.values import is_error
from ..workbook.evaluator import FormulaError, Unknown, WhatIf
from ..workbook.formulas import Place
from .calls import cell_name, in_area
from .line_cells import Worked, prices_of, rounds
from .records import LineRecords
from .roles import role_of
from .total_parts import TotalParts, Tried, parts_of

if TYPE_CHECKING:
    from ..workbook.book import Cell

__all__ = ["BlockInput", "Money", "money_of"]

_CENT = 0.01
_STEP = 100.0  # a change of an amount; rounding to cents does not hide it
_EACH = 400  # so many lines are tried one by one
_MOST_CELLS = 200_000
_NO_MEAN = 0.51  # a cell without a name that takes less of each line is a mean, no sum
_FAR = 3.0  # times the lines: further off it is another kind of total
_NEAR = 14  # rows around the total in which its discount or tax stands
_CALLED_TOTAL = re.compile(
    r"^(grand |sub|overall |offer |quote |order |net )?(total|sum|gesamt|summe|endsumme|importe)"
    r"|\btotal$|amount due",
    re.IGNORECASE,
)
_TOTALS = ("grand total", "subtotal", "net price", "list price", "tax")
_MEASURE = re.compile(
    r"\b(hours?|weight|mass|loads?|volume|air\w*|heat|throughput|rate|size|power|count|quantity)\b",
    re.IGNORECASE,
)
_OPTION = re.compile(r"\b(option(al)?|alternat(iv)?e|instead of)\b", re.IGNORECASE)
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
    options: list[Worked] = field(default_factory=list)
    typed: bool = False
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

    def _comes_together(self, cell: Cell, money: set[Place]) -> bool:
        """Whether a formula follows from several lines, or takes a range of their money."""
        return cell.place in self.context.of_several or any(
            sum(in_area(place, area) for place in money) > 1
            for area in self.context.values.areas_of(cell)
            if area[1:3] != area[3:]
        )

    def candidates(self, roles: tuple[str, ...]) -> Iterator[tuple[Place, set[Place], str]]:
        """(cell, all that it follows from, role) of formulas that take the money of lines."""
        context, money = self.context, prices_of(self.worked)
        own = {place for one in self.worked for place in one.record.places}
        priced = sum(one.net_place is not None or one.price is not None for one in self.worked)
        for cell in context.book.formulas():
            if len(self.worked) > 1 and cell.place in own:
                continue
            value = context.value(cell.place)
            if not isinstance(value, float) and not is_error(value):
                continue
            role = context.labels.role(cell.place)
            if role not in roles:
                continue
            # last, because it looks at every price
            if len(self.worked) > 1 and not self._comes_together(cell, money):
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
        context = self.context
        # What a sum of the lines is called matters less than that it is one.
        found = list(self.candidates(_TOTALS)) or list(self.candidates(("",)))
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
        values = {f[0]: context.value(f[0]) for f in named}
        numbers = [place for place, value in values.items() if isinstance(value, float)]
        numbers.sort(key=lambda place: -values[place])
        taking = next((place for place in numbers if self._takes_lines(place)), None)
        # A cell that the lines' money does not move is no total, whatever it is called.
        return taking or next((place for place in values if place not in numbers), None)

    def typed_total(self, formula: Place | None) -> Place | None:
        """A total that somebody typed: a number by that name under the lines' prices.

        Where a formula adds the lines up too, only one below it that nothing is worked out from.
        """
        context, nets = self.context, {one.net_place for one in self.worked if one.net_place}
        columns = {(sheet, column) for sheet, _, column in nets}
        for sheet, column in sorted(columns):
            rows = sorted(p[1] for p in nets if (p[0], p[2]) == (sheet, column))
            below, last = rows[0], self._last_copy((sheet, rows[-1], column))
            if formula is not None:
                if (formula[0], formula[2]) != (sheet, column):
                    continue
                below = last = formula[1]
            for (row, at), cell in sorted(context.book.sheets[sheet].cells.items()):
                if at != column or not below < row <= last + _NEAR or not cell.typed:
                    continue
                if cell.place in nets:
                    continue
                if not isinstance(cell.value, float) or not _likely(cell.value, self.worked):
                    continue
                label = context.labels.left_label(cell.place)
                if _CALLED_TOTAL.search(label) and not _MEASURE.search(label):
                    return cell.place
        return None

    def _last_copy(self, net: Place) -> int:
        """The last row of a column of net prices, with rows that are prepared and not filled in."""
        sheet, row, column = net
        cells = self.context.book.sheets[sheet].cells
        form = cells[row, column].form
        while form and (row + 1, column) in cells and cells[row + 1, column].form == form:
            row += 1
        return row

    def _takes_lines(self, total: Place) -> bool:
        """Whether a cell takes the amounts of most lines."""
        self.follow(total)
        known = [at for at, amount in enumerate(self.amounts) if amount is not None]
        if not known or not self.weight(total, known):
            return False
        weights = self.weights(total)
        if not self.context.labels.role(total) and not any(
            weight is not None and weight > _NO_MEAN for weight in weights
        ):
            return False
        return 2 * sum(bool(weight) for weight in weights) >= len(known)

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

    def weight(
        self, total: Place, lines: list[int], given: dict[Place, Any] | None = None
    ) -> float | None:
        """With which weight the total takes a change in all of these lines, other cells given."""
        instead: dict[Place, Any] = dict(given or {})
        base = self.tried(total, instead) if given else self.base
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
        if value is None or base is None or not change:
            return None
        return round((value - base) / change, 6)

    # -- what it is made of besides the lines

    def heart(self, total: Place) -> Place:
        """Where the total is worked out, if it is only shown where it stands."""
        value, best = self.context.value(total), total
        fewest = len(self.calculated)
        for place in self.calculated:
            cell = self.context.book.cell(place)
            if self.context.value(place) != value or cell is None or place == total:
                continue
            follows = self.context.values.inputs_of(cell, fewest)
            if follows is not None and len(follows[1]) < fewest:
                best, fewest = place, len(follows[1])
        return best

    def parts(self, total: Place) -> TotalParts:
        """The total taken apart; unknown where the weight of a line is."""
        weights = self.weights(total)
        usual = _usual(weights)
        known = [at for at, weight in enumerate(weights) if weight == usual and self.amounts[at]]
        if not known or any(
            amount is not None and weights[at] is None for at, amount in enumerate(self.amounts)
        ):
            return TotalParts(known=False)
        own = self._of_lines()
        figures = [
            cell
            for place in sorted(self.typed - own)
            if (cell := self.context.book.cell(place)) is not None and isinstance(cell.value, float)
        ]
        lines = 0.0
        for at, amount in enumerate(self.amounts):
            value = self.context.value(amount[0]) if amount is not None else None
            if amount is not None and isinstance(value, float):
                lines += (weights[at] or 0.0) / usual * value * amount[1]

        def attempt(instead: dict[Place, Any]) -> Tried | None:
            with_it = self.tried(total, instead) if instead else self.base
            weight = self.weight(total, known[:1], instead)
            return None if with_it is None or weight is None else (with_it, weight)

        way = (self.context.book.cell(place) for place in self.calculated - own)
        rounded = any(cell is not None and rounds(cell, to_cents=False) for cell in way)
        labels = self.context.labels
        discounts = {
            cell.place for cell in figures if role_of(labels.left_label(cell.place)) == "discount"
        }
        return parts_of(figures, lines, len(self.worked), attempt, rounded, discounts)

    def _of_lines(self) -> set[Place]:
        """The cells of lines, and all that their amounts follow from."""
        amounts = {amount[0] for amount in self.amounts if amount is not None}
        own = amounts | {place for one in self.worked for place in one.record.cells.values()}
        for place in amounts:
            cell = self.context.book.cell(place)
            follows = self.context.behind(cell) if cell is not None else None
            if follows is not None:
                own |= {typed.place for typed in follows[0]} | follows[1]
        return own

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
        """Typed figures by the name of a discount, tax or freight: near the total all of them,
        elsewhere those that no formula takes."""
        context = self.context
        own = {place for one in self.worked for place in one.record.cells.values()}
        last = max((one.line.place[1] for one in self.worked), default=0)
        for name, sheet in context.book.sheets.items():
            for (row, _), cell in sheet.cells.items():
                if not cell.typed or not isinstance(cell.value, float) or not cell.value:
                    continue
                if cell.place in own or context.in_catalog(cell.place):
                    continue
                left = context.labels.left_label(cell.place)
                role = role_of(left)
                if role not in _BLOCK:
                    continue
                near = name == total[0] and abs(row - total[1]) <= _NEAR
                if near and row <= last and context.labels.role(cell.place) != role:
                    continue  # in the rows of the lines the heading says what it is
                counts = cell.place in self.typed
                if not near and (counts or role != "discount" or self._is_taken(cell.place)):
                    continue
                yield BlockInput(cell.place, role, cell.value, counts)

    def _is_taken(self, place: Place) -> bool:
        """Whether any formula takes a cell."""
        return any(
            in_area(place, area)
            for cell in self.context.book.formulas()
            for area in self.context.values.areas_of(cell)
        )


def _usual(weights: list[float | None]) -> float:
    """The weight of most lines."""
    known = Counter(weight for weight in weights if weight)
    return known.most_common(1)[0][0] if known else 1.0


def _is_option(context: LineRecords, one: Worked, total: Place) -> bool:
    """Whether a line is offered beside the total: its row says so, or it stands under it."""
    sheet, row, _ = one.line.place
    texts = (context.value(cell.place) for cell in context.book.sheets[sheet].rows.get(row, []))
    says_so = any(isinstance(text, str) and _OPTION.search(text) for text in texts)
    return says_so or (sheet == total[0] and row > total[1])


def _likely(value: float, worked: list[Worked]) -> bool:
    """Whether a number may be meant as the sum of the lines."""
    lines = sum(one.net or 0.0 for one in worked)
    return lines / _FAR <= value <= lines * _FAR


def money_of(context: LineRecords, worked: list[Worked]) -> Money:
    """How the lines' money reaches the grand total."""
    money = Money(weights=[None] * len(worked))
    follower = _Follower(context, worked)
    total = follower.total() if worked else None
    typed = follower.typed_total(total) if worked else None
    if total is None and typed is None:
        money.why = "no cell was found in which the lines' prices come together"
        return money
    if total is None or typed is not None:
        assert typed is not None
        value = context.value(typed)
        money.total, money.value, money.typed = typed, value, True
        money.why = f"somebody typed the total in {cell_name(typed)}; nothing was followed to it"
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
    money.usual = _usual(money.weights)
    money.block = list(follower.block(total))
    heart = follower.heart(total)
    inner = follower if heart == total else _Follower(context, worked)
    inner.follow(heart)
    money.parts = inner.parts(heart)
    money.options = [
        one
        for one, weight in zip(worked, money.weights, strict=True)
        if weight == 0 and _is_option(context, one, total)
    ]
    money.why = _not_derived(money, worked)
    if not money.why:
        money.right = _right(money, worked)
        if abs(money.right - money.value) <= _CENT * (1 + len(money.parts.amounts)):
            money.right = money.value  # amounts that are rounded on the way
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
    for figure in money.block:
        if figure.role == "discount" and not figure.counts and 0 < figure.value < 1:
            right -= figure.value * money.parts.weight * lines
    return right
