"""Workbooks as people make them themselves, nothing like our template: no false alarm, clear names.

Invented; the arithmetic stands beside each check.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName

from audit.audit_books import set_stored, stored
from hoppersheet.audit import Audit, audit_book
from hoppersheet.workbook.sheet_cells import ErrorText


def audited(book: Any, folder: Path) -> Audit:
    return audit_book(stored(book, folder / "own.xlsx"), "core")


def found_in(audit: Audit) -> list[tuple[str, str]]:
    return [(found.kind, f"{found.sheet}!{found.cell}") for found in audit.findings]


def two_systems() -> Any:
    """US and metric columns side by side, sized from a metric list on another sheet."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Line 4"
    sheet["B2"] = "Dryer hoppers, line 4 and 5"
    headings = (
        "Machine", "lbs/hr", "kg/hr", "Drying time (hrs)", "% virgin", "% regrind",
        "Virgin lb/cu ft", "Regrind lb/cu ft", "Blend lb/cu ft", "kg/l", "Required (cu ft)",
        "liters", "Pick", "Model no.", "Price $", "Qty", "Ext. $", "Comments",
    )  # fmt: skip
    for column, heading in enumerate(headings, 2):
        sheet.cell(5, column, heading)
    rows = [
        ("IMM 1", 120, 4, 80, 38, 22),
        ("IMM 2", 200, 3, 100, 36, 18),
        ("EXT 1", 90, 5, 60, 51, 26),
    ]
    for r, (name, rate, hours, virgin, dense, loose) in enumerate(rows, 6):
        line = (
            name, rate, f'=HOPPER_CONVERT(C{r},"lb/h","kg/h")', hours, virgin, 100 - virgin, dense,
            loose, f'=HOPPER_BLEND_DENSITY(F{r}:G{r},H{r}:I{r},"mass")',
            f'=HOPPER_CONVERT(J{r},"lb/ft3","kg/L")', f"=HOPPER_REQUIRED_VOLUME(C{r},E{r},J{r})",
            f'=HOPPER_REQUIRED_VOLUME(D{r},E{r},K{r},,"metric")',
            f"=HOPPER_NEXT_SIZE(M{r},'Price list'!$A$4:$A$20,,\"metric\")",
            f"=HOPPER_CATALOG_ENTRY(N{r},'Price list'!$A$4:$A$20,'Price list'!$B$4:$B$20)",
            f"=HOPPER_CATALOG_ENTRY(N{r},'Price list'!$A$4:$A$20,'Price list'!$C$4:$C$20)",
            1, f"=P{r}*Q{r}", None,
        )  # fmt: skip
        for column, value in enumerate(line, 2):
            sheet.cell(r, column, value)
    sheet["P10"], sheet["R10"] = "Total", "=SUM(R6:R8)"
    sheet["P11"], sheet["Q11"] = "Discount", 0.05
    sheet["P12"], sheet["R12"] = "Net", "=R10*(1-Q11)"
    prices = book.create_sheet("Price list")
    prices["A1"] = "Hoppers (invented)"
    for column, heading in enumerate(("Liters", "Item", "USD"), 1):
        prices.cell(3, column, heading)
    for row, liters in enumerate((100, 200, 300, 400, 500, 600, 800), 4):
        for column, value in enumerate((liters, f"HX-{liters}", 900 + 3.5 * liters), 1):
            prices.cell(row, column, value)
    return book


def test_us_and_metric_columns_are_one_hopper_each(tmp_path: Path) -> None:
    audit = audited(two_systems(), tmp_path)
    # 18 of 36 lb/ft3: half of virgin is a rule of thumb, and a note
    assert [(f.kind, f.severity) for f in audit.findings] == [("estimated density", "note")]
    assert audit.lines == 3
    assert {a.line for a in audit.assumptions} == {"IMM 1", "IMM 2", "EXT 1"}
    drift = {a.input: a for a in audit.assumptions if a.line == "IMM 2"}["lbs/hr"]
    # 200 lb/h x 3 h / 36 lb/ft3 = 16.67 ft3 = 471.9 L; 500 L hold 500 / 471.95 x 200 = 211.9 lb/h
    assert drift.holds_until == pytest.approx(500 / (600 / 36 * 28.316846592) * 200, rel=1e-9)


