"""Payments and present values, for books that also say what a hopper costs a month."""

from __future__ import annotations

import math
from typing import Any

from ..numbers import total
from ..values import FormulaError, numbers_in
from .native import Native, native

__all__ = ["FUNCTIONS"]


def _growth(rate: float, periods: float) -> float:
    try:
        return float((1.0 + rate) ** periods)
    except (OverflowError, ZeroDivisionError, TypeError):
        raise FormulaError("#NUM!") from None


def _factor(rate: float, periods: float, due: float) -> float:
    """What payments of 1 grow to: the sum of a geometric series."""
    if rate == 0.0:
        return periods
    return (_growth(rate, periods) - 1.0) / rate * (1.0 + rate * bool(due))


def _payment(
    rate: float, periods: float, present: float, future: float = 0.0, due: float = 0.0
) -> float:
    if periods == 0.0:
        raise FormulaError("#NUM!")
    return -(present * _growth(rate, periods) + future) / _factor(rate, periods, due)


def _future(
    rate: float, periods: float, payment: float, present: float = 0.0, due: float = 0.0
) -> float:
    return -(present * _growth(rate, periods) + payment * _factor(rate, periods, due))


def _present(
    rate: float, periods: float, payment: float, future: float = 0.0, due: float = 0.0
) -> float:
    return -(future + payment * _factor(rate, periods, due)) / _growth(rate, periods)


def _periods(
    rate: float, payment: float, present: float, future: float = 0.0, due: float = 0.0
) -> float:
    if rate == 0.0:
        if payment == 0.0:
            raise FormulaError("#NUM!")
        return -(present + future) / payment
    level = payment * (1.0 + rate * bool(due)) / rate
    try:
        return math.log((level - future) / (level + present)) / math.log1p(rate)
    except (ValueError, ZeroDivisionError):
        raise FormulaError("#NUM!") from None


def _net_present(rate: float, *values: Any) -> float:
    if rate == -1.0:
        raise FormulaError("#DIV/0!")
    return total(x / _growth(rate, at) for at, x in enumerate(numbers_in(values), 1))


FUNCTIONS: dict[str, Native] = {
    "PMT": native("nnn?nn", _payment),
    "FV": native("nnn?nn", _future),
    "PV": native("nnn?nn", _present),
    "NPER": native("nnn?nn", _periods),
    "NPV": native("n|r", _net_present),
}
