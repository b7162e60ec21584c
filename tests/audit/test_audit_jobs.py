"""Job lists sized by one HOPPER_SIZE_JOBS: each row is examined, each finding names its cell.

The numbers in the expected messages are plain arithmetic, shown beside each; the judgments (what
counts as unusual, as oversized) are common practice, no source.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.table import Table

from audit.audit_books import set_stored
from audit.audit_job_lists import FORMULA, LAST, LINES, SIZES, bulk_book, saved
from hoppersheet.audit import Audit, audit_book
from hoppersheet.audit.versions import compare
from hoppersheet.cli import cli


def audited(book: Any, folder: Path) -> Audit:
    return audit_book(saved(book, folder / "bulk.xlsx"), "core")


def found_in(audit: Audit) -> set[tuple[str, str]]:
    return {(found.kind, f"{found.sheet}!{found.cell}") for found in audit.findings}


def test_a_clean_list_gives_no_finding_and_a_line_per_job(tmp_path: Path) -> None:
    audit = audited(bulk_book(), tmp_path)
    assert audit.findings == []
    assert (audit.cells, audit.lines, audit.never_calculated) == (1, LINES, 0)


FAULTS: dict[str, tuple[dict[str, Any], set[tuple[str, str]], str]] = {
    "clock time": (
        {"D5": 0.1667},
        {("error value", "Bulk!D5")},
        "'J2' has no size, #NUM! (shown in Sized!F3): drying hours",
    ),
    "blank throughput": (
        {"C5": None}, {("error value", "Bulk!C5")}, "'J2' has no size, #VALUE!"
    ),
    # 4 h x 200 lb/h / 28 lb/ft3 = 28.57 ft3 > 20: two hoppers
    "too large": (
        {"C5": 200}, {("error value", "Bulk!A5")}, "larger than the largest catalog size 20 ft3"
    ),
    "shares": ({"F6": 0.4}, {("shares", "Bulk!E6")}, "the shares 50 %, 40 % sum to 90 %"),
    # by mass 1 / (0.5/36 + 0.5/20) = 25.71: 28 / 25.71 - 1 = 8.89 %
    "no basis": ({"G6": None}, {("basis not stated", "Bulk!G6")}, "8.89 % larger"),
    # half of 36 is 18: 27; 16.2 gives 26.1, 27 / 26.1 - 1 = 3.45 %
    "no regrind density": (
        {"I6": None, "B6": "Blend X"},  # a resin that the table does not know
        {("estimated density", "Bulk!I6")},
        "18 lb/ft3 was taken (half of virgin",
    ),
    # 36 -> 32.4: 28 / 26.2 - 1 = 6.87 %; a chosen 14 ft3 against 11.43
    "estimated, says the list": (
        {"J6": "estimated"},
        {("estimated density", "Bulk!H6"), ("estimated density", "Bulk!I6")},
        "Sized!C4 (job 'J3' in Bulk!A6) needs 6.87 % more volume",
    ),
    # 4 h x 90 lb/h / 41 = 8.780 ft3; at 950 kg/m3 = 59.31 lb/ft3: 39.65, 3.3 % more
    "unusual": (
        {"H7": 62}, {("outside typical range", "Bulk!H7")}, "virgin density of the job 'J4' 62"
    ),
    # 4 h x 20 lb/h / 28 = 2.857 ft3, the smallest size holds 8: 180 % more
    "oversized": ({"C8": 20}, {("oversized", "Sized!F6")}, "(job 'J5' in Bulk!A8)"),
    "text for a number": ({"C8": "many"}, {("error value", "Bulk!C8")}, "'many'"),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_in_a_row_is_found_in_its_cell(name: str, tmp_path: Path) -> None:
    cells, expected, says = FAULTS[name]
    book = bulk_book()
    for cell, value in cells.items():
        book["Bulk"][cell] = value
    audit = audited(book, tmp_path)
    assert found_in(audit) == expected
    assert says in " ".join(found.message for found in audit.findings)


def test_a_size_chosen_beside_the_results_is_compared(tmp_path: Path) -> None:
    book = bulk_book()
    book["Sized"]["L1"], book["Sized"]["L2"] = "Chosen size [ft3]", 8
    audit = audited(book, tmp_path)
    assert found_in(audit) == {("undersized", "Sized!L2")}
    # 8 / 8.571 - 1 = -6.67 %, 4 h x 8 / 8.571 = 3.73 h
    assert "6.67 % too small" in audit.findings[0].message
    assert "3.73 h of the 4 h" in audit.findings[0].message


def test_a_value_typed_or_a_formula_put_into_the_filled_range(tmp_path: Path) -> None:
    path = saved(bulk_book(), tmp_path / "bulk.xlsx")
    set_stored(path, "Sized", "F4", 10.0)
    (found,) = audit_book(path, "core").findings
    assert (found.kind, found.cell, found.expected) == ("stale value", "F4", 12.0)
    assert "typed over inside the range that A1 fills" in found.message
    book = openpyxl.load_workbook(path)
    book["Sized"]["C4"] = "=Bulk!C6*2"
    book.save(path)
    assert ("odd formula", "Sized!C4") in found_in(audit_book(path, "core"))


@pytest.mark.parametrize("reference", ["A1:J4", ""])
def test_jobs_that_no_cell_shows(reference: str, tmp_path: Path) -> None:
    book = bulk_book()
    del book["Sized"]
    book.create_sheet("Sized")["A1"] = ArrayFormula(reference, FORMULA) if reference else FORMULA
    book.save(tmp_path / "short.xlsx")
    (found,) = audit_book(tmp_path / "short.xlsx", "core").findings
    assert (found.kind, found.cell) == ("total skips lines", "A1")
    hidden = "2 jobs are not shown, the first 'J4' in Bulk!A7" if reference else "5 jobs are not"
    assert hidden in found.message


def test_the_register_has_each_job_with_its_inputs(tmp_path: Path) -> None:
    book = bulk_book()
    book["Bulk"]["G5"] = book["Bulk"]["I6"] = None
    book["Bulk"]["B6"] = "Blend X"  # a resin that the table does not know
    audit = audited(book, tmp_path)
    lines = {a.line: {b.input: b for b in audit.assumptions if b.line == a.line}
             for a in audit.assumptions}  # fmt: skip
    assert set(lines) == {f"J{line + 1}" for line in range(LINES)}
    rate = lines["J1"]["Throughput"]
    assert (rate.sheet, rate.cell, rate.unit, rate.line_cell) == ("Bulk", "C4", "lb/h", "C2")
    # 10 ft3 x 28 lb/ft3 / 4 h = 70 lb/h
    assert rate.holds_until == pytest.approx(70.0, rel=1e-9)
    assert lines["J1"]["Virgin density"].origin == "measured"
    basis, regrind = lines["J2"]["share basis"], lines["J3"]["regrind density"]
    assert (basis.cell, basis.origin) == ("G5", "default taken")
    assert (regrind.cell, regrind.origin) == ("I6", "estimated by rule")
    # 18 -> 19.8: 27 / 27.9 - 1 = -3.23 %
    assert regrind.swing_percent == pytest.approx((27 / 27.9 - 1) * 100, abs=1e-5)


def test_a_list_that_is_a_table_of_the_sheet(tmp_path: Path) -> None:
    book = bulk_book()
    book["Bulk"].add_table(Table(displayName="Jobs", ref=f"A3:J{LAST}"))
    book["Sized"]["A1"] = ArrayFormula(
        f"A1:J{LINES + 1}", f"=HOPPER_SIZE_JOBS(Jobs[#All],Hoppers!A1:C{len(SIZES) + 1})"
    )
    book["Bulk"]["D5"] = 0.1667
    assert found_in(audited(book, tmp_path)) == {("error value", "Bulk!D5")}


def test_what_moved_a_job_between_two_versions(tmp_path: Path) -> None:
    old = saved(bulk_book(), tmp_path / "old.xlsx")
    book = bulk_book()
    book["Bulk"]["D5"], book["Hoppers"]["A4"] = 5, 13
    found = compare(old, saved(book, tmp_path / "new.xlsx"), "core")
    assert {(c.kind, c.cell) for c in found.changes if c.kind != "result"} == {
        ("input", "D5"), ("input", "A4"),
    }  # fmt: skip
    said = {cause.cell: cause.message for cause in found.causes}
    # 5 h x 70 lb/h / 28 = 12.5 ft3; J3 needs 11.43 ft3 and gets 13 instead of 12
    assert "'J2'" in said["C3"] and "from 10 to 12.5" in said["C3"]
    assert "Drying hours (Bulk!D5) from 4 to 5 alone does it" in said["C3"]
    assert "Size (Hoppers!A4) from 12 to 13 alone does it" in said["F4"]


def test_a_list_written_with_formulas_is_examined_whole(tmp_path: Path) -> None:
    """A third component, percentages as text, a too large number, the hopper that stands there."""
    jobs, book = tmp_path / "jobs.csv", tmp_path / "jobs.xlsx"
    jobs.write_text(
        "Job,kg/h,Dry h,Virgin kg/L,Regrind %,Regrind kg/L,Masterbatch %,Masterbatch density kg/L,"
        "Share basis,Lot,Note,Old hopper L\nTray,60,4,0.65,30 %,0.4,4 %,0.9,volume,2,1e400,200\n"
    )
    options = ["size", str(jobs), "--out", str(book), "--formulas"]
    assert CliRunner().invoke(cli, options).exit_code == 0
    audit = audit_book(book, "core")
    assert {found.kind for found in audit.findings} <= {"oversized"}
    assert (audit.lines, audit.status) == (1, 0)
    # 0.66 x 0.65 + 0.3 x 0.4 + 0.04 x 0.9 = 0.585 kg/L; 20 ft3 = 566.3 L x 0.585 / 60 kg/h = 5.52 h
    (line,) = audit.context.worked if audit.context else []
    assert line.asked == 4 * 3600 and line.held == pytest.approx(5.5217 * 3600, rel=1e-4)
