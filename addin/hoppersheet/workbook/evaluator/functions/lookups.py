"""Functions that look something up in a range, and those that give a range of their own."""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Sequence
from typing import Any

from ...addresses import COLUMNS, ROWS, reference
from ..operators import compare
from ..values import FormulaError, Unknown, flat, is_error, table, text, truth
from .conditions import matches, pattern
from .native import Native, native

__all__ = ["FUNCTIONS"]


def _kind(value: Any) -> int:
    """0 a number, 1 a text, 2 TRUE or FALSE, 3 nothing that is looked up."""
    if value is None or is_error(value):
        return 3
    return 2 if isinstance(value, bool) else 1 if isinstance(value, str) else 0


def _exact(wanted: Any, cells: Sequence[Any], wildcards: bool = True) -> int:
    """Place of the first cell that is the value, from 0; -1 where there is none."""
    fits = pattern(wanted) if wildcards and isinstance(wanted, str) else None
    for index, cell in enumerate(cells):
        if fits is None:
            if matches(cell, wanted):
                return index
        elif isinstance(cell, str) and not is_error(cell) and fits.fullmatch(cell):
            return index
    return -1


def _sorted_index(wanted: Any, cells: Sequence[Any], ascending: bool = True) -> int:
    """Place of the last cell up to the value in a sorted list, from 0; -1 where there is none.

    Raises:
        Unknown: the list is not sorted, which gives each program another answer. A number beyond
            all of them finds the last one, sorted or not.
    """
    kind, sign = _kind(wanted), "<=" if ascending else ">="
    indexes = [index for index, cell in enumerate(cells) if _kind(cell) == kind]
    if not indexes:
        return -1
    known = [cells[index] for index in indexes]
    beyond = "<" if ascending else ">"
    if kind == 0 and all(compare(beyond, cell, wanted) for cell in known):
        return indexes[-1]
    in_order = operator.le if ascending else operator.ge
    keys = [cell.lower() if isinstance(cell, str) else cell for cell in known]
    if not all(map(in_order, keys, keys[1:])):
        raise Unknown("a list that is looked up as sorted and is not")
    last = sum(compare(sign, cell, wanted) for cell in known) - 1
    return indexes[last] if last >= 0 else -1


def _match(wanted: Any, area: Any, kind: float = 1.0) -> float:
    rows = table(area)
    if len(rows) > 1 and len(rows[0]) > 1:
        raise FormulaError("#N/A")
    cells = list(flat(rows))
    wanted = 0.0 if wanted is None else wanted
    index = _exact(wanted, cells) if kind == 0.0 else _sorted_index(wanted, cells, kind > 0.0)
    if index < 0:
        raise FormulaError("#N/A")
    return float(index + 1)


def _index(area: Any, row: float = 0.0, column: float | None = None) -> Any:
    rows = table(area)
    r, c = math.floor(row), math.floor(column) if column is not None else None
    if c is None:
        r, c = (1, r) if len(rows) == 1 and len(rows[0]) > 1 else (r, 1 if len(rows[0]) == 1 else 0)
    if r < 0 or c < 0:
        raise FormulaError("#VALUE!")
    if r > len(rows) or c > len(rows[0]):
        raise FormulaError("#REF!")
    picked = rows if r == 0 else [rows[r - 1]]
    picked = picked if c == 0 else [[line[c - 1]] for line in picked]
    return picked[0][0] if r and c else picked


def _lookup_in(turned: bool) -> Callable[..., Any]:
    def work(wanted: Any, area: Any, index: float, near: bool = True) -> Any:
        rows = table(area)
        if turned:
            rows = [list(column) for column in zip(*rows, strict=True)]
        at = math.floor(index)
        if at < 1:
            raise FormulaError("#VALUE!")
        if at > len(rows[0]):
            raise FormulaError("#REF!")
        keys = [row[0] for row in rows]
        wanted = 0.0 if wanted is None else wanted
        index = _sorted_index(wanted, keys) if near else _exact(wanted, keys)
        if index < 0:
            raise FormulaError("#N/A")
        return rows[index][at - 1]

    return work


def _lookup(wanted: Any, area: Any, results: Any = None) -> Any:
    """LOOKUP, which also serves to find the last cell that is no error."""
    rows = table(area)
    if results is None and len(rows[0]) > len(rows):
        keys, found = list(rows[0]), list(rows[-1])
    elif results is None:
        keys, found = [row[0] for row in rows], [row[-1] for row in rows]
    else:
        keys, found = list(flat(area)), list(flat(results))
    index = _sorted_index(wanted, keys)
    if index < 0 or index >= len(found):
        raise FormulaError("#N/A")
    return found[index]


