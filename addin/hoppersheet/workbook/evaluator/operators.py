"""The spreadsheet's operators, on single values and cell by cell on ranges."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from ..sheet_cells import ErrorText
from .numbers import add, equal, subtract
from .values import FormulaError, number, scalar, table, text

__all__ = ["binary", "compare", "each", "element", "power", "unary"]


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
    if a[0] == b[0] == 0 and equal(a[1], b[1]):
        a = b
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
        result = add(a, b)
    elif operator == "-":
        result = subtract(a, b)
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
    """One cell of an array: an error stays in its cell."""
    try:
        return work(*cells)
    except FormulaError as problem:
        return problem.code


def each(work: Callable[..., Any], *values: Any) -> Any:
    """``work`` on single values, or on every cell of the ranges among them.

    A single row or column, and a single value, goes with every row or column of the others; where
    one range ends before another there is #N/A.
    """
    if not any(isinstance(value, list) for value in values):
        return work(*values)
    areas = [table(value) for value in values]
    rows, columns = max(map(len, areas)), max(len(area[0]) for area in areas)
    return [[_at(work, areas, row, column) for column in range(columns)] for row in range(rows)]


def _at(work: Callable[..., Any], areas: Sequence[list[list[Any]]], row: int, column: int) -> Any:
    cells = []
    for area in areas:
        r = 0 if len(area) == 1 else row
        c = 0 if len(area[0]) == 1 else column
        if r >= len(area) or c >= len(area[0]):
            return ErrorText("#N/A")
        cells.append(area[r][c])
    return element(work, *cells)


def binary(operator: str, left: Any, right: Any) -> Any:
    """``left operator right``; ranges cell by cell."""
    if not isinstance(left, list) and not isinstance(right, list):
        return _one(operator, left, right)
    return each(lambda a, b: _one(operator, a, b), left, right)


def unary(sign: str, value: Any) -> Any:
    """A sign before a value."""
    return each(lambda cell: -number(cell) if sign == "-" else scalar(cell), value)
