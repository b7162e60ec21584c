"""Sums, products, rounding, powers, angles."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from ..numbers import add, equal, nearest, total
from ..operators import power
from ..values import FormulaError, Unknown, flat, number, numbers_in, table
from .native import Native, native

__all__ = ["FUNCTIONS", "ceiling", "floor", "rounded"]

_MOST_CELLS = 1_000_000


def floor(x: float) -> float:
    """The whole number below, on 15 digits."""
    return float(math.floor(nearest(x)))


def ceiling(x: float) -> float:
    """The whole number above, on 15 digits."""
    return float(math.ceil(nearest(x)))


def rounded(x: float, digits: int, way: Callable[[float], float]) -> float:
    """``x`` brought to a number of decimals in a way of its own."""
    if x == 0.0 or (digits >= 0 and x == math.floor(x)):
        return x
    scale = 10.0 ** abs(digits)
    size = abs(x)
    size = size * scale if digits >= 0 else size / scale
    if not math.isfinite(size):
        return x
    size = way(size)
    return math.copysign(size / scale if digits >= 0 else size * scale, x)


def _rounding(way: Callable[[float], float]) -> Callable[..., float]:
    return lambda x, digits=0.0: rounded(x, max(-308, min(308, math.trunc(digits))), way)


def _half_up(size: float) -> float:
    return floor(size + 0.5)


def _sum(*values: Any) -> float:
    # Calc takes the last argument first, which decides what cancels
    return total(numbers_in(reversed(values)))


def _product(*values: Any) -> float:
    found = numbers_in(values)
    return math.prod(found) if found else 0.0


def _factor(cell: Any, alone: bool) -> float:
    """A cell in a product; texts count as 0, and TRUE too where it stands beside other arrays."""
    if type(cell) is float:
        return cell
    if isinstance(cell, bool):
        return float(cell) if alone else 0.0
    return number(cell) if not isinstance(cell, str) or cell[:1] == "#" else 0.0


def _sum_of_products(*arrays: Any) -> float:
    areas = [table(a) for a in arrays]
    shape = (len(areas[0]), len(areas[0][0]))
    if any((len(a), len(a[0])) != shape for a in areas):
        raise FormulaError("#VALUE!")
    if len(areas) == 1:
        return total([_factor(cell, True) for row in areas[0] for cell in row])
    terms = []
    for cells in zip(*(flat(a) for a in areas), strict=True):
        term = 1.0
        for cell in cells:
            term *= _factor(cell, False)
        terms.append(term)
    return total(terms)


def _multiple(way: Callable[[float], float]) -> Callable[..., float]:
    def work(x: float, step: float = 1.0) -> float:
        if step == 0.0 and x != 0.0 and way is floor:
            raise FormulaError("#DIV/0!")
        if step == 0.0 or x == 0.0:
            return 0.0
        if x > 0.0 > step:
            raise FormulaError("#NUM!")
        return way(x / step) * step

    return work


def _multiple_of_size(up: bool) -> Callable[..., float]:
    """CEILING.MATH and FLOOR.MATH: towards larger or smaller numbers, unless a mode says else."""

    def work(x: float, step: float = 1.0, mode: float = 0.0) -> float:
        step = abs(step)
        if step == 0.0:
            return 0.0
        away = mode != 0.0 and x < 0.0
        return (ceiling if up != away else floor)(x / step) * step

    return work


def _to_multiple(x: float, step: float) -> float:
    if step == 0.0 or x == 0.0:
        return 0.0
    if (x < 0.0) != (step < 0.0):
        raise FormulaError("#NUM!")
    return step * floor(x / step + 0.5)


def _to_parity(odd: int) -> Callable[[float], float]:
    def work(x: float) -> float:
        size = ceiling(abs(x))
        size += (size % 2) != odd
        return math.copysign(size, x)

    return work


def _remainder(a: float, b: float) -> float:
    if b == 0.0:
        raise FormulaError("#DIV/0!")
    left = add(a, -floor(a / b) * b)
    return 0.0 if equal(left, b) else left


def _quotient(a: float, b: float) -> float:
    if b == 0.0:
        raise FormulaError("#DIV/0!")
    return float(math.trunc(a / b))


def _guarded(work: Callable[..., float], *arguments: float) -> float:
    try:
        return float(work(*arguments))
    except (ValueError, OverflowError):
        raise FormulaError("#NUM!") from None


def _of(work: Callable[..., float]) -> Callable[..., float]:
    """A function of the math module, with an error where it has no value."""
    return lambda *arguments: _guarded(work, *arguments)


def _logarithm(x: float, base: float = 10.0) -> float:
    if x <= 0.0 or base <= 0.0:
        raise FormulaError("#NUM!")
    if base == 1.0:
        raise FormulaError("#DIV/0!")
    return math.log10(x) if base == 10.0 else math.log(x) / math.log(base)


def _angle(x: float, y: float) -> float:
    if x == 0.0 and y == 0.0:
        raise FormulaError("#DIV/0!")
    return math.atan2(y, x)


def _whole(*values: float) -> list[int]:
    if any(value < 0.0 for value in values):
        raise FormulaError("#NUM!")
    return [math.floor(value) for value in values]


def _factorial(x: float) -> float:
    (n,) = _whole(x)
    if n > 170:
        raise FormulaError("#NUM!")
    return float(math.factorial(n))


def _combinations(n: float, k: float) -> float:
    a, b = _whole(n, k)
    if b > a:
        raise FormulaError("#NUM!")
    return _guarded(math.comb, a, b)


def _transposed(area: Any) -> Any:
    return [list(column) for column in zip(*table(area), strict=True)]


def _matrix_product(left: Any, right: Any) -> list[list[Any]]:
    a, b = table(left), table(right)
    if len(a[0]) != len(b) or any(type(c) is not float for m in (a, b) for c in flat(m)):
        raise FormulaError("#VALUE!")
    return [[math.fsum(x * y for x, y in zip(row, c, strict=True)) for c in zip(*b, strict=True)]
            for row in a]  # fmt: skip


def _sequence(
    rows: float, columns: float = 1.0, start: float = 1.0, step: float = 1.0
) -> list[list[float]]:
    r, c = math.floor(rows), math.floor(columns)
    if r < 1 or c < 1:
        raise FormulaError("#VALUE!")
    if r * c > _MOST_CELLS:
        raise Unknown(f"SEQUENCE of {r * c} cells")
    return [[start + step * (i * c + j) for j in range(c)] for i in range(r)]


def _pairs(term: Callable[[float, float], float]) -> Callable[[Any, Any], float]:
    def work(left: Any, right: Any) -> float:
        a, b = list(flat(left)), list(flat(right))
        if len(a) != len(b):
            raise FormulaError("#N/A")
        pairs = [(x, y) for x, y in zip(a, b, strict=True) if type(x) is type(y) is float]
        return total(term(x, y) for x, y in pairs)

    return work


FUNCTIONS: dict[str, Native] = {
    "SUM": native("|r", _sum),
    "PRODUCT": native("|r", _product),
    "SUMPRODUCT": native("|r", _sum_of_products, arrays=True),
    "SUMSQ": native("|r", lambda *v: total(x * x for x in numbers_in(v))),
    "SUMXMY2": native("rr", _pairs(lambda x, y: (x - y) ** 2), arrays=True),
    "SUMX2MY2": native("rr", _pairs(lambda x, y: x * x - y * y), arrays=True),
    "SUMX2PY2": native("rr", _pairs(lambda x, y: x * x + y * y), arrays=True),
    "ABS": native("n", abs),
    "SIGN": native("n", lambda x: float((x > 0) - (x < 0))),
    "INT": native("n", floor),
    "TRUNC": native("n?n", _rounding(floor)),
    "ROUND": native("n?n", _rounding(_half_up)),
    "ROUNDUP": native("n?n", _rounding(ceiling)),
    "ROUNDDOWN": native("n?n", _rounding(floor)),
    "MROUND": native("nn", _to_multiple),
    "CEILING": native("n?n", _multiple(ceiling)),
    "FLOOR": native("n?n", _multiple(floor)),
    "CEILING.MATH": native("n?nn", _multiple_of_size(True)),
    "FLOOR.MATH": native("n?nn", _multiple_of_size(False)),
    "CEILING.PRECISE": native("n?n", _multiple_of_size(True)),
    "FLOOR.PRECISE": native("n?n", _multiple_of_size(False)),
    "ISO.CEILING": native("n?n", _multiple_of_size(True)),
    "EVEN": native("n", _to_parity(0)),
    "ODD": native("n", _to_parity(1)),
    "MOD": native("nn", _remainder),
    "QUOTIENT": native("nn", _quotient),
    "GCD": native("|r", lambda *v: float(math.gcd(*_whole(*numbers_in(v))))),
    "LCM": native("|r", lambda *v: float(math.lcm(*_whole(*numbers_in(v))))),
    "FACT": native("n", _factorial),
    "COMBIN": native("nn", _combinations),
    "SQRT": native("n", _of(math.sqrt)),
    "POWER": native("nn", power),
    "EXP": native("n", _of(math.exp)),
    "LN": native("n", _of(math.log)),
    "LOG": native("n?n", _logarithm),
    "LOG10": native("n", _of(math.log10)),
    "PI": native("", lambda: math.pi),
    "SIN": native("n", _of(math.sin)),
    "COS": native("n", _of(math.cos)),
    "TAN": native("n", _of(math.tan)),
    "ASIN": native("n", _of(math.asin)),
    "ACOS": native("n", _of(math.acos)),
    "ATAN": native("n", _of(math.atan)),
    "ATAN2": native("nn", _angle),
    "SINH": native("n", _of(math.sinh)),
    "COSH": native("n", _of(math.cosh)),
    "TANH": native("n", _of(math.tanh)),
    "DEGREES": native("n", math.degrees),
    "RADIANS": native("n", math.radians),
    "TRANSPOSE": native("r", _transposed, arrays=True),
    "MMULT": native("rr", _matrix_product, arrays=True),
    "SEQUENCE": native("n?nnn", _sequence),
}
