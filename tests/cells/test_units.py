"""Text with a unit: every spelling, the factors, and the traps of a general parser."""

from __future__ import annotations

import re
import time
from math import prod

import pint
import pytest

import hoppersheet
from hoppersheet.cells import units
from hoppersheet.cells.quantities import QUANTITIES, SYSTEMS, Quantity
from hoppersheet.cells.units import HOME_FACTORS, SPELLING_GROUPS, canonical, expression, factor
from hoppersheet.errors import NotThisQuantity, WrongKind

#: Every word that spellings are made of -> its size in SI. This table is the outside check: it is
#: written from NIST SP 811 (2008) appendix B.8, exact values from its footnotes and from
#: NIST Handbook 44 appendix C (US gallon 231 in3) and the UK Weights and Measures Act 1985
#: (imperial gallon 4.54609 L), and shares nothing with the code or with pint.
LB, FOOT, INCH, YARD, GALLON = 0.45359237, 0.3048, 0.0254, 0.9144, 231 * 0.0254**3
BTU, GRAIN = 1055.05585262, 6.479891e-5
SIZES = {
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), LB),
    **dict.fromkeys(("oz", "ounce", "ounces"), LB / 16),
    **dict.fromkeys(("g", "gram", "grams"), 1e-3),
    "mg": 1e-6,
    **dict.fromkeys(("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"), 1.0),
    **dict.fromkeys(("t", "tonne", "tonnes", "metric ton", "metric tons"), 1000.0),
    **dict.fromkeys(("short ton", "short tons"), 2000 * LB),
    **dict.fromkeys(("long ton", "long tons"), 2240 * LB),
    **dict.fromkeys(("grain", "grains", "gr"), GRAIN),
    **dict.fromkeys(("ft", "foot", "feet"), FOOT),
    **dict.fromkeys(("in", "inch", "inches"), INCH),
    **dict.fromkeys(("yd", "yard", "yards"), YARD),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0),
    "cm": 1e-2,
    "mm": 1e-3,
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), 3600.0),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), 60.0),
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1.0),
    **dict.fromkeys(("d", "day", "days"), 86400.0),
    **dict.fromkeys(("ft3", "cu ft", "cuft", "cf", "cubic foot", "cubic feet"), FOOT**3),
    **dict.fromkeys(("in3", "cu in", "cubic inch", "cubic inches"), INCH**3),
    **dict.fromkeys(("yd3", "cu yd", "cubic yard", "cubic yards"), YARD**3),
    **dict.fromkeys(("gal", "gallon", "gallons", "us gal", "us gallon", "us gallons"), GALLON),
    **dict.fromkeys(("imp gal", "imperial gallon", "imperial gallons"), 4.54609e-3),
    **dict.fromkeys(("l", "liter", "liters", "litre", "litres", "dm3"), 1e-3),
    **dict.fromkeys(
        ("ml", "milliliter", "milliliters", "millilitre", "millilitres", "cc", "cm3"), 1e-6
    ),
    **dict.fromkeys(("hl", "hectoliter", "hectolitre"), 0.1),
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
    "m2": 1.0,
    "cm2": 1e-4,
    "mm2": 1e-6,
}
_WORD = re.compile("|".join(re.escape(w) for w in sorted(SIZES, key=len, reverse=True)))

#: Group of spellings -> SI unit to compare in.
SI = {
    "bulk density": "kg/m3", "throughput": "kg/s", "time": "s", "volume": "m3", "mass": "kg",
    "mass per length": "kg/m", "speed": "m/s", "length": "m", "angle": "deg",
    "temperature": "kelvin", "airflow": "m3/s", "specific airflow": "m3/kg",
    "specific heat": "j/kg/k", "energy": "j", "heat": "w", "energy per mass": "j/kg",
    "pressure": "pa", "ratio": "1",
}  # fmt: skip

#: Group -> powers of (kg, m, s, K), from the definition of each quantity in the SI Brochure,
#: tables 4 to 6.
DIMENSIONS = {
    "bulk density": (1, -3, 0, 0), "throughput": (1, 0, -1, 0), "time": (0, 0, 1, 0),
    "volume": (0, 3, 0, 0), "mass": (1, 0, 0, 0), "mass per length": (1, -1, 0, 0),
    "speed": (0, 1, -1, 0), "length": (0, 1, 0, 0), "angle": (0, 0, 0, 0),
    "temperature": (0, 0, 0, 1), "airflow": (0, 3, -1, 0), "specific airflow": (-1, 3, 0, 0),
    "specific heat": (0, 2, -2, -1), "energy": (1, 2, -2, 0), "heat": (1, 2, -3, 0),
    "energy per mass": (0, 2, -2, 0), "pressure": (1, -1, -2, 0),
    "ratio": (0, 0, 0, 0),
}  # fmt: skip


