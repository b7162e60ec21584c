"""The catalogs of a workbook: each size of the list, whatever a formula takes of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..cells.numbers_in_text import split_number
from ..cells.values import is_error
from ..errors import CellError
from ..workbook.evaluator import Area
from ..workbook.formulas import Place
from .calls import places_of
from .roles import role_of

if TYPE_CHECKING:
    from .calls import Calls

__all__ = ["Catalog", "Catalogs"]

_READS_SIZES = frozenset(
    ("next size", "size below", "chosen size", "size", "model", "list price", "net price")
)
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
        for at in range(max(1, start - 1), end + 1):
            for beside in range(self.first, self.last + 1):
                yield (sheet, beside, at) if self.across else (sheet, at, beside)

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
        for area in self._taken():
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
            if calls.labels.role(cell.place) not in _READS_SIZES:
                continue
            for area in calls.values.areas_of(cell):
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
        return Catalog(
            (sheet, top, column, bottom, column), models, prices, first, last,
            stated.spelling if stated is not None else "",
        )  # fmt: skip

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
        return role_of(str(self.calls.value((sheet, row, column - 1)))) in ("model", "list price")

    def _belongs(self, sheet: str, row: int, column: int) -> bool:
        """Whether a column beside the sizes is a part of the list: typed, with a heading."""
        cell = self.calls.book.cell((sheet, row, column))
        if cell is None or cell.formula is not None:
            return False
        heading = role_of(self.calls.labels.heading(cell.place))
        return heading not in ("job", "throughput", "hours", "quantity", "resin")

    def holds(self, place: Place) -> bool:
        """Whether a cell is one of a catalog: none of them is a choice."""
        return place in self._cells
