"""Which cells a part of a formula means: ranges, names, tables, and functions that give a range."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from ..addresses import COLUMNS, ROWS
from ..book import Book
from ..formulas import Call, Node, Omitted, Place, Reference, Unparsed, Word, parse
from .values import FormulaError, Unknown, number, text, truth

__all__ = [
    "GIVE_CELLS", "Area", "Cut", "References", "Scope", "local_name", "what_is_not_understood",
]  # fmt: skip

#: (sheet, first row, first column, last row, last column)
Area = tuple[str, int, int, int, int]

_CALLS_DEEP = 60


@dataclass(frozen=True)
class Scope:
    """Where a part of a formula is evaluated.

    Attributes:
        place: the cell that relative references start from.
        arrays: ranges are worked through cell by cell; else an operator takes the one cell of a
            range that stands in the formula's own row or column.
        local: names that LET and LAMBDA have given a value.
        deep: how many functions of the workbook's own have called each other.
    """

    place: Place
    arrays: bool = False
    local: Mapping[str, Any] = field(default_factory=dict)
    deep: int = 0

    def with_arrays(self) -> Scope:
        """The same, working through ranges cell by cell."""
        return self if self.arrays else Scope(self.place, True, self.local, self.deep)

    def with_local(self, names: Mapping[str, Any]) -> Scope:
        """The same with more local names."""
        return replace(self, local={**self.local, **names})

    def called(self, names: Mapping[str, Any]) -> Scope:
        """The inside of a function of the workbook's own."""
        if self.deep >= _CALLS_DEEP:
            raise Unknown("functions of the workbook that call each other without an end")
        return Scope(self.place, True, names, self.deep + 1)


class Cut(list[list[Any]]):
    """The values of a range up to the end of what is filled; ``missing`` blank cells follow."""

    missing = 0

    @classmethod
    def of(cls, rows: list[list[Any]]) -> Cut:
        """A copy of a range, to change cells of it."""
        copy = cls(list(row) for row in rows)
        copy.missing = getattr(rows, "missing", 0)
        return copy


def local_name(written: str) -> str:
    """A name inside LET and LAMBDA, which files mark as such, in lower case."""
    return written.lower().removeprefix("_xlpm.").removeprefix("_xlop.")


