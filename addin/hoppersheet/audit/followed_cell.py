"""One cell that follows from others, tried out with other values in them."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from ..workbook.evaluator import FormulaError, Unknown, Unrounded
from ..workbook.formulas import Place
from .line_cells import rounds
from .sized_lines import SizedLines

__all__ = ["MOST_CELLS", "FollowedCell"]

MOST_CELLS = 200_000  # that a cell may follow from


class FollowedCell:
    """A cell with all that it follows from.

    Attributes:
        place: the cell.
        typed, calculated: the cells that it follows from, its own included.
    """

    def __init__(self, context: SizedLines, place: Place) -> None:
        self.context, self.place = context, place
        self.typed: set[Place] = set()
        self.calculated: set[Place] = set()
        cell = context.book.cell(place)
        follows = context.values.inputs_of(cell, MOST_CELLS) if cell is not None else None
        if follows is not None:
            self.typed = {typed.place for typed in follows[0]}
            self.calculated = follows[1]

    @cached_property
    def own(self) -> set[Place]:
        """Cells whose values are taken as they are, with what these follow from."""
        return set()

    def tried(self, instead: dict[Place, Any]) -> float | None:
        """Its value with others in some cells, and nothing rounded on the way."""
        changed = self._affected(instead)
        try:
            value = Unrounded(self.context.values, instead, changed).cell_value(self.place)
        except (Unknown, FormulaError, RecursionError):
            return None
        return value if isinstance(value, float) else None

    @cached_property
    def rounding(self) -> list[Place]:
        """Formulas on the way from the lines to the cell that round."""
        on_the_way = (self.context.book.cell(place) for place in self.calculated - self.own)
        return [cell.place for cell in on_the_way if cell is not None and rounds(cell)]

    def _affected(self, instead: dict[Place, Any]) -> set[Place]:
        """Formulas on the way from some cells to the cell, not those before them."""
        found = {*instead, *self.rounding}
        waiting = list(found)
        while waiting:
            for place in self._followers.get(waiting.pop(), ()):
                if place not in found:
                    found.add(place)
                    waiting.append(place)
        return found - set(instead)

    @cached_property
    def _followers(self) -> dict[Place, list[Place]]:
        """Cell -> formulas on the way to the cell that take it."""
        found: dict[Place, list[Place]] = {}
        for place in self.calculated:
            cell = self.context.book.cell(place)
            for area in self.context.values.areas_of(cell) if cell is not None else ():
                for taken in self.context.values.cells_in(area):
                    found.setdefault(taken.place, []).append(place)
        return found
