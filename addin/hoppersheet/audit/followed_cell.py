"""One cell that follows from others, tried out with other values in them.

What it and those before it come to where nothing is rounded is worked out once; each trial then
works out again only what lies between the changed cells and the cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import Any, cast

from ..workbook.book import Cell
from ..workbook.evaluator import Area, Evaluator, FormulaError, Unknown, Unrounded
from ..workbook.formulas import Place
from .line_cells import ROUNDING, rounds
from .sized_lines import SizedLines

__all__ = ["FollowedCell", "Trial"]

_MOST_CELLS = 200_000  # that a cell may follow from


class Trial(Unrounded):
    """A followed cell with other values in some cells before it, and nothing rounded on the way.

    Args:
        followed: the cell.
        base: the values before.
        instead: place -> value to take there.
        affected: formulas on the way from these to the cell.
    """

    def __init__(
        self,
        followed: FollowedCell,
        base: Evaluator | Trial,
        instead: Mapping[Place, Any],
        affected: set[Place],
    ) -> None:
        super().__init__(cast(Evaluator, base), instead, affected)
        self.followed = followed
        self.unknown: dict[Place, str] = base.unknown

    @cached_property
    def result(self) -> float | None:
        """What the followed cell comes to; None where that is no number."""
        try:
            value = self.cell_value(self.followed.place)
        except (Unknown, FormulaError, RecursionError):
            return None
        return value if isinstance(value, float) else None

    def changed(self, instead: Mapping[Place, Any]) -> Trial:
        """The same with still other values in some cells."""
        affected = self.followed.on_the_way(instead)
        return Trial(self.followed, self, instead, affected - instead.keys())

    def areas_of(self, cell: Cell) -> tuple[Area, ...]:
        """The ranges that a cell's formula refers to."""
        return self.base.areas_of(cell)

    def cells_in(self, area: Area) -> Iterator[Cell]:
        """The filled cells of a range."""
        return self.base.cells_in(area)


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
        follows = context.precedents.inputs_of(cell, _MOST_CELLS) if cell is not None else None
        if follows is not None:
            self.typed = {typed.place for typed in follows[0]}
            self.calculated = follows[1]

    @cached_property
    def own(self) -> set[Place]:
        """Cells whose values are taken as they are, with what these follow from."""
        return set()

    @cached_property
    def as_it_is(self) -> Trial:
        """The cell as it is, where nothing is rounded on the way.

        Where what is rounded decides which amount the cell shows, as the rows of a page may, all
        is left as it is.
        """
        values = self.context.values
        trial = Trial(self, values, {}, self.on_the_way(self.rounding))
        if not self.rounding:
            return trial
        # asked now, so that no later trial begins with a long chain
        if trial.result is None and isinstance(values.cell_value(self.place), float):
            return Trial(self, values, {}, set())
        return trial

    @cached_property
    def rounding(self) -> list[Place]:
        """Formulas on the way from the lines to the cell that round."""
        # Through figures: a number rounded inside a text is no money, and where a page shows its
        # texts by their length, one with all its digits would push the total to another row.
        figures = {p for p in self.calculated if not isinstance(self.context.value(p), str)}
        on_the_way = (self.context.book.cell(place) for place in figures - self.own)
        may_round = self.context.book.functions_in
        return [
            cell.place
            for cell in on_the_way
            if cell is not None
            and not ROUNDING.isdisjoint(may_round(cell))
            and rounds(cell)
            and self.place in self.context.precedents.followers([cell.place], figures)
        ]

    def on_the_way(self, changed: Iterable[Place]) -> set[Place]:
        """Some cells, and the formulas on the way from them to the cell."""
        return self.context.precedents.followers(changed, self.calculated)
