"""Clean books of other layouts: nothing in them is an error. All names and figures are invented."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from audit.audit_books import COLUMN, FIRST, LINES, MODELS, PRICES, SIZES, at, clean_book, stored
from hoppersheet.audit import Finding, audit_book

END = FIRST + LINES  # the row below the lines


def told(book: Any, path: Path) -> list[Finding]:
    """Errors and warnings of a book."""
    found = audit_book(stored(book, path / "book.xlsx"), "core").findings
    return [f for f in found if f.severity != "note"]


def set_line(sheet: Any, row: int, **cells: Any) -> None:
    for key, value in cells.items():
        sheet[f"{COLUMN[key]}{row}"] = value


def with_accessories() -> Any:
    """A dryer and a service below the lines, priced by hand; they have no size."""
    book = clean_book()
    sheet = book["Sizing"]
    sheet.move_range(f"A{END + 1}:{COLUMN['total']}{END + 1}", rows=3)
    for row, (job, price) in enumerate({"Dryer": 17600, "Startup": 3200}.items(), END):
        total = f"={COLUMN['price']}{row}*{COLUMN['quantity']}{row}"
        set_line(sheet, row, job=job, model="EXAMPLE-D", price=price, quantity=1, total=total)
    sheet[f"{COLUMN['total']}{END + 4}"] = f"=SUM({at('total', 0)}:{at('total', LINES + 1)})"
    return book


def with_subtotals() -> Any:
    """A row that adds up the lines above it between the fourth line and the others."""
    book = clean_book()
    sheet = book["Sizing"]
    last = COLUMN["loaded"]
    sheet.move_range(f"A{FIRST + 4}:{last}{END + 1}", rows=1, translate=True)
    set_line(sheet, FIRST + 4, job="Hall 1",
             total=f"=SUBTOTAL(9,{at('total', 0)}:{at('total', 3)})")  # fmt: skip
    set_line(sheet, END + 2, total=f"=SUBTOTAL(9,{at('total', 0)}:{at('total', LINES)})")
    for row in range(FIRST + 5, END + 1):  # what moved keeps its catalog
        for key in ("next", "model", "price"):
            cell = sheet[f"{COLUMN[key]}{row}"]
            assert "Catalog!$A$2" in cell.value
    return book


def with_catalog_across() -> Any:
    """The catalog lies in a row: sizes, below them models, below them prices."""
    book = clean_book()
    rows = list(book["Catalog"].iter_rows(values_only=True))
    del book["Catalog"]
    catalog = book.create_sheet("Catalog")
    for column in zip(*rows, strict=True):
        catalog.append(column)
    for row in book["Sizing"].iter_rows():
        for cell in row:
            if isinstance(cell.value, str) and cell.value.startswith("="):
                for old, new in zip((SIZES, MODELS, PRICES), "123", strict=True):
                    cell.value = cell.value.replace(old, f"Catalog!$B${new}:$I${new}")
    return book


def with_two_heading_rows() -> Any:
    """Groups of columns above short headings that say little by themselves."""
    book = clean_book()
    sheet = book["Sizing"]
    groups = {"virgin_share": "Share by volume", "virgin": "Bulk density", "price": "Offer"}
    short = {"price": "list, USD", "quantity": "qty", "total": "net, USD", "virgin_share": "virgin",
             "regrind_share": "regrind", "virgin": "virgin, lb/ft3", "regrind": "regrind, lb/ft3",
             }  # fmt: skip
    set_line(sheet, FIRST - 2, **groups)
    set_line(sheet, FIRST - 1, **short)
    return book


def with_a_dryer_in_each_line() -> Any:
    """A dryer beside each hopper, with a price from another list."""
    book = clean_book()
    sheet = book["Sizing"]
    sheet[f"W{FIRST - 1}"], sheet[f"X{FIRST - 1}"] = "Dryer airflow [cfm]", "Dryer price [USD]"
    for row in range(FIRST, END):
        sheet[f"W{row}"] = 100
        sheet[f"X{row}"] = f"=INDEX(Dryers!$C$2:$C$4,MATCH(W{row},Dryers!$A$2:$A$4,0))"
    dryers = book.create_sheet("Dryers")
    dryers.append(["Airflow [cfm]", "Model", "List price [USD]"])
    for airflow in (50, 100, 150):
        dryers.append([airflow, f"EXAMPLE-D{airflow}", 4000 + 40 * airflow])
    return book


def plain_by_mass(formula: str = "=1/((1-B{0}/100)/C{0}+B{0}/100/D{0})") -> Any:
    """Shares by mass in percent, densities in kg/m3, blended by a plain formula."""
    book = Workbook()
    sheet = book.active
    sheet.append(["Job", "Regrind share [% by mass]", "Virgin bulk density [kg/m3]",
                  "Regrind bulk density [kg/m3]", "Throughput [kg/h]", "Drying time [h]",
                  "Blend bulk density [kg/m3]", "Required volume [m3]"])  # fmt: skip
    for row, share in enumerate((30, 20, 25), 2):
        sheet.append([f"Press {row}", share, 620 + row, 410, 100, 3.5, formula.format(row),
                      f"=E{row}*F{row}/G{row}"])  # fmt: skip
    return book


CLEAN = [with_accessories, with_subtotals, with_catalog_across, with_two_heading_rows,
         with_a_dryer_in_each_line, plain_by_mass]  # fmt: skip


@pytest.mark.parametrize("made", CLEAN)
def test_no_error_in_a_clean_book(made: Any, tmp_path: Path) -> None:
    assert told(made(), tmp_path) == []


@pytest.mark.parametrize("line", [3, LINES - 1])
def test_a_price_typed_over_in_a_line_is_told_without_its_size_too(
    line: int, tmp_path: Path
) -> None:
    book = clean_book()
    set_line(book["Sizing"], FIRST + line, price=1234, chosen=None, model=None)
    assert at("price", line) in {f.cell for f in told(book, tmp_path)}


def test_a_line_that_adds_up_instead_is_told(tmp_path: Path) -> None:
    book = clean_book()
    set_line(book["Sizing"], FIRST + 4, total=f"=SUM({at('total', 0)}:{at('total', 3)})")
    assert at("total", 4) in {f.cell for f in told(book, tmp_path) if f.kind == "odd formula"}


@pytest.mark.parametrize(
    ("sheet", "cell", "value", "kind"),
    [
        ("Sizing", at("chosen", 2), 13, "not in catalog"),
        ("Sizing", at("price", 2), 99, "price differs"),
        ("Sizing", at("model", 2), "Model 30", "model differs"),
        ("Catalog", "D3", -1500, "catalog entry"),
        ("Catalog", "D3", 15000, "outside typical range"),
    ],
)
def test_faults_with_a_catalog_in_a_row(
    sheet: str, cell: str, value: Any, kind: str, tmp_path: Path
) -> None:
    book = with_catalog_across()
    book[sheet][cell] = value
    assert (kind, cell) in {(f.kind, f.cell) for f in told(book, tmp_path)}


def test_a_range_that_leaves_a_size_of_the_row_out(tmp_path: Path) -> None:
    book = with_catalog_across()
    cell = book["Sizing"][at("next", 3)]
    cell.value = cell.value.replace("$I$1", "$H$1")
    assert "catalog range" in {f.kind for f in told(book, tmp_path)}


def test_a_plain_blend_by_volume_of_shares_by_mass_is_told(tmp_path: Path) -> None:
    book = plain_by_mass("=(1-B{0}/100)*C{0}+B{0}/100*D{0}")
    assert {f.kind for f in told(book, tmp_path)} & {"shares", "does not follow"}
