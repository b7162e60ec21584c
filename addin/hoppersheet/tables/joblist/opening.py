"""Open a job list of any kind, and decide how it is read."""

from __future__ import annotations

import re
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...cells.numbers_in_text import shown
from ...errors import CellError, InputFileError, WrongKind
from ..catalog import (
    CATALOG_COLUMNS,
    CATALOG_WORDS,
    CatalogTable,
    catalog_unit,
    read_catalog,
    usable_share,
)
from ..headings import known_headings
from ..job_cells import Answer, ClockTime, Percent, ShownWithUnit, plain_number
from ..job_columns import AS_LISTED, NOT_STATED, Question
from ..jobreading.heading_rows import HEADING_WITHIN, find_headings, known_columns
from ..jobreading.list_reader import ListReader
from ..jobreading.reading import Reading
from .sources import Source
from .text_files import Hits, text_source
from .workbooks import workbook_sources

if TYPE_CHECKING:
    from .answers import Answers

__all__ = [
    "BOOK_ENDINGS",
    "TEXT_ENDINGS",
    "JobFile",
    "Stated",
    "check_file",
    "open_catalog",
    "open_jobs",
]

_MOST_COLUMNS = 16_384  # of a worksheet (ECMA-376)
_MOST_TYPED = 4 * 2**30  # bytes on standard input, which is kept in a temporary file
# How files begin: a zip package (APPNOTE 4.3.7), a compound file ([MS-CFB] 2.2), UTF-8's mark.
_ZIP, _OLE, _UTF8 = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", b"\xef\xbb\xbf"
_SHORTEST = 16  # bytes that tell text from a damaged workbook
_TYPED = {9, 10, 13, *range(32, 127), *range(128, 256)}  # bytes of text
TEXT_ENDINGS = (".csv", ".tsv", ".txt")
BOOK_ENDINGS = (".xlsx", ".xlsm", ".xls", ".xlsb", ".ods")


@dataclass
class Stated:
    """What the user states about a list.

    Attributes:
        units: "US", "metric", or AS_LISTED where nobody said.
        columns: our column -> the heading that is it.
        ignore: headings that may pass unread.
        sheet: name of the sheet, "all", or None.
        basis: share basis of rows that state none.
        notes: what the receipt says of where columns and ignore come from.
    """

    units: str = AS_LISTED
    columns: Mapping[str, str] = field(default_factory=dict)
    ignore: tuple[str, ...] = ()
    sheet: str | None = None
    basis: str = NOT_STATED
    notes: tuple[str, ...] = ()


@dataclass
class JobFile:
    """An opened job list with the decisions on how it is read."""

    source: Source
    preamble: list[list[Any]]
    headings: list[Any]
    #: number of the last heading row in the file, counted from 1
    heading_row: int
    #: whether the headings stand in two rows
    reading: Reading
    heading_rows: int = 1

    @property
    def name(self) -> str:
        """The file, and the sheet."""
        return self.source.name

    def rows(self) -> Iterator[list[Any]]:
        """The rows below the headings, from the first one on."""
        return islice(self.source.rows(), self.heading_row, None)

    def close(self) -> None:
        """Close the file and throw temporary copies away."""
        self.source.close()


def _job_hits(rows: list[list[Any]], own: Mapping[str, str]) -> int:
    found = find_headings(rows[:HEADING_WITHIN], own)
    return len(known_columns(found.cells, tuple(own.items()))) if found else 0


def _spooled_input() -> Path:
    """Standard input as a temporary file, because a list is read twice."""
    number, name = tempfile.mkstemp(prefix="hoppersheet-", suffix=".csv")
    path = Path(name)
    try:
        with open(number, "wb") as handle:  # noqa: PTH123 a descriptor, not a path
            left = _MOST_TYPED
            while block := sys.stdin.buffer.read(min(1 << 20, left + 1)):
                left -= len(block)
                if left < 0:
                    raise InputFileError(
                        f"standard input is larger than {_MOST_TYPED >> 20} MB; give the "
                        "file's name"
                    )
                handle.write(block)
        if not path.read_bytes()[:65536].strip() and path.stat().st_size <= 65536:
            raise InputFileError("standard input is empty")
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return path


def check_file(path: str | None) -> None:
    """Refuse a path that is no file.

    Raises:
        InputFileError: there is none, or it is a folder, a device or a pipe.
    """
    if path in (None, "-"):
        return
    file = Path(str(path))
    try:
        is_file, is_dir, exists = file.is_file(), file.is_dir(), file.exists()
    except OSError as problem:
        raise InputFileError(f"cannot read {path}: {problem.strerror}") from None
    if not is_file:
        what = "is a folder" if is_dir else "is a device or a pipe" if exists else ""
        raise InputFileError(f"{path} {what}, not a file" if what else f"there is no file {path}")


def _start(file: Path) -> bytes:
    try:
        with file.open("rb") as handle:
            return handle.read(4096)
    except OSError as problem:
        raise InputFileError(f"cannot read {file}: {problem.strerror}") from None


def _is_book(file: Path) -> bool:
    return _start(file).startswith((_ZIP, _OLE))


