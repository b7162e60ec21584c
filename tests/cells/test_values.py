"""Dates, times and durations are the numbers that a spreadsheet keeps for them, or refused."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

import pytest

from hoppersheet import CellError
from hoppersheet.cells.values import number_of


@pytest.mark.parametrize(
    ("cell", "number"),
    [
        (time(4, 0), 4 / 24), (time(18, 0), 0.75), (timedelta(hours=26), 26 / 24),
        (timedelta(days=59), 59.0), (timedelta(days=-59), -59.0), (datetime(1899, 12, 30, 6), 0.25),
    ],
)  # fmt: skip
def test_a_time_is_a_part_of_a_day(cell: Any, number: float) -> None:
    """ECMA-376 part 1, 18.17.4: a day is 1, and day 0 is 1899-12-30."""
    assert number_of(cell, "hours") == pytest.approx(number, rel=1e-12)


@pytest.mark.parametrize(
    "cell", [timedelta(days=60), timedelta(days=-60), date(2026, 11, 28), datetime(1900, 2, 28)]
)
def test_a_date_is_no_number(cell: Any) -> None:
    with pytest.raises(CellError, match="is a date, not a number") as refused:
        number_of(cell, "hours")
    assert (refused.value.code, refused.value.argument) == ("#VALUE!", "hours")
