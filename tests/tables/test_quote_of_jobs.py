"""``template quote --jobs LIST``: jobs become lines of the quote workbook, read as ``size`` does.

Densities of the examples are invented. Expected volumes: rate x hours / density is an identity;
shares by mass blend as 1 / sum(share / density), which is conservation of mass and volume.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import openpyxl
import pytest

import hoppersheet
from hoppersheet.templates.quote.line_checks import SIZING

LIST = """\
Job,Part,Tool,Machine,Resin,Rate (lb/h),Dry hrs,Bulk density (lb/ft3),Regrind %,\
Regrind density (lb/ft3),Basis,Qty,Hopper
Bezel,P-100,T12,Press 1,ABS,220,3.5,38,25,24,mass,2,H2
Cover,P-101,T13,Press 2,ABS,100,3.5,38,25,24,mass,,H2
Lens,P-102,T14,Press 3,PMMA,45,4,41,0,,,1,H9
Duct,P-103,T15,Press 3,ABS,75,3,,100,27,,1,A
Duct 2,P-104,T16,Press 3,ABS,75,3,,100,,,1,A
"""


def quote(*words: str) -> subprocess.CompletedProcess[str]:
    """Run the command; a book with few rows is made sooner."""
    command = [sys.executable, "-m", "hoppersheet", "template", "quote", "--rows", "1", *words]
    return subprocess.run(command, capture_output=True, text=True)


def lines(path: Path, *keys: str) -> list[list[Any]]:
    """The cells of Sizing's lines."""
    sheet = openpyxl.load_workbook(path, data_only=True)["Sizing"]
    rows = range(SIZING.first_row, SIZING.first_row + 12)
    found = [[sheet[SIZING.cell(key, row)].value for key in ("job", *keys)] for row in rows]
    return [cells for cells in found if cells[0] is not None]


