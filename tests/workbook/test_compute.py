"""Workbooks recalculated: by a real LibreOffice Calc and by hoppersheet alone.

Expected values come from the pure functions (checked elsewhere against published values) and
from plain arithmetic; what must not change is compared byte by byte.
"""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.worksheet.formula import ArrayFormula

from hoppersheet import call
from hoppersheet.cli import cli
from hoppersheet.errors import InputFileError
from hoppersheet.hosts.calc.office import Office
from hoppersheet.workbook.compute import Computed, Kept, compute, fresh_values
from hoppersheet.workbook.package import Package
from hoppersheet.workbook.receipt import receipt
from hoppersheet.workbook.sheet_cells import ErrorText
from workbook import rich_workbook
from workbook.rich_workbook import small as workbook

ENGINES = ["core", pytest.param("calc", marks=pytest.mark.calc)]

# A formula cell whose value and type are taken out: what may differ, and nothing else.
_VALUE = re.compile(r"(</f>|<f[^>]*/>)\s*(<v>[^<]*</v>|<v ?/>)?")
_TYPE = re.compile(r'(<c r="[A-Z]+\d+"(?: s="\d+")?) t="(?:str|b|e|n)"((?: s="\d+")?>\s*<f)')


def without_values(xml: bytes, added: set[str]) -> str:
    """A sheet part without the values of its formula cells and without the cells in ``added``."""
    text = _TYPE.sub(r"\1\2", _VALUE.sub(r"\1", xml.decode()))
    for ref in added:
        text = re.sub(rf'<c r="{ref}"(?: t="\w+")?><v>[^<]*</v></c>', "", text)
    return re.sub(r'<row r="\d+"></row>', "", text)


def expected_sizing() -> dict[str, object]:
    """Some cells of the rich workbook's sheet Sizing, computed without any spreadsheet."""
    sizes = [[10], [16], [25], [40], [None]]
    found: dict[str, object] = {}
    jobs = [(100, 4, 0.7, 48, 25), ("45 kg/h", 2, 0.5, "0.55 g/cm3", 20), (10_000, 6, 1, 38, 19)]
    for row, (rate, hours, virgin, density, regrind) in enumerate(jobs, 2):
        blend = call("HOPPER_BLEND_DENSITY", [[virgin, 1 - virgin]], [[density, regrind]])
        found[f"H{row}"] = call("HOPPER_REQUIRED_VOLUME", rate, hours, blend, 0.1)
        if row < 4:
            found[f"I{row}"] = call("HOPPER_NEXT_SIZE", found[f"H{row}"], sizes)
            found[f"J{row}"], found[f"N{row}"] = found[f"I{row}"], True
    found |= {"I4": "#N/A", "J4": "ask us: <A-3>", "N4": False, "K2": 100.0, "K3": "#VALUE!"}
    found |= {"O2": 96.0, "P2": 50.0, "O3": "#VALUE!", "P3": 40.0, "O4": 76.0, "P4": 38.0}
    found |= {"A6": call("HOPPER_VERSION"), "A8": "", "A9": 26.0, "A10": 1168.0}
    found["A7"] = call("HOPPER_EXPLAIN", "HOPPER_HELD_MASS", 16, 36.5)
    table = call(
        "HOPPER_SIZE_JOBS",
        [
            ["job", "throughput", "drying hours", "virgin share", "virgin density",
             "regrind density", "regrind share"],
            *([f"A-{n}", *job, 1 - job[2]] for n, job in enumerate(jobs, 1)),
        ],
        sizes,
        "volume",
    )  # fmt: skip
    for down in range(3):
        found |= {f"{'ABC'[right]}{11 + down}": table[down][right] for right in range(3)}
    return found


def agrees(found: object, expected: object) -> bool:
    if isinstance(expected, float) and isinstance(found, float):
        return found == pytest.approx(expected, rel=1e-12)
    return type(found) in (type(expected), ErrorText) and found == expected