def test_a_slip_in_the_metric_column_is_found(tmp_path: Path) -> None:
    book = two_systems()
    book["Line 4"]["N7"] = "=HOPPER_NEXT_SIZE(L7,'Price list'!$A$4:$A$20,,\"metric\")"
    audit = audited(book, tmp_path)
    assert ("unit mismatch", "Line 4!N7") in found_in(audit)


def beside() -> Any:
    """Jobs and their catalog side by side on one sheet, a size chosen by hand, prices and a sum.

    The catalog has a size column of its own that is headed like a choice.
    """
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Calc"
    for column, heading in zip(
        "BCFGHIJKLRST",
        ("Job", "lb/h", "Hours", "Density lb/ft3", "Qty", "Needed cu ft", "Take cu ft", "Price",
         "Next cu ft", "Size cu ft", "Model", "List price"),
        strict=True,
    ):  # fmt: skip
        sheet[f"{column}3"] = heading
    sizes = (4, 6, 10, 14, 20, 30, 45)
    for row, size in enumerate(sizes, 4):
        sheet[f"R{row}"], sheet[f"S{row}"], sheet[f"T{row}"] = size, f"A-{size}", 900 + 100 * size
    for row in range(4, 9):  # 60 x 4 / 30 = 8 ft3, and 4 x 10 / 30 = 1.33 ft3 more per line
        sheet[f"B{row}"], sheet[f"C{row}"] = f"Press {row}", 60 + 10 * (row - 4)
        sheet[f"F{row}"], sheet[f"G{row}"], sheet[f"H{row}"] = 4, 30, 1
        sheet[f"I{row}"] = f"=HOPPER_REQUIRED_VOLUME(C{row},F{row},G{row})"
        sheet[f"L{row}"] = f"=HOPPER_NEXT_SIZE(I{row},$R$4:$R$10)"
        sheet[f"J{row}"] = (10, 10, 14, 14, 14)[row - 4]
        sheet[f"K{row}"] = f"=HOPPER_CATALOG_ENTRY(J{row},$R$4:$R$10,$T$4:$T$10)"
    sheet["B10"], sheet["K10"] = "Sum", "=SUM(K4:K8)"
    return book


def test_a_catalog_beside_the_jobs_is_no_choice(tmp_path: Path) -> None:
    audit = audited(beside(), tmp_path)
    assert audit.findings == [] and audit.lines == 5
    book = beside()
    book["Calc"]["J6"] = 10  # 80 x 4 / 30 = 10.67 ft3: 6.25 % short
    (short,) = audited(book, tmp_path).findings
    assert (short.kind, short.cell) == ("undersized", "J6") and "6.25 %" in short.message


@pytest.mark.parametrize("price", [2300, "=T7", "=HOPPER_CATALOG_ENTRY(J8,$R$4:$R$10,$T$4:$T$10)"])
def test_a_total_that_skips_the_last_line(price: Any, tmp_path: Path) -> None:
    """Whether the line's price is typed, refers elsewhere or is calculated like the others."""
    book = beside()
    book["Calc"]["K8"], book["Calc"]["K10"] = price, "=SUM(K4:K7)"
    (found,) = [f for f in audited(book, tmp_path).findings if f.kind == "total skips lines"]
    assert found.cell == "K10" and "2300 at stake" in found.message  # 900 + 14 x 100


def test_what_stands_below_a_list_is_no_line_of_it(tmp_path: Path) -> None:
    book = beside()
    sheet = book["Calc"]
    sheet["B10"], sheet["K10"] = None, None
    sheet["B9"], sheet["J9"], sheet["K9"] = "Freight", 1, 350
    sheet["B11"], sheet["K11"] = "Sum", "=SUM(K4:K8)"
    for key in ("R", "S", "T"):
        sheet[f"{key}9"], sheet[f"{key}10"] = None, None
    (found,) = [f for f in audited(book, tmp_path).findings if f.kind == "total skips lines"]
    assert "'Freight' 350 in Calc!K9" in found.message  # told as what it is


