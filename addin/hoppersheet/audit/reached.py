"""From which cells a value comes as it stands: what its formulas really read.

A formula names many cells and reads few: one branch of an IF, one row of a table. What a cell's
value does not come from can be changed without moving it, so it need not be tried out.
"""

from __future__ import annotations

from typing import Any

from ..workbook.evaluator import Area, Evaluator, Reader, Unknown
from ..workbook.formulas import Place

__all__ = ["Reached"]


class _Watched(Reader):
    """Works formulas out and notes what they read."""

    def __init__(self, values: Evaluator) -> None:
        super().__init__(values.book)
        self._values = values
        self.places: set[Place] = set()
        self.areas: set[Area] = set()

    def cell_value(self, place: Place) -> Any:
        self.places.add(place)
        return self._values.cell_value(place)

    def area_values(self, area: Area) -> list[list[Any]]:
        self.areas.add(area)
        return self._values.area_values(area)


class Reached:
    """What the values of cells come from; each formula is looked at once."""

    def __init__(self, values: Evaluator) -> None:
        self._values = values
        self._read_by: dict[Place, set[Place] | None] = {}

    def behind(self, place: Place) -> set[Place] | None:
        """Every cell that a cell's value comes from, its own; None where that is not known."""
        found, waiting = {place}, [place]
        while waiting:
            read = self.read_by(waiting.pop())
            if read is None:
                return None
            new = read - found
            found |= new
            waiting += new
        return found

    def read_by(self, place: Place) -> set[Place] | None:
        """The cells that a cell's own formula reads; None where it cannot be worked out."""
        if place not in self._read_by:
            self._read_by[place] = self._find(place)
        return self._read_by[place]

    def _find(self, place: Place) -> set[Place] | None:
        cell = self._values.book.cell(place)
        if cell is None or cell.tree is None:
            return set()
        watched = _Watched(self._values)
        try:
            watched.formula_value(cell)
        except (Unknown, RecursionError):
            return None
        for area in watched.areas:
            watched.places.update(taken.place for taken in self._values.cells_in(area))
        return watched.places
