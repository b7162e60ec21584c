"""Bulk density: of a blend, of regrind, of weighed samples.

Notation: a *share* is a component's part of the blend, by volume or by mass. Bulk density is
mass per volume including the voids between the pellets (ASTM D1895, clause 3.1.1).
"""

from __future__ import annotations

from math import sqrt
from operator import mul, truediv

from ..errors import NoAnswer
from ..registry import Argument, Example, Result, cell_function

__all__ = ["BASIS", "blend_density", "regrind_density", "sample_density", "sample_spread"]

#: The two bases of a share, with the words users type for them.
BASIS = {
    "volume": ("by volume", "vol", "vol %", "volumetric", "v"),
    "mass": ("by mass", "weight", "by weight", "wt", "wt %", "gravimetric", "m", "w"),
}


@cell_function(
    "HOPPER_BLEND_DENSITY",
    question="How dense is the mix of virgin resin and regrind?",
    summary="Bulk density of a blend of virgin, regrind and other components from their shares.",
    arguments=(
        Argument(
            "shares",
            "Shares of the components, one cell each: fractions that sum to 1 or percentages that "
            "sum to 100.",
            "share",
            kind="shares",
        ),
        Argument(
            "densities",
            "Bulk density of each component in the same order; lb/ft3 (metric kg/L).",
            "bulk density",
            kind="pairs",
        ),
        Argument(
            "share_basis",
            'What the shares are parts of: "volume" (default) or "mass". Recipes of weigh blenders '
            "are by mass.",
            kind="choice",
            default="volume",
            choices=BASIS,
        ),
    ),
    result=Result("bulk density of the blend", "bulk density"),
    equation={
        "volume": "sum(shares x densities)",
        "mass": "1 / sum(shares / densities)",
    },
    plain={
        "volume": "EACH({shares}*{densities})/SUM({shares})",
        "mass": "SUM({shares})/EACH({shares}/{densities})",
    },
    assumptions=(
        "Bulk volumes add up. Fines that fill the voids make a blend denser, interlocking flake "
        "makes it lighter: measure the blend when it matters."
    ),
    source=(
        "Rule of mixtures, mass form as for aggregate blends in Asphalt Institute MS-2; shares by "
        "volume are common practice in the trade, no source."
    ),
    example=Example(
        (((0.7, 0.3),), ((40, 28),)),
        36.4,
        "arithmetic identity: 0.7 x 40 + 0.3 x 28 lb/ft3, by volume",
    ),
    see_also=("HOPPER_REGRIND_DENSITY", "HOPPER_SAMPLE_DENSITY", "HOPPER_REQUIRED_VOLUME"),
)
def blend_density(shares: list[float], densities: list[float], share_basis: str) -> float:
    """Bulk density of a blend, kg/m3, from shares that sum to 1 and densities in kg/m3."""
    if share_basis == "mass":
        return 1.0 / sum(map(truediv, shares, densities))
    return sum(map(mul, shares, densities))


_HALF = 0.5


def _rule_of_thumb(virgin_density: float, ratio: float) -> str:
    """For EXPLAIN: what half of virgin is worth."""
    if ratio != _HALF:
        return ""
    return (
        "half of virgin is a rule of thumb; the resin table has more for most resins, where half "
        "makes the hopper larger than needed, and less for PET flake, where half makes it too "
        'small: HOPPER_RESIN with "regrind ratio" gives the table\'s'
    )


@cell_function(
    "HOPPER_REGRIND_DENSITY",
    question="How dense is regrind that nobody has measured?",
    summary="Estimated bulk density of regrind where nobody has measured it.",
    arguments=(
        Argument(
            "virgin_density",
            "Bulk density of the virgin resin, lb/ft3 (metric kg/L).",
            "bulk density",
        ),
        Argument(
            "ratio",
            "Regrind density over virgin density, 0.1 to 1.2; 0.5 when left out, a rule of thumb. "
            'HOPPER_RESIN with "regrind ratio" gives the table\'s.',
            "density ratio",
            default=_HALF,
        ),
    ),
    result=Result("estimated bulk density of the regrind", "bulk density", limited=True),
    equation="virgin_density x ratio",
    plain="{virgin_density}*{ratio}",
    assumptions="An estimate: regrind varies with screen, resin and part; measure when it matters.",
    source="common practice, no source: regrind has about half the bulk density of virgin pellets",
    note=_rule_of_thumb,
    example=Example((40,), 20.0, "common practice, no source"),
    see_also=("HOPPER_RESIN", "HOPPER_SAMPLE_DENSITY", "HOPPER_BLEND_DENSITY"),
)
def regrind_density(virgin_density: float, ratio: float) -> float:
    """Estimated bulk density of regrind, kg/m3."""
    return virgin_density * ratio


@cell_function(
    "HOPPER_SAMPLE_DENSITY",
    question="What bulk density do the weighed cups show?",
    summary="Mean bulk density of weighed cup samples.",
    arguments=(
        Argument(
            "net_masses",
            "Net mass of each filled and struck-off cup, one cell each, in grams.",
            "sample mass",
            kind="numbers",
        ),
        Argument(
            "cup_volume",
            "Volume of the cup in cm3; 100 or 400 for the standard cups.",
            "cup volume",
        ),
    ),
    result=Result("mean bulk density of the samples", "bulk density", limited=True),
    equation="mean(net_masses) / cup_volume",
    # g/cm3 is kg/L; lb/ft3 by NIST SP 811
    plain="AVERAGE({net_masses})/{cup_volume}*[62.4279605761446|1]",
    assumptions="Loose fill, struck off level without shaking, cup filled from the stated height.",
    source=(
        "ASTM D1895 (method A 100 cm3 for powders, B 400 cm3 for pellets); ISO 60. Flake that does "
        "not pour: method C or ISO 61, which loads the sample."
    ),
    example=Example(
        (((218, 220, 222),), 400, "metric"), 0.55, "arithmetic identity: 220 g in 400 cm3"
    ),
    see_also=("HOPPER_SAMPLE_SPREAD", "HOPPER_BLEND_DENSITY"),
)
def sample_density(net_masses: list[float], cup_volume: float) -> float:
    """Mean bulk density, kg/m3, of samples in kg and a cup in m3."""
    return sum(net_masses) / len(net_masses) / cup_volume


@cell_function(
    "HOPPER_SAMPLE_SPREAD",
    question="Do the weighed cups agree with each other?",
    summary="How far weighed cup samples scatter: standard deviation over mean.",
    arguments=(
        Argument(
            "net_masses",
            "Net mass of each filled and struck-off cup, at least two cells, in grams.",
            "sample mass",
            kind="numbers",
        ),
    ),
    result=Result("coefficient of variation of the samples (0.01 is 1 %)", "spread"),
    equation="standard_deviation(net_masses) / mean(net_masses)",
    plain="IF(COUNT({net_masses})<2,#N/A,STDEV({net_masses})/AVERAGE({net_masses}))",
    assumptions="Sample standard deviation (n - 1).",
    source="Coefficient of variation as in ISO 3534-1.",
    example=Example((((218, 220, 222),),), 2 / 220, "arithmetic identity: deviations -2, 0, 2"),
    units=False,
    see_also=("HOPPER_SAMPLE_DENSITY",),
)
def sample_spread(net_masses: list[float]) -> float:
    """Coefficient of variation of at least two samples."""
    count = len(net_masses)
    if count < 2:
        raise NoAnswer("one sample has no spread; weigh at least two", "net_masses")
    mean = sum(net_masses) / count
    return sqrt(sum((mass - mean) ** 2 for mass in net_masses) / (count - 1)) / mean
