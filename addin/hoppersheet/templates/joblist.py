"""The job list workbook: paste a list, read beside each job which hopper it needs.

One live HOPPER_SIZE_JOBS on the sheet *Sized* reads the whole list with its headings, so columns
may stand in any order and a heading may name its own unit, exactly as on the command line. The
result columns beside the jobs look their row up there; rows of *Jobs* can therefore be sorted,
inserted and deleted, which a spreadsheet forbids inside an array.
"""

from __future__ import annotations

import csv
from copy import copy
from importlib.resources import files
from typing import Any

from openpyxl import Workbook
from openpyxl.formatting.rule import Rule
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula

from ..cells.quantities import QUANTITIES, SYSTEMS
from ..cells.units import factor
from ..sizing.density import BASIS
from ..tables.job_rows import JOB_COLUMNS, RESULT_COLUMNS
from .cautions import CAUTIONS
from .layout import define_name, put, realign, start_sheet, text_height
from .styles import WORDS, add_styles, failed

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
    "Words that mark cells: input (type here), calculated (do not type here), check.",
)


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


def _validate(sheet: Any, system_cell: str, basis_cell: str, columns: dict[str, str]) -> None:
    """Refuse at typing what no function would accept; a text with a unit is let through."""

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


def _write_jobs(sheet: Any, system: str) -> None:
    headings = _headings(system)
    first_result = len(headings) + 2
    for address, text, kind in (
        ("A2", "unit system", "label"), ("B2", system, "input"),
        ("D2", "share basis where a row states none", "label"), ("G2", _NOT_STATED, "input"),
        ("A3", f"{WORDS['input']}: type or paste jobs here, headings included if you like", "note"),
        (f"{get_column_letter(first_result)}3", f"{WORDS['calc']}: do not type here", "note"),
    ):  # fmt: skip
        put(sheet, address, text, kind)
        realign(sheet[address], wrap_text=False)
    for column, heading in enumerate(headings, 1):
        letter = get_column_letter(column)
        put(sheet, f"{letter}{_HEADING_ROW}", heading, "heading")
        sheet.column_dimensions[letter].width = _WIDTHS.get(heading, 13)
        for row in range(FIRST_JOB, _LAST_JOB + 1):
            put(sheet, f"{letter}{row}", None, "input")
    sheet.column_dimensions[get_column_letter(first_result - 1)].width = 2
    for offset, (name, quantity) in enumerate(RESULT_COLUMNS.items()):
        letter, source = get_column_letter(first_result + offset), get_column_letter(2 + offset)
        results = f"Sized!{source}${_HEADING_ROW}:{source}${_LAST_JOB}"
        put(sheet, f"{letter}{_HEADING_ROW}", f"=INDEX({results},1)", "heading")
        sheet.column_dimensions[letter].width = _WIDTHS.get(name, 12)
        place = f"ROW()-ROW(${letter}${_HEADING_ROW})+1"
        # Calc finds a text from an add-in's table equal to no other text, so that a filter or
        # a look-up would miss it, until it is joined anew.
        formula = f"=INDEX({results},{place})" + ("" if quantity else '&""')
        for row in range(FIRST_JOB, _LAST_JOB + 1):
            put(sheet, f"{letter}{row}", formula, "calc", "0.00")
    sheet.row_dimensions[_HEADING_ROW].height = 45
    _validate(
        sheet, "B2", "G2", {name: get_column_letter(i) for i, name in enumerate(JOB_COLUMNS, 1)}
    )
    sheet.freeze_panes = f"B{FIRST_JOB}"
    sheet.print_title_rows = f"{_HEADING_ROW}:{_HEADING_ROW}"
    last = get_column_letter(first_result + len(RESULT_COLUMNS) - 1)
    _write_status(sheet, get_column_letter(first_result), last)


def _list_range() -> str:
    last = get_column_letter(len(JOB_COLUMNS) + len(_OWN_COLUMNS))
    return f"Jobs!$A${_HEADING_ROW}:${last}${_LAST_JOB}"


def _below() -> str:
    """Where a list that is too long for the prepared rows goes on."""
    last = get_column_letter(len(JOB_COLUMNS) + len(_OWN_COLUMNS))
    return f"Jobs!$A${_LAST_JOB + 1}:${last}${_LAST_JOB + 5000}"


def _catalog_range() -> str:
    return f"Catalog!$A${_CATALOG_HEADING}:$D${_CATALOG_HEADING + CATALOG_ROWS}"


