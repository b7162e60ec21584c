"""Write a sized job list: every column of the input as it was, then the result columns.

A spreadsheet runs text that looks like a formula. What was text in the input is therefore
written as text: in .xlsx by the cell's type, in .csv and .tsv with a leading apostrophe (the
sign for text in a spreadsheet), unless it is a number.
"""

from __future__ import annotations

import contextlib
import csv
import re
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, TextIO

from ...cells.quantities import QUANTITIES
from ...cells.units import HOME_FACTORS
from ...cells.wording import in_system
from ...errors import InputFileError
from ...files import replacing
from ...workbook.addresses import COLUMNS, ROWS
from ..job_rows import JOB_COLUMNS, RESULT_COLUMNS, SizedJob, reason_of
from ..jobs import result_headings
from .reading import JobFile
from .sizing import Row, SizedList

__all__ = ["OUTPUT_ENDINGS", "check_out", "write_list"]

OUTPUT_ENDINGS = (".csv", ".tsv", ".xlsx")
_QUANTITIES = [quantity for quantity in RESULT_COLUMNS.values() if quantity]
_PLAIN_NUMBER = re.compile(r"[+-]?[0-9]{1,15}(?:\.[0-9]{1,15})?")
_NUMBER_FORMATS = {"bulk density": "0.00", "volume": "#,##0.0", "residence time": "0.0"}


def check_out(
    path: str, jobs: str | None = None, catalog: str | None = None, formulas: bool = False
) -> None:
    """Refuse an ``--out`` that cannot be written, before any work is done.

    Args:
        path: what is to be written.
        jobs: the list that is read; a customer's workbook would lose its other sheets and its
            looks, a text file its separator and encoding, so it is never written over.
        catalog: the catalog that is read, never written over either.
        formulas: whether live formulas are wanted.

    Raises:
        InputFileError: unknown ending, the list or the catalog itself, or formulas in a text file.
    """
    for what, read in (("list", jobs), ("catalog", catalog)):
        if read and read != "-" and Path(path).resolve() == Path(read).resolve():
            raise InputFileError(f"--out {path} is the {what} itself; choose another name")
    ending = Path(path).suffix.lower()
    if ending not in OUTPUT_ENDINGS:
        raise InputFileError(f"--out {path}: the ending must be {', '.join(OUTPUT_ENDINGS)}")
    if formulas and ending != ".xlsx":
        raise InputFileError(f"--formulas needs --out with the ending .xlsx, not {path}")


def write_list(
    sized: SizedList, file: JobFile, path: str, system: str, formulas: bool = False
) -> None:
    """Write ``path`` by its ending; reads ``sized.rows`` through.

    Args:
        sized: the rows and their answers.
        file: the opened job list.
        path: .csv, .tsv or .xlsx.
        system: unit system of the result columns.
        formulas: write the results as one live HOPPER_SIZE_JOBS formula over a catalog sheet.

    Raises:
        InputFileError: as :func:`check_out`, or the file cannot be written; nothing is left half
            done.
    """
    check_out(path, formulas=formulas)
    if Path(path).suffix.lower() == ".xlsx":
        columns = len(file.headings) + len(RESULT_COLUMNS) + formulas  # formulas: the jobs' names
        if columns > COLUMNS:
            raise InputFileError(
                f"{path}: {columns} columns with the results are more than a worksheet's {COLUMNS}"
            )
        sized.rows = _within_a_worksheet(sized.rows, path, len(file.preamble) + 1)
    with replacing(path) as temporary:
        if formulas:
            _write_formulas(sized, file, temporary, system)
        elif temporary.suffix.lower() == ".xlsx":
            _write_workbook(sized, file, temporary, system)
        else:
            _write_text(sized, file, temporary, system)


def _within_a_worksheet(rows: Iterator[Row], path: str, above: int) -> Iterator[Row]:
    """The rows, as many as fit below those ``above``."""
    for at, row in enumerate(rows, above + 1):
        if at > ROWS:
            raise InputFileError(
                f"{path}: the list is longer than a worksheet, which has {ROWS} rows; use .csv"
            )
        yield row


def _results(sized: SizedJob, system: str) -> list[Any]:
    """The result columns of one row as values; None where there is no answer."""
    values: tuple[Any, ...] = sized[: len(_QUANTITIES)]
    numbers = [
        None if value is None else in_system(value, quantity, system)
        for value, quantity in zip(values, _QUANTITIES, strict=True)
    ]
    problem = None if sized.problem is None else reason_of(sized.problem)
    return [*numbers, sized.model or None, sized.assumed or None, problem]


# --- text ---------------------------------------------------------------------------------

# How text begins that a spreadsheet runs; the wide forms count where Japanese is set. A program
# with a decimal comma cuts our lines at ";" and at line ends in cells, one that is pasted into
# also at tabs, so texts begin there too.
_RUNS = r"[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]"
_BEGINS_TO_RUN = re.compile(rf"""\0[ "]*{_RUNS}""")  # in a row whose cells each follow a \0
_RUN_AT = re.compile(rf"""(^|[;\t\r\n])(?=[ "]*{_RUNS})""")


