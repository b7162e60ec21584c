"""The quote workbook audited: the demo shows its declared assumptions only, faults are found."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from audit.audit_books import COLUMN, FIRST, clean_book, formulas, set_stored, stored
from hoppersheet.audit import Audit, audit_book
from hoppersheet.templates.quote.demo import LINES as DEMO_LINES

WORKBOOKS = Path(__file__).parents[2] / "workbooks"
DEMO = WORKBOOKS / "demo_quote.xlsx"


@pytest.fixture(scope="module")
def demo() -> Audit:
    return audit_book(DEMO, "core")


def _declared() -> dict[str, int]:
    """What the invented scenario declares, from its own data."""
    estimated = sum(line.get("virgin_basis") == "estimated" for line in DEMO_LINES)
    estimated += sum(
        line["virgin_share"] < 1
        and (not line.get("regrind_density") or line.get("regrind_basis") == "estimated")
        for line in DEMO_LINES
    )
    return {"estimated density": estimated}


def test_the_demo_gives_only_its_declared_assumptions(demo: Audit) -> None:
    kinds: dict[str, int] = {}
    for found in demo.findings:
        assert found.severity == "note", found
        kinds[found.kind] = kinds.get(found.kind, 0) + 1
        if found.kind in ("undersized", "oversized"):
            assert "the stated reason is" in found.message
    assert set(kinds) <= {"estimated density", "undersized", "oversized", "own check"}
    assert kinds["own check"] == 1  # what the book's own sheet Checks asks to look at
    assert demo.not_followed == {}
    # Seven jobs (invented); the what-if sheet and the shared hopper calculate for themselves.
    assert demo.lines == len(DEMO_LINES) == 7 and demo.elsewhere > 0
    sheets = [a.line_sheet for a in demo.assumptions]
    first = sheets.index(next(s for s in sheets if s != "Sizing"))
    assert set(sheets[:first]) == {"Sizing"} and "Sizing" not in sheets[first:]
    assert kinds["estimated density"] == _declared()["estimated density"]
    assert {a.origin for a in demo.assumptions} >= {"measured", "data sheet", "estimated by rule"}


@pytest.mark.calc
def test_the_demo_saved_by_calc_gives_the_same(demo: Audit, office: Any, tmp_path: Path) -> None:
    office.compute(DEMO, save_as=tmp_path / "saved.xlsx")
    audit = audit_book(tmp_path / "saved.xlsx", "core")
    assert audit.findings == demo.findings
    assert (audit.cells, audit.lines) == (demo.cells, demo.lines)
    assert [(a.cell, a.input, a.origin) for a in audit.assumptions] == [
        (a.cell, a.input, a.origin) for a in demo.assumptions
    ]


def test_the_empty_template_has_nothing_to_find() -> None:
    assert audit_book(WORKBOOKS / "quote_template.xlsx", "core").findings == []


def _column(sheet: Any, heading: str) -> str:
    for row in sheet.iter_rows(max_row=14):
        for cell in row:
            if isinstance(cell.value, str) and heading in cell.value:
                return str(cell.column_letter)
    raise AssertionError(heading)


def spoiled(tmp_path: Path, **cells: Any) -> Audit:
    """The demo with other values in some cells (``Quote_L14``), calculated and audited."""
    book = openpyxl.load_workbook(DEMO)
    for where, value in cells.items():
        sheet, _, cell = where.rpartition("_")
        book[sheet][cell] = value
    return audit_book(stored(book, tmp_path / "spoiled.xlsx"), "core")


@pytest.mark.parametrize(
    ("cell", "typed", "says"),
    [
        # 68,519.50 + 4,796.37 = 73,315.87; 45,000 / 73,315.87 - 1 = -38.6 %
        ("Quote_L14", 45_000.0, "Subtotal + Tax gives 73315.87, so it reads 38.6 % too low"),
        ("Quote_L13", 1.0, "Tax 1 is typed where a calculation belongs"),
        ("Quote_L12", 60_000.0, "Subtotal 60000 is typed"),
        ("Checks_D29", "pass", "'pass' is typed where the workbook checks 'Total = sum"),
        # 34 lb/ft3: 40 makes the hopper 34 / 40 - 1 = 15 % too small
        ("Sizing_K15", 40.0, "15 % too small"),
        ("Sizing_S15", 12.0, "23.5 % too low"),  # 100 x 4 / 25.5 = 15.686; 12 / 15.686 = 0.765
        ("Sizing_AR15", 10.0, "37.5 % too low"),  # 10 / 16
    ],
)
def test_a_result_typed_over_is_an_error(cell: str, typed: Any, says: str, tmp_path: Path) -> None:
    audit = spoiled(tmp_path, **{cell: typed})
    found = [f for f in audit.findings if f.kind == "typed over"]
    sheet, _, address = cell.rpartition("_")
    assert [(f.sheet, f.cell, f.severity) for f in found] == [(sheet, address, "error")]
    assert says in found[0].message
    # The book's own failing check is named with its cause.
    assert not [f for f in audit.findings if f.kind == "own check" and f.severity == "error"]
    if sheet == "Quote":
        assert "own check fails too (Checks!D29)" in " ".join(f.message for f in audit.findings)
    if address == "AR15":  # the rule 'next size up', a formula, excuses nothing
        (short,) = [f for f in audit.findings if (f.kind, f.cell) == ("undersized", "AR15")]
        assert short.severity == "error" and "36.2 %" in short.message  # 10 / 15.686


def test_what_moved_begins_with_the_line_and_names_are_names(tmp_path: Path) -> None:
    """Density 34 -> 33 lb/ft3: 100 x 4 / 24.75 = 16.16 ft3, 1 % more than the chosen 16 ft3."""
    from hoppersheet.audit.versions import compare

    book = openpyxl.load_workbook(DEMO)
    book["Sizing"]["G15"], book["Quote"]["L14"] = 33.0, 45_000.0
    found = compare(DEMO, stored(book, tmp_path / "new.xlsx"), "core")
    (line,) = found.lines
    assert line.message.startswith("'Press 1, housing' in Sizing!S15: required volume 15.69 ft3")
    assert "16.16 ft3 (+3.03 %)" in line.message
    assert "size and price unchanged; now 1 % short: " in line.message
    assert line.because_of == ("Sizing!G15",)
    (total,) = [cause for cause in found.causes if cause.main]
    assert total.message.startswith(
        "Total in Quote!L14: 73315.87 (formula) -> 45000 (typed), -38.6 %"
    )
    assert max(len(change.name) for change in found.changes) < 80


@pytest.mark.parametrize(
    ("cell", "typed", "says"),
    [
        # the others have 0 to 5 %; 1 - 0.8 = 20 %
        ("Sizing_BB19", 0.8, "discount of 80 % is far above the others, where it is at most 5 %"),
        # resin table: PC 3 to 8 h; 3 / 2 - 1 = 50 %
        (
            "Sizing_Q15",
            2.0,
            "shorter than the resin table's 3; with these Sizing!S15 would be 50 %",
        ),
        # 10 ft3 4150, 25 ft3 7120: 4150 x (7120 / 4150) ^ (ln 1.6 / ln 2.5) = 5474;
        # 4480 / 5474 - 1 = -18.2 %
        ("Catalog_G17", 4480.0, "18.2 % below what the sizes beside it say, about 5474"),
    ],
)
def test_an_oversight_is_a_warning(cell: str, typed: Any, says: str, tmp_path: Path) -> None:
    audit = spoiled(tmp_path, **{cell: typed})
    (found,) = [f for f in audit.findings if f.kind == "outside typical range"]
    sheet, _, address = cell.rpartition("_")
    assert (found.severity, found.sheet, found.cell) == ("warning", sheet, address)
    assert says in found.message
    # The book's own check on drying times warns, and the audit repeats it.
    warned = [f.message for f in audit.findings if f.kind == "own check" and f.severity != "note"]
    assert len(warned) == (address == "Q15") and all("the resin may stay wet" in w for w in warned)


@pytest.mark.calc
def test_four_faults_in_the_demo_are_exactly_four_cells(demo: Audit, tmp_path: Path) -> None:
    """One density typed over, one formula changed, one price edited, one stored value falsified."""
    from hoppersheet.workbook.compute import compute

    book = openpyxl.load_workbook(DEMO)
    sheet = book["Sizing"]
    blend = _column(sheet, "Blend density")
    required = _column(sheet, "Required volume")
    rows = sorted(line.place[1] for line in demo.context.lines if line.place[0] == "Sizing")
    price = next(
        c.coordinate
        for c in sheet[rows[3]]
        if isinstance(c.value, str) and "CATALOG_ENTRY" in c.value and "catalog_prices" in c.value
        and "List price" in str(demo.context.labels.heading(("Sizing", c.row, c.column)))
    )  # fmt: skip
    sheet[f"{blend}{rows[1]}"] = 40.0
    sheet[f"{required}{rows[2]}"] = sheet[f"{required}{rows[2]}"].value + "*1.02"
    sheet[price] = 4321.0
    book.save(tmp_path / "spoiled.xlsx")
    compute(tmp_path / "spoiled.xlsx", tmp_path / "computed.xlsx", engine="calc")
    falsified = f"{required}{rows[4]}"
    set_stored(tmp_path / "computed.xlsx", "Sizing", falsified, 1.0)
    audit = audit_book(tmp_path / "computed.xlsx", "calc")
    declared = {(f.sheet, f.cell) for f in demo.findings}
    # Two of the four contradict plain arithmetic, which the book's own check says too.
    assert "own check fails too (Checks!" in " ".join(f.message for f in audit.findings)
    new = {(f.sheet, f.cell) for f in audit.findings} - declared
    # No reason for a size, which every line has, excuses any of them.
    assert {f.severity for f in audit.findings if (f.sheet, f.cell) in new} == {"error"}
    assert new == {
        ("Sizing", f"{blend}{rows[1]}"), ("Sizing", f"{required}{rows[2]}"),
        ("Sizing", price), ("Sizing", falsified),
    }  # fmt: skip


def test_five_thousand_sizing_cells_with_progress(tmp_path: Path) -> None:
    """900 lines with six calls each; the clock is generous, CI machines are slow."""
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
    began = time.monotonic()
    audit = audit_book(path, "core", lambda what, done, total: told.append((what, done, total)))
    assert time.monotonic() - began < 60
    assert (audit.cells, audit.lines) == (6 * lines, lines)
    assert len(audit.assumptions) >= 6 * lines
    assert ("weighing assumptions", lines, lines) in told
    assert [f for f in audit.findings if f.severity == "error"] == []
