"""What a raw cell value is: blank, error, omitted, one cell or a range."""

from __future__ import annotations

from math import isfinite
from numbers import Number
from typing import Any

from ..errors import SHEET_ERRORS, ErrorIn, OutOfRange, WrongKind
from .numbers_in_text import parse_number, shown

__all__ = ["OMITTED", "as_rows", "cell_out", "is_blank", "is_error", "number_of"]


class _Omitted:
    """Marks an optional argument that the formula leaves out."""

    def __repr__(self) -> str:
        return "OMITTED"


#: Hand this over for an argument that a formula leaves out: ``=F(1,,3)``.
OMITTED = _Omitted()


def is_blank(cell: Any) -> bool:
    """Whether a cell is empty, or holds a formula's empty text."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def is_error(cell: Any) -> bool:
    """Whether a cell holds an error value such as ``"#N/A"``."""
    return isinstance(cell, str) and cell in SHEET_ERRORS


_ONLY_LISTS = frozenset((list,))


def as_rows(cell: Any) -> list[list[Any]]:
    """A range as a list of rows; a single cell and a flat list (one row) count as ranges."""
    if not isinstance(cell, (list, tuple)):
        return [[cell]]
    if type(cell) is list and cell and _ONLY_LISTS.issuperset(map(type, cell)):
        return cell
    if any(isinstance(row, (list, tuple)) for row in cell):
        return [list(row) if isinstance(row, (list, tuple)) else [row] for row in cell]
    return [list(cell)]


def _serial(moment: Any) -> float | None:
    """The number that a spreadsheet keeps for a date, time or duration; None for anything else.

    Days since 1899-12-30, right from 1900-03-01 on, and for a time of day, whose date is day 0.
    """
    if type(moment).__module__ != "datetime":
        return None
    from datetime import date, datetime, time, timedelta

    if isinstance(moment, time):
        moment = datetime.combine(date(1899, 12, 30), moment)
    elif isinstance(moment, date) and not isinstance(moment, datetime):
        moment = datetime(moment.year, moment.month, moment.day)
    if isinstance(moment, datetime):
        moment = moment.replace(tzinfo=None) - datetime(1899, 12, 30)
    return moment / timedelta(days=1) if isinstance(moment, timedelta) else None


def number_of(cell: Any, argument: str) -> float:
    """A raw cell that must hold a plain number, or text that is one.

    A time of day or a duration is the fraction of a day that the spreadsheet keeps for it, so
    that 4:00 is refused for the same reason wherever it comes from; a date is refused.

    Raises:
        ErrorIn, WrongKind, OutOfRange: as for any cell argument.
    """
    if is_error(cell):
        raise ErrorIn(cell, argument)
    if is_blank(cell):
        raise WrongKind("the cell is blank; a blank is never taken for 0", argument)
    if isinstance(cell, str):
        try:
            return parse_number(cell)
        except (WrongKind, OutOfRange) as problem:
            problem.argument = argument
            raise
    if isinstance(cell, Number) and not isinstance(cell, (bool, complex)):
        try:
            number = float(cell)  # type: ignore[arg-type]
        except OverflowError:
            raise OutOfRange(f"{shown(cell)} is too large for a number", argument) from None
        except ValueError:  # a signaling NaN of decimal
            number = float("nan")
        except TypeError:  # a duration of numpy, which it counts among its integers
            raise WrongKind(f"{shown(cell)} is not a number", argument) from None
        if not isfinite(number):
            raise OutOfRange(f"{shown(cell)} is not a finite number", argument)
        return number
    serial = _serial(cell)
    if serial is not None and abs(serial) < 60:
        return serial
    what = "a date, not a number" if serial is not None else "not a number"
    raise WrongKind(f"{shown(cell)} is {what}", argument)


def cell_out(value: Any, argument: str = "") -> float | str | bool:
    """A raw cell value in the form in which every host takes it back.

    Raises:
        WrongKind, OutOfRange: the host could not show it.
    """
    if isinstance(value, (str, bool)):
        return value
    serial = _serial(value)
    return number_of(value, argument) if serial is None else serial
