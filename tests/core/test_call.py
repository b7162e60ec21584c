"""The door: what each kind of cell value gives, and what the errors say."""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

import hoppersheet
from hoppersheet import OMITTED, CellError, call
from hoppersheet.call import read_inputs
from hoppersheet.errors import SHEET_ERRORS
from hoppersheet.functions import all_functions
from hoppersheet.registry import UNITS

SIZES = [[10], [16], [25], [40]]
NAN, INF = float("nan"), float("inf")


def refused(code: str, argument: str, says: str, name: str, *cells: Any) -> str:
    """Assert that the call gives this error, and return its reason."""
    with pytest.raises(CellError) as caught:
        call(f"HOPPER_{name}", *cells)
    problem = caught.value
    assert (problem.code, problem.argument) == (code, argument), problem
    assert says in problem.reason, problem.reason
    assert str(problem) == f"{code} {argument}: {problem.reason}".replace(" : ", " ")
    return problem.reason


# --- the unit system ----------------------------------------------------------------------


def test_units_are_us_unless_metric_is_asked_for() -> None:
    assert call("HOPPER_HELD_MASS", 16, 36.5) == 584
    assert call("HOPPER_HELD_MASS", 16, 36.5, "US") == 584
    assert call("HOPPER_HELD_MASS", 800, 0.5, "metric") == 400


@pytest.mark.parametrize(
    "typed", ["metric", "METRIC", "Metric", " metric ", "meTric\u00a0", [["Metric"]]]
)
def test_case_of_the_unit_system_does_not_matter(typed: Any) -> None:
    assert call("HOPPER_HELD_MASS", 800, 0.5, typed) == 400
    assert call("HOPPER_HELD_MASS", 16, 36.5, "us") == 584


@pytest.mark.parametrize("typed", ["SI", "imperial", "kg", "USA", "m"])
def test_another_unit_system_is_refused(typed: str) -> None:
    refused("#VALUE!", "units", 'is not "US" or "metric"', "HELD_MASS", 16, 36.5, typed)


def test_a_unit_system_typed_too_early_says_where_it_belongs() -> None:
    says = "belongs in the last argument, units"
    refused("#VALUE!", "reserve", says, "REQUIRED_VOLUME", 100, 4, 0.55, "metric")
    refused("#VALUE!", "reserve", says, "REQUIRED_VOLUME", 100, 4, 30, "US")
    refused("#VALUE!", "share_basis", says, "BLEND_DENSITY", [[1]], [[0.5]], "metric")
    assert call("HOPPER_REQUIRED_VOLUME", 100, 4, 0.5, OMITTED, "metric") == 800


@pytest.mark.parametrize("name", ["hopper_held_mass", "Hopper_Held_Mass", " HOPPER_HELD_MASS "])
def test_case_of_a_function_name_does_not_matter(name: str) -> None:
    assert call(name, 16, 36.5) == 584


def test_an_unknown_function_suggests_the_nearest() -> None:
    says = "there is no function 'HOPPER_REQUIRED'; did you mean 'HOPPER_REQUIRED_VOLUME'?"
    refused("#VALUE!", "function_name", says, "REQUIRED")
    says = "there is no function 'HOPPER_XYZZY'"
    assert refused("#VALUE!", "function_name", says, "XYZZY").endswith("XYZZY'")


# --- text with a unit ---------------------------------------------------------------------


def test_text_with_a_unit_is_converted_in_either_system() -> None:
    for units in ("US", "metric"):
        volume = call("HOPPER_REQUIRED_VOLUME", "100 kg/h", "4 h", "500 kg/m3", OMITTED, units)
        litres = call("HOPPER_CONVERT", volume, "ft3" if units == "US" else "L", "L")
        assert litres == pytest.approx(800, rel=1e-12)


def test_text_that_is_a_plain_number_is_in_the_sheet_s_units() -> None:
    assert call("HOPPER_HELD_MASS", "16", " 36,5 ") == 584


def test_percentages_as_text() -> None:
    plain = call("HOPPER_REQUIRED_VOLUME", 100, 4, 36.5, 0.1)
    assert call("HOPPER_REQUIRED_VOLUME", 100, 4, 36.5, "10 %") == pytest.approx(plain, rel=1e-14)
    assert call("HOPPER_REGRIND_DENSITY", 34, "50%") == 17


