"""Copies that live without the add-in: the same results, the same errors, nothing else changed.

The reference is the core, whose own values are checked against published ones in ``vectors``.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from audit.audit_books import COLUMN, FIRST, LINES, SIZES, at, clean_book, stored
from carried.other_engine import values as in_another_engine
from hoppersheet.call import call
from hoppersheet.functions import all_functions
from hoppersheet.handoff import HandedOff, blocks, hand_off
from hoppersheet.templates.check import build as build_check
from hoppersheet.templates.saving import save_workbook
from hoppersheet.workbook.book import Book, read_book
from hoppersheet.workbook.evaluator import Evaluator
from hoppersheet.workbook.package import Package

WORKBOOKS = Path(__file__).parents[2] / "workbooks"


def values_of(path: Path) -> tuple[Book, Evaluator]:
    book = read_book(path)
    values = Evaluator(book)
    values.calculate()
    return book, values


def same(a: Any, b: Any) -> bool:
    if a in (None, "") and b in (None, ""):
        return True
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return abs(a - b) <= 1e-9 * max(abs(a), abs(b), 1e-12)
    return bool(a == b)


def calculated_without_the_add_in(plain: Path, folder: Path) -> Any:
    """The copy as a Calc without our add-in calculates it: no stored value is left to show."""
    bare = folder / "bare.xlsx"
    openpyxl.load_workbook(plain).save(bare)  # openpyxl drops every stored value
    soffice = shutil.which("soffice")
    assert soffice, "LibreOffice Calc is needed for this test"
    done = subprocess.run(
        [
            soffice, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless",
            "--convert-to", "xlsx", "--outdir", str(folder / "out"), str(bare),
        ],
        capture_output=True, text=True, timeout=180,
    )  # fmt: skip
    assert (folder / "out" / "bare.xlsx").exists(), done.stderr
    return openpyxl.load_workbook(folder / "out" / "bare.xlsx", data_only=True)


def differing(source: Path, report: HandedOff, calculated: Any, only_ours: bool) -> list[str]:
    """Cells whose calculated value is not the core's; at least 50 are compared."""
    book, values = values_of(source)
    wrong, compared = [], 0
    for cell in book.sizing_cells if only_ours else book.formulas():
        sheet, row, column = cell.place
        ref = f"{sheet}!{get_column_letter(column)}{row}"
        if ref in report.frozen or cell.place in values.unknown:
            continue
        got, want = calculated[sheet].cell(row, column).value, values.cell_value(cell.place)
        compared += 1
        if hasattr(got, "year"):  # a date; nothing of ours
            continue
        if not same(got, want):
            wrong.append(f"{ref}: {got!r} instead of {want!r}")
    assert compared > 50
    return wrong


@pytest.mark.calc
def test_every_vector_with_an_equivalent_computes_without_the_add_in(tmp_path: Path) -> None:
    source = tmp_path / "check.xlsx"
    save_workbook(build_check(), source)
    report = hand_off(source, tmp_path / "plain.xlsx", engine="core")
    assert report.plain > 150 and report.left == []
    calculated = calculated_without_the_add_in(tmp_path / "plain.xlsx", tmp_path)
    assert differing(source, report, calculated, only_ours=True) == []


@pytest.mark.calc
def test_the_demo_quote_keeps_all_totals_without_the_add_in(tmp_path: Path) -> None:
    source = WORKBOOKS / "demo_quote.xlsx"
    report = hand_off(source, tmp_path / "plain.xlsx", engine="core")
    calculated = calculated_without_the_add_in(tmp_path / "plain.xlsx", tmp_path)
    assert differing(source, report, calculated, only_ours=False) == []
    frozen = {place.split("!")[0] for place in report.frozen}
    assert "Quote" not in frozen and "Catalog" not in frozen


def _plain(book: Any, folder: Path) -> tuple[HandedOff, Path]:
    source = stored(book, folder / "source.xlsx")
    return hand_off(source, folder / "plain.xlsx", engine="core"), folder / "plain.xlsx"


