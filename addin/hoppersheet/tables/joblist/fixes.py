"""The fix list: rows with a problem as questions to their writer.

One line per question: the row and job in the customer's words, the heading, what the cell says,
the question, and a blank to fill in (:mod:`.answers` reads it back).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...cells.quantities import QUANTITIES
from ...cells.values import is_blank
from ...files import replacing
from ..job_cells import ClockTime, Percent, ShownWithUnit
from ..job_columns import JOB_COLUMNS, job_name
from .answers import HEADINGS
from .sizing import Row, SizedList
from .table_sheet import TableSheet

__all__ = ["write_fixes"]

_WIDTHS = (14, 7, 26, 26, 22, 80, 18, 18)
_ANSWER_FILL = "FFFFF6CC"
_TITLE = "Questions about the job list: please fill in the answer column and send this file back."
_NO_CELL = "nothing to fill in here: change the catalog or the job"


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
    cells = TableSheet(sheet)
    for letter, width in zip("ABCDEFGH", _WIDTHS, strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A3"
    sheet.append([cells.bold(_TITLE)])
    sheet.append([cells.heading(name) for name in HEADINGS])
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
    called = job_name(cells[name.at]) if name is not None and name.at < len(cells) else ""
    for argument, reason in job.faults:
        column = argument if argument in JOB_COLUMNS or argument in columns else ""
        at = columns.get(column)
        heading = at.typed if at is not None else column
        says = cells[at.at] if at is not None and at.at < len(cells) else ""
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
    if isinstance(cell, ShownWithUnit):
        return cell.text
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