@pytest.mark.parametrize(
    ("cell", "code", "says"),
    [
        ("abc", "#VALUE!", "'abc' is not a number"),
        ("30 xyzzy", "#VALUE!", "unknown unit 'xyzzy'"),
        ("30 lb/ft", "#VALUE!", "'30 lb/ft' is not a bulk density; type a unit such as lb/ft3"),
        ("1,234", "#NUM!", "1234 lb/ft3 is above the highest possible"),
        ("1.234", "#NUM!", "1.234 lb/ft3 is below the lowest possible"),
        ("3 ton/m3", "#VALUE!", "the unit 'ton' is ambiguous"),
        ("1e400", "#NUM!", "'1e400' is too large for a number"),
        ("1e308 g/cm3", "#NUM!", "'1e308 g/cm3' is too large for a number"),
        ("550 g/cm3", "#NUM!", "'550 g/cm3' (34335.4 lb/ft3) is above the highest possible"),
        ("-34", "#NUM!", "-34 lb/ft3 is below the lowest possible"),
    ],
)  # fmt: skip
def test_text_that_is_refused(cell: str, code: str, says: str) -> None:
    refused(code, "bulk_density", says, "REQUIRED_VOLUME", 100, 4, cell)


@pytest.mark.parametrize("sign", [",", "."])
def test_a_lone_sign_is_refused_only_where_both_numbers_are_possible(sign: str) -> None:
    """36,400 lb/ft3 and 3,500 h cannot be thousands; 1,250 lb/h can be either."""
    plain = call("HOPPER_REQUIRED_VOLUME", 1250, 3.5, 36.4)
    typed = (f"3{sign}500", f"36{sign}400 lb/ft3")
    assert call("HOPPER_REQUIRED_VOLUME", 1250, *typed) == pytest.approx(plain, rel=1e-12)
    says = "ambiguous, 1.250 or 1250: type 1.2500 or 1250 "
    for rate in (f"1{sign}250", f"1{sign}250 lb/h"):
        refused("#VALUE!", "throughput", says, "REQUIRED_VOLUME", rate, *typed)
    assert call("HOPPER_REQUIRED_VOLUME", f"1{sign}2500", 3.5, 36.4) == pytest.approx(plain / 1e3)
    # A share of 33,300 is none; a range decides cell by cell.
    shares = [[f"33{sign}300 %"], [f"66{sign}700 %"]]
    assert call("HOPPER_BLEND_DENSITY", shares, [[40], [28]]) == pytest.approx(31.996)
    for name in ("CONVERT",):  # no quantity, no limits
        refused("#VALUE!", "value", "ambiguous", name, f"1{sign}250", "lb", "kg")


# --- hard limits and the slips people make -------------------------------------------------


def test_a_metric_density_in_a_us_sheet() -> None:
    reason = refused(
        "#NUM!", "bulk_density", "bulk density 0.55 lb/ft3", "REQUIRED_VOLUME", 100, 4, 0.55
    )
    assert "below the lowest possible, 1.873 lb/ft3 (0.03 kg/L)" in reason
    assert "a density in g/cm3 or kg/m3 typed where lb/ft3 is expected" in reason


def test_a_us_density_in_a_metric_sheet() -> None:
    says = "bulk density 34 kg/L is above the highest possible, 3 kg/L (187.3 lb/ft3)"
    refused(
        "#NUM!", "bulk_density", says, "REQUIRED_VOLUME", 100, 4, 34, OMITTED, "metric"
    )  # fmt: skip


@pytest.mark.parametrize(
    "clock",
    [4 / 24, datetime.time(4), datetime.timedelta(hours=4), datetime.datetime(1899, 12, 30, 4)],
    ids=["number", "time", "duration", "date and time"],
)
def test_a_clock_time_typed_for_hours(clock: Any) -> None:
    reason = refused("#NUM!", "drying_hours", "0.166667 h", "REQUIRED_VOLUME", 100, clock, 30)
    assert "below the lowest possible, 0.75 h" in reason and "a clock time" in reason


