"""The job list workbook: paste a list, read beside each job which hopper it needs.

One live HOPPER_SIZE_JOBS on the sheet *Sized* reads the whole list with its headings, so columns
may stand in any order and a heading may name its own unit, exactly as on the command line. The
result columns beside the jobs look their row up there; rows of *Jobs* can therefore be sorted,
inserted and deleted, which a spreadsheet forbids inside an array.
"""

from __future__ import annotations

import csv
from importlib.resources import files
from typing import Any

from ..quantities import QUANTITIES, SYSTEMS
from ..sizing.density import BASIS
from ..sizing.jobs import JOB_COLUMNS, RESULT_COLUMNS
from ..units import factor
from .cautions import CAUTIONS

__all__ = ["CATALOG_ROWS", "FIRST_JOB", "JOB_ROWS", "build"]

#: Rows prepared for jobs and for catalog sizes.
JOB_ROWS = 300
CATALOG_ROWS = 60
_HEADING_ROW = 4
#: Row of the first job on the sheet *Jobs*.
FIRST_JOB = _HEADING_ROW + 1
_LAST_JOB = _HEADING_ROW + JOB_ROWS
_CATALOG_HEADING = 3
_OWN_COLUMNS = ("machine", "note")
_NOT_STATED = "not stated"

_COLORS = {"heading": "2F4858", "input": "FFF8DC", "computed": "EAF1F4", "alarm": "F6C9C0"}
_WIDTHS = {"job": 22, "resin": 12, "note": 24, "model": 14, "assumed": 46, "problem": 60}

_STEPS = (
    "1. On Catalog, replace the invented demo sizes by your own.",
    "2. On Jobs, choose the unit system, then type or paste the jobs under the headings. A whole "
    "list may be pasted over the headings too: their order is free, unknown columns are kept and "
    "not read.",
    "3. Read the answer beside each job. Assumed names every choice made where the list says "
    "nothing; problem says why a job has no answer.",
    "A plain number is in the unit that its heading names in square brackets; without one, in the "
    "unit system chosen on Jobs. A number may carry its own unit: 45 kg/h, 0.55 g/cm3, 440 L.",
    "Needed for each job: throughput, drying hours (a number, 4 and not 4:00) and virgin density. "
    "Shares are fractions that sum to 1 or percentages that sum to 100.",
    "Shares by mass and by volume give different answers. Recipes of weigh blenders are by mass. "
    "Say which in share basis.",
    "Regrind without a density of its own is taken as half as dense as virgin (common practice, "
    "no source), and assumed says so.",
    "More rows: insert them above the last prepared row, copy the computed cells down, and stretch "
    "the array on Sized. More columns: insert them to the left of the last one.",
    "Words that mark cells: input (type here), computed (do not type here), check.",
)


def _letter(column: int) -> str:
    from openpyxl.utils import get_column_letter

    text: str = get_column_letter(column)
    return text


def _headings(system: str) -> list[str]:
    """Headings of the inputs, with the unit in brackets where the number has one."""
    names = []
    for name, quantity in JOB_COLUMNS.items():
        unit = QUANTITIES[quantity].unit(system) if quantity else "1"
        names.append(name if unit in ("1", "h") else f"{name} [{unit}]")
    return [*names, *_OWN_COLUMNS]


def _demo_catalog(system: str) -> list[list[Any]]:
    """Heading row and rows of the invented catalog, sizes in whole liters for metric."""
    text = (files("hoppersheet") / "data" / "demo_catalog.csv").read_text(encoding="utf-8")
    head, *rows = csv.reader(text.splitlines())
    unit = QUANTITIES["volume"].unit(system)
    given = head[0].partition("[")[2].rstrip("]")
    scale = factor(given, unit)[0]
    sizes = [float(row[0]) if unit == given else round(float(row[0]) * scale) for row in rows]
    lines = [[size, row[1], float(row[2]), *row[3:]] for size, row in zip(sizes, rows, strict=True)]
    return [[f"size [{unit}]", *head[1:]], *lines]


class _Look:
    """Colors and borders, and the word that says what a color means."""

    def __init__(self) -> None:
        from openpyxl.styles import Border, Font, PatternFill, Side

        self.fills = {
            name: PatternFill("solid", start_color=color, end_color=color)
            for name, color in _COLORS.items()
        }
        self.heading = Font(bold=True, color="FFFFFF")
        self.bold, self.title = Font(bold=True), Font(bold=True, size=14)
        line = Side("thin", color="C8CDD0")
        self.border = Border(line, line, line, line)

    def head(self, cell: Any, value: Any) -> None:
        from openpyxl.styles import Alignment

        cell.value, cell.font, cell.fill = value, self.heading, self.fills["heading"]
        cell.alignment = Alignment(wrap_text=True, vertical="center")

    def mark(self, cell: Any, kind: str) -> None:
        cell.fill, cell.border = self.fills[kind], self.border


