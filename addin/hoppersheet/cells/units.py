"""From text with a unit to a number: a closed table of unit words, factors from pint.

User text never reaches pint's parser, which reads ``1,5 kg`` as 15 kg and ``3 cfm`` as
centi-femto-metres. Instead a unit is composed of known words: :func:`spellings` lists them, and
``_SHAPES`` says which kinds of words make a unit of the trade (a mass over a time, an energy over
a mass and a degree). Anything else is refused with a suggestion. pint supplies the factor and the
dimension check, once per unit, and is imported only when a text with a unit turns up that is not
the one of plain numbers. Those use :data:`HOME_FACTORS`.

Over 400 lines, a third of them the table of unit words, which is read as one list.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import cache, lru_cache
from typing import Any

from ..errors import NotThisQuantity, WrongKind
from .numbers_in_text import shown
from .quantities import QUANTITIES

__all__ = [
    "HOME_FACTORS",
    "SPELLING_GROUPS",
    "STANDARD_FLOWS",
    "canonical",
    "did_you_mean",
    "expression",
    "expression_or_none",
    "factor",
    "is_unit",
    "nearest",
    "spellings",
    "spellings_in",
]

# Exact by definition: NIST SP 811 (2008) appendix B.8; Btu is the International Table one.
_LB, _FT, _BTU = 0.45359237, 0.3048, 1055.05585262
_LB_PER_H = _LB / 3600.0
_CFM = _FT**3 / 60.0

#: Unit of plain numbers -> (factor, offset) to SI: ``si = number * factor + offset``.
#: A test compares each with pint.
HOME_FACTORS: dict[str, tuple[float, float]] = {
    "1": (1.0, 0.0),
    "lb/ft3": (_LB / _FT**3, 0.0),
    "kg/L": (1000.0, 0.0),
    "lb/h": (_LB_PER_H, 0.0),
    "kg/h": (1.0 / 3600.0, 0.0),
    "h": (3600.0, 0.0),
    "s": (1.0, 0.0),
    "ft3": (_FT**3, 0.0),
    "L": (1e-3, 0.0),
    "cm3": (1e-6, 0.0),
    "lb": (_LB, 0.0),
    "kg": (1.0, 0.0),
    "g": (1e-3, 0.0),
    "lb/ft": (_LB / _FT, 0.0),
    "kg/m": (1.0, 0.0),
    "ft/min": (_FT / 60.0, 0.0),
    "m/min": (1.0 / 60.0, 0.0),
    "ft": (_FT, 0.0),
    "m": (1.0, 0.0),
    "deg": (1.0, 0.0),
    "degF": (5.0 / 9.0, -160.0 / 9.0),
    "degC": (1.0, 0.0),
    "cfm/(lb/h)": (_CFM / _LB_PER_H, 0.0),
    "m3/h/(kg/h)": (1.0, 0.0),
    "cfm": (_CFM, 0.0),
    "m3/h": (1.0 / 3600.0, 0.0),
    "Btu/(lb degF)": (4186.8, 0.0),
    "kJ/(kg K)": (1000.0, 0.0),
    "Btu/h": (_BTU / 3600.0, 0.0),
    "kW": (1000.0, 0.0),
    "lb/lb": (1.0, 0.0),
    "kg/kg": (1.0, 0.0),
}

_MASS = {
    "pound": "lb lbs lbm # pound pounds",
    "ounce": "oz ounce ounces",
    "gram": "g gram grams",
    "milligram": "mg milligram milligrams",
    "kilogram": "kg kgs kilo kilos kilogram kilograms",
    "metric_ton": "t tonne tonnes metric_ton metric_tons",
    "short_ton": "short_ton short_tons",
    "long_ton": "long_ton long_tons",
    "grain": "grain grains",
}
_LENGTH = {
    "foot": "ft foot feet",
    "inch": "in inch inches",
    "yard": "yd yard yards",
    "meter": "m metre metres meter meters",
    "centimeter": "cm centimeter centimeters centimetre centimetres",
    "millimeter": "mm millimeter millimeters millimetre millimetres",
}
_TIME = {
    "hour": "h hr hrs hour hours",
    "minute": "min mins minute minutes",
    "second": "s sec secs second seconds",
    "day": "d day days 24h 24_h 24hr 24_hr 24_hrs 24_hours",
}
_VOLUME = {
    "foot**3": "ft3 cu_ft cuft cf cubic_foot cubic_feet",
    "inch**3": "in3 cu_in cubic_inch cubic_inches",
    "yard**3": "yd3 cu_yd cubic_yard cubic_yards",
    "gallon": "gal gallon gallons us_gal us_gallon us_gallons",
    "imperial_gallon": "imp_gal imperial_gallon imperial_gallons",
    "liter": "l ltr ltrs liter liters litre litres dm3",
    "milliliter": "ml milliliter milliliters millilitre millilitres cc cm3 cu_cm "
    "cubic_centimeter cubic_centimeters cubic_centimetre cubic_centimetres",
    "hectoliter": "hl hectoliter hectoliters hectolitre hectolitres",
    "meter**3": "m3 cu_m cubic_meter cubic_meters cubic_metre cubic_metres",
}
_FLOW_OF_AIR = {"foot**3/minute": "cfm", "foot**3/hour": "cfh"}
_RATE = {"pound/hour": "pph", "pound/second": "pps"}
_SPEED = {"foot/minute": "fpm", "foot/second": "fps"}
_DENSITY = {"pound/foot**3": "pcf"}
_TEMPERATURE = {
    "degF": "degf deg_f f fahrenheit",
    "degC": "degc deg_c c celsius",
    "kelvin": "k kelvin",
    "degR": "degr deg_r rankine",
}
_ANGLE = {"degree": "deg degree degrees", "radian": "rad radian radians"}
_PRESSURE = {
    "psi": "psi",
    "pascal": "pa",
    "hectopascal": "hpa",
    "kilopascal": "kpa",
    "megapascal": "mpa",
    "bar": "bar",
    "millibar": "mbar",
    "standard_atmosphere": "atm",
}
_ENERGY = {
    "Btu_table": "btu",
    "joule": "j joule joules",
    "kilojoule": "kj",
    "megajoule": "mj",
    "watt_hour": "wh",
    "kilowatt_hour": "kwh",
    "kilocalorie": "kcal",
}
_HEAT = {"watt": "w watt watts", "kilowatt": "kw kilowatt kilowatts", "Btu_table/hour": "btuh"}
_RATIO = {"percent": "% percent pct", "ppm": "ppm"}

#: A word that names more than one unit -> what to type instead. ``T`` is as typed: for some it is
#: the short ton, and ``t`` is the metric one.
_AMBIGUOUS = {
    "T": "the unit 'T' is ambiguous; type t for metric tons, or short tons",
    "ton": "the unit 'ton' is ambiguous; type short ton, long ton, or t for the metric ton",
    "tons": "the unit 'tons' is ambiguous; type short tons, long tons, or t for metric tons",
    "tph": "the unit 'tph' is ambiguous; type short ton/h, or t/h for metric tons",
    "gr": "the unit 'gr' is ambiguous; type g for grams, or grain for grains",
    "sm3/h": "the unit 'Sm3/h' is ambiguous: its air may be at 0, 15 or 20 degC; type Nm3/h for "
    "0 degC",
}
#: Unit of a standard or normal flow -> (unit of volume flow, reference temperature in degC); the
#: pressure is 101.325 kPa (14.696 psi). Normal: DIN 1343. Standard cubic feet: 68 degF is common
#: practice, no source; others mean 60 or 70 degF, 1.5 % apart.
STANDARD_FLOWS = {
    "scfm": ("cfm", 20.0),
    "scfh": ("cfh", 20.0),
    "nm3/h": ("m3/h", 0.0),
    "nm3/hr": ("m3/h", 0.0),
    "nm3/min": ("m3/min", 0.0),
    "nl/min": ("l/min", 0.0),
    "nl/s": ("l/s", 0.0),
}
_A_MASS_OF_AIR = (
    "{} is a standard flow, a mass of air at {:g} degC and 101.325 kPa: how large the flow is "
    "depends on temperature and altitude, which HOPPER_AIR_HEAT knows; here type the actual flow, "
    "in cfm or m3/h"
)


#: Kind of word -> what its words mean. A word with a slash in its meaning stands for a whole unit.
_KINDS = {
    "mass": _MASS, "length": _LENGTH, "time": _TIME, "volume": _VOLUME, "airflow": _FLOW_OF_AIR,
    "throughput": _RATE, "speed": _SPEED, "bulk density": _DENSITY, "temperature": _TEMPERATURE,
    "angle": _ANGLE, "pressure": _PRESSURE, "energy": _ENERGY, "heat": _HEAT, "ratio": _RATIO,
}  # fmt: skip
#: The kinds of words, for documentation and tests.
SPELLING_GROUPS = tuple(_KINDS)

#: Kinds of words in a row -> how their meanings are put together: all units that are understood,
#: apart from single words. ``/`` divides by what follows, ``*`` multiplies.
_SHAPES = {
    "mass/volume": "({})/({})",  # bulk density
    "mass/time": "({})/({})",  # throughput
    "mass/length": "({})/({})",
    "length/time": "({})/({})",  # speed
    "volume/time": "({})/({})",  # airflow
    "energy/time": "({})/({})",  # heat
    "energy/mass": "({})/({})",
    "mass/mass": "({})/({})",  # ratio
    "volume/mass": "({})/({})",  # what airflow per throughput comes down to
    "airflow/throughput": "({})/({})",
    "airflow/mass/time": "({})/(({})/({}))",
    "volume/time/throughput": "(({})/({}))/({})",
    "volume/time/mass/time": "(({})/({}))/(({})/({}))",
    "energy/mass*temperature": "{}/({}*{})",  # specific heat
    "energy/mass/temperature": "{}/({}*{})",
}
#: A temperature difference, in a specific heat: the same word means another unit of pint's.
_DIFFERENCE = {"degF": "delta_degF", "degC": "delta_degC", "degR": "delta_degF"}
#: The trade writes gr/lb for grains per pound; alone, gr is refused.
_WHOLE = {"gr/lb": "grain/pound"}


def _words(table: dict[str, str]) -> dict[str, str]:
    """One entry per spelling; ``_`` inside a spelling stands for a blank."""
    return {
        spelling.replace("_", " "): unit
        for unit, spelled in table.items()
        for spelling in spelled.split()
    }


@cache
def _kinds() -> dict[str, tuple[str, str]]:
    """Word -> (its kind, its meaning)."""
    return {word: (kind, m) for kind in _KINDS for word, m in spellings_in(kind).items()}


@cache
def spellings() -> dict[str, str]:
    """Every word that a unit can be made of -> the pint expression it stands for."""
    return {word: meaning for word, (_, meaning) in _kinds().items()}


def spellings_in(group: str) -> dict[str, str]:
    """The words of one kind of :data:`SPELLING_GROUPS`."""
    return _words(_KINDS[group])


def canonical(unit: str) -> str:
    """Bring a spelling into the form of the table.

    Case, dots of abbreviations, brackets, ``^`` and doubled blanks do not matter; superscript
    digits, the degree sign, ``per`` and ``h-1`` are read as ``3``, ``deg`` and ``/``.
    """
    text = unicodedata.normalize("NFKC", unit).casefold().replace("\u00b0", "deg ")
    text = text.replace("\u2212", "-")
    text = re.sub(r"\.(?=[a-z]+\^?-[13])", " ", text)
    text = re.sub(r"[.^()\[\]]|\*\*", "", text)
    text = re.sub("[\u00b7\u22c5\u2219\u2022]", "*", text)
    text = re.sub(r"\bper\b", "/", text)
    text = re.sub(r"\s*([/*])\s*", r"\1", " ".join(text.split()))
    text = re.sub(r"\bdeg ([fcrk])\b", r"deg\1", text)
    # kg h-1, g*cm-3
    return re.sub(r"[ *]([a-z]+)-([13])(?![0-9a-z])", lambda m: f"/{m[1]}{m[2].strip('1')}", text)


def _composed(spelled: str) -> str:
    """The pint expression of a canonical spelling, ``""`` where it is no unit."""
    kinds = _kinds()
    if spelled in _WHOLE:
        return _WHOLE[spelled]
    if spelled in kinds:
        return kinds[spelled][1]
    shape, meanings = "", []
    for part in re.split(r"([/*])", spelled):
        found = part if part in "/*" else _in_words(part)
        if not found:
            return ""
        for word in found if isinstance(found, tuple) else ():
            kind, meaning = kinds[word]
            shape += f"*{kind}" if shape and shape[-1] not in "/*" else kind
            meanings.append(_DIFFERENCE.get(meaning, meaning))
        if part in "/*":
            shape += part
    return _SHAPES[shape].format(*meanings) if shape in _SHAPES else ""


def _in_words(part: str) -> tuple[str, ...]:
    """A part of a unit as one word, or as two with a blank or a hyphen between; else nothing."""
    kinds = _kinds()
    if part in kinds:
        return (part,)
    for hyphen in re.finditer(r"[ -]", part):
        two = (part[: hyphen.start()], part[hyphen.end() :])
        if two[0] in kinds and two[1] in kinds:
            return two
    return ()


@lru_cache(maxsize=4096)
def expression_or_none(unit: str) -> str:
    """Pint expression of a spelling, "" where it is none of a unit.

    For texts that need not be units: no near spelling is looked for, which takes long.
    """
    return "" if _says_tons(unit) else _composed(canonical(unit))


def _says_tons(unit: str) -> bool:
    """Whether a spelling has the T that is a short, a long or a metric ton."""
    return "T" in re.split(r"[^A-Za-z]+", unit)


@lru_cache(maxsize=4096)
def _what_is_wrong(unit: str) -> str:
    """Why a spelling is none of a unit."""
    spelled = canonical(unit)
    if _says_tons(unit):
        return _AMBIGUOUS["T"]
    for standard, (_, reference) in STANDARD_FLOWS.items():
        if spelled == standard or spelled.startswith((f"{standard}/", f"{standard}*")):
            return _A_MASS_OF_AIR.format(shown(unit), reference)
    for part in (spelled, *re.split(r"[/*]", spelled)):
        if part in _AMBIGUOUS:
            return _AMBIGUOUS[part]
    return f"unknown unit {shown(unit)}{_suggestion(spelled)}"


@lru_cache(maxsize=4096)
def is_unit(text: str) -> bool:
    """Whether a text is a spelling of a unit, be it an ambiguous one.

    For texts that need not be units: no near spelling is looked for, which takes long.
    """
    spelled = canonical(text)
    if _composed(spelled):
        return True
    return any(part in _AMBIGUOUS for part in (spelled, *re.split(r"[/*]", spelled)))


def expression(unit: str) -> str:
    """Pint expression of a unit as the user spelled it.

    Raises:
        WrongKind: the spelling is not in the table; names the nearest one.
    """
    found = expression_or_none(unit)
    if not found:
        raise WrongKind(_what_is_wrong(unit))
    return found


def _suggestion(spelled: str) -> str:
    """``"; did you mean 'lb/cuft'?"``: each part that is no unit replaced by the nearest unit."""
    words = spellings()
    parts = re.split(r"([/*])", spelled[:60])
    for i, part in enumerate(parts[::2]):
        if part not in words:
            near = nearest(part, words)
            if not near:
                return ""
            parts[2 * i] = near
    whole = "".join(parts)
    return f"; did you mean {whole!r}?" if whole != spelled and _composed(whole) else ""


def nearest(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """The known word most like ``word``; ``""`` where none is near."""
    import difflib  # no cell without a typing error needs it

    near = difflib.get_close_matches(word, list(known), n=1, cutoff=cutoff) if word else []
    return near[0] if near else ""


def did_you_mean(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """``"; did you mean 'x'?"``, or nothing where no known word is near."""
    near = nearest(word, known, cutoff)
    return f"; did you mean {near!r}?" if near else ""


@lru_cache(maxsize=1)
def _registry() -> Any:
    """The application's one pint registry, made when a unit first turns up."""
    import pint

    registry = pint.UnitRegistry()
    # pint's own Btu is the International Table one under another name; state it ourselves
    # (NIST SP 811 B.8) so that no edition of pint's definitions can change it.
    registry.define("Btu_table = 1055.05585262 * joule")
    return registry


