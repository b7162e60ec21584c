"""Write a sized list as a workbook: the list with its results as a table with a filter, a summary,
how the list was read, and the problems.

The sheets are made with openpyxl; the rows of the table are written by :mod:`.table_rows`.
"""

from __future__ import annotations

import contextlib
import io
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from ...errors import InputFileError
from ...workbook.addresses import COLUMNS, ROWS
from ...workbook.row_writer import with_rows
from ..job_columns import (
    RESULT_COLUMNS,
    result_headings,
    result_values,
)
from .receipt import receipt_head, receipt_rows
from .sizing import SizedList
from .summary import Summary, summary_rows
from .table_rows import TableRows
from .table_sheet import TableSheet
from .terminal import price_of

__all__ = [
    "check_size",
    "lay_out",
    "write_books",
    "write_reading",
]

_PRICE_AT = list(RESULT_COLUMNS).index("price")

_RESULT_FILL, _PROBLEM_FILL = "FFD5E3D8", "FFF6DDD9"
_MOST_WIDE = 46


def lay_out(sheet: Any, headings: Sequence[Any], results: int, heading_row: int) -> None:
    """Widths of the columns, the headings kept in view, and pages as wide as the table."""
    from openpyxl.utils import get_column_letter

    sheet.freeze_panes = f"A{heading_row + 1}"
    sheet.page_setup.orientation = "landscape"
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_setup.fitToHeight = 0  # as many pages down as it takes
    sheet.print_title_rows = f"{heading_row}:{heading_row}"
    widths = {c.name: c.width for c in RESULT_COLUMNS.values()}
    for at, heading in enumerate(headings, 1):
        text = str(heading or "")
        own = widths.get(text.partition(" [")[0]) if at > len(headings) - results else None
        longest = max((len(word) for word in text.split()), default=0)
        width = own or max(10, min(longest + 4, len(text) + 2))
        sheet.column_dimensions[get_column_letter(at)].width = min(width, _MOST_WIDE)


def _mark_problems(sheet: Any, top: int, last: int, columns: int) -> None:
    """Rows with a problem stand out, and say so in words in their column."""
    from openpyxl.formatting.rule import Rule
    from openpyxl.styles import PatternFill
    from openpyxl.styles.differential import DifferentialStyle
    from openpyxl.utils import get_column_letter

    letter = get_column_letter(columns)
    style = DifferentialStyle(fill=PatternFill(bgColor=_PROBLEM_FILL))
    rule = Rule(type="expression", dxf=style, formula=[f"LEN(${letter}{top})>0"])
    sheet.conditional_formatting.add(f"A{top}:{letter}{last}", rule)


def check_size(sized: SizedList, path: Path, extra: int) -> None:
    """Refuse a list that with its results, and ``extra`` columns, is wider than a worksheet."""
    columns = len(sized.file.headings) + len(RESULT_COLUMNS) + extra
    if columns > COLUMNS:
        raise InputFileError(
            f"{path}: {columns} columns with the results are more than a worksheet's {COLUMNS}"
        )


def _sheet_name(sized: SizedList, several: bool, taken: set[str]) -> str:
    name = "Sized jobs"
    if several:
        name = re.sub(r"[\[\]:*?/\\]", " ", sized.file.source.sheet)[:31] or name
    while name in taken:
        name = name[:28] + f" {len(taken)}"
    taken.add(name)
    return name


def write_books(lists: Sequence[SizedList], path: Path, target: str, catalog_name: str) -> None:
    """Write ``path``, an .xlsx; reads the rows of each list through.

    Args:
        lists: one list; several of one workbook each get a sheet.
        path: the file to write.
        target: what the user calls it, for messages.
        catalog_name: what to call the catalog.

    Raises:
        InputFileError: more columns or rows than a worksheet has.
    """
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    tables: list[TableRows] = []
    taken: set[str] = {"Summary", "Reading", "Problems"}
    sheets = []
    try:
        for sized in lists:
            check_size(sized, Path(target), 0)
            sheets.append(book.create_sheet(_sheet_name(sized, len(lists) > 1, taken)))
        summary, reading, problems = (
            book.create_sheet(name) for name in ("Summary", "Reading", "Problems")
        )
        found = Summary(lists[0].sizer.catalog)
        listed: list[tuple[str, int, Any, str]] = []
        for sized, sheet in zip(lists, sheets, strict=True):
            table = TableRows(TableSheet(sheet), sized, len(sized.file.preamble) + 2)
            tables.append(table)
            _write_list(sized, sheet, table, target, found, listed)
        _write_summary(summary, found, lists, catalog_name)
        write_reading(reading, lists)
        _write_problems(problems, listed, len(lists) > 1)
        book.properties.creator = "hoppersheet"
        short = io.BytesIO()
        book.save(short)
        # Saving names the parts of the sheets.
        parts = [sheet.path.lstrip("/") for sheet in sheets]
        rows = [table.written for table in tables]
        with_rows(short, path, dict(zip(parts, rows, strict=True)))
    except BaseException:
        # The half-written sheets would otherwise complain when Python throws them away.
        for sheet in book.worksheets:
            with contextlib.suppress(Exception):
                sheet.close()
        raise
    finally:
        for table in tables:
            table.written.close()


