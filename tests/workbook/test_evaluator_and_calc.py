"""hoppersheet's evaluator against a real LibreOffice Calc, cell by cell over thousands of formulas.

The formulas are templates with all arguments of a list filled in; the workbook is written once and
computed by both. Where they differ on purpose, because Excel does or because the answer depends on
the program, the difference is listed with its reason.
"""

from __future__ import annotations

import itertools
import math
import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet.workbook.compute import Computed, recalculated
from hoppersheet.workbook.package import Package
from hoppersheet.workbook.sheet_cells import ErrorText, Value

#: The sheet Data: a job list with prices, a sorted catalog, texts, dates, blanks and errors.
DATA = {
    "A": [110, 220, 75.5, 0, -12.25, None, 1e-7, 98765.4321, 60, 0.1],
    "B": [3.5, 4, 2.25, 6, 3, 4, None, 5, 0.5, 0.2],
    "C": ["nylon", "ABS", "abs", "PC", "", None, "pet 5%", "Nylon 6/6", "a*b", "x?z"],
    "D": [12, 20, 30, 45, 60, 80, 110, 150, 200, 300],
    "E": [45000, 45031.5, 45322, 44985.999, 36526, 45291, 47000.25, 43831, 45657, 40000],
    "F": ["110", " 4 ", "2.5e1", "50%", "2024-02-03", "kg", "12 kg", "", None, "-7"],
    "G": [40, 40, 28, 36.4, 35.44, 40, 28, None, 40, 61],
}
ROWS = range(1, 11)

NUMBERS = [f"Data!{column}{row}" for column in "ABDEG" for row in ROWS]
SOME = ["Data!A1", "Data!A3", "Data!A5", "Data!A6", "Data!A8", "Data!B3", "2", "-1.5", "0", "0.35"]
TEXTS = [f"Data!C{row}" for row in ROWS] + ['"b"', '"S"', "Data!A3"]
RANGES = [
    "Data!A1:A10", "Data!B1:B10", "Data!D1:D10", "Data!A1:B10", "Data!D3:D3", "Data!C1:C10",
    "Data!A1:G10",
]  # fmt: skip


def templates() -> dict[str, list[str]]:
    """The sections of formulas.txt."""
    found: dict[str, list[str]] = {}
    for line in (Path(__file__).parent / "formulas.txt").read_text().splitlines()[1:]:
        if line.startswith("# "):
            found[line[2:]] = []
        elif line:
            found[list(found)[-1]].append(line)
    return found


#: What differs on purpose: pattern of the formula -> why.
DIFFERENT = {
    r"RANK\(": "a number that is not in the list: Calc gives a rank, Excel #N/A",
    r"COUNTIF\(Data!A\$1:G\$10,": "a number in a text: Excel counts it, Calc does not",
    r"ISEVEN\(Data!(A6|B7|G8)\)": "a blank: 0 in Excel, an error in Calc",
    r".*\^Data!A8|(ROUND|POWER)\(.*,Data!A8\)": "beyond what Calc takes; nothing in Excel",
    r"MROUND\(": "two signs: #NUM! in Excel",
    r"ATAN2\((Data!A6|0),(Data!A6|0)\)": "#DIV/0! in Excel",
    r"CODE\(Data!C[56]\)": "#VALUE! in Excel",
    r"WEEKNUM\(Data!E[69]\)": "December 30 and 31: week 53 in Excel",
    r"TEXT\(Data!E4,.*ss": "Excel rounds seconds, Calc cuts them",
}


def filled(templates: list[str], *lists: list[str]) -> list[str]:
    return [
        template.replace("{0}", given[0]).replace("{1}", given[-1])
        for template in templates
        for given in itertools.product(*lists)
    ]


def all_formulas() -> list[str]:
    of = templates()
    quoted = [form.replace('"', '""') for form in of["number formats"]]
    days = [f"Data!E{row}" for row in ROWS]
    return [
        *filled(of["of a number"], NUMBERS),
        *filled(of["of two numbers"], SOME, SOME),
        *filled(of["of a text"], TEXTS),
        *filled(of["of a range"], RANGES),
        *filled(of["of a day"], days),
        *filled(of["of a number in a text"], [f"Data!F{row}" for row in ROWS]),
        *filled([f'TEXT({{0}},"{form}")' for form in quoted], SOME),
        *filled([f'TEXT({{0}},"{form}")' for form in of["date formats"]], days),
        *of["as they are"],
    ]


def book(path: Path, formulas: list[str]) -> Path:
    made = openpyxl.Workbook()
    sheet = made.active
    sheet.title = "Formulas"
    for at, formula in enumerate(formulas):
        # far from any row or column of the data, so that no range crosses the formula
        sheet.cell(101 + at % 500, 27 + at // 500, f"={formula}")
    data = made.create_sheet("Data")
    for column, values in DATA.items():
        for row, value in enumerate(values, 1):
            data[f"{column}{row}"] = value
    made.save(path)
    return path


def place_of(at: int) -> str:
    return openpyxl.utils.get_column_letter(27 + at // 500) + str(101 + at % 500)


def alike(calc: Value, core: Value) -> bool:
    if isinstance(calc, ErrorText) and isinstance(core, ErrorText):
        return True  # Calc gives #VALUE! for many that Excel names otherwise
    if isinstance(calc, float) and isinstance(core, float):
        return calc == core or math.isclose(calc, core, rel_tol=4e-15, abs_tol=1e-300)
    return calc == core and isinstance(calc, ErrorText) == isinstance(core, ErrorText)


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> Any:
    formulas = all_formulas()
    package = Package(book(tmp_path_factory.mktemp("many") / "many.xlsx", formulas))
    return formulas, recalculated(package, "calc"), recalculated(package, "core")


@pytest.mark.calc
def test_thousands_of_cells_are_what_calc_makes_of_them(both: Any) -> None:
    formulas, (calc, _), (core, receipt) = both
    kept = {one.cell for one in receipt.kept}
    assert len(formulas) > 6_000
    differ = []
    for at, formula in enumerate(formulas):
        ref = place_of(at)
        if ref in kept or alike(calc["Formulas"][ref], core["Formulas"][ref]):
            continue
        if not any(re.fullmatch(known + ".*", formula) for known in DIFFERENT):
            differ.append((formula, calc["Formulas"][ref], core["Formulas"][ref]))
    assert differ == []


@pytest.mark.calc
def test_what_is_not_computed_is_little_and_has_a_reason(both: Any) -> None:
    formulas, _, (_, receipt) = both
    assert isinstance(receipt, Computed)
    assert all("with these arguments" not in one.why for one in receipt.kept), "a slip of ours"
    assert len(receipt.kept) < len(formulas) / 20
