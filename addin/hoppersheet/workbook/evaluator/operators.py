"""The spreadsheet's operators, on single values and cell by cell on ranges."""

from __future__ import annotations

import math
import operator as operators
from collections.abc import Callable
from typing import Any

from ..sheet_cells import ErrorText
from .numbers import add, equal, subtract
from .values import FormulaError, number, scalar, table, text

__all__ = ["binary", "compare", "each", "element", "power", "unary"]


_COMPARE: dict[str, Callable[[Any, Any], bool]] = {
    "=": operators.eq, "<>": operators.ne, "<": operators.lt, ">": operators.gt,
    "<=": operators.le, ">=": operators.ge,
}  # fmt: skip
_NOT_THERE = ErrorText("#N/A")


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
    if type(left) is float and type(right) is float:
        return _COMPARE[operator](right if equal(left, right) else left, right)
    a, b = _rank(left), _rank(right)
    if a[0] == b[0] == 0 and equal(a[1], b[1]):
        a = b
    return bool(_COMPARE[operator](a, b))


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
    if operator in _COMPARE:
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
    laid = [_laid(area, rows, columns) for area in areas]
    return [
        [element(work, *cells) for cells in zip(*lines, strict=True)]
        for lines in zip(*laid, strict=True)
    ]


def _laid(area: list[list[Any]], rows: int, columns: int) -> list[list[Any]]:
    """A range brought to the size of another."""
    if len(area[0]) == 1 < columns:
        area = [row * columns for row in area]
    elif len(area[0]) < columns:
        area = [row + [_NOT_THERE] * (columns - len(row)) for row in area]
    if len(area) == 1 < rows:
        return area * rows
    return area + [[_NOT_THERE] * columns] * (rows - len(area))


def binary(operator: str, left: Any, right: Any) -> Any:
    """``left operator right``; ranges cell by cell."""
    if not isinstance(left, list) and not isinstance(right, list):
        return _one(operator, left, right)
    return each(lambda a, b: _one(operator, a, b), left, right)


def unary(sign: str, value: Any) -> Any:
    """A sign before a value."""
    return each(lambda cell: -number(cell) if sign == "-" else scalar(cell), value)
