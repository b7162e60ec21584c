"""Units as people write them in job lists, and which unit system they belong to."""

from __future__ import annotations

import re
from functools import lru_cache

from ...cells.quantities import QUANTITIES
from ...cells.units import canonical, factor
from ...cells.units import is_unit as known_unit
from ...errors import CellError, WrongKind
from ..heading_words import plain_text

__all__ = [
    "is_unit",
    "is_unit_heading",
    "same_unit",
    "says_hours_and_minutes",
    "says_part_of_a_day",
    "says_running_time",
    "speaks_metric",
    "speaks_of_shifts",
    "tidy_unit",
    "unit_in",
    "unit_is_temperature",
    "unit_measures",
    "unit_system",
    "unknown_unit",
    "what_is_wrong",
]


def is_unit(text: str) -> bool:
    """Whether a text is a unit, be it an ambiguous one; ``#`` counts as pounds."""
    return known_unit(tidy_unit(text))


def tidy_unit(unit: str) -> str:
    """A unit as the table of units spells it.

    ``#`` is the trade's sign for pounds; a density in gr/cm3 is one of grams, because no pellets
    weigh a few grains.
    """
    if "#" in unit:
        return unit.replace("#", "lb")
    if _FOREIGN.search(unit):
        for words, symbol in _FOREIGN_TIMES:
            unit = words.sub(symbol, unit)
        return unit
    if unit[:3].casefold() == "gr/":
        return f"g/{unit[3:]}"
    return unit


@lru_cache(maxsize=4096)
def unit_measures(unit: str, quantity: str) -> bool:
    """Whether a text is a unit of a quantity."""
    if quantity == "parts per hour":
        return False
    try:
        if is_unit(unit):
            factor(tidy_unit(unit), QUANTITIES[quantity].si)
            return True
    except WrongKind:
        pass
    return False


_FOREIGN = re.compile(
    r"\b(?:std|stunden?|heures?|horas?|or[ae]|tag|jours?|d[i\u00ed]as?|giorno)\b", re.IGNORECASE
)
_FOREIGN_TIMES = (
    (re.compile(r"\b(?:std|stunden?|heures?|horas?|or[ae])\b\.?", re.IGNORECASE), "h"),
    (re.compile(r"\b(?:tag|jours?|d[i\u00ed]as?|giorno)\b\.?", re.IGNORECASE), "day"),
)


def same_unit(one: str, other: str, quantity: str) -> bool:
    """Whether two units of a quantity are the same, however they are spelled: pcf and lb/ft3."""
    si = QUANTITIES[quantity].si
    (scale, offset), (second, zero) = factor(one, si), factor(other, si)
    return abs(scale / second - 1.0) < 1e-6 and offset == zero


_SHIFT = re.compile(r"\b\w*(?:shift|schicht|equipe|turno)\w*")


def unknown_unit(heading: str) -> str:
    """What in a heading is meant for a unit and cannot be converted: lbs/shift; "" for nothing."""
    plain = re.sub(r"\s*\bper\b\s*|\s*/\s*", "/", plain_text(heading))
    for word in re.findall(r"[^\s,;:()\[\]{}]+", plain):
        first, slash, second = word.partition("/")
        if slash and second and is_unit(first) and not is_unit(word) and not first.isdigit():
            return word
    shift = _SHIFT.search(plain)
    return shift[0] if shift else ""


def speaks_of_shifts(text: str) -> bool:
    """Whether a text names a shift, of which nobody knows the length."""
    return _SHIFT.search(plain_text(text)) is not None


def what_is_wrong(unit: str, quantity: str) -> str:
    """What is wrong with a unit, as the end of a sentence; "" for nothing."""
    if speaks_of_shifts(unit):
        return ", and a shift has no fixed length: give the rate per hour or per day"
    try:
        factor(tidy_unit(unit), QUANTITIES[quantity].si)
    except CellError as problem:
        return f": {problem.reason}"
    return ""


def unit_in(text: str, quantity: str) -> str:
    """The unit of a quantity that a line of text names, "" where it names none or several.

    A unit behind a number ("up to 500 kg/h") says how much, not in which unit a column is.
    """
    found = {}
    for word in re.finditer(r"[^\s,;:()\[\]]+", text):
        unit = tidy_unit(word[0].strip("."))
        amount = re.search(r"[0-9]\s*$", text[: word.start()])
        if amount is None and len(unit) > 2 and unit_measures(unit, quantity):
            found[canonical(unit)] = unit
    return next(iter(found.values())) if len(found) == 1 else ""


