"""Open a table that somebody made or pasted: .csv, .tsv, .xlsx or standard input.

Text files may be UTF-8 (with or without a byte order mark), UTF-16 with one, or Windows-1252,
and separated by tabs, semicolons or commas. The heading row is the first row that holds the
needed headings; rows above it (a title, a date) are kept as they are.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from typing import Any, TextIO

from ...cells.numbers_in_text import shown
from ...errors import CellError, InputFileError
from ..catalog import CATALOG_COLUMNS, CATALOG_WORDS, CatalogTable, read_catalog
from ..headings import known_headings
from ..job_rows import JOB_COLUMNS, OTHER_WORDS

__all__ = ["JobFile", "Table", "open_catalog", "open_jobs", "open_table"]

_HEADING_WITHIN = 30  # rows in which the heading row must be found
_MOST_COLUMNS = 16_384  # of a worksheet (ECMA-376)
_MOST_TYPED = 512 * 2**20  # bytes on standard input, which is held in memory
_LONGEST_LINE = 16 * 2**20  # bytes; a spreadsheet's longest row has 0.5 GB, no list has one
_SEPARATORS = "\t;,"
_END = "\0end of the file\0"  # put behind the last line: found inside a cell, the cell is open
_SAMPLED = 20_000  # characters that tell the separator
_SAMPLED_NUMBERS = 500_000  # characters that tell the decimal sign
# Groups of three digits behind a sign could be thousands, and say nothing.
_COMMA_NUMBER = re.compile(r"[+-]?[0-9]+,(?![0-9]{3}(?![0-9]))[0-9]+(?![.0-9])")
_POINT_NUMBER = re.compile(r"[+-]?[0-9]+\.(?![0-9]{3}(?![0-9]))[0-9]+(?![.,0-9])")

#: The columns to look for, each with its quantity, and other words for them.
Known = tuple[Mapping[str, str], Mapping[str, tuple[str, ...]]]
_JOBS: Known = (JOB_COLUMNS, OTHER_WORDS)
_CATALOG: Known = (CATALOG_COLUMNS, CATALOG_WORDS)


@dataclass
class Table:
    """Rows of raw cells that are read as they are needed.

    For a text file ``position()`` tells how many of its ``total`` bytes have been read, and
    ``decimal_comma`` whether its numbers have one.
    """

    name: str
    rows: Iterator[list[Any]]
    close: Callable[[], None]
    position: Callable[[], int] | None = None
    total: int = 0
    decimal_comma: bool = False

    @property
    def is_text(self) -> bool:
        """Whether cells were told apart by a separator, which a stray one can upset."""
        return self.position is not None


@dataclass
class JobFile:
    """An opened job list: the rows above the heading, the heading, and the rows below, unread."""

    name: str
    preamble: list[list[Any]]
    headings: list[Any]
    rows: Iterator[list[Any]]
    #: number of the heading row in the file, counted from 1
    heading_row: int
    table: Table

    def close(self) -> None:
        """Close the file."""
        self.table.close()


# --- text files ---------------------------------------------------------------------------


def _encoding(file: io.BufferedIOBase, name: str) -> str:
    """The encoding of a text file, found by reading it once; leaves the file at its start.

    Raises:
        InputFileError: a line that no list has, and that would have to be held in memory.
    """
    start = file.read(4)
    file.seek(0)
    found = "utf-8-sig"
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        found = "utf-16"
    elif b"\0" in start[:2]:  # the mark left out
        found = "utf-16-le" if start[1:2] == b"\0" else "utf-16-be"
    decoder = codecs.getincrementaldecoder("utf-8-sig")()
    line, block = 0, b"-"
    while block:
        block = file.read(1 << 20)
        if found == "utf-8-sig":
            try:
                decoder.decode(block, final=not block)
            except UnicodeDecodeError:
                found = "cp1252"  # what spreadsheets on Windows write when asked for plain CSV
        line = 0 if b"\n" in block or b"\r" in block else line + len(block)
        if line > _LONGEST_LINE:
            raise InputFileError(
                f"{name}: a line of more than {_LONGEST_LINE >> 20} MB; no job list has one"
            )
    file.seek(0)
    return found


def _sampled(sample: str, separator: str) -> Iterator[list[str]]:
    """The rows of the beginning of a text file, whatever its line ends are."""
    return csv.reader(io.StringIO(sample, newline=""), delimiter=separator)


def _separator(sample: str, known: Known) -> str:
    """The separator under which the sample shows the most known headings."""

    def hits(separator: str) -> tuple[int, int]:
        best = max((len(_found(row, known)) for row in _sampled(sample, separator)), default=0)
        return best, sample.count(separator)

    return max(_SEPARATORS, key=hits)


def _found(row: list[Any], known: Known) -> set[str]:
    return known_headings(row, *known)


def _has_decimal_comma(sample: str, separator: str) -> bool:
    """Whether numbers in a text file have a decimal comma, by what its cells look like.

    Semicolons are what spreadsheets write where the comma is the decimal sign; they count unless
    a number with a decimal point speaks against it.
    """
    try:
        cells = [cell.strip() for row in _sampled(sample, separator) for cell in row]
    except csv.Error:
        return False  # said, with its line, when the row is read
    if any(map(_COMMA_NUMBER.match, cells)):
        return True
    return separator == ";" and not any(map(_POINT_NUMBER.match, cells))


def _text_rows(text: TextIO, separator: str, name: str) -> Iterator[list[Any]]:
    """The rows of a text file; one in which a stray quotation mark hides others is refused."""
    reader = csv.reader(chain(text, (_END,)), delimiter=separator)
    line = columns = 0
    end = [_END]
    try:
        for row in reader:
            first, line = line + 1, reader.line_num
            if line > first:  # a cell of several lines
                if row[-1].endswith(_END):
                    raise InputFileError(
                        f"{name}, line {first}: a quotation mark is opened here and never closed"
                    )
                if _hides_rows(row, separator, columns):
                    raise InputFileError(
                        f"{name}: lines {first} to {line} are one row, because a "
                        "quotation mark stands at the start of a cell; take it out or double it"
                    )
            elif row == end:
                return
            columns = len(row)
            yield row
    except (csv.Error, UnicodeError) as problem:
        raise InputFileError(f"{name}, line {reader.line_num}: {problem}") from None


def _hides_rows(row: list[str], separator: str, columns: int) -> bool:
    """Whether a line inside a cell has as many separators as the row before had."""
    most = max(columns - 1, 2)
    return any(
        line.count(separator) >= most
        for cell in row
        if "\n" in cell or "\r" in cell
        for line in cell.splitlines()[1:]
    )


def _text_table(file: Any, name: str, size: int, known: Known) -> Table:
    encoding = _encoding(file, name)
    text = io.TextIOWrapper(file, encoding, errors="replace", newline="")
    sample = text.read(_SAMPLED_NUMBERS)
    top = sample[:_SAMPLED]
    separator = _separator(top[: top.rfind("\n") + 1] or top, known)
    decimal_comma = _has_decimal_comma(sample, separator)
    text.seek(0)
    rows = _text_rows(text, separator, name)
    return Table(name, rows, text.close, file.tell, size, decimal_comma)


# --- workbooks ----------------------------------------------------------------------------


def _workbook_table(path: Path, known: Known, needed: int) -> Table:
    import openpyxl

    from ...workbook.package import Package

    # openpyxl checks neither for a file that unpacks to gigabytes nor for entities.
    Package(path).refuse_document_types()
    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        sheets = [book.active, *(s for s in book.worksheets if s is not book.active)]
        sheets = [s for s in sheets if hasattr(s, "iter_rows")]
        for sheet in sheets:
            sheet.reset_dimensions()  # files by other programs may state them wrongly
            top = islice(sheet.iter_rows(values_only=True), _HEADING_WITHIN)
            if any(len(_found(list(row), known)) >= needed for row in top):
                break
        else:
            sheet = sheets[0]
    except Exception as problem:
        # openpyxl lets whatever went wrong inside a broken file escape as it is.
        raise InputFileError(
            f"{path} is not a readable .xlsx workbook ({_said(problem)})"
        ) from None
    return Table(f"{path}, sheet {sheet.title}", _sheet_rows(sheet, path), book.close, total=0)


def _sheet_rows(sheet: Any, path: Path) -> Iterator[list[Any]]:
    number = 0
    try:
        for row in sheet.iter_rows(values_only=True):
            number += 1
            yield list(row)
    except Exception as problem:
        raise InputFileError(
            f"{path}, sheet {sheet.title}: damaged below row {number} ({_said(problem)})"
        ) from None


def _said(problem: Exception) -> str:
    """What a library said of a damaged file, cut to a line."""
    return f"{type(problem).__name__}: {problem}"[:160]


# --- any table ----------------------------------------------------------------------------


def open_table(path: str, known: Known, needed: int = 1) -> Table:
    """Open a table by the ending of its name; ``-`` is standard input.

    Args:
        path: .csv, .tsv, .txt, .xlsx, .xlsm, or ``-``.
        known: the headings to look for, which decide the separator and the sheet.
        needed: how many of them a sheet must show.

    Raises:
        InputFileError: no such file, unknown ending, not readable.
    """
    if path == "-":
        data = sys.stdin.buffer.read(_MOST_TYPED + 1)
        if len(data) > _MOST_TYPED:
            raise InputFileError(
                f"standard input is larger than {_MOST_TYPED >> 20} MB; give the file's name"
            )
        if not data.strip():
            raise InputFileError("standard input is empty")
        return _text_table(io.BytesIO(data), "standard input", len(data), known)
    file = Path(path)
    ending = file.suffix.lower()
    if not file.is_file():
        what = "is a folder" if file.is_dir() else "is a device or a pipe" if file.exists() else ""
        raise InputFileError(f"{path} {what}, not a file" if what else f"there is no file {path}")
    if ending in (".xlsx", ".xlsm"):
        return _workbook_table(file, known, needed)
    if ending in (".csv", ".tsv", ".txt"):
        try:
            return _text_table(file.open("rb"), path, file.stat().st_size, known)
        except OSError as problem:
            raise InputFileError(f"cannot read {path}: {problem.strerror}") from None
    hint = "; save it as .xlsx first" if ending in (".xls", ".ods", ".xlsb") else ""
    raise InputFileError(f"{path}: the ending must be .csv, .tsv, .txt or .xlsx{hint}")


def open_jobs(path: str) -> JobFile:
    """Open a job list and find its heading row.

    Raises:
        InputFileError: as :func:`open_table`, or no heading row was found.
    """
    table = open_table(path, _JOBS, needed=2)
    top: list[list[Any]] = []
    best, best_at = 0, -1
    for row in islice(table.rows, _HEADING_WITHIN):
        if len(row) > _MOST_COLUMNS:
            raise InputFileError(f"{table.name}: row {len(top) + 1} has {len(row)} columns")
        top.append(row)
        count = len(_found(row, _JOBS))
        if count > best:
            best, best_at = count, len(top) - 1
    if best < 2:
        table.close()
        seen = next((row for row in top if any(row)), [])
        first = ", ".join(shown(cell, 24) for cell in seen[:8] if cell is not None)
        raise InputFileError(
            f"{table.name} has no heading row within its first {_HEADING_WITHIN} rows; "
            "needed are throughput, drying hours and virgin density"
            + (f"; the first row reads {first}" if first else "")
        )
    headings, below = top[best_at], top[best_at + 1 :]
    if not table.is_text:
        # Notes beside a worksheet's table keep columns of their own.
        headings = headings + [None] * (max(map(len, top)) - len(headings))
    rows = chain(below, table.rows)
    return JobFile(table.name, top[:best_at], headings, rows, best_at + 1, table)


def open_catalog(path: str | None, system: str) -> tuple[CatalogTable, str]:
    """Read a catalog file, or the invented demo catalog that comes with the package.

    Returns:
        The catalog and what to call it.

    Raises:
        InputFileError: the file cannot be read, or a size in it makes no sense.
    """
    if path is None:
        path = str(Path(__file__).parents[2] / "data" / "demo_catalog.csv")
        name = "the invented demo catalog"
    else:
        name = path
    table = open_table(path, _CATALOG)
    try:
        rows = [row for row in table.rows if any(cell not in (None, "") for cell in row)]
        sizes = {"size", "usable volume"}
        start = next((i for i, row in enumerate(rows) if sizes & _found(row, _CATALOG)), 0)
        return read_catalog(rows[start:], system, table.decimal_comma), name
    except CellError as problem:
        raise InputFileError(f"catalog {name}: {problem.reason}") from None
    finally:
        table.close()
