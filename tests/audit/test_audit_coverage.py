"""What an audit counts as not examined: no formula and no tab goes without a word."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from audit.audit_books import stored
from audit.planted.styles import Quote, build, save
from hoppersheet.audit import Audit, audit_book


def audited(quote: Quote, folder: Path) -> Audit:
    return audit_book(save(quote, folder / "book.xlsx"), "core")


def _apart(quote: Quote, state: str = "visible") -> Any:
    """A calculation of somebody's own, without a heading: 220 x 3.5 / 36.4 = 21.15 ft3."""
    sheet = quote.book.create_sheet("Old")
    for at, value in enumerate((220, 3.5, 36.4, "=A1*B1/C1"), 1):
        sheet.cell(1, at, value)
    sheet.sheet_state = state
    return sheet


def _hide_row(quote: Quote) -> None:
    _apart(quote).row_dimensions[1].hidden = True


def _hide_column(quote: Quote) -> None:
    _apart(quote).column_dimensions["D"].hidden = True


@pytest.mark.parametrize(
    ("plant", "said"),
    [
        (_apart, ""),
        (lambda quote: _apart(quote, "hidden"), "the sheet 'Old' is hidden"),
        (lambda quote: _apart(quote, "veryHidden"), "the sheet 'Old' is hidden from its menu too"),
        (_hide_row, "row 1 of 'Old' is hidden"),
        (_hide_column, "column D of 'Old' is hidden"),
    ],
)  # fmt: skip
def test_a_formula_that_no_check_took_is_not_examined(
    plant: Callable[[Quote], object], said: str, tmp_path: Path
) -> None:
    quote = build("rows")
    plant(quote)
    audit = audited(quote, tmp_path)
    assert set(audit.coverage.not_examined) == {("Old", 1, 4)} and audit.status == 1
    assert "Old!D1" in audit.verdict and said in audit.verdict
    assert "all was looked at" not in audit.verdict


@pytest.mark.parametrize(
    "formula",
    ["=Quote!A4", '="for "&Quote!A4', "=COUNTA(Quote!A4:A9)", "=Quote!L4", "=ROW()"],
)
def test_what_only_shows_or_counts_is_no_calculation_of_its_own(
    formula: str, tmp_path: Path
) -> None:
    quote = build("rows")
    quote.book.create_sheet("Cover")["B2"] = formula
    audit = audited(quote, tmp_path)
    assert audit.status == 0 and not audit.coverage.not_examined
    assert any("Cover" in said for said in audit.coverage.sentences())


def test_a_volume_worked_out_anew_is_not_examined_where_it_differs(tmp_path: Path) -> None:
    """220 lb/h x 3.5 h / 36.44 lb/ft3, and then 0.9 of it, without a heading."""
    quote = build("rows")
    rate, hours, blend = (f"Quote!{quote.at(0, r)[1]}" for r in ("rate", "hours", "blend"))
    sheet = quote.book.create_sheet("Cover")
    sheet["B2"] = f"={rate}*{hours}/{blend}"
    sheet["B3"] = f"={rate}*{hours}/{blend}*0.9"
    audit = audited(quote, tmp_path)
    assert set(audit.coverage.not_examined) == {("Cover", 3, 2)} and audit.status == 1


def test_a_net_price_that_could_not_be_worked_out_again_is_not_examined(tmp_path: Path) -> None:
    quote = build("rows")
    sheet, _ = quote.at(0, "net")
    for line in range(quote.lines):
        row = 4 + line
        quote.book[sheet][f"Y{row}"] = 120.0 + line  # no heading says what it is
        net = quote.formula(line, "net")
        quote.put(line, "net", f"{net}+Y{row}")
    audit = audited(quote, tmp_path)
    assert {quote.at(line, "net") for line in range(6)} == {
        (s, openpyxl.utils.cell.get_column_letter(c) + str(r))
        for s, r, c in audit.coverage.not_examined
    }
    assert audit.status == 1


def test_an_empty_book_is_not_called_fine(tmp_path: Path) -> None:
    audit = audit_book(stored(openpyxl.Workbook(), tmp_path / "book.xlsx"), "core")
    assert audit.status == 1 and audit.verdict.startswith("Nothing was examined")


def test_a_sum_of_prices_that_is_no_known_total_is_not_examined(tmp_path: Path) -> None:
    quote = build("rows")
    quote.book["Quote"]["Z30"] = f"=SUM({quote.at(0, 'net')[1]}:{quote.at(4, 'net')[1]})"
    audit = audited(quote, tmp_path)
    assert set(audit.coverage.not_examined) == {("Quote", 30, 26)} and audit.status == 1


def test_lines_without_a_net_price_are_not_said_to_make_the_total(tmp_path: Path) -> None:
    quote = build("rows")
    quote.book["Quote"][f"U{3}"] = "Ext"  # no heading that anybody would know
    audit = audited(quote, tmp_path)
    assert audit.coverage.worked_out == 0 and audit.status == 1
    assert "all was looked at" not in audit.verdict and "as it says" not in audit.verdict