def _validate(sheet: Any, system_cell: str, basis_cell: str, columns: dict[str, str]) -> None:
    """Refuse at typing what no function would accept; a text with a unit is let through."""
    from openpyxl.worksheet.datavalidation import DataValidation

    def add(kind: str, formula: str, cells: str, title: str, text: str, style: str) -> None:
        rule = DataValidation(type=kind, formula1=formula, allow_blank=True, errorStyle=style)
        rule.errorTitle = rule.promptTitle = title
        rule.error, rule.showErrorMessage = text, True
        if style == "warning":
            rule.prompt, rule.showInputMessage = text, True
        sheet.add_data_validation(rule)
        rule.add(cells)

    add("list", f'"{",".join(SYSTEMS)}"', system_cell, "unit system", "US or metric", "stop")
    bases = ",".join((*BASIS, _NOT_STATED))
    add("list", f'"{bases}"', basis_cell, "share basis", "volume, mass or not stated", "stop")
    rules = {
        "share": ("AND({0}>=0,{0}<=100)", "a fraction from 0 to 1 or a percentage from 0 to 100"),
        "drying hours": ("AND({0}>=0.75,{0}<=72)", "hours as a number, 4 and not 4:00; 0.75 to 72"),
        "reserve": ("AND({0}>=0,{0}<=1)", "a fraction from 0 to 1; 0.1 is 10 %"),
        "bulk density": ("{0}>0", "a number above 0, or a text with a unit: 0.55 g/cm3"),
        "throughput": ("{0}>0", "a number above 0, or a text with a unit: 45 kg/h"),
    }
    for name, quantity in JOB_COLUMNS.items():
        column = columns[name]
        cells = f"{column}{FIRST_JOB}:{column}{_LAST_JOB}"
        if name == "share basis":
            add("list", f'"{",".join(BASIS)}"', cells, name, "volume or mass", "stop")
        elif quantity:
            test, text = rules[quantity]
            first = f"{column}{FIRST_JOB}"
            # The list may be pasted with its columns in another order, so this only warns.
            formula = f"OR(ISTEXT({first}),{test.format(first)})"
            add("custom", formula, cells, name, text, "warning")


def _jobs_sheet(sheet: Any, system: str, look: _Look) -> None:
    headings = _headings(system)
    inputs = len(headings)
    first_result = inputs + 2
    sheet["A1"], sheet["A1"].font = "Job list", look.title
    sheet["C1"].font = look.bold
    sheet["A2"], sheet["B2"] = "unit system (input)", system
    sheet["D2"], sheet["G2"] = "share basis where a row states none (input)", _NOT_STATED
    for cell in (sheet["B2"], sheet["G2"]):
        look.mark(cell, "input")
    sheet.cell(3, 1, "input: type or paste jobs here, headings included if you like")
    sheet.cell(3, first_result, "computed: do not type here")
    for column, heading in enumerate(headings, 1):
        look.head(sheet.cell(_HEADING_ROW, column), heading)
        letter = _letter(column)
        sheet.column_dimensions[letter].width = _WIDTHS.get(heading, 13)
        for row in range(FIRST_JOB, _LAST_JOB + 1):
            look.mark(sheet.cell(row, column), "input")
    sheet.column_dimensions[_letter(inputs + 1)].width = 2
    first, last = _HEADING_ROW, _LAST_JOB
    for offset, (name, quantity) in enumerate(RESULT_COLUMNS.items()):
        column, source = first_result + offset, _letter(2 + offset)
        results = f"Sized!{source}${first}:{source}${last}"
        look.head(sheet.cell(_HEADING_ROW, column), f"=INDEX({results},1)")
        sheet.column_dimensions[_letter(column)].width = _WIDTHS.get(name, 12)
        for row in range(FIRST_JOB, _LAST_JOB + 1):
            cell = sheet.cell(row, column)
            place = f"ROW()-ROW(${_letter(column)}${_HEADING_ROW})+1"
            # Calc finds a text from an add-in's table equal to no other text, so that a filter or
            # a look-up would miss it, until it is joined anew.
            cell.value = f"=INDEX({results},{place})" + ("" if quantity else '&""')
            cell.number_format = "0.00"
            look.mark(cell, "computed")
    sheet.row_dimensions[_HEADING_ROW].height = 45
    columns = {name: _letter(i) for i, name in enumerate(JOB_COLUMNS, 1)}
    _validate(sheet, "B2", "G2", columns)
    sheet.freeze_panes = f"B{FIRST_JOB}"
    _status(sheet, look, _letter(first_result), _letter(first_result + len(RESULT_COLUMNS) - 1))


