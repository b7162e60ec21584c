"""Write a call as the text of a formula, the way an .xlsx file stores it.

A file stores formulas in one language whatever the user's: plain function names, a comma between
arguments, a decimal point, ``TRUE``.
"""

from __future__ import annotations

from collections.abc import Iterable

from ..cells.values import OMITTED
from ..errors import SHEET_ERRORS

__all__ = ["LONGEST_TEXT", "call_text", "fits_in_formula", "literal"]

#: A text inside a formula may have 255 characters (ECMA-376 part 1, 18.17.2.2, as hosts apply it).
LONGEST_TEXT = 255


def fits_in_formula(value: object) -> bool:
    """Whether ``value`` can stand in a formula itself and does not need a cell.

    A blank, an error value, a range, a long text and a text of several lines need cells.
    """
    if isinstance(value, str):
        return value not in SHEET_ERRORS and len(value) <= LONGEST_TEXT and value.isprintable()
    return isinstance(value, (int, float))


def literal(value: object) -> str:
    """A number, text or truth value as it stands in a formula.

    Raises:
        ValueError: the value needs a cell, see :func:`fits_in_formula`.
    """
    if not fits_in_formula(value):
        raise ValueError(f"{value!r} cannot stand in a formula")
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    return repr(value).upper()


def call_text(name: str, arguments: Iterable[object]) -> str:
    """``NAME(1,,"metric")`` from argument texts; OMITTED is left empty, and dropped at the end."""
    texts = ["" if argument is OMITTED else str(argument) for argument in arguments]
    while texts and not texts[-1]:
        texts.pop()
    return f"{name}({','.join(texts)})"
