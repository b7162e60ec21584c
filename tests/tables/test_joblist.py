"""``hoppersheet size``: job lists as people make them, in and out."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest

from hoppersheet import CellError, call
from hoppersheet.tables.job_rows import RESULT_COLUMNS, reason_of
from hoppersheet.tables.jobwords.recipes import RECIPE_IN_RESIN, RECIPE_IN_TEXT, may_speak_of_recipe
from tables.joblists import CATALOG, FULL, PLAIN, rows_of, run, sizer

WORKBOOKS = Path(__file__).parents[2] / "workbooks"
PROBLEM_ROWS = {5, 6, 7, 8, 9}  # of the demo list to mend


# --- one row ------------------------------------------------------------------------------


def test_chain_of_the_trade() -> None:
    # common practice, no source: half and half by volume of 48 and 25 lb/ft3, 4 h at 100 lb/h
    sized = sizer(*FULL).size([0.5, 0.5, "volume", 48, 25, 100, 4, None])
    assert sized.problem is None
    assert sized.assumed == ""
    assert sized.next_size == pytest.approx(16 * 0.028316846592)  # NIST SP 811 B.8: ft3
    assert sized.hours_at_next_size == pytest.approx(5.84 * 3600)
    assert sized.model == "M16"


def test_mass_basis_is_the_harmonic_rule() -> None:
    # reference B04: 70 % at 560, 30 % at 400 kg/m3 by mass is 500 kg/m3
    row = [70, 30, "by weight", "560 kg/m3", "400 kg/m3", "100 kg/h", 4, 0]
    sized = sizer(*FULL, system="metric").size(row)
    assert sized.blend_density == pytest.approx(500)
    assert sized.required_volume == pytest.approx(0.8)  # reference V07


def test_missing_regrind_density_is_estimated_and_said() -> None:
    sized = sizer(*FULL).size([0.5, 0.5, "volume", 34, None, 100, 4, None])
    assert sized.next_size == pytest.approx(16 * 0.028316846592)
    assert "regrind density 17 lb/ft3: half of virgin" in sized.assumed


def test_basis_not_stated_says_what_the_other_basis_would_do() -> None:
    # 600 and 300 half and half: 450 by volume, 400 by mass, 12.5 % more volume
    row = [0.5, 0.5, "", "600 kg/m3", "300 kg/m3", "45 kg/h", 4, None]
    sized = sizer(*FULL).size(row)
    assert sized.blend_density == pytest.approx(450)
    assert "by mass the volume would be 12.5 % larger" in sized.assumed


def test_basis_given_for_the_whole_list_is_no_assumption() -> None:
    row = [0.5, 0.5, "", "600 kg/m3", "300 kg/m3", "45 kg/h", 4, None]
    sized = sizer(*FULL, basis="mass").size(row)
    assert (sized.blend_density, sized.assumed) == (pytest.approx(400), "")


@pytest.mark.parametrize(
    ("shares", "expected", "said"),
    [
        ((None, None), (1, 0), "virgin only"),
        ((None, 25), (0.75, 0.25), ""),
        ((None, 0.25), (0.75, 0.25), ""),
        ((100, None), (1, 0), ""),
        ((0, 1), (0, 1), ""),
        ((33.3, 66.7), (0.333, 0.667), ""),
        (("75 %", 0.25), (0.75, 0.25), ""),
    ],
)
def test_shares(shares, expected, said) -> None:
    row = [*shares, "volume", 40, 20, 100, 4, None]
    sized = sizer(*FULL).size(row)
    density = expected[0] * 40 + expected[1] * 20
    assert sized.blend_density == pytest.approx(density * 16.01846337)
    assert said in sized.assumed


@pytest.mark.parametrize(
    ("row", "code", "column", "words"),
    [
        ([70, None, "", 48, 25, 100, 4, None], "#NUM!", "virgin share", "sum to 70"),
        ([60, 30, "", 48, 25, 100, 4, None], "#NUM!", "virgin share", "sum to 90"),
        ([None, 130, "", 48, 25, 100, 4, None], "#NUM!", "regrind share", "130"),
        ([1, 0, "", 0.55, None, 100, 4, None], "#NUM!", "virgin density", "0.55 lb/ft3"),
        ([1, 0, "", 34, None, 100, 1 / 6, None], "#NUM!", "drying hours", "clock time"),
        ([1, 0, "", 34, None, "4:00", 4, None], "#VALUE!", "throughput", "clock time"),
        ([1, 0, "", 34, None, None, 4, None], "#VALUE!", "throughput", "blank"),
        ([1, 0, "", "#REF!", None, 100, 4, None], "#REF!", "virgin density", "#REF!"),
        ([1, 0, "", 34, None, "1,234", 4, None], "#VALUE!", "throughput", "ambiguous"),
        ([0.5, 0.5, "weigt", 48, 25, 100, 4, None], "#VALUE!", "share basis", "weight"),
        ([1, 0, "", 34, None, 100, 4, 110], "#NUM!", "reserve", "1.1"),
        ([1, 0, "", 34, None, 1000, 4, None], "#N/A", "required volume", "3 hoppers"),
        ([1, 0, "", True, None, 100, 4, None], "#VALUE!", "virgin density", "TRUE"),
    ],
)
def test_a_problem_names_column_value_and_limit(row, code, column, words) -> None:
    problem = sizer(*FULL).size(row).problem
    assert problem is not None
    assert (problem.code, problem.argument) == (code, column)
    assert words in reason_of(problem)


def test_units_in_headings_win() -> None:
    headings = ("Throughput [kg/h]", "DRYING_hours [min]", "virgin  density[g/cm3]")
    sized = sizer(*headings).size([45.359237, 240, 0.5])
    assert sized.required_volume == pytest.approx(45.359237 * 4 / 500)


@pytest.mark.parametrize(
    ("headings", "words"),
    [
        (("throughput", "drying hours"), "virgin density"),
        (("troughput", "drying hours", "virgin density"), "did you mean 'troughput'"),
        (("throughput", "throughput", "drying hours", "virgin density"), "twice"),
        (("throughput [lb]", "drying hours", "virgin density"), "not a unit of throughput"),
        (("throughput [ton/h]", "drying hours", "virgin density"), "ambiguous"),
        (("rate", "material rate", "drying hours", "virgin density"), "could both be 'throughput'"),
        ((*PLAIN, "safety"), "'safety' is not known, though it looks like 'reserve'"),
    ],
)
def test_headings_that_cannot_be_right(headings, words) -> None:
    with pytest.raises(CellError, match=words.replace("(", r"\(")):
        sizer(*headings)


def test_one_and_one_point_zero_and_true_are_not_confused() -> None:
    size = sizer("throughput", "drying hours", "virgin density").size
    assert size([100.0, "1", 34]).problem is None
    assert size([100.0, 1.0, 34]).problem is None
    problem = size([100.0, True, 34]).problem
    assert problem is not None and problem.code == "#VALUE!"


# --- files --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["demo_jobs.csv", "demo_jobs.xlsx"])
def test_the_demo_list_is_sized_whole(name: str) -> None:
    done = run(str(WORKBOOKS / name))
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"10 rows: 10 jobs sized, 0 with a problem." in done.stdout


@pytest.mark.parametrize("ending", [".csv", ".tsv", ".xlsx"])
def test_demo_list_to_mend_names_its_problem_rows(ending: str, tmp_path: Path) -> None:
    out = tmp_path / f"sized{ending}"
    done = run(str(WORKBOOKS / "demo_jobs_to_mend.csv"), "--out", str(out))
    assert done.returncode == 1
    named = {
        int(line.split()[1].rstrip(":"))
        for line in done.stderr.decode().splitlines()
        if line.strip().startswith("row ")
    }
    assert named == PROBLEM_ROWS
    if ending == ".xlsx":
        sheet = openpyxl.load_workbook(out).active
        headings = [cell.value for cell in sheet[2]]
        problem, following = headings.index("problem"), headings.index("next size [ft3]")
        found = {
            number
            for number, row in enumerate(sheet.iter_rows(values_only=True), 1)
            if number > 2 and row[problem]
        }
        assert found == PROBLEM_ROWS
        assert sheet.cell(3, following + 1).value == 30  # the bezel: 770 lb at 36.4 lb/ft3
    else:
        rows = rows_of(out)
        assert {i for i, row in enumerate(rows, 3) if row["problem"]} == PROBLEM_ROWS
        assert rows[0]["next size [ft3]"] == "30"


def test_metric_output_is_the_same_hopper(tmp_path: Path) -> None:
    paths = {units: tmp_path / f"{units}.csv" for units in ("us", "metric")}
    text = "throughput [lb/h],drying hours,virgin density [lb/ft3]\n100,4,36.5\n"
    jobs = tmp_path / "jobs.csv"
    jobs.write_text(text)
    for units, path in paths.items():
        catalog = str(WORKBOOKS / "demo_catalog.csv")
        assert (
            run(str(jobs), "--units", units, "--catalog", catalog, "--out", str(path)).returncode
            == 0
        )
    us, metric = (rows_of(path)[0] for path in paths.values())
    assert us["model"] == metric["model"] == "EXAMPLE-12"
    litres = float(us["required volume [ft3]"]) * 28.316846592  # NIST SP 811 B.8
    assert float(metric["required volume [L]"]) == pytest.approx(litres)


def test_pasted_list_on_standard_input() -> None:
    pasted = "job\tthroughput\tdrying hours\tvirgin density\nSpool\t100\t4\t36,5\n"
    done = run("-", stdin=pasted.encode())
    assert done.returncode == 0, done.stderr
    # 100 lb/h x 4 h / 36.5 lb/ft3 is 10.96 ft3, 310.3 L
    assert "10.96  (310.3)" in done.stdout.decode() and " 12 " in done.stdout.decode()


@pytest.mark.parametrize(
    ("encoding", "separator", "decimal"),
    [
        ("utf-8", ",", "."), ("utf-8-sig", ";", ","), ("utf-16", "\t", ","), ("cp1252", ";", ","),
    ],
)  # fmt: skip
def test_encodings_and_separators(encoding, separator, decimal, tmp_path: Path) -> None:
    lines = [
        ["job", "throughput", "drying hours", "virgin density"],
        ["Gehäuse", "100", "4", "36.5"],
    ]
    text = "\r\n".join(separator.join(line).replace(".", decimal) for line in lines)
    jobs, out = tmp_path / "jobs.csv", tmp_path / "out.csv"
    jobs.write_bytes(text.encode(encoding))
    assert run(str(jobs), "--out", str(out)).returncode == 0
    assert rows_of(out)[0]["job"] == "Gehäuse"
    assert rows_of(out)[0]["next size [ft3]"] == "12"


def test_formula_like_text_stays_text(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs.csv"
    nasty = '=HYPERLINK("http://example.invalid")'
    with jobs.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["=1+1", "throughput", "drying hours", "virgin density", "part", "bell"])
        writer.writerow([nasty, "100", "4", "36.5", "00123", "a\x07b"])
        writer.writerow(["-5", "100", "4", "36.5", "+A1", "@x"])
    out = tmp_path / "out.xlsx"
    assert run(str(jobs), "--out", str(out)).returncode == 0
    sheet = openpyxl.load_workbook(out).active
    assert (sheet["A2"].value, sheet["A2"].data_type) == (nasty, "s")
    assert (sheet["A1"].value, sheet["A1"].data_type) == ("=1+1", "s")
    assert sheet["E2"].value == "00123"
    assert sheet["F2"].value == "a\ufffdb"
    assert not any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)
    text = tmp_path / "out.csv"
    assert run(str(jobs), "--out", str(text)).returncode == 0
    rows = rows_of(text)
    assert rows[0]["'=1+1"] == "'" + nasty
    assert (rows[1]["'=1+1"], rows[1]["part"], rows[1]["bell"]) == ("-5", "'+A1", "'@x")


def test_a_stray_separator_is_a_problem_not_a_shift(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs.csv"
    jobs.write_text("throughput,drying hours,virgin density\n100,1,5,34\n100,4,36.5\n")
    done = run(str(jobs))
    assert done.returncode == 1
    assert "row 2" in done.stderr.decode() and "4 cells under 3 headings" in done.stderr.decode()
    assert "2 rows: 1 job sized, 1 with a problem" in done.stdout.decode()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("none.csv", None, "there is no file"),
        ("jobs.ods", b"x", "is not a readable workbook"),
        ("jobs.odt", b"x", "the ending must be"),
        ("jobs.xlsx", b"not a zip", "is not an .xlsx"),
        ("empty.csv", b"", "no heading row"),
        ("text.csv", b"hello,world\n1,2\n", "no heading row"),
        ("half.csv", b"throughput,drying hours\n1,2\n", "virgin density"),
    ],
)
def test_unreadable_input_is_one_line_and_status_2(name, content, words, tmp_path: Path) -> None:
    path, out = tmp_path / name, tmp_path / "out.csv"
    if content is not None:
        path.write_bytes(content)
    done = run(str(path), "--out", str(out))
    lines = done.stderr.decode().splitlines()
    assert done.returncode == 2
    assert len(lines) == 1 and words in lines[0]
    assert not out.exists()


def test_output_never_replaces_the_list(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs.csv"
    jobs.write_text("throughput;drying hours;virgin density\n100;4;36,5\n")
    before = jobs.read_bytes()
    (tmp_path / "link.csv").symlink_to(jobs)
    for name in ("jobs.csv", "link.csv"):
        done = run(str(jobs), "--out", str(tmp_path / name))
        assert done.returncode == 2
        assert b"is the list itself; choose another name" in done.stderr
        assert jobs.read_bytes() == before
    catalog = tmp_path / "own.csv"
    catalog.write_text("size [L]\n500\n")
    done = run(str(jobs), "--catalog", str(catalog), "--out", str(catalog))
    assert done.returncode == 2
    assert b"is the catalog itself" in done.stderr
    assert catalog.read_text() == "size [L]\n500\n"


@pytest.mark.parametrize("out", ["missing/out.csv", "out.pdf", "."])
def test_output_that_cannot_be_written(out: str, tmp_path: Path) -> None:
    done = run(str(WORKBOOKS / "demo_jobs.csv"), "--out", out, cwd=tmp_path)
    assert done.returncode == 2
    assert len(done.stderr.decode().splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_own_catalog_in_litres(tmp_path: Path) -> None:
    catalog = tmp_path / "own.csv"
    catalog.write_text("Size [L];Model;Price\n500;B;2\n450;A;1\n;;\n")
    jobs = tmp_path / "jobs.csv"
    jobs.write_text("throughput,drying hours,virgin density\n100,4,36.5\n")
    out = tmp_path / "out.csv"
    assert run(str(jobs), "--catalog", str(catalog), "--out", str(out)).returncode == 0
    row = rows_of(out)[0]
    assert (row["model"], float(row["next size [ft3]"])) == ("A", pytest.approx(450 / 28.316846592))


def test_formulas_are_one_live_call(tmp_path: Path) -> None:
    out = tmp_path / "out.xlsx"
    run(str(WORKBOOKS / "demo_jobs.csv"), "--formulas", "--out", str(out))
    book = openpyxl.load_workbook(out)
    sheet = book["Sized jobs"]
    block = sheet["M2"].value
    assert block.ref == "M2:X12"
    # Prices can be computed with, and the list prints with its headings on every page.
    assert isinstance(book["Catalog"]["C2"].value, int | float)
    assert (sheet.page_setup.orientation, sheet.print_title_rows) == ("landscape", "$2:$2")
    assert block.text == "=HOPPER_SIZE_JOBS($A$2:$L$12,Catalog!$A$1:$C$14)"


# --- the worksheet function ---------------------------------------------------------------


def test_size_jobs_has_errors_only_where_there_is_no_answer() -> None:
    jobs = [
        ["job", "throughput", "drying hours", "virgin density"],
        ["fits", 100, 4, 36.5],
        ["small", 10, 4, 36.5],
        ["large", 1400, 4, 36.5],
        [None, None, None, None],
        ["wrong", 100, 0.2, 36.5],
    ]
    table = call("HOPPER_SIZE_JOBS", jobs, CATALOG)
    by_job = {row[0]: dict(zip(table[0], row, strict=True)) for row in table[1:]}
    assert len(table) == len(jobs)
    assert set(by_job) == {"fits", "small", "large", "", "wrong"}
    assert by_job["fits"]["next size [ft3]"] == 16
    assert by_job["small"]["size below [ft3]"] == "#N/A"
    assert by_job["small"]["problem"] == ""
    assert by_job["large"]["next size [ft3]"] == "#N/A"
    assert by_job["large"]["size below [ft3]"] == 40
    assert "4 hoppers" in by_job["large"]["problem"]
    assert set(by_job[""].values()) == {""}
    assert by_job["wrong"]["required volume [ft3]"] == "#NUM!"
    assert "0.2 h" in by_job["wrong"]["problem"]
    assert all(len(row) == len(RESULT_COLUMNS) + 1 for row in table)


@pytest.mark.parametrize(
    ("jobs", "catalog", "code", "argument"),
    [
        ([["a", "b"]], CATALOG, "#VALUE!", "jobs"),
        ([["throughput", "drying hours", "virgin density"]], [["x"]], "#VALUE!", "catalog_sizes"),
        ([["throughput", "drying hours", "virgin density"]], [[None]], "#VALUE!", "catalog_sizes"),
        ([["#REF!", "drying hours", "virgin density"]], CATALOG, "#REF!", "jobs"),
        ([["throughput", "drying hours", "virgin density"]], [[-1]], "#NUM!", "catalog_sizes"),
    ],
)
def test_size_jobs_refuses_what_it_cannot_read(jobs, catalog, code, argument) -> None:
    with pytest.raises(CellError) as caught:
        call("HOPPER_SIZE_JOBS", jobs, catalog)
    assert (caught.value.code, caught.value.argument) == (code, argument)


@pytest.mark.parametrize("ending", [".csv", ".tsv"])
def test_the_output_is_what_the_csv_module_writes(ending: str, tmp_path: Path) -> None:
    """Most rows are joined without it; cells that need quotes must come out as it has them."""
    cells = ["plain", "a,b", "a\tb", 'a "b"', '"', "two\nlines", "two\rlines", "", " a ", "Ä,ß"]
    jobs, out = tmp_path / "jobs.csv", tmp_path / f"out{ending}"
    with jobs.open("w", newline="", encoding="utf-8") as file:
        write = csv.writer(file).writerow
        write(["note", *PLAIN, "remark"])
        for cell in cells:
            for other in cells:
                write([cell, 100, 4, 36.5, other])
    assert run(str(jobs), "--out", str(out)).returncode == 0
    written = out.read_bytes().decode("utf-8-sig")
    separator = "\t" if ending == ".tsv" else ","
    rows = list(csv.reader(io.StringIO(written, newline=""), delimiter=separator))
    again = io.StringIO(newline="")
    csv.writer(again, delimiter=separator).writerows(rows)
    assert written == again.getvalue()
    assert [(row[0], row[4]) for row in rows[1:]] == [(a, b) for a in cells for b in cells]


# --- lines for the quote ------------------------------------------------------------------


def test_chosen_jobs_become_lines_of_a_quote(tmp_path: Path) -> None:
    from hoppersheet.templates.quote.line_checks import SIZING

    jobs, out = tmp_path / "jobs.csv", tmp_path / "quote.xlsx"
    jobs.write_text(
        "Job,Throughput (kg/h),Dry hours,Bulk density (kg/L),regrind %,basis,reserve\n"
        "A,45,4,0.61,20,mass,\nB,62,3,0.58,0,,0.1\nC,many,3,0.58,0,,\nTotal,107,,,,,\n"
    )
    words = [sys.executable, "-m", "hoppersheet", "template", "quote", "--jobs", str(jobs)]
    done = subprocess.run([*words, "--lines", "2-4", "--out", str(out)], capture_output=True)
    assert done.returncode == 1 and b"row 4 left out: 'many'" in done.stderr
    sheet = openpyxl.load_workbook(out)["Sizing"]
    keys = ("job", "stated", "hours", "virgin", "regrind", "ground", "basis", "reserve")
    lines = [
        [sheet[SIZING.cell(key, SIZING.first_row + at)].value for key in keys] for at in range(3)
    ]
    # half of 0.61 kg/L: common practice, no source
    assert lines[0] == ["A", 45, 4, 0.61, pytest.approx(0.2), pytest.approx(0.305), "mass", None]
    assert lines[1] == ["B", 62, 3, 0.58, None, None, None, 0.1] and lines[2][0] is None
    note = sheet[SIZING.cell("note", SIZING.first_row)].value
    assert note.startswith(
        "row 2 of the job list; assumed: regrind density 0.305 kg/L: half of virgin"
    )
    out.unlink()
    done = subprocess.run([*words, "--lines", "9", "--out", str(out)], capture_output=True)
    assert done.returncode == 2 and b"has no row 9" in done.stderr and not out.exists()


def test_the_fix_list_is_filled_in_and_read_back(tmp_path: Path) -> None:
    jobs, asked, out = (tmp_path / name for name in ("jobs.csv", "asked.xlsx", "out.csv"))
    jobs.write_text(
        "Auftrag;Leistung (kg/h);Trocknungszeit;Schuettdichte (kg/l)\n"
        "A;45,5;4;0,61\nB;62;3-4;0,58\nC;;4;zu klein\n"
    )
    assert run(str(jobs), "--fixes", str(asked)).returncode == 1
    book = openpyxl.load_workbook(asked)
    rows = list(book.active.iter_rows(min_row=3))
    told = [[row[1].value, row[2].value, row[3].value, row[4].value] for row in rows]
    assert told == [
        [3, "B", "Trocknungszeit", "3-4"], [4, "C", "Leistung (kg/h)", None],
        [4, "C", "Schuettdichte (kg/l)", "zu klein"],
    ]  # fmt: skip
    for row, answer in zip(rows, (3.5, "110 lb/h", 0.6), strict=True):
        row[6].value = answer
    book.save(asked)
    done = run(str(jobs), "--answers", str(asked), "--out", str(out))
    assert done.returncode == 0 and b"3 answers filled in, 0 questions left open" in done.stdout
    rows = list(csv.DictReader(io.StringIO(out.read_text("utf-8-sig")), delimiter=";"))
    found = [float(row["required volume [L]"].replace(",", ".")) for row in rows]
    # rate x hours / density: arithmetic identity; lb: NIST SP 811 B.8
    expected = [45.5 * 4 / 0.61, 62 * 3.5 / 0.58, 110 * 0.45359237 * 4 / 0.6]
    assert found == pytest.approx(expected)


def test_a_heading_named_by_the_user_is_remembered(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs.csv"
    jobs.write_text("Job,Rate (lb/h),Hours,Bulk density (lb/ft3),color %\nA,220,3.5,38.5,2\n")
    assert run(str(jobs)).returncode == 2
    words = ["--column", "drying hours=Hours", "--ignore", "color %", "--remember"]
    assert run(str(jobs), *words).returncode == 0
    done = run(str(jobs))  # 220 x 3.5 / 38.5 = 20 ft3: arithmetic identity
    assert done.returncode == 0 and b"drying hours    Hours" in done.stdout
    assert (tmp_path / "jobs.csv.columns").read_text().count("\n") == 3


def test_the_summary_of_a_sized_workbook(tmp_path: Path) -> None:
    jobs, out = tmp_path / "jobs.csv", tmp_path / "out.xlsx"
    # 4 h x rate / 40 lb/ft3: 10, 10, 12.3 ft3 (2.5 % more than 12), and one problem
    rates = ("A,PC,100", "B,PC,100", "A,PC,123", "C,PC,many")
    rows = "".join(f"{row},4,40\n" for row in rates)
    jobs.write_text("Job,Resin,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\n" + rows)
    assert run(str(jobs), "--out", str(out)).returncode == 1
    book = openpyxl.load_workbook(out)
    assert book.sheetnames == ["Sized jobs", "Summary", "Reading", "Problems"]
    assert book["Sized jobs"].auto_filter.ref == "A1:P5"
    said = {tuple(c for c in row if c is not None) for row in book["Summary"].values}
    assert ("jobs", 4) in said and ("with a problem", 1) in said
    assert ("EXAMPLE-12", 12, 2, 5200, 10400) in said or any("EXAMPLE-12" in row for row in said)
    assert any(row[:2] == ("A", 4) and row[2] == pytest.approx(12.3) for row in said if row)
    assert ("a", "2, 4") in said  # job A stands there twice
    assert ("pc", "2, 3, 4", 3) in {row[:3] for row in said}
    assert [row[1] for row in book["Problems"].values] == ["job", "C"]
    assert ("throughput", "Rate (lb/h)", "lb/h, heading") in set(book["Reading"].values)


def test_the_quick_look_overlooks_no_name_of_a_recipe() -> None:
    names = [
        "regrind",
        "re-grind",
        "reground",
        "rg",
        "mahlgut",
        "rebroyé",
        "remolido",
        "molido",
        "recycled",
        "reprocessed",
        "pcr",
        "pir",
        "rezyklat",
        "regenerat",
        "regranulat",
        "reciclado",
        "master-batch",
        "masterbatch",
        "virgin",
        "neuware",
        "vierge",
        "virgen",
    ]
    for name in names:
        for text in (f"with 20 % {name}", f"{name} 20 %", f"20% {name.upper()}"):
            assert RECIPE_IN_TEXT.search(text) and may_speak_of_recipe(text)
        found = RECIPE_IN_RESIN.search(f"PP {name}")
        assert not found or may_speak_of_recipe(f"PP {name}")
    assert not may_speak_of_recipe("IM-12, black")
