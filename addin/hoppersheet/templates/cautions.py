"""The cautions that every workbook and the README show."""

from __future__ import annotations

__all__ = ["ABOUT_ARGUMENT", "CAUTIONS"]

#: Each one sentence or two, in the order of their weight for the person who reads a quote.
CAUTIONS: tuple[str, ...] = (
    "Drying times and temperatures: the resin maker's data sheet governs.",
    "Bulk densities vary by lot, pellet shape and regrind: measure when it matters. A low density "
    "is safe for volume, a high one for load; never use one number for both without saying so.",
    "The weight of a full hopper on a machine throat, stand or mezzanine is for a licensed "
    "engineer and the local code.",
    "Hot surfaces, combustible dust, entry into hoppers and electrical work: local rules and "
    "qualified people.",
    "A quote is not a process guarantee.",
)

_DATA_SHEET, _DENSITY, _WEIGHT = CAUTIONS[:3]

#: Name of an argument of a cell function -> the caution that belongs to it.
ABOUT_ARGUMENT: dict[str, str] = {
    "drying_hours": _DATA_SHEET,
    "to_temperature": _DATA_SHEET,
    "densities": _DENSITY,
    "bulk_density": _DENSITY,
    "empty_mass": _WEIGHT,
}
