"""Every messy list comes out as a careful estimator would have it, on each surface."""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet import call
from hoppersheet.errors import InputFileError
from hoppersheet.tables.job_columns import job_name, reason_of
from hoppersheet.tables.joblist import Stated, open_catalog, open_jobs, size_list
from hoppersheet.tables.joblist.output import write_lists
from hoppersheet.tables.joblist.receipt import receipt, unread_sheets
from tables.exported_lists import EXPORTED
from tables.hunted_lists import HUNTED
from tables.messy_books import BOOKS, HEAD, two_sheets, write_ods, write_xlsb
from tables.messy_lists import FT3, Expected, Messy, kg, lb
from tables.messy_lists import LISTS as FIRST
from tables.sent_lists import SENT

Found = dict[str, tuple[float | None, str, str]]
LISTS = [*FIRST, *HUNTED, *SENT, *EXPORTED]
ANSWERED = [messy for messy in LISTS if not isinstance(messy.expect, str)]


def outcome(path: Path, **options: Any) -> tuple[Found, str]:
    """Job -> (liters, marks, problem), and the receipt."""
    jobs: Found = {}
    said = []
    for file in open_jobs(str(path), Stated(**options)):
        catalog, _ = open_catalog(None, file.reading.system, file.reading.system)
        sized = size_list(file, catalog)
        at = sized.sizer.columns["job"].at
        for _number, cells, job in sized.rows:
            if job.is_job:
                marks = f"{job.assumed} | {job.check}"
                problem = "" if job.problem is None else reason_of(job.problem)
                liters = None if job.required_volume is None else job.required_volume * 1000
                jobs[job_name(cells[at])] = (liters, marks, problem)
        said.append("\n".join(receipt(sized)))
    return jobs, "\n".join(said)


def compare(jobs: Found, expect: Mapping[str, Expected]) -> None:
    assert list(jobs) == list(expect)
    for name, expected in expect.items():
        liters, marks, problem = jobs[name]
        if isinstance(expected, str):
            assert liters is None, (name, liters)
            assert expected.removeprefix("no: ") in problem
            continue
        value, words = expected if isinstance(expected, tuple) else (expected, "")
        assert liters == pytest.approx(value, rel=1e-6), (name, problem, marks)
        assert words in marks


@pytest.mark.parametrize("messy", LISTS, ids=lambda messy: messy.name)
def test_a_messy_list(messy: Messy, tmp_path: Path) -> None:
    path = tmp_path / f"list{messy.ending}"
    path.write_text(messy.text, encoding="utf-8")
    if isinstance(messy.expect, str):
        with pytest.raises(InputFileError) as refused:
            outcome(path, **messy.options)
        assert messy.expect in str(refused.value)
        return
    jobs, said = outcome(path, **messy.options)
    compare(jobs, messy.expect)
    for words in messy.told:
        assert words in said


def _cells(messy: Messy) -> list[list[Any]]:
    """The cells of a list as somebody pastes them: numbers where they are plain."""

    def cell(text: str) -> Any:
        digits = text.replace(".", "", 1)
        if digits.isdigit() and not (len(text.partition(".")[2]) == 3 and "." in text):
            return float(text)
        return text or None

    first = messy.text.partition("\n")[0]
    separator = "\t" if messy.ending == ".tsv" else ";" if ";" in first else ","
    rows = csv.reader(io.StringIO(messy.text), delimiter=separator)
    return [[cell(text) for text in row] for row in rows]


def _pasted(messy: Messy) -> bool:
    first = messy.text.partition("\n")[0]
    return messy.as_range and messy.ending != ".txt" and sum(map(first.count, ",;\t")) > 1


