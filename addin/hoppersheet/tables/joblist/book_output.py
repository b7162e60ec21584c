"""Write a sized list as a workbook: the list with its results as a table with a filter, a summary,
how the list was read, and the problems.

A text cell stays text; cells keep the number format they came with. What a text file holds becomes
a number where it is read as one, or looks the same as one.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from ...errors import InputFileError
from ...workbook.addresses import COLUMNS, ROWS
from ...workbook.safe_xml import NOT_IN_XML
from ..job_cells import ClockTime, Percent, ShownWithUnit, plain_number
from ..job_columns import (
    RESULT_COLUMNS,
    result_headings,
    result_values,
)
from .receipt import receipt_head, receipt_rows
from .sizing import SizedList
from .summary import Summary, summary_rows
from .terminal import price_of
from .text_output import padded

__all__ = [
    "TableSheet",
    "as_it_looks",
    "check_size",
    "lay_out",
    "numeric_signs",
    "write_books",
    "write_reading",
]

_PRICE_AT = list(RESULT_COLUMNS).index("price")

_HEADING_FILL, _RESULT_FILL, _PROBLEM_FILL = "FFE3E9EF", "FFD5E3D8", "FFF6DDD9"
_MOST_WIDE = 46


_PLAIN = re.compile(r"(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{0,8}[1-9])?")


def as_it_looks(text: str) -> Any:
    """A text of a text file as the number that looks just like it, such as a quantity; else itself.

    A part number keeps its leading zeros, an item "1.10" its last one; "1.250" may be 1250.
    """
    if not _PLAIN.fullmatch(text) or re.fullmatch(r"[1-9][0-9]{0,2}\.[0-9]{3}", text):
        return text
    return float(text)


class TableSheet:
    """Appends rows to one worksheet; makes its cells."""

    def __init__(
        self,
        sheet: Any,
        numeric: dict[int, str],
        formats: dict[int, str],
        from_text: bool = False,
    ) -> None:
        from openpyxl.cell import WriteOnlyCell

        self.sheet, self.numeric, self.formats = sheet, numeric, formats
        self.from_text = from_text
        self._cell = WriteOnlyCell
        self._kept: dict[tuple[int, str], Any] = {}
        results = list(RESULT_COLUMNS.values())
        self._results = [(c, c.number_format != "General") for c in results]

    def text(self, value: str) -> Any:
        """A text cell: a leading ``=`` makes no formula, a control sign no broken file."""
        cell = self._cell(self.sheet, value=NOT_IN_XML.sub("\ufffd", value))
        if cell.data_type != "s":
            cell.data_type, cell.quotePrefix = "s", True
        return cell

    def plain(self, value: Any) -> Any:
        """Any value; only text that needs care becomes a cell object, for speed."""
        if isinstance(value, str) and (value[:1] in "=#" or not value.isprintable()):
            return self.text(value)
        return value

    def _formatted(self, at: int, value: Any, code: str) -> Any:
        """The same cell object every time: a streamed row is written at once."""
        cell = self._kept.get((at, code))
        if cell is None:
            cell = self._kept[at, code] = self._cell(self.sheet, value=0.0)
            cell.number_format = code
        cell.value = value
        if code:
            cell.number_format = code
        return cell

    def passed(self, cells: list[Any], width: int) -> list[Any]:
        """The cells of an input row. A number that came as text becomes a number in the columns
        that are read as numbers; in others where it looks the same (:func:`as_it_looks`).
        """
        row = []
        for at, cell in enumerate(padded(cells, width)):
            kind = type(cell)
            if kind is str:
                if at in self.numeric and cell:
                    number = plain_number(cell, self.numeric[at])
                    if number is not None and "%" in cell:
                        row.append(self._formatted(at, number / 100, "0.##%"))
                        continue
                    if number is not None and ":" not in cell and "/" not in cell:
                        row.append(number)
                        continue
                row.append(self.plain(as_it_looks(cell) if self.from_text else cell))
            elif kind is Percent:
                row.append(self._formatted(at, float(cell), self.formats.get(at, "0.##%")))
            elif kind is ShownWithUnit:
                row.append(self._formatted(at, cell.stored, cell.number_format))
            elif kind is ClockTime:
                row.append(self._formatted(at, float(cell), "[h]:mm"))
            elif kind is float and at in self.formats:
                row.append(self._formatted(at, cell, self.formats[at]))
            elif isinstance(cell, (datetime, timedelta)):
                row.append(cell)
            else:
                row.append(cell)
        return row

    def results(self, values: list[Any], offset: int) -> list[Any]:
        """A row's results with their number formats."""
        return [
            self._formatted(offset + at, value, column.number_format)
            if formatted and isinstance(value, float)
            else self.plain(value)
            for at, ((column, formatted), value) in enumerate(
                zip(self._results, values, strict=True)
            )
        ]

    def heading(self, value: Any, fill: str = _HEADING_FILL) -> Any:
        """A heading cell."""
        from openpyxl.styles import Alignment, Font, PatternFill

        cell = self.text("" if value is None else str(value))
        cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
        cell.fill = PatternFill("solid", fgColor=fill)
        return cell

    def bold(self, value: Any) -> Any:
        """A cell in bold."""
        from openpyxl.styles import Font

        cell = self.text(str(value))
        cell.font = Font(bold=True)
        return cell


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
            _write_list(sized, sheet, target, found, listed)
        _write_summary(summary, found, lists, catalog_name)
        write_reading(reading, lists)
        _write_problems(problems, listed, len(lists) > 1)
    except BaseException:
        # The half-written sheets would otherwise complain when Python throws them away.
        for sheet in book.worksheets:
            with contextlib.suppress(Exception):
                sheet.close()
        raise
    book.properties.creator = "hoppersheet"
    book.save(path)


