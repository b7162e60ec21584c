"""Numbers typed as text: decimal comma and point, grouped thousands, and what must be refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hoppersheet.cells.numbers_in_text import parse_number, shown, split_number
from hoppersheet.errors import CellError


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        # One separator that cannot group thousands.
        ("1234.5", 1234.5), ("1234,5", 1234.5), ("1,5", 1.5), ("0,55", 0.55), ("25,", 25.0),
        ("25.", 25.0), (".5", 0.5), (",5", 0.5), ("1,23", 1.23), ("1,2345", 1.2345),
        # Groups of three: spaces (ISO 80000-1, 7.3.1), then the other sign decides.
        ("1 234", 1234.0), ("1 234,5", 1234.5), ("1 234.5", 1234.5), ("12 345 678", 12345678.0),
        ("1\u00a0234,5", 1234.5), ("1\u202f234,5", 1234.5), ("1\u2009234", 1234.0),
        ("1,234.5", 1234.5), ("1.234,5", 1234.5), ("1,234,567", 1234567.0),
        ("1.234.567", 1234567.0), ("1,234,567.89", 1234567.89), ("1.234.567,89", 1234567.89),
        # A comma and three digits where no group can be meant.
        ("0,234", 0.234), ("1234,567", 1234.567), ("00,123", 0.123),
        # Three digits after a point, where no group can be meant.
        ("0.234", 0.234), ("1234.567", 1234.567), ("00.123", 0.123),
        # Signs, exponents, blanks around.
        ("+5", 5.0), ("-5", -5.0), ("\u22125", -5.0), ("-1,5", -1.5), ("1e3", 1000.0),
        ("1.5E-3", 0.0015), ("1,234e2", 123.4), ("  42 ", 42.0), ("0", 0.0), ("007", 7.0),
    ],
)  # fmt: skip
def test_numbers_as_typed(typed: str, number: float) -> None:
    assert parse_number(typed) == number
    assert split_number(f"{typed} kg/h") == (number, "kg/h")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("1,234", "type 1.2340 or 1234 "), ("12,345", "type 12.3450 or 12345 "),
        ("-1,234", "type 1.2340 or 1234 "), ("100,000", "type 100.0000 or 100000 "),
        ("1.234", "type 1.2340 or 1234 (a point"), ("1,234 kg", "ambiguous"),
        ("4:00", "a clock time; type the hours as a number, 4"), ("4:30:00", "number, 4.5"),
        ("4:00 PM", "a clock time"),
        ("", "is not a number"), ("abc", "is not a number"), ("kg 5", "is not a number"),
        ("--5", "is not a number"), ("+-5", "is not a number"), (".", "is not a number"),
        (",", "is not a number"), ("1,2,3", "is not a number"), ("1.2.3", "is not a number"),
        ("12,34,567", "is not a number"), ("1,234.567.8", "is not a number"),
        ("1 234 56,5", "not a"), ("1 23", "not a"), ("nan", "is not a number"),
        ("inf", "is not a number"), ("Infinity", "is not a number"), ("TRUE", "is not a number"),
        ("0x10", "not a plain"), ("1_000", "not a plain"), ("\u0661", "is not a number"),
        ("\u00bd", "is not a number"), ("$5", "is not a number"), ("5 kg", "not a plain"),
        ("1/2", "not a plain"), ("2026-11-25", "not a plain"), ("1'234", "not a plain"),
    ],
)  # fmt: skip
def test_text_that_is_refused(typed: str, says: str) -> None:
    with pytest.raises(CellError) as caught:
        parse_number(typed)
    assert caught.value.code == "#VALUE!"
    assert says in caught.value.reason


@pytest.mark.parametrize("typed", ["1e400", "-1e400", "9" * 400, "1e99999999999999999999"])
def test_a_number_too_large_is_out_of_range(typed: str) -> None:
    with pytest.raises(CellError, match="too large") as caught:
        parse_number(typed)
    assert caught.value.code == "#NUM!"


@pytest.mark.parametrize(
    ("typed", "sign", "number"),
    [
        ("1,234", ",", 1.234), ("1,234", ".", 1234.0), ("1.234", ",", 1234.0),
        ("1.234", ".", 1.234), ("-1.234 kg", ",", -1234.0), ("100,000", ".", 100_000.0),
    ],
)  # fmt: skip
def test_a_proven_decimal_sign_decides(typed: str, sign: str, number: float) -> None:
    def never(_number: float, _rest: str) -> bool:
        raise AssertionError("the sign is known")

    assert split_number(typed, never, sign)[0] == number


@pytest.mark.parametrize("typed", ["1,250", "1.250"])
def test_the_limits_decide_where_one_number_alone_is_possible(typed: str) -> None:
    assert split_number(f"{typed} kg", lambda n, unit: n < 100 and unit == "kg") == (1.25, "kg")
    assert split_number(typed, lambda n, _: n > 100) == (1250.0, "")
    with pytest.raises(CellError, match=r"ambiguous, 1\.250 or 1250: type 1\.2500 or 1250 "):
        split_number(typed, lambda n, _: True)
    # Neither: the caller refuses what most sheets would show.
    neither = split_number(typed, lambda n, _: False)[0]
    assert neither == (1.25 if "." in typed else 1250.0)


_finite = st.floats(allow_nan=False, allow_infinity=False)


@given(_finite)
def test_every_number_that_a_sheet_shows_comes_back(number: float) -> None:
    for typed in (repr(number), f"{number:.17g}"):
        assert split_number(typed, decimal_sign=".")[0] == number


@given(st.decimals(min_value=-(10**9), max_value=10**9, places=2))
def test_grouped_numbers_come_back_in_either_style(number: object) -> None:
    english = f"{number:,}"
    swapped = english.translate(str.maketrans(",.", ".,"))
    spaced = english.replace(",", "\u202f")
    assert (
        parse_number(english) == parse_number(swapped) == parse_number(spaced) == float(str(number))
    )


@given(_finite.map(lambda x: float(f"{x:.6g}")))
def test_a_decimal_comma_is_the_point_or_refused(number: float) -> None:
    typed = repr(number).replace(".", ",")
    try:
        assert parse_number(typed) == number
    except CellError as problem:
        assert "ambiguous" in problem.reason and len(typed.lstrip("-").partition(",")[2]) == 3


@given(st.text(max_size=30))
def test_any_text_is_a_finite_number_or_an_error(text: str) -> None:
    try:
        number, rest = split_number(text)
    except CellError as problem:
        assert problem.code in ("#VALUE!", "#NUM!")
        assert problem.reason and "\n" not in problem.reason
    else:
        assert abs(number) < float("inf") and rest == rest.strip()


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (True, "TRUE"), (False, "FALSE"), (5.0, "5"), (0.1 + 0.2, "0.3"), ("a\nb", r"'a\nb'"),
        (float("nan"), "nan"), (7, "7"), ("x" * 99, "'" + "x" * 36 + "..."),

    ],
)  # fmt: skip
def test_values_in_messages(value: object, said: str) -> None:
    assert shown(value) == said


def test_a_value_that_cannot_be_written_out() -> None:
    # Python refuses to turn an int of more than 4300 digits into text.
    assert shown(10**5000) == "a value too long to show"
