"""What a raw cell value is: blank, error, omitted, one cell or a range."""

from __future__ import annotations

from typing import Any

from .errors import SHEET_ERRORS, ErrorIn, OutOfRange, WrongKind
from .numbers_in_text import parse_number, shown

__all__ = ["OMITTED", "as_rows", "is_blank", "is_error", "number_of"]


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


def as_rows(cell: Any) -> list[list[Any]]:
    """A range as a list of rows; a single cell and a flat list (one row) count as ranges."""
    if not isinstance(cell, (list, tuple)):
        return [[cell]]
    if any(isinstance(row, (list, tuple)) for row in cell):
        return [list(row) if isinstance(row, (list, tuple)) else [row] for row in cell]
    return [list(cell)]


def number_of(cell: Any, argument: str) -> float:
    """A raw cell that must hold a plain number, or text that is one.

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
        except WrongKind as problem:
            raise WrongKind(problem.reason, argument) from None
    if isinstance(cell, bool) or not isinstance(cell, (int, float)):
        raise WrongKind(f"{shown(cell)} is not a number", argument)
    try:
        number = float(cell)
    except OverflowError:
        raise OutOfRange(f"{shown(cell)} is too large for a number", argument) from None
    if number - number != 0.0:
        raise OutOfRange("the number is not finite", argument)
    return number
