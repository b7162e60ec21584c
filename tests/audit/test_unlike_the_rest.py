"""Faults that show only beside the rest of a list, a page or a column.

All names and figures are invented; the faults are those that managers named as their fears, and
the limits are judgments (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.comments import Comment
from openpyxl.workbook.defined_name import DefinedName

from audit.audit_books import COLUMN, FIRST, LINES, MODELS, PRICES, SIZES, at, clean_book, stored
from hoppersheet.audit import audit_book
from hoppersheet.audit.findings import Finding

LAST = FIRST + LINES - 1
TOTAL = f"{COLUMN['total']}{LAST + 2}"
DRYERS = [(60, 6900), (120, 9800), (200, 13400), (350, 18900), (500, 24600), (800, 33000)]


def book_with_pages() -> Any:
    """The clean book with freight and tax, two rows per line on a page, dryers and checks."""
    book = clean_book()
    sheet = book["Sizing"]
    label, amount = COLUMN["quantity"], COLUMN["total"]
    net = TOTAL
    sheet[f"{label}{LAST + 2}"] = "Subtotal"
    for row, (name, value) in enumerate(
        (
            ("Freight", 400),
            ("Tax rate", 0.07),
            ("Tax", f"=ROUND(({net}+{amount}{LAST + 3})*{amount}{LAST + 4},2)"),
            ("Grand total", f"={net}+{amount}{LAST + 3}+{amount}{LAST + 5}"),
        ),
        LAST + 3,
    ):
        sheet[f"{label}{row}"], sheet[f"{amount}{row}"] = name, value
    page = book.create_sheet("Page")
    page["A1"] = "Quotation for an invented customer"
    for column, heading in zip("ABCD", ("Item", "Hopper", "Qty", "Amount"), strict=True):
        page[f"{column}3"] = heading

    def of_line(key: str, row: int) -> str:
        return f"INDEX(Sizing!${COLUMN[key]}${FIRST}:${COLUMN[key]}${LAST},$F{row})"

    for line in range(LINES):
        row = 4 + 2 * line
        page[f"F{row}"] = f"=ROWS(F$4:F{row + 1})/2"
        page[f"A{row}"] = f"={of_line('job', row)}"
        page[f"B{row}"] = f"={of_line('model', row)}"
        page[f"C{row}"] = f"={of_line('quantity', row)}"
        page[f"D{row}"] = f"={of_line('total', row)}"
        page[f"A{row + 1}"] = f'="for "&{of_line("rate", row)}&" lb/h"'
    end = 4 + 2 * LINES
    page[f"C{end}"], page[f"D{end}"] = "Grand total", f"=Sizing!{amount}{LAST + 6}"
    page.print_area = f"A1:D{end}"
    dryers = book.create_sheet("Dryers")
    dryers.append(["Model", "Airflow [cfm]", "List price"])
    for air, price in DRYERS:
        dryers.append([f"D{air}", air, price])
    return book


def loud(book: Any, tmp_path: Path) -> list[Finding]:
    audit = audit_book(stored(book, tmp_path / "book.xlsx"), "core")
    return [found for found in audit.findings if found.severity != "note"]


def test_the_clean_book_is_quiet(tmp_path: Path) -> None:
    assert loud(book_with_pages(), tmp_path) == []


def _set(sheet: str, cell: str, value: Any) -> Callable[[Any], None]:
    def spoil(book: Any) -> None:
        book[sheet][cell] = value

    return spoil


def _comment(sheet: str, cell: str, text: str) -> Callable[[Any], None]:
    def spoil(book: Any) -> None:
        book[sheet][cell].comment = Comment(text, "invented")

    return spoil


def _format(sheet: str, cell: str, code: str) -> Callable[[Any], None]:
    def spoil(book: Any) -> None:
        book[sheet][cell].number_format = code

    return spoil


def _hide(sheet: str, row: int) -> Callable[[Any], None]:
    def spoil(book: Any) -> None:
        book[sheet].row_dimensions[row].hidden = True

    return spoil


def _print(area: str) -> Callable[[Any], None]:
    def spoil(book: Any) -> None:
        book["Page"].print_area = area

    return spoil


_AMOUNT = COLUMN["total"]
#: name -> (what is done, sheet and cell where it must be told, a kind)
FAULTS: dict[str, tuple[Callable[[Any], None], str, str]] = {
    "a text of the page typed over": (_set("Page", "A7", "for 50 lb/h"), "Page!A7", "typed over"),
    "a blank on the page": (_set("Page", "A9", None), "Page!A9", "typed over"),
    "a blank formula of a line": (_set("Sizing", at("loaded", 3), None),
                                  f"Sizing!{at('loaded', 3)}", "typed over"),
    "a hidden row of the page": (_hide("Page", 7), "Page!A7", "hidden"),
    "the total outside the print area": (_print("A1:D18"), f"Page!D{4 + 2 * LINES}", "unseen"),
    "a dryer's price": (_set("Dryers", "C3", 980), "Dryers!C3", "catalog entry"),
    "a dryer's air": (_set("Dryers", "B3", 1200), "Dryers!B3", "catalog entry"),
    "a price in another currency": (_format("Catalog", "C4", '#,##0.00 "EUR"'),
                                    "Catalog!C4", "currency"),
    "another price in a comment": (_comment("Catalog", "C4", "2026 list: 1,900 USD"),
                                   "Catalog!C4", "comment"),
    "a size without a price": (_set("Catalog", "C4", None), "Catalog!C4", "catalog entry"),
    "a blank size": (_set("Catalog", "A4", None), "Catalog!A4", "catalog entry"),
    "a size below 0": (_set("Catalog", "A4", -12), "Catalog!A4", "catalog entry"),
    "a size as text": (_set("Catalog", "A4", "12"), "Catalog!A4", "catalog entry"),
    "a price as text": (_set("Catalog", "C4", "1,600 USD"), "Catalog!C4", "number as text"),
    "a hundred pieces": (_set("Sizing", at("quantity", 1), 100), f"Sizing!{at('quantity', 1)}",
                         "outside typical range"),
    "freight as text": (_set("Sizing", f"{_AMOUNT}{LAST + 3}", "400"),
                        f"Sizing!{_AMOUNT}{LAST + 3}", "number as text"),
    "a tax rate as text": (_set("Sizing", f"{_AMOUNT}{LAST + 4}", "7 %"),
                           f"Sizing!{_AMOUNT}{LAST + 4}", "number as text"),
    "an amount in the subtotal": (
        _set("Sizing", TOTAL, f"=SUM({at('total', 0)}:{at('total', LINES - 1)})-250"),
        f"Sizing!{TOTAL}", "total differs"),
    "a total of the tax alone": (
        _set("Sizing", f"{_AMOUNT}{LAST + 6}", f"={_AMOUNT}{LAST + 3}+{_AMOUNT}{LAST + 5}"),
        f"Sizing!{_AMOUNT}{LAST + 6}", "total skips lines"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_it_is_told_at_its_cell(fault: str, tmp_path: Path) -> None:
    spoil, where, kind = FAULTS[fault]
    book = book_with_pages()
    spoil(book)
    found = loud(book, tmp_path)
    places = [(f"{one.sheet}!{one.cell}", one.kind) for one in found]
    assert (where, kind) in places, places


def test_one_typed_cell_among_formulas_that_take_turns_is_one_finding(tmp_path: Path) -> None:
    """Not one for each of the other formulas, which are suddenly in the minority."""
    book = book_with_pages()
    book["Page"]["A7"] = "for 50 lb/h"
    assert [one.cell for one in loud(book, tmp_path)] == ["A7"]


def test_an_input_of_another_line(tmp_path: Path) -> None:
    book = clean_book()
    for line in range(LINES):
        book["Sizing"][f"V{FIRST + line}"] = ("PC", "ABS")[line % 2]
    book["Sizing"]["V3"] = "Resin"
    book["Sizing"][at("hours", 2)] = f"={at('hours', 3)}"
    assert [one.cell for one in loud(book, tmp_path)] == [at("hours", 2)]
    # of the same resin it is a way of typing it once
    book["Sizing"][f"V{FIRST + 3}"] = "PC"
    assert loud(book, tmp_path) == []


def test_a_catalog_that_says_its_state_is_no_sheet_of_checks(tmp_path: Path) -> None:
    """A slip in it is told, not set aside as the test data of checks."""
    book = clean_book()
    catalog = book["Catalog"]
    catalog["D1"], catalog["E1"] = "Size [L]", "State"
    for row in range(2, 30):
        if row > 9:
            catalog[f"A{row}"], catalog[f"B{row}"] = 10 + 2 * row, f"Model {10 + 2 * row}"
            catalog[f"C{row}"] = 1000 + 50 * (10 + 2 * row)
        catalog[f"D{row}"] = f'=HOPPER_CONVERT(A{row},"ft3","L")'
        catalog[f"E{row}"] = f'=IF(C{row}>0,"ok","look")'
    for line in range(LINES):
        for key in ("next", "model", "price"):
            cell = book["Sizing"][at(key, line)]
            cell.value = cell.value.replace("$9", "$29")
    assert loud(book, tmp_path) == []
    catalog["C6"] = 18_000
    assert [(one.sheet, one.cell) for one in loud(book, tmp_path)][:1] == [("Catalog", "C6")]


def _blending(book: Any, basis: str = "volume") -> None:
    """The volume of each line blends the densities in its own formula."""
    sheet = book["Sizing"]
    for line in range(LINES):
        v, r, dv, dr, rate, hours = (
            at(key, line)
            for key in ("virgin_share", "regrind_share", "virgin", "regrind", "rate", "hours")
        )
        density = f"({v}*{dv}+{r}*{dr})" if basis == "volume" else f"1/({v}/{dv}+{r}/{dr})"
        sheet[at("required", line)] = f"={rate}*{hours}/({density})"
        sheet[at("blend", line)] = None
        sheet[at("basis", line)] = basis
    sheet[f"{COLUMN['blend']}3"] = "Remarks"


@pytest.mark.parametrize("basis", ["volume", "mass"])
def test_a_volume_that_blends_in_its_own_formula(basis: str, tmp_path: Path) -> None:
    """``=rate*hours/(shares x densities)``; 90 % of it in one line is a finding there."""
    book = clean_book()
    sheet = book["Sizing"]
    _blending(book, basis)
    path = stored(book, tmp_path / "book.xlsx")
    audit = audit_book(path, "core")
    assert [f for f in audit.findings if f.severity != "note"] == []
    assert audit.coverage.complete and audit.coverage.worked_out == LINES
    for line in range(LINES):  # everywhere, so that no neighbor is unlike
        cell = sheet[at("required", line)]
        cell.value = f"{cell.value}*0.9"
    assert f"{COLUMN['required']}{FIRST}" in {f.cell for f in loud(book, tmp_path)}


def test_shares_of_such_a_volume_that_do_not_add_up(tmp_path: Path) -> None:
    """0.65 and 0.45: the volume is worked out all the same, with too dense a blend."""
    book = clean_book()
    _blending(book)
    book["Sizing"][at("regrind_share", 3)] = 0.45
    found = loud(book, tmp_path)
    assert {one.cell for one in found} & {at("required", 3), at("regrind_share", 3)}


def test_a_size_looked_up_with_na_where_there_is_none(tmp_path: Path) -> None:
    book = clean_book()
    for line in range(LINES):
        need = at("required", line)
        book["Sizing"][at("next", line)] = f"=_xlfn.XLOOKUP({need},{SIZES},{SIZES},NA(),1)"
        for key, column in (("model", MODELS), ("price", PRICES)):
            book["Sizing"][at(key, line)] = (
                f"=_xlfn.XLOOKUP({at('chosen', line)},{SIZES},{column},NA())"
            )
    assert loud(book, tmp_path) == []


def test_a_typed_tax_beside_its_rate(tmp_path: Path) -> None:
    book = book_with_pages()
    del book["Page"]
    cell = f"{_AMOUNT}{LAST + 5}"
    book["Sizing"][cell] = 900.0
    assert cell in {one.cell for one in loud(book, tmp_path)}


def test_a_number_alone_in_a_column_of_formulas(tmp_path: Path) -> None:
    """Each of the formulas is its own; the typed one follows from nothing any more."""
    book = clean_book()
    plan = book.create_sheet("Plan")
    plan["A1"], plan["B1"] = "shown", "what"
    for row in range(2, 20):
        plan[f"A{row}"] = f"=IF(Sizing!{at('rate', row % LINES)}>{row},1,0)+0*{row}"
        plan[f"B{row}"] = f"=A{row}*{row}"
    assert loud(book, tmp_path) == []
    plan["A7"] = 0
    assert ("Plan", "A7") in {(one.sheet, one.cell) for one in loud(book, tmp_path)}


def test_two_names_for_one_figure(tmp_path: Path) -> None:
    """The name of the total stands for the subtotal, as the subtotal's own does."""
    book = book_with_pages()
    rows = {"lines": LAST + 2, "freight": LAST + 3, "rate": LAST + 4, "tax": LAST + 5,
            "whole": LAST + 6}  # fmt: skip
    for name, row in rows.items():
        text = f"Sizing!${_AMOUNT}${row}"
        book.defined_names[name] = DefinedName(name, attr_text=text)
    assert loud(book, tmp_path) == []
    book.defined_names["whole"].attr_text = f"Sizing!${_AMOUNT}${LAST + 2}"
    found = loud(book, tmp_path)
    assert [(one.kind, one.cell) for one in found] == [("setting", TOTAL)]
    assert "'lines' and 'whole'" in found[0].message


def test_openpyxl_is_what_writes_these(tmp_path: Path) -> None:
    """The print area that the tests rely on is read back."""
    path = stored(book_with_pages(), tmp_path / "book.xlsx")
    assert openpyxl.load_workbook(path)["Page"].print_area
