"""CONVERT: the units that somebody who sizes hoppers converts with the spreadsheet's own function.

Names of units after ECMA-376 part 1, 18.17.7 (CONVERT); factors are exact by definition: the
international yard and pound (1959), BIPM SI Brochure 9th edition, table 8, and for horsepower and
the thermal unit NIST SP 811 (2008), appendix B.
"""

from __future__ import annotations

from ..values import FormulaError, Unknown
from .native import Native, native

__all__ = ["FUNCTIONS"]

_POUND, _FOOT, _INCH = 0.45359237, 0.3048, 0.0254
_GALLON = 231 * _INCH**3
_FOOT_POUND = 9.80665 * _POUND * _FOOT
_BTU = 1055.05585262

#: kind -> unit -> its size in the kind's first unit.
_UNITS: dict[str, dict[str, float]] = {
    "mass": {"g": 1.0, "lbm": 1000 * _POUND, "ozm": 1000 * _POUND / 16, "ton": 2e6 * _POUND,
             "grain": _POUND / 7, "stone": 14_000 * _POUND},
    "length": {"m": 1.0, "ft": _FOOT, "in": _INCH, "yd": 3 * _FOOT, "mi": 5280 * _FOOT,
               "Nmi": 1852.0},
    "time": {"sec": 1.0, "s": 1.0, "mn": 60.0, "min": 60.0, "hr": 3600.0, "day": 86_400.0,
             "d": 86_400.0, "yr": 31_557_600.0},
    "volume": {"l": 1.0, "L": 1.0, "lt": 1.0, "gal": 1000 * _GALLON, "qt": 250 * _GALLON,
               "pt": 125 * _GALLON, "cup": 62.5 * _GALLON, "m3": 1000.0, "m^3": 1000.0,
               "ft3": 1000 * _FOOT**3, "ft^3": 1000 * _FOOT**3, "in3": 1000 * _INCH**3,
               "in^3": 1000 * _INCH**3, "yd3": 27_000 * _FOOT**3, "yd^3": 27_000 * _FOOT**3},
    "area": {"m2": 1.0, "m^2": 1.0, "ft2": _FOOT**2, "ft^2": _FOOT**2, "in2": _INCH**2,
             "in^2": _INCH**2, "ha": 10_000.0},
    "pressure": {"Pa": 1.0, "p": 1.0, "atm": 101_325.0, "at": 101_325.0,
                 "psi": 9.80665 * _POUND / _INCH**2},
    "energy": {"J": 1.0, "BTU": _BTU, "btu": _BTU, "Wh": 3600.0, "wh": 3600.0, "cal": 4.1868,
               "c": 4.184, "flb": _FOOT_POUND},
    "power": {"W": 1.0, "w": 1.0, "HP": 550 * _FOOT_POUND, "h": 550 * _FOOT_POUND},
    "speed": {"m/s": 1.0, "m/sec": 1.0, "m/h": 1 / 3600, "m/hr": 1 / 3600,
              "mph": 5280 * _FOOT / 3600, "kn": 1852 / 3600},
}  # fmt: skip
#: Units that the prefixes of the metric system go before.
_METRIC = frozenset(("g", "m", "sec", "s", "l", "L", "lt", "Pa", "p", "J", "W", "w", "Wh", "wh",
                     "cal", "c", "m/s", "m/sec", "m/h", "m/hr"))  # fmt: skip
_PREFIXES = {
    "G": 1e9, "M": 1e6, "k": 1e3, "h": 1e2, "d": 1e-1, "c": 1e-2, "m": 1e-3, "u": 1e-6, "n": 1e-9,
}  # fmt: skip
_CELSIUS, _FAHRENHEIT, _KELVIN = ("C", "cel"), ("F", "fah"), ("K", "kel")


def _size(unit: str) -> tuple[str, float]:
    """(kind, size) of a unit, also with a metric prefix."""
    for kind, units in _UNITS.items():
        if unit in units:
            return kind, units[unit]
    rest = unit[1:]
    if unit[:1] in _PREFIXES and rest in _METRIC:
        kind, size = _size(rest)
        return kind, size * _PREFIXES[unit[0]]
    raise Unknown(f"CONVERT with the unit {unit!r}")


def _convert(x: float, old: str, new: str) -> float:
    degrees = (*_CELSIUS, *_FAHRENHEIT, *_KELVIN)
    if old in degrees or new in degrees:
        if old not in degrees or new not in degrees:
            raise FormulaError("#N/A")
        celsius = x if old in _CELSIUS else x - 273.15 if old in _KELVIN else (x - 32) / 1.8
        if new in _CELSIUS:
            return celsius
        return celsius * 1.8 + 32 if new in _FAHRENHEIT else celsius + 273.15
    (kind, size), (other, to) = _size(old), _size(new)
    if kind != other:
        raise FormulaError("#N/A")
    return x * size / to


FUNCTIONS: dict[str, Native] = {"CONVERT": native("ntt", _convert)}
