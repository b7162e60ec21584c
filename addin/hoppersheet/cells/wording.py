"""How numbers with units are said to people: rounded, with the unit, the other system beside."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from .quantities import QUANTITIES, SYSTEMS
from .units import HOME_FACTORS

__all__ = ["counted", "in_both", "in_system", "number_writer", "rounded", "to_si", "with_unit"]


@cache
def number_writer(quantity: str, system: str) -> Callable[[float], float]:
    """A function that gives an SI value as the plain number of ``system`` ("US" or "metric").

    Rounded to the 15 significant digits that a spreadsheet shows and stores, so that a round
    number comes out round (36.4, not 36.400000000000006).
    """
    factor, offset = HOME_FACTORS[QUANTITIES[quantity].unit(system)]

    def write(si: float) -> float:
        return float(f"{(si - offset) / factor:.15g}")

    return write


def in_system(si: float, quantity: str, system: str) -> float:
    """One value by :func:`number_writer`."""
    return number_writer(quantity, system)(si)


def to_si(number: float, quantity: str, system: str) -> float:
    """A plain number of ``system`` as an SI value."""
    factor, offset = HOME_FACTORS[QUANTITIES[quantity].unit(system)]
    return number * factor + offset


def counted(count: int, what: str) -> str:
    """``"1 finding"``, ``"2 findings"``."""
    return f"{count} {what}{'s' * (count != 1)}"


def rounded(number: float, digits: int = 4) -> str:
    """A number with ``digits`` significant digits, without an exponent in the trade's range."""
    if number == 0:
        return "0"
    text = f"{number:.{digits}g}"
    return f"{number:.0f}" if "e+" in text and abs(number) < 1e15 else text


def with_unit(si: float, quantity: str, system: str, digits: int = 4) -> str:
    """``"21.15 ft3"``; a plain ratio is said without a unit."""
    unit = QUANTITIES[quantity].unit(system)
    text = rounded(in_system(si, quantity, system), digits)
    return text if unit == "1" else f"{text} {unit}"


def in_both(si: float, quantity: str, system: str, digits: int = 4) -> str:
    """``"21.15 ft3 (599 L)"``: the system of the sheet first, the other one in brackets."""
    first = with_unit(si, quantity, system, digits)
    other = SYSTEMS[1] if system == SYSTEMS[0] else SYSTEMS[0]
    measure = QUANTITIES[quantity]
    if measure.us == measure.metric:
        return first
    return f"{first} ({with_unit(si, quantity, other, digits)})"