def test_a_clock_time_as_text() -> None:
    says = "'4:30' is a clock time; type the hours as a number, 4.5"
    refused("#VALUE!", "drying_hours", says, "REQUIRED_VOLUME", 100, "4:30", 30)


@pytest.mark.parametrize(
    ("hours", "fits"),
    [(0.75, True), (0.7499999, False), (72, True), (72.0000001, False), (240, False)],
)
def test_edges_of_the_drying_hours(hours: float, fits: bool) -> None:
    if fits:
        assert call("HOPPER_REQUIRED_VOLUME", 100, hours, 30) == pytest.approx(100 * hours / 30)
    else:
        reason = refused("#NUM!", "drying_hours", "possible", "REQUIRED_VOLUME", 100, hours, 30)
        # The value and the limit never look alike.
        value, limit = re.findall(r"([0-9.]+) h\b", reason)[:2]
        assert float(value) != float(limit)


@pytest.mark.parametrize(
    ("name", "cells", "argument", "says"),
    [
        ("REQUIRED_VOLUME", (0, 4, 30), "throughput", "often it is an empty cell"),
        ("REQUIRED_VOLUME", (-5, 4, 30), "throughput", "-5 lb/h is below the lowest possible"),
        ("REQUIRED_VOLUME", (100, 4, 30, 10), "reserve", "10 % is 0.1"),
        ("REQUIRED_VOLUME", (100, 4, 30, -0.1), "reserve", "reserve -0.1 is below"),
        ("REGRIND_DENSITY", (34, 50), "ratio", "half is 0.5"),
        ("NEXT_SIZE", (15, SIZES, 5), "allowed_shortfall", "5 % is 0.05"),
        ("MOLDING_RATE", (454, 0.25), "cycle_time", "minutes typed where seconds"),
        ("MOLDING_RATE", (454, 36, 1.5), "machines", "1.5 machines is not a whole number"),
        ("MOLDING_RATE", (454, 36, 0), "machines", "count 0 is below the lowest possible, 1"),
        ("SAMPLE_DENSITY", ([[0.22]], 400), "net_masses", "kg or lb typed where grams"),
        ("SAMPLE_DENSITY", ([[220]], 0.4), "cup_volume", "liters typed where cm3"),
        ("SAMPLE_DENSITY", ([[9]], 40000), "", "the result cannot be right: bulk density"),
        ("REGRIND_DENSITY", (3, 0.2), "", "the result cannot be right"),
    ],
)  # fmt: skip
def test_slips_are_out_of_range(name: str, cells: tuple, argument: str, says: str) -> None:
    refused("#NUM!", argument, says, name, *cells)


def test_reasons_speak_the_units_of_the_sheet_first() -> None:
    says = "50 ft3 (1416 L) is larger than the largest catalog size 40 ft3 (1133 L)"
    refused("#N/A", "required_volume", says, "NEXT_SIZE", 50, SIZES)
    says = "50 L (1.766 ft3) is larger than the largest catalog size 40 L (1.413 ft3)"
    refused("#N/A", "required_volume", says, "NEXT_SIZE", 50, SIZES, OMITTED, "metric")


# --- blanks, omitted, missing ----------------------------------------------------------------


@pytest.mark.parametrize("blank", [None, "", "  ", "\u00a0", [[None]], [[""]]])
def test_a_blank_is_neither_zero_nor_a_default(blank: Any) -> None:
    says = "blank"
    refused("#VALUE!", "throughput", says, "REQUIRED_VOLUME", blank, 4, 30)
    refused("#VALUE!", "reserve", says, "REQUIRED_VOLUME", 100, 4, 30, blank)
    refused("#VALUE!", "units", says, "REQUIRED_VOLUME", 100, 4, 30, 0, blank)
    refused("#VALUE!", "share_basis", says, "BLEND_DENSITY", [[1]], [[30]], blank)
    refused("#VALUE!", "from_unit", says, "CONVERT", 1, blank, "kg")
    refused("#VALUE!", "value", says, "CONVERT", blank, "lb", "kg")


