"""HOPPER_CONVERT written out from its units."""

from __future__ import annotations

from ..cells.conversion import ABSOLUTE_ZERO
from ..cells.quantities import QUANTITIES
from ..cells.units import expression, factor
from ..errors import WrongKind
from .equivalents import NoEquivalent, number_text

__all__ = ["convert"]


def convert(texts: list[str], units: list[str]) -> str:
    """The formula, without ``=``, that converts a value.

    Args:
        texts: the three arguments as formula text: value, from unit, to unit.
        units: the two units as they are now, ``""`` where they are not known.

    Raises:
        NoEquivalent: the units say nothing.
    """
    value, source, target = texts
    pairs = _pairs(*units)
    if not pairs:
        raise NoEquivalent("its units are not known")
    text = "#VALUE!"
    if not any(_lowest(unit) is not None for pair in pairs for unit in pair):
        text = f"IF({source}={target},{value},#VALUE!)"  # the same unit, whatever it is
    for (one, other), number in reversed(pairs.items()):
        test = f'AND({source}="{one}",{target}="{other}")'
        text = f"IF({test},{_scaled(value, one, *number)},{text})"
    return f"IF(COUNT({value})=1,{text},SUM({value})+#VALUE!)"


def _lowest(unit: str) -> float | None:
    """Absolute zero in a unit of temperature, None for other units."""
    return ABSOLUTE_ZERO.get(expression(unit))


def _scaled(value: str, unit: str, scale: float, offset: float) -> str:
    text = value if scale == 1.0 else f"{value}*{number_text(scale)}"
    text = text if offset == 0.0 else f"{text}+{number_text(offset)}"
    lowest = _lowest(unit)
    return text if lowest is None else f"IF({value}<{number_text(lowest)},#NUM!,{text})"


def _pairs(source: str, target: str) -> dict[tuple[str, str], tuple[float, float]]:
    """(unit, unit) -> (factor, offset) that a copy is likely to meet."""
    systems = [
        (q.us, q.metric)
        for q in QUANTITIES.values()
        if {source, target} & {q.us, q.metric} and q.us != q.metric
    ][:1]
    units = dict.fromkeys([source, target, *(systems[0] if systems else ())])
    found = {}
    for one in filter(None, units):
        for other in filter(None, units):
            try:
                scale, offset = factor(one, other)
            except WrongKind:
                continue
            if one != other or _lowest(one) is not None:
                found[one, other] = (scale, offset)
    return found
