"""What a file cannot tell, and what decided how a list is read, stands beside the row it touches.

All invented; volumes are throughput x hours / bulk density, common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.comments import Comment

from hoppersheet import call, explain
from hoppersheet.commands.size import command
from hoppersheet.errors import InputFileError
from hoppersheet.tables.joblist import open_catalog, open_jobs, size_list
from hoppersheet.tables.joblist.answers import read_answers
from hoppersheet.tables.joblist.terminal import by_model, price_of
from tables.messy_books import write_ods, write_xlsb
from tables.messy_lists import by_mass, by_volume, lb
from tables.test_messy_lists import compare, outcome

HEAD = ["Job", "Resin", "Rate (lb/h)", "Dry hours", "Bulk density (lb/ft3)", "Reserve %"]


def test_a_blank_of_a_binary_workbook_may_be_an_error(tmp_path: Path) -> None:
    """An error cell and the second of two merged cells arrive as blanks there."""
    rows = [["A", "PC", 220, 3.5, 40, 10], ["B", "PC", 220, None, 40, None]]
    write_xlsb(tmp_path / "list.xlsb", [HEAD, *rows])
    found, said = outcome(tmp_path / "list.xlsb")
    assert "are blank, or hold" not in found["A"][1]
    assert "'Dry hours' and 'Reserve %' are blank, or hold an error or" in found["B"][1]
    assert ".xlsb files do not say which cells are percentages, errors" in said


SHARES = (
    "Job,Regrind %,Rate lb/h,Dry h,Virgin density lb/ft3,Regrind density lb/ft3\n"
    "A,30,208,3.5,40,28\n"
)


@pytest.mark.parametrize(
    ("above", "liters", "words"),
    [
        ("All blends by weight", lb(208, 3.5, by_mass((0.7, 40), (0.3, 28))), "shares by mass"),
        ("By weight", lb(208, 3.5, by_mass((0.7, 40), (0.3, 28))), "above the list: 'By weight'"),
        ("Parts are sold by weight", lb(208, 3.5, by_volume((0.7, 40), (0.3, 28))), "by volume"),
        ("Freight by volume", lb(208, 3.5, by_volume((0.7, 40), (0.3, 28))), "shares by volume"),
    ],
)
def test_a_line_that_decides_the_basis_marks_its_rows(
    above: str, liters: float, words: str, tmp_path: Path
) -> None:
    """Only a line that speaks of shares decides; 36.4 lb/ft3 by volume, 35.44 by mass."""
    path = tmp_path / "list.csv"
    path.write_text(f"{above},,,,,\n{SHARES}", encoding="utf-8")
    found, said = outcome(path)
    compare(found, {"A": (liters, words)})
    assert ("not stated: by volume" in said) == ("by volume" in words)


def test_a_basis_with_exceptions_is_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text(f"All shares by weight except job B,,,,,\n{SHARES}", encoding="utf-8")
    with pytest.raises(InputFileError, match=r"'All shares by weight except job B'.*'share basis'"):
        outcome(path)


def _book(path: Path) -> bytes:
    write_ods(path, [HEAD])
    return path.read_bytes()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("page.xls", b"<html><body><table><tr><th>Job</th></tr></table></body></html>", "web page"),
        ("text.xls", b"Job\tRate (lb/h)\tDry hours\n", "is text, not a workbook"),
        ("text.xlsx", b"Job\tRate (lb/h)\tDry hours\n", "is text, not a workbook"),
        ("new.xls", None, "give it the ending .xlsx"),
        ("book.csv", None, "is a workbook, not text; give it the ending .xlsx"),
    ],
)
def test_a_wrong_ending_is_said_in_plain_words(
    name: str, content: bytes | None, words: str, tmp_path: Path
) -> None:
    path = tmp_path / name
    path.write_bytes(_book(tmp_path / "any.ods") if content is None else content)
    with pytest.raises(InputFileError) as refused:
        open_jobs(str(path))
    assert words in str(refused.value)


def test_a_file_beside_the_list_that_decides_is_named(tmp_path: Path) -> None:
    """And so is what the options say."""
    path = tmp_path / "list.csv"
    path.write_text(
        "Job,Rate (lb/h),Hours,color %,Grade\nA,220,3.5,2,40 lb/ft3\n", encoding="utf-8"
    )
    beside = tmp_path / "list.csv.columns"
    beside.write_text("drying hours = Hours\nignore = color %\n", encoding="utf-8")
    words = [str(path), "--column", "blend density=Grade"]
    said = " ".join(CliRunner().invoke(command, words).output.split())
    assert f"as the file {beside} says: drying hours = 'Hours', ignore 'color %'" in said
    assert "as the options say: blend density = 'Grade'" in said


@pytest.mark.parametrize(
    ("typed", "price"),
    [
        ("4,200.00", 4200.0),
        ("4.200,00", 4200.0),
        ("4.200", 4200.0),
        ("4,200", 4200.0),
        ("$6,900.00", 6900.0),
        ("5900 EUR", 5900.0),
        ("7640.5", 7640.5),
        ("POA", None),
        ("3 each", None),
    ],
)
def test_a_price_as_people_type_it(typed: str, price: float | None) -> None:
    assert price_of(typed) == price


def test_a_price_that_is_no_number_is_told(tmp_path: Path) -> None:
    catalog = tmp_path / "own.csv"
    catalog.write_text("size [ft3],model,price\n12,EXAMPLE-12,on request\n", encoding="utf-8")
    table, _ = open_catalog(str(catalog), "US", "US")
    assert "'on request', the price of EXAMPLE-12, is no number" in by_model(
        Counter({"EXAMPLE-12": 1}), table, "own.csv"
    )


def test_resins_that_must_never_meet_are_told_in_their_rows(tmp_path: Path) -> None:
    """PVC and POM, as the hazard table has them with its sources; other resins get no word."""
    path = tmp_path / "list.csv"
    rows = [("A", "PVC"), ("B", "ABS"), ("C", "POM black"), ("D", "PVC")]
    lines = "".join(f"{job},{resin},100,3,40\n" for job, resin in rows)
    head = "Job,Resin,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\n"
    path.write_text(head + lines, encoding="utf-8")
    found, _ = outcome(path)
    assert "never in one dryer or hopper with PVC of row 2" in found["C"][1]
    for job in "AD":
        assert "never in one dryer or hopper with POM black of row 4" in found[job][1]
    assert "never in one dryer" not in found["B"][1]


def test_what_the_cells_alone_do_not_show_stands_beside_live_formulas(tmp_path: Path) -> None:
    """One throughput for two jobs, and a comment: in the list, its receipt and the formula book."""
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (HEAD[:5], ["A", "PC", 220, 3.5, 40], ["B", "PC", None, 3.5, 40]):
        sheet.append(row)
    sheet.merge_cells("C2:C3")
    sheet["D2"].comment = Comment("3.5 in summer", "invented")
    jobs, out = str(tmp_path / "list.xlsx"), str(tmp_path / "live.xlsx")
    book.save(jobs)
    found, said = outcome(Path(jobs))
    mark = "one throughput for rows 2 to 3: of each, or of all together?"
    assert all(mark in found[job][1] for job in "AB")
    assert "comments are not read: D2 '3.5 in summer'" in said
    assert CliRunner().invoke(command, [jobs, "--out", out, "--formulas"]).exit_code == 0
    live = openpyxl.load_workbook(out).worksheets[0]
    comment = "'Dry hours' has a comment that is not read: '3.5 in summer'"
    beside = ["also check", f"{mark}; {comment}", mark]
    assert [row[-1] for row in live.iter_rows(values_only=True)] == beside


def test_an_answer_proves_no_decimal_sign(tmp_path: Path) -> None:
    """0.15 typed into the list of questions leaves 1.250 beside 45,5 what it was."""
    path, asked = tmp_path / "list.csv", tmp_path / "asked.xlsx"
    path.write_text(
        "Job;kg/h;Dry h;Bulk density kg/m3;Reserve\nA;45,5;4;600;\nB;1.250;2;600;\nC;50;4;600;x\n"
    )
    CliRunner().invoke(command, [str(path), "--fixes", str(asked)])
    book = openpyxl.load_workbook(asked)
    (row,) = [r for r in book.active.iter_rows() if r[1].value == 4]
    row[6].value = 0.15
    book.save(asked)
    (file,) = open_jobs(str(path), None, read_answers(str(asked)))
    sized = size_list(file, open_catalog(None, "metric", "metric")[0])
    volumes = [job.required_volume for _, _, job in sized.rows]
    # 45.5 x 4 / 600, 1250 x 2 / 600, 50 x 4 / 600 x 1.15
    assert volumes == pytest.approx([0.303333, 4.166667, 0.383333], rel=1e-5)


def test_a_heading_is_one_column(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("Job,Kram,Dry h,Bulk density kg/L\nA,45,4,0.6\n")
    both = [str(path), "--column", "throughput=Kram", "--column", "reserve=Kram"]
    done = CliRunner().invoke(command, both)
    assert done.exit_code == 2 and "'Kram' cannot be both" in done.output


def test_the_function_says_what_it_does_not_see() -> None:
    """It is given values alone; the command line reads the same list from the file."""
    rows = [["Job", "Throughput (kg/h)", "Dry hours", "Bulk density (kg/L)"], ["A", 45, 4, 0.6]]
    text = explain("HOPPER_SIZE_JOBS", rows, [["size [L]"], [400]])
    assert "not seen: number formats, merged or crossed-out cells, comments" in text
    assert "a strike, a merge, a hidden row and a comment change nothing" in text


def test_a_date_is_no_figure_in_live_formulas_either(tmp_path: Path) -> None:
    """A spreadsheet would hand the function the number of the day, 45,447 for a day of 2024."""
    book = openpyxl.Workbook()
    for row in (HEAD[:5], ["A", "PC", datetime(2024, 6, 4), 3.5, 40]):
        book.active.append(row)
    jobs, out = str(tmp_path / "list.xlsx"), str(tmp_path / "live.xlsx")
    book.save(jobs)
    assert "the cell shows a date" in outcome(Path(jobs))[0]["A"][2]
    assert CliRunner().invoke(command, [jobs, "--out", out, "--formulas"]).exit_code == 1
    live = [
        row[:5] for row in openpyxl.load_workbook(out).worksheets[0].iter_rows(values_only=True)
    ]
    table = call("HOPPER_SIZE_JOBS", live, [["size [ft3]"], [100000]])
    assert table[1][2] == "#VALUE!" and "date" in table[1][-1]
