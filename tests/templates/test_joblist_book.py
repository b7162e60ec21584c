"""The job list workbook: filled as a user would, computed by a real Calc, compared with the core.

The core's own figures are checked elsewhere; here the workbook must show exactly them, beside the
right job.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet.call import call
from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import joblist
from hoppersheet.templates.saving import save_workbook

DEMO = Path(__file__).parents[2] / "workbooks" / "demo_jobs.csv"
HEADINGS, CATALOG = "A4:L4", "A3:D63"


def demo_rows() -> list[list[Any]]:
    """Headings and rows of the invented demo list, numbers as numbers."""
    with DEMO.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))[1:]

    def cell(text: str) -> Any:
        try:
            return float(text)
        except ValueError:
            return text or None

    return [[cell(text) for text in row] for row in rows]


def write(sheet: Any, top: int, rows: list[list[Any]]) -> None:
    for down, row in enumerate(rows):
        for across, value in enumerate(row):
            sheet.cell(top + down, 1 + across).value = value


def values(sheet: Any, cells: str) -> list[list[Any]]:
    return [[cell.value for cell in row] for row in sheet[cells]]


def compute(path: Path, office: Office) -> tuple[Any, dict[str, dict[str, Any]]]:
    return openpyxl.load_workbook(path), office.compute(path)


def expected_table(book: Any, system: str, basis: str) -> list[list[Any]]:
    last = joblist.FIRST_JOB + joblist.JOB_ROWS - 1
    table: list[list[Any]] = call(
        "HOPPER_SIZE_JOBS",
        values(book["Jobs"], f"A4:L{last}"),
        values(book["Catalog"], CATALOG),
        basis,
        system,
    )
    return table


def assert_results(book: Any, cells: dict[str, dict[str, Any]], system: str, basis: str) -> None:
    """Every computed cell of *Jobs* and *Sized*, against the core."""
    table = expected_table(book, system, basis)
    assert len(table) == 1 + joblist.JOB_ROWS
    for down, row in enumerate(table):
        shown = [cells["Sized"][f"{letter}{4 + down}"] for letter in "ABCDEFGHIJ"]
        beside = [cells["Jobs"][f"{letter}{4 + down}"] for letter in "NOPQRSTUV"]
        assert shown == row, row[0]
        assert beside == row[1:], row[0]
    # 9 results in 301 rows and the line at the top; 10 columns in 301 rows: nothing else computes.
    assert len(cells["Jobs"]) == 9 * 301 + 1
    assert len(cells["Sized"]) == 10 * 301


@pytest.mark.calc
@pytest.mark.parametrize("system", ["US", "metric"])
def test_a_pasted_list_is_sized_beside_each_job(
    system: str, tmp_path: Path, office: Office
) -> None:
    path = tmp_path / "jobs.xlsx"
    book = joblist.build(system)
    rows = demo_rows()
    write(book["Jobs"], 4, rows)  # headings included, in the list's own order
    save_workbook(book, path)
    book, cells = compute(path, office)
    assert_results(book, cells, system, "not stated")
    problems = sum(bool(cells["Jobs"][f"V{5 + i}"]) for i in range(len(rows) - 1))
    sized = len(rows) - 1 - problems
    assert cells["Jobs"]["C1"] == f"check: {sized} jobs sized, {problems} with a problem"
    # The plain numbers of the demo list are US ones: read as metric, most are refused.
    assert sized >= 3 and problems >= 1


@pytest.mark.calc
def test_typed_jobs_unit_switch_and_basis(tmp_path: Path, office: Office) -> None:
    path = tmp_path / "jobs.xlsx"
    book = joblist.build()
    jobs = book["Jobs"]
    typed = [
        # job, resin, virgin, regrind, basis, densities, throughput, hours, reserve
        ["A", "X", 0.5, 0.5, None, 48, 25, 100, 4, None],
        [],
        ["B", "X", None, None, None, "0.55 g/cm3", None, "45 kg/h", 4, 0.1],
        ["C", "X", 0.5, 0.4, "mass", 48, 25, 100, 4, None],
    ]
    write(jobs, joblist.FIRST_JOB, typed)
    jobs["B2"], jobs["G2"] = "metric", "mass"
    jobs["A305"] = "one job more than there are rows"
    save_workbook(book, path)
    book, cells = compute(path, office)
    assert_results(book, cells, "metric", "mass")
    # Arithmetic: the heading says lb/ft3 and lb/h; by mass half and half of 48 and 25 is 32.877;
    # 4 h x 100 lb/h / 32.877 lb/ft3 is 17.647 ft3, which is 499.7 L.
    assert cells["Jobs"]["O4"] == "required volume [L]"
    assert cells["Jobs"]["O5"] == pytest.approx(344.52, abs=0.01)
    assert cells["Jobs"]["O6"] == ""
    # 45 kg/h x 4 h / 0.55 kg/L with 10 % more is 360 L.
    assert cells["Jobs"]["O7"] == pytest.approx(360.0, rel=1e-9)
    assert "sum to 0.9" in cells["Jobs"]["V8"]
    assert cells["Jobs"]["C1"] == (
        "check: 2 jobs sized, 1 with a problem; what stands below row 304 is NOT read: insert "
        "rows above it, see About"
    )


@pytest.mark.calc
def test_a_list_without_a_needed_heading_says_why(tmp_path: Path, office: Office) -> None:
    path = tmp_path / "jobs.xlsx"
    book = joblist.build()
    write(book["Jobs"], 4, [["job", "resin", "hours", None, None, None, None, None, None, None]])
    save_workbook(book, path)
    cells = office.compute(path)
    assert cells["Jobs"]["C1"].startswith("check: the list cannot be read. HOPPER_SIZE_JOBS:")
    assert "throughput" in cells["Jobs"]["C1"]
    assert cells["Jobs"]["O5"] == "#VALUE!"


def test_the_command_line_reads_the_same_workbook(tmp_path: Path) -> None:
    from hoppersheet.tables.joblist import open_jobs

    path = tmp_path / "jobs.xlsx"
    save_workbook(joblist.build(), path)
    jobs = open_jobs(str(path))
    assert jobs.heading_row == 4
    assert jobs.headings[7] == "throughput [lb/h]"
    jobs.close()
