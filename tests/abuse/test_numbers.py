"""Numbers at the edge: equal in one unit system and not in the other, rounded shares, odd catalogs.

The reference is exact arithmetic with fractions: 1 ft = 0.3048 m and 1 lb = 0.45359237 kg by
definition (NIST SP 811, appendix B.8).
"""

from __future__ import annotations

import os
import random
from fractions import Fraction
from math import nextafter
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet import CellError, call
from hoppersheet.workbook.compute import compute
from hoppersheet.workbook.package import Package

FT3 = Fraction("0.3048") ** 3 * 1000  # L
LB_FT3 = Fraction("0.45359237") / FT3  # kg/L


def code(name: str, *cells: Any) -> Any:
    try:
        return call(name, *cells)
    except CellError as problem:
        return problem.code


# --- a size that is just the requirement --------------------------------------------------


@pytest.mark.parametrize("feet", [1, 10, 10.96, 16, 25, 40, 1 / 3, 99.99, 0.1])
def test_a_size_equal_to_the_requirement_is_equal_in_either_unit(feet: float) -> None:
    """16 ft3 are 453.069545472 L exactly; whichever is typed, the size is the next one."""
    litres = float(Fraction(feet) * FT3)
    for required, size, units in (
        (feet, f"{litres!r} L", "US"),
        (litres, f"{feet!r} ft3", "metric"),
        (f"{litres!r} L", feet, "US"),
        (f"{feet!r} ft3", litres, "metric"),
        (f"{litres / 1000!r} m3", feet, "US"),
    ):
        own = feet if units == "US" else litres
        assert call("HOPPER_NEXT_SIZE", required, [[size]], 0, units) == pytest.approx(own, 1e-12)
        assert code("HOPPER_SIZE_BELOW", required, [[size]], units) == "#N/A"
        assert call("HOPPER_COUNT", required, [[size]], units) == 1
        assert call("HOPPER_SIZE_MARGIN", size, required, units) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("required", "sizes", "units", "following", "below"),
    [
        # 453 L are 15.9975 ft3: less than 16, as rounded in a metric catalog
        (16, ["453 L", 25], "US", 25, 15.997543),
        (16, ["453.1 L", 25], "US", 16.001076, "#N/A"),
        (440, ["15.5 ft3", "15.6 ft3"], "metric", 441.742806, 438.911122),
        # 0.5 % is far outside the tolerance for rounding, one part in 1e10 far inside
        (16, [16 * (1 - 1e-10)], "US", 16, "#N/A"),
        (16, [16 * (1 - 1e-8)], "US", "#N/A", 16),
        (16, [nextafter(16, 0), nextafter(16, 99)], "US", 16, "#N/A"),
    ],
)
def test_nearly_is_not_equal(required, sizes, units, following, below) -> None:
    column = [[size] for size in sizes]
    for name, expected in (("HOPPER_NEXT_SIZE", following), ("HOPPER_SIZE_BELOW", below)):
        given = (required, column, units) if "BELOW" in name else (required, column, 0, units)
        found = code(name, *given)
        assert found == expected if isinstance(expected, str) else found == pytest.approx(
            expected, rel=1e-6
        )  # fmt: skip


def test_a_shortfall_that_just_reaches_a_size() -> None:
    assert call("HOPPER_NEXT_SIZE", 16, [[15.2]], 0.05) == 15.2  # 16 x 0.95
    assert code("HOPPER_NEXT_SIZE", 16, [[15.1999]], 0.05) == "#N/A"
    assert call("HOPPER_NEXT_SIZE", "453.069545472 L", [["430.4160681984 L"]], "5 %") == (
        pytest.approx(15.2)
    )


