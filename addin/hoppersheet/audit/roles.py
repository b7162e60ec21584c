"""What a heading or label is about: throughput, chosen size, net price ...

A *role* is what a cell of a line is for. Headings are free text, so each role has the words by
which people in the trade call it; the first rule that matches counts, so the order matters:
"net price" is no list price, "virgin share" no virgin density.
"""

from __future__ import annotations

import re
from functools import lru_cache

from ..tables.heading_words import in_english
from .currency_words import CURRENCY_CODES

__all__ = ["DENSITIES", "MONEY", "OTHER_ITEM", "ROLES", "role_of"]

#: What some sheets say above a column besides its heading: who fills it in.
_KIND = re.compile(r"(?<=\w)[ ,]+(input|calculated|check|typed)$", re.IGNORECASE)
#: The currency behind what an amount is called.
_IN_CURRENCY = re.compile(
    rf"(?<=\w)[ ,]+(in )?({CURRENCY_CODES}|euros?|dollars|US ?\$|[$€£])$",
    re.IGNORECASE,
)
_UNIT = re.compile(r"[\[(][^\])]*[\])]")
_SHARE = r"(share|fraction|percent(age)?|part|portion|content|%)"
_BASIS = r"(\W+%|\W+(by|in) (mass|weight|vol(ume)?)\b)(?!.*dens)"
_VIRGIN = r"(virgin|new resin|fresh)"
_REGRIND = r"(regrind|reground|re-grind|recycled?|flake|scrap back)"
_DENSITY = r"(densit(y|ies)|dens\b|weight per volume)"
_VOLUME = r"(volume|capacity|hopper size|lit(er|re)s?|ft3|cu\.? ?ft|cubic feet)"
_IN_PLACE = r"\b(existing|current|present|old|installed)\b"  # not what is sized or offered
_TAX = r"(the )?(sales )?(tax|vat)\b"

#: What is sold beside a hopper, with a price of its own.
OTHER_ITEM = (
    r"(dryers?|options?|accessor\w*|stands?|loaders?|receivers?|magnets?|lids?|blowers?|frames?|"
    r"trolleys?|casters?|feeders?|conveyors?|filters?|controls?|services?|startup)"
)
#: (role, what its heading says); the first that matches.
ROLES: tuple[tuple[str, str], ...] = (
    ("", r"^(note|see|catalog|price list|unit system|units?)$"),
    ("", rf"{_IN_PLACE}.*\b(hoppers?|sizes?|volume|dryers?|model)\b"),
    ("reason", r"\b(reasons?|why|remarks?|comments?|notes?)\b"),
    ("", rf"^(?!.*\bhopper).*\b{OTHER_ITEM}\b.*\b(price|cost|qty|quantity|pieces|pcs|"
         r"discount|model|type|article)\b"),
    ("", r"\bexchange\b|\bcurrency\b|\b(usd|eur|gbp|chf)\b.*\bper\b.*\b(usd|eur|gbp|chf)\b"),
    ("source", rf"\b(source|origin|based on|from where)\b|{_DENSITY} basis|basis of"),
    ("share basis", rf"{_SHARE}s? basis|basis|^shares? (are )?by$"),
    ("virgin share", rf"{_VIRGIN}.*\b{_SHARE}|{_SHARE} (of )?{_VIRGIN}|^%? ?{_VIRGIN} ?%?$"
                     rf"|{_VIRGIN}{_BASIS}"),
    ("regrind share", rf"{_REGRIND}.*\b{_SHARE}|{_SHARE} (of )?{_REGRIND}|^%? ?{_REGRIND} ?%?$"
                      rf"|{_REGRIND}{_BASIS}"),
    ("load density", rf"(high|load|max(imum)?|heavy).*{_DENSITY}|{_DENSITY}.*(load|floor|stand)"),
    ("virgin density", rf"{_VIRGIN}.*{_DENSITY}|{_DENSITY}.*{_VIRGIN}"),
    ("regrind density", rf"{_REGRIND}.*{_DENSITY}|{_DENSITY}.*{_REGRIND}"),
    ("density", rf"{_DENSITY}"),
    ("held hours", r"(held|hold|holds|real(ly)?|actual|gives?|given|residence|dwell).*(hours?|time)"
                   r"|(hours?|time).*(held|hold|holds|real(ly)?|actual|gives?|given|in hopper)"
                   r"|hours? at (the )?(size|next|chosen)|^holds( \(?h\)?)?$|residence time"),
    ("grand total", rf"^(grand )?total (with|incl\w*\.?|after|plus) {_TAX}"),
    ("subtotal", rf"\b(sub[ -]?)?total (before|excl\w*\.?|without|ex) {_TAX}"),
    ("tax", r"\b(tax|vat|duty)\b"),
    ("", r"^(drying |dryer |process |air )?temp(erature|\.|$)"),
    ("hours", r"\b(hours?|hrs?|drying time|dry time|drying)\b|\btime\b.*\bdry\b"),
    ("throughput", r"\b(throughput|output|consumption|usage|material rate|rate|lbs?/hr?|kg/hr?)\b"),
    ("filled share", r"\b(usable|filled?|fill)\b.*\b(share|part|fraction|level|factor|degree)\b"),
    ("reserve", r"\b(reserve|safety|spare|allowance)\b"),
    ("size below", rf"\b(below|smaller|one down)\b.*|{_VOLUME}.*\bbelow\b"),
    ("next size", r"\bnext\b.*\b(size|up|volume|hopper)\b|\bsize up\b"),
    ("chosen size", r"\b(chosen|selected|choice|quoted|offered|ordered|our|proposed)\b.*\b(size|"
                    r"volume|hopper)\b|\b(size|volume|hopper)\b.*\b(chosen|selected|quoted|offered|"
                    r"ordered|proposed)\b"),
    ("required volume", r"\b(required|needed|needs|necessary|min(imum)?|calculated|theoretical)\b"
                        rf".*\b({_VOLUME}|size)\b|{_VOLUME} (required|needed)|^needs$"
                        r"|^(hopper )?volume$|^volume by\b"
                        r"|\bvol\.? req|\breq('?d|\.)? vol"),
    ("chosen size", r"\b(size|hopper)\b.*\bpicked\b|\bpicked\b.*\b(size|hopper)\b"),
    ("size", r"^((hopper|catalog|model|nominal|rated) )?(size|volume|capacity|lit(er|re))s?"
             r"|^(ft3|cu\.? ?ft)$"),
    ("net price", r"\bdiscounted price\b|\bprice\b.*\b(after|less|incl)\b.*\bdiscount"),
    ("grand total", r"^total (after|less|incl)"),
    ("discount", r"\b(discount|disc\.?|rebate|allowance %)"),
    ("freight", r"\b(freight|shipping|packing|delivery|transport|installation|crating)\b"),
    ("grand total", r"\b(grand|order|quote|offer|overall|project|final)[ -]+"
                    r"(total|sum|price|amount)\b|^(total|sum)( (price|amount|net|due|cost))?:?$"
                    r"|amount due"),
    ("subtotal", r"\bsub[ -]?total|^sum of\b|^total (of |for )?(phase|section|group|lot)"),
    ("net price", r"\b(net|line total|extended|total price|line price|line amount|ext\.? price|"
                  r"price total|amount|line net)\b|^total\b.*\bline|^line\b.*\btotal"),
    ("list price", r"\b(list|unit|catalog|each)\b.*\bprice\b|\bprice each\b|^price\b|\bprice$"
                   r"|^list(,? (\$|€|£|eur|usd|gbp|chf))?$|^(eur|usd|gbp|chf|\$|€|£)$"),
    ("quantity", r"\b(hoppers|units|pieces) (quoted|ordered)\b"
                 r"|\b(qty|quantity|pieces|pcs|number of (hoppers|dryers|units)|count|no\. of)\b"),
    ("model", r"\b(model|type|article|part no\.?|item no\.?|item code|code)\b"),
    ("resin", r"\b(resin|material|polymer|plastic)\b"),
    ("job", r"^(job|press|machine|line|part|project|position|pos\.?|item|application|no\.?|#)"
            r"( (no\.?|name|number))?$"),
)  # fmt: skip