def _write_status(sheet: Any, first_result: str, problem: str) -> None:
    """One line that says how many jobs were sized, and the look of rows with a problem."""
    at = {name: get_column_letter(2 + i) for i, name in enumerate(RESULT_COLUMNS)}

    def result(name: str) -> str:
        return f"Sized!{at[name]}{FIRST_JOB}:{at[name]}{_LAST_JOB}"

    problems = f"SUMPRODUCT(--(LEN({result('problem')})>0))"
    sized = f"SUMPRODUCT(--ISNUMBER({result('next size')}))"
    status = (
        f"=IF(ISERROR(Sized!A{_HEADING_ROW}),"
        f'"check: the list cannot be read. "&HOPPER_EXPLAIN("HOPPER_SIZE_JOBS",{_list_range()},'
        f"{_catalog_range()},default_basis,unit_system),"
        f'"check: "&{sized}&" jobs sized, "&{problems}&" with a problem"'
        f'&IF(COUNTA({_below()})=0,"","; what stands below row "&ROW({_below()})-1&" is NOT read: '
        'insert rows above it, see About"))'
    )
    put(sheet, "C1", status, "title")
    font = copy(sheet["C1"].font)
    font.size = 11
    sheet["C1"].font = font
    sheet.conditional_formatting.add(
        f"{first_result}{FIRST_JOB}:{problem}{_LAST_JOB}",
        Rule(type="expression", dxf=failed(), formula=[f"LEN(${problem}{FIRST_JOB})>0"]),
    )


def _write_catalog(sheet: Any, system: str) -> None:
    head, *rows = _demo_catalog(system)
    for column, heading in enumerate(head, 1):
        letter = get_column_letter(column)
        put(sheet, f"{letter}{_CATALOG_HEADING}", heading, "heading")
        sheet.column_dimensions[letter].width = 20
        for down in range(CATALOG_ROWS):
            value = rows[down][column - 1] if down < len(rows) else None
            put(sheet, f"{letter}{_CATALOG_HEADING + 1 + down}", value, "input")
    sheet.freeze_panes = f"A{_CATALOG_HEADING + 1}"


def _write_sized(sheet: Any) -> None:
    last = get_column_letter(1 + len(RESULT_COLUMNS))
    for column, name in enumerate(("job", *RESULT_COLUMNS), 1):
        letter = get_column_letter(column)
        sheet.column_dimensions[letter].width = _WIDTHS.get(name, 14)
        put(sheet, f"{letter}{_HEADING_ROW}", None, "heading")
        for row in range(FIRST_JOB, _LAST_JOB + 1):
            put(sheet, f"{letter}{row}", None, "calc", "0.00")
    sheet[f"A{_HEADING_ROW}"] = ArrayFormula(
        f"A{_HEADING_ROW}:{last}{_LAST_JOB}",
        f"=HOPPER_SIZE_JOBS({_list_range()},{_catalog_range()},default_basis,unit_system)",
    )
    sheet.row_dimensions[_HEADING_ROW].height = 45
    sheet.freeze_panes = f"B{FIRST_JOB}"


def _write_about(sheet: Any) -> None:
    width = 110
    sheet.column_dimensions["A"].width = width
    lines = [
        ("How to use it", "section"),
        *((step, "text") for step in _STEPS),
        ("Cautions", "section"),
        *((caution, "text") for caution in CAUTIONS),
    ]
    for row, (text, kind) in enumerate(lines, 3):
        put(sheet, f"A{row}", text, kind)
        sheet.row_dimensions[row].height = text_height(text, width) + 4
    version = '="Add-in: "&IFERROR(HOPPER_VERSION(),"not installed or not loaded")'
    put(sheet, f"A{len(lines) + 4}", version, "check")


def build(system: str = SYSTEMS[0]) -> Any:
    """The workbook, as openpyxl has it.

    Args:
        system: "US" or "metric": units in the headings and of the results; either can be changed
            in the workbook.
    """
    workbook = Workbook()
    workbook.remove(workbook.active)
    add_styles(workbook)
    jobs = start_sheet(workbook, "Jobs", "Job list", "V")
    catalog = start_sheet(
        workbook, "Catalog", "Catalog", "D",
        f"{WORDS['input']}: invented demo sizes and prices; replace them by your own.",
    )  # fmt: skip
    sized = start_sheet(
        workbook, "Sized", "Sized", "J",
        f"{WORDS['calc']}: one HOPPER_SIZE_JOBS over the whole list on Jobs; do not type here.",
    )  # fmt: skip
    about = start_sheet(workbook, "About", "About this workbook", "A")
    _write_jobs(jobs, system)
    _write_catalog(catalog, system)
    _write_sized(sized)
    _write_about(about)
    define_name(workbook, "unit_system", "Jobs!$B$2")
    define_name(workbook, "default_basis", "Jobs!$G$2")
    for sheet in (jobs, sized):
        sheet.page_setup.orientation = "landscape"
    workbook.properties.title = "Job list: drying hoppers"
    workbook.properties.creator = "hoppersheet"
    return workbook