def test_the_copy_holds_none_of_our_names_and_computes_the_same(tmp_path: Path) -> None:
    report, plain = _plain(clean_book(), tmp_path)
    assert (report.plain, report.frozen) == (6 * LINES, {})
    assert b"HOPPER_" not in b"".join(_parts(plain).values())
    _, before = values_of(tmp_path / "source.xlsx")
    book, after = values_of(plain)
    assert after.unknown == {}
    for cell in book.cells():
        assert same(after.cell_value(cell.place), before.cell_value(cell.place)), cell.place
        assert same(cell.value, after.cell_value(cell.place))  # stored values too


@pytest.mark.parametrize(
    ("key", "value", "shows"),
    [
        ("hours", 0.1667, "#NUM!"),  # a clock time
        ("hours", None, "#VALUE!"),  # a blank is never taken for 0
        ("rate", "#N/A", "#N/A"),  # an error comes through
        ("virgin", 0.55, "#NUM!"),  # kg/L typed where lb/ft3 is expected
        ("virgin_share", 0.9, None),  # regrind share follows: still a whole
        ("basis", "by weight", None),
        ("basis", "by the bucket", "#VALUE!"),
        ("basis", "", "#VALUE!"),
    ],
)
def test_limits_and_errors_stay(key: str, value: Any, shows: str | None, tmp_path: Path) -> None:
    """The copy is made from the good book; the slip is made in the copy."""
    _, plain = _plain(clean_book(), tmp_path)
    results = []
    for path in (tmp_path / "source.xlsx", plain):
        book = openpyxl.load_workbook(path)
        cell = book["Sizing"][at(key, 0)]
        cell.value = value
        if value == "":
            cell.value = '=""'
        book.save(tmp_path / "slip.xlsx")
        _, values = values_of(tmp_path / "slip.xlsx")
        row = openpyxl.utils.cell.coordinate_to_tuple(at("required", 0))
        results.append(values.cell_value(("Sizing", *row)))
    assert same(*results)
    assert results[0] == shows if shows else isinstance(results[0], float)


def test_the_unit_switch_goes_on_working(tmp_path: Path) -> None:
    source = WORKBOOKS / "demo_quote.xlsx"
    hand_off(source, tmp_path / "plain.xlsx", engine="core")
    found = []
    for path in (source, tmp_path / "plain.xlsx"):
        book = openpyxl.load_workbook(path)
        sheet, cell = book.defined_names["unit_system"].attr_text.replace("$", "").split("!")
        assert book[sheet.strip("'")][cell].value == "US"
        book[sheet.strip("'")][cell] = "metric"
        book.save(tmp_path / "metric.xlsx")
        read, values = values_of(tmp_path / "metric.xlsx")
        found.append(
            {
                cell.place: values.cell_value(cell.place)
                for cell in read.sheets["Sizing"].cells.values()
                if isinstance(values.cell_value(cell.place), float)
            }
        )
    with_add_in, plain = found
    assert len(plain) > 100
    assert [p for p, value in plain.items() if not same(value, with_add_in.get(p))] == []


def test_what_has_no_equivalent_says_so_in_its_cell(tmp_path: Path) -> None:
    book = clean_book()
    sheet = book["Sizing"]
    sheet["B1"] = '=HOPPER_RESIN("PC","drying hours")'
    sheet["C1"] = '=1+HOPPER_RESIN("PC","drying hours")'
    sheet[at("rate", 0)] = "27.2155422 kg/h"
    report, plain = _plain(book, tmp_path)
    assert set(report.frozen) == {"Sizing!B1", "Sizing!C1", f"Sizing!{at('required', 0)}"}
    copy = openpyxl.load_workbook(plain)["Sizing"]
    hours = copy["B1"].value
    assert isinstance(hours, (int, float)) and copy["C1"].value == f"=1+{hours:g}"
    for cell in ("B1", "C1", at("required", 0)):
        comment = copy[cell].comment.text
        assert comment.startswith("Frozen") and f"The formula was: {sheet[cell].value}" in comment
    # 27.2155422 kg/h is 60 lb/h, as in the clean book
    assert copied_value(plain, "required", 0) == pytest.approx(240 / 28, rel=1e-9)


def copied_value(path: Path, key: str, line: int) -> Any:
    """A cell of the list as the copy's own formulas give it."""
    place = openpyxl.utils.cell.coordinate_to_tuple(at(key, line))
    return values_of(path)[1].cell_value(("Sizing", *place))


