"""Functions that choose cells by a criterion, and logic."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any

from ..numbers import equal, total
from ..operators import compare
from ..values import FormulaError, flat, is_error, number_in, numbers_in, table, truth
from ..values import Unknown as NotKnown
from .native import Native, native

__all__ = ["FUNCTIONS", "matches", "pattern"]

_SIGNS = ("<>", "<=", ">=", "<", ">", "=")


def matches(cell: Any, wanted: Any) -> bool:
    """Whether a cell holds a value: of the same kind, whatever its case."""
    kind = type(cell)
    if kind is type(wanted):
        if kind is float:
            return equal(cell, wanted)
        if kind is str:
            return bool(cell.lower() == wanted.lower())
    if cell is None or is_error(cell) or isinstance(cell, bool) != isinstance(wanted, bool):
        return False
    if isinstance(cell, str) != isinstance(wanted, str):
        return False
    return compare("=", cell, wanted)


@lru_cache(maxsize=500)
def pattern(wanted: str, whole: bool = True) -> re.Pattern[str] | None:
    """Texts that fit: ``*`` is any text, ``?`` any character, ``~`` takes them as such.

    None where ``wanted`` holds none of these signs.
    """
    if not re.search(r"[*?~]", wanted):
        return None
    parts = re.findall(r"~[*?~]|[*?]|[^*?~]+|~", wanted)
    known = {"*": ".*" if whole else ".*?", "?": "."}
    regex = "".join(
        known.get(p, re.escape(p[1:] if len(p) == 2 and p[0] == "~" else p)) for p in parts
    )
    return re.compile(regex, re.IGNORECASE | re.DOTALL)


def _operand(text: str) -> Any:
    """What stands behind the sign of a criterion: a number, TRUE or FALSE, or a text."""
    if text.upper() in ("TRUE", "FALSE"):
        return text.upper() == "TRUE"
    try:
        return number_in(text)
    except FormulaError:
        return text


def criterion(wanted: Any) -> Callable[[Any], bool]:
    """Whether a cell fits ``">20"``, ``"a*"``, 5 or ``"<>"``."""
    operator, operand = "=", wanted
    if isinstance(wanted, str) and not is_error(wanted):
        operator = next((sign for sign in _SIGNS if wanted.startswith(sign)), "=")
        explicit = wanted.startswith(operator)
        operand = wanted[len(operator) :] if explicit else wanted
        if operand == "":
            if explicit:
                return lambda cell: (cell is None) == (operator == "=")
            return lambda cell: cell in (None, "")
        fits = pattern(operand) if operator in ("=", "<>") else None
        if fits is not None:
            return lambda cell: (
                (isinstance(cell, str) and fits.fullmatch(cell) is not None) == (operator == "=")
            )
        operand = _operand(operand)
    elif wanted is None:
        operand = 0.0
    if is_error(operand):
        return lambda cell: (cell == operand) == (operator == "=")
    if operator == "<>":
        return lambda cell: not _same(cell, operand)
    if operator == "=":
        return lambda cell: _same(cell, operand)
    return lambda cell: (
        cell is not None
        and not is_error(cell)
        and isinstance(cell, str) == isinstance(operand, str)
        and isinstance(cell, bool) == isinstance(operand, bool)
        and compare(operator, cell, operand)
    )


def _same(cell: Any, operand: Any) -> bool:
    if isinstance(cell, str) and isinstance(operand, float) and not is_error(cell):
        try:  # a text that is the number counts
            cell = number_in(cell)
        except (FormulaError, NotKnown):
            return False
    return matches(cell, operand)


def _chosen(criteria: tuple[Any, ...]) -> list[bool]:
    """Which cells fit every (range, criterion) of a list of both in turn."""
    areas = [table(area) for area in criteria[::2]]
    shapes = {(len(area), len(area[0])) for area in areas}
    if len(shapes) != 1:
        raise FormulaError("#VALUE!")
    tests = [
        [fits(cell) for cell in flat(area)]
        for area, fits in zip(areas, map(criterion, criteria[1::2]), strict=True)
    ]
    return [all(column) for column in zip(*tests, strict=True)]


def _counted(criteria: tuple[Any, ...]) -> float:
    count = sum(_chosen(criteria))
    missing = getattr(criteria[0], "missing", 0)
    if missing and all(criterion(one)(None) for one in criteria[1::2]):
        count += missing
    return float(count)


def _picked(values: Any, criteria: tuple[Any, ...]) -> list[float]:
    cells, fits = list(flat(values)), _chosen(criteria)
    if len(cells) != len(fits):
        raise FormulaError("#VALUE!")
    return numbers_in([[[cell for cell, fit in zip(cells, fits, strict=True) if fit]]])


def _mean(found: list[float]) -> float:
    if not found:
        raise FormulaError("#DIV/0!")
    return total(found) / len(found)


def _conditions(values: Iterable[Any]) -> list[bool]:
    found = []
    for value in values:
        for cell in flat(value):
            if is_error(cell):
                raise FormulaError(str(cell))
            if isinstance(value, list) and (cell is None or isinstance(cell, str)):
                continue
            found.append(truth(cell))
    return found


def _logic(rule: Callable[[list[bool]], bool]) -> Callable[..., bool]:
    def work(*values: Any) -> bool:
        found = _conditions(values)
        if not found:
            raise FormulaError("#VALUE!")
        return rule(found)

    return work


FUNCTIONS: dict[str, Native] = {
    "COUNTIF": native("re", lambda area, one: _counted((area, one))),
    "COUNTIFS": native("|re", lambda *criteria: _counted(criteria)),
    "SUMIF": native("rer", lambda area, one, values: total(_picked(values, (area, one)))),
    "SUMIFS": native("r|re", lambda v, *criteria: total(_picked(v, criteria))),
    "AVERAGEIF": native("rer", lambda area, one, values: _mean(_picked(values, (area, one)))),
    "AVERAGEIFS": native("r|re", lambda v, *criteria: _mean(_picked(v, criteria))),
    "MINIFS": native("r|re", lambda v, *criteria: min(_picked(v, criteria), default=0.0)),
    "MAXIFS": native("r|re", lambda v, *criteria: max(_picked(v, criteria), default=0.0)),
    "AND": native("|r", _logic(all)),
    "OR": native("|r", _logic(any)),
    "XOR": native("|r", _logic(lambda found: sum(found) % 2 == 1)),
    "NOT": native("b", lambda value: not value),
    "TRUE": native("", lambda: True),
    "FALSE": native("", lambda: False),
}