def _as_text(cell: Any) -> Any:
    """A cell for a text file; text that a spreadsheet would run gets a leading apostrophe."""
    if isinstance(cell, str):
        if _RUN_AT.search(cell) and not _PLAIN_NUMBER.fullmatch(cell):
            return _RUN_AT.sub(r"\1'", cell)
        return cell
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return int(cell)
    if isinstance(cell, datetime):
        return cell.isoformat(" ").removesuffix(" 00:00:00")
    if isinstance(cell, timedelta):
        return cell / timedelta(days=1)
    return cell


def _as_texts(cells: list[Any], from_text: bool) -> list[Any]:
    """A row for a text file. Looking through a row of texts at once saves most of the time."""
    if from_text:
        row = "\0" + "\0".join(cells)
        if not (_BEGINS_TO_RUN.search(row) or any(sign in row for sign in ";\t\r\n")):
            return cells
    return [_as_text(cell) for cell in cells]


def _row_writer(out: TextIO, separator: str) -> Callable[[list[str]], object]:
    """A function that writes a row of several texts just as the csv module does.

    Most rows hold nothing that needs quotes; joining them takes a third of the module's time.
    """
    write, quoted = out.write, csv.writer(out, delimiter=separator).writerow

    def write_row(cells: list[str]) -> object:
        row = separator.join(cells)
        if row.count(separator) >= len(cells) or '"' in row or "\n" in row or "\r" in row:
            return quoted(cells)
        return write(row + "\r\n")

    return write_row


def _write_text(sized: SizedList, file: JobFile, path: Path, system: str) -> None:
    separator = "\t" if path.suffix.lower() == ".tsv" else ","
    width, from_text = len(file.headings), file.table.is_text
    blank: Any = "" if from_text else None
    results = _TextResults(system)
    with path.open("w", encoding="utf-8", newline="") as out:
        out.write("\ufeff")  # tells spreadsheets that the file is UTF-8
        quoted = csv.writer(out, delimiter=separator).writerow
        for row in file.preamble:
            quoted(_as_texts(row, from_text))
        quoted([*_as_texts(file.headings, from_text), *result_headings(system)])
        write = _row_writer(out, separator) if from_text else quoted
        for _number, cells, answer in sized.rows:
            if len(cells) != width:
                cells = _padded(cells, width, blank)
            write(_as_texts(cells, from_text) + results.of(answer))


class _Texts(dict[Any, str]):
    """Texts that repeat, each made once."""

    def __init__(self, text_of: Callable[[Any], str]) -> None:
        self._text_of = text_of

    def __missing__(self, value: Any) -> str:
        text = self[value] = self._text_of(value)
        return text


class _TextResults:
    """The result columns of a text file; sizes and models repeat and are worded once."""

    def __init__(self, system: str) -> None:
        units = (HOME_FACTORS[QUANTITIES[q].unit(system)][0] for q in _QUANTITIES)
        self._per_density, self._per_volume, per_size, self._per_hour, _, _ = units
        self._sizes = _Texts(lambda size: "" if size is None else f"{size / per_size:.15g}")
        self._models = _Texts(_as_text)

    def of(self, sized: SizedJob) -> list[str]:
        """Nine cells, with the 15 digits that a spreadsheet keeps."""
        density, volume, below, below_hours, size, hours, model, assumed, problem = sized
        reason = "" if problem is None else str(_as_text(reason_of(problem)))
        if density is None or volume is None:
            return ["", "", "", "", "", "", "", assumed, reason]
        return [
            f"{density / self._per_density:.15g}",
            f"{volume / self._per_volume:.15g}",
            self._sizes[below],
            "" if below_hours is None else f"{below_hours / self._per_hour:.15g}",
            self._sizes[size],
            "" if hours is None else f"{hours / self._per_hour:.15g}",
            self._models[model],
            assumed,
            reason,
        ]


def _padded(cells: list[Any], width: int, blank: Any = None) -> list[Any]:
    """The row made as wide as the headings; cells beyond the last heading are kept in it."""
    if len(cells) == width:
        return cells
    if len(cells) < width:
        return [*cells, *[blank] * (width - len(cells))]
    extra = " ".join(str(cell) for cell in cells[width:] if cell not in (None, ""))
    if not extra:
        return cells[:width]
    last = cells[width - 1]
    return [*cells[: width - 1], f"{'' if last is None else last} {extra}".strip()]


# --- workbook -----------------------------------------------------------------------------


#: What XML 1.0 allows in no form (its production 2, Char); a file with it would not open.
_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


