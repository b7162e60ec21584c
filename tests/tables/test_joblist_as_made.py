"""Job lists as customers make them: other words, other units, percent signs, totals."""

from __future__ import annotations

from pathlib import Path

import pytest

from hoppersheet.tables.job_rows import reason_of
from tables.joblists import FULL, PLAIN, rows_of, run, sizer


def test_other_words_and_units_without_brackets() -> None:
    """What a list says is read whichever way its headings are written."""
    plain = sizer(*FULL).size([75, 25, "mass", "0.64 kg/L", "0.4 kg/L", "45 kg/h", 4, 0.1])
    typed = sizer(
        "virgin %", "% regrind", "Basis", "Bulk density (kg/L)", "regrind density, kg/L",
        "Material rate kg/h", "Dry time [min]", "reserve (%)",
    ).size([75, 25, "mass", 0.64, 0.4, 45, 240, 10])  # fmt: skip
    assert typed.problem is None
    assert typed[:6] == pytest.approx(plain[:6])


def test_a_heading_with_the_name_itself_wins() -> None:
    one = sizer("rate", "throughput", "drying hours", "virgin density", "note: regrind supplier")
    assert one.columns["throughput"].place == 1
    assert set(one.columns) == set(PLAIN)


@pytest.mark.parametrize("heading", ["throughput (peak)", "density", "rate of scrap"])
def test_what_is_something_else_passes_through(heading) -> None:
    assert set(sizer(*PLAIN, heading).columns) == set(PLAIN)


def test_a_fraction_under_a_percent_heading_is_refused() -> None:
    # A workbook's cell that shows 25 % holds 0.25; taken for 0.25 % the hopper gets too small.
    headings = (*PLAIN, "regrind share [%]", "regrind density")
    problem = sizer(*headings).size([100, 4, 40, 0.25, 20]).problem
    assert problem is not None
    assert "ambiguous: 0.25 % or 25 %" in problem.reason
    assert sizer(*headings).size([100, 4, 40, 25, 20]).problem is None


def test_a_thousands_point_in_a_list_with_decimal_commas_is_refused(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "out.csv"
    rows = ["A;853,3;4;0,65", "B;1.250;4;0,65", "C;125;4;0,65", "D;1.250,5;4;0,65"]
    jobs.write_text("\n".join(["job;throughput [kg/h];drying hours;virgin density [kg/L]", *rows]))
    assert run(str(jobs), "--out", str(out)).returncode == 1
    problems = [row["problem"] for row in rows_of(out)]
    assert "'1.250' is ambiguous in a list with decimal commas" in problems[1]
    # 125 x 4 / 0.65 L: arithmetic identity.
    assert float(rows_of(out)[2]["required volume [ft3]"]) * 28.316846592 == pytest.approx(
        769.23077
    )
    assert problems[0] == problems[2] == ""
    catalog = tmp_path / "catalog.csv"
    catalog.write_text("size [L];model\n500,5;A\n1.000;B\n")
    done = run(str(jobs), "--catalog", str(catalog))
    assert done.returncode == 2 and b"in row 3 of the catalog, '1.000' is ambiguous" in done.stderr
    catalog.write_text("500,5\n1.000\n".replace("\n", ";\n"))  # nothing but sizes
    done = run(str(jobs), "--catalog", str(catalog))
    assert done.returncode == 2 and b"in row 2 of the catalog, '1.000' is ambiguous" in done.stderr
    jobs.write_bytes(jobs.read_bytes().replace(b"\n", b"\r"))  # line ends of old programs
    assert b"'1.250' is ambiguous" in run(str(jobs)).stderr


def test_a_lone_point_is_refused_where_thousands_are_possible(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs.csv"
    jobs.write_text("throughput;drying hours;virgin density\n1.250;4;36.500\n")
    done = run(str(jobs))
    assert done.returncode == 1 and b"'1.250' is ambiguous" in done.stdout + done.stderr


def test_a_row_of_totals_is_no_job(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "out.csv"
    jobs.write_text("job,throughput,drying hours,virgin density\nA,100,4,36.5\nTotal,100,,\n")
    done = run(str(jobs), "--out", str(out))
    assert done.returncode == 0
    assert b"1 job: 1 sized, 0 with a problem." in done.stdout
    assert rows_of(out)[1]["assumed"] == "a row of totals: not a job"


def test_every_problem_of_a_row_is_named_at_once() -> None:
    problem = sizer(*PLAIN).size(["100", None, ""]).problem
    assert problem is not None
    assert reason_of(problem).count("the cell is blank") == 2
    assert "virgin density: the cell is blank" in problem.reason


def test_columns_that_are_not_read_are_named() -> None:
    text = "rate [lb/h]\tdrying hours\tvirgin density\tplant\n100\t4\t36.5\tNorth\n"
    said = run("-", stdin=text.encode()).stdout.decode()
    assert "Columns read: throughput ('rate [lb/h]'), drying hours, virgin density." in said
    assert "Passed through unread: 'plant'." in said


@pytest.mark.parametrize(
    ("typed", "said"), [("4-6", "is a range"), ("4 to 6", "is a range"), ("4 1/2", "a fraction")]
)
def test_hours_as_people_write_them(typed, said) -> None:
    problem = sizer(*PLAIN).size([100, typed, 36.5]).problem
    assert problem is not None and said in problem.reason


def test_a_catalog_without_its_headings_says_which(tmp_path: Path) -> None:
    catalog = tmp_path / "own.csv"
    catalog.write_text("Capacity,Name\n10,A\n")
    done = run("-", "--catalog", str(catalog), stdin=b"throughput,drying hours,virgin density\n")
    assert b"needs a heading row: size (or size [L]), model, price" in done.stderr
