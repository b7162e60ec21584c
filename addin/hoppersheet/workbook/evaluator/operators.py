"""The spreadsheet's operators, on single values and cell by cell on ranges."""

from __future__ import annotations

import math
import operator as operators
from collections.abc import Callable
from typing import Any

from ..sheet_cells import ErrorText
from .numbers import add, equal, subtract
from .values import FormulaError, number, scalar, table, text

__all__ = ["OPERATORS", "compare", "each", "over_ranges", "power", "unary"]


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


def _divide(a: float, b: float) -> float:
    if b == 0:
        raise FormulaError("#DIV/0!")
    return a / b


def _calculating(work: Callable[[float, float], float]) -> Callable[[Any, Any], float]:
    """An operator on two numbers, as it takes two values."""

    def calculated(left: Any, right: Any) -> float:
        if type(left) is not float or type(right) is not float:
            left, right = scalar(left), scalar(right)
            left, right = number(left), number(right)
        result = work(left, right)
        if not math.isfinite(result):
            raise FormulaError("#NUM!")
        return result

    return calculated


def _comparing(sign: str) -> Callable[[Any, Any], bool]:
    """An operator that compares, as it takes two values."""
    test = _COMPARE[sign]

    def compared(left: Any, right: Any) -> bool:
        one, other = type(left), type(right)
        if one is float and other is float:
            return test(right if equal(left, right) else left, right)
        if one is str and other is str:
            return test(left.lower(), right.lower())
        return compare(sign, scalar(left), scalar(right))

    return compared


def _joined(left: Any, right: Any) -> str:
    left, right = scalar(left), scalar(right)
    return text(left) + text(right)


#: Operator -> what it makes of two single values.
OPERATORS: dict[str, Callable[[Any, Any], Any]] = {
    "&": _joined,
    "+": _calculating(add),
    "-": _calculating(subtract),
    "*": _calculating(operators.mul),
    "/": _calculating(_divide),
    "^": _calculating(power),
    **{sign: _comparing(sign) for sign in _COMPARE},
}


def each(work: Callable[..., Any], *values: Any) -> Any:
    """``work`` on single values, or on every cell of the ranges among them.

    A single row or column, and a single value, goes with every row or column of the others; where
    one range ends before another there is #N/A. An error stays in its cell.
    """
    if not any(isinstance(value, list) for value in values):
        return work(*values)
    areas = [table(value) for value in values]
    rows, columns = max(map(len, areas)), max(len(area[0]) for area in areas)
    laid = [_laid(area, rows, columns) for area in areas]
    found = []
    for lines in zip(*laid, strict=True):
        row = []
        for cells in zip(*lines, strict=True):
            try:
                row.append(work(*cells))
            except FormulaError as problem:
                row.append(problem.code)
        found.append(row)
    return found


def _laid(area: list[list[Any]], rows: int, columns: int) -> list[list[Any]]:
    """A range brought to the size of another."""
    if len(area[0]) == 1 < columns:
        area = [row * columns for row in area]
    elif len(area[0]) < columns:
        area = [row + [_NOT_THERE] * (columns - len(row)) for row in area]
    if len(area) == 1 < rows:
        return area * rows
    return area + [[_NOT_THERE] * columns] * (rows - len(area))


def over_ranges(work: Callable[[Any, Any], Any], left: Any, right: Any) -> Any:
    """:func:`each` for an operator between two values of which one or both are ranges."""
    try:  # most ranges hold no error, and need no look at each cell for one
        if not isinstance(right, list):
            return [[work(cell, right) for cell in row] for row in left]
        if not isinstance(left, list):
            return [[work(left, cell) for cell in row] for row in right]
        if len(left) == len(right) and len(left[0]) == len(right[0]):
            return [list(map(work, *rows)) for rows in zip(left, right, strict=True)]
    except FormulaError:
        pass
    return each(work, left, right)


def unary(sign: str, value: Any) -> Any:
    """A sign before a value."""
    return each(_negative if sign == "-" else scalar, value)


def _negative(value: Any) -> float:
    return -number(value)