class _Cells:
    """Makes the cells of one worksheet; text stays text whatever it looks like."""

    def __init__(self, sheet: Any, numeric: set[int]) -> None:
        self.sheet, self.numeric = sheet, numeric

    def text(self, value: str, bold: bool = False) -> Any:
        """A text cell: a leading ``=`` makes no formula, a control sign no broken file."""
        from openpyxl.cell import WriteOnlyCell
        from openpyxl.styles import Alignment, Font

        cell = WriteOnlyCell(self.sheet, value=_NOT_IN_XML.sub("\ufffd", value))
        if cell.data_type != "s":
            cell.data_type, cell.quotePrefix = "s", True
        if bold:
            cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
        return cell

    def plain(self, value: Any) -> Any:
        """Any value; only text that needs care becomes a cell object, for speed."""
        if isinstance(value, str) and (value[:1] in "=#" or not value.isprintable()):
            return self.text(value)
        return value

    def results(self) -> Callable[[list[Any]], list[Any]]:
        """A function that gives a row's results their number formats.

        It returns the same cell objects every time: a streamed row is written at once, and
        making a formatted cell is what costs most.
        """
        from openpyxl.cell import WriteOnlyCell

        cells = []
        for quantity in _QUANTITIES:
            cell = WriteOnlyCell(self.sheet, value=0.0)
            cell.number_format = _NUMBER_FORMATS[quantity]
            cells.append(cell)

        def fill(values: list[Any]) -> list[Any]:
            numbers: list[Any] = []
            for cell, value in zip(cells, values, strict=False):  # the texts come after
                if value is not None:
                    cell.value = value
                numbers.append(None if value is None else cell)
            return numbers + [self.plain(value) for value in values[len(cells) :]]

        return fill

    def passed(self, cells: list[Any], width: int) -> list[Any]:
        """The cells of an input row. A number that came as text from a .csv becomes a number;
        other columns may hold part numbers, whose leading zeros must stay.
        """
        return [
            self.number(cell) if at in self.numeric else self.plain(cell)
            for at, cell in enumerate(_padded(cells, width))
        ]

    def number(self, cell: Any) -> Any:
        """The number that a text is, where it is one."""
        if isinstance(cell, str) and _PLAIN_NUMBER.fullmatch(cell):
            return float(cell)
        return self.plain(cell)

    def heading(self, value: Any) -> Any:
        """A heading cell."""
        return value if value is None else self.text(str(value), bold=True)


def _cells_for(sheet: Any, sized: SizedList) -> _Cells:
    numeric = {h.place for name, h in sized.sizer.columns.items() if JOB_COLUMNS[name]}
    return _Cells(sheet, numeric)


def _lay_out(sheet: Any, headings: list[Any], heading_row: int) -> None:
    """Widths of the columns, the headings kept in view, and pages as wide as the table."""
    from openpyxl.utils import get_column_letter

    sheet.freeze_panes = f"A{heading_row + 1}"
    sheet.page_setup.orientation = "landscape"
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_setup.fitToHeight = 0  # as many pages down as it takes
    sheet.print_title_rows = f"{heading_row}:{heading_row}"
    for at, heading in enumerate(headings, 1):
        widest = 44 if heading in ("assumed", "problem") else len(str(heading or "")) + 2
        sheet.column_dimensions[get_column_letter(at)].width = min(max(widest, 10), 44)


def _write_workbook(sized: SizedList, file: JobFile, path: Path, system: str) -> None:
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Sized jobs")
    cells = _cells_for(sheet, sized)
    headings = [*file.headings, *result_headings(system)]
    _lay_out(sheet, headings, len(file.preamble) + 1)
    fill, width = cells.results(), len(file.headings)
    try:
        for row in file.preamble:
            sheet.append([cells.plain(cell) for cell in row])
        sheet.append([cells.heading(heading) for heading in headings])
        for _number, row, answer in sized.rows:
            sheet.append(cells.passed(row, width) + fill(_results(answer, system)))
    except BaseException:
        # The half-written sheet would otherwise complain when Python throws it away.
        with contextlib.suppress(Exception):
            sheet.close()
        raise
    book.save(path)


def _write_formulas(sized: SizedList, file: JobFile, path: Path, system: str) -> None:
    """The list with one live formula beside it; its block begins with the jobs' names."""
    from openpyxl import Workbook
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.formula import ArrayFormula

    book = Workbook()
    sheet, catalog = book.active, book.create_sheet("Catalog")
    cells = _cells_for(sheet, sized)
    sheet.title = "Sized jobs"
    width, top = len(file.headings), len(file.preamble) + 1
    for row in file.preamble:
        sheet.append([cells.plain(cell) for cell in row])
    sheet.append([cells.heading(heading) for heading in file.headings])
    last = top
    for _number, row, _answer in sized.rows:
        sheet.append(cells.passed(row, width))
        last += 1
    catalog.append([f"size [{QUANTITIES['volume'].unit(system)}]", "model", "price"])
    sizes = sized.sizer.catalog.sizes
    for size in sizes:
        price = cells.number(size.price)
        catalog.append([in_system(size.volume, "volume", system), cells.plain(size.model), price])
    jobs = f"$A${top}:${get_column_letter(width)}${last}"
    formula = f'=HOPPER_SIZE_JOBS({jobs},Catalog!$A$1:$C${len(sizes) + 1},,"{system}")'
    results = ["job", *result_headings(system)]
    first, final = get_column_letter(width + 1), get_column_letter(width + len(results))
    sheet[f"{first}{top}"] = ArrayFormula(f"{first}{top}:{final}{last}", formula)
    _lay_out(sheet, [*file.headings, *results], top)
    book.save(path)