def test_omitted_arguments_take_their_default_wherever_they_stand() -> None:
    whole = call("HOPPER_REQUIRED_VOLUME", 100, 4, 36.5, 0, "US")
    for cells in ((), (OMITTED,), (OMITTED, OMITTED), (OMITTED, "US"), (0, OMITTED), (0,)):
        assert call("HOPPER_REQUIRED_VOLUME", 100, 4, 36.5, *cells) == whole
    inputs = read_inputs("HOPPER_REQUIRED_VOLUME", (100, 4, 36.5, OMITTED, "US"))
    assert inputs.defaulted == ("reserve",) and inputs.values["reserve"] == 0
    assert read_inputs("HOPPER_HELD_MASS", (16, 36.5)).defaulted == ("units",)


def test_a_missing_argument_is_named() -> None:
    says = "the argument is missing; type HOPPER_REQUIRED_VOLUME(throughput, drying_hours,"
    refused("#VALUE!", "throughput", says, "REQUIRED_VOLUME")
    refused("#VALUE!", "bulk_density", says, "REQUIRED_VOLUME", 100, 4)
    refused("#VALUE!", "drying_hours", says, "REQUIRED_VOLUME", 100, OMITTED, 30)


def test_too_many_arguments() -> None:
    says = "6 arguments are too many; HOPPER_REQUIRED_VOLUME("
    refused("#VALUE!", "", says, "REQUIRED_VOLUME", 100, 4, 30, 0, "US", 1)
    refused("#VALUE!", "", "1 arguments are too many", "VERSION", 1)


# --- errors in, errors out -------------------------------------------------------------------


@pytest.mark.parametrize("error", sorted(SHEET_ERRORS))
def test_an_error_comes_out_as_it_went_in(error: str) -> None:
    says = f"the input already is the error {error}"
    refused(error, "drying_hours", says, "REQUIRED_VOLUME", 100, error, 30)
    refused(error, "units", says, "REQUIRED_VOLUME", 100, 4, 30, 0, error)
    refused(error, "densities", says, "BLEND_DENSITY", [[0.5, 0.5]], [[34], [error]])
    refused(error, "catalog_sizes", says, "NEXT_SIZE", 15, [[10], [error], [None]])
    refused(error, "share_basis", says, "BLEND_DENSITY", [[1]], [[34]], error)
    refused(error, "from_unit", says, "CONVERT", 1, error, "kg")
    refused(error, "value", says, "CONVERT", error, "lb", "kg")
    refused(error, "function_name", says, "EXPLAIN", error, 1)
    refused(error, "catalog_column", says, "CATALOG_ENTRY", 10, SIZES, [[error], [1], [2], [3]])


def test_the_first_error_wins_over_every_other_problem() -> None:
    refused("#REF!", "drying_hours", "", "REQUIRED_VOLUME", "x", "#REF!", -1, "#NUM!", "#DIV/0!")
    refused("#N/A", "bulk_density", "", "REQUIRED_VOLUME", None, 0.1, "#N/A")
    refused("#N/A", "throughput", "", "REQUIRED_VOLUME", "#N/A")
    refused("#N/A", "throughput", "", "REQUIRED_VOLUME", "#N/A", 4, 30, 0, "US", "too many")
    refused("#NULL!", "densities", "", "BLEND_DENSITY", [[0.5, 0.4]], [[34, "#NULL!"]])
    refused("#N/A", "value", "", "CONVERT", "#N/A", "#REF!", "kg")


def test_an_error_beside_another_size_does_not_matter() -> None:
    column = [["#N/A"], ["M16"], ["#REF!"], ["M40"]]
    assert call("HOPPER_CATALOG_ENTRY", 16, SIZES, column) == "M16"


def test_explain_of_a_name_that_does_not_exist_names_the_nearest() -> None:
    line = call("HOPPER_EXPLAIN", "HELD_MAS", 16, 36.5)
    assert line == (
        "HOPPER_EXPLAIN: #VALUE! function_name: there is no function 'HELD_MAS'; "
        "did you mean 'HOPPER_HELD_MASS'?"
    )


def test_explain_shows_the_reason_and_not_the_error() -> None:
    line = call("HOPPER_EXPLAIN", "HOPPER_HELD_MASS", 16, "#DIV/0!")
    assert line == (
        "HOPPER_HELD_MASS: #DIV/0! bulk_density: the input already is the error #DIV/0!"
    )


