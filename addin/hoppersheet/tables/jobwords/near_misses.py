"""Headings that may be meant for a column, in words that nobody could list."""

from __future__ import annotations

import re

from ..heading_words import MEANINGS, plain_text
from ..job_columns import JOB_COLUMNS
from .meanings import DENSITY, Meaning
from .titles import Title
from .units import unit_is_temperature, unit_measures
from .vocabulary import NOISE

__all__ = ["may_be", "meant_by_unit"]

# What stands over a column that may be one of ours in words that nobody could list.
_MAY_BE = {
    "drying hours": re.compile(
        r"residence|dwell|soak|verweil|etuv|estuf|dryer|pre-?dry|vortrock|\bhold|conditioning"
        r"|retention|turnover|\bhrs?\b|\bhours?\b|\bmin(?:utes?)?\b|\btimes?\b|\bt\b"
    ),
    "virgin density": re.compile(
        r"bulk|\bdens|dicht|schutt|litergew|volumetr|\brho\b|\u03c1|\bpcf\b|\bd\b"
        r"|(?:unit|sp\w*\.?) weight|(?:/|per) ?(?:cu\.? ?)?(?:ft|foot|feet)"
    ),
    "regrind density": re.compile(r"\bdens|dicht|schutt"),
}
_SURELY_NOT = re.compile(
    r"lead|deliver|\bdue\b|date|start|\bend|ship|set-?up|change-?over|cycle|zyklus|solid|specific"
    r"|gravity|feststoff|melt|per hour|/ ?h|uptime|downtime|run ?time|gal|last|down ?time|bulk bag"
)
_SAYS_TIME = re.compile(r"\btimes?\b|\bh(?:ou)?rs?\b")


def may_be(heading: str, title: Title, name: str) -> bool:
    """Whether a heading that is not known may be meant for a column, by its words or its unit."""
    words = _MAY_BE.get(name)
    plain = plain_text(heading)
    if words is None or _SURELY_NOT.search(plain) or unit_is_temperature(title.unit):
        return False
    if "temp" in plain and not _SAYS_TIME.search(plain):
        return False
    if title.unit:  # a unit of something else shows that it is not meant
        return unit_measures(title.unit, JOB_COLUMNS[name])
    return bool(words.search(plain))


# Column -> (meanings, words) that say nothing else where the heading names a unit of the column.
# "Max", "line 1", "per machine", "at 80 %" are not among them: they make it another figure.
_BESIDE_A_UNIT = {
    "throughput": (
        {"rate", "material", "mass"},
        "flow massflow feed demand need needs production produccion produktion menge bedarf "
        "materialbedarf stundenmenge stundenbedarf extruder extrusion molding process processing "
        "design horaire horaria",
    ),
    "drying hours": (
        {"dry", "time", "hours"},
        "residence dwell soak soaking retention predry predrying pre vortrocknung vortrockenzeit "
        "vortrocknungszeit verweilzeit verweildauer hold holding conditioning etuvage estufado "
        "presecado presechage",
    ),
    "virgin density": (
        {"density", "bulk", "material", "mass"},
        "dens pellet pellets granules apparent poured litergewicht unit volumetric volumetrico rho "
        "\u03c1",
    ),
}
_OF_PELLETS = frozenset(("pellet", "pellets", "granules", "apparent", "poured", "litergewicht"))


def meant_by_unit(m: Meaning, name: str) -> str:
    """The column that a heading can only be meant for, by its unit and its words, "" for none.

    A density that does not say that it is of pellets is :data:`~.meanings.DENSITY`, whose cells
    decide.
    """
    title = m.title
    meanings, others = _BESIDE_A_UNIT.get(name, (set(), ""))
    words = [word for word in title.words if word not in NOISE]
    if m.column or m.recipe or title.brackets or not meanings:
        return ""
    if not all(word in others.split() or MEANINGS.get(word, frozenset()) & meanings
               for word in words):  # fmt: skip
        return ""
    if not title.unit or not unit_measures(title.unit, JOB_COLUMNS[name]):
        return ""
    if name != "virgin density":
        return name
    of_pellets = any(w in _OF_PELLETS or "bulk" in MEANINGS.get(w, ()) for w in words)
    return name if of_pellets else DENSITY
