"""HOPPER_SIZE_JOBS: a whole job list in one call, its answers as a table of cells."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..cells.quantities import SYSTEMS
from ..cells.values import cell_out, is_blank, is_error
from ..errors import CellError, ErrorIn
from ..registry import Argument, Example, Result, cell_function
from ..sizing.density import BASIS
from .catalog import CATALOG_COLUMNS, CatalogTable, catalog_unit, read_catalog
from .job_columns import (
    AS_LISTED,
    JOB_COLUMNS,
    NOT_STATED,
    RESULT_COLUMNS,
    Question,
    result_cells,
    result_headings,
)

# What reads a list is loaded when a list is sized: no other function needs it.
if TYPE_CHECKING:
    from collections.abc import Iterator

    from .job_rows import JobSizer
    from .jobreading.reading import Column, Reading
    from .sized_job import SizedJob

__all__ = ["catalog_for", "size_jobs", "sized_rows", "sizer_of"]


_MOST_NAMED = 12  # rows that are no jobs


def _job_name(row: list[Any], column: Column | None) -> Any:
    """The row's name as a cell; an empty text where there is none."""
    if column is None or column.at >= len(row) or is_blank(row[column.at]):
        return ""
    try:
        return cell_out(row[column.at])
    except CellError as problem:
        return problem.code


def _note(
    jobs: list[list[Any]], catalog_sizes: list[list[Any]], share_basis: str, units: str
) -> str:
    """For EXPLAIN: how the list was read, and what in it was not."""
    from .job_receipt import in_one_line

    try:
        sizer = sizer_of(jobs, catalog_sizes, share_basis, units)
    except Question as question:
        return question.reason
    rows = sized_rows(jobs, sizer)
    not_jobs = [f"row {at} {job.not_job}" for at, _, job in rows if job.not_job and job.check]
    return in_one_line(sizer.reading, not_jobs[:_MOST_NAMED])


@cell_function(
    "HOPPER_SIZE_JOBS",
    question="Which hopper does each job of a whole list need?",
    summary="A whole job list sized in one call: one row of results per job, with a heading row.",
    arguments=(
        Argument(
            "jobs",
            "The job list with its headings (a title may stand above): throughput, drying hours, "
            "virgin density (or resin); optional shares, share basis, regrind density, reserve, "
            "job, others by name.",
            kind="cells",
            known=lambda: JOB_COLUMNS,
        ),
        Argument(
            "catalog_sizes",
            "The catalog: a column of sizes, ft3 (metric L), or a table with the headings size, "
            "model, price.",
            kind="cells",
            known=lambda: CATALOG_COLUMNS,
        ),
        Argument(
            "share_basis",
            'Basis of rows that state none: "volume" or "mass"; when left out, by volume and each '
            "such row says so.",
            kind="choice",
            default=NOT_STATED,
            choices={**BASIS, NOT_STATED: ()},
        ),
        Argument(
            "units",
            'Unit system of plain numbers without a unit in the list, and of the result: "US" or '
            '"metric"; when left out, as the list says, and US where it says nothing.',
            kind="choice",
            default=AS_LISTED,
            choices={**dict.fromkeys(SYSTEMS, ()), AS_LISTED: ()},
        ),
    ),
    result=Result("a table with one row per job", kind="table"),
    equation="next size for throughput x drying hours / blend density x (1 + reserve), row by row",
    assumptions=(
        "Where the list is silent, each row says what was assumed: shares by volume, the resin "
        "table's values, regrind half as dense as virgin. Only what cells hold is seen: a unit or "
        "percent sign of a number format, a strike, a merge, a hidden row and a comment change "
        "nothing. The command size sees them."
    ),
    source="common practice, no source, as HOPPER_REGRIND_DENSITY and HOPPER_BLEND_DENSITY",
    example=Example(
        (
            (("job", "throughput", "drying hours", "virgin density"), ("A", 220, 3.5, 38.5)),
            ((12,), (20,), (30,)),
        ),
        [
            ["job", *result_headings("US")],
            [
                "A", 38.5, 20.0, 12.0, 2.1, 20.0, 3.5, "", "",
                "100 % virgin: the list has no column of shares", "", "",
            ],
        ],
        "arithmetic identity",
    ),
    units=False,
    note=_note,
    see_also=("HOPPER_REQUIRED_VOLUME", "HOPPER_NEXT_SIZE", "HOPPER_SIZE_BELOW"),
)  # fmt: skip
def size_jobs(
    jobs: list[list[Any]], catalog_sizes: list[list[Any]], share_basis: str, units: str
) -> list[list[Any]]:
    """The heading row and one row per job, as cells.

    Where the list leaves a question that only its writer can answer, each row is ``#VALUE!`` and
    the column ``problem`` holds the question.

    Raises:
        WrongKind: the headings or the catalog cannot be read.
    """
    above = _heading_rows(jobs)
    for argument, rows in (("jobs", above), ("catalog_sizes", catalog_sizes)):
        for cell in (cell for row in rows for cell in row):
            if is_error(cell):
                raise ErrorIn(cell, argument)
    try:
        sizer = sizer_of(jobs, catalog_sizes, share_basis, units)
    except Question as question:
        system = SYSTEMS[0] if units == AS_LISTED else units
        # A list that cannot be read at all still needs a catalog that can.
        read_catalog(catalog_sizes, system)
        blank = [
            "#VALUE!" if column.quantity or name == "model" else ""
            for name, column in RESULT_COLUMNS.items()
        ]
        asked = ["", *blank[:-1], question.reason]
        empty = [""] * len(asked)
        return [*_table_top(len(above), system)] + [
            empty if all(map(is_blank, row)) else [*asked] for row in jobs[len(above) :]
        ]
    except CellError as problem:
        problem.argument = problem.argument or "jobs"
        raise
    job, system = sizer.columns.get("job"), sizer.system
    table = _table_top(sizer.reading.first_row - 1, system)
    for _, row, sized in sized_rows(jobs, sizer):
        table.append([_job_name(row, job), *result_cells(sized, system)])
    return table