# --- other kinds of values ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "code", "says"),
    [
        (True, "#VALUE!", "TRUE is not a number"), (False, "#VALUE!", "FALSE is not a number"),
        (NAN, "#NUM!", "nan is not a finite number"), (INF, "#NUM!", "inf is not a finite number"),
        (-INF, "#NUM!", "-inf is not a finite number"),
        (10**400, "#NUM!", "is too large for a number"),
        (-(10**20), "#NUM!", "is below the lowest possible"),
        (datetime.date(2026, 11, 25), "#VALUE!", "2026-11-25 is a date, not a number"),
        (datetime.datetime(2026, 11, 25, 4), "#VALUE!", "is a date, not a number"),
        (Decimal("NaN"), "#NUM!", "not a finite number"),
        (Decimal("sNaN"), "#NUM!", "not a finite number"),
        (1j, "#VALUE!", "1j is not a number"), (b"30", "#VALUE!", "is not a number"),
        ({}, "#VALUE!", "{} is not a number"), (object, "#VALUE!", "is not a number"),
    ],
)  # fmt: skip
def test_values_that_are_no_density(cell: Any, code: str, says: str) -> None:
    refused(code, "bulk_density", says, "REQUIRED_VOLUME", 100, 4, cell)


def test_an_integer_too_large_even_to_show() -> None:
    says = "a value too long to show is too large for a number"
    refused("#NUM!", "bulk_density", says, "REQUIRED_VOLUME", 100, 4, 10**5000)


@pytest.mark.parametrize("cell", [30, 30.0, Decimal("30.00"), Fraction(30), "30", [[30]], [30]])
def test_values_that_are_a_density(cell: Any) -> None:
    """A cell with a currency format arrives as a Decimal from Excel."""
    assert call("HOPPER_REQUIRED_VOLUME", 100, 3, cell) == 10


@pytest.mark.parametrize("cell", [5, 5.0, True, datetime.date(2026, 1, 1), [[5]]])
def test_values_that_are_no_text(cell: Any) -> None:
    refused("#VALUE!", "units", "is not text", "HELD_MASS", 16, 36.5, cell)
    refused("#VALUE!", "to_unit", "is not text", "CONVERT", 1, "kg", cell)


# --- ranges ---------------------------------------------------------------------------------


def test_a_row_a_column_and_nested_tuples_are_the_same_range() -> None:
    for shares in ([[0.5, 0.5]], [[0.5], [0.5]], ((0.5, 0.5),), ((0.5,), (0.5,)), [0.5, 0.5]):
        for densities in ([[48, 25]], [[48], [25]], ((48,), (25,)), (48, 25)):
            assert call("HOPPER_BLEND_DENSITY", shares, densities) == 36.5


def test_a_single_cell_is_a_range_of_one() -> None:
    assert call("HOPPER_BLEND_DENSITY", 1, 34) == call("HOPPER_BLEND_DENSITY", [[1]], [[34]]) == 34
    assert call("HOPPER_NEXT_SIZE", 15, 16) == 16
    assert call("HOPPER_HELD_MASS", [[16]], [36.5]) == 584


def test_a_range_where_one_cell_is_expected() -> None:
    says = "a range of 2 cells where one cell is expected"
    refused("#VALUE!", "throughput", says, "REQUIRED_VOLUME", [[100, 200]], 4, 30)
    refused("#VALUE!", "units", says, "HELD_MASS", 16, 36.5, [["US"], ["US"]])
    refused("#VALUE!", "throughput", "a range of 0 cells", "REQUIRED_VOLUME", [], 4, 30)
    refused("#VALUE!", "value", says, "CONVERT", [[1, 2]], "kg", "lb")


@pytest.mark.parametrize("empty", [[], [[]], [[], []], [[None]], [["", None]], None, "", ()])
def test_an_empty_range(empty: Any) -> None:
    says = "the range has no values"
    refused("#VALUE!", "catalog_sizes", says, "NEXT_SIZE", 15, empty)
    refused("#VALUE!", "net_masses", says, "SAMPLE_DENSITY", empty, 400)
    refused("#VALUE!", "shares", says, "BLEND_DENSITY", empty, empty)


