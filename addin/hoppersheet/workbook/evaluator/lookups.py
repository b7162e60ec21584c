"""Functions that look something up, or that choose cells by a criterion."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable
from typing import Any

from ...cells.values import is_error
from .operators import compare, each
from .values import FormulaError, Unknown, flat, number, numbers_in, scalar, truth

__all__ = ["LOOKUPS"]


def _matches(cell: Any, wanted: Any) -> bool:
    if cell is None or is_error(cell) or isinstance(cell, bool) != isinstance(wanted, bool):
        return False
    if isinstance(cell, str) != isinstance(wanted, str):
        return False
    return compare("=", cell, wanted)


def _match(wanted: Any, area: Any, kind: Any = 1.0) -> float:
    wanted, way = scalar(wanted), number(kind)
    cells = list(flat(area))
    if way == 0:
        if isinstance(wanted, str) and ("*" in wanted or "?" in wanted):
            raise Unknown("a pattern with wildcards")
        for place, cell in enumerate(cells, 1):
            if _matches(cell, wanted):
                return float(place)
        raise FormulaError("#N/A")
    best = 0
    for place, cell in enumerate(cells, 1):
        if cell is None or is_error(cell) or isinstance(cell, str) != isinstance(wanted, str):
            continue
        if compare("<=" if way > 0 else ">=", cell, wanted):
            best = place
        else:
            break
    if not best:
        raise FormulaError("#N/A")
    return float(best)


def _index(area: Any, row: Any = 0.0, column: Any = None) -> Any:
    rows = area if isinstance(area, list) else [[area]]
    r, c = int(number(row)), int(number(column)) if column is not None else None
    if c is None:
        r, c = (1, r) if len(rows) == 1 else (r, 1 if len(rows[0]) == 1 else 0)
    if r < 0 or c < 0 or r > len(rows) or c > len(rows[0]):
        raise FormulaError("#REF!")
    picked = rows if r == 0 else [rows[r - 1]]
    picked = picked if c == 0 else [[line[c - 1]] for line in picked]
    return scalar(picked) if r and c else picked


def _lookup(turned: bool) -> Callable[..., Any]:
    def work(wanted: Any, area: Any, index: Any, near: Any = True) -> Any:
        rows = area if isinstance(area, list) else [[area]]
        if turned:
            rows = [list(column) for column in zip(*rows, strict=True)]
        at = int(number(index))
        if at < 1:
            raise FormulaError("#VALUE!")
        if at > len(rows[0]):
            raise FormulaError("#REF!")
        keys = [[row[0]] for row in rows]
        return scalar(rows[int(_match(wanted, keys, 1.0 if truth(near) else 0.0)) - 1][at - 1])

    return work


def _xlookup(
    wanted: Any, keys: Any, found: Any, missing: Any = None, near: Any = 0.0, way: Any = 1.0
) -> Any:
    """XLOOKUP in one row or column: exact, else the next smaller (-1) or next larger (1)."""
    if number(way) != 1:
        raise Unknown("XLOOKUP from the end or in a sorted list")
    rows = keys if isinstance(keys, list) else [[keys]]
    entries = found if isinstance(found, list) else [[found]]
    if 1 not in (len(rows), len(rows[0])) or (len(entries), len(entries[0])) != (
        len(rows), len(rows[0]),
    ):  # fmt: skip
        raise Unknown("XLOOKUP over a table")
    at = _nearest(scalar(wanted), list(flat(rows)), int(number(near)))
    if at is None:
        if missing is None:
            raise FormulaError("#N/A")
        return missing
    return list(flat(entries))[at]


def _nearest(wanted: Any, keys: list[Any], near: int) -> int | None:
    """Place of a key that equals what is wanted, or of the nearest one on one side of it."""
    if near not in (-1, 0, 1):
        raise Unknown("XLOOKUP with wildcards")
    at = next((i for i, key in enumerate(keys) if _matches(key, wanted)), None)
    if at is not None or not near:
        return at
    numeric = not isinstance(wanted, str)
    beyond = [
        (key, i)
        for i, key in enumerate(keys)
        if isinstance(key, float if numeric else str)
        and compare(">" if near > 0 else "<", key, wanted)
    ]
    return (min if near > 0 else max)(beyond, key=lambda pair: pair[0])[1] if beyond else None


def _pattern(wanted: str, other: bool) -> Callable[[Any], bool]:
    """Texts that fit: ``*`` is any text, ``?`` any character, ``~`` takes them as such."""
    parts = re.findall(r"~[*?~]|[*?]|[^*?~]+|~", wanted)
    known = {"*": ".*", "?": "."}
    said = "".join(
        known.get(p, re.escape(p[1:] if len(p) == 2 and p[0] == "~" else p)) for p in parts
    )
    expression = re.compile(said, re.IGNORECASE | re.DOTALL)
    return lambda cell: (isinstance(cell, str) and bool(expression.fullmatch(cell))) != other


def _criterion(wanted: Any) -> Callable[[Any], bool]:
    wanted = scalar(wanted)
    operator, operand = "=", wanted
    if isinstance(wanted, str):
        for sign in ("<>", "<=", ">=", "<", ">", "="):
            if wanted.startswith(sign):
                operator, operand = sign, wanted[len(sign) :]
                break
        if operator in "=<>" and ("*" in operand or "?" in operand):
            return _pattern(operand, operator == "<>")
        with contextlib.suppress(TypeError, ValueError):
            operand = float(operand)

    def fits(cell: Any) -> bool:
        if operand == "" or operand is None:
            return (cell in (None, "")) == (operator == "=")
        if operator == "<>":
            return not _matches(cell, operand)
        if cell is None or is_error(cell) or isinstance(cell, str) != isinstance(operand, str):
            return False
        return compare(operator, cell, operand)

    return fits


def _chosen(criteria: tuple[Any, ...]) -> list[bool]:
    """Which cells fit every (range, criterion) of a list of both in turn."""
    tests = [
        [fits(cell) for cell in flat(area)]
        for area, fits in zip(criteria[::2], map(_criterion, criteria[1::2]), strict=True)
    ]
    return [all(column) for column in zip(*tests, strict=True)]


def _sumifs(summed: Any, *criteria: Any) -> float:
    picked = zip(flat(summed), _chosen(criteria), strict=True)
    return sum(numbers_in([[[value for value, fits in picked if fits]]]))


def _sumif(area: Any, wanted: Any, summed: Any = None) -> float:
    fits = _criterion(wanted)
    picked = zip(flat(area), flat(area if summed is None else summed), strict=False)
    return sum(numbers_in([[[value for cell, value in picked if fits(cell)]]]))


#: Name -> what it does with its evaluated arguments.
LOOKUPS: dict[str, Callable[..., Any]] = {
    "INDEX": _index,
    "MATCH": _match,
    "VLOOKUP": _lookup(False),
    "HLOOKUP": _lookup(True),
    "COUNTIF": lambda area, wanted: each(
        lambda one: float(sum(map(_criterion(one), flat(area)))), wanted
    ),
    "COUNTIFS": lambda *criteria: float(sum(_chosen(criteria))),
    "SUMIF": _sumif,
    "SUMIFS": _sumifs,
    "XLOOKUP": _xlookup,
}