def _refuse_wrong_ending(file: Path, path: str, ending: str) -> None:
    """Programs send pages and texts under the ending of a workbook, and the other way round.

    Raises:
        InputFileError: what the file holds is plainly something else than its ending says.
    """
    start = _start(file)
    if ending in TEXT_ENDINGS:
        if start.startswith((_ZIP, _OLE)):
            better = ".xlsx" if start.startswith(_ZIP) else ".xls"
            raise InputFileError(f"{path} is a workbook, not text; give it the ending {better}")
        return
    if ending == ".xls" and start.startswith(_ZIP):
        raise InputFileError(f"{path} is a newer workbook than .xls; give it the ending .xlsx")
    if len(start) < _SHORTEST or start.startswith((_ZIP, _OLE)):
        return  # its reader says more
    if start.removeprefix(_UTF8).lstrip().startswith(b"<"):
        raise InputFileError(
            f"{path} is a web page or XML, not a workbook; open it in a spreadsheet program and "
            "save it as .xlsx"
        )
    if not set(start) - _TYPED:
        raise InputFileError(f"{path} is text, not a workbook; give it the ending .csv or .txt")


def _sources(path: str, hits: Hits, sheet: str | None) -> list[Source]:
    """The tables of a file, or of standard input.

    Raises:
        InputFileError: no such file, unknown ending, not readable.
    """
    if path == "-":
        copy = _spooled_input()
        try:
            if _is_book(copy):
                raise InputFileError("standard input is a workbook; give the file's name")
            source = text_source(copy, "standard input", hits)
        except BaseException:
            copy.unlink(missing_ok=True)
            raise
        source.close = lambda: copy.unlink(missing_ok=True)
        return [source]
    check_file(path)
    file = Path(path)
    ending = file.suffix.lower()
    if ending in (*BOOK_ENDINGS, *TEXT_ENDINGS):
        _refuse_wrong_ending(file, path, ending)
    if ending in BOOK_ENDINGS:
        return workbook_sources(file, path, hits, sheet)
    if ending in TEXT_ENDINGS:
        if sheet is not None:
            raise InputFileError(f"--sheet is for workbooks; {path} is a text file")
        return [text_source(file, path, hits)]
    raise InputFileError(
        f"{path}: the ending must be {', '.join(TEXT_ENDINGS)}, {', '.join(BOOK_ENDINGS)}"
    )


def open_jobs(
    path: str, stated: Stated | None = None, answers: Answers | None = None
) -> list[JobFile]:
    """Open a job list, find its headings, look at all its rows and decide how it is read.

    Args:
        path: a file, or ``-`` for standard input.
        stated: what the user states.
        answers: what a filled list of questions says.

    Returns:
        One list; several where ``sheet`` is "all".

    Raises:
        InputFileError: the file cannot be read, has no headings, or leaves a question.
    """
    wanted = stated or Stated()
    sources = _sources(path, lambda rows: _job_hits(rows, wanted.columns), wanted.sheet)
    files = []
    try:
        for source in sources:
            source.notes.extend(wanted.notes)
            files.append(_open(source, wanted, answers))
    except BaseException:
        for source in sources:
            source.close()
        raise
    return files


def _open(source: Source, wanted: Stated, answers: Answers | None) -> JobFile:
    top: list[list[Any]] = []
    for row in islice(source.rows(), HEADING_WITHIN):
        if len(row) > _MOST_COLUMNS:
            raise InputFileError(f"{source.name}: row {len(top) + 1} has {len(row)} columns")
        top.append(row)
    found = find_headings(top, wanted.columns, source.groups)
    if found is None:
        seen = next((row for row in top if any(row)), [])
        first = ", ".join(shown(cell, 24) for cell in seen[:8] if cell is not None)
        raise InputFileError(
            f"{source.name} has no heading row within its first {HEADING_WITHIN} rows; "
            "needed are throughput, drying hours and virgin density"
            + (f"; the first row reads {first}" if first else "")
            + (_TURNED if _is_turned(top, wanted.columns) else "")
        )
    last = found.at + found.height
    headings: list[Any] = found.cells if found.height > 1 else list(top[found.at])
    if not source.is_text:
        # Notes beside a worksheet's table keep columns of their own.
        headings = headings + [None] * (max(map(len, top)) - len(headings))
    if answers is not None:
        headings = _answered(source, headings, last, wanted, answers)
    above = [cell for row in top[: found.at] for cell in row if isinstance(cell, str)]
    try:
        reader = ListReader(
            headings, wanted.units, wanted.columns, wanted.ignore, wanted.basis, above
        )
        reading = reader.take(_blank_end_cut(source, last), last + 1)
    except Question as question:
        raise InputFileError(f"{source.name}: {question.reason}") from None
    except WrongKind as problem:
        raise InputFileError(f"{source.name}, row {last}: {problem.reason}") from None
    if answers is not None:
        answered = source.rows
        source.rows = lambda: _as_plain_texts(answered(), reading.sign)
    return JobFile(source, top[: found.at], headings, last, reading, found.height)


