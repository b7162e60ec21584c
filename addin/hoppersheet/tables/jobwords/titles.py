"""A heading taken apart: its words, its unit, whether it says percent."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from ..heading_words import MEANINGS, plain_text
from .share_basis import share_sign
from .units import is_unit, tidy_unit
from .vocabulary import NOISE

__all__ = ["Title", "title_of"]

_HYPHEN = re.compile(r"(?<=[^\W\d_])-\s*\n\s*(?=[a-z])")  # "Through-", "put" in the next line
_BRACKETS = re.compile(r"[\[({]([^\[\](){}]*)[\])}]")


class Title(NamedTuple):
    """What stands over a column.

    Attributes:
        words: its words without unit and accents, lower case.
        unit: the unit it names, as typed; "" where it names none.
        percent: whether it says percent.
        basis: "mass" or "volume" where the percent sign says so ("wt%"), else "".
        brackets: what stands in brackets and is no unit.
    """

    words: tuple[str, ...]
    unit: str = ""
    percent: bool = False
    basis: str = ""
    brackets: str = ""
    #: whether the unit stood in square brackets, where nothing else may stand
    certain: bool = False


@lru_cache(maxsize=2048)
def title_of(text: str) -> Title:
    """Take a heading apart."""
    text = _HYPHEN.sub("", text)
    unit, percent, basis, certain = "", False, "", False
    left: list[str] = []
    for match in _BRACKETS.finditer(text):
        inside = match[1].strip()
        share, stated = share_sign(inside)
        if share:
            percent, basis = percent or "%" in inside or not stated, basis or stated
            unit = unit or ("%" if "%" in inside or "p" in inside.casefold() else "")
        elif not unit and inside and is_unit(inside):
            unit, certain = inside, match[0][0] == "["
        elif inside:
            left.append(inside)
            certain = certain or match[0][0] == "["
    plain = plain_text(_BRACKETS.sub(" ", text)).replace("_", " ")
    plain, ended = _unit_at_end(plain) if not unit and not percent else (plain, "")
    unit = unit or ended
    whole = re.match(r"(.*?)[\s,;:]*$", plain.strip(" ,;:*"))
    plain = whole[1] if whole else plain
    percent_match = re.search(r"[\w./\-]*\s*%\s*(?:by\s+\w+|wt|vol|w/w|v/v)?", plain)
    if percent_match and not percent:
        at = percent_match
        piece = at[0]
        share, stated = share_sign(piece)
        if not share:  # a word that is no part of the sign: "regrind %"
            at = re.search(r"%\s*(?:by\s+\w+|wt|vol|w/w|v/v)?", plain) or at
            share, stated = share_sign(at[0])
            if not share:
                at = re.search(r"%", plain) or at
                share, stated = True, ""
        percent, basis, unit = True, basis or stated, unit or "%"
        plain = (plain[: at.start()] + " " + plain[at.end() :]).strip()
    words = tuple(re.findall(r"[^\W_]+", re.sub(r"(?<=\w)[\-\u2011](?=\w)", "", plain)))
    if not all(word in MEANINGS or word in NOISE for word in words):
        spaced = tuple(re.findall(r"[^\W_]+", plain))
        if sum(word in MEANINGS for word in spaced) > sum(word in MEANINGS for word in words):
            words = spaced
    return Title(words, tidy_unit(unit), percent or unit == "%", basis, " ".join(left), certain)


def _unit_at_end(plain: str) -> tuple[str, str]:
    """(the rest, the unit) of a heading that ends in a unit without brackets."""
    head, comma, tail = plain.rpartition(",")
    if comma and is_unit(tail.strip()) and "%" not in tail:
        return head, tail.strip()
    tokens = plain.split(" ")
    for count in range(min(5, len(tokens)), 0, -1):
        tail = " ".join(tokens[-count:])
        if "%" in tail or (tail in ("h", "hr", "hrs", "hours", "hour") and count == len(tokens)):
            continue
        # A lone letter is a unit only where it is one of time: "drying h"; "part g" is no unit.
        if (
            is_unit(tail)
            and (len(tail) > 1 or tail in "h#")
            and tail not in ("in", "min", "no", "mb")
        ):
            if tail in MEANINGS and tail not in ("h", "hr", "hrs"):
                continue
            return " ".join(tokens[:-count]), tail
    return plain, ""
