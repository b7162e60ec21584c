"""Rows that are totals or averages: how their first cells begin or end."""

from __future__ import annotations

import re
import string
from typing import Any

from ..heading_words import plain_text
from .vocabulary import AVERAGE_WORDS, TOTAL_WORDS

__all__ = ["is_total", "may_hold_total"]

_TOTAL = re.compile(
    r"\W*(?:(?:"
    + "|".join(map(re.escape, sorted(TOTAL_WORDS, key=len, reverse=True)))  # the longest first
    + r")|(?P<average>"
    + "|".join(map(re.escape, AVERAGE_WORDS))
    + r"))\b(?P<rest>.*)",
    re.DOTALL,
)
# The same in the plain text of a block, to find out quickly that there is none.
_BEGINNINGS = (
    "(?:tot|ttl|cum|sum|ges|ins|som|sub|ove|grand|zwi|sous|all|erg|end|[uü]be|ueb|car|bro|cou|anz|num|av|mean|mit|durch|moy|pro|med|max|min|"
    "schnitt|\u00f8|\u03c3|\u03a3|\u2211)"
)
# "Hall A total" is a sum too; what such a name ends in, to look no further at most of them.
_FIRST_OF_TOTALS = {word[0] for word in (*TOTAL_WORDS, *AVERAGE_WORDS)}
_NEVER_FIRST = frozenset(
    sign for sign in string.ascii_letters + string.digits if sign.casefold() not in _FIRST_OF_TOTALS
)
_LAST_OF_SUMS = frozenset("lLsStTeExX.:) ")
_ENDS = re.compile(r"\w.*\b(?:sub-?)?(?:totals?|ttl|gesamt|summe|somme|suma|totaux)[\s.:)]*$")
_BEGINS = re.compile(rf"\W*{_BEGINNINGS}", re.IGNORECASE)
_ONE_BEGINS = re.compile(rf"\0[^\w\0]*{_BEGINNINGS}")  # in lower case, which is faster
_ITS_REST = re.compile(
    r"[\s:.=()\[\]\-]*(?:of |for |all |the )?(?:(?:hall|halle|line|plant|week|section|page|jobs?|"
    r"lines?|list|load|on|central|dryers?|rate|throughput|material|demand|usage|output|teile|auftr\w+|positionen|[0-9]+[a-z]?|[a-z]|"
    r"lbs?/h\w*|kg/h\w*|lbs?|kgs?|per hour|pieces|parts)(?![a-z])[\s:.=()\[\]\-]*){0,4}"
)


def may_hold_total(texts: str) -> bool:
    """Whether one of many texts, each behind a \\0, may begin as a total does."""
    return _ONE_BEGINS.search(texts.lower()) is not None


def is_total(cell: Any, of_anything: bool = False, sums_only: bool = False) -> bool:
    """Whether a cell calls its row a total or an average.

    ``of_anything``: "Total South" too, which in a row with all its figures may be a job's name.
    ``sums_only``: no averages and ends, because "min 4" may be what somebody typed for a number.
    """
    if not isinstance(cell, str) or len(cell) > 80:
        return False
    if cell[:1] in _NEVER_FIRST and cell[-1:] not in _LAST_OF_SUMS:
        return False  # most names of jobs, at the price of two letters
    if cell[-1:] in _LAST_OF_SUMS and _ENDS.search(plain_text(cell)):
        return True
    if not _BEGINS.match(cell):
        return False
    match = _TOTAL.fullmatch(plain_text(cell).replace("-", " "))
    if match is None or (sums_only and match["average"]):
        return False
    return of_anything or _ITS_REST.fullmatch(match["rest"]) is not None
