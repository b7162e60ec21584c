"""Text with a unit: every spelling, the factors, and the traps of a general parser."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterator
from math import prod

import pytest

import hoppersheet
from hoppersheet.cells import units
from hoppersheet.cells.quantities import QUANTITIES, SYSTEMS, Quantity
from hoppersheet.cells.units import HOME_FACTORS, SPELLING_GROUPS, expression, factor
from hoppersheet.errors import NotThisQuantity, WrongKind

#: Every word that spellings are made of -> its size in SI. This table is the outside check: it is
#: written from NIST SP 811 (2008) appendix B.8, exact values from its footnotes and from
#: NIST Handbook 44 appendix C (US gallon 231 in3) and the UK Weights and Measures Act 1985
#: (imperial gallon 4.54609 L), and shares nothing with the code or with pint.
LB, FOOT, INCH, YARD, GALLON = 0.45359237, 0.3048, 0.0254, 0.9144, 231 * 0.0254**3
BTU, GRAIN = 1055.05585262, 6.479891e-5
SIZES = {
    **dict.fromkeys(("lb", "lbs", "lbm", "#", "pound", "pounds"), LB),
    **dict.fromkeys(("oz", "ounce", "ounces"), LB / 16),
    **dict.fromkeys(("g", "gram", "grams"), 1e-3),
    **dict.fromkeys(("mg", "milligram", "milligrams"), 1e-6),
    **dict.fromkeys(("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"), 1.0),
    **dict.fromkeys(("t", "tonne", "tonnes", "metric ton", "metric tons"), 1000.0),
    **dict.fromkeys(("short ton", "short tons"), 2000 * LB),
    **dict.fromkeys(("long ton", "long tons"), 2240 * LB),
    **dict.fromkeys(("grain", "grains", "gr"), GRAIN),
    **dict.fromkeys(("ft", "foot", "feet"), FOOT),
    **dict.fromkeys(("in", "inch", "inches"), INCH),
    **dict.fromkeys(("yd", "yard", "yards"), YARD),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0),
    **dict.fromkeys(("cm", *(f"centi{m}" for m in ("meter", "meters", "metre", "metres"))), 1e-2),
    **dict.fromkeys(("mm", *(f"milli{m}" for m in ("meter", "meters", "metre", "metres"))), 1e-3),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), 3600.0),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), 60.0),
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1.0),
    **dict.fromkeys(("d", "day", "days"), 86400.0),
    **dict.fromkeys(("24h", "24 h", "24hr", "24 hr", "24 hrs", "24 hours"), 86400.0),
    **dict.fromkeys(("ft3", "cu ft", "cuft", "cf", "cubic foot", "cubic feet"), FOOT**3),
    **dict.fromkeys(("in3", "cu in", "cubic inch", "cubic inches"), INCH**3),
    **dict.fromkeys(("yd3", "cu yd", "cubic yard", "cubic yards"), YARD**3),
    **dict.fromkeys(("gal", "gallon", "gallons", "us gal", "us gallon", "us gallons"), GALLON),
    **dict.fromkeys(("imp gal", "imperial gallon", "imperial gallons"), 4.54609e-3),
    **dict.fromkeys(("l", "ltr", "ltrs", "liter", "liters", "litre", "litres", "dm3"), 1e-3),
    **dict.fromkeys(
        ("ml", "milliliter", "milliliters", "millilitre", "millilitres", "cc", "cm3"), 1e-6
    ),
    **dict.fromkeys(("cu cm", "cubic centimeter", "cubic centimeters"), 1e-6),
    **dict.fromkeys(("cubic centimetre", "cubic centimetres"), 1e-6),
    **dict.fromkeys(("hl", "hectoliter", "hectoliters", "hectolitre", "hectolitres"), 0.1),
    **dict.fromkeys(
        ("m3", "cu m", "cubic meter", "cubic meters", "cubic metre", "cubic metres"), 1.0
    ),
    "cfm": FOOT**3 / 60,
    "cfh": FOOT**3 / 3600,
    "pcf": LB / FOOT**3,
    "pph": LB / 3600,
    "pps": LB,
    "fpm": FOOT / 60,
    "fps": FOOT,
    # As a difference of temperature, in a specific heat.
    **dict.fromkeys(("degf", "deg f", "f", "fahrenheit", "degr", "deg r", "rankine"), 5 / 9),
    **dict.fromkeys(("degc", "deg c", "c", "celsius", "k", "kelvin"), 1.0),
    **dict.fromkeys(("deg", "degree", "degrees"), 1.0),
    **dict.fromkeys(("rad", "radian", "radians"), 57.29577951308232),
    "psi": LB * 9.80665 / INCH**2,
    "pa": 1.0,
    "hpa": 100.0,
    "kpa": 1e3,
    "mpa": 1e6,
    "bar": 1e5,
    "mbar": 100.0,
    "atm": 101325.0,
    "btu": BTU,
    **dict.fromkeys(("j", "joule", "joules"), 1.0),
    "kj": 1e3,
    "mj": 1e6,
    "wh": 3600.0,
    "kwh": 3.6e6,
    "kcal": 4184.0,  # the thermochemical one
    **dict.fromkeys(("w", "watt", "watts"), 1.0),
    **dict.fromkeys(("kw", "kilowatt", "kilowatts"), 1000.0),
    "btuh": BTU / 3600,
    **dict.fromkeys(("%", "percent", "pct"), 0.01),
    "ppm": 1e-6,
}

#: Kind of word -> SI unit to compare in, and its powers of (kg, m, s, K), from the definition of
#: each quantity in the SI Brochure, tables 4 to 6.
KINDS = {
    "mass": ("kg", (1, 0, 0, 0)), "length": ("m", (0, 1, 0, 0)), "time": ("s", (0, 0, 1, 0)),
    "volume": ("m3", (0, 3, 0, 0)), "airflow": ("m3/s", (0, 3, -1, 0)),
    "throughput": ("kg/s", (1, 0, -1, 0)), "speed": ("m/s", (0, 1, -1, 0)),
    "bulk density": ("kg/m3", (1, -3, 0, 0)), "temperature": ("kelvin", (0, 0, 0, 1)),
    "angle": ("deg", (0, 0, 0, 0)), "pressure": ("pa", (1, -1, -2, 0)),
    "energy": ("j", (1, 2, -2, 0)), "heat": ("w", (1, 2, -3, 0)), "ratio": ("1", (0, 0, 0, 0)),
}  # fmt: skip
#: Units that are composed -> SI unit to compare in, their powers, and the signs of their parts.
SHAPES = {
    "mass/volume": ("kg/m3", (1, -3, 0, 0), (1, -1)),
    "mass/time": ("kg/s", (1, 0, -1, 0), (1, -1)),
    "mass/length": ("kg/m", (1, -1, 0, 0), (1, -1)),
    "length/time": ("m/s", (0, 1, -1, 0), (1, -1)),
    "volume/time": ("m3/s", (0, 3, -1, 0), (1, -1)),
    "energy/time": ("w", (1, 2, -3, 0), (1, -1)),
    "energy/mass": ("j/kg", (0, 2, -2, 0), (1, -1)),
    "mass/mass": ("1", (0, 0, 0, 0), (1, -1)),
    "volume/mass": ("m3/kg", (-1, 3, 0, 0), (1, -1)),
    "airflow/throughput": ("m3/kg", (-1, 3, 0, 0), (1, -1)),
    "airflow/mass/time": ("m3/kg", (-1, 3, 0, 0), (1, -1, 1)),
    "volume/time/throughput": ("m3/kg", (-1, 3, 0, 0), (1, -1, -1)),
    "volume/time/mass/time": ("m3/kg", (-1, 3, 0, 0), (1, -1, -1, 1)),
    "energy/mass*temperature": ("j/kg/k", (0, 2, -2, -1), (1, -1, -1)),
    "energy/mass/temperature": ("j/kg/k", (0, 2, -2, -1), (1, -1, -1)),
}
BASE = ("[mass]", "[length]", "[time]", "[temperature]")


def composed(shape: str) -> Iterator[tuple[str, float]]:
    """(spelling, its size in SI by SIZES): each word in each place, the others as usual."""
    kinds = re.split(r"[/*]", shape)
    usual = [next(iter(units.spellings_in(kind))) for kind in kinds]
    for place, kind in enumerate(kinds):
        for word in units.spellings_in(kind):
            words = [*usual[:place], word, *usual[place + 1 :]]
            size = prod(SIZES[w] ** sign for w, sign in zip(words, SHAPES[shape][2], strict=True))
            rest = iter(words)
            yield re.sub(r"[a-z ]+", lambda _, rest=rest: next(rest), shape), size


@pytest.mark.parametrize("kind", SPELLING_GROUPS)
def test_every_word_means_what_the_tables_say(kind: str) -> None:
    assert set(KINDS) == set(SPELLING_GROUPS)
    si, powers = KINDS[kind]
    for word in units.spellings_in(kind):
        meant = expression(word)
        assert expression(word.upper().replace("T", "t")) == meant, word
        dimensions = units._registry().Unit(meant).dimensionality
        assert tuple(dimensions.get(b, 0) for b in BASE) == powers, word
        if kind != "temperature":  # has an offset: see below
            assert factor(word, si)[0] == pytest.approx(SIZES[word], rel=2e-14), word


@pytest.mark.parametrize("shape", SHAPES)
def test_every_unit_of_words_means_what_the_tables_say(shape: str) -> None:
    assert set(SHAPES) == set(units._SHAPES)
    si, powers, _ = SHAPES[shape]
    for spelling, size in composed(shape):
        meant = expression(spelling)
        assert expression(spelling.upper().replace("T", "t")) == meant, spelling
        dimensions = units._registry().Unit(meant).dimensionality
        assert tuple(dimensions.get(b, 0) for b in BASE) == powers, spelling
        assert factor(spelling, si)[0] == pytest.approx(size, rel=2e-14), spelling


def test_no_word_means_two_things() -> None:
    words = [word for kind in SPELLING_GROUPS for word in units.spellings_in(kind)]
    assert len(words) == len(set(words)) == len(units.spellings()) > 180


@pytest.mark.parametrize("unit", HOME_FACTORS)
def test_factors_of_plain_numbers_are_those_of_pint(unit: str) -> None:
    si = next(q.si for q in QUANTITIES.values() if unit in (q.us, q.metric))
    assert factor(unit, si) == HOME_FACTORS[unit]
    (scale, offset), home = units._by_pint(unit, si), HOME_FACTORS[unit]
    assert scale == pytest.approx(home[0], rel=1e-15, abs=0)
    assert offset == pytest.approx(home[1], rel=1e-15)


def test_units_of_other_quantities_are_told_apart_as_pint_does() -> None:
    def is_one(convert: Callable[[str, str], object], unit: str, target: str) -> bool:
        try:
            return convert(unit, target) is not None
        except NotThisQuantity:
            return False

    for unit, target in itertools.permutations(HOME_FACTORS, 2):
        assert is_one(factor, unit, target) == is_one(units._by_pint, unit, target)


@pytest.mark.parametrize("measure", QUANTITIES.values(), ids=lambda q: q.name)
def test_every_quantity_has_units_in_both_systems(measure: Quantity) -> None:
    for system in SYSTEMS:
        assert measure.unit(system) in HOME_FACTORS
        factor(measure.unit(system), measure.si)


@pytest.mark.parametrize(
    ("us", "metric", "ratio"),
    [
        # NIST SP 811 (2008) appendix B.8, as printed (seen in the R package NISTunits).
        ("lb/ft3", "kg/m3", 16.01846), ("ft3", "m3", 0.02831685), ("cfm", "m3/s", 4.719474e-4),
        ("lb", "kg", 0.4535924), ("lb/h", "kg/s", 1.259979e-4), ("Btu", "J", 1055.056),
        ("Btu/h", "W", 0.2930711), ("Btu/(lb degF)", "J/(kg K)", 4186.8),
        ("Btu/lb", "J/kg", 2326), ("gal", "m3", 3.785412e-3), ("psi", "Pa", 6894.757),
        ("short ton", "kg", 907.1847), ("grain", "kg", 6.479891e-5), ("ft", "m", 0.3048),
        ("in", "m", 0.0254),
    ],
)  # fmt: skip
def test_published_factors(us: str, metric: str, ratio: float) -> None:
    scale, offset = factor(us, metric)
    assert (scale, offset) == (pytest.approx(ratio, rel=5e-7, abs=0), 0.0)


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        # degC = (degF - 32)/1.8, K = degC + 273.15: NIST SP 811 appendix B.9.
        (32, "degF", "degC", 0), (212, "degF", "degC", 100), (250, "degF", "degC", 121.1111111),
        (-40, "degF", "degC", -40), (0, "degC", "K", 273.15), (491.67, "degR", "degF", 32),
        (300, "K", "°F", 80.33), (20, "℃", "deg F", 68), (0, "K", "degC", -273.15),
    ],
)  # fmt: skip
def test_temperatures_have_an_offset(value: float, unit: str, to: str, expected: float) -> None:
    assert hoppersheet.call("HOPPER_CONVERT", value, unit, to) == pytest.approx(expected, abs=1e-7)


def test_a_temperature_round_trip_comes_back() -> None:
    for fahrenheit in (32, 50, 180, 250, 350):
        celsius = hoppersheet.call("HOPPER_CONVERT", fahrenheit, "degF", "degC")
        assert hoppersheet.call("HOPPER_CONVERT", celsius, "degC", "degF") == pytest.approx(
            fahrenheit, rel=1e-14
        )


@pytest.mark.parametrize(
    ("typed", "same"),
    [
        ("lb/ft³", "lb/ft3"), ("lb/ft^3", "lb/ft3"), ("lb/ft**3", "lb/ft3"), ("LB/FT3", "lb/ft3"),
        ("lbs. per cu. ft.", "lb/ft3"), ("lb / cu ft", "lb/ft3"), ("pcf", "lb/ft3"),
        ("pounds per cubic foot", "lb/ft3"), ("g/cm³", "g/cm3"), ("g/cc", "kg/L"),
        ("kg / l", "kg/L"), ("t/m3", "kg/L"), ("pph", "lb/h"), ("lbs/hr", "lb/h"),
        ("lb. per hour", "lb/h"), ("kg/hr", "kg/h"), ("Kg/H", "kg/h"), ("cu ft", "ft3"),
        ("cu. ft.", "ft3"), ("cuft", "ft3"), ("Litres", "L"), ("°F", "degF"), ("deg F", "degF"),
        ("° C", "degC"), ("Btu/(lb·°F)", "Btu/lb degF"),
        ("Btu/lb-°F", "Btu/lb degF"), ("Btu/(lb⋅°F)", "Btu/lb degF"), ("kJ/(kg·K)", "kJ/(kg K)"),
        ("kJ/kg/K", "kJ/(kg K)"), ("cfm per lb/h", "cfm/(lb/h)"), ("m3/h per kg/h", "m3/h/(kg/h)"),
        ("kg\u00a0/\u00a0h", "kg/h"), ("#/h", "lb/h"), ("# / hr", "lb/h"), ("#/ft3", "lb/ft3"),
        ("lbs per day", "lb/d"), ("kg/24h", "kg/day"), ("kg / 24 h", "kg/day"),
        ("kg h-1", "kg/h"), ("kg\u00b7h\u207b\u00b9", "kg/h"), ("kg.h^-1", "kg/h"),
        ("g cm-3", "g/cm3"), ("lb ft\u207b\u00b3", "lb/ft3"), ("kJ kg-1 K-1", "kJ/(kg K)"),
        ("grams per cubic centimetre", "g/cm3"), ("cu ft/min per #/hr", "cfm/(lb/h)"),
        ("t/24h", "t/d"), ("ltr", "L"), ("lbm/hr", "lb/h"),
    ],
)  # fmt: skip
def test_spellings_people_use(typed: str, same: str) -> None:
    assert factor(typed, same) == pytest.approx((1.0, 0.0), rel=1e-12)


def density(text: str) -> float:
    """What the density cell reads, in kg/m3, by way of 1 m3 of it."""
    return hoppersheet.call("HOPPER_HELD_MASS", "1 m3", text, "metric")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # pint's own parser reads "1,5 kg" as 15 kg.
        ("0,55 kg/L", 550.0), ("0.55 g/cm3", 550.0), ("550 kg/m3", 550.0), ("550 kg/m³", 550.0),
        ("1 100,5 kg/m3", 1100.5), ("34 lb/ft3", 544.62764), ("34 pcf", 544.62764),
        ("34lb/cuft", 544.62764), ("0,55", 550.0),
    ],
)  # fmt: skip
def test_densities_as_typed(text: str, expected: float) -> None:
    # 1 lb/ft3 is 16.01846 kg/m3: NIST SP 811 appendix B.8.
    assert density(text) == pytest.approx(expected, rel=1e-6)


def test_traps_of_a_general_parser() -> None:
    """Each of these means something else, or nothing, to pint's own parser (0.25.3, measured)."""
    assert hoppersheet.call("HOPPER_CONVERT", "1,5", "kg", "kg") == 1.5
    held = hoppersheet.call("HOPPER_HELD_MASS", "10.96 cu ft", 36.5)
    assert held == pytest.approx(10.96 * 36.5)  # not centi-atomic-mass-unit feet
    assert factor("cfm", "m3/s")[0] == pytest.approx(
        4.719474e-4, rel=5e-7, abs=0
    )  # not centi-femto-metre
    assert factor("T/h".lower(), "kg/h") == (pytest.approx(1000.0), 0.0)  # not tesla per henry
    assert factor("t", "kg")[0] == pytest.approx(1000.0)
    for text in ("3 ton", "3 tons", "3 Tons"):
        with pytest.raises(hoppersheet.CellError, match="ambiguous") as caught:
            hoppersheet.call("HOPPER_RATED_VOLUME", text, 35)
        assert (caught.value.code, caught.value.argument) == ("#VALUE!", "rated_mass")


