"""What a hopper's shape holds, and what the full hopper weighs."""

from __future__ import annotations

from math import pi, radians, tan

from ..errors import OutOfRange
from ..registry import Argument, Example, Result, cell_function
from .volume import VOLUME

__all__ = ["cone_height", "loaded_mass", "shape_volume"]


def cone_height(diameter: float, cone_angle: float, outlet_diameter: float) -> float:
    """Height in m of a cone between two diameters in m; ``cone_angle`` is included, in degrees."""
    return (diameter - outlet_diameter) / 2.0 / tan(radians(cone_angle) / 2.0)


@cell_function(
    "HOPPER_SHAPE_VOLUME",
    question="What does a hopper of these dimensions hold?",
    summary="Volume of a round hopper from its dimensions: cylinder on top, cone below.",
    arguments=(
        Argument("diameter", "Inner diameter of the cylinder, ft (metric m).", "length"),
        Argument(
            "straight_height",
            "Height of the cylinder up to the fill level, ft (metric m); 0 for a cone alone.",
            "length or zero",
        ),
        Argument(
            "cone_angle",
            "Included angle of the cone, wall to wall, in degrees, 10 to 150: twice the angle "
            "between wall and axis.",
            "cone angle",
        ),
        Argument(
            "outlet_diameter",
            "Inner diameter of the outlet, ft (metric m); 0 for a cone that ends in a point, equal "
            "to diameter for no cone.",
            "length or zero",
        ),
    ),
    result=Result("volume of cylinder and cone", "volume"),
    equation=(
        "cylinder of diameter and straight_height + frustum of a cone from diameter to "
        "outlet_diameter, (diameter - outlet_diameter) / 2 / tan(cone_angle / 2) high"
    ),
    plain=(
        "IF(OR({outlet_diameter}>{diameter},AND({straight_height}=0,{outlet_diameter}={diameter})),"
        "#NUM!,PI()/4*{diameter}^2*{straight_height}*[1|1000]+PI()/24*"
        "({diameter}-{outlet_diameter})/TAN(RADIANS({cone_angle})/2)*"
        "({diameter}^2+{diameter}*{outlet_diameter}+{outlet_diameter}^2)*[1|1000])"
    ),
    assumptions=(
        "Filled level to the top of the straight height; take off what a diffuser, a probe or the "
        "angle of repose leaves empty."
    ),
    source=(
        "geometry: pi/4 D^2 H and pi/12 h (D^2 + D d + d^2); Sloley, Come Up With a Solid "
        "Estimate, Chemical Processing, Dec 2009"
    ),
    example=Example(
        (1, 1.2, 60, 0.15, "metric"), 1168.438, "geometry: 942.478 L and 225.960 L", 1e-6
    ),
    see_also=("HOPPER_HELD_MASS", "HOPPER_RATED_VOLUME"),
)
def shape_volume(
    diameter: float, straight_height: float, cone_angle: float, outlet_diameter: float
) -> float:
    """Volume in m3 from lengths in m and an included angle in degrees."""
    if outlet_diameter > diameter:
        raise OutOfRange(
            "{outlet} is larger than the diameter {diameter}; often it is a length in inches",
            "outlet_diameter",
            outlet=(outlet_diameter, "length"),
            diameter=(diameter, "length"),
        )
    if straight_height == 0.0 and outlet_diameter == diameter:
        raise OutOfRange(
            "the straight height is 0 and the outlet as wide as the diameter: nothing holds resin",
            "straight_height",
        )
    cylinder = pi / 4.0 * diameter**2 * straight_height
    height = cone_height(diameter, cone_angle, outlet_diameter)
    cone = pi / 12.0 * height * (diameter**2 + diameter * outlet_diameter + outlet_diameter**2)
    return cylinder + cone


@cell_function(
    "HOPPER_LOADED_MASS",
    question="What does the full hopper weigh?",
    summary="Mass of the full hopper on its supports.",
    arguments=(
        Argument(
            "empty_mass",
            "Mass of the empty hopper with all that is mounted on it, lb (metric kg).",
            "empty mass",
        ),
        VOLUME,
        Argument(
            "bulk_density",
            "HIGH bulk density of the resin, lb/ft3 (metric kg/L): the heaviest that will ever be "
            "filled in.",
            "bulk density",
        ),
    ),
    result=Result("mass on the supports", "mass"),
    equation="empty_mass + volume x bulk_density",
    plain="{empty_mass}+{volume}*{bulk_density}",
    assumptions=(
        "A HIGH density: the low one that is safe for volume is unsafe for load. Static mass only. "
        "What a throat, stand or mezzanine carries is for a licensed engineer and the local code."
    ),
    source="arithmetic identity",
    example=Example((150, 20, 40), 950.0, "arithmetic identity: 800 lb of resin"),
    see_also=("HOPPER_HELD_MASS",),
)
def loaded_mass(empty_mass: float, volume: float, bulk_density: float) -> float:
    """Mass in kg from kg, m3 and kg/m3."""
    return empty_mass + volume * bulk_density
