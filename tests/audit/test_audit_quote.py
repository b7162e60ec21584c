"""The quote workbook audited: the demo shows its declared assumptions only, faults are found.

The demo is built here, with few lines, and computed by our own engine.
"""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from openpyxl.comments import Comment

from audit.audit_books import COLUMN, FIRST, clean_book, formulas, set_stored, stored
from hoppersheet.audit import Audit, audit_book
from hoppersheet.templates import quote
from hoppersheet.templates.quote.demo import LINES as DEMO_LINES
from hoppersheet.templates.quote.line_checks import SIZING
from hoppersheet.templates.saving import save_workbook
from hoppersheet.workbook.compute import compute


@pytest.fixture(scope="module")
def demo_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    save_workbook(quote.build(demo=True, rows=8), folder / "built.xlsx")
    compute(folder / "built.xlsx", folder / "demo.xlsx", engine="core")
    return folder / "demo.xlsx"


@pytest.fixture(scope="module")
def demo(demo_path: Path) -> Audit:
    return audit_book(demo_path, "core")


def at(key: str, line: int) -> str:
    return SIZING.cell(key, SIZING.first_row + line - 1)


def test_the_demo_gives_only_its_declared_assumptions(demo: Audit) -> None:
    for found in demo.findings:
        assert found.severity == "note", found
        if found.kind == "undersized":
            assert "the stated reason is 'the press log of March shows 88 lb/h'" in found.message
    assert {f.kind for f in demo.findings} <= {
        "undersized", "oversized", "own check", "caution",
    }  # fmt: skip
    assert demo.status == 0 and demo.coverage.complete
    assert demo.coverage.worked_out == len(DEMO_LINES)
    assert demo.sign_off.total is not None
    assert demo.sign_off.total == pytest.approx(demo.sign_off.right_total, abs=0.01)
    assert demo.lines == len(DEMO_LINES) == 8 and demo.elsewhere > 0


def test_an_empty_book_has_nothing_to_find(tmp_path: Path) -> None:
    save_workbook(quote.build(rows=2), tmp_path / "built.xlsx")
    compute(tmp_path / "built.xlsx", tmp_path / "q.xlsx", engine="core")
    audit = audit_book(tmp_path / "q.xlsx", "core")
    assert audit.findings == []
    # nothing to find, but nobody says that all is well: no line is filled in
    assert audit.status == 1 and not audit.coverage.anything


