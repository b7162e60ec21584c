"""What comments and titles say is open or has run out. All texts and figures are invented."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from openpyxl.comments import Comment

from audit.planted.styles import build, save
from hoppersheet.audit import audit_book
from hoppersheet.audit.checks.doubts import last_day


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("price valid until 2019 only", date(2019, 12, 31)),
        ("Price list, valid through 31 Dec 2019", date(2019, 12, 31)),
        ("g\u00fcltig bis 2019-06-30", date(2019, 6, 30)),
        ("prices good until March 2020", date(2020, 4, 1)),
        ("Prices valid from 2019", None),
        ("validated in 2019 by two people", None),
        ("Prices in USD", None),
    ],
)
def test_the_last_day_of_a_text(text: str, day: date | None) -> None:
    assert last_day(text) == day


def test_open_figures_and_old_lists_are_told(tmp_path: Path) -> None:
    quote = build("rows")
    quote.cell(1, "virgin").comment = Comment("just a guess, ask the customer", "invented")
    quote.cell(2, "rate").comment = Comment("from the order of 3 May", "invented")
    sheet, size = quote.first_size
    title = quote.book[sheet][size].offset(0, 5)
    title.value = "Price list, valid until 31 Dec 2019"
    audit = audit_book(save(quote, tmp_path / "book.xlsx"), "core")
    found = {(f.kind, f.severity, f.sheet, f.cell) for f in audit.findings}
    assert found == {
        ("comment", "warning", *quote.at(1, "virgin")),
        ("comment", "warning", sheet, title.coordinate),
    }


def test_a_price_stored_as_text_is_told_before_a_line_takes_it(tmp_path: Path) -> None:
    quote = build("rows")
    sheet, size = quote.first_size
    price = quote.book[sheet][size].offset(0, 2)
    price.value = "3,100"
    audit = audit_book(save(quote, tmp_path / "book.xlsx"), "core")
    assert [(f.kind, f.sheet, f.cell) for f in audit.findings] == [
        ("number as text", sheet, price.coordinate)
    ]
