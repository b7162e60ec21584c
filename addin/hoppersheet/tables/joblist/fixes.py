"""The fix list: rows with a problem as questions to their writer, and the answers read back.

One line per question: the row and job in the customer's words, the heading, what the cell says,
the question, and a blank to fill in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ...cells.quantities import QUANTITIES
from ...cells.values import is_blank
from ...errors import InputFileError
from ...files import replacing
from ..job_cells import ClockTime, Percent
from ..job_columns import JOB_COLUMNS, job_name
from .book_output import TableSheet
from .sizing import Row, SizedList

__all__ = ["Answers", "read_answers", "write_fixes"]

_HEADINGS = ("sheet", "row", "job", "heading", "the list says", "question", "answer", "column")
_WIDTHS = (14, 7, 26, 26, 22, 80, 18, 18)
_ANSWER_FILL = "FFFFF6CC"
_TITLE = "Questions about the job list: please fill in the column answer, and send this file back."
_NO_CELL = "nothing to fill in: a change of the catalog or of the job answers it"


def write_fixes(path: str, lists: Sequence[SizedList], broken: Sequence[Sequence[Row]]) -> int:
    """Write the questions of the rows that have a problem.

    Args:
        path: an .xlsx.
        lists: the lists.
        broken: of each list the rows with a problem.

    Returns:
        How many questions there are.
    """
    from openpyxl import Workbook
    from openpyxl.styles import PatternFill

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Questions")
    cells = TableSheet(sheet, {}, {})
    for letter, width in zip("ABCDEFGH", _WIDTHS, strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A3"
    sheet.append([cells.bold(_TITLE)])
    sheet.append([cells.heading(name) for name in _HEADINGS])
    fill = PatternFill("solid", fgColor=_ANSWER_FILL)
    count = 0
    for sized, rows in zip(lists, broken, strict=True):
        for row in rows:
            for line, column in _questions(sized, row):
                answer = cells.text("" if column else _NO_CELL)
                answer.fill = fill
                sheet.append([*map(cells.plain, line), answer, column])
                count += bool(column)
    with replacing(path) as temporary:
        book.save(temporary)
    return count


def _questions(sized: SizedList, row: Row) -> Iterator[tuple[list[Any], str]]:
    """(cells before the answer, our column; "" where no cell can answer) of one row."""
    number, cells, job = row
    columns = sized.sizer.columns
    name = columns.get("job")
    called = job_name(cells[name.place]) if name is not None and name.place < len(cells) else ""
    for argument, reason in job.faults:
        column = argument if argument in JOB_COLUMNS or argument in columns else ""
        at = columns.get(column)
        heading = at.typed if at is not None else column
        says = cells[at.place] if at is not None and at.place < len(cells) else ""
        yield (
            [
                sized.file.source.sheet,
                number,
                called,
                heading,
                _shown(says),
                _asked(sized, column, reason),
            ],
            column,
        )


def _shown(cell: Any) -> Any:
    if isinstance(cell, Percent):
        return f"{cell * 100:.13g} %"
    if isinstance(cell, ClockTime):
        return f"{cell * 24:.6g} h"
    return "" if is_blank(cell) else cell if isinstance(cell, (int, float)) else str(cell)


def _asked(sized: SizedList, column: str, reason: str) -> str:
    """The reason as a question, with the unit in which a plain number is taken."""
    at = sized.sizer.columns.get(column)
    quantity = JOB_COLUMNS.get(column, "")
    unit = (
        at.unit
        if at is not None
        else QUANTITIES[quantity].unit(sized.sizer.system)
        if quantity
        else ""
    )
    if quantity == "share":
        return f"{reason}. Which share, in percent (such as 30 %)?"
    if not unit or unit == "1":
        return f"{reason}. What is right?"
    return f"{reason}. What is right, in {unit}?"


@dataclass
class Answers:
    """What a filled list of questions says.

    Attributes:
        cells: (sheet, row) -> our column -> the answer.
        blank: how many questions were left open.
    """

    cells: dict[tuple[str, int], dict[str, Any]] = field(default_factory=dict)
    blank: int = 0

    def columns(self, sheet: str) -> list[str]:
        """Our columns that have an answer, in their order."""
        found = {name for (where, _), row in self.cells.items() if where == sheet for name in row}
        return [name for name in JOB_COLUMNS if name in found] + sorted(found - set(JOB_COLUMNS))


def read_answers(path: str) -> Answers:
    """Read a filled list of questions.

    Raises:
        InputFileError: it is no such list.
    """
    from ...workbook.package import Package
    from ...workbook.sheet_rows import ShownAs, sheet_rows

    if not Path(path).is_file():
        raise InputFileError(f"there is no file {path}")
    package = Package(path)
    package.refuse_document_types()
    found = sheet_rows(package, package.sheets[0].name, ShownAs(Percent, ClockTime))
    rows = iter(found.rows)
    for row in rows:
        if [str(cell or "") for cell in row[: len(_HEADINGS)]] == list(_HEADINGS):
            break
    else:
        raise InputFileError(
            f"{path} is no list of questions that --fixes wrote: the headings "
            f"{', '.join(_HEADINGS)} are missing"
        )
    answers = Answers()
    for row in rows:
        sheet, number, *_, answer, column = [*row, *[None] * len(_HEADINGS)][: len(_HEADINGS)]
        if not isinstance(number, float) or is_blank(column):
            continue
        if is_blank(answer):
            answers.blank += 1
            continue
        answers.cells.setdefault((str(sheet or ""), int(number)), {})[str(column)] = answer
    return answers