def _heading_rows(jobs: list[list[Any]]) -> list[list[Any]]:
    """The rows down to the headings."""
    from .jobreading.heading_rows import HEADING_WITHIN, find_headings

    found = find_headings(jobs[:HEADING_WITHIN])
    return jobs[: found.at + found.height] if found else jobs[:1]


def _table_top(rows: int, system: str) -> list[list[Any]]:
    """The heading row of the results, beside the last of the rows down to the list's headings."""
    headings = ["job", *result_headings(system)]
    return [*([""] * len(headings) for _ in range(rows - 1)), headings]


def sized_rows(jobs: list[list[Any]], sizer: JobSizer) -> Iterator[tuple[int, list[Any], SizedJob]]:
    """(row number, cells, answer) of each row below the headings."""
    from .not_jobs import not_a_job

    first, units_row = sizer.reading.first_row, sizer.reading.units_row
    for index, row in enumerate(jobs[first - 1 :]):
        if index == units_row:
            yield first + index, row, not_a_job("units")
        else:
            yield first + index, row, sizer.size(row, first + index)


def sizer_of(
    jobs: list[list[Any]], catalog_sizes: list[list[Any]], share_basis: str, units: str
) -> JobSizer:
    """A sizer for a list and a catalog given as raw cells.

    Raises:
        WrongKind: they cannot be read.
        Question: the list, or the catalog's unit, leaves a choice to its writer.
    """
    from .job_rows import JobSizer
    from .jobreading.list_reader import read_rows

    reading = read_rows(jobs, units, share_basis)
    return JobSizer(reading, catalog_for(reading, catalog_sizes, units))


def catalog_for(reading: Reading, rows: list[list[Any]], units: str) -> CatalogTable:
    """The catalog, its plain sizes in the units stated, or in US ones beside a US list.

    Raises:
        Question: the list is metric and the catalog does not say in which unit its sizes are.
    """
    if units != AS_LISTED:
        return read_catalog(rows, units)
    if reading.system == "metric" and catalog_unit(rows) == "":
        raise Question(
            "are the catalog's sizes in L or ft3? The list is metric, but the catalog names no "
            "unit. Call its column 'size [L]' or 'size [ft3]', or state the units"
        )
    return read_catalog(rows, reading.system)
