"""A workbook that checks itself: what fails is told at its input, and no check can be typed over.

Invented; needed volume = throughput x hours / density, plain arithmetic beside each check.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from audit.audit_books import stored
from hoppersheet.audit import Audit, audit_book

_LINES = (("Lid", 90, 4, 40), ("Cup", 70, 4, 38), ("Ring", 80, 3, 36), ("Tray", 60, 4, 40))


def checked_book() -> Any:
    """Four lines that need at most 9 ft3 (90 x 4 / 40), sizes up to 14, and a sheet of checks."""
    book = openpyxl.Workbook()
    quote = book.active
    quote.title = "Quote"
    quote["B1"] = "Invented Customer"
    headings = ("Job", "lb/h", "Hours", "Density lb/ft3", "Needed ft3", "Chosen ft3", "Price",
                "Qty", "Net price")  # fmt: skip
    for column, heading in enumerate(headings, 1):
        quote.cell(3, column, heading)
    for row, line in enumerate(_LINES, 4):
        for column, value in enumerate(line, 1):
            quote.cell(row, column, value)
        quote[f"E{row}"] = f'=IF(B{row}="","",HOPPER_REQUIRED_VOLUME(B{row},C{row},D{row}))'
        quote[f"F{row}"] = (
            f'=IF(E{row}="","",IF(E{row}>MAX(Sizes!$A$2:$A$6),"none",'
            f"HOPPER_NEXT_SIZE(E{row},Sizes!$A$2:$A$6)))"
        )
        quote[f"G{row}"] = (
            f'=IF(ISNUMBER(F{row}),HOPPER_CATALOG_ENTRY(F{row},Sizes!$A$2:$A$6,Sizes!$B$2:$B$6),"")'
        )
        quote[f"H{row}"] = 1
        quote[f"I{row}"] = f'=IF(ISNUMBER(G{row}),G{row}*H{row},"")'
    quote["A9"], quote["I9"] = "Total", "=IF(Checks!B2=0,SUM(I4:I7),NA())"
    sizes = book.create_sheet("Sizes")
    sizes.append(["Size ft3", "Price"])
    for size in (4, 6, 8, 10, 14):
        sizes.append([size, 900 + 100 * size])
    checks = book.create_sheet("Checks")
    checks["A1"], checks["B1"] = "Is the quote ready?", '=IF(B2=0,"ready","draft")'
    checks["A2"], checks["B2"] = "Checks that fail", '=COUNTIF(C5:C8,"fail")'
    rows = (
        ("Every line has a throughput", '=COUNTA(Quote!A4:A7)-COUNTIF(Quote!B4:B7,">0")'),
        ("Every line has a size", '=COUNTA(Quote!A4:A7)-COUNT(Quote!F4:F7)'),
        ("No line needs more than 12 ft3", '=COUNTIF(Quote!E4:E7,">12")'),
        ("The customer is named", '=IF(Quote!B1="",1,0)'),
    )  # fmt: skip
    checks["A4"], checks["B4"], checks["C4"] = "what must be so", "cases", "result"
    for row, (text, formula) in enumerate(rows, 5):
        checks[f"A{row}"], checks[f"B{row}"] = text, formula
        checks[f"C{row}"] = f'=IF(B{row}=0,"pass","fail")'
    return book


def audited(folder: Path, changes: dict[str, Any]) -> Audit:
    book = checked_book()
    for name, value in changes.items():
        sheet, cell = name.split("!")
        book[sheet][cell] = value
    return audit_book(stored(book, folder / "checked.xlsx"), "core")


def test_a_clean_book_that_checks_itself_has_no_finding(tmp_path: Path) -> None:
    assert audited(tmp_path, {}).findings == []


@pytest.mark.parametrize(
    ("changes", "cell", "says"),
    [
        # 700 x 4 / 38 = 73.7 ft3; the others have 90, 80 and 60
        ({"Quote!B5": 700}, "Quote!B5", "because of 700 in Quote!B5 ('lb/h') of 'Cup': with 80"),
        ({"Quote!B5": None}, "Quote!B5", "because of the blank Quote!B5 ('lb/h') of 'Cup'"),
        ({"Quote!B1": None}, "Quote!B1", "because of the blank Quote!B1"),
    ],
)
def test_a_check_that_fails_is_told_at_the_input(
    changes: dict[str, Any], cell: str, says: str, tmp_path: Path
) -> None:
    errors = [f for f in audited(tmp_path, changes).findings if f.severity == "error"]
    assert [f"{f.sheet}!{f.cell}" for f in errors] == [cell]
    assert says in errors[0].message and any("Checks!C" in name for name in errors[0].cells)


def test_another_finding_in_the_line_names_the_input_and_the_check(tmp_path: Path) -> None:
    (error,) = [
        f for f in audited(tmp_path, {"Quote!C5": 4 / 24, "Quote!B1": "x"}).findings
        if f.severity == "error"
    ]  # fmt: skip
    assert error.kind == "error value" and "Quote!C5" in error.cells
    assert "own check fails too (Checks!C6)" in error.message


@pytest.mark.parametrize(
    "changes",
    [
        {"Checks!C6": "pass"}, {"Checks!C6": '="pass"'}, {"Checks!B6": 0}, {"Checks!B6": "=0"},
        {"Checks!B1": "ready"}, {f"Checks!C{row}": "pass" for row in range(5, 9)},
    ],
)  # fmt: skip
def test_a_check_that_is_typed_over_is_an_error(changes: dict[str, Any], tmp_path: Path) -> None:
    first = next(iter(changes)).partition("!")[2]
    found = audited(tmp_path, changes).findings
    assert [(f.kind, f.severity, f.cell) for f in found if f.severity == "error"] == [
        ("typed over", "error", first)
    ]
