"""Headings that may be meant for a column, in words that nobody could list."""

from __future__ import annotations

import re

from ..heading_words import plain_text
from ..job_columns import JOB_COLUMNS
from .titles import Title
from .units import unit_is_temperature, unit_measures

__all__ = ["may_be"]

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
