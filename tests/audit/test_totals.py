"""A grand total is taken apart: what it adds and multiplies by besides the lines.

The amounts are worked out beside each case, from the lines' own totals; all figures are invented.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from audit.audit_books import COLUMN, FIRST, LINES, at, clean_book, stored
from hoppersheet.audit import audit_book

MONEY, LABEL = COLUMN["total"], COLUMN["quantity"]
ROW = FIRST + LINES + 1  # of the total of the clean book
SUM = f"SUM({at('total', 0)}:{at('total', LINES - 1)})"


def book_with(block: dict[str, Any]) -> Any:
    """The clean book with another block under its lines: label -> money, or (figure, money)."""
    book = clean_book()
    sheet = book["Sizing"]
    for row, (label, money) in enumerate(block.items(), ROW):
        figure = None
        if isinstance(money, tuple):
            figure, money = money
        sheet[f"{COLUMN['price']}{row}"] = label
        sheet[f"{LABEL}{row}"] = figure
        sheet[f"{MONEY}{row}"] = money
    return book


def cells(row: int) -> tuple[str, str]:
    """(figure, money) of a row of the block."""
    return f"{LABEL}{ROW + row}", f"{MONEY}{ROW + row}"


(_, LINES_SUM), (SHARE, TAKEN), (_, FREIGHT) = cells(0), cells(1), cells(2)
WHOLE = {
    "Subtotal": f"={SUM}",
    "Discount": (0.04, f"=-{LINES_SUM}*{SHARE}"),
    "Freight": 850,
    "Total": f"=SUM({LINES_SUM}:{FREIGHT})",
}
RIGHT = WHOLE["Total"]


@pytest.mark.parametrize(
    "block",
    [
        WHOLE,
        {"Total": f"={SUM}", "Tax": None},
        {"Everything together": f"={SUM}"},
        {"Subtotal": f"={SUM}", "Discount": (4, f"=-{LINES_SUM}*{SHARE}/100"), "Total":
         f"={LINES_SUM}+{TAKEN}"},
        {"Net": f"={SUM}", "EUR per USD": (0.92, None), "Total": f"={LINES_SUM}*{SHARE}"},
    ],
)  # fmt: skip
def test_what_has_a_name_is_no_finding(block: dict[str, Any], tmp_path: Path) -> None:
    audit = audit_book(stored(book_with(block), tmp_path / "book.xlsx"), "core")
    assert [f.message for f in audit.findings if f.kind != "number in formula"] == []
    assert audit.sign_off.right_total == pytest.approx(audit.sign_off.total, abs=0.02)


@pytest.mark.parametrize(
    ("block", "kind", "severity", "stake"),
    [
        # what is at stake as a function of the sum of the lines, s
        ({"Total": f"={SUM}+500"}, "total differs", "warning", lambda s: 500),
        ({"Total": f"={SUM}*0.95"}, "total differs", "error", lambda s: 0.05 * s),
        (
            {"Subtotal": f"={SUM}", "Total": f"=SUM({at('total', 0)}:{LINES_SUM})"},
            "total differs", "error", lambda s: s,
        ),
        (
            {**WHOLE, "Total": f"=SUM({LINES_SUM}:{FREIGHT})+{TAKEN}"},
            "discount", "error", lambda s: 0.04 * s,
        ),
        (
            {**WHOLE, "Discount": (0.04, f"={LINES_SUM}*{SHARE}")},
            "discount", "error", lambda s: 0.08 * s,
        ),
        ({**WHOLE, "Discount": (30, f"=-{LINES_SUM}*{SHARE}")}, "discount", "error", None),
        ({**WHOLE, "Freight": -850}, "total differs", "warning", lambda s: 850),
        (
            {**WHOLE, "Total": f"={LINES_SUM}+{FREIGHT}"}, "discount", "error",
            lambda s: 0.04 * s,
        ),
    ],
)  # fmt: skip
def test_what_nobody_named_is_told(
    block: dict[str, Any], kind: str, severity: str, stake: Any, tmp_path: Path
) -> None:
    audit = audit_book(stored(book_with(block), tmp_path / "book.xlsx"), "core")
    last = f"{MONEY}{ROW + len(block) - 1}"
    found = [f for f in audit.findings if (f.kind, f.cell) in ((kind, last), (kind, FREIGHT))]
    assert [f.severity for f in found] == [severity], audit.findings
    lines = sum(worked.net or 0.0 for worked in audit.context.worked)  # type: ignore[union-attr]
    if stake is not None:
        assert found[0].money == pytest.approx(stake(lines), rel=0.03)
    assert audit.status == 1


def test_a_total_by_any_name_that_somebody_typed_is_told(tmp_path: Path) -> None:
    book = book_with({"Total of all halls": 20_000})
    audit = audit_book(stored(book, tmp_path / "book.xlsx"), "core")
    assert ("typed over", f"{MONEY}{ROW}") in {(f.kind, f.cell) for f in audit.findings}
    assert audit.sign_off.right_total is None and "typed the total" in audit.sign_off.why


def test_options_under_the_total_are_a_note(tmp_path: Path) -> None:
    book = clean_book()
    sheet = book["Sizing"]
    last = FIRST + LINES - 1
    sheet[f"{COLUMN['job']}{last}"] = "Press 8, option: larger"
    sheet[f"{MONEY}{ROW}"] = f"=SUM({at('total', 0)}:{at('total', LINES - 2)})"
    audit = audit_book(stored(book, tmp_path / "book.xlsx"), "core")
    found = [(f.kind, f.severity) for f in audit.findings if f.kind == "total skips lines"]
    assert found == [("total skips lines", "note")]
    assert audit.sign_off.right_total == pytest.approx(audit.sign_off.total)


@pytest.mark.parametrize(
    ("block", "notes"),
    [
        # the tax is rounded to cents, the total to tens; what is rounded away is no finding
        (
            {"Subtotal": f"={SUM}", "Sales tax": (0.0725, f"=ROUND({LINES_SUM}*{SHARE},2)"),
             "Freight": 850, "Total USD": f"=ROUND(SUM({LINES_SUM}:{FREIGHT}),-1)"},
            [],
        ),
        (
            {"Sum": f"={SUM}", "VAT 20 %": f"={LINES_SUM}*0.2", "Total EUR":
             f"=SUM({LINES_SUM}:{TAKEN})"},
            ["number in formula"],
        ),
        (
            {"Sum": f"={SUM}", "IVA": f"={LINES_SUM}*0.21", "Total": f"=SUM({LINES_SUM}:{TAKEN})"},
            ["number in formula"],
        ),
        # the total stands further down than the amounts that lead to it
        (
            {"Sum": f"={SUM}", "Discount": (0.06, None), "Less discount": f"=-{LINES_SUM}*{SHARE}",
             "Freight": 700, "Total, USD": f"={LINES_SUM}+{MONEY}{ROW + 2}+{MONEY}{ROW + 3}"},
            [],
        ),
    ],
)  # fmt: skip
def test_a_rounded_total_is_right(block: dict[str, Any], notes: list[str], tmp_path: Path) -> None:
    audit = audit_book(stored(book_with(block), tmp_path / "book.xlsx"), "core")
    usual = audit_book(stored(clean_book(), tmp_path / "clean.xlsx"), "core")
    known = {f.message for f in usual.findings}
    assert [f.kind for f in audit.findings if f.message not in known] == notes
    assert audit.sign_off.total_cell.endswith(f"{MONEY}{ROW + len(block) - 1}")
    assert audit.sign_off.right_total == pytest.approx(audit.sign_off.total, abs=0.02)


def test_a_hidden_factor_without_a_name_is_told(tmp_path: Path) -> None:
    book = book_with({"Total": f"={SUM}*x!A1"})
    book.create_sheet("x").sheet_state = "hidden"
    book["x"]["A1"] = 0.93
    audit = audit_book(stored(book, tmp_path / "book.xlsx"), "core")
    (found,) = (f for f in audit.findings if f.kind == "total differs")
    assert "without a name" in found.message and f"{MONEY}{ROW}" == found.cell
    assert found.money == pytest.approx(audit.sign_off.total * (1 / 0.93 - 1), rel=1e-4)


def test_a_page_that_repeats_an_amount_of_the_total_leaves_nothing_out(tmp_path: Path) -> None:
    """The page is on another sheet, below the row of the last line; the total takes the amount."""
    book = clean_book()
    costs, page = book.create_sheet("Costs"), book.create_sheet("Page")
    costs["A1"], costs["B1"] = "By truck", 850
    row = ROW + 20
    page[f"A{row}"], page[f"C{row}"] = "Freight", "=Costs!B1"
    page[f"A{row + 1}"], page[f"C{row + 1}"] = "Grand total", f"=Sizing!{MONEY}{ROW}+Costs!B1"
    audit = audit_book(stored(book, tmp_path / "page.xlsx"), "core")
    assert [f.message for f in audit.findings if f.kind == "total skips lines"] == []
    assert audit.sign_off.total == pytest.approx(audit.sign_off.right_total)
