"""What each quantity is: its unit in SI and per unit system, hard limits, typical range.

The table is data. Limits are in the SI unit of the row. A value outside the *hard* limits is
refused (``#NUM!``): the limits are set so that the slips people make fall outside. A value
outside the *typical* range is computed and reported by the audit and by HOPPER_EXPLAIN.

All limits and typical ranges are common practice, no source, unless the row says otherwise.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["QUANTITIES", "SYSTEMS", "Quantity"]

#: The two unit systems a cell function can compute in, as the user types them.
SYSTEMS = ("US", "metric")


class Quantity(NamedTuple):
    """One physical quantity of the trade.

    Attributes:
        name: as a user would say it, e.g. ``"bulk density"``.
        si: SI unit that the sizing functions compute in.
        us, metric: unit of plain numbers in each system, spelled as in :mod:`units`.
        low, high: hard limits in SI, both allowed.
        typical: (low, high) in SI outside which a value deserves a second look.
        hint: what a value outside the limits usually turns out to be.
    """

    name: str
    si: str
    us: str
    metric: str
    low: float
    high: float
    typical: tuple[float, float] | None = None
    hint: str = ""

    @property
    def called(self) -> str:
        """The name as a message says it: a length that may be zero is still a length."""
        return self.name.removesuffix(" or zero")

    def unit(self, system: str) -> str:
        """Unit of plain numbers in ``system`` ("US" or "metric")."""
        return self.us if system == "US" else self.metric


_HOUR = 3600.0
_LB = 0.45359237
_FT3 = 0.3048**3
_CFM = _FT3 / 60.0

_ROWS = (
    Quantity(
        "bulk density", "kg/m3", "lb/ft3", "kg/L", 30.0, 3000.0, (200.0, 950.0),
        "a density in g/cm3 or kg/m3 typed where lb/ft3 is expected, "
        "or in lb/ft3 or kg/m3 where kg/L is",
    ),
    Quantity(
        "throughput", "kg/s", "lb/h", "kg/h", 1e-3 * _LB / _HOUR, 1e6 / _HOUR,
        (5 / _HOUR, 5000 / _HOUR),
        "a throughput per day or per second typed where an hourly one is expected",
    ),
    Quantity(
        "drying hours", "s", "h", "h", 0.75 * _HOUR, 72 * _HOUR, (1 * _HOUR, 12 * _HOUR),
        "a clock time (4:00 is the number 0.1667; type 4) or minutes typed for hours",
    ),
    Quantity("residence time", "s", "h", "h", 0.0, 1e15, None, "a time in another unit"),
    Quantity("volume", "m3", "ft3", "L", 1e-4, 1e4, (0.01, 30.0), "a volume in another unit"),
    Quantity("mass", "kg", "lb", "kg", 1e-3, 1e7, None, "a mass in another unit"),
    # Empty equipment may stand on a scale that reads zero, so this one allows 0.
    Quantity("empty mass", "kg", "lb", "kg", 0.0, 1e6, None, "a mass in another unit"),
    Quantity(
        "sample mass", "kg", "g", "g", 1e-3, 20.0, (0.02, 5.0),
        "a mass in kg or lb typed where grams are expected",
    ),
    Quantity(
        "cup volume", "m3", "cm3", "cm3", 1e-5, 0.05, (9.9e-5, 1.1e-3),
        "a volume in liters typed where cm3 is expected",
    ),
    Quantity(
        "shot mass", "kg", "g", "g", 1e-5, 100.0, (1e-3, 10.0),
        "a mass in kg or lb typed where grams are expected",
    ),
    Quantity(
        "cycle time", "s", "s", "s", 0.5, 3600.0, (3.0, 180.0),
        "a cycle time in minutes typed where seconds are expected",
    ),
    Quantity(
        "mass per length", "kg/m", "lb/ft", "kg/m", 1e-5, 1e3, (0.01, 50.0),
        "a mass per length in another unit",
    ),
    Quantity(
        "line speed", "m/s", "ft/min", "m/min", 1e-5, 50.0, (0.1 / 60, 300 / 60),
        "a line speed in another unit",
    ),
    Quantity("length", "m", "ft", "m", 1e-3, 30.0, (0.05, 6.0), "a length in inches, cm or mm"),
    # A hopper can be all cone, or a cone can close to a point: these allow 0.
    Quantity(
        "length or zero", "m", "ft", "m", 0.0, 30.0, (0.0, 6.0), "a length in inches, cm or mm"
    ),
    Quantity(
        "altitude", "m", "ft", "m", -500.0, 5000.0, (-100.0, 3000.0), "an altitude in another unit"
    ),
    Quantity("cone angle", "deg", "deg", "deg", 10.0, 150.0, (40.0, 75.0), "an angle in radians"),
    Quantity(
        # Resins are dried below 200 degC; the lowest room in kelvin is 233.
        "temperature", "degC", "degF", "degC", -100.0, 220.0, (-20.0, 190.0),
        "a temperature in kelvin, or in degF where degC is expected",
    ),
    Quantity(
        # 60 degC refuses most room temperatures in degF typed into a metric sheet.
        "room temperature", "degC", "degF", "degC", -100.0, 60.0, (-5.0, 45.0),
        "a temperature in degF where degC is expected, or in kelvin",
    ),
    Quantity(
        "specific airflow", "m3/kg", "cfm/(lb/h)", "m3/h/(kg/h)", 1.05, 10.0, (1.5, 4.5),
        # 1 cfm per lb/h is 3.7 m3/h per kg/h: either typed into the other system is refused.
        "the other system's figure (1 cfm per lb/h is 3.746 m3/h per kg/h), or the airflow of the "
        "whole hopper",
    ),
    Quantity("airflow", "m3/s", "cfm", "m3/h", 1e-7, 1e3, None, "an airflow in another unit"),
    Quantity(
        "specific heat", "J/(kg K)", "Btu/(lb degF)", "kJ/(kg K)", 700.0, 3500.0, (900.0, 2500.0),
        # 0.9 to 2.5 kJ/(kg K) is 0.21 to 0.6 Btu/(lb degF): the ranges do not overlap.
        "the other system's figure (0.3 Btu/(lb degF) is 1.256 kJ/(kg K)), or one in J/(kg K)",
    ),
    Quantity("heat", "W", "Btu/h", "kW", 0.0, 1e8, None, "a heat flow in another unit"),
    Quantity(
        "humidity ratio", "kg/kg", "lb/lb", "kg/kg", 0.0, 1.0, None,
        "a humidity ratio in grains per pound or g/kg",
    ),
    # Plain ratios: the same number in both systems.
    Quantity(
        "relative humidity", "1", "1", "1", 0.0005, 1.0, (0.1, 0.9),
        "a percentage typed as a whole number: 50 % is 0.5, or the text 50 %",
    ),
    Quantity(
        # PA6 takes up 9.5 % (from memory), the most of all; a blank that arrives as 0 is refused.
        "moisture", "1", "1", "1", 1e-6, 0.099, (1e-5, 0.015),
        "a percentage typed as a whole number: 0.2 % is 0.002, or the text 0.2 %",
    ),
    Quantity(
        # A lone percentage may be off by the 0.1 % that a sum of shares may be off.
        "share", "1", "1", "1", 0.0, 100.1
    ),
    Quantity(
        "density ratio", "1", "1", "1", 0.1, 1.2, (0.4, 0.8),
        "a percentage typed as a whole number: half is 0.5",
    ),
    Quantity(
        "reserve", "1", "1", "1", 0.0, 1.0, (0.0, 0.5),
        "a percentage typed as a whole number: 10 % is 0.1, or the text 10 %",
    ),
    Quantity(
        "shortfall", "1", "1", "1", 0.0, 0.5, (0.0, 0.1),
        "a percentage typed as a whole number: 5 % is 0.05, or the text 5 %",
    ),
    Quantity("chance", "1", "1", "1", 0.0, 1.0),
    Quantity("margin", "1", "1", "1", -1.0, 1e9),
    Quantity("spread", "1", "1", "1", 0.0, 1e9),
    Quantity("parts per hour", "1", "1", "1", 1e-3, 1e6, (1.0, 20_000.0)),
    Quantity("count", "1", "1", "1", 1.0, 1000.0, (1.0, 20.0)),
)  # fmt: skip

#: name -> Quantity
QUANTITIES: dict[str, Quantity] = {row.name: row for row in _ROWS}
