"""Text files that hold a table: any encoding, separated by tabs, semicolons, commas or pipes, or
aligned with blanks.

A text may be UTF-8 (with or without a byte order mark), UTF-16 or Windows-1252. Rows are read as
they are needed, as often as they are needed.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterator
from itertools import chain
from pathlib import Path
from typing import Any, TextIO

from ...errors import InputFileError
from .sources import Source

__all__ = ["Hits", "text_source"]

_LONGEST_LINE = 16 * 2**20  # bytes; a spreadsheet's longest row has 0.5 GB, no list has one
_LARGEST_ALIGNED = 64 * 2**20  # bytes of a text aligned with blanks, which is held in memory
_SEPARATORS = "\t;,|"
_END = "\0end of the file\0"  # put behind the last line: found inside a cell, the cell is open
_SAMPLED = 20_000  # characters that tell the separator
_RULE = re.compile(r"[\s|:+=\-]*")  # a line of a table drawn with signs
_SEPARATOR_NAMES = {"\t": "tabs", ";": "semicolons", ",": "commas", "|": "pipes", " ": "blanks"}

#: How many known columns a list of rows shows in its best row.
Hits = Callable[[list[list[Any]]], int]


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


def _sampled(sample: str, separator: str) -> list[list[str]]:
    """The rows of the beginning of a text file, whatever its line ends are."""
    rows = []
    try:
        for row in csv.reader(io.StringIO(sample, newline=""), delimiter=separator):
            rows.append([cell.strip() for cell in row] if separator == "|" else row)
    except csv.Error:
        pass  # said, with its line, when the row is read
    return rows


def _separator(sample: str, hits: Hits) -> str:
    """The separator under which the sample shows the most known headings; " " for aligned text."""
    found = {s: (hits(_sampled(sample, s)), sample.count(s)) for s in _SEPARATORS}
    best = max(_SEPARATORS, key=lambda separator: found[separator])
    if found[best][0] < 2 and hits(_aligned(sample.splitlines())) >= 2:
        return " "
    return best


def _aligned(lines: list[str]) -> list[list[str]]:
    """Cut lines at the places where no line has anything but blanks."""
    lines = [line.expandtabs() for line in lines if not _RULE.fullmatch(line) or not line.strip()]
    table = [line for line in lines if len(re.split(r"\s{2,}", line.strip())) >= 3]
    if not table:
        return [[line.strip()] for line in lines]
    width = max(map(len, table))
    used = [any(at < len(line) and line[at] != " " for line in table) for at in range(width)]
    cuts, at = [0], 0
    while at < width:
        if used[at]:
            at += 1
            continue
        start = at
        while at < width and not used[at]:
            at += 1
        # One blank between two words of all lines is chance; two are a gap.
        if at - start >= 2 and start > 0:
            cuts.append(at)
    ends = [*cuts[1:], None]
    return [
        [line[start:end].strip() for start, end in zip(cuts, ends, strict=True)] for line in lines
    ]


def _csv_rows(text: TextIO, separator: str, name: str) -> Iterator[list[Any]]:
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


def _pipe_rows(rows: Iterator[list[str]]) -> Iterator[list[str]]:
    """Rows of a table drawn with pipes: without the outer ones and without its rules."""
    for row in rows:
        if row and _RULE.fullmatch("|".join(row)) and any("-" in cell for cell in row):
            continue
        cells = [cell.strip() for cell in row]
        if cells and not cells[0] and (len(cells) > 1 and not cells[-1]):
            cells = cells[1:-1]
        yield cells


def _no_rows() -> Iterator[list[Any]]:
    return iter(())


def text_source(path: Path, name: str, hits: Hits) -> Source:
    """Open a text file as a source of rows.

    Args:
        path: the file.
        name: what to call it.
        hits: counts the known headings of rows, which decides the separator.

    Raises:
        InputFileError: it cannot be read.
    """
    try:
        with path.open("rb") as file:
            size = path.stat().st_size
            encoding = _encoding(file, name)
            text = io.TextIOWrapper(file, encoding, errors="replace", newline="")
            sample = text.read(_SAMPLED)
            text.detach()
    except OSError as problem:
        raise InputFileError(f"cannot read {name}: {problem.strerror}") from None
    separator = _separator(sample[: sample.rfind("\n") + 1] or sample, hits)
    source = Source(name, _no_rows, separator=separator, encoding=encoding, total=size)
    source.notes.append(f"text separated by {_SEPARATOR_NAMES[separator]}")

    def rows() -> Iterator[list[Any]]:
        with path.open("rb") as file:
            source.position = file.tell
            text = io.TextIOWrapper(file, encoding, errors="replace", newline="")
            if separator == " ":
                yield from _aligned(text.read().splitlines())
            elif separator == "|":
                yield from _pipe_rows(_csv_rows(text, separator, name))
            else:
                yield from _csv_rows(text, separator, name)

    if separator == " " and size > _LARGEST_ALIGNED:
        raise InputFileError(f"{name}: a table aligned with spaces is too large to read; use .csv")
    source.rows = rows
    return source