def across() -> Any:
    """One machine per column, defined names for the catalog, a metric sheet."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Inquiry"
    labels = (
        "Machine", "Output kg/h", "Drying time h", "Bulk density kg/l", "Reserve",
        "Required litres", "Next size (l)", "Size below (l)", "Model", "Price EUR",
    )  # fmt: skip
    for row, label in enumerate(labels, 3):
        sheet.cell(row, 1, label)
    for c, column in zip("BCD", (("Ext 1", 350, 5, 0.82), ("Press 7", 45, 4, 0.66),
                                 ("Press 8", 45, 4, 0.66)), strict=True):  # fmt: skip
        for row, value in enumerate((*column, 0.1), 3):
            sheet[f"{c}{row}"] = value
        sheet[f"{c}8"] = f'=HOPPER_REQUIRED_VOLUME({c}4,{c}5,{c}6,{c}7,"metric")'
        sheet[f"{c}9"] = f'=HOPPER_NEXT_SIZE({c}8,sizes,,"metric")'
        sheet[f"{c}10"] = f'=IFERROR(HOPPER_SIZE_BELOW({c}8,sizes,"metric"),"-")'
        sheet[f"{c}11"] = f"=HOPPER_CATALOG_ENTRY({c}9,sizes,models)"
        sheet[f"{c}12"] = f"=HOPPER_CATALOG_ENTRY({c}9,sizes,prices)"
    sheet["A14"], sheet["B14"] = "Sum", "=SUM(B12:D12)"
    catalog = book.create_sheet("Catalog")
    catalog.append(["Model", "Liters", "EUR"])
    for size in (200, 400, 1000, 1600, 2500):
        catalog.append([f"T-{size}", size, 800 + 2.1 * size])
    for name, c in (("models", "A"), ("sizes", "B"), ("prices", "C")):
        book.defined_names[name] = DefinedName(name, attr_text=f"Catalog!${c}$2:${c}$6")
    return book


def test_machines_side_by_side(tmp_path: Path) -> None:
    audit = audited(across(), tmp_path)
    assert audit.findings == [] and audit.lines == 3
    assert list(dict.fromkeys(a.line for a in audit.assumptions)) == ["Ext 1", "Press 7", "Press 8"]


def estimate() -> Any:
    """Prepared rows that wait behind IF, headings in two rows, one density still to come."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Est"
    for column, (word, unit) in enumerate(
        (("Item", ""), ("Rate", "lb/hr"), ("Time", "hr"), ("Density", "lb/cu.ft"),
         ("Volume", "cu.ft"), ("Next", "cu.ft"), ("Amount", "$")), 1,
    ):  # fmt: skip
        sheet.cell(4, column, word)
        sheet.cell(5, column, unit or None)
    rows = [("A", 90, 6, 38), ("B", 140, 4, 45), ("C", 60, 3, None)]
    for r in range(6, 14):
        for column, value in enumerate(rows[r - 6] if r - 6 < len(rows) else (), 1):
            sheet.cell(r, column, value)
        sheet[f"E{r}"] = f'=IF(B{r}="","",HOPPER_REQUIRED_VOLUME(B{r},C{r},D{r}))'
        sheet[f"F{r}"] = f'=IF(B{r}="","",HOPPER_NEXT_SIZE(E{r},{{8,10,16,25}}))'
        sheet[f"G{r}"] = f'=IF(B{r}="","",100*F{r})'
    sheet["G15"] = "=SUM(G6:G13)"
    return book


def test_an_input_still_to_come_is_said_once_with_its_cell(tmp_path: Path) -> None:
    path = stored(estimate(), tmp_path / "own.xlsx")
    # Calc takes the blank for 0 and stores another error value than Excel does.
    for cell in ("E8", "F8", "G8", "G15"):
        set_stored(path, "Est", cell, ErrorText("#NUM!"))
    audit = audit_book(path, "core")
    found = [f for f in audit.findings if f.kind != "number in formula"]
    assert [(f.kind, f.cell) for f in found] == [("error value", "E8")]
    assert "bulk_density from Est!D8: the cell is blank" in found[0].message