_TURNED = (
    ". The first column holds the headings: the list is turned, with a job in each column; copy "
    "it, paste it transposed, and size that"
)


def _is_turned(top: list[list[Any]], own: Mapping[str, str]) -> bool:
    first = [row[0] if row and isinstance(row[0], str) else "" for row in top]
    return len(known_columns(first, tuple(own.items()))) >= 3


def _answered(
    source: Source, headings: list[Any], last: int, wanted: Stated, answers: Answers
) -> list[Any]:
    """Put the answers into the rows of a source; the headings, with the columns that were added."""
    found_at = dict(ListReader(headings, wanted.units, wanted.columns, wanted.ignore).found_at)
    given = source.rows
    headings = list(headings)
    for name in answers.columns(source.sheet):
        if name not in found_at:
            found_at[name] = len(headings)
            headings.append(name)
    width, blank = len(headings), "" if source.is_text else None

    def rows() -> Iterator[list[Any]]:
        for number, row in enumerate(given(), 1):
            answered = answers.cells.get((source.sheet, number))
            if answered:
                row = [*row, *[blank] * (width - len(row))]
                for name, cell in answered.items():
                    row[found_at[name]] = _typed_answer(cell) if source.is_text else cell
            yield row

    source.rows = rows
    count = sum(len(row) for (sheet, _), row in answers.cells.items() if sheet == source.sheet)
    source.notes.append(f"{count} answers filled in, {answers.blank} questions left open")
    return headings


def _typed_answer(cell: Any) -> str:
    """An answer as a text; a number as one that can be read in one way only."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, Percent):
        return Answer(f"{cell * 100:.13g} %")
    if isinstance(cell, ClockTime):
        return Answer(f"{cell * 24:.13g} h")
    text = f"{cell:.15g}"
    return Answer(f"{text}0" if re.fullmatch(r"[1-9][0-9]{0,2}\.[0-9]{3}", text) else text)


def _as_plain_texts(rows: Iterator[list[Any]], sign: str) -> Iterator[list[Any]]:
    """Rows whose answers are texts like all others, once the list's decimal sign is known."""
    for row in rows:
        yield [cell.replace(".", sign or ".") if type(cell) is Answer else cell for cell in row]


def _blank_end_cut(source: Source, last: int) -> Iterator[list[Any]]:
    """The rows below the headings; the empty ones at a worksheet's end may be a million."""
    gap = 0
    for row in islice(source.rows(), last, None):
        if not any(row):
            gap += 1
            continue
        if gap:
            yield from ([] for _ in range(min(gap, 10_001)))
            gap = 0
        yield row


def open_catalog(
    path: str | None, units: str, system: str, usable: str | None = None
) -> tuple[CatalogTable, str]:
    """Read a catalog file, or the invented demo catalog that comes with the package.

    Args:
        path: the file; None for the demo catalog.
        units: what the user states, or AS_LISTED.
        system: unit system of the job list.
        usable: share of every size that is really filled, as typed (``90 %`` or ``0.9``).

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

    try:
        share = None if usable is None else usable_share(usable)
    except CellError as problem:
        raise InputFileError(f"--usable {shown(usable)}: {problem.reason}") from None

    def hits(rows: list[list[Any]]) -> int:
        return max(
            (len(known_headings(row, CATALOG_COLUMNS, CATALOG_WORDS)) for row in rows), default=0
        )

    source = _sources(path, hits, None)[0]
    try:
        filled = [
            (number, [c.text if isinstance(c, ShownWithUnit) else c for c in row])
            for number, row in enumerate(source.rows(), 1)
            if any(cell not in (None, "") for cell in row)
        ]
        rows = [row for _, row in filled]
        start = next((i for i, row in enumerate(rows) if hits([row]) and _has_size(row)), 0)
        rows, numbers = rows[start:], [number for number, _ in filled[start:]]
        if units == AS_LISTED and system == "metric" and rows and not catalog_unit(rows):
            raise InputFileError(
                f"are the sizes of the catalog {name} in L or ft3? The list is metric, but the "
                "catalog names no unit. Call its column 'size [L]' or 'size [ft3]', or give --units"
            )
        system = system if units == AS_LISTED else units
        catalog = read_catalog(rows, system, _sign(rows), share, numbers)
        catalog.left_out += [
            f"sheet '{sheet}' (rows that look like sizes)"
            for sheet, (sizes, _) in source.other_sheets.items()
            if sizes
        ]
        return catalog, name
    except CellError as problem:
        raise InputFileError(f"catalog {name}: {problem.reason}") from None
    finally:
        source.close()


def _has_size(row: list[Any]) -> bool:
    return bool({"size", "usable volume"} & known_headings(row, CATALOG_COLUMNS, CATALOG_WORDS))


def _sign(rows: list[list[Any]]) -> str:
    """The decimal sign that a catalog's numbers prove; "" where none, or both."""
    from ..job_cells import typed

    signs = {
        typed(cell).sign
        for row in rows
        for cell in row
        if isinstance(cell, str) and plain_number(cell, "") is not None
    } - {""}
    return signs.pop() if len(signs) == 1 else ""
