"""What is usual for a resin, and the words that every surface says where a job is not.

A range of the table is what is usually stated: outside it is a reason to look, no proof of harm,
and inside it no proof of safety.
"""

from __future__ import annotations

from typing import NamedTuple

from ..cells.wording import in_both, in_system, rounded, with_unit
from ..errors import NoAnswer
from .hazards import Hazard, hazards
from .resin_table import PROPERTIES, ResinValue, name_key, one_resin
from .resins import OwnTable, regrind_ratio, resin_value

__all__ = ["Outside", "RegrindEstimate", "check_words", "outside", "regrind_density"]

_TOLERANCE = 1e-9
#: Property -> what a figure below and above its range is called.
_SIDES = {
    "bulk density": ("lighter than usual", "denser than usual"),
    "regrind density": ("regrind lighter than usual", "regrind denser than usual"),
    "drying temperature": ("cooler than usual", "hotter than usual"),
    "drying hours": ("shorter than usual", "longer than usual"),
}


class Outside(NamedTuple):
    """A figure outside the table's range. ``si``, ``low`` and ``high`` are in SI."""

    resin: str
    property: str
    side: str
    si: float
    low: float
    high: float

    def words(self, units: str = "US") -> str:
        """``"longer than usual for PC: 12 h, usual 3 to 8 h"``."""
        name = _SIDES[self.property][self.side == "above"]
        quantity = PROPERTIES[self.property]
        low = rounded(in_system(self.low, quantity, units))
        usual = with_unit(self.high, quantity, units)
        if low != usual.partition(" ")[0]:
            usual = f"{low} to {usual}"
        return f"{name} for {self.resin}: {with_unit(self.si, quantity, units)}, usual {usual}"


def outside(resin: str, wanted: str, si: float, own: OwnTable | None = None) -> Outside | None:
    """Whether a figure lies outside what the tables say for a resin; None where it lies within.

    Args:
        resin: its name or a synonym.
        wanted: bulk density, regrind density, drying temperature or drying hours.
        si: the figure: kg/m3, degC or seconds.
        own: the user's own table.

    Raises:
        NoAnswer: the resin is unknown, or no table has a range: nothing to compare with.
    """
    low = resin_value(resin, f"{wanted} low", own)
    high = resin_value(resin, f"{wanted} high", own)
    # 1e-9 of the figure, so that 4 h typed in minutes is not "shorter" than 4 h.
    slack = abs(si) * _TOLERANCE
    side = "below" if si < low.si - slack else "above" if si > high.si + slack else ""
    return Outside(low.resin, wanted, side, si, low.si, high.si) if side else None


class RegrindEstimate(NamedTuple):
    """A regrind density estimated from the table, in SI.

    Attributes:
        si: kg/m3.
        ratio: the table's regrind density over its virgin density.
        kept: "low" or "high" where the estimate was moved to that end of the table, else "".
        resin: the table's own name.
        source: what the ratio rests on.
    """

    si: float
    ratio: float
    kept: str
    resin: str
    source: str

    def words(self, units: str = "US") -> str:
        """What is taken, for the column ``assumed``."""
        how = f"{rounded(self.ratio, 2)} x virgin, the resin table's ratio for {self.resin}"
        if self.kept:
            how += f", kept at its {self.kept} end"
        return f"regrind {in_both(self.si, 'bulk density', units)}: {how}"


def regrind_density(resin: str, virgin: float, own: OwnTable | None = None) -> RegrindEstimate:
    """Regrind density of a resin from its stated virgin density, kg/m3.

    The table's ratio of regrind to virgin, times the stated virgin density, kept within the
    table's low and high regrind density.

    Raises:
        NoAnswer: the resin is unknown, or the table has no regrind density; half of virgin, the
            rule of thumb, is left then.
    """
    ratio: ResinValue = regrind_ratio(resin, own)
    low = resin_value(resin, "regrind density low", own).si
    high = resin_value(resin, "regrind density high", own).si
    wanted = ratio.si * virgin
    kept = "low" if wanted < low else "high" if wanted > high else ""
    return RegrindEstimate(min(max(wanted, low), high), ratio.si, kept, ratio.resin, ratio.source)


#: Side of the drying hours -> the kind of hazard that such hours bring about.
_BROUGHT_ABOUT = {"below": "hydrolyzes", "above": "over-dried"}


def check_words(
    resin: str,
    *,
    drying_hours: float | None = None,
    virgin_density: float | None = None,
    regrind_density: float | None = None,
    regrind_share: float = 0.0,
    drying_temperature: float | None = None,
    own: OwnTable | None = None,
    units: str = "US",
) -> list[str]:
    """What to look at in one job: short texts, the same on every surface.

    Args:
        resin: its name or a synonym.
        drying_hours: seconds the resin is dried, or held in the chosen size.
        virgin_density, regrind_density: kg/m3, where stated.
        regrind_share: 0 to 1, on any basis.
        drying_temperature: degC, where stated; else the table's own.
        own: the user's own table.
        units: "US" or "metric".

    Returns:
        The texts; empty where everything that was given lies within the table's ranges. A figure
        for which the table has no range adds a text that says so.

    Raises:
        NoAnswer: the resin is unknown or its name means several: nothing was looked at.
    """
    texts = []
    figures = {
        "drying hours": drying_hours,
        "bulk density": virgin_density,
        "regrind density": regrind_density,
        "drying temperature": drying_temperature,
    }
    known, listed = _listed(resin, own, units)
    missing = []
    for wanted, si in figures.items():
        if si is None:
            continue
        try:
            found = outside(resin, wanted, si, own)
        except NoAnswer:
            missing.append(wanted)
            continue
        if found is None:
            continue
        text = found.words(units)
        brings = _BROUGHT_ABOUT[found.side] if wanted == "drying hours" else ""
        brief = [hazard.brief for hazard in listed or () if hazard.kind == brings]
        texts.append(f"{text} ({', '.join(brief)})" if brief else text)
    if listed is None:
        texts.append(f"no cautions are known of {known}: it is only in your own table")
    else:
        texts += _softening_words(known, listed, drying_temperature, regrind_share, own)
    if missing:
        texts.append(f"no usual {' or '.join(missing)} of {known} in the resin table")
    return texts


def _listed(resin: str, own: OwnTable | None, units: str) -> tuple[str, tuple[Hazard, ...] | None]:
    """(name, hazards) of a resin; None for one that only the own table knows."""
    try:
        return one_resin(resin), hazards(resin, units)
    except NoAnswer:
        if own is None or own.find(frozenset((name_key(resin),))) is None:
            raise
        return resin.strip(), None


def _softening_words(
    resin: str,
    listed: tuple[Hazard, ...],
    temperature: float | None,
    regrind_share: float,
    own: OwnTable | None,
) -> list[str]:
    """The softening hazards of a resin that this job meets.

    Without a temperature the table's own is taken; where that has none either, the hazard is said.
    """
    if temperature is None:
        try:
            temperature = resin_value(resin, "drying temperature", own).si
        except NoAnswer:
            temperature = None
    return [
        f"{resin}: {hazard.brief}"
        for hazard in listed
        if hazard.temperature is not None
        and (hazard.only != "regrind" or regrind_share > 0)
        and (temperature is None or temperature > hazard.temperature * (1 + _TOLERANCE))
    ]
