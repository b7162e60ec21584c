"""Between what Excel hands over through xlwings and the plain cell values of the core.

Into the core: float, str, bool, None, error text such as ``"#N/A"``, lists of rows. Back to
Excel: float, str, bool or lists of rows of these, and nothing else; pywin32 and xlwings turn
None, NaN, large integers and numpy scalars into something that looks right and is not.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from itertools import chain
from math import isfinite
from typing import Any

from ...cells.values import OMITTED

__all__ = ["ERROR_NUMBERS", "LEFT_OUT", "from_excel", "rest_from_excel", "to_excel"]

#: What our VBA hands over for an argument that the formula leaves out.
LEFT_OUT = "#LEFTOUT"

#: Error value -> its number in VBA's CVErr (Microsoft's XlCVError enumeration).
ERROR_NUMBERS = {
    "#NULL!": 2000,
    "#DIV/0!": 2007,
    "#VALUE!": 2015,
    "#REF!": 2023,
    "#NAME?": 2029,
    "#NUM!": 2036,
    "#N/A": 2042,
    "#GETTING_DATA": 2043,
    "#SPILL!": 2045,
    "#CONNECT!": 2046,
    "#BLOCKED!": 2047,
    "#UNKNOWN!": 2048,
    "#FIELD!": 2049,
    "#CALC!": 2050,
}

# COM carries an error value as the HRESULT 0x800A0000 + number, as a signed 32-bit integer.
_COM_ERROR = 0x800A0000 - 2**32
_ERRORS = {_COM_ERROR + number: text for text, number in ERROR_NUMBERS.items()}
# No number in a sheet arrives as an integer, so every one down here is an error value.
_HIGHEST_ERROR = -2146800000

#: Types of argument that the core takes as they are.
_PLAIN = frozenset((float, str, bool, type(None), type(OMITTED)))
_ROWS = frozenset((list, tuple))
# Day 0 of the serial numbers that OLE automation uses for dates.
_DAY_ZERO = dt.datetime(1899, 12, 30)


def _one_from_excel(value: Any) -> Any:
    """A single cell value that is none of float, str, bool, None."""
    if isinstance(value, int) and not isinstance(value, bool):
        if value < _HIGHEST_ERROR:
            return _ERRORS.get(value, "#VALUE!")
        return value
    if isinstance(value, dt.datetime):
        # A clock time typed for hours must look like the number it is: 4:00 is 0.1667.
        return (value.replace(tzinfo=None) - _DAY_ZERO) / dt.timedelta(days=1)
    if isinstance(value, dt.date):
        return float((dt.datetime(value.year, value.month, value.day) - _DAY_ZERO).days)
    if isinstance(value, (str, bool)):
        return value
    try:
        return float(value)  # Decimal from a currency cell, numpy scalars
    except (TypeError, ValueError, OverflowError):
        return value


def from_excel(value: Any) -> Any:
    """One argument as xlwings hands it over (``err_to_str=True``) as the core reads it."""
    if type(value) in _PLAIN:
        return OMITTED if value == LEFT_OUT else value
    if not isinstance(value, (list, tuple)):
        return _one_from_excel(value)
    if _ROWS.issuperset(map(type, value)) and _PLAIN.issuperset(map(type, chain(*value))):
        return value
    return [from_excel(row) for row in value]


def rest_from_excel(value: Any) -> Any:
    """One of a variable number of arguments, read with ``ndim=2, empty=""``.

    xlwings hands over None for a place left empty in the formula (``F("X", 1, , 2)``), which
    ``empty=""`` keeps apart from a blank cell. A single cell loses its rows again.
    """
    if value is None:
        return OMITTED
    if isinstance(value, list) and len(value) == 1 and len(value[0]) == 1:
        value = value[0][0]
    return from_excel(value)


def _one_to_excel(value: Any) -> float | str | bool:
    if type(value) is float:
        return value if isfinite(value) else "#NUM!"
    if value is None:
        return ""
    if isinstance(value, (str, bool)):
        return str(value) if isinstance(value, str) else value
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError):
        return "#VALUE!"
    return number if isfinite(number) else "#NUM!"


def to_excel(value: Any) -> float | str | bool | list[list[float | str | bool]]:
    """A result of the core as Excel may have it; an error stays its text."""
    if type(value) is float and isfinite(value):
        return value
    if not isinstance(value, (list, tuple)):
        return _one_to_excel(value)
    rows = [_row_to_excel(row) for row in value]
    return rows if rows and rows[0] else "#N/A"


def _row_to_excel(row: Any) -> list[float | str | bool]:
    cells: Iterable[Any] = row if isinstance(row, (list, tuple)) else (row,)
    return [_one_to_excel(cell) for cell in cells]
