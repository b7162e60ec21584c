"""Spreadsheet files with plain function names, as Excel users and openpyxl write them."""

from __future__ import annotations

import csv
import subprocess
import zipfile
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.workbook.protection import WorkbookProtection
from openpyxl.worksheet.formula import ArrayFormula

from hoppersheet.errors import HostError
from hoppersheet.hosts.calc import profiles, programs
from hoppersheet.hosts.calc.office import Office

pytestmark = pytest.mark.calc


@pytest.fixture(scope="module")
def profile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A profile with the add-in in it, for an office that nobody drives."""
    return profiles.copy_prepared(programs.find(), tmp_path_factory.mktemp("lo") / "profile")


def workbook(path: Path) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet["A1"], sheet["A2"], sheet["A3"] = 16, 36.5, "16 ft3"
    sheet["B1"] = "=HOPPER_HELD_MASS(A1,A2)"
    sheet["B2"] = "=HOPPER_HELD_HOURS(HOPPER_RATED_VOLUME(560,35),A2,100)"
    sheet["B3"] = '=IF(ISNA(HOPPER_NEXT_SIZE(900,A1:A2)),"none","some")'
    sheet["B4"] = "=HOPPER_HELD_MASS(A1,0.55)"
    sheet["B5"] = ArrayFormula("B5:B6", "=HOPPER_NEXT_SIZE(12,A1:A2)")
    sheet["B7"] = "=mass_held"
    sheet["B8"] = "=HOPPER_HELD_MASS(A3,A2)"
    sheet["B9"] = "=SUM(B1,B8)"
    book.defined_names["mass_held"] = DefinedName(
        "mass_held", attr_text="HOPPER_HELD_MASS(Sheet!$A$1,Sheet!$A$2)"
    )
    other = book.create_sheet("Second sheet")
    other["A1"] = "=HOPPER_SIZE_BELOW(25,Sheet!A1:A2)"
    book.save(path)
    return path


#: Arithmetic identities: 16 ft3 x 36.5 lb/ft3 = 584 lb; 584 lb at 100 lb/h.
SHOWN = ["584", "5.84", "none", "#NUM!", "16", "16", "584", "584", "1168"]


def with_stored_values(source: Path, target: Path) -> Path:
    """The same workbook as a program saves that stores values: each formula shows 1."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename == "xl/worksheets/sheet1.xml":
                assert content.count(b"<v />") + content.count(b"<v></v>") >= 8
                content = content.replace(b"<v />", b"<v>1</v>").replace(b"<v></v>", b"<v>1</v>")
            if entry.filename == "xl/workbook.xml":
                content = content.replace(b' fullCalcOnLoad="1"', b"")
            new.writestr(entry, content)
    return target


def converted(path: Path, profile: Path) -> list[str]:
    """Column B as an office that is only told to convert the file shows it."""
    subprocess.run(
        [
            str(programs.find().soffice), f"-env:UserInstallation={profile.as_uri()}",
            "--headless", "--convert-to", "csv", "--outdir", str(path.parent), str(path),
        ],
        check=True, capture_output=True, timeout=60,
    )  # fmt: skip
    with path.with_suffix(".csv").open(encoding="utf-8", newline="") as file:
        return [row[1] for row in csv.reader(file)]


def test_a_plain_conversion_shows_numbers(tmp_path: Path, profile: Path) -> None:
    assert converted(workbook(tmp_path / "plain.xlsx"), profile) == SHOWN


def test_stored_values_are_computed_afresh(tmp_path: Path, profile: Path, office: Office) -> None:
    stored = with_stored_values(workbook(tmp_path / "plain.xlsx"), tmp_path / "stored.xlsx")
    shown = converted(stored, profile)
    # Where Calc had to learn our names it computes. What a newer Calc knows from the start keeps
    # its stored value until something changes, as with Calc's own functions.
    knows_plain_names = int(office.version().split(".")[0]) >= 24
    kept = ["1", "1", "1", "1", "16", "16", "1", "1", "1"]  # arrays are always computed
    assert shown == (kept if knows_plain_names else SHOWN)
    values = office.compute(stored)["Sheet"]
    assert (values["B1"], values["B4"], values["B7"]) == (584.0, "#NUM!", 584.0)


