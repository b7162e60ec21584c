"""How often a size holds the drying hours when throughput, hours and density are only ranges.

Each range is a triangular distribution (low, likely, high), independent of the others. The chance
is worked out on a fixed grid, so that the same cells always give the same number: the variable
with the widest range enters by its cumulative distribution, in closed form; the other two are
averaged over fixed points. Those are the Gauss points of each leg of the triangle, that is of the
weight ``w(u) = 2 u`` on 0 to 1 (Gauss-Jacobi), so a leg's mean and its powers come out exact.
Nothing is random and no step is left in the answer. A spreadsheet can do the same arithmetic.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..registry import Argument, Example, Result, cell_function
from .catalog import TOLERANCE

__all__ = ["FEW_POINTS", "MANY_POINTS", "chance_held"]

# fmt: off
#: (place u on a leg of the triangle, weight) for the second widest range. Roots of the Jacobi
#: polynomial for the weight 2 u; a test has scipy work them out again.
MANY_POINTS = (
    (0.00586129979001521, 0.000115173015047928), (0.0195585132279227, 0.000685792380690238),
    (0.0408315666043854, 0.00203815713912692), (0.0693432799231926, 0.00443661364150008),
    (0.104643705378239, 0.00806126681244863), (0.146176047452748, 0.0129914416678124),
    (0.193285283769134, 0.0191958557045353), (0.245228459080903, 0.0265301923014003),
    (0.301186391287744, 0.0347422964948409), (0.360276586502696, 0.0434847276657234),
    (0.421567154887062, 0.0523339322974588), (0.484091506379702, 0.0608148740330324),
    (0.546863594062139, 0.0684296047203903), (0.608893464572814, 0.0746880013819125),
    (0.669202870265701, 0.0791387465152095), (0.72684069690503, 0.0813986022939627),
    (0.780897963673003, 0.0811781249976112), (0.830522159162586, 0.078302178644712),
    (0.874930687900169, 0.0727239235820917), (0.913423217244973, 0.064531358708424),
    (0.945392736716457, 0.0539459686892164), (0.970335185785931, 0.0413135985202894),
    (0.987857696228925, 0.02708890824143), (0.997687892382201, 0.0118306605511331),
)
#: The same for the narrowest range.
FEW_POINTS = (
    (0.0730543286802589, 0.0174766036272191), (0.230766137969945, 0.087910331101018),
    (0.44132848122845, 0.19732230178131), (0.663015309718846, 0.281585107576398),
    (0.851921400331516, 0.271084994463037), (0.970683572840215, 0.144620661451017),
)
# fmt: on


def _column(numbers: Sequence[float]) -> str:
    return "{" + ";".join(f"{number:.15g}".replace("e", "E") for number in numbers) + "}"


# The same grid in a cell: ranges ranked by width, the points of two of them side by side, and the
# share of the widest below or above the bound that each pair of points sets.
_CARRIED = (
    "LET(volume,{size}*(1+1E-9),"
    "lows,VSTACK(THREE({throughput_range},1),THREE({hours_range},1),THREE({density_range},1)),"
    "likely,VSTACK(THREE({throughput_range},2),THREE({hours_range},2),THREE({density_range},2)),"
    "highs,VSTACK(THREE({throughput_range},3),THREE({hours_range},3),THREE({density_range},3)),"
    "wide,highs/lows-{0;1E-14;2E-14},"
    "widest,MATCH(MAX(wide),wide,0),narrowest,MATCH(MIN(wide),wide,0),between,6-widest-narrowest,"
    "legs,LAMBDA(which,places,VSTACK(INDEX(lows,which)+(INDEX(likely,which)-INDEX(lows,which))*places,"
    "INDEX(highs,which)+(INDEX(likely,which)-INDEX(highs,which))*places)),"
    "rising,LAMBDA(which,IF(INDEX(highs,which)=INDEX(lows,which),1,"
    "(INDEX(likely,which)-INDEX(lows,which))/(INDEX(highs,which)-INDEX(lows,which)))),"
    f"many,{_column([u for u, _ in MANY_POINTS])},"
    f"many_parts,{_column([w for _, w in MANY_POINTS])},"
    f"few,{_column([u for u, _ in FEW_POINTS])},few_parts,{_column([w for _, w in FEW_POINTS])},"
    "one,legs(between,many),"
    "weight,VSTACK(rising(between)*many_parts,(1-rising(between))*many_parts),"
    "others,legs(narrowest,few),"
    "parts,VSTACK(rising(narrowest)*few_parts,(1-rising(narrowest))*few_parts),"
    "low,INDEX(lows,widest),middle,INDEX(likely,widest),high,INDEX(highs,widest),"
    "below,LAMBDA(bound,IF(bound>=high,1,IF(bound<low,0,IF(bound<middle,"
    "(bound-low)^2/MAX((high-low)*(middle-low),1E-300),"
    "1-(high-bound)^2/MAX((high-low)*(high-middle),1E-300))))),"
    "held,LAMBDA(first,second,IF(widest=3,1-below(first*second/volume),"
    "below(IF(between=3,volume*first/second,volume*second/first)))),"
    "ROUND(SUM(MAP(SEQUENCE(ROWS(one)),LAMBDA(i,INDEX(weight,i)*SUM(MAP(SEQUENCE(ROWS(others)),"
    "LAMBDA(j,INDEX(parts,j)*held(INDEX(one,i),INDEX(others,j)))))))),12))"
).replace("THREE(", "HOPPERSHEET_OF_THREE(")

_Range = Sequence[float]  # low, likely, high


def _share_below(bound: float, stated: _Range) -> float:
    """Share of a triangular range that is at most ``bound``."""
    low, likely, high = stated
    if bound >= high:
        return 1.0
    if bound < low:
        return 0.0
    if bound < likely:
        return (bound - low) ** 2 / ((high - low) * (likely - low))
    return 1.0 - (high - bound) ** 2 / ((high - low) * (high - likely))


def _points(stated: _Range, of_a_leg: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """(value, weight) of the points that stand for a triangular range; the weights sum to 1."""
    low, likely, high = stated
    if low == high:
        return [(likely, 1.0)]
    rising = (likely - low) / (high - low)
    return [
        (end + (likely - end) * at, leg * weight)
        for end, leg in ((low, rising), (high, 1.0 - rising))
        if leg > 0.0
        for at, weight in of_a_leg
    ]


def _low_likely_high(name: str, what: str) -> Argument:
    return Argument(
        f"{name}_range",
        f"{what}: three adjacent cells low, likely, high, or one cell for a fixed value.",
        {"hours": "drying hours", "density": "bulk density"}.get(name, name),
        kind="estimate",
    )


@cell_function(
    "HOPPER_CHANCE_HELD",
    question="How often does this size hold the drying hours, if the figures are ranges?",
    summary="Share of the stated ranges in which a size holds the drying hours.",
    arguments=(
        Argument("size", "Usable volume of the hopper, ft3 (metric L).", "volume"),
        _low_likely_high("throughput", "Throughput, lb/h (metric kg/h)"),
        _low_likely_high("hours", "Drying time in hours as numbers (4, not 4:00)"),
        _low_likely_high("density", "Bulk density, lb/ft3 (metric kg/L)"),
    ),
    result=Result("share of the ranges stated in which the size holds the hours", "chance"),
    equation=(
        "the share of the ranges stated in which "
        "throughput_range x hours_range / density_range <= size"
    ),
    assumptions=(
        "For the stated ranges only: each is triangular (low, likely, high) and independent of the "
        "others. Plug flow; resin fills the whole usable volume. A fixed grid, accurate to 0.001. "
        "A size that just fits counts as held."
    ),
    source="triangular distribution; Gauss-Jacobi quadrature",
    carried=_CARRIED,
    example=Example(
        (22, ((190, 220, 260),), 3.5, ((33, 36.4, 39),)),
        0.59699666,
        "scipy.integrate.quad over the triangular densities; invented ranges",
        1e-3,
    ),
    see_also=("HOPPER_HELD_HOURS", "HOPPER_REQUIRED_VOLUME", "HOPPER_SIZE_MARGIN"),
)
def chance_held(
    size: float, throughput_range: _Range, hours_range: _Range, density_range: _Range
) -> float:
    """Chance from 0 to 1, from m3 and (low, likely, high) in kg/s, s and kg/m3.

    The error is below 0.001, and none where two of the three ranges are fixed. A size that just
    holds the hours holds them, as where sizes are compared (relative tolerance 1e-9).
    """
    volume = size * (1.0 + TOLERANCE)
    ranges = (throughput_range, hours_range, density_range)
    # Of equally wide ranges the first counts as the widest; sorted() keeps their order.
    widest, second, narrowest = sorted(range(3), key=lambda i: -ranges[i][2] / ranges[i][0])
    density = 2
    held = 0.0
    for one, weight in _points(ranges[second], MANY_POINTS):
        for other, part in _points(ranges[narrowest], FEW_POINTS):
            if widest == density:
                share = 1.0 - _share_below(one * other / volume, ranges[density])
            elif second == density:
                share = _share_below(volume * one / other, ranges[widest])
            else:
                share = _share_below(volume * other / one, ranges[widest])
            held += weight * part * share
    # The printed weights add up to 1 within 1e-15: a sure answer is 1.
    return round(held, 12)
