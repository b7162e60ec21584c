"""From a required volume to a catalog size: the next one up, the one below, how far off each is.

Sizes are compared with a relative tolerance of 1e-9: one cubic metre converts to
999.9999999999999 L, and that must not cost the customer the next size.
"""

from __future__ import annotations

from math import ceil

from ..errors import NoAnswer
from ..registry import Argument, Example, Result, cell_function

__all__ = [
    "CATALOG_SIZES",
    "IN_HAND",
    "TOLERANCE",
    "hopper_count",
    "next_size",
    "size_below",
    "size_margin",
]

#: Relative tolerance within which two sizes are the same.
TOLERANCE = 1e-9

REQUIRED_VOLUME = Argument("required_volume", "Required volume, ft3 (metric L).", "volume")
CATALOG_SIZES = Argument(
    "catalog_sizes",
    "Volumes of the catalog, one cell each, in any order, ft3 (metric L); blank cells are skipped.",
    "volume",
    kind="numbers",
)
IN_HAND = "Sizes are compared with a relative tolerance of 1e-9."
_EXAMPLE_SIZES = ((12,), (20,), (30,), (45,))


@cell_function(
    "HOPPER_NEXT_SIZE",
    question="Which catalog size is large enough?",
    summary="Smallest catalog size that is large enough, less an allowed shortfall.",
    arguments=(
        REQUIRED_VOLUME,
        CATALOG_SIZES,
        Argument(
            "allowed_shortfall",
            "How much smaller than required the size may be, as a fraction from 0 to 0.5; 0 when "
            "left out (0.05 is 5 %).",
            "shortfall",
            default=0,
        ),
    ),
    result=Result("next catalog size", "volume"),
    equation="smallest of catalog_sizes that is >= required_volume x (1 - allowed_shortfall)",
    plain=(
        "IF(MAX({catalog_sizes})<{required_volume}*(1-{allowed_shortfall})*(1-1E-9),#N/A,"
        'SMALL({catalog_sizes},1+SUMPRODUCT(({catalog_sizes}<>"")*'
        "({catalog_sizes}<{required_volume}*(1-{allowed_shortfall})*(1-1E-9)))))"
    ),
    assumptions=IN_HAND,
    source="common practice, no source: the next larger size is the usual choice",
    example=Example((21.15, _EXAMPLE_SIZES), 30.0, "common practice, no source"),
    see_also=("HOPPER_SIZE_BELOW", "HOPPER_SIZE_MARGIN", "HOPPER_CATALOG_ENTRY", "HOPPER_COUNT"),
)
def next_size(
    required_volume: float, catalog_sizes: list[float], allowed_shortfall: float
) -> float:
    """Smallest size in m3 that is at least the required volume less the allowed shortfall."""
    least = required_volume * (1.0 - allowed_shortfall) * (1.0 - TOLERANCE)
    enough = [size for size in catalog_sizes if size >= least]
    if not enough:
        largest = max(catalog_sizes)
        count = hopper_count(required_volume, catalog_sizes)
        raise NoAnswer(
            "the required volume {required} is larger than the largest catalog size {largest}; "
            f"{count:.0f} hoppers of that size would hold it",
            "required_volume",
            required=(required_volume, "volume"),
            largest=(largest, "volume"),
        )
    return min(enough)


@cell_function(
    "HOPPER_SIZE_BELOW",
    question="Which catalog size is the next one down?",
    summary="Largest catalog size that is smaller than required.",
    arguments=(REQUIRED_VOLUME, CATALOG_SIZES),
    result=Result("catalog size below", "volume"),
    equation="largest of catalog_sizes that is < required_volume",
    plain=(
        "IF(MIN({catalog_sizes})>={required_volume}*(1-1E-9),#N/A,"
        'SMALL({catalog_sizes},SUMPRODUCT(({catalog_sizes}<>"")*'
        "({catalog_sizes}<{required_volume}*(1-1E-9)))))"
    ),
    assumptions=IN_HAND,
    source="common practice, no source: sometimes the size just below is good enough",
    example=Example((21.15, _EXAMPLE_SIZES), 20.0, "arithmetic identity"),
    see_also=("HOPPER_NEXT_SIZE", "HOPPER_HELD_HOURS", "HOPPER_SIZE_MARGIN"),
)
def size_below(required_volume: float, catalog_sizes: list[float]) -> float:
    """Largest size in m3 below the required volume."""
    least = required_volume * (1.0 - TOLERANCE)
    smaller = [size for size in catalog_sizes if size < least]
    if not smaller:
        raise NoAnswer(
            "no catalog size is smaller than the required volume {required}",
            "required_volume",
            required=(required_volume, "volume"),
        )
    return max(smaller)


@cell_function(
    "HOPPER_SIZE_MARGIN",
    question="How far is this size above or below what is required?",
    summary="How far a size is above (+) or below (-) the required volume, as a fraction.",
    arguments=(Argument("size", "Size to judge, ft3 (metric L).", "volume"), REQUIRED_VOLUME),
    result=Result("margin of the size (0.05 is 5 % above)", "margin"),
    equation="(size - required_volume) / required_volume",
    plain="({size}-{required_volume})/{required_volume}",
    source="arithmetic identity",
    example=Example((30, 24), 0.25, "arithmetic identity"),
    see_also=("HOPPER_NEXT_SIZE", "HOPPER_SIZE_BELOW"),
)
def size_margin(size: float, required_volume: float) -> float:
    """(size - required) / required."""
    return (size - required_volume) / required_volume


@cell_function(
    "HOPPER_COUNT",
    question="The largest hopper is too small: how many are needed?",
    summary="How many equal hoppers of the largest catalog size are needed.",
    arguments=(REQUIRED_VOLUME, CATALOG_SIZES),
    result=Result("number of hoppers of the largest size", "count"),
    equation="required_volume / largest of catalog_sizes, rounded up",
    plain="ROUNDUP({required_volume}/MAX({catalog_sizes})*(1-1E-9),0)",
    assumptions=IN_HAND + " The throughput is split evenly.",
    source="arithmetic identity",
    example=Example((100, _EXAMPLE_SIZES), 3.0, "arithmetic identity: 2 hold 90, 3 hold 135 ft3"),
    see_also=("HOPPER_NEXT_SIZE",),
)
def hopper_count(required_volume: float, catalog_sizes: list[float]) -> float:
    """Whole number of hoppers."""
    return float(ceil(required_volume / max(catalog_sizes) * (1.0 - TOLERANCE)))
