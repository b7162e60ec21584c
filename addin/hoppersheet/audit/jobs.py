"""Job lists sized by one HOPPER_SIZE_JOBS: row by row, as if each were a line of its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from ..cells.quantities import QUANTITIES
from ..errors import CellError
from ..registry import Argument
from ..tables.job_cells import Percent
from ..tables.job_columns import RESULT_COLUMNS, quantity_of
from ..tables.job_numbers import column_reader, share_reader
from ..tables.job_rows import JobSizer
from ..tables.jobs import catalog_for, sized_rows, sizer_of
from ..tables.sized_job import SizedJob
from ..workbook.evaluator import Area, SizingCall
from ..workbook.formulas import Place
from .calls import Calls

__all__ = ["JobRow", "JobTable", "job_tables"]

_RESULT_AT = {name: at for at, name in enumerate(("job", *RESULT_COLUMNS))}


@dataclass
class JobRow:
    """One row of a job list.

    Attributes:
        table: the list it stands in.
        at: how many rows it stands below the first row of the range.
        values: its raw cells.
        sized: what the core makes of it.
    """

    table: JobTable
    at: int
    values: Sequence[Any]
    sized: SizedJob

    @property
    def first(self) -> Place:
        """The row's first cell; the calling cell where the list is no range of cells."""
        area = self.table.jobs_area
        return self.table.call.cell.place if area is None else (area[0], area[1] + self.at, area[2])

    @cached_property
    def places(self) -> dict[str, Place]:
        """Column name -> the row's cell; empty where the list is no range of cells."""
        if self.table.jobs_area is None:
            return {}
        sheet, row, column = self.first
        return {n: (sheet, row, column + h.at) for n, h in self.table.sizer.columns.items()}

    def place(self, *names: str) -> Place:
        """The row's cell in the first of these columns that the list has."""
        return next((self.places[n] for n in names if n in self.places), self.first)

    def result_place(self, name: str) -> Place:
        """The cell that shows a result of the row; the row's first cell where none does."""
        if not self.is_shown:
            return self.first
        sheet, row, column = self.table.call.cell.place
        return (sheet, row + self.at, column + _RESULT_AT[name])

    @property
    def is_shown(self) -> bool:
        """Whether a cell of the sheet shows the row's results."""
        cell = self.table.call.cell
        return self.table.shown and cell.place[1] + self.at <= cell.filled[2]

    def cell(self, name: str) -> Any:
        """The row's raw cell in a column, None where the list has no such column."""
        heading = self.table.sizer.columns.get(name)
        if heading is None or heading.at >= len(self.values):
            return None
        return self.values[heading.at]

    @property
    def name(self) -> str:
        """What the row is called, ``""`` where it has no name."""
        name = self.cell("job")
        return str(name) if name not in (None, "") else ""

    def number(self, name: str) -> float | None:
        """The row's number in a column in SI, None where there is none to read."""
        value = self.cell(name)
        if value in (None, "") or not quantity_of(name):
            return None
        try:
            return self.table.read(name, value)
        except CellError:
            return None

    def sized_with(
        self, instead: Mapping[str, Any], catalog: list[list[Any]] | None = None
    ) -> SizedJob:
        """What the core makes of the row with other raw values in some columns.

        ``catalog``: other raw cells of the catalog; CellError where they cannot be read.
        """
        values = [*self.values]
        for name, value in instead.items():
            heading = self.table.sizer.columns.get(name)
            if heading is not None:
                values[heading.at] = value
        sizer = self.table.sizer
        return (sizer if catalog is None else self.table.sizer_for(catalog)).size(values)


class JobTable:
    """One call of HOPPER_SIZE_JOBS.

    Attributes:
        call: the call.
        jobs_area: the list with its headings; None where it is no range of cells.
        catalog_area: where the catalog stands, None where it is no range of cells.
        shown: whether the result stands in the sheet as it is, from the calling cell on.
        rows: every row that holds a job.
    """

    def __init__(
        self, context: Calls, call: SizingCall, sizer: JobSizer, units: str, share_basis: str
    ) -> None:
        self.call, self.sizer, self.share_basis = call, sizer, share_basis
        self.system, self._units = sizer.system, units
        nodes = [context.argument_node(call, name) for name in ("jobs", "catalog_sizes")]
        self.jobs_area: Area | None
        self.jobs_area, self.catalog_area = (context.area_of(node, call.place) for node in nodes)
        self.shown = bool(call.cell.array) and call in context.own_calls(call.cell.place)
        self.rows = [
            JobRow(self, at - 1, row, sized)
            for at, row, sized in sized_rows(call.values[0], sizer)
            if sized.is_job
        ]

    def argument(self, name: str) -> Argument:
        """A column as if it were an argument."""
        return Argument(name.replace(" ", "_"), "", quantity_of(name))

    def unit(self, name: str) -> str:
        """Unit of the plain numbers of a column."""
        quantity = quantity_of(name)
        stated = self.sizer.columns[name].unit if name in self.sizer.columns else ""
        return stated or (QUANTITIES[quantity].unit(self.system) if quantity else "")

    @cached_property
    def by_mass(self) -> JobSizer:
        """The same, with the shares of rows that state no basis taken by mass."""
        return JobSizer(self.sizer.reading._replace(basis="mass"), self.sizer.catalog)

    def sizer_for(self, catalog: list[list[Any]]) -> JobSizer:
        """The same list with another catalog, raw cells."""
        reading = self.sizer.reading
        return JobSizer(reading, catalog_for(reading, catalog, self._units))

    def read(self, name: str, value: Any) -> float:
        """A raw cell of a column in SI; CellError where it cannot be read."""
        column = self.sizer.columns[name]
        if column.quantity == "share":
            number: float = share_reader(column)(value) or Percent(0.0)
            of_100 = column.mode == "percent" and not isinstance(number, Percent)
            return number / 100 if of_100 else float(number)
        return column_reader(column, self.system)(value)


def job_tables(context: Calls) -> Iterator[JobTable]:
    """Every list that the workbook sizes in one call; one that is sized twice counts once."""
    seen: set[tuple[Any, ...]] = set()
    for call in context.all_calls():
        inputs = context.inputs(call) if call.name == "HOPPER_SIZE_JOBS" else None
        if inputs is None or call.error is not None:
            continue
        values = inputs.values
        basis, units = values["share_basis"], values["units"]
        try:
            sizer = sizer_of(values["jobs"], values["catalog_sizes"], basis, units)
        except CellError:
            continue
        table = JobTable(context, call, sizer, units, basis)
        key = (table.jobs_area, table.catalog_area, units, basis)
        if table.jobs_area is None or key not in seen:
            seen.add(key)
            yield table
