"""A heading taken apart: its words, its unit, whether it says percent."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from ..heading_words import MEANINGS, plain_text
from .share_basis import share_sign
from .units import is_unit, tidy_unit
from .vocabulary import NOISE, RECIPE_WORDS

__all__ = ["Title", "title_of"]

_HYPHEN = re.compile(r"(?<=[^\W\d_])-\s*\n\s*(?=[a-z])")  # "Through-", "put" in the next line
_NUMBERED = re.compile(r"^\s*\(?[0-9]{1,2}[.)]\s+(?=[^\W\d_])")  # "3. Drying hours"
_CLOCK = re.compile(r"(?:h{1,2}|std|hrs?) ?: ?m(?:m|in)?(?: ?: ?ss)?", re.IGNORECASE)
_BRACKETS = re.compile(r"[\[({]([^\[\](){}]*)[\])}]")


#: A name that a program wrote: RATE_KG_H, throughputKgPerHour.
_BY_PROGRAM = re.compile(r"[A-Za-z0-9]+(?:_[A-Za-z0-9]+)+|[A-Za-z]*[a-z][A-Z][A-Za-z0-9]*")
_HUMP = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
#: Units that such names run together, or part where a slash would be.
_RUN_TOGETHER = {
    f"{mass}{by}{per}": f"{mass}/{per}"
    for by in ("", " ", "p")
    for mass, pers in (
        ("kg", ("h", "hr", "min", "day", "l", "m3", "dm3")),
        ("lb", ("h", "hr", "min", "day", "ft3", "cuft", "in3")),
        ("lbs", ("h", "hr", "min", "day", "ft3", "cuft", "in3")),
        ("g", ("h", "hr", "min", "s", "l", "cm3", "cc", "ml")),
    )
    for per in pers
    if len(mass + per) > 2 or by
}


_KNOWN = frozenset(word for word in MEANINGS if len(word) > 2) | RECIPE_WORDS
#: A letter that ends such a name and is a unit -> what the name then speaks of.
_ALONE = {
    "g": frozenset(("mass",)),
    "s": frozenset(("time", "cycle")),
    "h": frozenset(("time", "dry")),
}


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
    text = _NUMBERED.sub("", _HYPHEN.sub("", text))
    by_program = _BY_PROGRAM.fullmatch(text.strip()) is not None
    if by_program and text.lower() not in MEANINGS:
        text = _HUMP.sub(" ", text)
    unit, percent, basis, certain = "", False, "", False
    left: list[str] = []
    for match in _BRACKETS.finditer(text):
        inside = match[1].strip()
        if _CLOCK.fullmatch(inside):
            continue  # how the times below are written
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
    if by_program:
        plain, unit = _run_together(plain)
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
        words = tuple(part for word in words for part in _glued(word))
    return Title(words, tidy_unit(unit), percent or unit == "%", basis, " ".join(left), certain)


def _glued(word: str) -> tuple[str, ...]:
    """The two known words that one of a program's is made of: "pcrpct"; itself for any other."""
    if word in _KNOWN:
        return (word,)
    for at in range(3, len(word) - 2):
        if word[:at] in _KNOWN and word[at:] in _KNOWN:
            return word[:at], word[at:]
    return (word,)


def _run_together(plain: str) -> tuple[str, str]:
    """(the rest, the unit) of a name that a program wrote; no unit where it has none of its own."""
    words = plain.split()
    for count in (2, 1):
        unit = _RUN_TOGETHER.get(" ".join(words[-count:]), "")
        if unit:
            return " ".join(words[:-count]), unit
    before = frozenset[str]().union(*(MEANINGS.get(word, frozenset()) for word in words[:-1]))
    if before & _ALONE.get(words[-1] if words else "", frozenset()):
        return " ".join(words[:-1]), words[-1]
    return plain, ""


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