def test_blank_pairs_are_skipped_and_half_pairs_refused() -> None:
    shares = [[0.5], [None], [""], [0.5]]
    assert call("HOPPER_BLEND_DENSITY", shares, [[48], [""], [None], [25]]) == 36.5
    says = "cell 2 of the range is blank, but cell 2 of shares is not"
    refused("#VALUE!", "densities", says, "BLEND_DENSITY", [[0.5, 0.5]], [[34, None]])
    says = "cell 1 of the range is blank, but cell 1 of densities is not"
    refused("#VALUE!", "shares", says, "BLEND_DENSITY", [[None, 1]], [[48, 25]])


def test_unequal_ranges() -> None:
    says = "the range has 1 cell, but shares has 2; they must be equally long"
    refused("#VALUE!", "densities", says, "BLEND_DENSITY", [[0.5, 0.5]], [[34]])
    says = "the range is 3 by 2 cells (rows by columns), but shares is 2 by 3"
    shares = [[0.1, 0.2, 0.2], [0.1, 0.1, 0.3]]
    densities = [[48, 25], [20, 20], [30, 30]]
    refused("#VALUE!", "densities", says, "BLEND_DENSITY", shares, densities)
    flat = [[d for row in densities for d in row]]
    says = "the range is 1 by 6 cells"
    refused("#VALUE!", "densities", says, "BLEND_DENSITY", shares, flat)
    ragged = [[0.5], [0.25, 0.25]]
    refused("#VALUE!", "densities", "same shape", "BLEND_DENSITY", ragged, [[48, 25, 20]])


def test_a_bad_cell_in_a_range_is_placed() -> None:
    says = "in row 2, column 1 of the range, 'n/a' is not a number"
    refused("#VALUE!", "catalog_sizes", says, "NEXT_SIZE", 15, [[10, 11], ["n/a", 12]])
    says = "in row 1, column 2 of the range, bulk density 0.55 lb/ft3"
    refused("#NUM!", "densities", says, "BLEND_DENSITY", [[0.5, 0.5]], [[34, 0.55]])
    says = "volume 0 ft3 is below"
    assert refused("#NUM!", "catalog_sizes", says, "NEXT_SIZE", 15, [[0]]).startswith(says)


@pytest.mark.parametrize(
    ("shares", "fits"),
    [
        ((0.5, 0.5), True), ((50, 50), True), (("50 %", "50%"), True), (("50 %", 0.5), True),
        ((0.5, 0.501), True), ((0.5, 0.499), True), ((0.5, 0.5011), False), ((0.5, 0.4989), False),
        ((50, 50.1), True), ((50, 49.9), True), ((50, 50.11), False), ((50, 49.89), False),
        ((0.5, 50), False), ((0.5, 0.4), False), ((50, 40), False), ((0, 0), False),
        (("50 %", 50), False), ((500, 500), False), ((1, 0), True), ((100, 0), True),
        ((-0.5, 1.5), False), ((-50, 150), False), ((1, 99), True),
    ],
)  # fmt: skip
def test_shares_sum_to_1_or_100_within_a_tenth_of_a_percent(shares: tuple, fits: bool) -> None:
    if not fits:
        refused("#NUM!", "shares", "", "BLEND_DENSITY", [shares], [[48, 25]])
        return
    density = call("HOPPER_BLEND_DENSITY", [shares], [[34, 34]])
    assert density == pytest.approx(34, rel=1e-14)  # shares are brought to a sum of exactly 1


def test_a_lone_share_has_the_same_tolerance() -> None:
    for share in (1, 0.999, 1.001, 100, 99.9, 100.1):
        assert call("HOPPER_BLEND_DENSITY", share, 34) == 34
    for share in (0.9989, 1.0011, 99.89, 100.11):
        refused("#NUM!", "shares", "", "BLEND_DENSITY", share, 34)


