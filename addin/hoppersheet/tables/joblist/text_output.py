"""Write a sized list as text: the list as it was, then the result columns.

Separator and decimal sign are those of the list. A spreadsheet runs text that looks like a
formula: what was text is therefore written with a leading apostrophe (the sign for text in a
spreadsheet), unless it is a number.
"""

from __future__ import annotations

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
_BLOCK = 256  # rows written in one go; more do not fit the processor's caches
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


def _texts(cells: Sequence[Any], separator: str) -> Sequence[str]:
    """A column or a row of cells as a text file has them; mostly its texts need but a look."""
    if set(map(type, cells)) == {str}:
        all_texts = "\0" + "\0".join(set(cells))
        runs = _BEGINS_TO_RUN.search(all_texts) or _RUNS_INSIDE.search(all_texts)
        if not runs and not _needs_quotes(all_texts, separator):
            return cells
    texts = ["" if cell is None else str(_as_text(cell)) for cell in cells]
    return [_in_quotes(text) if _needs_quotes(text, separator) else text for text in texts]


def _needs_quotes(text: str, separator: str) -> bool:
    """Whether a text must stand in quotation marks (RFC 4180, 2.6)."""
    return separator in text or '"' in text or "\n" in text or "\r" in text


def _in_quotes(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


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
    plain: set[int] = set()
    if from_text and file.reading.units_row is None:
        plain = {c.at for c in file.reading.columns.values() if c.plain} - {width - 1}
    if not comma or separator != ",":
        plain.update(width + at for at, c in enumerate(RESULT_COLUMNS.values()) if c.quantity)

    def lines() -> Iterator[str]:
        headings = ["" if cell is None else cell for cell in file.headings]
        for row in (*file.preamble, [*headings, *result_headings(system)]):
            yield separator.join(_texts(row, separator)) or '""' * len(row)
        answers = iter(sized.rows)
        while block := list(islice(answers, _BLOCK)):
            cells = [padded(row, width, blank) for _, row, _ in block]
            columns = [
                *zip(*cells, strict=True),
                *result_columns([answer for _, _, answer in block], system, comma),
            ]
            texts = (c if at in plain else _texts(c, separator) for at, c in enumerate(columns))
            yield "\r\n".join(map(separator.join, zip(*texts, strict=True)))

    with path.open("w", encoding="utf-8", newline="") as out:
        out.write("\ufeff")  # the mark; the codec that writes it by itself is slow at every row
        for text in lines():
            out.write(f"{text}\r\n")