def _write_list(
    sized: SizedList,
    sheet: Any,
    table: TableRows,
    target: str,
    found: Summary,
    listed: list[tuple[str, int, Any, str]],
) -> None:
    from openpyxl.utils import get_column_letter

    file, system = sized.file, sized.sizer.system
    cells = TableSheet(sheet)
    results = result_headings(system)
    headings = [*file.headings, *results]
    top = len(file.preamble) + 1
    lay_out(sheet, headings, len(results), top)
    job = sized.sizer.columns.get("job")
    for row in file.preamble:
        sheet.append([cells.plain(cell) for cell in row])
    sheet.append(
        [cells.heading(h) for h in file.headings]
        + [cells.heading(h, _RESULT_FILL) for h in results]
    )
    last = top
    for number, row, answer in sized.rows:
        last += 1
        if last > ROWS:
            raise InputFileError(
                f"{target}: the list is longer than a worksheet, which has {ROWS} rows; use .csv"
            )
        values = result_values(answer, system)
        price = price_of(values[_PRICE_AT])
        if price is not None:  # a catalog of text holds its prices as text, which sums to nothing
            values[_PRICE_AT] = price
        table.append(row, values)
        name = row[job.at] if job is not None and job.at < len(row) else None
        found.add(number, name, row, answer, sized.sizer)
        if answer.problem is not None:
            listed.append((file.source.sheet, number, name, values[-1]))
    letter = get_column_letter(len(headings))
    if last > top:
        sheet.auto_filter.ref = f"A{top}:{letter}{last}"
        _mark_problems(sheet, top + 1, last, len(headings))


def _write_summary(sheet: Any, found: Summary, lists: Sequence[SizedList], catalog: str) -> None:
    cells = TableSheet(sheet)
    for letter, width in zip("ABCDEFG", (34, 16, 16, 18, 18, 18, 40), strict=True):
        sheet.column_dimensions[letter].width = width
    for kind, row in summary_rows(found, lists, catalog):
        make: Callable[[Any], Any] = {"head": cells.heading, "title": cells.bold}.get(
            kind, cells.plain
        )
        sheet.append([make(value) if value is not None else None for value in row])


def write_reading(sheet: Any, lists: Sequence[SizedList]) -> None:
    """How each list was read, as the terminal says it."""
    cells = TableSheet(sheet)
    for letter, width in zip("ABC", (18, 50, 70), strict=True):
        sheet.column_dimensions[letter].width = width
    for sized in lists:
        sheet.append([cells.bold(receipt_head(sized))])
        sheet.append([cells.heading(text) for text in ("column", "heading in the list", "read as")])
        for row in receipt_rows(sized):
            sheet.append([cells.plain(text) for text in row])
        sheet.append([])


def _write_problems(sheet: Any, listed: Sequence[tuple[str, int, Any, str]], several: bool) -> None:
    cells = TableSheet(sheet)
    names = (*(("sheet",) if several else ()), "row", "job", "problem")
    widths = (*((18,) if several else ()), 8, 30, 110)
    for letter, width in zip("ABCD", widths, strict=False):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A2"
    sheet.append([cells.heading(name) for name in names])
    for where, number, name, reason in listed:
        row = (*((where,) if several else ()), number, cells.plain(name), cells.plain(reason))
        sheet.append(list(row))
    if not listed:
        sheet.append([None, None, "none: every row with a job has a size"])
