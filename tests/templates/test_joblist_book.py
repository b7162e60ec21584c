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

DEMO = Path(__file__).parents[2] / "workbooks" / "demo_jobs_to_mend.csv"
CATALOG = "A3:D63"
FIRST_COLUMN = 7  # of the list: the answers stand to the left of it


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
            sheet.cell(top + down, FIRST_COLUMN + across).value = value


def values(sheet: Any, cells: str) -> list[list[Any]]:
    return [[cell.value for cell in row] for row in sheet[cells]]


def compute(path: Path, office: Office) -> tuple[Any, dict[str, dict[str, Any]]]:
    return openpyxl.load_workbook(path), office.compute(path)


def assert_results(
    book: Any, cells: dict[str, dict[str, Any]], units: str, basis: str, rows: int
) -> list[list[Any]]:
    """Every computed cell of *Jobs* and *Sized*, against the core; the table."""
    area = joblist.list_range(rows).partition("!")[2].replace("$", "")
    listed = values(book["Jobs"], area)
    sizes = values(book["Catalog"], CATALOG)
    table: list[list[Any]] = call("HOPPER_SIZE_JOBS", listed, sizes, basis, units)
    assert len(table) == 1 + rows
    at = {name.partition(" [")[0]: i for i, name in enumerate(table[0])}
    for down, row in enumerate(table):
        shown = [cells["Sized"][f"{letter}{4 + down}"] for letter in "ABCDEFGHIJKL"]
        assert shown == row, row[0]
        beside = [cells["Jobs"][f"{letter}{4 + down}"] for letter in "ABCD"]
        names = ("model", "required volume", "next size", "hours at next size")
        assert beside == [row[at[name]] for name in names], row[0]
        if down:
            look = row[at["problem"]] or row[at["check"]] or row[at["assumed"]]
            assert cells["Jobs"][f"E{4 + down}"] == look
    return table


@pytest.mark.calc
def test_a_pasted_list_is_sized_beside_each_job(tmp_path: Path, office: Office) -> None:
    path = tmp_path / "jobs.xlsx"
    book = joblist.build(rows=40)
    rows = demo_rows()
    write(book["Jobs"], 4, rows)  # headings included, in the list's own order
    # A column to the right of all prepared ones is read like any other.
    book["Jobs"].cell(4, FIRST_COLUMN + 14).value = "plant"
    save_workbook(book, path)
    book, cells = compute(path, office)
    table = assert_results(book, cells, "as the list says", "not stated", 40)
    problems = sum(bool(row[-1]) for row in table[1:])
    sized = len(rows) - 1 - problems - 1  # the heading; the total, which is no job
    assert cells["Jobs"]["G1"] == f"check: {sized} jobs sized, {problems} with a problem"
    assert sized >= 2 and problems >= 3
    assert cells["Jobs"]["G2"].startswith(
        "How it was read: not read: press, note, plant; not seen: number formats, merged or "
        "crossed-out cells, comments; job ="
    )


@pytest.mark.calc
def test_typed_jobs_units_basis_and_what_is_not_read(tmp_path: Path, office: Office) -> None:
    path = tmp_path / "jobs.xlsx"
    book = joblist.build(rows=10)
    jobs = book["Jobs"]
    typed = [
        # job, resin, virgin, regrind, basis, densities, throughput, hours, reserve
        ["A", "X", 0.5, 0.5, None, 48, 25, 100, 4, None],
        [],
        ["B", "X", None, None, None, "0.55 g/cm3", None, "45 kg/h", 4, 0.1],
        ["C", "X", 0.5, 0.4, "mass", 48, 25, 100, 4, None],
    ]
    write(jobs, joblist.FIRST_JOB, typed)
    jobs["C2"], jobs["E2"] = "metric", "mass"
    jobs["G15"] = "one job more than there are rows"
    jobs.cell(5, FIRST_COLUMN + joblist.LIST_COLUMNS).value = "too far to the right"
    save_workbook(book, path)
    book, cells = compute(path, office)
    assert_results(book, cells, "metric", "mass", 10)
    # Arithmetic: the heading says lb/ft3 and lb/h; by mass half and half of 48 and 25 is 32.877;
    # 4 h x 100 lb/h / 32.877 lb/ft3 is 12.167 ft3, which is 344.5 L.
    assert cells["Jobs"]["B4"] == "required volume [L]"
    assert cells["Jobs"]["B5"] == pytest.approx(344.52, abs=0.01)
    assert cells["Jobs"]["B6"] == ""
    # 45 kg/h x 4 h / 0.55 kg/L with 10 % more is 360 L.
    assert cells["Jobs"]["B7"] == pytest.approx(360.0, rel=1e-9)
    assert "sum to 90" in cells["Jobs"]["E8"]
    assert cells["Jobs"]["G1"] == (
        "check: 2 jobs sized, 1 with a problem; what stands below row 14 is NOT read: insert rows "
        "above it, see About; the columns from AU on are NOT read: move them to the left"
    )


@pytest.mark.calc
def test_a_list_that_leaves_a_question_asks_it(tmp_path: Path, office: Office) -> None:
    path = tmp_path / "jobs.xlsx"
    book = joblist.build(rows=5)
    metric = [["job", "throughput", "drying hours", "bulk density [kg/L]", *[None] * 8]]
    write(book["Jobs"], 4, [*metric, ["A", 45, 4, 0.61]])
    save_workbook(book, path)
    cells = office.compute(path)
    assert cells["Jobs"]["B5"] == "#VALUE!"
    assert "is 'throughput' in kg/h or lb/h?" in cells["Jobs"]["E5"]
    book = joblist.build(rows=5)
    write(book["Jobs"], 4, [["job", "resin", "plant", *[None] * 9], ["A", "PC", 4]])
    save_workbook(book, path)
    cells = office.compute(path)
    assert cells["Jobs"]["G1"].startswith("check: the list cannot be read. HOPPER_SIZE_JOBS:")
    assert "no column 'throughput'" in cells["Jobs"]["G1"]


def test_the_command_line_reads_the_same_workbook(tmp_path: Path) -> None:
    from hoppersheet.tables.joblist import open_jobs

    path = tmp_path / "jobs.xlsx"
    book = joblist.build(rows=5)
    write(book["Jobs"], 5, [["A", "PC", None, None, None, 38, None, 220, 3.5]])
    save_workbook(book, path)
    (jobs,) = open_jobs(str(path))
    assert jobs.heading_row == 4
    assert jobs.headings[13] == "throughput [lb/h]"
    assert jobs.reading.columns["throughput"].at == 13
    jobs.close()
