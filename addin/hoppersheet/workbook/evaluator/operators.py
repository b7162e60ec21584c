"""The spreadsheet's operators, on single values and cell by cell on ranges."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from .values import FormulaError, number, scalar, text

__all__ = ["binary", "compare", "each", "power", "unary"]


def _rank(value: Any) -> tuple[int, Any]:
    """Order of comparison: numbers, then text, then FALSE and TRUE."""
    if isinstance(value, bool):
        return (2, value)
    if isinstance(value, str):
        return (1, value.lower())
    return (0, float(value))


def compare(operator: str, left: Any, right: Any) -> bool:
    """Whether ``left operator right`` holds."""
    if left is None:
        left = "" if isinstance(right, str) else False if isinstance(right, bool) else 0.0
    if right is None:
        right = "" if isinstance(left, str) else False if isinstance(left, bool) else 0.0
    a, b = _rank(left), _rank(right)
    if a[0] == b[0] == 0 and a != b and abs(a[1] - b[1]) <= 1e-15 * max(abs(a[1]), abs(b[1])):
        a = b  # a spreadsheet compares 15 digits
    return {
        "=": a == b, "<>": a != b, "<": a < b, ">": a > b, "<=": a <= b, ">=": a >= b,
    }[operator]  # fmt: skip


def power(base: float, exponent: float) -> float:
    """``base ^ exponent``."""
    try:
        result = base**exponent
    except ZeroDivisionError:
        raise FormulaError("#DIV/0!") from None
    except OverflowError:
        raise FormulaError("#NUM!") from None
    if isinstance(result, complex):
        raise FormulaError("#NUM!")
    return result


def _one(operator: str, left: Any, right: Any) -> Any:
    left, right = scalar(left), scalar(right)
    if operator == "&":
        return text(left) + text(right)
    if operator in ("=", "<>", "<", ">", "<=", ">="):
        return compare(operator, left, right)
    a, b = number(left), number(right)
    if operator == "+":
        result = a + b
    elif operator == "-":
        result = a - b
    elif operator == "*":
        result = a * b
    elif operator == "/":
        if b == 0:
            raise FormulaError("#DIV/0!")
        result = a / b
    else:
        result = power(a, b)
    if not math.isfinite(result):
        raise FormulaError("#NUM!")
    return result


def element(work: Callable[..., Any], *cells: Any) -> Any:
    try:
        return work(*cells)
    except FormulaError as problem:
        return problem.code


def binary(operator: str, left: Any, right: Any) -> Any:
    """``left operator right``; ranges cell by cell."""
    if not isinstance(left, list) and not isinstance(right, list):
        return _one(operator, left, right)
    a = left if isinstance(left, list) else [[left]]
    b = right if isinstance(right, list) else [[right]]
    rows, columns = max(len(a), len(b)), max(len(a[0]), len(b[0]))

    def at(area: list[list[Any]], row: int, column: int) -> Any:
        row = 0 if len(area) == 1 else row
        column = 0 if len(area[0]) == 1 else column
        return area[row][column] if row < len(area) and column < len(area[0]) else "#N/A"

    return [
        [element(_one, operator, at(a, r, c), at(b, r, c)) for c in range(columns)]
        for r in range(rows)
    ]


def each(work: Callable[[Any], Any], value: Any) -> Any:
    """``work`` on one value, or on every cell of a range."""
    if isinstance(value, list):
        return [[element(work, cell) for cell in row] for row in value]
    return work(value)


def unary(sign: str, value: Any) -> Any:
    """A sign before a value."""
    return each(lambda cell: -number(cell) if sign == "-" else scalar(cell), value)