# --- shares with rounding -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("shares", "legal"),
    [
        ((33.3, 66.7), True), ((33.33, 66.66), True), ((33.3, 33.3, 33.3), True),
        ((33.3, 66.6), True), ((33.3, 66.5), False), ((33.4, 66.7), True), ((33.5, 66.7), False),
        ((0.333, 0.667), True), ((0.333, 0.666), True), ((0.3333, 0.6666), True),
        ((0.333, 0.665), False), ((1 / 3, 2 / 3), True), ((0.1,) * 10, True), ((10,) * 10, True),
        (("33,3 %", "66,7 %"), True), (("33.3 %", 0.667), True), ((1,), True), ((100,), True),
        ((0.5, 50), False), ((1, 99), True), ((1, 0), True), ((0, 0), False), ((0.7, 30), False),
        ((50.05, 50.05), True), ((50.06, 50.05), False), ((99.9,), True), ((99.89,), False),
    ],
)  # fmt: skip
def test_rounded_shares(shares: tuple[Any, ...], legal: bool) -> None:
    """Within 0.1 % of 1 or 100 they count as parts of their sum, exactly."""
    densities = [40 - at for at in range(len(shares))]
    for basis in ("volume", "mass"):
        found = code("HOPPER_BLEND_DENSITY", [list(shares)], [densities], basis)
        if not legal:
            assert found == "#NUM!"
            continue
        parts = [
            Fraction(s.split(" ")[0].replace(",", ".")) / 100 if isinstance(s, str) else Fraction(s)
            for s in shares
        ]
        if basis == "volume":
            exact = sum(p * d for p, d in zip(parts, densities, strict=True)) / sum(parts)
        else:
            exact = sum(parts) / sum(p / d for p, d in zip(parts, densities, strict=True))
        assert found == pytest.approx(float(exact), rel=1e-12)


# --- odd catalogs -------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 10_000])
def test_a_catalog_of_one_and_of_ten_thousand(count: int) -> None:
    """Against the plainest search there is, at and around every tenth of the sizes."""
    random_ = random.Random(count)
    sizes = [round(random_.uniform(1, 5000), 3) for _ in range(count)]
    column = [[size] for size in sizes]
    some = random_.sample(sizes, min(count, 5))
    for required in (*some, *(s + 0.0005 for s in some), 0.5, 5001):
        larger = [s for s in sizes if s >= required]
        smaller = [s for s in sizes if s < required]
        assert code("HOPPER_NEXT_SIZE", required, column) == (min(larger) if larger else "#N/A")
        assert code("HOPPER_SIZE_BELOW", required, column) == (max(smaller) if smaller else "#N/A")
        jobs = [["throughput", "drying hours", "virgin density"], [required * 30 / 4, 4, 30]]
        last = call("HOPPER_SIZE_JOBS", jobs, [["size"], *column])[1]
        assert last[5] == (pytest.approx(min(larger)) if larger else "#N/A")
    if count > 1:
        # an own size of 1e-4 m3, the least there is, and one of 1e4 m3, the most
        ends = [["0.0001 m3"], ["10000 m3"]]
        assert call("HOPPER_NEXT_SIZE", 16, ends, 0, "metric") == pytest.approx(1e7)


def test_identical_sizes_and_the_first_listed() -> None:
    sizes = [[16], ["16 ft3"], ["453.069545472 L"], [16.0], [None], [25], [25]]
    models = [["A"], ["B"], ["C"], ["D"], ["-"], ["E"], ["F"]]
    assert call("HOPPER_NEXT_SIZE", 15, sizes) == 16
    assert call("HOPPER_SIZE_BELOW", 17, sizes) == pytest.approx(16)
    assert call("HOPPER_CATALOG_ENTRY", 16, sizes, models) == "A"
    assert call("HOPPER_CATALOG_ENTRY", "453.069545472 L", sizes, models) == "A"
    assert call("HOPPER_CATALOG_ENTRY", 25, sizes, models) == "E"
    assert call("HOPPER_COUNT", 50, sizes) == 2 and call("HOPPER_COUNT", 50.001, sizes) == 3


# --- extreme but legal --------------------------------------------------------------------