@pytest.mark.parametrize("messy", filter(_pasted, LISTS), ids=lambda messy: messy.name)
def test_the_same_cells_in_a_worksheet(messy: Messy) -> None:
    """HOPPER_SIZE_JOBS reads a range as the command line reads a file."""
    rows = _cells(messy)
    rows = rows[next(i for i, row in enumerate(rows) if sum(c is not None for c in row) > 2) :]
    units = messy.options.get("units", "as the list says")
    sizes = [["size [L]"], *[[float(10 * 1.3**i)] for i in range(40)]]
    head, *table = call("HOPPER_SIZE_JOBS", rows, sizes, "not stated", units)
    at = {name.partition(" [")[0]: i for i, name in enumerate(head)}
    if isinstance(messy.expect, str):
        problems = [row[at["problem"]] for row in table if row[at["problem"]]]
        assert problems and all(messy.expect in problem for problem in problems)
        assert all(row[at["next size"]] in ("#VALUE!", "") for row in table)
        return
    scale = 1.0 if "[L]" in head[at["required volume"]] else FT3
    jobs: Found = {}
    for row in table:
        volume = row[at["required volume"]]
        if volume == "":
            continue
        liters = None if isinstance(volume, str) else volume * scale
        marks = f"{row[at['assumed']]} | {row[at['check']]}"
        jobs[job_name(row[0])] = (liters, marks, row[at["problem"]])
    compare(jobs, messy.expect)


@pytest.mark.parametrize("make", BOOKS, ids=lambda make: make.__name__)
def test_a_messy_workbook(make: Callable[[Path], dict[str, Expected]], tmp_path: Path) -> None:
    expect = make(tmp_path / "list.xlsx")
    jobs, _ = outcome(tmp_path / "list.xlsx")
    compare(jobs, expect)


@pytest.mark.parametrize("make", BOOKS, ids=lambda make: make.__name__)
def test_live_formulas_of_a_workbook_say_the_same(make: Any, tmp_path: Path) -> None:
    make(tmp_path / "list.xlsx")
    _same_live(tmp_path / "list.xlsx", tmp_path)


@pytest.mark.parametrize("messy", ANSWERED, ids=lambda messy: messy.name)
def test_live_formulas_of_a_text_say_the_same(messy: Messy, tmp_path: Path) -> None:
    path = tmp_path / f"list{messy.ending}"
    path.write_text(messy.text, encoding="utf-8")
    _same_live(path, tmp_path, **messy.options)


def _same_live(path: Path, folder: Path, **options: Any) -> None:
    """What the function makes of the cells of --formulas is what ``size`` says, row by row."""
    (file,) = open_jobs(str(path), Stated(**options))
    units = options.get("units", "as the list says")
    catalog, name = open_catalog(None, file.reading.system, file.reading.system)
    out = folder / "live.xlsx"
    write_lists([size_list(file, catalog)], str(out), name, units, formulas=True)
    expected = [job for _, _, job in size_list(file, catalog).rows]
    book = openpyxl.load_workbook(out)
    sheet = book["Sized jobs"]
    top, width = len(file.preamble) + 1, len(file.headings)
    jobs = [[cell.value for cell in row[:width]] for row in sheet.iter_rows(min_row=top)]
    sizes = [[cell.value for cell in row] for row in book["Catalog"].iter_rows()]
    (formula,) = (
        array.text for array in (cell.value for cell in sheet[top]) if hasattr(array, "text")
    )
    said = formula.rstrip(")").split(",")[2:]
    basis = said[0].strip('"') if said else ""
    head, *table = call("HOPPER_SIZE_JOBS", jobs, sizes, basis or "not stated", units)
    at = {name.partition(" [")[0]: i for i, name in enumerate(head)}
    per_liter = 1.0 if "[L]" in head[at["required volume"]] else FT3
    assert len(table) >= len(expected)
    for row, job in zip(table, expected, strict=False):
        volume = row[at["required volume"]]
        if job.required_volume is None:
            assert isinstance(volume, str), (row, job)
        else:
            assert volume * per_liter == pytest.approx(job.required_volume * 1000, rel=1e-9)
        if job.problem is None:
            assert row[at["model"]] == job.model


def test_other_sheets_are_told_and_read_when_asked(tmp_path: Path) -> None:
    path = tmp_path / "list.xlsx"
    two_sheets(path)
    (file,) = open_jobs(str(path))
    catalog, _ = open_catalog(None, "US", "US")
    sized = size_list(file, catalog)
    assert unread_sheets(sized) == ["Hall 2", "Hall 3"]
    said = "\n".join(receipt(sized))
    assert "sheet 'Hall 2' (3 rows that look like jobs)" in said
    assert "sheet 'Hall 3', hidden (3 rows" in said and "sheet 'Notes' (no list of jobs)" in said
    jobs, _ = outcome(path, sheet="all")
    assert list(jobs) == ["A", "B", "C", "D", "E"]
    assert outcome(path, sheet="hall 2")[0].keys() == {"C", "D", "E"}
    with pytest.raises(InputFileError, match="it has 'Hall 1', 'Hall 2', 'Hall 3', 'Notes'"):
        outcome(path, sheet="Hall 9")


