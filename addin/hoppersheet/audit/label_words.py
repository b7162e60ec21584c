"""What a text around a cell says: a unit, an origin, a reason; a label, a sentence or a number."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from ..cells.numbers_in_text import split_number
from ..cells.units import expression_or_none
from ..cells.values import is_error
from ..errors import CellError
from ..templates.cell_words import WORDS

__all__ = [
    "Reason",
    "Unit",
    "is_label",
    "is_prose",
    "is_unit",
    "is_unit_cell",
    "origin_word",
    "stated_basis",
    "unit_in",
    "without_unit",
]


@dataclass(frozen=True)
class Unit:
    """A unit that a sheet states; ``sure`` where it stands in brackets or in its own cell."""

    spelling: str
    sure: bool


#: Before a lone L: "Size L", "Required volume, L".
_VOLUME = re.compile(
    r"\b(volumen?|size|capacit\w*|capacidad|hopper|need(s|ed)?|required|tr[e\u00e9]mie|tolva|"
    r"trichter\w*|chosen|next)\b", re.IGNORECASE,
)  # fmt: skip


def is_unit(spelling: str) -> bool:
    """Whether a text is the name of a unit and nothing else."""
    return bool(expression_or_none(spelling))


@lru_cache(maxsize=4096)
def unit_in(text: str) -> Unit | None:
    """The unit that a heading or label names, if any.

    ``"Throughput [lb/h]"``, ``"Density (kg/L)"``, ``"Volume, ft3"``, ``"Hours h"``. A bare word
    at the end counts only where it cannot be an ordinary word.
    """
    for at, line in enumerate(text.split("\n")):
        words = line.split()
        for first in range(len(words) if not at else 1):  # a second line often begins with a unit
            for count in (3, 2, 1):
                part = " ".join(words[first : first + count]).strip("[],")
                if first and re.fullmatch(r"[\d.,]+", words[first - 1]):
                    continue  # "stated 220 lb/h" names a figure, not the unit of what is below
                if part.startswith("(") and part.find(")") == len(part) - 1:
                    part = part[1:-1]
                if (at or "/" in part) and part.count("(") == part.count(")") and is_unit(part):
                    return Unit(part, True)
    for pattern in (r"\[([^\[\]]+)\]", r"\((.+)\)"):
        for inside in reversed(re.findall(pattern, text)):
            parts = re.split(r",| or ", inside)
            if len(parts) > 1 and all(is_unit(part.strip()) for part in parts):
                return None  # "[lb/ft3, kg/L]" leaves it open
            for part in (inside, inside.split(",")[-1], inside.removeprefix("in ")):
                if is_unit(part.strip()):
                    return Unit(part.strip(), True)
    words = text.replace(",", " ").split()
    for count in (2, 1):
        last = " ".join(words[-count:])
        ordinary = last.isalpha() and len(last) < 3 and last.lower() not in ("lb", "kg", "ft")
        if last in ("L", "l") and _VOLUME.search(" ".join(words[:-1])):
            ordinary = last == "l" and not text.rstrip().endswith(", l")
        if len(words) > count and not ordinary and is_unit(last):
            return Unit(last, False)
    return None


_CURRENCIES = frozenset(("usd", "eur", "gbp", "chf", "$", "\u20ac", "\u00a3"))


def is_unit_cell(value: Any) -> bool:
    """Whether a cell says a unit, or a currency, and nothing else."""
    text = value.strip(" []()") if isinstance(value, str) else ""
    return bool(text) and (text.lower() in _CURRENCIES or is_unit(text))


def is_label(value: Any) -> bool:
    """Whether a cell value is a text that says something, not a number with a unit."""
    return isinstance(value, str) and _says_something(value)


@lru_cache(maxsize=65_536)
def _says_something(value: str) -> bool:
    if not value.strip() or is_error(value):
        return False
    try:
        split_number(value)
    except CellError:
        return True
    return False


def is_prose(text: str) -> bool:
    """Whether a text is a sentence or a list of things rather than what something is called."""
    words = len(text.split())
    return words > 12 or (words > 4 and re.search(r"[:;] |[.!?](\s|$)", text.strip()) is not None)


#: origin -> how people write it
_ORIGINS = {
    "measured": ("measured", "weighed", "sample", "samples", "cup", "lab", "tested", "d1895"),
    "data sheet": ("data sheet", "datasheet", "data-sheet", "tds", "resin maker", "supplier"),
    "estimated": (
        "estimated", "estimate", "est", "assumed", "assumption", "guess", "guessed",
        "rule of thumb", "typical",
    ),
    "stated": ("customer", "stated", "drawing", "order", "rfq"),
}  # fmt: skip


def origin_word(text: Any) -> str:
    """``"measured"``, ``"data sheet"``, ``"estimated"``, ``"stated"`` or ``""``."""
    return _origin_in(text) if isinstance(text, str) else ""


@lru_cache(maxsize=4096)
def _origin_in(text: str) -> str:
    words = f" {re.sub(r'[^a-z0-9-]+', ' ', text.lower())} "
    if re.search(r" (not|never|un)[ -]?(measured|tested|weighed) ", words):
        return "estimated"
    return next(
        (o for o, spelled in _ORIGINS.items() if any(f" {word} " in words for word in spelled)), ""
    )


_BY = {
    "volume": re.compile(r"\b(by |in )?vol(ume|\.)?( ?-?%)?(?!\w)|\bvolum\w+", re.IGNORECASE),
    "mass": re.compile(
        r"\b(by )?(mass|weight|wt|masse|masa|poids|peso)\b|\b(massen|gewicht)\w*", re.IGNORECASE
    ),
}


@lru_cache(maxsize=4096)
def stated_basis(text: str) -> str:
    """The basis of shares that a heading states: "volume", "mass" or ""."""
    if "basis" in text.lower():
        return ""
    stated = [basis for basis, words in _BY.items() if words.search(text)]
    return stated[0] if len(stated) == 1 else ""


def without_unit(text: str) -> str:
    """A heading without its unit: ``"Virgin density [lb/ft3]"`` -> ``"Virgin density"``."""
    first = text.strip().split("\n")[0]
    first = re.sub(rf"\s+({'|'.join(WORDS.values())})\s*$", "", first)  # our templates' own words
    return re.sub(r"\s*[\[(][^\])]*[\])]?\s*$", "", " ".join(first.split())).rstrip(" ,:")


@dataclass(frozen=True)
class Reason:
    """What is written beside a line.

    Attributes:
        text: "" where nothing is.
        stated: whether its heading calls it a reason; a remark may be about anything.
        typed: whether somebody typed it; a formula only names the rule it followed.
    """

    text: str
    stated: bool
    typed: bool = False

    def __bool__(self) -> bool:
        return bool(self.text)

    @property
    def clause(self) -> str:
        """As a clause of a message."""
        kind = "the stated reason is" if self.stated else "the line's remark is"
        return f"{kind} {self.text!r}"

    @property
    def advice(self) -> str:
        """What to do about it."""
        return "make sure the customer knows" if self.stated else "see whether that is the reason"
