"""The words that units are made of, as the hidden names of a workbook keep them.

A unit is a word, words over words, or a product of two words: the factor of the whole is worked
out in the cell from those of its words, and so is its dimension, by which ``kg/h`` is known to be
a throughput and no density.
"""

from __future__ import annotations

from functools import cache

from ..cells.units import factor, spellings
from ..errors import NotThisQuantity

__all__ = ["FIRST_WORDS", "TEMPERATURE", "TIME", "unit_words"]

# A dimension is one number: mass counts 1, length 100, time 10000, temperature and angle more, so
# that multiplying units adds their dimensions.
_MASS, _LENGTH, TIME, TEMPERATURE, _ANGLE = 1, 100, 10_000, 1_000_000, 100_000_000
_ENERGY = _MASS + 2 * _LENGTH - 2 * TIME
#: The SI unit that a word is converted to -> its dimension.
_SI = {
    "1": 0,
    "kg": _MASS,
    "m": _LENGTH,
    "s": TIME,
    "degC": TEMPERATURE,
    "rad": _ANGLE,
    "m3": 3 * _LENGTH,
    "kg/m3": _MASS - 3 * _LENGTH,
    "kg/s": _MASS - TIME,
    "m/s": _LENGTH - TIME,
    "m3/s": 3 * _LENGTH - TIME,
    "J": _ENERGY,
    "W": _ENERGY - TIME,
    "Pa": _ENERGY - 3 * _LENGTH,
}


def _is_word(spelling: str) -> bool:
    return "/" not in spelling and "*" not in spelling


#: Words of which a unit's name has a second one behind: ``cu ft``, ``short ton``.
FIRST_WORDS = tuple(sorted({s.split()[0] for s in spellings() if " " in s and _is_word(s)}))


def _in_si(word: str) -> tuple[float, float, int]:
    """(factor, offset, dimension) of a word."""
    for target, dimension in _SI.items():
        try:
            return (*factor(word, target), dimension)
        except NotThisQuantity:
            continue
    raise ValueError(f"{word} measures what none of {', '.join(_SI)} does")


@cache
def unit_words() -> list[tuple[str, str, str, str]]:
    """(word, factor to SI, dimension, offset to SI), as formula text; blanks in words are gone."""
    found = []
    for spelling in spellings():
        if _is_word(spelling):
            scale, offset, dimension = _in_si(spelling)
            found.append((spelling.replace(" ", ""), _text(scale), str(dimension), _text(offset)))
    return list(dict.fromkeys(found))


def _text(number: float) -> str:
    return f"{number:.15g}".replace("e", "E")
