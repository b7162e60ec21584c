"""The cautions that every workbook and the README show."""

from __future__ import annotations

__all__ = ["ABOUT_ARGUMENT", "CAUTIONS", "CUSTOMER"]

_MEASURE = "Bulk densities vary by lot, pellet shape and regrind: measure when it matters."
_TWO_DENSITIES = (
    "A low density is safe for volume, a high one for load; never use one number for both without "
    "saying so."
)

#: Each one sentence or two, in the order of their weight for the person who reads a quote.
CAUTIONS: tuple[str, ...] = (
    "Drying times and temperatures: the resin maker's data sheet governs.",
    f"{_MEASURE} {_TWO_DENSITIES}",
    "The weight of a full hopper on a machine throat, stand or mezzanine is for a licensed "
    "engineer and the local code.",
    "Hot surfaces, combustible dust, entry into hoppers and electrical work: local rules and "
    "qualified people.",
    "A quote is not a process guarantee.",
)

_DATA_SHEET, _DENSITY, _WEIGHT = CAUTIONS[:3]

#: The same for whoever reads a quote, without what only concerns whoever sizes; in an order that
#: fills two rows of the page.
CUSTOMER: tuple[str, ...] = (_DATA_SHEET, _MEASURE, CAUTIONS[-1], *CAUTIONS[2:-1])

#: Name of an argument of a cell function -> the caution that belongs to it.
ABOUT_ARGUMENT: dict[str, str] = {
    "drying_hours": _DATA_SHEET,
    "to_temperature": _DATA_SHEET,
    "densities": _DENSITY,
    "bulk_density": _DENSITY,
    "empty_mass": _WEIGHT,
}