def _x_index(wanted: Any, cells: Sequence[Any], mode: float, search: float) -> int:
    """Place as XMATCH finds it; 0 exact, -1 or next smaller, 1 or next larger, 2 wildcards."""
    backward = search < 0
    order = range(len(cells) - 1, -1, -1) if backward else range(len(cells))
    if mode == 2.0:
        index = _exact(wanted, [cells[i] for i in order])
        return -1 if index < 0 else order[index]
    for i in order:
        if (wanted is None and cells[i] is None) or matches(cells[i], wanted):
            return i
    if mode == 0.0:
        return -1
    sign = "<" if mode < 0 else ">"
    best = -1
    for i in order:
        if _kind(cells[i]) != _kind(wanted) or not compare(sign, cells[i], wanted):
            continue
        if best < 0 or compare(">" if mode < 0 else "<", cells[i], cells[best]):
            best = i
    return best


def _xmatch(wanted: Any, area: Any, mode: float = 0.0, search: float = 1.0) -> float:
    index = _x_index(wanted, list(flat(area)), mode, search)
    if index < 0:
        raise FormulaError("#N/A")
    return float(index + 1)


def _xlookup(
    wanted: Any, area: Any, results: Any, missing: Any = None, mode: float = 0.0,
    search: float = 1.0,
) -> Any:  # fmt: skip
    keys, rows = table(area), table(results)
    down = len(keys[0]) == 1
    if (len(rows) if down else len(rows[0])) != (len(keys) if down else len(keys[0])):
        raise FormulaError("#VALUE!")
    index = _x_index(wanted, list(flat(keys)), mode, search)
    if index < 0:
        if missing is None:
            raise FormulaError("#N/A")
        return missing
    found = [rows[index]] if down else [[row[index]] for row in rows]
    return found[0][0] if len(found) == len(found[0]) == 1 else found


# --- ranges of their own ------------------------------------------------------------------


def _filter(area: Any, chosen: Any, instead: Any = None) -> Any:
    rows, tests = table(area), table(chosen)
    if len(tests) == len(rows) and len(tests[0]) == 1:
        found = [row for row, test in zip(rows, tests, strict=True) if truth(test[0])]
    elif len(tests) == 1 and len(tests[0]) == len(rows[0]):
        keep = [truth(test) for test in tests[0]]
        found = [[c for c, kept in zip(row, keep, strict=True) if kept] for row in rows]
        found = [row for row in found if row]
    else:
        raise FormulaError("#VALUE!")
    if found:
        return found
    if instead is None:
        raise FormulaError("#CALC!")
    return instead


def _order(cell: Any) -> tuple[int, Any]:
    return (_kind(cell), cell.lower() if isinstance(cell, str) else 0.0 if cell is None else cell)


def _sort(area: Any, at: float = 1.0, way: float = 1.0, by_column: bool = False) -> Any:
    rows = table(area)
    if by_column:
        rows = [list(column) for column in zip(*rows, strict=True)]
    if not 1 <= at <= len(rows[0]):
        raise FormulaError("#VALUE!")
    rows = sorted(rows, key=lambda row: _order(row[int(at) - 1]), reverse=way < 0)
    return [list(column) for column in zip(*rows, strict=True)] if by_column else rows


def _unique(area: Any, by_column: bool = False, once: bool = False) -> Any:
    rows = table(area)
    if by_column:
        rows = [list(column) for column in zip(*rows, strict=True)]
    found: dict[tuple[Any, ...], list[Any]] = {}
    counts: dict[tuple[Any, ...], int] = {}
    for row in rows:
        key = tuple(_order(cell) for cell in row)
        found.setdefault(key, row)
        counts[key] = counts.get(key, 0) + 1
    rows = [row for key, row in found.items() if not once or counts[key] == 1]
    if not rows:
        raise FormulaError("#CALC!")
    return [list(column) for column in zip(*rows, strict=True)] if by_column else rows


def _address(
    row: float, column: float, kind: float = 1.0, in_letters: Any = None, sheet: Any = None
) -> str:
    r, c = math.floor(row), math.floor(column)
    if not (1 <= r <= ROWS and 1 <= c <= COLUMNS and 1 <= kind <= 4):
        raise FormulaError("#VALUE!")
    if in_letters is not None and not truth(in_letters):
        raise Unknown("ADDRESS in row and column numbers")
    plain = reference(r, c)
    letters, digits = plain.rstrip("0123456789"), plain.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    written = ("$" if kind in (1, 3) else "") + letters + ("$" if kind in (1, 2) else "") + digits
    if sheet is None:
        return written
    name = text(sheet)
    quoted = name if name.replace("_", "").isalnum() else "'" + name.replace("'", "''") + "'"
    return f"{quoted}!{written}"


FUNCTIONS: dict[str, Native] = {
    "INDEX": native("an?n", _index),
    "MATCH": native("vr?n", _match),
    "VLOOKUP": native("vrn?b", _lookup_in(False)),
    "HLOOKUP": native("vrn?b", _lookup_in(True)),
    "LOOKUP": native("vr?r", _lookup, arrays=True),
    "XLOOKUP": native("vrr?enn", _xlookup),
    "XMATCH": native("vr?nn", _xmatch),
    "FILTER": native("rr?v", _filter, arrays=True),
    "SORT": native("r?nnb", _sort, arrays=True),
    "UNIQUE": native("r?bb", _unique, arrays=True),
    "ADDRESS": native("nn?nvv", _address),
}