def size_in_si(spelling: str) -> float:
    """The size of a unit worked out word by word, without the code under test."""
    over, *under = spelling.split("/")
    top, bottom = (prod(SIZES[w] for w in _WORD.findall("/".join(p))) for p in ([over], under))
    return top / bottom


def size_of_airflow(spelling: str) -> float:
    """As size_in_si, for an airflow over a throughput: ``cfm/lb/h`` is cfm/(lb/h)."""
    parts = spelling.split("/")
    below = 1 if parts[-1] == "pph" or len(parts) == 2 else 2
    return size_in_si("/".join(parts[:-below])) / size_in_si("/".join(parts[-below:]))


def test_every_spelling_means_what_the_tables_say() -> None:
    assert set(SPELLING_GROUPS) == set(SI) == set(DIMENSIONS)
    registry = pint.UnitRegistry()
    registry.define("Btu_table = 1055.05585262 * joule")
    count, sizes = 0, {}
    for group in SPELLING_GROUPS:
        for spelling, meant in units.spellings_in(group).items():
            count += 1
            assert expression(spelling) == meant, spelling
            assert expression(spelling.upper().replace("T", "t")) == meant, spelling
            if (group, meant) not in sizes:
                powers = registry.Unit(meant).dimensionality
                base = ("[mass]", "[length]", "[time]", "[temperature]")
                assert tuple(powers.get(b, 0) for b in base) == DIMENSIONS[group], spelling
                sizes[group, meant] = factor(spelling, SI[group])[0]
            if group != "temperature":
                size = size_of_airflow if group == "specific airflow" else size_in_si
                expected = size(spelling)
                assert abs(sizes[group, meant] - expected) <= 2e-14 * expected, spelling
    assert count > 17_000
    assert count >= len(units.spellings()) > 17_000


def test_no_spelling_means_two_things() -> None:
    seen: dict[str, str] = {}
    for group in SPELLING_GROUPS:
        for spelling, meant in units.spellings_in(group).items():
            assert seen.setdefault(spelling, meant) == meant, spelling


@pytest.mark.parametrize("unit", HOME_FACTORS)
def test_factors_of_plain_numbers_are_those_of_pint(unit: str) -> None:
    si = next(q.si for q in QUANTITIES.values() if unit in (q.us, q.metric))
    assert factor(unit, si) == HOME_FACTORS[unit]
    (scale, offset), home = units._by_pint(unit, si), HOME_FACTORS[unit]
    assert scale == pytest.approx(home[0], rel=1e-15, abs=0)
    assert offset == pytest.approx(home[1], rel=1e-15)


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
        ("kg\u00a0/\u00a0h", "kg/h"),
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
    ["xyzzy", "kg/", "/h", "furlong", "kg m", "m2", "lb/ft2", "1", "?", "x" * 999],
)
def test_other_units_are_refused_without_a_guess(unit: str) -> None:
    with pytest.raises(WrongKind, match="unknown unit") as caught:
        expression(unit)
    assert len(caught.value.reason) < 100


def test_a_sheet_full_of_typing_errors_does_not_stall() -> None:
    start = time.perf_counter()
    for row in range(200):
        with pytest.raises(WrongKind):
            expression(f"lbs/cuftt{row}")
    assert time.perf_counter() - start < 2.0


@pytest.mark.parametrize("name", QUANTITIES)
def test_a_wrong_dimension_is_refused(name: str) -> None:
    """Units that share no dimension with the quantity; an angle is no ratio either."""
    measure = QUANTITIES[name]
    others = ("kg", "s", "deg", "%", "degC", "kW", "psi", "kg/m3", "kg/h", "m3/h", "ft", "gal")
    wrong = [unit for unit in others if not same_kind(unit, measure.si)]
    assert len(wrong) >= 10
    for unit in wrong:
        with pytest.raises(NotThisQuantity, match="measure different things"):
            factor(unit, measure.si)


def same_kind(unit: str, si: str) -> bool:
    groups = [g for g in SPELLING_GROUPS if canonical(unit) in units.spellings_in(g)]
    homes = {canonical(SI[g]) for g in groups}
    ratios = {"1", "kg/kg"}
    return bool(homes & ratios and si in ratios) or canonical(si) in homes | {
        "degc" for g in groups if g == "temperature"
    }


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
    assert "own unit kg/h counts" in hoppersheet.call(
        "HOPPER_EXPLAIN", "HOPPER_CONVERT", "45 kg/h", "lb/h", "lb/h"
    )
