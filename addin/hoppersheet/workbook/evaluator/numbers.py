"""Arithmetic on 15 digits, as spreadsheets do it.

A difference that is nothing but the rounding of its two sides is 0, and two such numbers are equal.
The rule is LibreOffice Calc's (measured with version 7.4; ``tests/workbook/test_arithmetic.py``
asks a real one again): two numbers are equal when they differ by less than 2^-48 of either, which
is about 4e-15, unless both and their difference are whole. Excel's rule is not published; it shows
the same 0 wherever both have been compared.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

__all__ = ["add", "equal", "nearest", "subtract", "total"]

#: Two numbers that differ by less than this share of each are one.
SAME = 2.0**-48
#: From here on a number has no bits left for fractions to speak of.
_NO_FRACTION = 2.0**41
_ALL_WHOLE = 2.0**53
#: Significant digits that a spreadsheet keeps, less one.
_DIGITS = 14


def _whole(x: float) -> bool:
    return abs(x) < _ALL_WHOLE and x == math.floor(x)


def equal(a: float, b: float) -> bool:
    """Whether two numbers are one to a spreadsheet."""
    if a == b:
        return True
    if a == 0.0 or b == 0.0:
        return False
    apart = abs(a - b)
    if not math.isfinite(apart) or apart >= abs(a) * SAME or apart >= abs(b) * SAME:
        return False
    return not (_whole(apart) and _whole(a) and _whole(b))


def add(a: float, b: float) -> float:
    """``a + b``; 0 where only rounding is left of it."""
    return 0.0 if (a < 0.0 < b or b < 0.0 < a) and equal(a, -b) else a + b


def subtract(a: float, b: float) -> float:
    """``a - b``; 0 where only rounding is left of it."""
    return add(a, -b)


def total(numbers: Iterable[float]) -> float:
    """The sum; 0 where the last number leaves only rounding of what stands before it."""
    filled = [x for x in numbers if x != 0.0]
    if not filled:
        return 0.0
    try:
        before, last = math.fsum(filled[:-1]), filled[-1]
        left = add(before, last)
        return math.fsum(filled) if left else 0.0
    except OverflowError:
        return math.inf


def nearest(x: float) -> float:
    """``x`` on 15 digits, for what would jump at a whole number: 434.99999999999994 is 435."""
    size = abs(x)
    if size == 0.0 or not math.isfinite(x) or size > _NO_FRACTION or x == math.floor(x):
        return x
    power = _DIGITS - math.floor(math.log10(size))
    scale = 10.0 ** abs(power)
    scaled = size * scale if power >= 0 else size / scale
    if not math.isfinite(scaled):
        return x
    scaled = math.floor(scaled + 0.5)
    return math.copysign(scaled / scale if power >= 0 else scaled * scale, x)