def test_an_opendocument_spreadsheet(tmp_path: Path) -> None:
    jobs = [["A", 220, 3.5, 40], ["B", "45 kg/h", "4:30", "0.61 kg/L"]]
    write_ods(tmp_path / "list.ods", [HEAD, *jobs, [None], ["Total", 310]])
    found, said = outcome(tmp_path / "list.ods")
    compare(found, {"A": lb(220, 3.5, 40), "B": kg(45, 4.5, 0.61)})
    assert "files do not say" not in said and "row 5 'Total'" in said


@pytest.mark.calc
def test_workbooks_saved_as_opendocument_say_the_same(tmp_path: Path) -> None:
    """Calc saves each messy workbook as .ods: percentages, times, merges, strikes, comments."""
    expected = {}
    for make in BOOKS:
        expected[make.__name__] = make(tmp_path / f"{make.__name__}.xlsx")
    _convert([tmp_path / f"{name}.xlsx" for name in expected], "ods", tmp_path)
    for name, expect in expected.items():
        jobs, _ = outcome(tmp_path / f"{name}.ods")
        # Calc has computed what had no value: refused all the same, in other words.
        refused = {job for job, value in expect.items() if isinstance(value, str)}
        compare(jobs, {**expect, **dict.fromkeys(refused, "no: ")})


def test_a_binary_workbook(tmp_path: Path) -> None:
    jobs: list[list[Any]] = [["A", 220, 3.5, 40], ["B", "45 kg/h", "4:30", "0.61 kg/L"]]
    write_xlsb(tmp_path / "list.xlsb", [HEAD, *jobs, [None], ["Total", 310]])
    found, said = outcome(tmp_path / "list.xlsb")
    compare(found, {"A": lb(220, 3.5, 40), "B": kg(45, 4.5, 0.61)})
    assert ".xlsb files do not say which cells are percentages" in said and "row 5 'Total'" in said
    (tmp_path / "cut.xlsb").write_bytes((tmp_path / "list.xlsb").read_bytes()[:700])
    with pytest.raises(InputFileError, match="is not a readable workbook"):
        outcome(tmp_path / "cut.xlsb")


def _convert(paths: list[Path], ending: str, folder: Path) -> None:
    """Have Calc save workbooks in another format."""
    office = shutil.which("soffice")
    assert office is not None
    profile = f"-env:UserInstallation=file://{folder}/profile"
    words = [office, profile, "--headless", "--convert-to", ending, "--outdir", str(folder)]
    subprocess.run([*words, *map(str, paths)], check=True, capture_output=True, timeout=180)


@pytest.mark.calc
def test_an_old_workbook(tmp_path: Path) -> None:
    """Calc writes them, so that what is read was not made by the reader."""
    book = openpyxl.Workbook()
    for row in (HEAD, ["A", 220, 3.5, 40], ["B", "45 kg/h", 4, "0.61 kg/L"]):
        book.active.append(row)
    book.save(tmp_path / "list.xlsx")
    _convert([tmp_path / "list.xlsx"], "xls", tmp_path)
    jobs, _ = outcome(tmp_path / "list.xls")
    compare(jobs, {"A": lb(220, 3.5, 40), "B": kg(45, 4, 0.61)})


def test_three_quarters_are_answered(tmp_path: Path) -> None:
    """Of the jobs in these lists; the rest is asked for or refused, none is wrong."""
    answered = total = 0
    expectations: list[Any] = [make(tmp_path / "list.xlsx") for make in BOOKS]
    for expect in [*expectations, *(messy.expect for messy in LISTS)]:
        if isinstance(expect, str):
            total += 1  # a list of one or two jobs that leaves a question is one question
        else:
            total += len(expect)
            answered += sum(not isinstance(expected, str) for expected in expect.values())
    assert answered / total >= 0.75
