"""The spreadsheet's own functions and operators that sizing sheets use, on plain cell values.

A small part of ECMA-376 part 1, 18.17 (SpreadsheetML formulas): enough to follow an input through
the formulas around our functions when no spreadsheet program is at hand, and to try out other
inputs. What is not here raises :class:`Unknown`, and the audit says so instead of guessing.

Values: float, text, bool, None for a blank, an error as its text, a range as a list of rows.
"""

from __future__ import annotations

import contextlib
import math
import re
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from ...call_values import is_error

__all__ = ["NATIVES", "FormulaError", "Unknown", "binary", "flat", "truth", "unary"]


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


# --- operators -----------------------------------------------------------------------------


def _rank(value: Any) -> tuple[int, Any]:
    """Order of comparison: numbers, then text, then FALSE and TRUE."""
    if isinstance(value, bool):
        return (2, value)
    if isinstance(value, str):
        return (1, value.lower())
    return (0, float(value))


def _compare(operator: str, left: Any, right: Any) -> bool:
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


def _power(base: float, exponent: float) -> float:
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
        return _compare(operator, left, right)
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
        result = _power(a, b)
    if not math.isfinite(result):
        raise FormulaError("#NUM!")
    return result


def _element(work: Callable[..., Any], *cells: Any) -> Any:
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
        [_element(_one, operator, at(a, r, c), at(b, r, c)) for c in range(columns)]
        for r in range(rows)
    ]


def each(work: Callable[[Any], Any], value: Any) -> Any:
    """``work`` on one value, or on every cell of a range."""
    if isinstance(value, list):
        return [[_element(work, cell) for cell in row] for row in value]
    return work(value)


def unary(sign: str, value: Any) -> Any:
    """A sign before a value."""
    return each(lambda cell: -number(cell) if sign == "-" else scalar(cell), value)


# --- functions -----------------------------------------------------------------------------


def _numbers(values: Iterable[Any]) -> list[float]:
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


def _average(*values: Any) -> float:
    found = _numbers(values)
    if not found:
        raise FormulaError("#DIV/0!")
    return sum(found) / len(found)


def _product(*arrays: Any) -> float:
    areas = [a if isinstance(a, list) else [[a]] for a in arrays]
    shape = (len(areas[0]), len(areas[0][0]))
    if any((len(a), len(a[0])) != shape for a in areas):
        raise FormulaError("#VALUE!")
    total = 0.0
    for cells in zip(*(flat(a) for a in areas), strict=True):
        term = 1.0
        for cell in cells:
            if is_error(cell):
                raise FormulaError(cell)
            term *= cell if isinstance(cell, float) else 0.0
        total += term
    return total


def _round(way: Callable[[float], float]) -> Callable[..., float]:
    def work(value: Any, digits: Any = 0.0) -> float:
        x, scale = number(value), 10.0 ** int(number(digits))
        # 15 digits, so that 2.675 counts as the spreadsheet shows it
        return math.copysign(way(float(f"{abs(x) * scale:.15g}")) / scale, x)

    return work


def _matches(cell: Any, wanted: Any) -> bool:
    if cell is None or is_error(cell) or isinstance(cell, bool) != isinstance(wanted, bool):
        return False
    if isinstance(cell, str) != isinstance(wanted, str):
        return False
    return _compare("=", cell, wanted)


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
        if _compare("<=" if way > 0 else ">=", cell, wanted):
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
        return _compare(operator, cell, operand)

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
    return sum(_numbers([[[value for value, fits in picked if fits]]]))


def _sumif(area: Any, wanted: Any, summed: Any = None) -> float:
    fits = _criterion(wanted)
    picked = zip(flat(area), flat(area if summed is None else summed), strict=False)
    return sum(_numbers([[[value for cell, value in picked if fits(cell)]]]))


