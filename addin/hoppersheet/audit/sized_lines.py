"""The lines of a workbook: from which calls and job lists they come, and what they are called."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

from ..workbook.book import Book, Cell
from ..workbook.evaluator import Evaluator
from ..workbook.formulas import Place
from .calls import Calls, Use, cell_name
from .catalogs import Catalogs
from .jobs import JobTable, job_tables
from .label_words import Reason, without_unit
from .lines import Line, LineFinder
from .plain_formulas import plain_calls
from .roles_by_use import roles_by_use
from .shared_hoppers import SharedHoppers

__all__ = ["SizedLines"]

_MOST_BEHIND = 5_000  # cells that a result may follow from, to be looked through


class SizedLines(Calls):
    """The calls of a workbook, plain formulas that stand for calls, its job lists and its lines.

    Args:
        book: the workbook.
        values: the values of its cells.
        tick: called once per sizing cell read.
    """

    def __init__(
        self, book: Book, values: Evaluator, tick: Callable[[], None] = lambda: None
    ) -> None:
        super().__init__(book, values, tick)
        self.labels.take_roles(roles_by_use(self, self.catalogs))
        self.take_plain(plain_calls(self))
        self._behind: dict[Place, tuple[list[Cell], set[Place]] | None] = {}
        self._note_jobs()

    def _note_jobs(self) -> None:
        for table in self.job_tables:
            columns = {
                name: Use(table.call, table.argument(name))
                for name in table.sizer.columns
                if name not in ("job", "resin")
            }
            for row in table.rows:
                for name, use in columns.items():
                    if name in row.places and row.cell(name) not in (None, ""):
                        self.uses.setdefault(row.places[name], []).append(use)

    @cached_property
    def job_tables(self) -> list[JobTable]:
        """Every job list that is sized in one call."""
        return list(job_tables(self))

    @cached_property
    def _finder(self) -> LineFinder:
        return LineFinder(self, self.job_tables)

    @property
    def catalogs(self) -> Catalogs:
        """Every catalog that sizes are taken from."""
        return self._finder.catalogs

    @property
    def twins(self) -> dict[Place, Place]:
        """Required volume -> the same volume once more in its row, such as in other units."""
        return self._finder.twins

    def others_of_its_hopper(self, line: Line) -> list[Line]:
        """The lines that share the hopper of one, which its size follows from."""
        return self._shared.others(line)

    def in_catalog(self, place: Place) -> bool:
        """Whether a cell is one of a catalog."""
        return self._finder.in_catalog(place)

    def behind(self, cell: Cell) -> tuple[list[Cell], set[Place]] | None:
        """(typed cells, formulas) that a cell follows from, kept; None where too many."""
        if cell.place not in self._behind:
            self._behind[cell.place] = self.precedents.inputs_of(cell, _MOST_BEHIND)
        return self._behind[cell.place]

    @cached_property
    def lines(self) -> list[Line]:
        """Every hopper that the workbook sizes."""
        lines = self._finder.find()
        own = [line for line in lines if line.job is None]
        self._shared = SharedHoppers(self, own, self._finder.judged_by, self._finder.counted)
        return lines

    @cached_property
    def lines_from(self) -> dict[Place, list[Line]]:
        """Cell -> the lines that follow from it."""
        found: dict[Place, list[Line]] = {}
        for line in self.lines:
            for place in (*(cell.place for cell in line.typed), *line.calculated):
                found.setdefault(place, []).append(line)
        return found

    def reason_for(self, line: Line) -> Reason:
        """A reason or remark written beside a line."""
        beside = self.labels.reason_in_row(line.place)
        if not beside and line.job is not None:
            beside = self.labels.reason_in_row(line.job.first)
        return beside

    def where(self, line: Line) -> str:
        """Where a line stands, for a message; a job with the row that somebody filled in."""
        if line.job is None:
            return cell_name(line.place)
        name = f"job {line.job.name!r}" if line.job.name else "the job"
        return f"{cell_name(line.place)} ({name} in {cell_name(line.job.first)})"

    def name_of(self, line: Line) -> str:
        """What a line is called, ``""`` where nothing says so."""
        if line.job is not None:
            return line.job.name
        name = self.labels.line_name(line.place)
        if line.place in self._finder.rows_with_several:
            # Hoppers side by side, or several volumes in a line: only both names tell them apart.
            heading = without_unit(self.labels.heading(line.place))
            name = ", ".join(dict.fromkeys(filter(None, (name, heading))))
        return name
