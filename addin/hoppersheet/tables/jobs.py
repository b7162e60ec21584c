"""HOPPER_SIZE_JOBS: a whole job list in one call, its answers as a table of cells."""

from __future__ import annotations

from typing import Any

from ..cells.values import cell_out, is_blank, is_error
from ..cells.wording import in_system
from ..errors import CellError, ErrorIn, NoAnswer
from ..registry import Argument, Example, Result, cell_function
from ..sizing.density import BASIS
from .catalog import CATALOG_COLUMNS, read_catalog
from .headings import Heading
from .job_rows import JOB_COLUMNS, NOT_STATED, RESULT_COLUMNS, JobSizer, SizedJob, reason_of

__all__ = ["result_headings", "size_jobs"]


def result_headings(system: str) -> list[str]:
    """Headings of the result columns, with units where hours do not say it already."""
    unit = {"bulk density": ("lb/ft3", "kg/L"), "volume": ("ft3", "L")}
    metric = system != "US"
    return [
        f"{name} [{unit[quantity][metric]}]" if quantity in unit else name
        for name, quantity in RESULT_COLUMNS.items()
    ]


def _result_cells(sized: SizedJob, system: str) -> list[Any]:
    """The result columns of one row as cells; an error value where there is no answer."""
    if not sized.is_job:
        return ["" if name != "assumed" else sized.assumed for name in RESULT_COLUMNS]
    problem = sized.problem
    # What could not be worked out shows the row's error; a size below that does not exist, #N/A.
    code = NoAnswer.code if problem is None else problem.code
    cells: list[Any] = [
        code if value is None else in_system(value, quantity, system)
        for value, quantity in zip(sized[:6], RESULT_COLUMNS.values())  # noqa: B905
    ]
    model: Any = code if sized.next_size is None else sized.model
    reason = "" if problem is None else reason_of(problem)
    return [*cells, model, sized.assumed, reason]


def _job_name(row: list[Any], heading: Heading | None) -> Any:
    """The row's name as a cell; an empty text where there is none."""
    if heading is None or heading.place >= len(row) or is_blank(row[heading.place]):
        return ""
    try:
        return cell_out(row[heading.place])
    except CellError as problem:
        return problem.code


@cell_function(
    "HOPPER_SIZE_JOBS",
    question="Which hopper does each job of a whole list need?",
    summary="A whole job list sized in one call: one row of results per job, with a heading row.",
    arguments=(
        Argument(
            "jobs",
            "The job list with its heading row: throughput, drying hours, virgin density; "
            "optional shares, share basis, regrind density, reserve, job.",
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
    ),
    result=Result("a table with one row per job", kind="table"),
    equation="next size for throughput x drying hours / blend density x (1 + reserve), row by row",
    assumptions="Where the list is silent: regrind half as dense as virgin, shares by volume.",
    source="common practice, no source, as HOPPER_REGRIND_DENSITY and HOPPER_BLEND_DENSITY",
    example=Example(
        (
            (("job", "throughput", "drying hours", "virgin density"), ("A", 220, 3.5, 36.4)),
            ((12,), (20,), (30,)),
        ),
        [
            ["job", *result_headings("US")],
            ["A", 36.4, 21.1538461538462, 20.0, 3.30909090909091, 30.0, 4.96363636363636]
            + [""] * 3,
        ],
        "arithmetic identity",
    ),
    see_also=("HOPPER_REQUIRED_VOLUME", "HOPPER_NEXT_SIZE", "HOPPER_SIZE_BELOW"),
)
def size_jobs(
    jobs: list[list[Any]], catalog_sizes: list[list[Any]], share_basis: str, units: str
) -> list[list[Any]]:
    """The heading row and one row per job, as cells of the unit system ``units``.

    Raises:
        WrongKind: the headings or the catalog cannot be read.
    """
    for argument, rows in (("jobs", jobs[:1]), ("catalog_sizes", catalog_sizes)):
        for cell in (cell for row in rows for cell in row):
            if is_error(cell):
                raise ErrorIn(cell, argument)
    try:
        sizer = JobSizer(jobs[0], read_catalog(catalog_sizes, units), units, share_basis)
    except CellError as problem:
        problem.argument = problem.argument or "jobs"
        raise
    job = sizer.columns.get("job")
    table: list[list[Any]] = [["job", *result_headings(units)]]
    for row in jobs[1:]:
        table.append([_job_name(row, job), *_result_cells(sizer.size(row), units)])
    return table