def _nth(largest: bool) -> Callable[..., float]:
    def work(area: Any, nth: Any) -> float:
        found, at = sorted(_numbers([area]), reverse=largest), number(nth)
        if not 1 <= at <= len(found):
            raise FormulaError("#NUM!")
        return found[math.ceil(at) - 1]

    return work


def _aggregate(kinds: dict[int, Callable[..., Any]]) -> Callable[..., Any]:
    def work(kind: Any, *areas: Any) -> Any:
        chosen = kinds.get(int(number(kind)) % 100)
        if chosen is None:
            raise Unknown("this kind of SUBTOTAL")
        return chosen(*areas)

    return work


def _is(test: Callable[[Any], bool]) -> Callable[[Any], Any]:
    return lambda value: each(test, value)


def _sum(*values: Any) -> float:
    return sum(_numbers(values))


def _count(*values: Any) -> float:
    return float(
        sum(
            isinstance(cell, (int, float)) and not isinstance(cell, bool)
            for value in values
            for cell in flat(value)
        )
    )


def _filled(*values: Any) -> float:
    return float(sum(cell is not None for value in values for cell in flat(value)))


def _least(*values: Any) -> float:
    return min(_numbers(values), default=0.0)


def _most(*values: Any) -> float:
    return max(_numbers(values), default=0.0)


def _logic(rule: Callable[[Iterable[bool]], bool]) -> Callable[..., bool]:
    def work(*values: Any) -> bool:
        return rule(
            [
                truth(cell)
                for value in values
                for cell in flat(value)
                if not (isinstance(value, list) and (cell is None or isinstance(cell, str)))
                or is_error(cell)
            ]
        )

    return work


def _find(folded: bool) -> Callable[..., float]:
    def work(part: Any, whole: Any, start: Any = 1.0) -> float:
        a, b = text(part), text(whole)
        if folded:
            a, b = a.lower(), b.lower()
        at = b.find(a, int(number(start)) - 1)
        if at < 0:
            raise FormulaError("#VALUE!")
        return float(at + 1)

    return work


def _not_available() -> Any:
    raise FormulaError("#N/A")


def _joined(*values: Any) -> str:
    return "".join(text(value) for value in values)


def _number_text(value: Any) -> float:
    return number(value)


def _multiple(way: Callable[[float], float]) -> Callable[..., float]:
    def work(value: Any, step: Any = 1.0) -> float:
        by = number(step)
        return way(float(f"{number(value) / by:.15g}")) * by if by else 0.0

    return work


def _root(value: Any) -> float:
    x = number(value)
    if x < 0:
        raise FormulaError("#NUM!")
    return math.sqrt(x)


def _remainder(value: Any, by: Any) -> float:
    a, b = number(value), number(by)
    if b == 0:
        raise FormulaError("#DIV/0!")
    return a - b * math.floor(a / b)