def test_the_largest_and_the_smallest_job_that_is_legal() -> None:
    """kg, L and h at their limits; the same in pounds, against fractions."""
    for rate, hours, density in (("1000000 kg/h", 72, "3 kg/L"), ("0.001 lb/h", 0.75, "3 kg/L"),
                                 ("1e6 kg/h", 0.75, "0.03 kg/L")):  # fmt: skip
        number = Fraction(rate.split()[0])
        kg = number if "kg" in rate else number * Fraction("0.45359237")
        litres = kg * Fraction(hours) / Fraction(density.split()[0])
        found = call("HOPPER_REQUIRED_VOLUME", rate, hours, density, 0, "metric")
        assert found == pytest.approx(float(litres))
        feet = call("HOPPER_REQUIRED_VOLUME", rate, hours, density, 0, "US")
        assert feet == pytest.approx(float(litres / FT3))
        # No catalog has a volume beyond its limits, 0.1 L and 10,000 m3.
        known = code("HOPPER_NEXT_SIZE", found, [[440]], 0, "metric")
        assert (known == "#NUM!") == (not Fraction(1, 10) <= litres <= 10_000_000)


def test_a_mass_over_a_density_in_every_mix_of_units() -> None:
    """1000 kg of 0.5 kg/L are 2000 L, whichever units say so."""
    pounds, pcf = float(1000 / Fraction("0.45359237")), float(Fraction(1, 2) / LB_FT3)
    for mass, density in ((1000, 0.5), (f"{pounds!r} lb", 0.5), (1000, f"{pcf!r} pcf")):
        assert call("HOPPER_RATED_VOLUME", mass, density, "metric") == pytest.approx(2000, 1e-12)
    assert call("HOPPER_RATED_VOLUME", pounds, pcf) == pytest.approx(float(2000 / FT3), 1e-12)


# --- another locale -----------------------------------------------------------------------


@pytest.mark.calc
def test_a_german_calc_gives_the_same_numbers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Decimal commas are the office's way to show numbers, not to compute our functions.

    One difference is known and meant: HOPPER_CONVERT gets its value from Calc as text, a number
    too, so it reads the text "1,234" with the office's own decimal sign.
    """
    formulas = (
        "HOPPER_REQUIRED_VOLUME(100,4,36.5)", 'HOPPER_REQUIRED_VOLUME("45,5 kg/h",4,"0.55 g/cm3")',
        "HOPPER_NEXT_SIZE(15.5,B1:B3)", 'HOPPER_CONVERT("1,5","lb","kg")',
        'HOPPER_REQUIRED_VOLUME("1,234",4,36.5)', "HOPPER_BLEND_DENSITY({0.5;0.5},{48;25})",
        'HOPPER_EXPLAIN("HOPPER_HELD_MASS",16,36.5)', "B1*2",
    )  # fmt: skip
    book = openpyxl.Workbook()
    for at, formula in enumerate(formulas, 1):
        book.active[f"A{at}"] = "=" + formula
    for at, size in enumerate((10.5, "440,5 L", 25), 1):
        book.active[f"B{at}"] = size
    book.save(tmp_path / "book.xlsx")
    found = {}
    for locale in ("en_US.UTF-8", "de_DE.UTF-8"):
        for name in ("LC_ALL", "LANG", "LC_NUMERIC"):
            monkeypatch.setitem(os.environ, name, locale)
        out = tmp_path / f"{locale}.xlsx"
        compute(tmp_path / "book.xlsx", out, "calc")
        found[locale] = Package(out).values("Sheet")
    assert found["de_DE.UTF-8"] == found["en_US.UTF-8"]
    values = found["de_DE.UTF-8"]
    assert values["A1"] == pytest.approx(400 / 36.5) and values["A6"] == pytest.approx(36.5)
    assert values["A3"] == pytest.approx(float(Fraction("440.5") / FT3))
    assert values["A4"] == pytest.approx(0.680388555) and values["A5"] == "#VALUE!"
    assert "36.5 lb/ft3" in values["A7"] and values["A8"] == 21.0