#: Roles that are bulk densities.
DENSITIES = frozenset(("virgin density", "regrind density", "density", "load density"))
#: Roles that are amounts of money.
MONEY = frozenset(("list price", "net price", "grand total", "subtotal", "freight"))

_RULES = tuple((role, re.compile(words, re.IGNORECASE)) for role, words in ROLES)
#: What a unit in a heading says, whatever the words: (unit, [(role, words)]).
_BY_UNIT = tuple(
    (re.compile(unit), tuple((role, re.compile(words, re.IGNORECASE)) for role, words in rules))
    for unit, rules in (
        (
            r"(?i)\b(lbs?|kg|g)/(cu\.? ?ft|ft3|ft³|ft\^3|l\b|m3|m³|cm3|cm³|cc|dm3)",
            (
                ("virgin density", _VIRGIN), ("regrind density", _REGRIND),
                ("load density", r"\b(high|load|max|heavy)\b"), ("density", ""),
            ),
        ),
        (r"(?i)\b(lbs?|kg)/(h|hr|hour)\b|\bpph\b", (("", r"\bmax"), ("throughput", ""))),
        (
            r"(?i)\b(ft3|cu\.? ?ft|cubic feet|lit(er|re)s?)\b|ft³|ft\^3"
            r"|(?<![/\w])m(3|³|\^3)(?![/\w])|[\[(]L[\])]|[,\s]L$",
            (
                ("", _IN_PLACE),
                ("required volume", r"\b(need|requ?\b|req'?d|required|min(imum)?\b)"),
                ("next size", r"\bnext\b"),
                ("size below", r"\bbelow\b"),
                ("chosen size", r"\b(chosen|selected|quoted|offered|ordered|picked)\b"),
                ("size", r"\b(hopper|size|model|capacity)\b"),
            ),
        ),
    )
)  # fmt: skip


@lru_cache(maxsize=16_384)
def role_of(text: str) -> str:
    """The role that a heading or label names, ``""`` where it names none.

    A unit says most: "Virgin [lb/ft3]" is a density, "Virgin [%]" a share. A sentence has no role.
    Headings in other languages are read word by word.
    """
    english = in_english(text)
    return (_named_by(english) if english != text else "") or _named_by(text)


def _named_by(text: str) -> str:
    plain = " ".join(_UNIT.sub(" ", text).replace("_", " ").split()).strip(" :.,")
    plain = _IN_CURRENCY.sub("", _KIND.sub("", plain))
    if not plain or len(plain.split()) > 8:
        return ""
    for unit, rules in _BY_UNIT:
        if unit.search(text):
            found = next((role for role, words in rules if words.search(plain)), None)
            if found is not None:
                return found
    return next((role for role, words in _RULES if words.search(plain)), "")