@lru_cache(maxsize=4096)
def factor(unit: str, target: str) -> tuple[float, float]:
    """(factor, offset) from ``unit`` to ``target``: ``target = number * factor + offset``.

    Args:
        unit, target: spellings from the table; ``"1"`` is a plain ratio.

    Raises:
        WrongKind: a spelling is unknown.
        NotThisQuantity: the two measure different things.
    """
    source, goal = _expression(unit), _expression(target)
    if source == goal:
        return 1.0, 0.0
    known = _home_factors().get((source, goal))
    if known is not None:
        return known
    measures = _home_measures()
    if source in measures and goal in measures and measures[source] != measures[goal]:
        raise _other_quantity(unit, target)
    return _by_pint(unit, target)


def _other_quantity(unit: str, target: str) -> NotThisQuantity:
    return NotThisQuantity(
        f"{unit!r} cannot be converted to {target!r}: they measure different things"
    )


@cache
def _home_measures() -> dict[str, str]:
    """What the units of both systems measure, by the unit in SI; a ratio of masses is a ratio."""
    return {
        _expression(unit): "1" if measure.si == "kg/kg" else measure.si
        for measure in QUANTITIES.values()
        for unit in (measure.us, measure.metric, measure.si)
    }


def _expression(unit: str) -> str:
    return "dimensionless" if unit == "1" else expression(unit)