class References:
    """Finds the cells that trees mean; what values they hold is the subclass's business."""

    def __init__(self, book: Book) -> None:
        self.book = book

    def value(self, node: Node, scope: Scope) -> Any:
        """The value of a tree."""
        raise NotImplementedError

    def cell_value(self, place: Place) -> Any:
        """The value of one cell."""
        raise NotImplementedError

    def area_values(self, area: Area) -> list[list[Any]]:
        """The values of a range."""
        raise NotImplementedError

    def number(self, node: Node, scope: Scope) -> float:
        """The value of a tree as a number."""
        return number(self.value(node, scope))

    def cells(self, area: Area) -> Any:
        """The value of a range, or of the one cell that it is."""
        if area[1:3] == area[3:]:
            return self.cell_value(area[:3])
        return self.area_values(area)

    def crossing(self, area: Area, place: Place) -> Any:
        """The value of a range's one cell in the row or column of a formula."""
        sheet, r1, c1, r2, c2 = area
        if r1 == r2 and c1 == c2:
            return self.cell_value((sheet, r1, c1))
        if c1 == c2 and r1 <= place[1] <= r2:
            return self.cell_value((sheet, place[1], c1))
        if r1 == r2 and c1 <= place[2] <= c2:
            return self.cell_value((sheet, r1, place[2]))
        raise FormulaError("#VALUE!")

    # -- names and tables

    def named(self, word: str, place: Place) -> Node | None:
        """What a defined name stands for, the sheet's own before the workbook's."""
        key = word.lower()
        names = self.book.names
        return names.get(f"{place[0].lower()}!{key}", names.get(key))

    def table_area(self, written: str, place: Place) -> Area | None:
        """The cells that ``Table``, ``Table[Column]``, ``Table[@Column]`` ... means, or None."""
        name, bracket, inside = written.partition("[")
        table = self.book.tables.get(name.lower())
        return None if table is None else table.area(inside[:-1] if bracket else "", place[1])

    # -- areas

    def area(self, node: Node, scope: Scope) -> Area | None:
        """The cells that a tree means; None where it gives a value of its own.

        Raises:
            FormulaError: ``#REF!``, there are no such cells.
            Unknown: which cells cannot be said.
        """
        raise NotImplementedError

    def tab(self, written: str) -> str:
        """A sheet's name as its tab spells it."""
        sheet = self.book.sheet_of(written)
        if sheet is not None:
            return sheet
        unread = {name.lower() for name in self.book.unread}
        if written.lower() in unread:
            raise Unknown(f"the tab {written!r}, which is no worksheet")
        raise FormulaError("#REF!")

    def inside(self, area: Area) -> Area:
        """A range whose sheet is named as in the formula."""
        written, r1, c1, r2, c2 = area
        sheet = self.tab(written)
        if not (1 <= r1 <= r2 <= ROWS and 1 <= c1 <= c2 <= COLUMNS):
            raise FormulaError("#REF!")
        return (sheet, r1, c1, r2, c2)

    # -- functions that give cells

    def _indexed(self, node: Call, scope: Scope) -> Area | None:
        if not 2 <= len(node.arguments) <= 3:
            return None
        area = self.area(node.arguments[0], scope)
        if area is None:
            return None
        sheet, r1, c1, r2, c2 = area
        given = [
            0.0 if isinstance(a, Omitted) else self.value(a, scope) for a in node.arguments[1:]
        ]
        if any(isinstance(value, list) for value in given):
            return None
        at = [math.floor(number(value)) for value in given]
        if len(at) == 1:
            at = [1, *at] if r1 == r2 and c1 < c2 else [*at, 1 if c1 == c2 else 0]
        row, column = at
        if row < 0 or column < 0:
            raise FormulaError("#VALUE!")
        if row > r2 - r1 + 1 or column > c2 - c1 + 1:
            raise FormulaError("#REF!")
        if row:
            r1 = r2 = r1 + row - 1
        if column:
            c1 = c2 = c1 + column - 1
        return (sheet, r1, c1, r2, c2)

    def _offset(self, node: Call, scope: Scope) -> Area | None:
        if not 3 <= len(node.arguments) <= 5:
            raise Unknown(f"OFFSET with {len(node.arguments)} arguments")
        area = self.area(node.arguments[0], scope)
        if area is None:
            raise FormulaError("#VALUE!")
        sheet, r1, c1, r2, c2 = area
        rows, columns = (math.trunc(self.number(a, scope)) for a in node.arguments[1:3])
        sizes = [r2 - r1 + 1, c2 - c1 + 1]
        for at, argument in enumerate(node.arguments[3:]):
            if not isinstance(argument, Omitted):
                sizes[at] = math.trunc(self.number(argument, scope))
        if 0 in sizes:
            raise FormulaError("#REF!")
        if min(sizes) < 0:
            raise Unknown("OFFSET with a negative height or width")
        r1, c1 = r1 + rows, c1 + columns
        return self.inside((sheet, r1, c1, r1 + sizes[0] - 1, c1 + sizes[1] - 1))

    def _indirect(self, node: Call, scope: Scope) -> Area | None:
        if not 1 <= len(node.arguments) <= 2:
            raise Unknown(f"INDIRECT with {len(node.arguments)} arguments")
        if len(node.arguments) == 2 and not truth(self.value(node.arguments[1], scope)):
            raise Unknown("INDIRECT in row and column numbers")
        written = text(self.value(node.arguments[0], scope)).strip()
        # without a place of its own: relative references are meant from A1
        tree = parse(f"={written}", (scope.place[0], 1, 1))
        if not isinstance(tree, (Reference, Word, Unparsed)):
            raise FormulaError("#REF!")
        at = (scope.place[0], 1, 1) if isinstance(tree, Reference) else scope.place
        area = self.area(tree, replace(scope, place=at, local={}))
        if area is None:
            raise FormulaError("#REF!")
        return area

    def _branch(self, node: Call, scope: Scope) -> Area | None:
        """The cells of IF's or CHOOSE's branch, where it is one range."""
        arguments = node.arguments
        if len(arguments) < 2:
            return None
        test = self.value(arguments[0], scope)
        if isinstance(test, list):
            return None
        at = 2 - truth(test) if node.name == "IF" else math.floor(number(test))
        return self.area(arguments[at], scope) if 1 <= at < len(arguments) else None

    def _spilled(self, node: Call, scope: Scope) -> Area | None:
        area = self.area(node.arguments[0], scope) if node.arguments else None
        cell = self.book.cell(area[:3]) if area is not None else None
        if area is None or cell is None or not cell.array:
            raise FormulaError("#REF!")
        return (area[0], *cell.filled)


def what_is_not_understood(written: str) -> str:
    """Why a part of a formula cannot be evaluated."""
    if "[" in written:
        return f"{written[:60]}, which refers to another workbook"
    if "!" in written and ":" in written.partition("!")[0]:
        return f"{written[:60]}, which refers to several sheets"
    return f"{written[:60]} is not understood"


#: Function -> which cells a call of it gives.
GIVE_CELLS: dict[str, Callable[[References, Call, Scope], Area | None]] = {
    "INDEX": References._indexed,
    "OFFSET": References._offset,
    "INDIRECT": References._indirect,
    "IF": References._branch,
    "CHOOSE": References._branch,
    "ANCHORARRAY": References._spilled,
}
