"""The values of a workbook's cells as they would be with other inputs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..book import Cell
from ..formulas import Place
from .evaluator import Evaluator
from .parts import ROUNDS
from .reader import Reader
from .references import Area
from .values import FormulaError, Unknown

__all__ = ["Unrounded", "WhatIf"]

_FEW = 80  # formulas; a chain of so many is worked out without help


class WhatIf(Reader):
    """The values of cells if some inputs were different.

    Args:
        base: the values as they are.
        instead: place -> value to take there.
        affected: cells with formulas that may change; all others keep their value.
    """

    def __init__(self, base: Evaluator, instead: Mapping[Place, Any], affected: set[Place]) -> None:
        super().__init__(base.book)
        self.base = base
        self.affected = affected
        self.values: dict[Place, Any] = dict(instead)
        self._begun: set[Place] = set()
        #: cells whose value may be another one, and those of them whose value is
        self._watched = affected | instead.keys()
        self._other: set[Place] = set(instead)

    def cell_value(self, place: Place) -> Any:
        """The value of one cell under these conditions."""
        if place in self.values:
            return self.values[place]
        cell = self.book.cell(place) if place in self.affected else None
        if cell is None or cell.tree is None:
            return self.base.cell_value(place)
        if place in self._begun:
            raise Unknown("the formula refers to itself")
        if not self._begun and len(self.affected) > _FEW:
            self._inputs_first(cell)
            if place in self.values:
                return self.values[place]
        self._begun.add(place)
        value = self.formula_value(cell)
        if isinstance(value, list):
            value = value[0][0]
        self.values[place] = value
        return value

    def _inputs_first(self, wanted: Cell) -> None:
        """Work out what a cell follows from before the cell, so that no chain is too long.

        A cell of whose inputs none has changed keeps its value. What has no value is left: whoever
        takes it meets the same error again.
        """
        base, waiting, opened = self.base, [wanted], set[Place]()
        while waiting:
            cell = waiting[-1]
            if cell.place not in opened:
                opened.add(cell.place)
                waiting += [
                    needed
                    for needed in base.inputs_in(cell, self.affected)
                    if needed.place not in self.values
                    and needed.place not in opened
                    and needed.tree is not None
                ]
                continue
            waiting.pop()
            if cell.place in self.values:
                continue
            if self._keeps(cell):
                self.values[cell.place] = base.cell_value(cell.place)
                continue
            self._begun.add(cell.place)
            try:
                value = self.formula_value(cell)
            except (FormulaError, Unknown, RecursionError):
                self._begun.clear()
                continue
            value = value[0][0] if isinstance(value, list) else value
            self.values[cell.place] = value
            if not _is_same(value, base.cell_value(cell.place)):
                self._other.add(cell.place)
            self._begun.discard(cell.place)

    def _keeps(self, cell: Cell) -> bool:
        """Whether nothing that a cell takes has changed, so that its value has not either."""
        if cell.place in self.base.unknown:
            return False  # nobody knows what it takes
        return not any(
            needed.place in self._other or needed.place not in self.values
            for needed in self.base.inputs_in(cell, self._watched)
        )

    def area_values(self, area: Area) -> list[list[Any]]:
        """The values of a range under these conditions."""
        sheet, r1, c1, r2, c2 = area
        touched = [
            p
            for places in (self.affected, self.values)
            for p in places
            if p[0] == sheet and r1 <= p[1] <= r2 and c1 <= p[2] <= c2
        ]
        rows = self.base.area_values(area)
        if touched:
            rows = [list(row) for row in rows]
            for place in touched:
                if place[1] - r1 < len(rows) and place[2] - c1 < len(rows[0]):
                    rows[place[1] - r1][place[2] - c1] = self.cell_value(place)
        return rows


def _is_same(value: Any, other: Any) -> bool:
    return type(value) is type(other) and bool(value == other)


class Unrounded(WhatIf):
    """The same, and nothing is rounded on the way: what a small change really does."""

    rounds = False

    def _keeps(self, cell: Cell) -> bool:
        """Whether a cell keeps its value: not where it was rounded."""
        return super()._keeps(cell) and ROUNDS.isdisjoint(self.book.functions_in(cell))