def numeric_signs(sized: SizedList) -> dict[int, str]:
    """Index of each column of numbers -> its decimal sign."""
    return {c.at: c.sign for c in sized.sizer.columns.values() if c.quantity}


def _write_list(
    sized: SizedList,
    sheet: Any,
    target: str,
    found: Summary,
    listed: list[tuple[str, int, Any, str]],
) -> None:
    from openpyxl.utils import get_column_letter

    file, system = sized.file, sized.sizer.system
    cells = TableSheet(sheet, numeric_signs(sized), file.source.formats, file.source.is_text)
    results = result_headings(system)
    headings = [*file.headings, *results]
    top = len(file.preamble) + 1
    lay_out(sheet, headings, len(results), top)
    width = len(file.headings)
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
        sheet.append(cells.passed(row, width) + cells.results(values, width))
        name = row[job.at] if job is not None and job.at < len(row) else None
        found.add(number, name, row, answer, sized.sizer)
        if answer.problem is not None:
            listed.append((file.source.sheet, number, name, values[-1]))
    letter = get_column_letter(len(headings))
    if last > top:
        sheet.auto_filter.ref = f"A{top}:{letter}{last}"
        _mark_problems(sheet, top + 1, last, len(headings))


def _write_summary(sheet: Any, found: Summary, lists: Sequence[SizedList], catalog: str) -> None:
    cells = TableSheet(sheet, {}, {})
    for letter, width in zip("ABCDEFG", (34, 16, 16, 18, 18, 18, 40), strict=True):
        sheet.column_dimensions[letter].width = width
    for kind, row in summary_rows(found, lists, catalog):
        make: Callable[[Any], Any] = {"head": cells.heading, "title": cells.bold}.get(
            kind, cells.plain
        )
        sheet.append([make(value) if value is not None else None for value in row])


def write_reading(sheet: Any, lists: Sequence[SizedList]) -> None:
    """How each list was read, as the terminal says it."""
    cells = TableSheet(sheet, {}, {})
    for letter, width in zip("ABC", (18, 50, 70), strict=True):
        sheet.column_dimensions[letter].width = width
    for sized in lists:
        sheet.append([cells.bold(receipt_head(sized))])
        sheet.append([cells.heading(text) for text in ("column", "heading in the list", "read as")])
        for row in receipt_rows(sized):
            sheet.append([cells.plain(text) for text in row])
        sheet.append([])


def _write_problems(sheet: Any, listed: Sequence[tuple[str, int, Any, str]], several: bool) -> None:
    cells = TableSheet(sheet, {}, {})
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
