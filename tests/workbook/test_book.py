"""The model of a workbook, against what openpyxl, an independent reader, finds in the same file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from openpyxl.utils.datetime import to_excel
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula
from openpyxl.worksheet.table import Table

from hoppersheet.workbook.book import read_book

WORKBOOKS = sorted((Path(__file__).parents[2] / "workbooks").glob("*.xlsx"))


def plain(value: Any) -> Any:
    """A value of openpyxl's as a cell's."""
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return value
    return float(value) if isinstance(value, (int, float)) else float(to_excel(value))


def formula_of(value: Any) -> str | None:
    if isinstance(value, ArrayFormula):
        return "=" + str(value.text).removeprefix("=")
    return value if isinstance(value, str) and value.startswith("=") else None


@pytest.mark.parametrize("path", WORKBOOKS, ids=lambda path: path.stem)
def test_cells_names_tables_and_formats_are_those_of_another_reader(path: Path) -> None:
    formulas, values = openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)
    book = read_book(path)
    assert list(book.sheets) == formulas.sheetnames
    compared = 0
    for sheet in formulas.worksheets:
        here = book.sheets[sheet.title]
        assert here.hidden == (sheet.sheet_state != "visible")
        hidden = {row for row, d in sheet.row_dimensions.items() if d.hidden}
        assert here.hidden_rows == hidden
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value is None:
                    assert (cell.row, cell.column) not in here.cells
                    continue
                compared += 1
                found = here.cells[cell.row, cell.column]
                assert found.formula == formula_of(cell.value)
                # openpyxl gives no value where a formula's text is empty
                other = plain(values[sheet.title][cell.coordinate].value)
                # and counts a time of day in microseconds
                assert (found.value or None) == (other or None) or found.value == pytest.approx(
                    other, rel=1e-12
                )
                assert found.style.number_format == cell.number_format
        assert len(here.settings.merged) == len(sheet.merged_cells.ranges)
        assert len(here.settings.validations) == len(sheet.data_validations.dataValidation)
        tables = [t for t in book.tables.values() if t.sheet == sheet.title]
        assert len(tables) == len(sheet.tables)
    assert compared > 100
    names = {name.lower() for name in formulas.defined_names}
    assert {name for name in book.names if "!" not in name} == names


@pytest.fixture
def everything(tmp_path: Path) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "One"
    sheet["A1"], sheet["B1"], sheet["A2"], sheet["B2"] = "Rate", "Hours", 120, 3.5
    sheet.add_table(Table(displayName="Jobs", ref="A1:B2"))
    sheet["C1"], sheet["C1"].font = 7, Font(color="FFFFFFFF")
    sheet["C2"], sheet["C2"].fill = 8, PatternFill("solid", fgColor="FF334455")
    sheet["C3"], sheet["C3"].number_format = 0.5, '0.0%" of it"'
    sheet["C4"], sheet["C4"].number_format = 0.5, '0.0" % by hand"'
    sheet["D1"] = ArrayFormula("D1:D2", "=A2:A3*2")
    sheet["D2"] = 0
    sheet["E1"] = DataTableFormula(ref="E1:E3", r1="A2", dt2D=False)
    sheet["F1"], sheet["F1"].hyperlink = "see", "https://example.org/list"
    sheet["A2"].comment = Comment("from the press sheet", "me")
    check = DataValidation(type="list", formula1='"volume,mass"')
    check.add("G1:G9")
    sheet.add_data_validation(check)
    sheet.column_dimensions["H"].hidden = True
    sheet.row_dimensions[9].hidden = True
    sheet.merge_cells("I1:J2")
    book.create_sheet("Two").sheet_state = "hidden"
    book.create_chartsheet("Picture")
    book.save(tmp_path / "everything.xlsx")
    return tmp_path / "everything.xlsx"


def test_what_stands_around_the_cells(everything: Path) -> None:
    book = read_book(everything)
    one = book.sheets["One"]
    assert book.sheets["Two"].hidden and not one.hidden
    assert "Picture" not in book.sheets and not book.unread
    assert one.hidden_columns == {8} and one.hidden_rows == {9}
    assert one.settings.merged == [(1, 9, 2, 10)]
    assert one.settings.links == {(1, 6): "https://example.org/list"}
    assert one.settings.comments == {(2, 1): "from the press sheet"}
    (check,) = one.settings.validations
    assert (check.areas, check.kind, check.formulas) == (
        ((1, 7, 9, 7),), "list", ('"volume,mass"',),
    )  # fmt: skip
    assert one.cells[1, 3].style.font == one.cells[1, 3].style.fill == "FFFFFF"
    assert one.cells[2, 3].style.fill == "334455"
    assert one.cells[3, 3].percent and not one.cells[4, 3].percent
    assert book.tables["jobs"].area("@Hours", 2) == ("One", 2, 2, 2, 2)


def test_what_an_array_or_a_data_table_fills_is_not_typed(everything: Path) -> None:
    one = read_book(everything).sheets["One"]
    assert one.cells[1, 4].filled == (1, 4, 2, 4)
    assert one.cells[2, 4].spill == "D1" and not one.cells[2, 4].typed
    assert one.cells[1, 5].formula == "=TABLE(A2)"