@pytest.fixture(scope="module")
def rich(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return rich_workbook.build(tmp_path_factory.mktemp("rich") / "rich.xlsm")


@pytest.mark.parametrize("engine", ENGINES)
def test_a_rich_workbook_changes_in_nothing_but_values(
    rich: Path, engine: str, tmp_path: Path
) -> None:
    out = tmp_path / "out.xlsm"
    report = compute(rich, out, engine)
    sheets = {sheet.name: sheet.part for sheet in Package(rich).sheets}
    arrays = {f"{c}{r}" for c in "ABC" for r in (11, 12, 13)} | {
        f"{c}{r}" for c in "OP" for r in (2, 3, 4)
    }
    with zipfile.ZipFile(rich) as before, zipfile.ZipFile(out) as after:
        assert after.namelist() == before.namelist()
        different = [n for n in before.namelist() if before.read(n) != after.read(n)]
        assert different == [sheets[n] for n in ("Sizing", "Quote", "Notes")] + ["xl/workbook.xml"]
        for part in different[:-1]:
            old = without_values(before.read(part), set())
            assert without_values(after.read(part), arrays - {"A11", "O2"}) == old
        old_book = before.read("xl/workbook.xml")
        assert b' fullCalcOnLoad="1"' in old_book and report.full_calc_dropped
        assert after.read("xl/workbook.xml") == old_book.replace(b' fullCalcOnLoad="1"', b"")
    assert report.kept == [] and report.cells == report.changed
    assert {"Sizing!I4 #N/A", "Notes!A2 #DIV/0!"} <= set(report.errors)
    # What openpyxl reads from the file is what the core says.
    values = openpyxl.load_workbook(out, data_only=True, keep_vba=True)
    for ref, expected in expected_sizing().items():
        found = values["Sizing"][ref].value
        found = float(found) if isinstance(found, int) and not isinstance(found, bool) else found
        # openpyxl gives None for a formula's empty text.
        assert agrees("" if found is None else found, expected), (ref, found, expected)
    assert values["Quote"]["A2"].value == 1250
    assert values["Quote"]["A4"].value == "Total 1093.75"
    again = compute(out, out, engine)
    assert (again.changed, again.full_calc_dropped) == (0, False)


@pytest.mark.calc
def test_both_engines_agree(rich: Path) -> None:
    calc, core = fresh_values(rich, "calc"), fresh_values(rich, "core")
    assert calc.keys() == core.keys()
    compared = 0
    for sheet in calc:
        assert calc[sheet].keys() == core[sheet].keys()
        for ref, value in calc[sheet].items():
            assert agrees(core[sheet][ref], value), (sheet, ref)
            compared += 1
    assert compared > 80


@pytest.mark.parametrize("engine", ENGINES)
def test_what_formulas_hand_over(engine: str, tmp_path: Path) -> None:
    """Arguments left out, errors, texts, blanks in ranges, and results inside other functions."""
    book = workbook(
        tmp_path / "b.xlsx",
        A1=0.5, A2=0.5, C1="kg/m3", D1="#N/A", D2=None, D3=25, D4="16",
        E1='=HOPPER_BLEND_DENSITY(A1:A2,{0.6;0.3},"mass","metric")',
        E2='=HOPPER_BLEND_DENSITY(A1:A2,{0.6;0.3},,"metric")',
        E3='=HOPPER_REGRIND_DENSITY("0.6 kg/L",,"metric")',
        E4="=HOPPER_NEXT_SIZE(20,D2:D4)",
        E5="=HOPPER_NEXT_SIZE(20,D1:D4)",
        E6="=HOPPER_HELD_MASS(NA(),36.5)",
        E7="=IF(ISNA(HOPPER_NEXT_SIZE(50,D2:D4)),\"none\",1)",
        E8="=SUM(HOPPER_HELD_MASS(16,36.5),1)",
        E9="=HOPPER_HELD_MASS(16)",
        E10='=HOPPER_EXPLAIN("HOPPER_HELD_MASS",16,36.5)=""',
        E11='=HOPPER_HELD_MASS(16,C1)',
        E12="=HOPPER_HELD_MASS(16,36.5,)",
        E13=ArrayFormula("E13:F16", "=HOPPER_SIZE_JOBS(A1:A2,D2:D4)"),
    )  # fmt: skip
    book_values = fresh_values(book, engine)["Sheet"]
    # Calc itself answers for a range with an error in it, and not with that error (Err:504).
    # E1, E2: half and half of 600 and 300 kg/m3 is 400 by mass and 450 by volume (arithmetic).
    wanted = {
        "E1": 0.4, "E2": 0.45, "E3": 0.3, "E4": 25.0,
        "E5": "#VALUE!" if engine == "calc" else "#N/A", "E6": "#N/A", "E7": "none",
        "E8": 585.0, "E9": "#VALUE!", "E10": False, "E11": "#VALUE!", "E12": 584.0,
        "E13": "#VALUE!", "F16": "#VALUE!",
    }  # fmt: skip
    wrong = {
        r: (book_values.get(r), v) for r, v in wanted.items() if not agrees(book_values.get(r), v)
    }
    assert not wrong


@pytest.mark.calc
def test_ten_thousand_function_cells(tmp_path: Path) -> None:
    rows, path = 10_000, tmp_path / "big.xlsx"
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Big")
    for row in range(1, rows + 1):
        sheet.append([row, 4, 36.5, f"=HOPPER_REQUIRED_VOLUME(A{row},B{row},C{row})"])
    book.save(path)
    report = compute(path, path, "calc")
    assert (report.cells, report.errors) == (rows, [])
    values = Package(path).values("Big")
    for row in range(1, rows + 1):
        assert values[f"D{row}"] == pytest.approx(row * 4 / 36.5, rel=1e-12)  # arithmetic


@pytest.mark.calc
def test_what_calc_does_not_know_is_computed_here_or_kept_and_told(tmp_path: Path) -> None:
    """LET came with Excel 2021 and LibreOffice 24.8; NOSUCH is some company's own function."""
    path = workbook(
        tmp_path / "new.xlsx",
        A1="=_xlfn.LET(_xlpm.x,20,_xlpm.x+1)",
        A2="=A1*2",
        A3="=NOSUCH(1)",
        A4="=NOSUCH(2)",
        A5="=IFERROR(NOSUCH(3),0)+1",  # Calc alone would make it 1
        A6="=A4*2",
    )
    package = Package(path)
    package.set_values("Sheet", {"A1": 99.0, "A2": 198.0, "A4": 5.0, "A5": 8.0})
    package.save(path)
    report = compute(path, path, "calc")
    with Office() as office:
        knows = tuple(map(int, office.version().split(".")[:2])) >= (24, 8)
    assert Package(path).values("Sheet") == {
        "A1": 21.0, "A2": 42.0, "A3": "#NAME?", "A4": 5.0, "A5": 8.0, "A6": 10.0,
    }  # fmt: skip
    assert report.by_core == ([] if knows else ["Sheet!A1"])
    assert [kept.where for kept in report.kept] == ["Sheet!A3", "Sheet!A4", "Sheet!A5"]
    assert all(kept.why == f"{report.engine} does not know NOSUCH" for kept in report.kept)
    assert report.follows == ["Sheet!A6"]
    assert report.cells == 3
    assert report.errors == ["Sheet!A3 #NAME?"]
    lines = list(receipt(report))
    assert lines[0].startswith("6 formulas: ") and "3 kept as stored" in lines[0]
    assert f"Kept: Sheet!A3:A5: {report.engine} does not know NOSUCH." in lines


def test_the_core_keeps_what_it_cannot_compute_and_says_what_follows(tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "odd.xlsx",
        A1="=NOSUCH(1)",
        A2="=A1*2",
        B1="=B2",
        B2="=B1",
        C1="=[1]Other!A1+1",
        C2="=C1*2",
    )
    package = Package(path)
    package.set_values("Sheet", {"A1": 5.0, "C1": 7.0})
    package.save(path)
    report = compute(path, path, "core")
    assert {kept.where: kept.why for kept in report.kept} == {
        "Sheet!A1": "the function NOSUCH",
        "Sheet!B1": "a circle: it follows from itself through Sheet!B2",
        "Sheet!C1": "[1]Other!A1, which refers to another workbook",
    }
    assert report.follows == ["Sheet!A2", "Sheet!B2", "Sheet!C2"]
    assert report.cells == 3
    values = Package(path).values("Sheet")
    assert (values["A1"], values["A2"], values["C1"], values["C2"]) == (5.0, 10.0, 7.0, 14.0)


@pytest.mark.parametrize("engine", ENGINES)
def test_bound_names_are_computed_and_stay(engine: str, tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "bound.xlsx", A1=r"='C:\x\hoppersheet.xlam'!HOPPER_HELD_MASS(16,36.5)"
    )
    report = compute(path, path, engine)
    cell = Package(path).cells("Sheet")["A1"]
    assert (cell.value, report.bound) == (584.0, 1)
    assert cell.formula == r"'C:\x\hoppersheet.xlam'!HOPPER_HELD_MASS(16,36.5)"


def test_the_receipt_counts_and_takes_one_for_one() -> None:
    kept = [Kept("S", "A1", "the function NOSUCH")]
    one = list(receipt(Computed("X", cells=3, changed=2, kept=kept, follows=["S!A2"], bound=1)))
    assert one[0] == "4 formulas: 3 computed by X, 1 kept as stored; 2 changed."
    assert one[2].startswith("1 cell depends on ") and one[3].startswith("1 formula has ")
    two = list(receipt(Computed("X", kept=kept, follows=["S!A2", "S!A3"], bound=2)))
    assert two[2].startswith("2 cells depend on ") and two[3].startswith("2 formulas have ")


def test_the_command(tmp_path: Path) -> None:
    run = CliRunner()
    book, out = tmp_path / "b.xlsx", tmp_path / "out.xlsx"
    workbook(book, A1="=HOPPER_HELD_MASS(16,36.5)", A2="=HOPPER_HELD_MASS(16,0.5)")
    before = book.read_bytes()
    result = run.invoke(cli, ["compute", str(book), "--out", str(out), "--engine", "core"])
    assert result.exit_code == 0
    assert result.output.startswith("2 formulas: 2 computed by hoppersheet ")
    assert "recalculate-on-open flag" in result.output
    assert "1 cell shows an error: Sheet!A2 #NUM!." in result.output
    assert book.read_bytes() == before
    workbook(book, A1="=B1", B1="=A1")
    words = ["compute", str(book), "--out", str(out), "--engine", "core", "--force"]
    result = run.invoke(cli, words)
    assert (
        result.exit_code == 1
        and "Kept: Sheet!A1: a circle: it follows from itself through Sheet!B1." in result.output
    )
    book.write_bytes(before[:100])
    result = run.invoke(cli, ["compute", str(book), "--out", str(tmp_path / "no.xlsx")])
    assert isinstance(result.exception, InputFileError) and not (tmp_path / "no.xlsx").exists()