def test_shares_that_do_not_add_up_are_told_with_their_sum() -> None:
    says = "the shares 0.5, 0.4 sum to 0.9; they must sum to 1, or to 100 as percentages"
    refused("#NUM!", "shares", says, "BLEND_DENSITY", [[0.5, 0.4]], [[48, 25]])


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("volume", 36.5), ("VOLUME", 36.5), ("by volume", 36.5), (" Vol  % ", 36.5),
        ("mass", 2400 / 73), ("by weight", 2400 / 73), ("WT %", 2400 / 73),
        ("gravimetric", 2400 / 73),
    ],
)  # fmt: skip
def test_share_basis_in_the_words_of_the_trade(typed: str, expected: float) -> None:
    # 1 / (0.5/48 + 0.5/25) = 2400/73
    density = call("HOPPER_BLEND_DENSITY", [[0.5, 0.5]], [[48, 25]], typed)
    assert density == pytest.approx(expected, rel=1e-14)


def test_another_share_basis_is_refused_with_a_hint() -> None:
    says = "'by wieght' is not \"volume\" or \"mass\"; did you mean 'by weight'?"
    refused("#VALUE!", "share_basis", says, "BLEND_DENSITY", [[1]], [[34]], "by wieght")


# --- catalogs ---------------------------------------------------------------------------------


def test_catalog_sizes_in_any_order_with_blanks_duplicates_and_units() -> None:
    sizes = [[40], [None], [10], ["16 ft3"], [16], ["25"], [""], ["10 cu ft"]]
    assert call("HOPPER_NEXT_SIZE", 10.96, sizes) == pytest.approx(16, rel=1e-12)
    assert call("HOPPER_SIZE_BELOW", 10.96, sizes) == pytest.approx(10, rel=1e-12)
    assert call("HOPPER_COUNT", 100, sizes) == 3


@pytest.mark.parametrize("name", ["NEXT_SIZE", "SIZE_BELOW", "COUNT"])
def test_catalog_sizes_that_are_refused(name: str) -> None:
    refused("#VALUE!", "catalog_sizes", "is not a number", name, 15, [[10], ["large"]])
    refused("#NUM!", "catalog_sizes", "volume 0 ft3", name, 15, [[10], [0]])
    refused("#NUM!", "catalog_sizes", "volume -1 ft3", name, 15, [[10], [-1]])
    refused("#VALUE!", "catalog_sizes", "TRUE is not a number", name, 15, [[10], [True]])


def test_sizes_are_compared_with_a_tolerance() -> None:
    for off in (1, 1 + 1e-10, 1 - 1e-10):
        assert call("HOPPER_NEXT_SIZE", 16 * off, SIZES) == 16
        assert call("HOPPER_SIZE_BELOW", 16 * off, SIZES) == 10
        assert call("HOPPER_CATALOG_ENTRY", 16 * off, SIZES, [["a", "b", "c", "d"]]) == "b"
        assert call("HOPPER_COUNT", 80 * off, SIZES) == 2
    assert call("HOPPER_NEXT_SIZE", 16 * (1 + 1e-8), SIZES) == 25
    assert call("HOPPER_SIZE_BELOW", 16 * (1 + 1e-8), SIZES) == 16
    # 1 m3 converts to 999.9999999999999 L in binary arithmetic.
    assert call("HOPPER_NEXT_SIZE", "1 m3", [[1000], [2000]], OMITTED, "metric") == 1000


def test_a_known_shortfall_takes_the_size_below() -> None:
    assert call("HOPPER_NEXT_SIZE", 16.5, SIZES) == 25
    assert call("HOPPER_NEXT_SIZE", 16.5, SIZES, 0.05) == 16
    assert call("HOPPER_NEXT_SIZE", 16.5, SIZES, "5 %") == 16
    assert call("HOPPER_NEXT_SIZE", 42, SIZES, 0.05) == 40


def test_no_size_is_large_or_small_enough() -> None:
    says = "3 hoppers of that size would hold it"
    refused("#N/A", "required_volume", says, "NEXT_SIZE", 100, SIZES)
    says = "no catalog size is smaller than the required volume 10 ft3 (283.2 L)"
    refused("#N/A", "required_volume", says, "SIZE_BELOW", 10, SIZES)
    says = "one sample has no spread"
    refused("#N/A", "net_masses", says, "SAMPLE_SPREAD", [[220], [None]])


