"""Cell values as Calc hands them to an add-in, and answers as Calc wants them back.

Calc gives a number as float (TRUE is 1.0, a date its serial number), text as str, a blank single
cell as 0.0, a blank in a range as "", an omitted argument as None, and an error that gets through
(in a computed array) as a NaN whose lowest bits are the error's number. The same NaN is how a
function returns an error, alone or per element of an array.

A blank that counts as 0 is refused wherever 0 is impossible. Where it is possible, the argument is
asked for as text: then a blank is "" and a 0 is "0". See :func:`comes_as_text`.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Callable, Sequence
from typing import Any

from ...cells.quantities import SYSTEMS
from ...cells.values import OMITTED
from ...cells.wording import to_si
from ...functions import get
from ...registry import Argument

__all__ = [
    "ERROR_NUMBERS",
    "WHOLE_COLUMN",
    "answer",
    "arguments",
    "caution",
    "comes_as_text",
    "error_name",
    "error_value",
    "number_in",
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

#: A reference this long is a whole column, of which only the beginning is in use.
WHOLE_COLUMN = 100_000


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


# A number as Calc makes a text of it, with the decimal sign of the office's language.
_NUMBER = re.compile(r"-?[0-9]+(?:([^0-9])[0-9]+)?(?:E[+-][0-9]+)?")


def comes_as_text(argument: Argument) -> bool:
    """Whether Calc is to hand an argument over as text, so that a blank cell is not a 0.

    That is so for a required number that may be 0. An optional one must be of the type ``any``,
    or it could not be left out; there a blank is a 0, which all defaults of such arguments are.
    """
    if not argument.required or argument.kind not in ("number", "cell"):
        return False
    if argument.limits is None:
        return True
    low, high = argument.limits
    return any(low <= to_si(0.0, argument.quantity, system) <= high for system in SYSTEMS)


def number_in(text: Any, decimal_sign: Callable[[], str]) -> Any:
    """The number that Calc has made a text of (with 15 digits); any other text as it is."""
    match = _NUMBER.fullmatch(text) if isinstance(text, str) else None
    if match is None:
        return text
    sign = match[1] or "."
    if sign != "." and sign != decimal_sign():
        return text  # such as 1,234 in an office that writes 1.234
    return float(text.replace(sign, "."))


def caution(cells: Sequence[Any]) -> str:
    """What to add to HOPPER_EXPLAIN with these cells: unlike the function, it sees a blank as 0."""
    function = get(cells[0]) if cells and isinstance(cells[0], str) else None
    for argument, cell in zip(function.arguments if function else (), cells[1:]):  # noqa: B905
        if cell == 0.0 and isinstance(cell, float) and comes_as_text(argument):
            return (
                f" If the cell of {argument.name} is empty, {cells[0]} itself gives #VALUE!; "
                "Calc shows it to HOPPER_EXPLAIN as 0."
            )
    return ""


def _cell(value: Any) -> Any:
    """One value of an array: a NaN is an error on its way through."""
    if value is None:
        return ""
    if value != value:
        return error_name(struct.unpack("<Q", struct.pack("<d", value))[0] & 0xFFFF)
    return value


def _rows(value: tuple[tuple[Any, ...], ...]) -> list[list[Any]]:
    """An array as rows. A call for each plain cell, or a loop for each row, takes long."""
    if value and len(value[0]) == 1:
        return [[cell if cell == cell and cell is not None else _cell(cell)] for (cell,) in value]
    return [
        [cell if cell == cell and cell is not None else _cell(cell) for cell in row]
        for row in value
    ]


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
    if type(value) is str or (type(value) is float and value == value):
        return value
    if isinstance(value, tuple):
        return _rows(value)
    if hasattr(value, "getDataArray"):
        return _rows_of_range(value)
    return _cell(value)


def _without_unused_rows(cells: Sequence[Any]) -> Sequence[Any]:
    """Whole columns cut to the rows in use; what was of equal length stays so, and only that."""
    tall = [cell for cell in cells if isinstance(cell, tuple) and len(cell) >= WHOLE_COLUMN]
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
    if tuple in map(type, cells):
        cells = _without_unused_rows(cells)
    return [_argument(cell) for cell in cells]


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
