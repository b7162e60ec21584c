"""Clean books of other layouts: nothing in them is an error. All names and figures are invented."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from audit.audit_books import COLUMN, FIRST, LINES, at, clean_book, stored
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


@pytest.mark.parametrize("made", [with_accessories, with_subtotals])
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