def test_what_else_the_list_says_comes_along(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "quote.xlsx"
    jobs.write_text(LIST)
    done = quote("--jobs", str(jobs), "--out", str(out))
    assert done.returncode == 0, done.stderr
    assert "'Qty' taken for the number of hoppers" in done.stdout
    found = lines(out, "quantity", "shared", "turn", "note")
    assert [row[:4] for row in found] == [
        ["Bezel", 2, "H2", "at once"],  # on two presses, same resin: they can run together
        ["Cover", None, "H2", "at once"],
        ["Lens", 1, None, None],
        ["Duct", 1, "H1", "in turn"],  # one machine runs one job after the other
        ["Duct 2", 1, "H1", "in turn"],
    ]
    assert "rows 2, 3 share one hopper" in found[0][4] and "quantity 2" in found[0][4]
    assert "Part: P-102; Tool: T14; Machine: Press 3; Hopper: H9" in found[2][4]


def test_the_quote_needs_what_size_says(tmp_path: Path) -> None:
    jobs, out, computed = (tmp_path / name for name in ("jobs.csv", "quote.xlsx", "computed.xlsx"))
    jobs.write_text(LIST)
    assert quote("--jobs", str(jobs), "--out", str(out)).returncode == 0
    hoppersheet.compute(out, computed, engine="core")
    found = lines(computed, "needs", "virgin_used", "ground_used", "ground_is", "hopper_needs")
    blend = 1 / (0.75 / 38 + 0.25 / 24)
    assert [row[1] for row in found[:4]] == pytest.approx(
        [220 * 3.5 / blend, 100 * 3.5 / blend, 45 * 4 / 41, 75 * 3 / 27]
    )
    assert found[0][5] == pytest.approx(320 * 3.5 / blend)  # at once: the rates add up
    # All regrind: no virgin density at all, and the regrind's own origin.
    assert found[3][2:5] in ([None, 27, "not stated"], ["", 27, "not stated"])
    assert found[4][2] in (None, "") and found[4][4] == "table"
    assert found[3][5] == found[4][5] == max(found[3][1], found[4][1])


def test_a_count_of_parts_is_no_count_of_hoppers(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "quote.xlsx"
    jobs.write_text(
        "Job,Throughput (kg/h),Drying hours,Bulk density (kg/L),Qty,Hopper\n"
        "A,45,4,0.62,25000,new\nB,80,4,0.62,2,new\n"
    )
    done = quote("--jobs", str(jobs), "--out", str(out))
    assert done.returncode == 0 and "'Qty' is not taken for a number of hoppers" in done.stdout
    found = lines(out, "quantity", "shared", "note")
    assert [row[1:3] for row in found] == [[None, None], [None, None]]
    assert "Qty: 25000; Hopper: new" in found[0][3]


def test_different_resins_share_in_turn_and_jobs_name_each_other(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "quote.xlsx"
    jobs.write_text(
        "Job;Resin;Throughput (kg/h);Drying hours;Bulk density (kg/L);Shares hopper with\n"
        "A;ABS;45,5;4;0,62;\nB;PC;80;4;0,68;A\nC;ABS;20;4;0,62;\n"
    )
    assert quote("--jobs", str(jobs), "--out", str(out)).returncode == 0
    assert lines(out, "shared", "turn") == [
        ["A", "H1", "in turn"], ["B", "H1", "in turn"], ["C", None, None],
    ]  # fmt: skip


def test_the_options_are_those_of_size(tmp_path: Path) -> None:
    jobs, out, asked = (tmp_path / name for name in ("jobs.csv", "quote.xlsx", "asked.xlsx"))
    jobs.write_text(
        "Job,Output,Hours,Bulk density (kg/L),color %\nA,45 kg/h,4,0.62,3\nB,many,4,0.62,3\n"
    )
    assert quote("--jobs", str(jobs), "--out", str(out)).returncode == 2
    named = ["--column", "drying hours=Hours", "--ignore", "color %"]
    size = [sys.executable, "-m", "hoppersheet", "size", str(jobs), *named, "--fixes", str(asked)]
    assert subprocess.run(size, capture_output=True).returncode == 1
    book = openpyxl.load_workbook(asked)
    next(book.active.iter_rows(min_row=3))[6].value = "110 lb/h"
    book.save(asked)
    words = ["--jobs", str(jobs), "--out", str(out), *named, "--answers", str(asked)]
    done = quote(*words)
    assert done.returncode == 0, done.stderr
    pound = 0.45359237  # kg, NIST SP 811, appendix B.8
    assert lines(out, "stated") == [["A", 45], ["B", pytest.approx(110 * pound)]]
    done = quote("--ignore", "color %", "--out", str(tmp_path / "other.xlsx"))  # and no --jobs
    assert done.returncode == 2 and "--ignore needs --jobs" in done.stderr


def test_all_sheets_become_lines_and_rows_are_chosen_of_one(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.xlsx", tmp_path / "quote.xlsx"
    book = openpyxl.Workbook()
    for title, job in (("Hall 1", "A"), ("Hall 2", "B")):
        sheet = book.active if title == "Hall 1" else book.create_sheet(title)
        sheet.title = title
        sheet.append(["Job", "Throughput (kg/h)", "Drying hours", "Bulk density (kg/L)"])
        sheet.append([job, 45, 4, 0.62])
    book.save(jobs)
    done = quote("--jobs", str(jobs), "--out", str(out), "--force", "--sheet", "all")
    assert done.returncode == 0, done.stderr
    assert [row[1] for row in lines(out, "note")] == [
        f"row 2 of the job list, sheet Hall {n}; assumed: 100 % virgin: the list has no column of "
        "shares"
        for n in (1, 2)
    ]
    words = ("--jobs", str(jobs), "--out", str(out), "--force", "--sheet", "all", "--lines", "2")
    done = quote(*words)
    assert done.returncode == 2 and "rows of one sheet" in done.stderr


def test_more_jobs_than_a_quote_holds_are_named_with_the_way_to_all(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "quote.xlsx"
    rows = "".join(f"J{at},{at + 20},4,38\n" for at in range(450))
    jobs.write_text(f"Job,Throughput (lb/h),Drying hours,Bulk density (lb/ft3)\n{rows}")
    done = quote("--jobs", str(jobs), "--out", str(out))
    assert done.returncode == 2 and not out.exists()
    assert "450 jobs, and a quote workbook holds 200 lines" in done.stderr
    assert "--lines 2-201, --lines 202-401, --lines 402-451" in done.stderr
