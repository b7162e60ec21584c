"""Volume, residence time, throughput and mass of a hopper: one equation, solved four ways.

``volume x bulk_density = throughput x hours``
"""

from __future__ import annotations

from ..registry import Argument, Example, Result, cell_function

__all__ = [
    "BULK_DENSITY",
    "DRYING_HOURS",
    "THROUGHPUT",
    "VOLUME",
    "held_hours",
    "held_mass",
    "max_throughput",
    "rated_volume",
    "required_volume",
]

THROUGHPUT = Argument("throughput", "Resin throughput, lb/h (metric kg/h).", "throughput")
DRYING_HOURS = Argument(
    "drying_hours",
    "Drying time in hours as a number (4, not 4:00), 0.75 to 72; the resin maker's data sheet "
    "governs.",
    "drying hours",
)
BULK_DENSITY = Argument(
    "bulk_density", "Bulk density of what is in the hopper, lb/ft3 (metric kg/L).", "bulk density"
)
VOLUME = Argument("volume", "Volume of the hopper, ft3 (metric L).", "volume")
_USABLE = VOLUME._replace(text="Usable volume of the hopper, ft3 (metric L).")

_PLUG_FLOW = (
    "Plug flow: all resin moves down at the same pace, and it fills the whole volume. A volume is "
    "the usable one, without what the fill level, the cone of repose or a diffuser leaves empty."
)
_IDENTITY = (
    "arithmetic identity; dwell time = hopper capacity / throughput is standard in the trade"
)


@cell_function(
    "HOPPER_REQUIRED_VOLUME",
    question="How large must the hopper be?",
    summary="Hopper volume that holds the resin for the drying hours at the throughput.",
    arguments=(
        THROUGHPUT,
        DRYING_HOURS,
        BULK_DENSITY,
        Argument(
            "reserve",
            "Extra volume as a fraction, 0 to 1; 0 when left out (0.1 is 10 %).",
            "reserve",
            default=0,
        ),
    ),
    result=Result("required volume", "volume"),
    equation="throughput x drying_hours / bulk_density x (1 + reserve)",
    plain="{throughput}*{drying_hours}/{bulk_density}*(1+{reserve})",
    assumptions=_PLUG_FLOW,
    source=_IDENTITY,
    example=Example((220, 3.5, 36.4), 770 / 36.4, "arithmetic identity: 770 lb over 36.4 lb/ft3"),
    see_also=("HOPPER_BLEND_DENSITY", "HOPPER_NEXT_SIZE", "HOPPER_HELD_HOURS"),
)
def required_volume(
    throughput: float, drying_hours: float, bulk_density: float, reserve: float
) -> float:
    """Volume in m3 from kg/s, s and kg/m3."""
    return throughput * drying_hours / bulk_density * (1.0 + reserve)


@cell_function(
    "HOPPER_HELD_HOURS",
    question="How many hours does this hopper really hold?",
    summary="Residence time (hours held) that a hopper volume really gives.",
    arguments=(_USABLE, BULK_DENSITY, THROUGHPUT),
    result=Result("residence time", "residence time"),
    equation="volume x bulk_density / throughput",
    plain="{volume}*{bulk_density}/{throughput}",
    assumptions=_PLUG_FLOW,
    source=_IDENTITY,
    example=Example((20, 36.4, 220), 728 / 220, "arithmetic identity: 728 lb at 220 lb/h"),
    see_also=("HOPPER_REQUIRED_VOLUME", "HOPPER_MAX_THROUGHPUT"),
)
def held_hours(volume: float, bulk_density: float, throughput: float) -> float:
    """Residence time in s."""
    return volume * bulk_density / throughput


@cell_function(
    "HOPPER_MAX_THROUGHPUT",
    question="How much can run through this hopper and still be held the drying hours?",
    summary="Highest throughput at which a hopper volume still gives the drying hours.",
    arguments=(_USABLE, BULK_DENSITY, DRYING_HOURS),
    result=Result("highest throughput at the drying hours", "throughput"),
    equation="volume x bulk_density / drying_hours",
    plain="{volume}*{bulk_density}/{drying_hours}",
    assumptions=_PLUG_FLOW,
    source=_IDENTITY,
    example=Example((20, 36.4, 3.5), 208.0, "arithmetic identity: 728 lb in 3.5 h"),
    see_also=("HOPPER_HELD_HOURS", "HOPPER_REQUIRED_VOLUME"),
)
def max_throughput(volume: float, bulk_density: float, drying_hours: float) -> float:
    """Throughput in kg/s."""
    return volume * bulk_density / drying_hours


@cell_function(
    "HOPPER_HELD_MASS",
    question="How much resin is in the full hopper?",
    summary="Mass of resin in a full hopper, box or silo.",
    arguments=(VOLUME, BULK_DENSITY),
    result=Result("mass of resin held", "mass"),
    equation="volume x bulk_density",
    plain="{volume}*{bulk_density}",
    assumptions=(
        "For weight on a stand or machine use a high density; the low one that is safe for volume "
        "is unsafe for load."
    ),
    source="arithmetic identity",
    example=Example((20, 36.4), 728.0, "arithmetic identity"),
    see_also=("HOPPER_LOADED_MASS", "HOPPER_RATED_VOLUME"),
)
def held_mass(volume: float, bulk_density: float) -> float:
    """Mass in kg."""
    return volume * bulk_density


@cell_function(
    "HOPPER_RATED_VOLUME",
    question="The catalog states pounds, not cubic feet: how large is the hopper?",
    summary="Volume of a hopper whose catalog states a mass at a reference density.",
    arguments=(
        Argument("rated_mass", "Mass that the catalog states, lb (metric kg).", "mass"),
        Argument(
            "rated_density",
            "Bulk density at which the catalog states it, lb/ft3 (metric kg/L).",
            "bulk density",
        ),
    ),
    result=Result("volume of the hopper", "volume"),
    equation="rated_mass / rated_density",
    plain="{rated_mass}/{rated_density}",
    assumptions="The catalog's reference density, not the density of the resin quoted.",
    source="arithmetic identity",
    example=Example((700, 35), 20.0, "arithmetic identity"),
    see_also=("HOPPER_HELD_MASS", "HOPPER_NEXT_SIZE"),
)
def rated_volume(rated_mass: float, rated_density: float) -> float:
    """Volume in m3."""
    return rated_mass / rated_density
