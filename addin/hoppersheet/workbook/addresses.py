"""What a cell and a range of cells are called."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..errors import InputFileError

__all__ = [
    "COLUMNS",
    "ROWS",
    "area_of",
    "cell_count",
    "cells_of",
    "column_letters",
    "column_number",
    "reference",
    "row_column",
]

#: ECMA-376 part 1, 18.3.1.73: a sheet has 1,048,576 rows; and 16,384 columns (XFD).
ROWS, COLUMNS = 1_048_576, 16_384

_REFERENCE = re.compile(r"\$?([A-Za-z]{1,3})\$?([1-9][0-9]{0,6})\Z")


def column_number(letters: str) -> int:
    """``"AB"`` -> 28; in either case."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


def column_letters(number: int) -> str:
    """28 -> ``"AB"``."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def row_column(ref: str) -> tuple[int, int]:
    """``"B7"`` -> (7, 2).

    Raises:
        InputFileError: no cell of a sheet is called so.
    """
    match = _REFERENCE.match(ref)
    if match:
        column, row = column_number(match[1]), int(match[2])
        if row <= ROWS and column <= COLUMNS:
            return row, column
    raise InputFileError(f"{ref[:30]!r} is not a cell")


def reference(row: int, column: int) -> str:
    """(7, 2) -> ``"B7"``."""
    return f"{column_letters(column)}{row}"


def area_of(text: str) -> tuple[int, int, int, int]:
    """``"A1:B3"`` -> (1, 1, 3, 2): first row and column, last row and column; in either order.

    Raises:
        InputFileError: it is no range of cells.
    """
    first, _, last = text.partition(":")
    (r1, c1), (r2, c2) = row_column(first), row_column(last or first)
    return min(r1, r2), min(c1, c2), max(r1, r2), max(c1, c2)


def cell_count(area: str) -> int:
    """How many cells ``"A1:B3"`` has, 6; 0 where it is no range."""
    try:
        top, left, bottom, right = area_of(area)
    except InputFileError:
        return 0
    return (bottom - top + 1) * (right - left + 1)


def cells_of(area: str, most: int = 1_000_000) -> Iterator[str]:
    """Every cell of ``"A1:B3"``, row by row.

    Raises:
        InputFileError: not a range, or one of more than ``most`` cells.
    """
    top, left, bottom, right = area_of(area)
    if (bottom - top + 1) * (right - left + 1) > most:
        raise InputFileError(f"the array formula of {area} is larger than {most} cells")
    for row in range(top, bottom + 1):
        for column in range(left, right + 1):
            yield reference(row, column)