@pytest.mark.parametrize(
    ("unit", "says"),
    [
        ("ton", "short ton"), ("tons/h", "short tons"), ("tph", "short ton/h"), ("T/h", "metric"),
        ("T", "metric"), ("gr", "grain"), ("gr/ft3", "grain"), ("scfm", "cfm"), ("Nm3/h", "m3/h"),
    ],
)  # fmt: skip
def test_ambiguous_units_are_refused_and_say_what_to_type(unit: str, says: str) -> None:
    with pytest.raises(WrongKind, match="type .*" + re.escape(says)):
        expression(unit)


@pytest.mark.parametrize(
    ("unit", "hint"),
    [
        ("lbs/cuftt", "lbs/cuft"), ("lb/ftt3", "lb/ft3"), ("kgg/h", "kg/h"), ("litrs", "litres"),
        ("kg/houer", "kg/hour"), ("degFF", "degf"), ("cubic foots", "cubic foot"),
        ("pounds/hourr", "pounds/hour"), ("poundss", "pounds"),
    ],
)  # fmt: skip
def test_unknown_units_suggest_the_nearest(unit: str, hint: str) -> None:
    with pytest.raises(WrongKind, match=f"unknown unit '{unit}'; did you mean '{hint}'\\?$"):
        expression(unit)


