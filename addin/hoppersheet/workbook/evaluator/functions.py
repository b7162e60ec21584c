"""The spreadsheet's own functions that sizing sheets use, on plain cell values."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from typing import Any

from ...cells.values import is_error
from .lookups import LOOKUPS
from .operators import each, power
from .values import FormulaError, Unknown, flat, number, numbers_in, text, truth

__all__ = ["NATIVES", "SEES_ERRORS", "TAKES_RANGES", "VOLATILE"]


def _average(*values: Any) -> float:
    found = numbers_in(values)
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


def _round(way: Callable[[float], float]) -> Callable[..., Any]:
    def one(value: Any, digits: Any) -> float:
        x, scale = number(value), 10.0 ** int(number(digits))
        # 15 digits, so that 2.675 counts as the spreadsheet shows it
        return math.copysign(way(float(f"{abs(x) * scale:.15g}")) / scale, x)

    def work(value: Any, digits: Any = 0.0) -> Any:
        return each(lambda x: one(x, digits), value)

    return work


def _date(value: Any) -> Any:
    """The day that a serial number means; what a program makes of a text is not known here."""
    from openpyxl.utils.datetime import from_excel

    if isinstance(value, str):
        raise Unknown("the date in a text")
    serial = math.floor(number(value))
    if serial < 61:  # before March 1900 the programs disagree
        raise Unknown("a date before March 1900")
    return from_excel(serial)


def _shown(value: Any, form: Any) -> str:
    """TEXT, for the plainest of formats; others are not known here."""
    x, wanted = number(value), text(form)
    if wanted.lower() == "yyyy-mm-dd":
        return f"{_date(x):%Y-%m-%d}"
    found = re.fullmatch(r"(#,##)?0(?:\.(0+))?(%?)", wanted)
    if found is None:
        raise Unknown(f"TEXT with the format {wanted!r}")
    digits = len(found[2] or "")
    rounded = _round(lambda y: math.floor(y + 0.5))(x * (100 if found[3] else 1), digits)
    return f"{rounded:{',' if found[1] else ''}.{digits}f}{found[3]}"


def _nth(largest: bool) -> Callable[..., float]:
    def work(area: Any, nth: Any) -> float:
        found, at = sorted(numbers_in([area]), reverse=largest), number(nth)
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
    return sum(numbers_in(values))


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
    return min(numbers_in(values), default=0.0)


def _most(*values: Any) -> float:
    return max(numbers_in(values), default=0.0)


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


def _logarithm(x: float) -> float:
    if x <= 0:
        raise FormulaError("#NUM!")
    return math.log(x)


def _remainder(value: Any, by: Any) -> float:
    a, b = number(value), number(by)
    if b == 0:
        raise FormulaError("#DIV/0!")
    return a - b * math.floor(a / b)


#: Name -> what it does with its evaluated arguments.
NATIVES: dict[str, Callable[..., Any]] = {
    **LOOKUPS,
    "SUM": _sum,
    "PRODUCT": lambda *v: math.prod(numbers_in(v)) if numbers_in(v) else 0.0,
    "SUMPRODUCT": _product,
    "SUBTOTAL": _aggregate({1: _average, 2: _count, 3: _filled, 4: _most, 5: _least, 9: _sum}),
    "AVERAGE": _average,
    "MIN": _least,
    "MAX": _most,
    "COUNT": _count,
    "COUNTA": _filled,
    "COUNTBLANK": lambda area: float(sum(cell in (None, "") for cell in flat(area))),
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
    "POWER": lambda a, b: power(number(a), number(b)),
    "LN": lambda v: _logarithm(number(v)),
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
    "TEXT": _shown,
    "YEAR": lambda v: float(_date(v).year),
    "MONTH": lambda v: float(_date(v).month),
    "DAY": lambda v: float(_date(v).day),
    "T": lambda v: v if isinstance(v, str) else "",
    "VALUE": _number_text,
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
     "ROWS", "COLUMNS", "VLOOKUP", "HLOOKUP", "XLOOKUP")
)  # fmt: skip

#: Functions that take a single cell as a range of one.
TAKES_RANGES = frozenset(
    ("SUM", "PRODUCT", "SUMPRODUCT", "SUBTOTAL", "AVERAGE", "MIN", "MAX", "COUNT", "COUNTA",
     "COUNTBLANK", "COUNTIF", "COUNTIFS", "SUMIF", "SUMIFS", "SMALL", "LARGE", "INDEX", "MATCH",
     "VLOOKUP", "HLOOKUP", "XLOOKUP", "ROWS", "COLUMNS", "AND", "OR")
)  # fmt: skip

#: Functions that give another value at every calculation.
VOLATILE = frozenset(("TODAY", "NOW", "RAND", "RANDBETWEEN", "INFO", "CELL"))
