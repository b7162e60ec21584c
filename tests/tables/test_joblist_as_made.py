"""Job lists as customers make them: other words, other units, percent signs, totals."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from hoppersheet.commands.size import command
from hoppersheet.tables.job_columns import Question, reason_of
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
    assert one.columns["throughput"] == 1
    assert set(one.columns) == set(PLAIN)


@pytest.mark.parametrize("heading", ["throughput (peak)", "density", "rate of scrap"])
def test_what_is_something_else_passes_through(heading) -> None:
    assert set(sizer(*PLAIN, heading).columns) == set(PLAIN)


def test_a_fraction_under_a_percent_heading_is_asked_about() -> None:
    # A workbook's cell that shows 25 % holds 0.25; taken for 0.25 % the hopper gets too small.
    headings = (*PLAIN, "regrind share [%]", "regrind density")
    with pytest.raises(Question, match=r"is 0\.25 0\.25 % or 25 %"):
        sizer(*headings).size([100, 4, 40, 0.25, 20])
    assert sizer(*headings).size([100, 4, 40, 25, 20]).problem is None


def test_a_thousands_point_in_a_list_with_decimal_commas(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "out.csv"
    rows = ["A;853,3;4;0,65", "B;1.250;4;0,65", "C;125;4;0,65", "D;1.250,5;4;0,65"]
    jobs.write_text("\n".join(["job;throughput [kg/h];drying hours;virgin density [kg/L]", *rows]))
    assert run(str(jobs), "--out", str(out)).returncode == 1  # B and D need more than there is
    found = [float(row["required volume [L]"].replace(",", ".")) for row in rows_of(out)]
    # rate x 4 / 0.65 L: arithmetic identity; 853,3 proves that 1.250 is 1250.
    assert found == pytest.approx([853.3 * 4 / 0.65, 1250 * 4 / 0.65, 769.23077, 1250.5 * 4 / 0.65])
    jobs.write_bytes(jobs.read_bytes().replace(b"\n", b"\r"))  # line ends of old programs
    assert b"decimal comma, proven by '0,65' in row 2" in run(str(jobs)).stdout
    catalog = tmp_path / "catalog.csv"
    for number, text in enumerate(("size [L];model\n500,5;A\n1.000;B\n", "500,5;\n1.000;\n")):
        catalog.write_text(text)  # with headings, and nothing but sizes
        out = tmp_path / f"sized{number}.csv"
        words = [] if number == 0 else ["--units", "metric"]
        run(str(jobs), "--catalog", str(catalog), "--out", str(out), *words)
        # 500,5 proves that 1.000 L is 1000 L, which holds the 769 L of job C.
        assert rows_of(out)[2]["next size [L]"] in ("1000", "1000,0", "1000.0")


def test_a_lone_point_is_refused_until_another_cell_proves_it(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs.csv"
    jobs.write_text("throughput;drying hours;virgin density\n1.250;4;36.5\n")
    assert run(str(jobs)).returncode == 0
    jobs.write_text("throughput;drying hours;virgin density\n1.250;4;36\n")
    done = run(str(jobs))
    assert done.returncode == 1 and b"'1.250' is ambiguous: 1.25 or 1250?" in done.stderr


def test_a_row_of_totals_is_no_job(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "out.csv"
    jobs.write_text("job,throughput,drying hours,virgin density\nA,100,4,36.5\nTotal,100,,\n")
    done = run(str(jobs), "--out", str(out))
    assert done.returncode == 0
    assert b"2 rows: 1 job sized, 0 with a problem, 1 row not a job." in done.stdout
    assert rows_of(out)[1]["check"].startswith("not a job: 'Total'")


def test_every_problem_of_a_row_is_named_at_once() -> None:
    problem = sizer(*PLAIN).size(["100", None, ""]).problem
    assert problem is not None
    assert reason_of(problem).count("the cell is blank") == 2
    assert "virgin density: the cell is blank" in problem.reason


def test_columns_that_are_not_read_are_named() -> None:
    text = "rate [lb/h]\tdrying hours\tvirgin density\tplant\n100\t4\t36.5\tNorth\n"
    said = run("-", stdin=text.encode()).stdout.decode()
    assert "throughput      rate [lb/h]" in said and "lb/h, heading" in said
    assert "not used        plant" in said


@pytest.mark.parametrize(
    ("typed", "said"), [("4-6", "is a range"), ("4 to 6", "is a range"), ("max. 4", "a limit")]
)
def test_hours_as_people_write_them(typed, said) -> None:
    problem = sizer(*PLAIN).size([100, typed, 36.5]).problem
    assert problem is not None and said in problem.reason


def test_a_catalog_without_its_headings_says_which(tmp_path: Path) -> None:
    catalog = tmp_path / "own.csv"
    catalog.write_text("Bins,Name\n10,A\n")
    done = run("-", "--catalog", str(catalog), stdin=b"throughput,drying hours,virgin density\n")
    assert b"no column of sizes among its headings 'Bins', 'Name'" in done.stderr


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_a_sized_list_is_sized_again_from_its_jobs(ending: str, tmp_path: Path) -> None:
    """What an earlier sizing has added is no statement: neither its blend density nor its words."""
    jobs, first = str(tmp_path / "jobs.csv"), str(tmp_path / f"first{ending}")
    Path(jobs).write_text("Job,Resin,Throughput (kg/h),Dry hours\nA,PC,45,4\nB,ABS,50,4\n")
    assert CliRunner().invoke(command, [jobs, "--out", first]).exit_code == 0
    text = Path(first).read_bytes()
    if ending == ".csv":
        Path(first).write_bytes(text.replace(b"A,PC,45", b"A,ABS,45"))
    else:
        book = openpyxl.load_workbook(first)
        book.worksheets[0]["B2"] = "ABS"
        book.save(first)
    again = CliRunner().invoke(command, [first])
    assert again.exit_code == 0, again.output
    assert "blend density [kg/L] to problem (of an earlier sizing)" in again.output
    # ABS 0.62 kg/L in the resin table; PC, whose 0.67 stands in the earlier results, no more
    assert f"{45 * 4 / 0.62:.1f}" in again.output and f"{45 * 4 / 0.67:.1f}" not in again.output