def _status(sheet: Any, look: _Look, first_result: str, problem: str) -> None:
    """One line that says how many jobs were sized, and the color of rows with a problem."""
    from openpyxl.formatting.rule import FormulaRule

    at = {name: _letter(2 + i) for i, name in enumerate(RESULT_COLUMNS)}

    def result(name: str) -> str:
        return f"Sized!{at[name]}{FIRST_JOB}:{at[name]}{_LAST_JOB}"

    problems = f"SUMPRODUCT(--(LEN({result('problem')})>0))"
    sized = f"SUMPRODUCT(--ISNUMBER({result('next size')}))"
    listed = f"Jobs!$A${_HEADING_ROW}:${_letter(len(JOB_COLUMNS) + len(_OWN_COLUMNS))}${_LAST_JOB}"
    sheet["C1"] = (
        f"=IF(ISERROR(Sized!A{_HEADING_ROW}),"
        f'"check: the list cannot be read. "&HOPPER_EXPLAIN("HOPPER_SIZE_JOBS",{listed},'
        f"{_catalog_range()},default_basis,unit_system),"
        f'"check: "&{sized}&" jobs sized, "&{problems}&" with a problem")'
    )
    rows = f"{first_result}{FIRST_JOB}:{problem}{_LAST_JOB}"
    sheet.conditional_formatting.add(
        rows,
        FormulaRule(formula=[f"LEN(${problem}{FIRST_JOB})>0"], fill=look.fills["alarm"]),
    )


def _catalog_range() -> str:
    return f"Catalog!$A${_CATALOG_HEADING}:$D${_CATALOG_HEADING + CATALOG_ROWS}"


def _catalog_sheet(sheet: Any, system: str, look: _Look) -> None:
    sheet["A1"], sheet["A1"].font = "Catalog", look.title
    sheet["A2"] = "input: invented demo sizes and prices; replace them by your own"
    head, *rows = _demo_catalog(system)
    for column, heading in enumerate(head, 1):
        look.head(sheet.cell(_CATALOG_HEADING, column), heading)
        sheet.column_dimensions[_letter(column)].width = 20
        for down in range(CATALOG_ROWS):
            cell = sheet.cell(_CATALOG_HEADING + 1 + down, column)
            look.mark(cell, "input")
            if down < len(rows):
                cell.value = rows[down][column - 1]
    sheet.freeze_panes = f"A{_CATALOG_HEADING + 1}"


def _sized_sheet(sheet: Any, look: _Look) -> None:
    from openpyxl.worksheet.formula import ArrayFormula

    sheet["A1"], sheet["A1"].font = "Sized", look.title
    sheet["A2"] = "computed: one HOPPER_SIZE_JOBS over the whole list on Jobs; do not type here"
    width = 1 + len(RESULT_COLUMNS)
    last_input = _letter(len(JOB_COLUMNS) + len(_OWN_COLUMNS))
    listed = f"Jobs!$A${_HEADING_ROW}:${last_input}${_LAST_JOB}"
    target = f"A{_HEADING_ROW}:{_letter(width)}{_LAST_JOB}"
    sheet[f"A{_HEADING_ROW}"] = ArrayFormula(
        target, f"=HOPPER_SIZE_JOBS({listed},{_catalog_range()},default_basis,unit_system)"
    )
    for column, name in enumerate(("job", *RESULT_COLUMNS), 1):
        sheet.column_dimensions[_letter(column)].width = _WIDTHS.get(name, 14)
        for row in range(_HEADING_ROW, _LAST_JOB + 1):
            look.mark(sheet.cell(row, column), "computed")
            sheet.cell(row, column).number_format = "0.00"
        sheet.cell(_HEADING_ROW, column).font = look.bold
    sheet.freeze_panes = f"B{FIRST_JOB}"


def _about_sheet(sheet: Any, look: _Look) -> None:
    from openpyxl.styles import Alignment

    sheet.column_dimensions["A"].width = 110
    lines = [
        ("About this workbook", look.title),
        *((step, None) for step in _STEPS),
        ("Cautions", look.title),
        *((caution, None) for caution in CAUTIONS),
    ]
    for row, (text, font) in enumerate(lines, 1):
        cell = sheet.cell(row, 1, text)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.row_dimensions[row].height = 20 if font else 15 * (1 + len(text) // 105) + 3
        if font:
            cell.font = font
    cell = sheet.cell(len(lines) + 2, 1)
    cell.value = '="Add-in: "&IFERROR(HOPPER_VERSION(),"not installed or not loaded")'


def build(system: str = SYSTEMS[0]) -> Any:
    """The workbook, as openpyxl has it.

    Args:
        system: "US" or "metric": units in the headings and of the results; either can be changed
            in the workbook.
    """
    from openpyxl import Workbook
    from openpyxl.workbook.defined_name import DefinedName

    workbook, look = Workbook(), _Look()
    jobs = workbook.active
    jobs.title = "Jobs"
    catalog, sized, about = (workbook.create_sheet(n) for n in ("Catalog", "Sized", "About"))
    _jobs_sheet(jobs, system, look)
    _catalog_sheet(catalog, system, look)
    _sized_sheet(sized, look)
    _about_sheet(about, look)
    for name, target in (("unit_system", "Jobs!$B$2"), ("default_basis", "Jobs!$G$2")):
        workbook.defined_names[name] = DefinedName(name, attr_text=target)
    for sheet in workbook:
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
    jobs.print_title_rows = f"{_HEADING_ROW}:{_HEADING_ROW}"
    return workbook
