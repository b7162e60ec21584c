"""Cell values as Calc hands them to an add-in, and answers as Calc wants them back.

Calc gives a number as float (TRUE is 1.0, a date its serial number), text as str, a blank single
cell as 0.0, a blank in a range as "", an omitted argument as None, and an error that gets through
(in a computed array) as a NaN whose lowest bits are the error's number. The same NaN is how a
function returns an error, alone or per element of an array.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from typing import Any

from ...call_values import OMITTED

__all__ = [
    "ERROR_NUMBERS",
    "answer",
    "arguments",
    "error_name",
    "error_value",
    "table",
]

#: Error value -> its number in Calc (formula/errorcodes.hxx; shown as Err:NNN where no name is).
ERROR_NUMBERS = {
    "#NULL!": 521,
    "#DIV/0!": 532,
    "#VALUE!": 519,
    "#REF!": 524,
    "#NAME?": 525,
    "#NUM!": 503,
    "#N/A": 32767,
}
_NAMES = {number: name for name, number in ERROR_NUMBERS.items()}
_QUIET_NAN = 0x7FF8000000000000

# A reference this long is a whole column, of which only the beginning is in use.
_WHOLE_COLUMN = 100_000


def error_name(number: int) -> str:
    """The error value of a Calc error number.

    Calc has numbers for which the spreadsheets have no common name: 502 and 504 are wrong
    arguments, 508 to 512 a wrong formula. They count as ``#VALUE!``.
    """
    return _NAMES.get(number, "#VALUE!")


def error_value(name: str) -> float:
    """The float that shows as the error ``name`` in a cell."""
    number = ERROR_NUMBERS.get(name, ERROR_NUMBERS["#VALUE!"])
    value: float = struct.unpack("<d", struct.pack("<Q", _QUIET_NAN | number))[0]
    return value


def _cell(value: Any) -> Any:
    """One value of an array: a NaN is an error on its way through."""
    if value is None:
        return ""
    if value != value:
        return error_name(struct.unpack("<Q", struct.pack("<d", value))[0] & 0xFFFF)
    return value


def _rows_of_range(cells: Any) -> list[list[Any]]:
    """A com.sun.star.table.XCellRange as rows; error cells by name."""
    rows = [list(row) for row in cells.getDataArray()]
    for at_row, row in enumerate(rows):
        for at_column, value in enumerate(row):
            if value is None:  # an error cell, and nothing else
                cell = cells.getCellByPosition(at_column, at_row)
                row[at_column] = error_name(cell.getError())
    return rows


def _argument(value: Any) -> Any:
    if value is None:
        return OMITTED
    if isinstance(value, tuple):
        return [[_cell(cell) for cell in row] for row in value]
    if hasattr(value, "getDataArray"):
        return _rows_of_range(value)
    return _cell(value)


def _without_unused_rows(cells: Sequence[Any]) -> Sequence[Any]:
    """Whole columns cut to the rows in use; what was of equal length stays so, and only that."""
    tall = [cell for cell in cells if isinstance(cell, tuple) and len(cell) >= _WHOLE_COLUMN]
    if not tall:
        return cells
    used = 1
    for rows in tall:
        last = len(rows)
        blank = ("",) * len(rows[0])
        while last > used and rows[last - 1] == blank:
            last -= 1
        used = last
    rank = {length: i for i, length in enumerate(sorted({len(rows) for rows in tall}))}
    return [
        cell[: used + rank[len(cell)]] if isinstance(cell, tuple) and len(cell) in rank else cell
        for cell in cells
    ]


def arguments(cells: Sequence[Any]) -> list[Any]:
    """The arguments from Calc as :func:`hoppersheet.call` takes them."""
    return [_argument(cell) for cell in _without_unused_rows(cells)]


def answer(value: Any) -> Any:
    """A value of :func:`hoppersheet.call` as Calc takes it."""
    if isinstance(value, bool):  # Calc turns a bool inside an any into 0
        return 1.0 if value else 0.0
    if isinstance(value, int):
        return float(value)
    if isinstance(value, str) and value in ERROR_NUMBERS:
        return error_value(value)
    return "" if value is None else value


def table(rows: Any) -> tuple[tuple[Any, ...], ...]:
    """An array result; every row is made as long as the longest."""
    width = max((len(row) for row in rows), default=0)
    return tuple(tuple(answer(value) for value in row) + ("",) * (width - len(row)) for row in rows)
