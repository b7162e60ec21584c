"""Numbers as people read them. Expected texts are worked out by hand."""

from __future__ import annotations

import pytest

from hoppersheet.cells.wording import counted, in_both, rounded, with_unit

FT3 = 0.028316846592  # m3: NIST SP 811 appendix B.8


@pytest.mark.parametrize(
    ("number", "digits", "text"),
    [
        (0, 4, "0"), (-0.0, 4, "0"), (21.1538, 4, "21.15"), (21.1538, 6, "21.1538"),
        (9999.4, 4, "9999"), (9999.6, 4, "10000"), (10_000, 4, "10000"), (12_345.6, 4, "12346"),
        (-12_345.6, 4, "-12346"), (100_000, 6, "100000"), (123_456.7, 6, "123457"),
        (999_999_999_999_999, 4, "999999999999999"), (1e15, 4, "1e+15"),
        (0.00012345, 4, "0.0001234"), (1e-7, 4, "1e-07"), (0.5, 1, "0.5"),
    ],
)  # fmt: skip
def test_a_number_of_the_trade_is_said_without_an_exponent(
    number: float, digits: int, text: str
) -> None:
    assert rounded(number, digits) == text


def test_a_value_is_said_in_the_system_of_the_sheet_and_the_other_beside_it() -> None:
    assert with_unit(20 * FT3, "volume", "US") == "20 ft3"
    assert in_both(20 * FT3, "volume", "US") == "20 ft3 (566.3 L)"
    assert in_both(20 * FT3, "volume", "metric") == "566.3 L (20 ft3)"
    assert in_both(3.5 * 3600, "drying hours", "metric") == "3.5 h"
    assert in_both(0.1, "reserve", "US") == "0.1"
    assert (counted(1, "job"), counted(2, "job"), counted(0, "job")) == (
        "1 job",
        "2 jobs",
        "0 jobs",
    )