@pytest.mark.parametrize(
    "unit",
    [
        "xyzzy",
        "kg/",
        "/h",
        "furlong",
        "m2",
        "lb/ft2",
        "1",
        "?",
        "x" * 999,
        "kg/m/s",
        "kg*h",
        "kg/m3/h",
        "degC/h",
        "kg/h/m",
        "lb/shift",
        "kg/8h",
        "m3/kg/h",
        "24",
        "//",
        "kg//h",
    ],
)
def test_other_units_are_refused_without_a_guess(unit: str) -> None:
    with pytest.raises(WrongKind, match="unknown unit") as caught:
        expression(unit)
    assert len(caught.value.reason) < 100


#: Powers of (kg, m, s, K) and of an angle, which is no ratio: SI Brochure, tables 4 to 6.
POWERS = {
    "kg/m3": (1, -3, 0, 0, 0), "kg/s": (1, 0, -1, 0, 0), "s": (0, 0, 1, 0, 0),
    "m3": (0, 3, 0, 0, 0), "kg": (1, 0, 0, 0, 0), "kg/m": (1, -1, 0, 0, 0),
    "m/s": (0, 1, -1, 0, 0), "m": (0, 1, 0, 0, 0), "deg": (0, 0, 0, 0, 1),
    "degC": (0, 0, 0, 1, 0), "m3/kg": (-1, 3, 0, 0, 0), "m3/s": (0, 3, -1, 0, 0),
    "J/(kg K)": (0, 2, -2, -1, 0), "W": (1, 2, -3, 0, 0), "kg/kg": (0, 0, 0, 0, 0),
    "1": (0, 0, 0, 0, 0), "%": (0, 0, 0, 0, 0), "psi": (1, -1, -2, 0, 0),
}  # fmt: skip


