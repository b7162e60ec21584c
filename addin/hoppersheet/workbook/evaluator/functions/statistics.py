"""Counting, means, spread, ranks."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable
from typing import Any

from ..numbers import equal, total
from ..values import FormulaError, flat, is_error, number, numbers_in
from .native import Native, native

__all__ = ["FUNCTIONS"]


def _average(*values: Any) -> float:
    found = numbers_in(values)
    if not found:
        raise FormulaError("#DIV/0!")
    return total(found) / len(found)


def _count(*values: Any) -> float:
    found = 0
    for value in values:
        if isinstance(value, list):
            found += sum(type(cell) is float for cell in flat(value))
        elif not is_error(value):
            try:
                number(value)
                found += 1
            except FormulaError:
                continue
    return float(found)


def _filled(*values: Any) -> float:
    return float(sum(cell is not None for value in values for cell in flat(value)))


def _blank(area: Any) -> float:
    return float(sum(c in (None, "") for c in flat(area)) + getattr(area, "missing", 0))


def _with_all(*values: Any) -> list[float]:
    """The numbers that AVERAGEA and its kin see: TRUE is 1, text is 0."""
    found = []
    for value in values:
        for cell in flat(value):
            if is_error(cell):
                raise FormulaError(cell)
            if cell is not None:
                found.append(0.0 if isinstance(cell, str) else float(cell))
    return found


def _mean_of_all(*values: Any) -> float:
    found = _with_all(*values)
    if not found:
        raise FormulaError("#DIV/0!")
    return total(found) / len(found)


def _some(least: int, code: str, work: Callable[[list[float]], float]) -> Callable[..., float]:
    """A figure of several numbers, an error where there are fewer."""

    def figure(*values: Any) -> float:
        found = numbers_in(values)
        if len(found) < least:
            raise FormulaError(code)
        return float(work(found))

    return figure


def _nth(largest: bool) -> Callable[..., float]:
    def work(area: Any, at: float) -> float:
        found = sorted(numbers_in([area]), reverse=largest)
        index = math.ceil(at) if largest else math.floor(at)
        if not 1 <= index <= len(found):
            raise FormulaError("#NUM!")
        return found[index - 1]

    return work


def _percentile(area: Any, share: float) -> float:
    found = sorted(numbers_in([area]))
    if not found or not 0.0 <= share <= 1.0:
        raise FormulaError("#NUM!")
    index = share * (len(found) - 1)
    low = math.floor(index)
    high = min(low + 1, len(found) - 1)
    return found[low] + (index - low) * (found[high] - found[low])


def _rank(x: float, area: Any, ascending: float = 0.0) -> float:
    found = numbers_in([area])
    if not any(equal(x, other) for other in found):
        raise FormulaError("#N/A")
    before = (o for o in found if not equal(o, x) and (o < x if ascending else o > x))
    return 1.0 + sum(1 for _ in before)


def _mode(found: list[float]) -> float:
    counts: dict[float, int] = {}
    for x in found:
        counts[x] = counts.get(x, 0) + 1
    best = max(counts, key=lambda x: counts[x])
    if counts[best] < 2:
        raise FormulaError("#N/A")
    return best


def _means(work: Callable[[list[float]], float]) -> Callable[[list[float]], float]:
    def mean(found: list[float]) -> float:
        if min(found) <= 0.0:
            raise FormulaError("#NUM!")
        return work(found)

    return mean


def _spread(found: list[float], less: int) -> float:
    mean = math.fsum(found) / len(found)
    return math.fsum((x - mean) ** 2 for x in found) / (len(found) - less)


def _pairs(ys: Any, xs: Any) -> list[tuple[float, float]]:
    a, b = list(flat(ys)), list(flat(xs))
    if len(a) != len(b):
        raise FormulaError("#N/A")
    for cell in (*a, *b):
        if is_error(cell):
            raise FormulaError(cell)
    found = [(y, x) for y, x in zip(a, b, strict=True) if type(y) is type(x) is float]
    if not found:
        raise FormulaError("#DIV/0!")
    return found


def _line(ys: Any, xs: Any) -> tuple[float, float, float]:
    """Slope, intercept and correlation of the straight line through points."""
    pairs = _pairs(ys, xs)
    y_mean, x_mean = (math.fsum(values) / len(pairs) for values in zip(*pairs, strict=True))
    xx = math.fsum((x - x_mean) ** 2 for _, x in pairs)
    yy = math.fsum((y - y_mean) ** 2 for y, _ in pairs)
    xy = math.fsum((x - x_mean) * (y - y_mean) for y, x in pairs)
    if xx == 0.0:
        raise FormulaError("#DIV/0!")
    slope = xy / xx
    return slope, y_mean - slope * x_mean, xy / math.sqrt(xx * yy) if yy else 0.0


def _correlation(ys: Any, xs: Any) -> float:
    slope, _, found = _line(ys, xs)
    if slope == 0.0:
        raise FormulaError("#DIV/0!")
    return found


def _forecast(x: float, ys: Any, xs: Any) -> float:
    slope, intercept, _ = _line(ys, xs)
    return intercept + slope * x


_VARIANCE = _some(2, "#DIV/0!", lambda x: _spread(x, 1))
_VARIANCE_OF_ALL = _some(1, "#DIV/0!", lambda x: _spread(x, 0))
_DEVIATION = _some(2, "#DIV/0!", lambda x: math.sqrt(_spread(x, 1)))
_DEVIATION_OF_ALL = _some(1, "#DIV/0!", lambda x: math.sqrt(_spread(x, 0)))

FUNCTIONS: dict[str, Native] = {
    "AVERAGE": native("|r", _average),
    "AVERAGEA": native("|r", _mean_of_all),
    "COUNT": native("|r", _count),
    "COUNTA": native("|r", _filled),
    "COUNTBLANK": native("r", _blank),
    "MIN": native("|r", lambda *v: min(numbers_in(v), default=0.0)),
    "MAX": native("|r", lambda *v: max(numbers_in(v), default=0.0)),
    "MINA": native("|r", lambda *v: min(_with_all(*v), default=0.0)),
    "MAXA": native("|r", lambda *v: max(_with_all(*v), default=0.0)),
    "MEDIAN": native("|r", _some(1, "#NUM!", statistics.median)),
    "MODE": native("|r", _some(1, "#N/A", _mode)),
    "MODE.SNGL": native("|r", _some(1, "#N/A", _mode)),
    "SMALL": native("rn", _nth(False)),
    "LARGE": native("rn", _nth(True)),
    "PERCENTILE": native("rn", _percentile),
    "PERCENTILE.INC": native("rn", _percentile),
    "QUARTILE": native("rn", lambda area, n: _percentile(area, math.floor(n) / 4)),
    "QUARTILE.INC": native("rn", lambda area, n: _percentile(area, math.floor(n) / 4)),
    "RANK": native("nr?n", _rank),
    "RANK.EQ": native("nr?n", _rank),
    "VAR": native("|r", _VARIANCE),
    "VAR.S": native("|r", _VARIANCE),
    "VARP": native("|r", _VARIANCE_OF_ALL),
    "VAR.P": native("|r", _VARIANCE_OF_ALL),
    "STDEV": native("|r", _DEVIATION),
    "STDEV.S": native("|r", _DEVIATION),
    "STDEVP": native("|r", _DEVIATION_OF_ALL),
    "STDEV.P": native("|r", _DEVIATION_OF_ALL),
    "DEVSQ": native("|r", _some(1, "#NUM!", lambda x: _spread(x, 0) * len(x))),
    "GEOMEAN": native("|r", _some(1, "#NUM!", _means(statistics.geometric_mean))),
    "HARMEAN": native("|r", _some(1, "#NUM!", _means(statistics.harmonic_mean))),
    "SLOPE": native("rr", lambda ys, xs: _line(ys, xs)[0]),
    "INTERCEPT": native("rr", lambda ys, xs: _line(ys, xs)[1]),
    "CORREL": native("rr", _correlation),
    "PEARSON": native("rr", _correlation),
    "RSQ": native("rr", lambda ys, xs: _correlation(ys, xs) ** 2),
    "FORECAST": native("nrr", _forecast),
    "FORECAST.LINEAR": native("nrr", _forecast),
}
