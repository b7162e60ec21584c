"""Which of the two unit systems a unit belongs to."""

from __future__ import annotations

from ..cells.units import canonical
from .job_words import tidy_unit

__all__ = ["unit_system"]


def unit_system(unit: str) -> str:
    """ "US", "metric", or "" for a unit that both systems use."""
    words = canonical(tidy_unit(unit)).replace("/", " ").replace("*", " ").split()
    if any(w in _US_WORDS or w.startswith(("pound", "ounce", "gallon", "cu")) for w in words):
        return "US"
    return "metric" if any(w in _METRIC_WORDS for w in words) else ""


_US_WORDS = frozenset(
    [
        "lb",
        "lbs",
        "oz",
        "ft3",
        "in3",
        "yd3",
        "ft",
        "foot",
        "feet",
        "in",
        "gal",
        "gallon",
        "gallons",
        "pcf",
        "pph",
        "pps",
        "ft/min",
        "fpm",
        "degf",
        "f",
        "cf",
        "cuft",
    ]
)
_METRIC_WORDS = frozenset(
    [
        "kg",
        "kgs",
        "kilo",
        "kilos",
        "kilogram",
        "kilograms",
        "g",
        "gram",
        "grams",
        "t",
        "tonne",
        "tonnes",
        "mg",
        "l",
        "liter",
        "liters",
        "litre",
        "litres",
        "dm3",
        "ml",
        "cc",
        "cm3",
        "hl",
        "m3",
        "m",
        "cm",
        "mm",
        "degc",
        "c",
        "celsius",
    ]
)
