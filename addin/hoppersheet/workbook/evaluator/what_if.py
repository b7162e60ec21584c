"""The values of a workbook's cells as they would be with other inputs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..book import Cell
from ..formulas import Place
from .call_parts import ROUNDS
from .evaluator import Evaluator
from .on_demand import Circle, OnDemand
from .references import Area, Cut
from .values import Unknown

__all__ = ["Unrounded", "WhatIf"]

#: Formulas that may change; of more, those are left alone that take nothing that has.
_MANY = 80


class WhatIf(OnDemand):
    """The values of cells if some inputs were different.

    Args:
        base: the values as they are.
        instead: place -> value to take there.
        affected: cells with formulas that may change; all others keep their value.

    What cannot be worked out under these conditions raises :class:`Unknown`.
    """

    def __init__(self, base: Evaluator, instead: Mapping[Place, Any], affected: set[Place]) -> None:
        super().__init__(base.book)
        self.base = base
        self.affected = affected
        self.values.update(instead)
        #: cells whose value may be another one; those of them that the workbook does not hold
        self._watched = affected | instead.keys()
        self._bare = [place for place in instead if self.book.cell(place) is None]
        self._areas: dict[Area, list[list[Any]]] = {}

    def cell_value(self, place: Place) -> Any:
        """The value of one cell under these conditions."""
        if place not in self.values:
            cell = self.book.cell(place) if place in self.affected else None
            if cell is None or cell.tree is None:
                return self.base.cell_value(place)
            self.settle(cell)
        return self.values[place]

    def calculated(self, cell: Cell) -> Any:
        """The value of a cell's formula."""
        if len(self.affected) > _MANY and self._keeps(cell):
            return self.base.cell_value(cell.place)
        value = self.formula_value(cell)
        return value[0][0] if isinstance(value, list) else value

    def refused(self, cell: Cell, why: str) -> None:
        """Nothing stands for what cannot be worked out."""
        raise Unknown(why)

    def _keeps(self, cell: Cell) -> bool:
        """Whether nothing that a cell takes has changed, so that its value has not either."""
        if cell.place in self.base.unknown:
            return False  # nobody knows what it takes
        for area in self.base.areas_of(cell):
            for place in self._watched_in(area):
                try:
                    value = self.cell_value(place)
                except (Unknown, Circle):  # in a branch that is not taken, perhaps
                    return False
                before = self.base.cell_value(place)
                if type(value) is not type(before) or value != before:
                    return False
        return True

    def _watched_in(self, area: Area) -> list[Place]:
        """The cells of a range whose value may be another one."""
        sheet, top, left, bottom, right = area
        if top == bottom and left == right:
            return [area[:3]] if area[:3] in self._watched else []
        watched = self._watched
        held = [cell.place for cell in self.base.cells_in(area) if cell.place in watched]
        return held + [
            place
            for place in self._bare
            if place[0] == sheet and top <= place[1] <= bottom and left <= place[2] <= right
        ]

    def area_values(self, area: Area) -> list[list[Any]]:
        """The values of a range under these conditions."""
        found = self._areas.get(area)
        if found is None:
            found = self.base.area_values(area)
            touched = self._watched_in(area)
            if touched:
                found = Cut.of(found)
                for _, row, column in touched:
                    down, across = row - area[1], column - area[2]
                    if down < len(found) and across < len(found[0]):
                        found[down][across] = self.cell_value((area[0], row, column))
            self._areas[area] = found
        return found


class Unrounded(WhatIf):
    """The same, and nothing is rounded on the way: what a small change really does."""

    rounds = False

    def _keeps(self, cell: Cell) -> bool:
        """Whether a cell keeps its value: not where it was rounded."""
        return ROUNDS.isdisjoint(self.book.functions_in(cell)) and super()._keeps(cell)
