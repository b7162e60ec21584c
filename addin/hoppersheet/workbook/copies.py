"""Copies of a formula, by its text alone: how it reads relative to its cell, and elsewhere."""

from __future__ import annotations

import re
from functools import lru_cache

from .addresses import COLUMNS, ROWS, column_letters, column_number

__all__ = ["moved", "relative_form"]

_REFERENCES = re.compile(
    r'"(?:[^"]|"")*"'  # text
    r"|'(?:[^']|'')*'!?"  # quoted sheet name
    r"|\[[^\[\]]*(?:\[[^\[\]]*\][^\[\]]*)*\]"  # a table's columns, or another workbook
    r"|(?<![A-Za-z0-9_.$])(?:\$?[A-Z]{1,3}\$?[0-9]{1,7}"  # a cell
    r"|\$?[A-Z]{1,3}:\$?[A-Z]{1,3}"  # whole columns
    r"|\$?[0-9]{1,7}:\$?[0-9]{1,7})(?![A-Za-z0-9_(.!])"  # whole rows
)
_END = re.compile(r"(\$?)([A-Z]{0,3})(\$?)([0-9]{0,7})")


@lru_cache(maxsize=20_000)
def _end(written: str) -> tuple[str, str, str, str]:
    """(``$`` or "", column, ``$`` or "", row) of a cell, or of an end of whole columns or rows."""
    match = _END.fullmatch(written)
    assert match is not None, "found by the pattern above"
    column_fixed, letters, row_fixed, digits = match.groups()
    return (
        ("", "", column_fixed, digits)
        if not letters
        else (column_fixed, letters, row_fixed, digits)
    )


def relative_form(formula: str, row: int, column: int) -> str:
    """The formula with every reference as an offset: equal for all copies of one formula."""

    def offset(written: str) -> str:
        column_fixed, letters, row_fixed, digits = _end(written)
        across = down = ""
        if letters:
            number = column_number(letters)
            across = f"C{number}" if column_fixed else f"C[{number - column}]"
        if digits:
            down = f"R{digits}" if row_fixed else f"R[{int(digits) - row}]"
        return down + across

    def offsets(match: re.Match[str]) -> str:
        found = match[0]
        return found if found[0] in "\"'[" else ":".join(map(offset, found.split(":")))

    return _REFERENCES.sub(offsets, formula)


def moved(formula: str, rows: int, columns: int) -> str:
    """A formula as it reads when it is copied so many rows down and columns to the right.

    What would leave the sheet becomes ``#REF!``, as in every program.
    """

    def there(written: str) -> str:
        column_fixed, letters, row_fixed, digits = _end(written)
        column = column_number(letters) + (0 if column_fixed else columns) if letters else 1
        row = int(digits) + (0 if row_fixed else rows) if digits else 1
        if not (1 <= column <= COLUMNS and 1 <= row <= ROWS):
            return ""
        across = column_fixed + column_letters(column) if letters else ""
        return across + (f"{row_fixed}{row}" if digits else "")

    def both(match: re.Match[str]) -> str:
        found = match[0]
        if found[0] in "\"'[":
            return found
        ends = [there(part) for part in found.split(":")]
        return ":".join(ends) if all(ends) else "#REF!"

    return _REFERENCES.sub(both, formula)
