"""Throughput from what a machine does: molding shots, or a profile's mass per length."""

from __future__ import annotations

from ..errors import OutOfRange
from ..registry import Argument, Example, Result, cell_function

__all__ = ["extrusion_rate", "molding_rate"]


@cell_function(
    "HOPPER_MOLDING_RATE",
    question="How much resin do the molding machines use per hour?",
    summary="Throughput of molding machines from shot mass and cycle time.",
    arguments=(
        Argument(
            "shot_mass",
            "Mass of one shot with runners, in grams (in both unit systems).",
            "shot mass",
        ),
        Argument("cycle_time", "Time of one full cycle, in seconds, 0.5 to 3600.", "cycle time"),
        Argument(
            "machines",
            "Number of equal machines fed, a whole number from 1 to 1000; 1 when left out.",
            "count",
            default=1,
        ),
    ),
    result=Result("throughput of the machines", "throughput"),
    equation="shot_mass / cycle_time x machines",
    # g/s is 3.6 kg/h, and that over 0.45359237 in lb/h
    plain=(
        "IF({machines}=INT({machines}),"
        "{shot_mass}/{cycle_time}*{machines}*[7.93664143865559|3.6],#NUM!)"
    ),
    assumptions="Every cycle runs; no allowance for stops.",
    source="arithmetic identity",
    example=Example((454, 36), 100.08987, "arithmetic identity: 454 g every 36 s is 45.4 kg/h"),
    see_also=("HOPPER_EXTRUSION_RATE", "HOPPER_REQUIRED_VOLUME"),
)
def molding_rate(shot_mass: float, cycle_time: float, machines: float) -> float:
    """Throughput in kg/s of ``machines`` equal machines; shot in kg, cycle in s."""
    if machines != int(machines):
        raise OutOfRange(f"{machines:g} machines is not a whole number", "machines")
    return shot_mass / cycle_time * machines


@cell_function(
    "HOPPER_EXTRUSION_RATE",
    question="How much resin does the extrusion line use per hour?",
    summary="Throughput of an extrusion line from mass per length and line speed.",
    arguments=(
        Argument(
            "mass_per_length",
            "Mass per length of the product, lb/ft (metric kg/m).",
            "mass per length",
        ),
        Argument("line_speed", "Line speed, ft/min (metric m/min).", "line speed"),
    ),
    result=Result("throughput of the line", "throughput"),
    equation="mass_per_length x line_speed",
    plain="{mass_per_length}*{line_speed}*60",
    assumptions="No edge trim or scrap beyond what the mass per length includes.",
    source="arithmetic identity",
    example=Example((0.5, 10), 300.0, "arithmetic identity: 5 lb/min"),
    see_also=("HOPPER_MOLDING_RATE", "HOPPER_REQUIRED_VOLUME"),
)
def extrusion_rate(mass_per_length: float, line_speed: float) -> float:
    """Throughput in kg/s from kg/m and m/s."""
    return mass_per_length * line_speed
