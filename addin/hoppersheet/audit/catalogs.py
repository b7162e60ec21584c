"""The catalogs of a workbook: each size of the list, whatever a formula takes of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from ..cells.numbers_in_text import split_number
from ..cells.values import is_error
from ..errors import CellError
from ..workbook.evaluator import Area
from ..workbook.formulas import Place
from .calls import places_of
from .label_words import is_label
from .roles import role_of

if TYPE_CHECKING:
    from .calls import Calls

__all__ = ["Catalog", "Catalogs"]

_READS_SIZES = frozenset(
    ("next size", "size below", "chosen size", "size", "model", "list price", "net price")
)
_BESIDE = ("model", "list price")
_LEAST = 3  # sizes that make a list of them
_WIDE = 12  # columns of a catalog beside its sizes


def _is_size(value: Any) -> bool:
    if isinstance(value, float):
        return value > 0
    if not isinstance(value, str) or is_error(value):
        return False
    try:
        return split_number(value)[0] > 0
    except CellError:
        return False


#: What many lists have in their names.
_COMMON = frozenset(
    ("catalog", "catalogue", "list", "price", "prices", "hopper", "hoppers", "size", "sizes", "the",
     "of", "and", "our", "invented")
)  # fmt: skip
#: Columns of a line that say other things.
_NO_NAMES = frozenset(("job", "resin", "reason", "model", "source", "share basis"))
_TITLE = 3  # rows over the headings of a list in which it may be named


def _words_of(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"[^\W\d_]{2,}", text.lower())) - _COMMON


@dataclass(frozen=True)
class Catalog:
    """One list of sizes in a column, or in a row, with its models and prices.

    Attributes:
        sizes: all cells of the list, with those that no formula takes.
        models, prices: their columns; 0 where there are none.
        first, last: the columns that belong to the list.
        unit: what the heading says, "" where it says nothing.
        across: the sizes lie in a row; models, prices, first and last are rows then.
    """

    sizes: Area
    models: int
    prices: int
    first: int
    last: int
    unit: str
    across: bool = False

    @property
    def cells(self) -> Iterator[Place]:
        """Each cell of the list, its headings included."""
        sheet, top, left, bottom, right = self.sizes
        start, end = (left, right) if self.across else (top, bottom)
        columns = {*range(self.first, self.last + 1), self.models, self.prices} - {0}
        for at in range(max(1, start - 1), end + 1):
            for beside in columns:
                yield (sheet, beside, at) if self.across else (sheet, at, beside)

    @property
    def columns(self) -> range:
        """From the first to the last of its columns, with what stands between them."""
        ends = [at for at in (self.first, self.last, self.models, self.prices) if at]
        return range(min(ends), max(ends) + 1)

    def beside(self, size: Place, column: int) -> Place:
        """The model or price of a size: in its row, or in its column where sizes lie in a row."""
        sheet, row, at = size
        return (sheet, column, at) if self.across else (sheet, row, column)

    def area(self, column: int) -> Area:
        """All models or prices of the list."""
        sheet, top, left, bottom, right = self.sizes
        if self.across:
            return (sheet, column, left, column, right)
        return (sheet, top, column, bottom, column)

    @property
    def rows(self) -> Iterator[Place]:
        """Cell of each size, from the top or from the left."""
        return places_of(self.sizes)


class Catalogs:
    """Every catalog from which the formulas of a workbook take sizes."""

    def __init__(self, calls: Calls) -> None:
        self.calls = calls
        #: range that a formula takes -> its list
        self.of_area: dict[Area, Catalog] = {}
        #: role -> columns that formulas under that heading take
        self._read: dict[str, set[Area]] = {role: set() for role in _BESIDE}
        for area in list(self._taken()):
            self._add(area)
        self.all = list(dict.fromkeys(self.of_area.values()))
        self._cells = {place for catalog in self.all for place in catalog.cells}

    def _taken(self) -> Iterator[Area]:
        """Ranges of sizes that formulas take."""
        calls = self.calls
        for call in calls.all_calls():
            if call.name != "HOPPER_SIZE_JOBS":
                area = calls.area_of(calls.argument_node(call, "catalog_sizes"), call.place)
                if area is not None:
                    yield area
        headings: dict[Area, bool] = {}
        for cell in calls.book.formulas():
            role = calls.labels.role(cell.place)
            if role not in _READS_SIZES:
                continue
            for area in calls.values.areas_of(cell):
                if role in _BESIDE and area[2] == area[4]:
                    self._read[role].add(area)
                if area[3] - area[1] >= _LEAST - 1 and area[4] - area[2] < _WIDE:
                    known = headings.get(area)
                    if known is None:
                        known = headings[area] = self._says_sizes(area)
                    if known:
                        yield area

    def _says_sizes(self, area: Area) -> bool:
        first = self._first(area)
        if first is None:
            return False
        role = role_of(self.calls.labels.heading(first))
        cells = [
            self.calls.book.cell((area[0], row, area[2]))
            for row in range(first[1], first[1] + _LEAST)
        ]
        # A list is typed; a column of the quote that calculates its sizes is none.
        return role in ("size", "required volume") and all(
            cell is not None and cell.typed and _is_size(cell.value) for cell in cells
        )

    def _first(self, area: Area) -> Place | None:
        last = min(area[3], self.calls.book.sheets[area[0]].max_row)
        return next(
            (
                (area[0], row, area[2])
                for row in range(area[1], last + 1)
                if _is_size(self.calls.value((area[0], row, area[2])))
            ),
            None,
        )

    def _add(self, area: Area) -> None:
        if area in self.of_area:
            return
        if area[1] == area[3] and area[2] < area[4]:
            self._add_across(area)
            return
        first = self._first(area)
        if first is None:
            return
        sheet, top, column = first
        bottom = top
        value = self.calls.value
        while top > 1 and _is_size(value((sheet, top - 1, column))):
            top -= 1
        while _is_size(value((sheet, bottom + 1, column))):
            bottom += 1
        if area[3] < self.calls.book.sheets[sheet].max_row:
            # a range may go on below a blank row
            bottom = max(
                [bottom, *(r for r in range(bottom, area[3] + 1)
                           if _is_size(value((sheet, r, column))))]
            )  # fmt: skip
        self.of_area[area] = self._catalog(sheet, top, column, bottom)

    def _catalog(self, sheet: str, top: int, column: int, bottom: int) -> Catalog:
        calls = self.calls
        stated = calls.labels.unit((sheet, top, column))
        first = last = column
        while first > 1 and column - first < _WIDE and self._belongs(sheet, top, first - 1):
            first -= 1
        while last - column < _WIDE and self._belongs(sheet, top, last + 1):
            last += 1
        models = prices = 0
        for near in sorted(range(first, last + 1), key=lambda c: abs(c - column)):
            role = role_of(calls.labels.heading((sheet, top, near)))
            if role == "model" and not models:
                models = near
            elif role == "list price" and not prices:
                prices = near
        models = models or self._named_column("model", sheet, top, bottom, column)
        prices = prices or self._named_column("list price", sheet, top, bottom, column)
        return Catalog(
            (sheet, top, column, bottom, column), models, prices, first, last,
            stated.spelling if stated is not None else "",
        )  # fmt: skip

    def _named_column(self, role: str, sheet: str, top: int, bottom: int, column: int) -> int:
        """The nearest column of models or prices that does not stand beside the sizes.

        It is one that the lines take, in the same rows and under a heading that says so; 0: none.
        """
        heading = self.calls.labels.heading
        found = {
            area[2]
            for area in self._read[role]
            if area[0] == sheet and area[1] <= bottom and area[3] >= top
            if area[2] != column and role_of(heading((sheet, top, area[2]))) == role
        }
        return min(found, key=lambda at: (abs(at - column), at), default=0)

    def _add_across(self, area: Area) -> None:
        """A list of sizes that lie in a row, named by the text to their left."""
        value, labels = self.calls.value, self.calls.labels
        sheet, row, left, _, right = area
        right = min(right, self.calls.book.sheets[sheet].max_column)
        found = [c for c in range(left, right + 1) if _is_size(value((sheet, row, c)))]
        if not found:
            return
        left, right = found[0], found[-1]
        while left > 1 and _is_size(value((sheet, row, left - 1))):
            left -= 1
        while _is_size(value((sheet, row, right + 1))):
            right += 1
        first = last = row
        while first > 1 and row - first < _WIDE and self._named_row(sheet, first - 1, left):
            first -= 1
        while last - row < _WIDE and self._named_row(sheet, last + 1, left):
            last += 1
        roles = {
            role_of(str(value((sheet, near, left - 1)))): near
            for near in sorted(range(first, last + 1), key=lambda r: -abs(r - row))
            if left > 1
        }
        stated = labels.unit((sheet, row, left))
        self.of_area[area] = Catalog(
            (sheet, row, left, row, right), roles.get("model", 0), roles.get("list price", 0),
            first, last, stated.spelling if stated is not None else "", across=True,
        )  # fmt: skip

    def _named_row(self, sheet: str, row: int, column: int) -> bool:
        """Whether a row beside sizes in a row is a part of the list: typed, with its name left."""
        cell = self.calls.book.cell((sheet, row, column))
        if cell is None or cell.formula is not None or column == 1:
            return False
        return role_of(str(self.calls.value((sheet, row, column - 1)))) in _BESIDE

    def _belongs(self, sheet: str, row: int, column: int) -> bool:
        """Whether a column beside the sizes is a part of the list: typed, with a heading."""
        cell = self.calls.book.cell((sheet, row, column))
        if cell is None or cell.formula is not None:
            return False
        labels = self.calls.labels
        heading, above = labels.heading_at(cell.place)
        if (role := role_of(heading)) == "resin":  # or what the hoppers are made of
            headings = self.calls.book.sheets[sheet].rows.get(above, [])
            return all(role_of(str(self.calls.value(c.place))) != "throughput" for c in headings)
        return role not in ("job", "throughput", "hours", "quantity")

    # -- which of several

    def called(self, catalog: Catalog) -> str:
        """What a list is called: its sheet, or the text above it where a sheet has several."""
        return catalog.sizes[0] if self._is_alone(catalog) else self._title(catalog)

    def _is_alone(self, catalog: Catalog) -> bool:
        return sum(other.sizes[0] == catalog.sizes[0] for other in self.all) == 1

    def _title(self, catalog: Catalog) -> str:
        """The nearest text over the headings of a list."""
        sheet, top, left, _, _ = catalog.sizes
        if catalog.across:
            return ""
        heading = self.calls.labels.heading_at((sheet, top, left))[1] or top
        for row in range(heading - 1, max(0, heading - 1 - _TITLE), -1):
            for column in range(catalog.first, catalog.last + 1):
                value = self.calls.value((sheet, row, column))
                if is_label(value):
                    return str(value)
        return ""

    @cached_property
    def _words(self) -> list[tuple[Catalog, frozenset[str]]]:
        """Each list with the words that it has and not every other one."""
        words = [
            (one, _words_of(f"{self._title(one)} {one.sizes[0] if self._is_alone(one) else ''}"))
            for one in self.all
        ]
        common = frozenset.intersection(*(own for _, own in words)) if words else frozenset()
        return [(one, own - common) for one, own in words]

    def named_beside(self, place: Place) -> Catalog | None:
        """The one list that a text in a line names, such as ``"stainless"``."""
        labels = self.calls.labels
        for cell in labels.beside(place):
            text = self.calls.value(cell.place)
            if not is_label(text) or role_of(labels.label(cell.place)) in _NO_NAMES:
                continue
            words = _words_of(str(text))
            found = [one for one, own in self._words if words and words <= own]
            if len(found) == 1:
                return found[0]
        return None

    def list_of(self, area: Area) -> Catalog | None:
        """The list in whose rows a range lies, whichever of its columns it is."""
        sheet, top, left, bottom, right = area
        for one in self.all:
            place, last = one.sizes[:3], one.sizes[3:]
            if one.across or sheet != place[0] or top > last[0] or bottom < place[1]:
                continue
            if one.first <= left <= right <= one.last or {left, right} & {one.models, one.prices}:
                return one
        return None

    def holds(self, place: Place) -> bool:
        """Whether a cell is one of a catalog: none of them is a choice."""
        return place in self._cells
