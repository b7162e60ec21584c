"""Rows of a long table written as XML, straight from values.

A library makes an object of each cell, which takes about ten times as long. It still writes the
workbook, its styles and every short sheet; :func:`with_rows` then puts the long rows behind those
that a sheet already has. Cells after ECMA-376 part 1, 18.3.1.4 (``c``); texts stand inline.
"""

from __future__ import annotations

import shutil
import tempfile
import zipfile
from collections.abc import Iterable, Mapping
from itertools import count
from pathlib import Path
from typing import IO

from .addresses import column_letters
from .safe_xml import NOT_IN_XML, escape

__all__ = ["LONGEST_TEXT", "RowWriter", "number_cell", "other_cell", "text_cell", "with_rows"]

#: Signs that a cell can hold; a longer text is cut.
LONGEST_TEXT = 32_767
_END = b"</sheetData>"


def number_cell(number: float, style: int = 0) -> str:
    """A number's cell without its place, with all its digits; ``style`` is its format's index."""
    return f'"{_of_style(style)}><v>{repr(number).removesuffix(".0")}</v></c>'


def other_cell(kind: str, stored: str, style: int = 0) -> str:
    """A cell of another kind without its place: "b", a truth value, or "e", an error."""
    return f'"{_of_style(style)} t="{kind}"><v>{stored}</v></c>'


def text_cell(text: str, style: int = 0) -> str:
    """A text cell without its place; blanks at its ends and ends of lines are kept."""
    if not text.isprintable():
        text = NOT_IN_XML.sub("\ufffd", text)
    written = escape(text[:LONGEST_TEXT]).replace("\r", "&#13;")
    kept = ' xml:space="preserve"' if text != text.strip() else ""
    return f'"{_of_style(style)} t="inlineStr"><is><t{kept}>{written}</t></is></c>'


def _of_style(style: int) -> str:
    return f' s="{style}"' if style else ""


class RowWriter:
    """Keeps the XML of rows in a temporary file.

    Args:
        first: number of the first row in its sheet.
        columns: how many columns a row has at most.
    """

    def __init__(self, first: int, columns: int) -> None:
        self.file: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 closed by close
        self._numbers = count(first)
        self._starts = [f'<c r="{column_letters(at)}' for at in range(1, columns + 1)]

    def append(self, cells: Iterable[str]) -> None:
        """One row: its cells as the functions above make them, "" for a blank."""
        number = next(self._numbers)
        row = [
            f"{start}{number}{cell}"
            for start, cell in zip(self._starts, cells)  # noqa: B905 a row may be shorter
            if cell
        ]
        self.file.write(f'<row r="{number}">{"".join(row)}</row>'.encode())

    def close(self) -> None:
        """Throw the rows away."""
        self.file.close()


def with_rows(book: IO[bytes], out: Path, rows: Mapping[str, RowWriter]) -> None:
    """Write a workbook once more, with rows behind those that its sheets have.

    Args:
        book: the workbook, as a library wrote it.
        out: the file to write.
        rows: name of a sheet's part -> its rows.
    """
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        missing = set(rows) - set(old.namelist())
        assert not missing, f"no sheets are called {missing}"
        for info in old.infolist():
            data = old.read(info)
            if info.filename not in rows:
                new.writestr(info.filename, data)
                continue
            before, _, behind = data.rpartition(_END)
            assert before, f"{info.filename} has no rows yet"
            with new.open(info.filename, "w", force_zip64=True) as part:
                part.write(before)
                rows[info.filename].file.seek(0)
                shutil.copyfileobj(rows[info.filename].file, part, 1 << 20)
                part.write(_END + behind)
