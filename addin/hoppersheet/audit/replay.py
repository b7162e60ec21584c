"""One cell worked out again and again with other values in the same few cells.

To weigh an assumption, a line's volume is worked out with many values of one input. What does not
depend on that input is read once; formulas that are one call of ours are made without going through
their trees again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from ..call import Again
from ..cells.values import OMITTED
from ..errors import CellError
from ..workbook.evaluator import FormulaError, Unknown, WhatIf
from ..workbook.formulas import Call, Omitted, Place
from ..workbook.sheet_cells import ErrorText

if TYPE_CHECKING:
    from ..workbook.book import Cell
    from ..workbook.evaluator import Area
    from .calls import Calls

__all__ = ["MANY", "CallAgain", "Replay"]

#: Formulas that a value follows from; of more, most read nothing that has changed.
MANY = 20


class CallAgain:
    """A formula that is one call of ours, its arguments read once."""

    def __init__(self, context: Calls, cell: Cell, node: Call) -> None:
        self.areas: list[Area | None] = []
        self.raw: list[Any] = []
        for argument in node.arguments:
            area = None if isinstance(argument, Omitted) else context.area_of(argument, cell.place)
            self.areas.append(area)
            if isinstance(argument, Omitted):
                self.raw.append(OMITTED)
            elif area is None:
                self.raw.append(context.values.evaluate(argument, cell.place))
            elif area[1:3] == area[3:]:
                self.raw.append(context.value(area[:3]))
            else:
                self.raw.append(context.values.area_values(area))
        self.again = Again(node.name, self.raw)


class _Whole:
    """Such a formula with the arguments that change."""

    def __init__(self, made: CallAgain, changing: set[Place]) -> None:
        self.again = made.again
        self.cells: dict[int, Place] = {}
        self.areas: dict[int, tuple[list[list[Any]], list[tuple[int, int, Place]]]] = {}
        for at, area in enumerate(made.areas):
            if area is None:
                continue
            if area[1:3] == area[3:]:
                if area[:3] in changing:
                    self.cells[at] = area[:3]
            elif taken := _in(area, made.raw[at], changing):
                self.areas[at] = (made.raw[at], taken)

    def value(self, values: Mapping[Place, Any]) -> Any:
        other: dict[int, Any] = {at: values[place] for at, place in self.cells.items()}
        for at, (rows, taken) in self.areas.items():
            filled = other[at] = [list(row) for row in rows]
            for row, column, place in taken:
                filled[row][column] = values[place]
        try:
            return self.again.call(other)
        except CellError as problem:
            return ErrorText(problem.code)


def _in(area: Area, rows: list[list[Any]], places: set[Place]) -> list[tuple[int, int, Place]]:
    """(row, column, cell) of the cells that lie in a range."""
    sheet, top, left, _, _ = area
    return [
        (place[1] - top, place[2] - left, place)
        for place in places
        if place[0] == sheet and 0 <= place[1] - top < len(rows) and 0 <= place[2] - left < len(
            rows[0]
        )
    ]  # fmt: skip


class Replay:
    """The value of one cell with other values in some cells.

    Args:
        context: the workbook.
        calls: cell -> its call with its arguments read, shared by the replays of a workbook.
        place: the cell.
        changed: the cells that get other values.
        affected: formulas that follow from them.
    """

    def __init__(
        self,
        context: Calls,
        calls: dict[Place, CallAgain],
        place: Place,
        changed: Iterable[Place],
        affected: set[Place],
    ) -> None:
        self.context, self.place, self.affected = context, place, affected
        self.calls = calls
        self._steps: list[Cell] | None = self._in_order()
        self._changing = {*changed, *(cell.place for cell in self._steps or ())}
        self._wholes: dict[Place, _Whole | None] = {}

    def _in_order(self) -> list[Cell] | None:
        """The formulas to work out, each behind those that it takes; None where there is a circle.

        Where it cannot be done, everything goes through the trees.
        """
        order, circular = self.context.precedents.positions
        if circular:
            return None
        cells = map(self.context.book.cell, {*self.affected, self.place})
        steps = [cell for cell in cells if cell is not None and cell.tree is not None]
        return sorted(steps, key=lambda cell: order[cell.place])

    def _whole(self, cell: Cell) -> _Whole | None:
        """The cell as one call of ours; None where it is more, or where its inputs are not read."""
        if cell.place not in self._wholes:
            self._wholes[cell.place] = self._find_whole(cell)
        return self._wholes[cell.place]

    def _find_whole(self, cell: Cell) -> _Whole | None:
        node = cell.tree
        if cell.array or not isinstance(node, Call) or not node.sizes:
            return None
        if any(isinstance(argument, Call) for argument in node.arguments):
            return None
        made = self.calls.get(cell.place)
        if made is None:
            made = self.calls[cell.place] = CallAgain(self.context, cell, node)
        return _Whole(made, self._changing)

    def value(self, instead: Mapping[Place, Any]) -> Any:
        """The cell's value; None where it cannot be worked out."""
        if self._steps is not None:
            try:
                return self._replayed(self._steps, instead)
            except (Unknown, FormulaError, CellError, RecursionError):
                self._steps = None  # in a branch that is not taken, perhaps
        try:
            return WhatIf(self.context.values, instead, self.affected).cell_value(self.place)
        except (Unknown, FormulaError, RecursionError):
            return None

    def _replayed(self, steps: list[Cell], instead: Mapping[Place, Any]) -> Any:
        context, values, moved = self.context, dict(instead), set(instead)
        for cell in steps:
            place = cell.place
            if place in instead:
                continue
            now = context.value(place)
            read = context.reached.read_by(place) if len(steps) > MANY else None
            if read is not None and moved.isdisjoint(read):
                values[place] = now
                continue
            whole = self._whole(cell)
            if whole is not None:
                values[place] = whole.value(values)
            else:
                values[place] = _first(WhatIf(context.values, values, set()), cell)
            if type(values[place]) is not type(now) or values[place] != now:
                moved.add(place)
        return values[self.place]


def _first(reader: WhatIf, cell: Cell) -> Any:
    value = reader.formula_value(cell)
    return value[0][0] if isinstance(value, list) else value
