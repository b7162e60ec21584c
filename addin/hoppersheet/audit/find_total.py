"""Which cell is the grand total: a formula in which the lines' money comes together, or typed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

from ..cells.values import is_error
from ..workbook.formulas import Place
from .calls import in_area
from .followed_total import FollowedTotal
from .label_words import without_unit
from .line_cells import Worked, prices_of
from .records import LineRecords
from .roles import role_of

if TYPE_CHECKING:
    from ..workbook.book import Cell

__all__ = ["CALLED_TOTAL", "TotalFinder", "number_in"]

_NO_MEAN = 0.51  # a cell without a name that takes less of each line is a mean, no sum
_VERY_FAR = 10.0  # times the lines, where a cell says that it is the total
_FAR = 3.0  # times the lines: further off it is another kind of total
_NEAR = 14  # rows below the lines in which a total may be typed
CALLED_TOTAL = re.compile(
    r"^(grand |sub|overall |offer |quote |order |net )?(total|sum|gesamt|summe|endsumme|importe)"
    r"|\btotal$|amount due",
    re.IGNORECASE,
)
#: A figure of one line, or a mean of them.
_OF_ONE = re.compile(r"\b(largest|highest|smallest|lowest|max|min|average|mean|per|each)\b", re.I)
_SAYS_SO = ("grand total", "subtotal")
_TOTALS = ("grand total", "subtotal", "net price", "list price", "tax")
_MEASURE = re.compile(
    r"\b(hours?|weight|mass|loads?|volume|air\w*|heat|throughput|rate|size|power|count|quantity)\b",
    re.IGNORECASE,
)


class TotalFinder:
    """Finds the cell of the grand total."""

    def __init__(self, context: LineRecords, worked: list[Worked]) -> None:
        self.context, self.worked = context, worked
        self._followed: dict[Place, FollowedTotal] = {}
        self._priced = sum(one.net_place is not None or one.price is not None for one in worked)

    def followed(self, place: Place) -> FollowedTotal:
        """A cell taken for the total."""
        if place not in self._followed:
            self._followed[place] = FollowedTotal(self.context, self.worked, place)
        return self._followed[place]

    def _comes_together(self, cell: Cell, money: set[Place]) -> bool:
        """Whether a formula follows from several lines, or takes a range of their money."""
        return cell.place in self.context.of_several or any(
            sum(in_area(place, area) for place in money) > 1
            for area in self.context.values.areas_of(cell)
            if area[1:3] != area[3:]
        )

    def _candidates(self, roles: tuple[str, ...]) -> Iterator[tuple[Place, str]]:
        """(cell, role) of formulas that take the money of lines."""
        context, money = self.context, prices_of(self.worked)
        own = {place for one in self.worked for place in one.record.places}
        priced = self._priced  # others are worked out beside these, for comparison
        for cell in context.book.formulas():
            if priced > 1 and cell.place in own:
                continue
            value = context.value(cell.place)
            if not isinstance(value, float) and not is_error(value):
                continue
            role = context.labels.role(cell.place)
            if role not in roles:
                continue
            # last, because it looks at every price
            if priced > 1 and not self._comes_together(cell, money):
                continue
            taken = self._prices_behind.get(cell.place, 0).bit_count() - (cell.place in money)
            if taken and 2 * taken >= priced:
                yield cell.place, role

    @cached_property
    def _prices_behind(self) -> dict[Place, int]:
        """Formula -> the prices of lines that it follows from, a bit for each."""
        return self.context.precedents.marked_behind(prices_of(self.worked))

    def _last(self, found: list[tuple[Place, str]]) -> list[tuple[Place, str]]:
        """Those of some formulas that none of the others follows from, or all of a circle."""
        places = [place for place, _ in found]
        behind = self.context.precedents.marked_behind(places)
        return [
            each
            for at, each in enumerate(found)
            if not any(
                behind[other] >> at & 1 and not behind[each[0]] >> of & 1
                for of, other in enumerate(places)
            )
        ]

    def total(self) -> Place | None:
        """The last cell in which the money of most lines comes together."""
        context = self.context
        # What a sum of the lines is called matters less than that it is one.
        found = list(self._candidates(_TOTALS)) or list(self._candidates(("",)))
        if self._priced == 1:
            found = [f for f in found if f[1] in ("grand total", "subtotal")]
        last = self._last(found)
        named = [f for f in last if f[1] == "grand total"] or last
        if not named:
            return None
        values = {f[0]: context.value(f[0]) for f in named}
        in_error = [f[0] for f in found if is_error(context.value(f[0]))]
        numbers = [place for place, value in values.items() if isinstance(value, float)]
        numbers.sort(key=lambda place: -values[place])
        # Where one is in error, that may be the real one.
        for place in numbers:
            if self._takes_lines(place, most=bool(in_error)):
                return place
        # A cell that the lines' money does not move is no total, whatever it is called.
        return next((place for place in (*values, *in_error) if place not in numbers), None)

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
                if not isinstance(cell.value, float) or not self._likely(cell.value):
                    continue
                label = context.labels.left_label(cell.place)
                if CALLED_TOTAL.search(label) and not _MEASURE.search(label):
                    return cell.place
        return self._named_total() if formula is None and len(nets) > 1 else None

    def _named_total(self) -> Place | None:
        """A typed number, or one as text, that is called a total, wherever it stands."""
        context, labels = self.context, self.context.labels
        own = {place for one in self.worked for place in one.record.places}
        found = []
        for cell in context.book.cells():
            value = number_in(cell.value)
            if not cell.typed or value is None or not self._likely(value, _VERY_FAR):
                continue
            if cell.place in own or context.in_catalog(cell.place):
                continue
            names = (labels.left_label(cell.place), labels.heading(cell.place))
            roles = [role_of(name) for name in names if not _MEASURE.search(name)]
            if (named := next((role for role in _SAYS_SO if role in roles), "")) != "":
                found.append((_SAYS_SO.index(named), cell.place))
        return min(found)[1] if found else None

    @cached_property
    def _sum_of_lines(self) -> float:
        return sum(one.net or 0.0 for one in self.worked)

    def _likely(self, value: float, far: float = _FAR) -> bool:
        """Whether a number may be meant as the sum of the lines."""
        return self._sum_of_lines / far <= value <= self._sum_of_lines * far

    def _last_copy(self, net: Place) -> int:
        """The last row of a column of net prices, with rows that are prepared and not filled in."""
        sheet, row, column = net
        cells = self.context.book.sheets[sheet].cells
        form = cells[row, column].form
        while form and (row + 1, column) in cells and cells[row + 1, column].form == form:
            row += 1
        return row

    def _says_so(self, total: Place) -> bool:
        """Whether a cell is called a total, or takes most line totals from a row of that name."""
        labels = self.context.labels
        if labels.role(total) in _SAYS_SO:
            return True
        label, cell = labels.label(total), self.context.book.cell(total)
        if not CALLED_TOTAL.search(without_unit(label)) or _OF_ONE.search(label) or cell is None:
            return False
        nets = [one.net_place for one in self.worked if one.net_place is not None]
        areas = self.context.values.areas_of(cell)
        return any(2 * sum(in_area(net, area) for net in nets) > len(nets) for area in areas)

    def _takes_lines(self, total: Place, most: bool = False) -> bool:
        """Whether a cell takes the amounts of most lines; of some where it says what it is."""
        followed = self.followed(total)
        known = [at for at, amount in enumerate(followed.amounts) if amount is not None]
        if not known or not followed.weight(known):
            return False
        weights = followed.weights
        if not most and any(weights) and self._says_so(total):
            return True  # what it leaves out is told
        if not self.context.labels.role(total) and not any(
            weight is not None and weight > _NO_MEAN for weight in weights
        ):
            return False
        return 2 * sum(bool(weight) for weight in weights) >= len(known)


def number_in(value: object) -> float | None:
    """A number, also one that is stored as text: ``"50,253.40"``."""
    if isinstance(value, float):
        return value
    if isinstance(value, str) and re.fullmatch(r"[$€£ ]*-?\d[\d,]*(\.\d+)?", value.strip()):
        return float(re.sub(r"[$€£ ,]", "", value))
    return None