@pytest.mark.parametrize(
    ("entry", "value"),
    [
        ("M16", "M16"), (4200, 4200.0), (4200.5, 4200.5), (Decimal("4200.50"), 4200.5),
        (True, True), (datetime.date(2026, 11, 25), 46351.0), (datetime.time(6), 0.25),
    ],
)  # fmt: skip
def test_a_catalog_entry_comes_back_as_hosts_take_it(entry: Any, value: Any) -> None:
    """2026-11-25 is day 46351 of the 1900 date system (ECMA-376 part 1, section 18.17.4.1)."""
    found = call("HOPPER_CATALOG_ENTRY", 16, SIZES, [["x", entry, "x", "x"]])
    assert found == value and type(found) is type(value)


def test_catalog_entries_that_do_not_answer() -> None:
    column = [["a"], [None], ["c"], [NAN]]
    refused("#N/A", "size", "11 ft3 (311.5 L) is not a", "CATALOG_ENTRY", 11, SIZES, column)
    refused("#N/A", "catalog_column", "no entry", "CATALOG_ENTRY", 16, SIZES, column)
    refused("#NUM!", "", "not a finite number", "CATALOG_ENTRY", 40, SIZES, column)
    says = "the column has 3 cells, but catalog_sizes has 4"
    refused("#VALUE!", "catalog_column", says, "CATALOG_ENTRY", 16, SIZES, column[:3])
    says = "a block of 4 cells in 2 rows"
    block = [["a", "b"], ["c", "d"]]
    refused("#VALUE!", "catalog_column", says, "CATALOG_ENTRY", 16, SIZES, block)


def test_a_blank_cell_among_rows_keeps_its_place() -> None:
    """A cell that stands where a row could stand is a row of one cell, blank or not."""
    sizes, models = [[10.0], "", [16.0]], [["a"], ["b"], ["c"]]
    assert call("HOPPER_CATALOG_ENTRY", 16.0, sizes, models) == "c"
    says = "is blank, but cell 1 of shares is not"
    shares, densities = [[0.3], "", [0.7]], ["", [48.0], [25.0]]
    refused("#VALUE!", "densities", says, "BLEND_DENSITY", shares, densities)


def test_rows_of_unlike_length_are_another_shape() -> None:
    shares, densities = [[0.3, 0.3, 0.1], [0.3]], [[48.0, 25.0], [48.0, 25.0]]
    refused("#VALUE!", "densities", "same shape", "BLEND_DENSITY", shares, densities)


def test_places_of_blank_sizes_count() -> None:
    sizes, models = [[10], [None], [16], [16]], [["A"], ["gone"], ["B"], ["C"]]
    assert call("HOPPER_CATALOG_ENTRY", 16, sizes, models) == "B"


# --- results and conversions --------------------------------------------------------------


def test_a_conversion_too_large_for_a_number() -> None:
    says = "1e+308 kg is too large for a number in mg"
    refused("#NUM!", "value", says, "CONVERT", 1e308, "kg", "mg")


def test_round_numbers_come_out_round() -> None:
    assert call("HOPPER_HELD_MASS", 16, 36.5) == 584.0
    assert call("HOPPER_BLEND_DENSITY", [[0.5, 0.5]], [[48, 25]]) == 36.5
    assert call("HOPPER_CONVERT", 1, "m3", "L") == 1000.0
    assert call("HOPPER_MAX_THROUGHPUT", 16, 36.5, 4) == 146.0


def test_the_version_is_the_package_s() -> None:
    assert hoppersheet.__version__ in call("HOPPER_VERSION")


def test_an_error_is_an_error_of_the_package() -> None:
    assert issubclass(CellError, hoppersheet.HoppersheetError)
    with pytest.raises(hoppersheet.HoppersheetError, match=r"^#NUM! throughput: "):
        call("HOPPER_REQUIRED_VOLUME", -1, 4, 30)


@pytest.mark.parametrize("name", [n for n, f in all_functions().items() if f.has_units])
def test_every_function_with_units_refuses_a_wrong_unit_system(name: str) -> None:
    function = all_functions()[name]
    gap = len(function.arguments) - 1 - len(function.example.arguments)
    cells = [*function.example.arguments, *[OMITTED] * gap][: len(function.arguments) - 1]
    refused("#VALUE!", UNITS.name, "is not", name.removeprefix("HOPPER_"), *cells, "furlongs")