def is_unit_heading(text: str) -> bool:
    """Whether a heading says that the cells below are units."""
    return plain_text(text).strip(" .:") in (
        "unit", "units", "uom", "einheit", "einheiten", "unite", "unites", "unidad", "unidades",
        "unita", "eenheid", "rate unit", "throughput unit", "density unit", "unit of measure",
    )  # fmt: skip


_TEMPERATURES = ("degc", "degf", "c", "f", "k", "kelvin", "deg c", "deg f")


def unit_is_temperature(unit: str) -> bool:
    """Whether a unit is one of temperature."""
    return bool(unit) and canonical(unit) in _TEMPERATURES


def says_hours_and_minutes(heading: str, unit: str) -> bool:
    """Whether a heading in minutes says hours: "Dry hrs (min)"."""
    minutes = canonical(unit).startswith("min")
    return minutes and bool(re.search(r"\bh(?:ou)?rs?\b|stunden|\bstd\b", plain_text(heading)))


_RUNNING_TIME = re.compile(
    r"\b(?:hours?|hrs?|h|std|stunden|heures?|horas?|shifts?|schichten|equipes|turnos)\s*"
    r"(?:/|per|pro|je|par|por|an?)\s*(?:day|d|tag|jour|dia)\b"
    r"|\b(?:run(?:ning)?|operating|operation|production|working|machine|uptime)\s+(?:time|hours?|hrs?|h)\b"
    r"|\b(?:betriebs|lauf|produktions|maschinen)(?:stunden|zeit)\b|\buptime\b|\bshifts\b|\bschichten\b"
    r"|\bh(?:ours|rs)?\s+run\b"
)


def says_running_time(heading: str) -> bool:
    """Whether a heading says how long of a day a machine runs."""
    plain = plain_text(heading).replace("_", " ")
    return not plain.startswith("note") and _RUNNING_TIME.search(plain) is not None


_WHOLE_DAY = re.compile(
    r"\b(?:3|three|drei|trois|tres)[\s-]*(?:shift|schicht|equipe|turno)|\b24\s*/?\s*(?:h|7)"
)


def says_part_of_a_day(text: str) -> bool:
    """Whether a text speaks of shifts that may not fill a day."""
    return speaks_of_shifts(text) and _WHOLE_DAY.search(plain_text(text)) is None


_METRIC = re.compile(
    r"(?<![a-z])(?:kgs?|kilos?|g/cm3|g/cc|g/ml|kg/l|kg/m3|liters?|litres?|l/h)(?![a-z])"
)
_METRIC_STEMS = ("kg", "kilo", "g/c", "g/m", "liter", "litre", "l/h")


def speaks_metric(text: str) -> bool:
    """Whether a text names a metric unit of mass or volume: "all weights in kg"."""
    lower = text.lower()
    if not any(stem in lower for stem in _METRIC_STEMS):  # looking for them is fast
        return False
    return bool(_METRIC.search(plain_text(text).replace("\u00b3", "3")))


_US_WORDS = frozenset((
    "lb", "lbs", "oz", "ft3", "in3", "yd3", "ft", "foot", "feet", "in", "gal", "gallon",
    "gallons", "pcf", "pph", "pps", "ft/min", "fpm", "degf", "f", "cf", "cuft",
))  # fmt: skip
_METRIC_WORDS = frozenset((
    "kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "g", "gram", "grams", "t", "tonne",
    "tonnes", "mg", "l", "liter", "liters", "litre", "litres", "dm3", "ml", "cc", "cm3", "hl",
    "m3", "m", "cm", "mm", "degc", "c", "celsius",
))  # fmt: skip


def unit_system(unit: str) -> str:
    """ "US", "metric", or "" for a unit that both systems use."""
    words = canonical(tidy_unit(unit)).replace("/", " ").replace("*", " ").split()
    if any(w in _US_WORDS or w.startswith(("pound", "ounce", "gallon", "cu")) for w in words):
        return "US"
    return "metric" if any(w in _METRIC_WORDS for w in words) else ""