#: Name -> what it does with its evaluated arguments.
NATIVES: dict[str, Callable[..., Any]] = {
    "SUM": _sum,
    "PRODUCT": lambda *v: math.prod(_numbers(v)) if _numbers(v) else 0.0,
    "SUMPRODUCT": _product,
    "SUBTOTAL": _aggregate({1: _average, 2: _count, 3: _filled, 4: _most, 5: _least, 9: _sum}),
    "AVERAGE": _average,
    "MIN": _least,
    "MAX": _most,
    "COUNT": _count,
    "COUNTA": _filled,
    "COUNTBLANK": lambda area: float(sum(cell in (None, "") for cell in flat(area))),
    "COUNTIF": lambda area, wanted: float(sum(map(_criterion(wanted), flat(area)))),
    "SUMIF": _sumif,
    "SUMIFS": _sumifs,
    "COUNTIFS": lambda *criteria: float(sum(_chosen(criteria))),
    "CHAR": lambda v: chr(int(number(v))),
    "SMALL": _nth(False),
    "LARGE": _nth(True),
    "ABS": lambda v: each(lambda x: abs(number(x)), v),
    "INT": lambda v: float(math.floor(number(v))),
    "ROUND": _round(lambda x: math.floor(x + 0.5)),
    "ROUNDUP": _round(math.ceil),
    "ROUNDDOWN": _round(math.floor),
    "CEILING": _multiple(math.ceil),
    "FLOOR": _multiple(math.floor),
    "MOD": _remainder,
    "SQRT": _root,
    "POWER": lambda a, b: _power(number(a), number(b)),
    "EXP": lambda v: math.exp(number(v)),
    "PI": lambda: math.pi,
    "AND": _logic(all),
    "OR": _logic(any),
    "NOT": lambda v: not truth(v),
    "TRUE": lambda: True,
    "FALSE": lambda: False,
    "NA": _not_available,
    "ISNUMBER": _is(lambda x: isinstance(x, (int, float)) and not isinstance(x, bool)),
    "ISTEXT": _is(lambda x: isinstance(x, str) and not is_error(x)),
    "ISNONTEXT": _is(lambda x: not isinstance(x, str) or is_error(x)),
    "ISLOGICAL": _is(lambda x: isinstance(x, bool)),
    "ISBLANK": _is(lambda x: x is None),
    "ISERROR": _is(is_error),
    "ISERR": _is(lambda x: is_error(x) and x != "#N/A"),
    "ISNA": _is(lambda x: x == "#N/A"),
    "N": lambda v: float(v) if isinstance(v, (int, float)) else 0.0,
    "T": lambda v: v if isinstance(v, str) else "",
    "VALUE": _number_text,
    "INDEX": _index,
    "MATCH": _match,
    "VLOOKUP": _lookup(False),
    "HLOOKUP": _lookup(True),
    "ROWS": lambda area: float(len(area)) if isinstance(area, list) else 1.0,
    "COLUMNS": lambda area: float(len(area[0])) if isinstance(area, list) else 1.0,
    "CONCATENATE": _joined,
    "CONCAT": _joined,
    "LEN": lambda v: each(lambda x: float(len(text(x))), v),
    "TRIM": lambda v: " ".join(text(v).split(" ")).strip(),
    "UPPER": lambda v: text(v).upper(),
    "LOWER": lambda v: text(v).lower(),
    "LEFT": lambda v, n=1.0: text(v)[: int(number(n))],
    "RIGHT": lambda v, n=1.0: text(v)[-int(number(n)) :] if number(n) else "",
    "MID": lambda v, a, n: text(v)[int(number(a)) - 1 : int(number(a)) - 1 + int(number(n))],
    "EXACT": lambda a, b: text(a) == text(b),
    "SUBSTITUTE": lambda v, old, new: text(v).replace(text(old), text(new)),
    "FIND": _find(False),
    "SEARCH": _find(True),
}

#: Functions whose arguments may hold errors without the whole becoming one.
SEES_ERRORS = frozenset(
    ("ISERROR", "ISERR", "ISNA", "ISNUMBER", "ISTEXT", "ISNONTEXT", "ISBLANK", "ISLOGICAL",
     "COUNT", "COUNTA", "COUNTBLANK", "COUNTIF", "COUNTIFS", "SUMIF", "SUMIFS", "MATCH", "INDEX",
     "ROWS", "COLUMNS", "VLOOKUP", "HLOOKUP")
)  # fmt: skip

#: Functions that take a single cell as a range of one.
TAKES_RANGES = frozenset(
    ("SUM", "PRODUCT", "SUMPRODUCT", "SUBTOTAL", "AVERAGE", "MIN", "MAX", "COUNT", "COUNTA",
     "COUNTBLANK", "COUNTIF", "COUNTIFS", "SUMIF", "SUMIFS", "SMALL", "LARGE", "INDEX", "MATCH",
     "VLOOKUP", "HLOOKUP", "ROWS", "COLUMNS", "AND", "OR")
)  # fmt: skip

#: Functions that give another value at every calculation.
VOLATILE = frozenset(("TODAY", "NOW", "RAND", "RANDBETWEEN", "INFO", "CELL"))