@pytest.mark.parametrize(
    ("key", "value"),
    [("rate", "30 kg/h"), ("rate", 60.0), ("hours", 5), ("virgin", 30), ("hours", None)],
)
def test_a_frozen_value_does_not_outlive_its_inputs(key: str, value: Any, tmp_path: Path) -> None:
    """Else a customer would change the hours and read the old volume."""
    book = clean_book()
    book["Sizing"][at("rate", 0)] = "27.2155422 kg/h"
    _, plain = _plain(book, tmp_path)
    copy = openpyxl.load_workbook(plain)
    copy["Sizing"][at(key, 0)] = value
    copy.save(tmp_path / "changed.xlsx")
    shown = copied_value(tmp_path / "changed.xlsx", "required", 0)
    assert shown in ("#N/A", "#VALUE!")


def test_prepared_rows_have_one_comment_and_say_so_when_used(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Resins"
    sheet.append(["Resin", "Density", "Hours", "Room", "Dew point"])
    for row in range(2, 8):
        sheet.append(["PC" if row == 2 else None])
        for column, name in ((2, "bulk density"), (3, "drying hours")):
            sheet.cell(row, column, f'=IF($A{row}="","",HOPPER_RESIN($A{row},"{name}"))')
        sheet.cell(row, 5, f'=IF($D{row}="","",HOPPER_DEW_POINT($D{row},0.5))')
    source = stored(book, tmp_path / "source.xlsx")
    report = hand_off(source, tmp_path / "plain.xlsx", engine="core")
    assert len(report.frozen) == 18
    copy = openpyxl.load_workbook(tmp_path / "plain.xlsx")
    comments = {c.coordinate: c.comment.text for row in copy["Resins"] for c in row if c.comment}
    assert set(comments) == {"B2", "C2", "B3", "E2"}  # in use: each; prepared: one per block
    assert "B3:C7" in comments["B3"] and "E2:E7" in comments["E2"]
    copy["Resins"]["A2"], copy["Resins"]["A3"], copy["Resins"]["D4"] = "ABS", "PET", 75
    copy.save(tmp_path / "used.xlsx")
    _, values = values_of(tmp_path / "used.xlsx")
    shown = [values.cell_value(("Resins", *place)) for place in ((2, 2), (3, 2), (3, 3), (4, 5))]
    assert shown == ["needs the add-in"] * 3 + ["#N/A"]


def test_calls_outside_of_cells_are_rewritten_or_named(tmp_path: Path) -> None:
    from openpyxl.formatting.rule import FormulaRule
    from openpyxl.styles import PatternFill
    from openpyxl.workbook.defined_name import DefinedName
    from openpyxl.worksheet.datavalidation import DataValidation

    book = clean_book()
    sheet = book["Sizing"]
    rate, hours, blend = (f"Sizing!${COLUMN[k]}${FIRST}" for k in ("rate", "hours", "blend"))
    volume = f"HOPPER_REQUIRED_VOLUME({rate},{hours},{blend})"
    for name, text in {
        "first_volume": volume, "pc_hours": 'HOPPER_RESIN("PC","drying hours")',
    }.items():  # fmt: skip
        book.defined_names[name] = DefinedName(name, attr_text=text)
    sheet["B1"], sheet["C1"] = "=2*first_volume", "=2*pc_hours"
    area = f"{at('chosen', 0)}:{at('chosen', LINES - 1)}"
    rule = f"HOPPER_SIZE_MARGIN({at('chosen', 0)},{at('required', 0)})<0"
    red = PatternFill("solid", bgColor="FFFF0000")
    sheet.conditional_formatting.add(area, FormulaRule(formula=[rule], fill=red))
    short = DataValidation("custom", formula1=f"HOPPER_COUNT({at('required', 0)},{SIZES})=1")
    short.add(at("quantity", 0))
    sheet.add_data_validation(short)
    report, plain = _plain(book, tmp_path)
    assert report.others == 2
    assert report.left == ["defined name pc_hours", f"validation Sizing!{at('quantity', 0)}"]
    assert report.frozen == {"Sizing!C1": "a call stands in a defined name and has no equivalent"}
    copy = openpyxl.load_workbook(plain)
    assert "HOPPER_" not in copy.defined_names["first_volume"].attr_text
    (formats,) = copy["Sizing"].conditional_formatting
    assert (
        "HOPPER_" not in formats.rules[0].formula[0]
        and at("chosen", 0) in formats.rules[0].formula[0]
    )
    _, values = values_of(plain)
    assert values.cell_value(("Sizing", 1, 2)) == pytest.approx(2 * 240 / 28, rel=1e-9)
    assert copy["Sizing"]["C1"].value == 2 * call("HOPPER_RESIN", "PC", "drying hours")


def test_cells_as_few_rectangles() -> None:
    cells = {(r, c) for r in (2, 3, 4) for c in (1, 2)} | {(2, 4), (5, 1)}
    assert blocks(cells) == [(2, 1, 5, 1), (2, 2, 4, 2), (2, 4, 2, 4)]
    assert blocks({(1, 1), (1, 2), (2, 1), (2, 2)}) == [(1, 1, 2, 2)]


def _parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as package:
        return {name: package.read(name) for name in package.namelist()}


def test_values_keep_the_formulas_as_comments(tmp_path: Path) -> None:
    source = stored(clean_book(), tmp_path / "source.xlsx")
    report = hand_off(source, tmp_path / "values.xlsx", values_only=True, engine="core")
    assert len(report.frozen) == 6 * LINES
    before, after = _parts(source), _parts(tmp_path / "values.xlsx")
    touched = {n for n, data in before.items() if after[n] != data}
    assert touched == {"[Content_Types].xml", "xl/worksheets/sheet1.xml"}
    formulas = openpyxl.load_workbook(source)["Sizing"]
    copy = openpyxl.load_workbook(tmp_path / "values.xlsx")["Sizing"]
    cell = copy[at("required", 0)]
    assert cell.value == pytest.approx(240 / 28, rel=1e-12)
    assert cell.comment.text.endswith(formulas[at("required", 0)].value)
    assert copy[at("total", 0)].value == formulas[at("total", 0)].value  # not one of ours


def test_the_registry_has_an_equivalent_for_all_plain_arithmetic() -> None:
    without = {name for name, record in all_functions().items() if not record.plain}
    assert without == {
        "HOPPER_CHANCE_HELD",
        "HOPPER_CONVERT",
        "HOPPER_DEW_POINT",
        "HOPPER_EXPLAIN",
        "HOPPER_RESIN",
        "HOPPER_SIZE_JOBS",
        "HOPPER_VERSION",
    }  # fmt: skip; HOPPER_CONVERT is written out from its units


def test_the_command(tmp_path: Path) -> None:
    source = stored(clean_book(), tmp_path / "source.xlsx")

    def run(*options: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "hoppersheet", "handoff", str(source), *options],
            capture_output=True, text=True, timeout=120,
        )  # fmt: skip

    out = str(tmp_path / "out.xlsx")
    done = run("--plain", "--out", out, "--engine", "core")
    assert done.returncode == 0 and "48 cells now use plain formulas" in done.stdout
    assert run("--values", "--out", out, "--engine", "core", "--force").returncode == 0
    done = run("--out", out)
    assert done.returncode == 2 and "--plain, --values" in done.stderr


def test_another_engine_computes_the_plain_copy_of_the_check_book(tmp_path: Path) -> None:
    # IronCalc takes no range for one of its cells, as Excel does in formulas of the old kind.
    save_workbook(build_check(), tmp_path / "check.xlsx")
    report = hand_off(tmp_path / "check.xlsx", tmp_path / "plain.xlsx", engine="core")
    assert report.plain > 200 and not report.left
    package = Package(tmp_path / "plain.xlsx")
    for number, sheet in enumerate(package.sheets):
        cells = {
            ref: cell.value
            for ref, cell in package.cells(sheet.name).items()
            if cell.formula is not None and cell.value is not None
        }
        shown = in_another_engine(tmp_path / "plain.xlsx", cells, number)
        wrong = {
            ref: (value, want)
            for (ref, want), value in zip(cells.items(), shown, strict=True)
            if not same(value, want) and str(value) != str(want)
        }
        assert not wrong
    assert in_another_engine(tmp_path / "plain.xlsx", ["B4"]) == ["ALL PASS"]
