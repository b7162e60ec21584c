"""Cell values as the spreadsheet takes them: as number, text or truth value; and what has none."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from ...cells.values import is_error

__all__ = ["FormulaError", "Unknown", "flat", "number", "numbers_in", "scalar", "text", "truth"]


class FormulaError(Exception):
    """A formula has an error value; ``cause`` is our function's own explanation, if any."""

    def __init__(self, code: str, cause: Exception | None = None) -> None:
        super().__init__(code)
        self.code = code
        self.cause = cause


class Unknown(Exception):
    """A formula cannot be evaluated here; the text says why."""


def flat(value: Any) -> Iterator[Any]:
    """Every cell of a range, row by row; a single value is a range of one."""
    if isinstance(value, list):
        for row in value:
            yield from row
    else:
        yield value


def scalar(value: Any) -> Any:
    """One value; an error in it becomes the formula's error."""
    if isinstance(value, list):
        if len(value) == 1 and len(value[0]) == 1:
            value = value[0][0]
        else:
            raise Unknown("a range where one value is expected")
    if is_error(value):
        raise FormulaError(value)
    return value


def number(value: Any) -> float:
    """A value as a number, the way arithmetic takes it."""
    value = scalar(value)
    if value is None:
        return 0.0
    if isinstance(value, (bool, int, float)):
        return float(value)
    try:
        return float(value.strip().rstrip("%")) / (100 if value.strip().endswith("%") else 1)
    except ValueError:
        raise FormulaError("#VALUE!") from None


def text(value: Any) -> str:
    """A value as text, the way ``&`` takes it."""
    value = scalar(value)
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float):
        return str(int(value)) if value == int(value) and abs(value) < 1e15 else f"{value:.15g}"
    return str(value)


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
        cells = flat(value) if isinstance(value, list) else [scalar(value)]
        for cell in cells:
            if is_error(cell):
                raise FormulaError(cell)
            if isinstance(cell, (int, float)) and (
                not isinstance(cell, bool) or not isinstance(value, list)
            ):
                found.append(float(cell))
            elif isinstance(cell, str) and not isinstance(value, list):
                found.append(number(cell))
    return found