def test_compute_gives_every_formula_cell(tmp_path: Path, office: Office) -> None:
    path = workbook(tmp_path / "book.xlsx")
    before = path.read_bytes()
    values = office.compute(path, save_as=tmp_path / "saved.xlsx", pdf=tmp_path / "book.pdf")
    assert values == {
        "Sheet": {
            "B1": 584.0,
            "B2": 5.84,
            "B3": "none",
            "B4": "#NUM!",
            "B5": 16.0,
            "B6": 16.0,
            "B7": 584.0,
            "B8": 584.0,
            "B9": 1168.0,
        },
        "Second sheet": {"A1": 16.0},
    }
    assert path.read_bytes() == before
    assert (tmp_path / "book.pdf").read_bytes().startswith(b"%PDF")
    saved = openpyxl.load_workbook(tmp_path / "saved.xlsx", data_only=True)["Sheet"]
    assert (saved["B2"].value, saved["B4"].value) == (5.84, "#NUM!")


def test_convert_writes_what_the_name_says(tmp_path: Path, office: Office) -> None:
    path = workbook(tmp_path / "book.xlsx")
    office.convert(path, tmp_path / "book.ods")
    with zipfile.ZipFile(tmp_path / "book.ods") as archive:
        assert b"opendocument.spreadsheet" in archive.read("mimetype")
    # What Calc saved in its own format computes again.
    assert office.compute(tmp_path / "book.ods")["Sheet"]["B1"] == 584.0
    with pytest.raises(HostError, match=r"book\.docx: LibreOffice cannot write \.docx"):
        office.convert(path, tmp_path / "book.docx")


@pytest.fixture
def broken(tmp_path: Path) -> Iterator[Path]:
    path = tmp_path / "broken.xlsx"
    path.write_bytes(b"PK\x03\x04 this is not a workbook")
    yield path


def test_a_file_that_cannot_be_opened_is_named(broken: Path, office: Office) -> None:
    with pytest.raises(HostError, match=r"broken\.xlsx"):
        office.compute(broken)
    with pytest.raises(HostError, match=r"missing\.xlsx does not exist"):
        office.compute(broken.with_name("missing.xlsx"))
    assert office.call("HOPPER_HELD_MASS", [16, 36.5]) == 584.0


def test_ten_thousand_cells_compute_in_seconds(tmp_path: Path, office: Office) -> None:
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Many")
    for row in range(1, 10_001):
        sheet.append([50 + row / 100, 4, 36.5, f"=HOPPER_REQUIRED_VOLUME(A{row},B{row},C{row})"])
    book.save(tmp_path / "many.xlsx")
    values = office.compute(tmp_path / "many.xlsx")["Many"]
    assert len(values) == 10_000
    for row in range(1, 10_001):
        # Arithmetic identity: throughput x hours / density.
        assert values[f"D{row}"] == pytest.approx((50 + row / 100) * 4 / 36.5, rel=1e-12)


@pytest.mark.parametrize("locked", [False, True])
def test_many_error_cells_keep_each_their_own_error(
    tmp_path: Path, office: Office, locked: bool
) -> None:
    """Asked for all at once; one by one where the structure of the workbook is locked."""
    kinds = {
        "=HOPPER_HELD_MASS(16,0.55)": "#NUM!",
        "=HOPPER_NEXT_SIZE(900,10)": "#N/A",
        "=1/0": "#DIV/0!",
        '=HOPPER_HELD_MASS("x",36.5)': "#VALUE!",
        "=NOSUCH(1)": "#NAME?",
        "=HOPPER_HELD_MASS(16,36.5)": 584.0,
    }
    book = openpyxl.Workbook()
    if locked:
        book.security = WorkbookProtection(lockStructure=True)
    book.remove(book.active)
    expected: dict[str, dict[str, object]] = {}
    for name in ("It's one", "Two.b"):
        sheet, here = book.create_sheet(name), expected.setdefault(name, {})
        for row in range(2, 42):
            for column, shift in (("C", 0), ("D", row // 6 + 1)):
                formula = list(kinds)[(row + shift) % len(kinds)]
                sheet[f"{column}{row}"], here[f"{column}{row}"] = formula, kinds[formula]
    # The errors are found with the help of a sheet of their own, which nothing else may see.
    sheet["F1"], here["F1"] = "=_xlfn.SHEETS()", 2.0
    book.save(tmp_path / "errors.xlsx")
    assert office.compute(tmp_path / "errors.xlsx") == expected
