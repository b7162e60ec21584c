"""What the file of the quote workbook holds: formulas, validations, print, names, look."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.utils import get_column_letter

from hoppersheet.commands.compute import command as compute_command
from hoppersheet.commands.template import command as template_command
from hoppersheet.functions import all_functions
from hoppersheet.templates import quote
from hoppersheet.templates.cautions import CAUTIONS, CUSTOMER
from hoppersheet.templates.quote import catalog, checks, page_plan, typing_in
from hoppersheet.templates.quote.grid import PIXELS
from hoppersheet.templates.quote.line_check_list import LINE_CHECKS
from hoppersheet.templates.quote.line_checks import SIZING
from hoppersheet.templates.quote.line_columns import TYPED
from hoppersheet.templates.saving import save_workbook
from templates.quote_lines import GOOD


@pytest.fixture(scope="module")
def template() -> Any:
    return quote.build()


@pytest.fixture(scope="module")
def metric() -> Any:
    return quote.build("metric", rows=3)


def formulas(book: Any) -> list[tuple[str, str]]:
    return [
        (f"{sheet.title}!{cell.coordinate}", str(cell.value))
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]


#: Functions of Excel 2010 and LibreOffice 7.4 (both programs' function lists); nothing newer.
KNOWN = {
    "ABS", "AND", "AVERAGE", "CHAR", "CHOOSE", "COUNT", "COUNTA", "COUNTIF", "COUNTIFS", "DAY",
    "FIND", "HYPERLINK", "IF", "IFERROR", "INDEX", "INT", "ISBLANK", "ISERROR", "ISNA",
    "ISNUMBER", "ISTEXT", "LARGE", "LEFT", "LEN", "LOOKUP", "LOWER", "MATCH", "MAX", "MID",
    "MIN", "MOD", "MONTH", "N", "NA", "NOT", "OR", "REPT", "RIGHT", "ROUND", "ROW", "ROWS",
    "SEARCH", "SMALL", "SQRT", "SUBSTITUTE", "SUM", "SUMIF", "SUMPRODUCT", "TRIM", "UPPER",
    "VALUE", "YEAR",
}  # fmt: skip


def test_no_function_is_newer_than_excel_2010_and_few_of_ours_need_more_than_arithmetic(
    template: Any,
) -> None:
    used = set()
    for _, text in formulas(template):
        used |= set(re.findall(r"([A-Z][A-Z0-9_.]*)\(", re.sub(r'"[^"]*"', "", text)))
    ours = {name for name in used if name.startswith("HOPPER_")}
    assert ours <= set(all_functions())
    assert used - ours <= KNOWN
    # Neither the resin table nor an explanation is asked for: the book shows both by itself.
    assert not {"HOPPER_RESIN", "HOPPER_EXPLAIN", "HOPPER_SIZE_JOBS"} & ours
    assert {"HOPPER_CHANCE_HELD", "HOPPER_AIR_HEAT", "HOPPER_LOADED_MASS"} <= ours


def test_every_formula_is_one_that_excel_opens(template: Any, metric: Any) -> None:
    """Limits of Excel: 8,192 signs, 64 levels, texts of 255 signs; brackets that match."""
    for place, text in [*formulas(template), *formulas(metric)]:
        assert len(text) <= 8192, place
        assert all(len(t) <= 255 for t in re.findall(r'"((?:[^"]|"")*)"', text)), place
        bare = re.sub(r'"(?:[^"]|"")*"', "", text)
        depth = deepest = 0
        for sign in bare:
            depth += (sign == "(") - (sign == ")")
            deepest = max(deepest, depth)
            assert depth >= 0, place
        assert depth == 0, place
        assert deepest < 64, place


def test_no_cell_refers_to_itself(template: Any) -> None:
    """Excel refuses a circle; ROWS of a range with the cell in it is one."""
    for place, text in formulas(template):
        sheet, _, address = place.rpartition("!")
        letter, row = re.match(r"([A-Z]+)(\d+)", address).groups()  # type: ignore[union-attr]
        own = re.sub(r"('[^']*'|[A-Za-z]+)!\$?[A-Z]+\$?\d+(:\$?[A-Z]+\$?\d+)?", "", text)
        pattern = rf"(?<![A-Z!'$]){re.escape(f'${letter}')}\$?{row}(?!\d)"
        assert not re.search(pattern, re.sub(r'"[^"]*"', "", own)), place
        assert f"{sheet}!${letter}${row}" not in text, place


def test_each_column_has_one_formula_copied_down(template: Any) -> None:
    for table in (SIZING, catalog.TABLE, catalog.DRYERS):
        sheet = template[table.sheet]
        for column in table.columns:
            for row in range(table.first_row, table.last_row + 1):
                cell = sheet[table.cell(column.key, row)]
                if column.formula:
                    assert cell.value == table.formula(column.formula, row)


def test_every_typed_cell_has_a_validation_with_a_message(template: Any) -> None:
    inputs = 0
    for sheet in template:
        validated: dict[str, list[Any]] = {}
        for rule in sheet.data_validations.dataValidation:
            for span in rule.sqref.ranges:
                for column in range(span.min_col, span.max_col + 1):
                    for row in range(span.min_row, span.max_row + 1):
                        validated.setdefault(f"{get_column_letter(column)}{row}", []).append(rule)
        for row in sheet.iter_rows():
            for cell in row:
                if cell.style not in ("Hopper input", "Hopper needed"):
                    continue
                if type(cell).__name__ == "MergedCell":
                    continue
                (rule,) = validated[cell.coordinate]
                assert rule.showErrorMessage, f"{sheet.title}!{cell.coordinate}"
                assert 0 < len(rule.error) <= 255 and 0 < len(rule.prompt) <= 255
                assert 0 < len(rule.errorTitle) <= 32
                assert len(str(rule.formula1)) <= 255, rule.formula1
                inputs += 1
    assert inputs > 2000, "no cell has the style of an input any more"


def test_typed_columns_of_sizing_are_one_block() -> None:
    """So that the row that One line offers is pasted in one go."""
    places = [SIZING.columns.index(column) for column in SIZING.inputs]
    assert places == list(range(places[0], places[0] + len(TYPED)))
    assert [c.key for c in SIZING.inputs] == [c.key for c in TYPED]
    at = {key: n for n, key in enumerate(c.key for c in TYPED)}
    assert at["low"] + 1 == at["likely"] == at["high"] - 1


def _shown(sheet: Any, first: str, last: str) -> float:
    from hoppersheet.templates.quote.grid import letters_between

    return sum(
        sheet.column_dimensions[letter].width * PIXELS
        for letter in letters_between(first, last)
        if not sheet.column_dimensions[letter].hidden
    )


def test_sizing_fits_a_laptop_and_prints_readably(template: Any, metric: Any) -> None:
    """1366 x 768: a Calc window shows about 1,252 x 524 pixels, a bar of folds taken off 494."""
    sheet = template["Sizing"]
    assert _shown(sheet, "A", SIZING.letter("why")) <= 1252
    heights = [sheet.row_dimensions[row].height / 0.75 for row in range(1, 17)]
    assert sum(heights[:4]) + 12 * heights[4] <= 494, "fewer than twelve lines are visible"
    assert sheet.freeze_panes == f"{SIZING.letter('resin')}5"
    # Text of 9 points is printed with 8 or more.
    for book in (template, metric):
        assert 9 * book["Sizing"].page_setup.scale / 100 >= 8
        assert book["Sizing"].page_setup.orientation == "landscape"
    one = template["One line"]
    assert _shown(one, "A", "T") <= 1252
    assert sum(one.row_dimensions[row].height / 0.75 for row in range(1, 28)) <= 480


def test_paper_follows_the_units(template: Any, metric: Any) -> None:
    for sheet in template:
        assert str(sheet.page_setup.paperSize) == str(sheet.PAPERSIZE_LETTER), sheet.title
    for sheet in metric:
        assert str(sheet.page_setup.paperSize) == str(sheet.PAPERSIZE_A4), sheet.title


def test_the_page_has_no_typed_cell_no_fill_and_all_cautions(template: Any) -> None:
    sheet = template["Quote"]
    for row in sheet["A1:L60"]:
        for cell in row:
            assert cell.style not in ("Hopper input", "Hopper needed")
            assert cell.value is None or cell.data_type == "f" or cell.row <= 9
            assert cell.fill.fill_type is None
    assert not sheet.data_validations.dataValidation
    texts = " ".join(str(cell.value) for cell in template["Page plan"]["I"])
    about = {str(cell.value) for row in template["About"].iter_rows() for cell in row}
    assert all(caution in texts for caution in CUSTOMER)
    assert all(caution in about for caution in CAUTIONS)
    assert sheet.print_title_rows == "$9:$9"
    assert template.vba_archive is None


def test_names_that_other_parts_rely_on(template: Any) -> None:
    for name in ("unit_system", "demonstration", "quote_ready", "quote_total"):
        assert name in template.defined_names
    head = catalog.TABLE.first_row - 2
    headings = [cell.value for cell in template["Catalog"][head]]
    assert headings.count("invented") == 1
    assert template.sheetnames == list(quote.SHEETS)


def test_every_check_of_a_line_is_named_in_checks(template: Any) -> None:
    listed = {check.text for check in checks.all_checks()}
    for check in LINE_CHECKS:
        assert f"Lines: {check.heading}" in listed
    assert len(listed) == len(checks.all_checks())
    for row, check in enumerate(checks.all_checks(), checks.FIRST):
        assert template["Checks"][f"B{row}"].value == check.text
        assert check.sheet in template.sheetnames


def test_models_of_the_demonstration_are_all_marked_as_invented(template: Any) -> None:
    for table in (catalog.TABLE, catalog.DRYERS):
        sheet = template[table.sheet]
        rows = 0
        for row in range(table.first_row, table.last_row + 1):
            model = sheet[table.cell("model", row)].value
            if model:
                assert re.fullmatch(r"EXAMPLE-D?\d+", model)
                assert sheet[table.cell("invented", row)].value == "yes"
                rows += 1
        assert rows >= 10


# --- fill, rows, command ------------------------------------------------------------------


def test_lines_of_a_list_are_typed_into_sizing() -> None:
    book = quote.build(rows=4)
    evil = "=HYPERLINK(1)"
    typing_in.fill(book, (GOOD, {}, {"job": evil, "stated": "45 kg/h", "note": "density: table"}))
    sheet = book["Sizing"]
    assert sheet[SIZING.cell("resin", 5)].value == "PC/ABS"
    assert all(sheet[SIZING.cell(c.key, 6)].value is None for c in TYPED)
    assert sheet[SIZING.cell("job", 7)].data_type == "s"
    with pytest.raises(ValueError, match="rows for 4"):
        typing_in.fill(book, ({"job": "x"},) * 5)
    with pytest.raises(ValueError, match="no typed column 'colour'"):
        typing_in.fill(book, ({"colour": "red"},))


def test_a_text_that_came_in_does_not_leave_as_a_formula(tmp_path: Path) -> None:
    book = quote.build(rows=2)
    typing_in.fill(book, ({"job": "=1+1", "resin": "ABS"},))
    save_workbook(book, tmp_path / "q.xlsx")
    cell = openpyxl.load_workbook(tmp_path / "q.xlsx")["Sizing"][SIZING.cell("job", 5)]
    with zipfile.ZipFile(tmp_path / "q.xlsx") as package:
        at = quote.SHEETS.index("Sizing") + 1
        xml = package.read(f"xl/worksheets/sheet{at}.xml").decode()
    assert f'<c r="{cell.coordinate}"' in xml
    found = re.search(rf'<c r="{cell.coordinate}"[^>]*>(.*?)</c>', xml)
    assert found is not None and "<f>" not in found[1]


@pytest.mark.parametrize("rows", [1, 60])
def test_the_number_of_lines_is_chosen_when_the_book_is_made(rows: int) -> None:
    book = quote.build(rows=rows)
    assert book["Sizing"].max_row == SIZING.first_row + rows - 1
    plan = book["Page plan"].max_row
    assert plan == 5 + page_plan.plan_length(rows)
    with pytest.raises(ValueError, match="1 to 200"):
        quote.build(rows=201)


def run(command: Any, *words: object) -> None:
    done = CliRunner().invoke(command, [str(word) for word in words], standalone_mode=False)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception


@pytest.mark.calc
def test_three_lines_by_the_command(tmp_path: Path) -> None:
    """From a fresh template to a total, as a salesperson goes; prices by plain arithmetic."""
    fresh, computed = tmp_path / "quote.xlsx", tmp_path / "computed.xlsx"
    run(template_command, "quote", "--rows", 2, "--out", fresh)
    book = openpyxl.load_workbook(fresh)
    # 100 lb/h x 4 h / 42 lb/ft3 = 9.52: EXAMPLE-12. 200 x 3 x 1.1 / 26.67 = 24.75: EXAMPLE-30.
    lines = (
        {"resin": "ABS", "virgin": 42, "virgin_from": "data sheet", "stated": 100, "hours": 4,
         "quantity": 2},
        {"resin": "PET", "regrind": 0.5, "basis": "mass", "virgin": 40, "virgin_from": "measured",
         "ground": 20, "ground_from": "measured", "stated": 200, "hours": 3, "reserve": 0.1,
         "discount": 0.05},
    )  # fmt: skip
    for row, line in enumerate(lines, SIZING.first_row):
        for key, value in line.items():
            book["Sizing"][SIZING.cell(key, row)] = value
    book.save(fresh)
    run(compute_command, fresh, "--out", computed)
    shown = openpyxl.load_workbook(computed, data_only=True)
    row = SIZING.first_row
    models = [shown["Sizing"][SIZING.cell("model", row + n)].value for n in range(2)]
    nets = [shown["Sizing"][SIZING.cell("net", row + n)].value for n in range(2)]
    prices = {row["model"]: row["price"] for row in catalog.demo_models()}
    assert models == ["EXAMPLE-12", "EXAMPLE-30"]
    assert nets == [2 * prices["EXAMPLE-12"], round(0.95 * prices["EXAMPLE-30"], 2)]
    # What the customer's figures follow from stands on the page.
    page = [str(cell) for cells in shown["Quote"].values for cell in cells if cell is not None]
    assert [text for text in page if "10 % reserve; each less 5 % discount" in text]
    assert all(text.startswith("PET") for text in page if "discount" in text)
    assert any("plus the reserve where a line has one" in text for text in page)