@cache
def _home_factors() -> dict[tuple[str, str], tuple[float, float]]:
    """The factors that are known without pint, which takes as long to start as a short job list.

    Those of the units of both systems, to SI and from one system to the other.
    """
    found = {}
    for measure in QUANTITIES.values():
        units = (measure.us, measure.metric)
        for unit in units:
            found[_expression(unit), _expression(measure.si)] = HOME_FACTORS[unit]
        for unit, target in (units, units[::-1]):
            (scale, zero), (other, nought) = HOME_FACTORS[unit], HOME_FACTORS[target]
            pair = (scale / other, (zero - nought) / other)
            key = (_expression(unit), _expression(target))
            found.setdefault(key, _exact_scale(*pair) if pair[1] else pair)
    return found


def _exact_scale(one: float, zero: float) -> tuple[float, float]:
    """Factor and offset of a temperature scale without the rounding of the way over kelvin.

    They are defined by fractions with small denominators: 5/9, 273.15, 459.67.
    """
    from fractions import Fraction

    return tuple(float(Fraction(x).limit_denominator(1000)) for x in (one, zero))  # type: ignore[return-value]


def _by_pint(unit: str, target: str) -> tuple[float, float]:
    """The same as :func:`factor`, always from pint."""
    source, goal = _expression(unit), _expression(target)
    registry = _registry()
    from_unit, to_unit = registry.Unit(source), registry.Unit(goal)
    # An angle has no dimension for pint; but 10 degrees are no reserve of 17 %.
    if from_unit.dimensionality != to_unit.dimensionality or (source in _ANGLE) != (goal in _ANGLE):
        raise _other_quantity(unit, target)
    zero, one = (float(registry.Quantity(x, from_unit).to(to_unit).magnitude) for x in (0.0, 1.0))
    if zero == 0.0:
        return one, 0.0
    return _exact_scale(one - zero, zero)
