"""How long water needs to diffuse out of a pellet: a plausibility check, never the drying time.

The drying hours of a data sheet are several times longer, because heating the bed, the spread of
the air, its humidity and a margin for safety are in them. Drying hours *shorter* than diffusion
alone would need cannot be right; that is all this is good for.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import count
from math import exp, pi

from ..registry import Argument, Example, Result, cell_function

__all__ = ["diffusion_time", "j0_zero", "released"]

#: The first zeros of the Bessel function J0 (DLMF 10.21); McMahon's expansion gives the others.
_J0_ZEROS = (
    2.404825557695773,
    5.520078110286311,
    8.653727912911012,
    11.791534439014281,
    14.930917708487785,
)
_SHAPES = {
    "sphere": ("pellet", "ball"),
    "cylinder": ("long cylinder", "strand"),
    "sheet": ("flake", "slab", "film"),
}


def j0_zero(number: int) -> float:
    """The ``number``-th positive zero of J0, from 1."""
    if number <= len(_J0_ZEROS):
        return _J0_ZEROS[number - 1]
    b = (number - 0.25) * pi
    eighth = 1.0 / (8.0 * b)
    return (
        b
        + eighth
        - 124.0 / 3.0 * eighth**3
        + 120928.0 / 15.0 * eighth**5
        - 401743168.0 / 105.0 * eighth**7
    )


_SOLVED = "= removed_share, solved for t in Fo = diffusivity x t / (particle_size / 2)^2"

# Term n = 1, 2, ... of what is still inside: (weight, rate) of weight x exp(-rate x Fo).
_TERMS: dict[str, Callable[[int], tuple[float, float]]] = {
    "sphere": lambda n: (6.0 / (pi * n) ** 2, (pi * n) ** 2),
    "cylinder": lambda n: (4.0 / j0_zero(n) ** 2, j0_zero(n) ** 2),
    "sheet": lambda n: (2.0 / (pi * (n - 0.5)) ** 2, (pi * (n - 0.5)) ** 2),
}


def released(shape: str, fourier: float) -> float:
    """Share of the removable water that has left, 0 to 1.

    Args:
        shape: "sphere", "cylinder" (long) or "sheet" (both faces).
        fourier: D t / a^2, with a the radius or half the thickness; at least 1e-5.

    Source: Crank, The Mathematics of Diffusion, 2nd ed. 1975, p. 91 (sphere), p. 48 (sheet),
    eq. 5.23 p. 73 (cylinder, page from memory): constant surface concentration and diffusivity.
    """
    inside = 0.0
    for number in count(1):
        weight, rate = _TERMS[shape](number)
        if rate * fourier > 40.0:
            break
        inside += weight * exp(-rate * fourier)
    return 1.0 - inside


@cell_function(
    "HOPPER_DIFFUSION_HOURS",
    question="Can the stated drying hours be right at all?",
    summary="Time water needs to diffuse out of a pellet: a plausibility check, not a drying time.",
    arguments=(
        Argument(
            "particle_size",
            "Diameter of the pellet or thickness of the flake, in mm (in both unit systems).",
            "particle size",
        ),
        Argument(
            "diffusivity",
            "Diffusivity of water in the resin at the drying temperature, in m2/s (in both unit "
            "systems), such as 1.5E-10.",
            "diffusivity",
        ),
        Argument(
            "removed_share",
            "Share of the removable water that is to leave, 0.05 to 0.9999 (0.9 is 90 %).",
            "removed share",
        ),
        Argument(
            "shape",
            'Shape of the particle: "sphere" (default), "cylinder" (long) or "sheet" (flake).',
            kind="choice",
            default="sphere",
            choices=_SHAPES,
        ),
    ),
    result=Result("diffusion time, never the drying time", "diffusion time"),
    equation={
        "sphere": f"1 - 6/pi^2 sum(exp(-n^2 pi^2 Fo) / n^2) {_SOLVED}",
        "cylinder": f"1 - sum(4/a^2 exp(-a^2 Fo)) over J0(a) = 0 {_SOLVED}",
        "sheet": f"1 - 8/pi^2 sum(exp(-(2n+1)^2 pi^2 Fo/4) / (2n+1)^2) {_SOLVED}",
    },
    assumptions=(
        "Never the drying time: heating the bed, spread and humidity of the air and safety are not "
        "in it. Drying hours below it cannot be right. Surface dry at once, constant diffusivity."
    ),
    source="Crank, The Mathematics of Diffusion, 2nd ed. 1975, p. 48, 73, 91",
    example=Example(
        (3, 1.4959e-10, 0.9),
        0.76,
        "PC at 120 degC, extrapolated from Golovoy and Zinbo, Polym. Eng. Sci. 29 (1989) 1733; "
        "3 to 4 h are recommended",
        0.01,
    ),
    see_also=("HOPPER_RESIN", "HOPPER_REQUIRED_VOLUME"),
)
def diffusion_time(
    particle_size: float, diffusivity: float, removed_share: float, shape: str
) -> float:
    """Time in s from m, m2/s and a fraction from 0.05 to 0.9999."""
    low, high = 1e-5, 10.0
    while high - low > 1e-13 * high:
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if released(shape, middle) < removed_share:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high) * (particle_size / 2.0) ** 2 / diffusivity
