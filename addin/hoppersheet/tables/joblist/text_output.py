"""Write a sized list as text: the list as it was, then the result columns.

Separator and decimal sign are those of the list. A spreadsheet runs text that looks like a
formula: what was text is therefore written with a leading apostrophe (the sign for text in a
spreadsheet), unless it is a number.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

from ..job_cells import ClockTime, Percent, ShownWithUnit
from ..job_columns import RESULT_COLUMNS, result_columns, result_headings
from .sizing import SizedList

__all__ = ["padded", "write_text"]

_PLAIN_NUMBER = re.compile(r"[+-]?[0-9]{1,15}(?:[.,][0-9]{1,15})?")
_BLOCK = 2048  # rows written in one go
# How text begins that a spreadsheet runs; the wide forms count where Japanese is set. A program
# with a decimal comma cuts our lines at ";" and at line ends in cells, one that is pasted into
# also at tabs, so texts begin there too.
_RUNS = r"[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]"
# In cells that each follow a \0. Two searches are several times as fast as one for both.
_BEGINS_TO_RUN = re.compile(rf"""\0[ "]*{_RUNS}""")
_RUNS_INSIDE = re.compile(rf"""[;\t\r\n][ "]*{_RUNS}""")
_RUN_AT = re.compile(rf"""(^|[;\t\r\n])(?=[ "]*{_RUNS})""")


def _as_text(cell: Any) -> Any:
    """A cell for a text file; text that a spreadsheet would run gets a leading apostrophe."""
    if isinstance(cell, str):
        if _RUN_AT.search(cell) and not _PLAIN_NUMBER.fullmatch(cell):
            return _RUN_AT.sub(r"\1'", cell)
        return cell
    if isinstance(cell, ShownWithUnit):
        return cell.text
    if isinstance(cell, Percent):
        return f"{cell * 100:.13g}%"
    if isinstance(cell, ClockTime):
        minutes = round(cell * 1440)
        return f"{minutes // 60}:{minutes % 60:02d}"
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return int(cell)
    if isinstance(cell, datetime):
        return cell.isoformat(" ").removesuffix(" 00:00:00")
    if isinstance(cell, timedelta):
        return cell / timedelta(days=1)
    return cell


def _as_texts(cells: Sequence[Any]) -> Sequence[Any]:
    """A column of cells for a text file; mostly its different texts need no more than a look."""
    if set(map(type, cells)) == {str}:
        texts = "\0" + "\0".join(set(cells))
        if not _BEGINS_TO_RUN.search(texts) and not _RUNS_INSIDE.search(texts):
            return cells
    return [_as_text(cell) for cell in cells]


def padded(cells: list[Any], width: int, blank: Any = None) -> list[Any]:
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


def _separator(path: Path, source_separator: str) -> str:
    if path.suffix.lower() == ".tsv":
        return "\t"
    return source_separator if source_separator in (",", ";") else ","


def write_text(sized: SizedList, path: Path) -> None:
    """Write ``path``, a .csv or .tsv; reads ``sized.rows`` through.

    The file is UTF-8 with a byte order mark, which tells spreadsheets so.
    """
    file = sized.file
    separator = _separator(path, file.source.separator)
    # Programs write semicolons where the comma is the decimal sign.
    comma = file.reading.sign == "," or (not file.reading.sign and file.source.separator == ";")
    width, from_text, system = len(file.headings), file.source.is_text, file.reading.system
    blank: Any = "" if from_text else None
    # Columns of nothing but digits; what stands beyond the headings goes into the last one.
    plain = {c.at for c in file.reading.columns.values() if c.plain} - {width - 1}
    plain.update(width + at for at, c in enumerate(RESULT_COLUMNS.values()) if c.quantity)

    def rows() -> Iterator[Sequence[Any]]:
        for row in file.preamble:
            yield [_as_text(cell) for cell in row]
        headings = ["" if cell is None else cell for cell in file.headings]
        yield [*map(_as_text, headings), *result_headings(system)]
        answers = iter(sized.rows)
        while block := list(islice(answers, _BLOCK)):
            cells = [padded(row, width, blank) for _, row, _ in block]
            columns = [
                *zip(*cells, strict=True),
                *result_columns([answer for _, _, answer in block], system, comma),
            ]
            texts = (c if at in plain else _as_texts(c) for at, c in enumerate(columns))
            yield from zip(*texts, strict=True)

    with path.open("w", encoding="utf-8", newline="") as out:
        out.write("\ufeff")  # the mark; the codec that writes it by itself is slow at every row
        csv.writer(out, delimiter=separator).writerows(rows())