@pytest.mark.parametrize("name", QUANTITIES)
def test_a_wrong_dimension_is_refused(name: str) -> None:
    si = QUANTITIES[name].si
    wrong = [unit for unit, powers in POWERS.items() if powers != POWERS[si] and unit != "1"]
    assert len(wrong) >= 12
    for unit in wrong:
        with pytest.raises(NotThisQuantity, match="measure different things"):
            factor(unit, si)


def test_a_wrong_dimension_in_a_cell_says_which_unit_to_type() -> None:
    with pytest.raises(hoppersheet.CellError) as caught:
        hoppersheet.call("HOPPER_REQUIRED_VOLUME", 100, 4, "30 lb/ft")
    assert caught.value.code == "#VALUE!"
    assert caught.value.reason == (
        "'30 lb/ft' is not a bulk density; type a unit such as lb/ft3 or kg/L"
    )
    with pytest.raises(hoppersheet.CellError, match="a plain number or a percentage") as caught:
        hoppersheet.call("HOPPER_REQUIRED_VOLUME", 100, 4, 30, "10 deg")
    assert caught.value.code == "#VALUE!"


def test_temperatures_below_absolute_zero_are_refused() -> None:
    for value, unit in ((-273.16, "degC"), (-459.68, "°F"), (-0.01, "K"), (-1, "degR")):
        with pytest.raises(hoppersheet.CellError, match="absolute zero") as caught:
            hoppersheet.call("HOPPER_CONVERT", value, unit, "K")
        assert (caught.value.code, caught.value.argument) == ("#NUM!", "value")
    assert hoppersheet.call("HOPPER_CONVERT", -273.15, "degC", "K") == 0