def test_a_result_typed_over_is_an_error(demo_path: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(demo_path)
    # 220 x 3.5 / 35.443 = 21.725; 12 / 21.725 = 0.552
    spoiled = {at("blend", 2): 45.0, at("needs", 1): 12.0, at("chosen_size", 3): 3.0}
    for cell, value in spoiled.items():
        book["Sizing"][cell] = value
    audit = audit_book(stored(book, tmp_path / "spoiled.xlsx"), "core")
    errors = {f.cell: f for f in audit.findings if f.sheet == "Sizing" and f.severity == "error"}
    assert set(spoiled) <= set(errors)
    assert "44.8 % too low" in errors[at("needs", 1)].message


@pytest.mark.parametrize(("what", "warned"), [("Trade-in of two hoppers", 0), ("Ducts", 1)])
def test_a_service_below_zero_is_told_unless_its_row_says_why(
    demo_path: Path, tmp_path: Path, what: str, warned: int
) -> None:
    book = openpyxl.load_workbook(demo_path)
    services = book["Services"]
    row = next(row for row in range(6, 20) if services.cell(row, 1).value is None)
    for column, value in ((1, what), (3, 2), (4, -150)):
        services.cell(row, column).value = value
    book.save(tmp_path / "built.xlsx")
    compute(tmp_path / "built.xlsx", tmp_path / "q.xlsx", engine="core")
    told = [f for f in audit_book(tmp_path / "q.xlsx", "core").findings if f.severity != "note"]
    assert len(told) == warned, told
    assert all("lowers the total" in f.message for f in told)


def test_faults_in_the_demo_are_exactly_their_cells(
    demo: Audit, demo_path: Path, tmp_path: Path
) -> None:
    """A formula changed, a price typed over, a stored value edited by hand; what inputs show."""
    book = openpyxl.load_workbook(demo_path)
    sheet = book["Sizing"]
    sheet[at("stated", 3)].number_format = '0 "kg/h"'  # the heading says lb/h, the line holds 62
    sheet[at("stated", 4)].comment = Comment("customer told us 265 lb/h", "invented")
    changed, price, edited = at("needs", 3), at("price", 4), at("needs", 6)
    sheet[changed] = f"{sheet[changed].value}*1.02"
    sheet[price] = 4321.0
    book.save(tmp_path / "spoiled.xlsx")
    compute(tmp_path / "spoiled.xlsx", tmp_path / "computed.xlsx", engine="core")
    set_stored(tmp_path / "computed.xlsx", "Sizing", edited, 1.0)
    audit = audit_book(tmp_path / "computed.xlsx", "core")
    declared = {(f.sheet, f.cell) for f in demo.findings}
    new = {(f.sheet, f.cell) for f in audit.findings if f.severity == "error"} - declared
    assert {("Sizing", changed), ("Sizing", price), ("Sizing", edited)} <= new
    kinds = {f.cell: f.kind for f in audit.findings if f.sheet == "Sizing"}
    assert kinds[at("stated", 3)] == "unit mismatch" and kinds[at("stated", 4)] == "comment"
    assert {sheet for sheet, _ in new} <= {"Sizing", "Checks"}


def test_five_thousand_sizing_cells_with_progress(tmp_path: Path) -> None:
    """900 lines with six calls each."""
    book = clean_book()
    sheet, lines = book["Sizing"], 900
    for row in range(FIRST, FIRST + 12):
        for letter in COLUMN.values():
            sheet[f"{letter}{row}"] = None
    for line in range(lines):
        row = FIRST + line
        inputs = {
            "job": f"Press {line}", "virgin_share": 0.5 + line % 5 / 10, "basis": "volume",
            "virgin": 36.0, "regrind": 20.0, "origin": "measured", "rate": 60.0 + line % 90,
            "hours": 4.0, "quantity": 1, "high": 45.0, "empty": 300.0,
        }  # fmt: skip
        for key, value in {**inputs, **formulas(row)}.items():
            sheet[f"{COLUMN[key]}{row}"] = value
    path = stored(book, tmp_path / "many.xlsx")
    told: list[tuple[str, int, int]] = []
    audit = audit_book(path, "core", lambda what, done, total: told.append((what, done, total)))
    assert (audit.cells, audit.lines) == (6 * lines, lines)
    assert len(audit.assumptions) >= 6 * lines
    assert ("weighing assumptions", lines, lines) in told
    assert [f for f in audit.findings if f.severity == "error"] == []


def test_a_quote_of_one_line_is_worked_out_to_its_total(tmp_path: Path) -> None:
    """120 lb/h x 3 h / 39 lb/ft3 = 9.23 ft3: the next size, and its dryer."""
    from hoppersheet.templates.quote import catalog, demo, typing_in

    book = quote.build(rows=2)
    typing_in.type_in(book, **demo.HEADER)
    typing_in.fill(book, [{"resin": "ABS", "virgin": 39, "stated": 120, "hours": 3}])
    row = catalog.TABLE.last_row  # a size by mass, at its rated density; no empty mass
    typed = {"model": "OWN-3000", "stated": 3000, "stated_unit": "kg", "rated_density": 0.64,
             "price": 90_000, "invented": "no"}  # fmt: skip
    for key, value in typed.items():
        book["Catalog"][catalog.TABLE.cell(key, row)] = value
    save_workbook(book, tmp_path / "built.xlsx")
    compute(tmp_path / "built.xlsx", tmp_path / "q.xlsx", engine="core")
    audit = audit_book(tmp_path / "q.xlsx", "core")
    assert [f for f in audit.findings if f.severity != "note"] == []
    assert audit.sign_off.total is not None
    assert audit.sign_off.total == pytest.approx(audit.sign_off.right_total, abs=0.01)


def test_a_quote_that_is_not_ready_says_what_is_missing(tmp_path: Path) -> None:
    """The failing checks by name: an #N/A in the total is no cause, it says that there is one."""
    from hoppersheet.templates.quote import typing_in

    book = quote.build(rows=2)  # an invented catalog, no customer, no dryer
    typing_in.fill(book, [{"resin": "ABS", "virgin": 39, "stated": 120, "hours": 3}])
    save_workbook(book, tmp_path / "built.xlsx")
    compute(tmp_path / "built.xlsx", tmp_path / "q.xlsx", engine="core")
    audit = audit_book(tmp_path / "q.xlsx", "core")
    errors = {f.message for f in audit.findings if f.severity == "error"}
    for text in ("quoting an invented catalog row", "Customer, number, date", "dryer"):
        assert any(text in message for message in errors), text
    assert any("says so itself (NA())" in message for message in errors)
    assert audit.status == 1
