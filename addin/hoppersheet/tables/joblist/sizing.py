"""Run the rows of a job list through the sizer, one after the other."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from ...cells.numbers_in_text import shown
from ...cells.values import is_blank
from ...errors import InputFileError, WrongKind
from ..catalog import CatalogTable
from ..job_columns import reason_of
from ..job_rows import JobSizer
from ..not_jobs import not_a_job
from ..sized_job import SizedJob
from .opening import JobFile

__all__ = ["Row", "SizedList", "size_list"]

_LONGEST_GAP = 10_000  # empty rows inside a list

#: (row number in the file, raw cells, answer)
Row = tuple[int, list[Any], SizedJob]


@dataclass
class SizedList:
    """Counts and problem rows, complete once the rows have been read through."""

    file: JobFile
    sizer: JobSizer
    rows: Iterator[Row]
    jobs: int = 0
    marked: int = 0
    #: (row number, "column: reason")
    problems: list[tuple[int, str]] = field(default_factory=list)
    #: (row number, why it is none)
    not_jobs: list[tuple[int, str]] = field(default_factory=list)


def size_list(
    file: JobFile,
    catalog: CatalogTable,
    step: Callable[[], None] | None = None,
) -> SizedList:
    """Size every row as it is read.

    Args:
        file: the opened job list.
        catalog: the sizes to choose from.
        step: called every 1000 rows, for a progress bar.

    Raises:
        InputFileError: while the rows are read, where the file is damaged.
    """
    sizer = JobSizer(file.reading, catalog, file.source.blank_is)
    sized_list = SizedList(file, sizer, iter(()))

    def rows() -> Iterator[Row]:
        size, width = sizer.size, len(file.headings)
        problems, not_jobs = sized_list.problems, sized_list.not_jobs
        is_text = file.source.is_text
        beside = _marks_beside(file)
        units_row = file.reading.units_row
        units_at = None if units_row is None else file.heading_row + 1 + units_row
        struck = file.source.struck
        read = {column.at: name for name, column in file.reading.columns.items()}
        for number, cells in _without_blank_end(file):
            if number in struck and _is_crossed_out(cells, struck[number]):
                sized = not_a_job("crossed out in the sheet")
            elif number == units_at:
                sized = not_a_job("units")
            elif len(cells) > width and is_text and _overflows(cells, width):
                sized = SizedJob(problem=_shifted(len(cells), width))
            else:
                sized = size(cells, number)
                if number in struck and sized.is_job:
                    crossed = [(at, read[at]) for at in sorted(struck[number]) if at in read]
                    sized = _asked_about(cells, crossed) if crossed else sized
                if number in beside and sized.is_job and sized.problem is None:
                    sized = _with_marks(sized, beside[number])
            if sized.not_job:
                if cells:
                    not_jobs.append((number, sized.not_job))
            else:
                sized_list.jobs += 1
                if sized.problem is not None:
                    problems.append((number, reason_of(sized.problem)))
                elif sized.check:
                    sized_list.marked += 1
            if step is not None and number % 1000 == 0:
                step()
            yield number, cells, sized
        # Before the output takes its place, which may be this file's: Windows wants it closed.
        file.close()

    sized_list.rows = rows()
    return sized_list


def _without_blank_end(file: JobFile) -> Iterator[tuple[int, list[Any]]]:
    """(row number, cells) up to the last row that holds something.

    Worksheets often go on for a million formatted, empty rows.
    """
    gap = 0
    for number, cells in enumerate(file.rows(), file.heading_row + 1):
        if not any(cells) and all(is_blank(cell) for cell in cells):
            gap += 1
            continue
        if gap:
            if gap > _LONGEST_GAP:
                raise InputFileError(
                    f"{file.name}: row {number} is {gap} empty rows below the list; delete it "
                    "or the empty rows"
                )
            yield from ((empty, []) for empty in range(number - gap, number))
            gap = 0
        yield number, cells


def _marks_beside(file: JobFile) -> dict[int, list[str]]:
    """Row number -> what to look at that no cell's value says: merged rates, comments."""
    marks: dict[int, list[str]] = {}
    column = file.reading.columns.get("throughput")
    for first, last, at in file.source.shared:
        if column is not None and column.at == at and first > file.heading_row:
            text = f"one throughput for rows {first} to {last}: of each, or of all together?"
            for number in range(first, last + 1):
                marks.setdefault(number, []).append(text)
    read = {each.at: each.typed for each in file.reading.columns.values()}
    for number, comments in file.source.comments.items():
        for at, comment in sorted(comments.items()):
            if at in read and number > file.heading_row:
                text = f"{shown(read[at])} has a comment that is not read: {shown(comment, 60)}"
                marks.setdefault(number, []).append(text)
    return marks


def _is_crossed_out(cells: list[Any], struck: set[int]) -> bool:
    """Whether a line goes through all that a row holds."""
    return all(at in struck for at, cell in enumerate(cells) if not is_blank(cell))


def _asked_about(cells: list[Any], struck: list[tuple[int, str]]) -> SizedJob:
    """The answer for a row of which a part that is read is crossed out."""
    at, name = struck[0]
    cell = shown(str(cells[at]).removesuffix(".0"))
    problem = WrongKind(
        f"{cell} is crossed out in the sheet: does the job still count, and with which value?", name
    )
    return SizedJob(problem=problem, faults=((name, problem.reason),))


def _with_marks(sized: SizedJob, marks: list[str]) -> SizedJob:
    check = "; ".join(filter(None, [sized.check, *marks]))
    return sized._replace(check=check, beside_cells=(*sized.beside_cells, *marks))


def _overflows(cells: list[Any], width: int) -> bool:
    return any(not is_blank(cell) for cell in cells[width:])


def _shifted(cells: int, width: int) -> WrongKind:
    """A text line with too many cells: an unquoted separator has moved every later column."""
    return WrongKind(
        f"{cells} cells under {width} headings; a cell with a separator or a decimal comma in it "
        "needs quotes",
        "row",
    )