def test_a_conversion_takes_a_text_with_its_own_unit() -> None:
    """The text's unit counts, whatever the cell beside it says the plain numbers are."""
    # NIST SP 811 (2008) appendix B.8: 1 lb = 0.4535924 kg, 1 lb/ft3 = 16.01846 kg/m3.
    for value, unit, to, expected in (
        ("45 kg/h", "lb/h", "lb/h", 45 / 0.4535924),
        ("45", "kg/h", "lb/h", 45 / 0.4535924),
        ("0,65 kg/L", "lb/ft3", "lb/ft3", 650 / 16.01846),
        ("140 degF", "degC", "degC", 60),
    ):
        assert hoppersheet.call("HOPPER_CONVERT", value, unit, to) == pytest.approx(
            expected, rel=1e-6
        )
    for value, word in (
        ("45 kg", "measure different things"), ("45 xx", "unknown unit"),
        ("1,234 kg/h", "ambiguous"), ("many", "not a number"),
    ):  # fmt: skip
        with pytest.raises(hoppersheet.CellError, match=word) as caught:
            hoppersheet.call("HOPPER_CONVERT", value, "kg/h", "kg/h")
        assert (caught.value.code, caught.value.argument) == ("#VALUE!", "value")
    assert "own unit kg/h is used" in hoppersheet.call(
        "HOPPER_EXPLAIN", "HOPPER_CONVERT", "45 kg/h", "lb/h", "lb/h"
    )


@pytest.mark.parametrize("name", QUANTITIES)
def test_from_one_system_to_the_other_pint_agrees(name: str) -> None:
    measure = QUANTITIES[name]
    for unit, target in ((measure.us, measure.metric), (measure.metric, measure.us)):
        assert factor(unit, target) == pytest.approx(units._by_pint(unit, target), rel=4e-16)
