"""Cell values as the spreadsheet takes them: as number, text or truth value; and what has none."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator
from typing import Any

from ..sheet_cells import ErrorText

__all__ = [
    "FormulaError",
    "Unknown",
    "depends_on_country",
    "flat",
    "is_error",
    "number",
    "number_in",
    "number_text",
    "numbers_in",
    "scalar",
    "table",
    "text",
    "truth",
]

_NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,3})?")
#: Digits with what may separate or mark them, and the names of months.
_SOMEWHERE = re.compile(
    r"(?:[-+()$€£¥.,:/'\s\d%]|(?:AM|PM)\b"
    r"|(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]{0,6}\b)+",
    re.IGNORECASE,
)
_DAY = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})")
#: Here numbers are written in full up to 15 digits, then with an exponent.
_LONGEST_WHOLE = 1e15
_SMALLEST_IN_FULL = 1e-10


class FormulaError(Exception):
    """A formula has an error value; ``cause`` is our function's own explanation, if any."""

    def __init__(self, code: str, cause: Exception | None = None) -> None:
        super().__init__(code)
        self.code = ErrorText(code)
        self.cause = cause


class Unknown(Exception):
    """A formula cannot be evaluated here; the text says why."""


def is_error(value: Any) -> bool:
    """Whether a value is an error; a text that reads ``#N/A`` is none."""
    return isinstance(value, ErrorText)


def flat(value: Any) -> Iterator[Any]:
    """Every cell of a range, row by row; a single value is a range of one."""
    if isinstance(value, list):
        for row in value:
            yield from row
    else:
        yield value


def table(value: Any) -> list[list[Any]]:
    """A range as rows; a single value is a range of one."""
    return value if isinstance(value, list) else [[value]]


def scalar(value: Any) -> Any:
    """One value, of a range the first; an error in it becomes the formula's error."""
    if isinstance(value, list):
        value = value[0][0] if value and value[0] else None
    if is_error(value):
        raise FormulaError(value)
    return value


def number(value: Any) -> float:
    """A value as a number, the way arithmetic takes it."""
    kind = type(value)
    if kind is float:
        return value
    if kind is bool:
        return 1.0 if value else 0.0
    value = scalar(value)
    if value is None:
        return 0.0
    if isinstance(value, (bool, int, float)):
        return float(value)
    return number_in(str(value))


def number_in(written: str) -> float:
    """The number in a text.

    Raises:
        FormulaError: there is none.
        Unknown: what it means depends on the country that the program is set to.
    """
    plain = written.strip()
    share = plain.endswith("%")
    digits = plain[:-1].rstrip() if share else plain
    if _NUMBER.fullmatch(digits):
        return float(digits) / (100.0 if share else 1.0)
    day = _DAY.fullmatch(plain)
    if day is not None:
        try:
            found = datetime.date(*map(int, day.groups()))
        except ValueError:
            raise FormulaError("#VALUE!") from None
        return float((found - datetime.date(1899, 12, 30)).days)
    if depends_on_country(plain):
        raise Unknown(f"the number in the text {plain[:20]!r}")
    raise FormulaError("#VALUE!")


def depends_on_country(written: str) -> bool:
    """Whether a text is a number, a day or a time in some country: ``1,234``, ``3 May``."""
    return any(sign.isdigit() for sign in written) and _SOMEWHERE.fullmatch(written) is not None


def number_text(value: float) -> str:
    """A number as text, on 15 digits."""
    if value == int(value) and abs(value) <= _LONGEST_WHOLE:
        return str(int(value))
    if _SMALLEST_IN_FULL <= abs(value) < 1.0:
        digits = f"{value:.15g}"
        if "e" in digits:
            mantissa, _, power = digits.partition("e")
            decimals = len(mantissa.lstrip("-").replace(".", "")) - 1 - int(power)
            digits = f"{value:.{decimals}f}"
        return digits
    return f"{value:.15g}".upper()


def text(value: Any) -> str:
    """A value as text, the way ``&`` takes it."""
    value = scalar(value)
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    return number_text(value) if isinstance(value, float) else str(value)


def truth(value: Any) -> bool:
    """A value as a condition."""
    value = scalar(value)
    if isinstance(value, str):
        if value.upper() in ("TRUE", "FALSE"):
            return value.upper() == "TRUE"
        raise FormulaError("#VALUE!")
    return bool(value)


def numbers_in(values: Iterable[Any]) -> list[float]:
    """The numbers an aggregate sees: text, TRUE and blanks of ranges do not count."""
    found = []
    for value in values:
        if isinstance(value, list):
            for row in value:
                for cell in row:
                    if type(cell) is float:
                        found.append(cell)
                    elif is_error(cell):
                        raise FormulaError(cell)
        elif value is not None:
            found.append(number(value))
    return found
