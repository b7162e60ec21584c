"""The job list workbook: paste a list, read beside each job which hopper it needs.

One live HOPPER_SIZE_JOBS on the sheet *Sized* reads the whole list with its headings, so columns
may stand in any order and a heading may name its own unit, exactly as on the command line. The
answers stand to the left of the jobs, so that a list may have any number of columns; they look
their row up on *Sized*. Rows of *Jobs* can therefore be sorted, inserted and deleted, which a
spreadsheet forbids inside an array.
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
from ..tables.job_columns import AS_LISTED, JOB_COLUMNS, RESULT_COLUMNS
from .cautions import CAUTIONS
from .cell_words import WORDS
from .layout import define_name, put, realign, start_sheet, text_height
from .styles import add_styles, failed

__all__ = [
    "CATALOG_ROWS",
    "FIRST_JOB",
    "JOB_ROWS",
    "LIST_COLUMNS",
    "MOST_ROWS",
    "build",
    "list_range",
]

#: Rows prepared for jobs where nobody says how many, the most, and rows for catalog sizes.
JOB_ROWS = 300
MOST_ROWS = 20_000
CATALOG_ROWS = 60
#: Columns of *Jobs* that are read; what stands further to the right is told.
LIST_COLUMNS = 40
_HEADING_ROW = 4
#: Row of the first job on the sheet *Jobs*.
FIRST_JOB = _HEADING_ROW + 1
_CATALOG_HEADING = 3
_OWN_COLUMNS = ("machine", "note")
_NOT_STATED = "not stated"
#: The columns that a prepared list has; others are read where they are pasted.
_PREPARED = (
    "job", "resin", "virgin share", "regrind share", "share basis", "virgin density",
    "regrind density", "throughput", "drying hours", "reserve",
)  # fmt: skip
#: The answers beside the jobs: heading -> result column; the last one says what to look at.
_BESIDE = ("model", "required volume", "next size", "hours at next size", "look at")
_FIRST_LIST = len(_BESIDE) + 2

_WIDTHS = {
    "job": 22, "resin": 12, "note": 24, "model": 14, "assumed": 46, "check": 46, "problem": 60,
    "look at": 40,
}  # fmt: skip

_STEPS = (
    "1. On Catalog, replace the invented demo sizes with your own.",
    "2. On Jobs, type or paste the jobs under the headings. A whole list may be pasted over the "
    f"headings too: their order is free, up to {LIST_COLUMNS} columns. Row 2 says how each column "
    "was read, and which ones were not.",
    "3. Read the answer to the left of each job. Sized has all results: assumed names every choice "
    "made where the list says nothing, check what is unusual, problem why a job has no answer.",
    "A plain number is in the unit that its heading names in brackets. Where no heading and no "
    "cell names a unit, choose the unit system on Jobs; left blank, such a list is read in US "
    "units. A number may carry its own unit: 45 kg/h, 0.55 g/cm3, 440 L.",
    "The function sees what cells hold, not how they look. A unit or a percent sign that only a "
    "number format shows, a time cell, a merged or crossed-out cell and a comment are not seen: "
    "write units into the heading or the cell, hours as numbers, and delete what no longer counts. "
    "The command hoppersheet size reads them from the file.",
    "Needed for each job: throughput, drying hours and virgin density; a resin of the resin table "
    "can replace the last two. Shares are fractions that sum to 1 or percentages that sum to "
    "100.",
    "Shares by mass and by volume give different answers. Recipes of weigh blenders are by mass. "
    "Say which in share basis.",
    "Regrind without a density of its own is assumed half as dense as virgin (common practice, no "
    "source); the column assumed says so.",
    "More rows: make a new workbook with --rows, or insert rows above the last prepared one, "
    "copy the computed cells down, and stretch the array on Sized.",
    "Words that mark cells: input (type here), calculated (do not type here), check.",
)


def _headings(system: str) -> list[str]:
    """Headings of the inputs, with the unit in brackets where the number has one."""
    names = []
    for name in _PREPARED:
        quantity = JOB_COLUMNS[name]
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


def _validate(
    sheet: Any, system_cell: str, basis_cell: str, columns: dict[str, str], last_job: int
) -> None:
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
        "drying hours": ("AND({0}>=0.75,{0}<=72)", "hours as a number, 0.75 to 72"),
        "reserve": ("AND({0}>=0,{0}<=1)", "a fraction from 0 to 1; 0.1 is 10 %"),
        "bulk density": ("{0}>0", "a number above 0, or a text with a unit: 0.55 g/cm3"),
        "throughput": ("{0}>0", "a number above 0, or a text with a unit: 45 kg/h"),
    }
    for name in _PREPARED:
        quantity, column = JOB_COLUMNS[name], columns[name]
        cells = f"{column}{FIRST_JOB}:{column}{last_job}"
        if name == "share basis":
            add("list", f'"{",".join(BASIS)}"', cells, name, "volume or mass", "stop")
        elif quantity:
            test, text = rules[quantity]
            first = f"{column}{FIRST_JOB}"
            # The list may be pasted with its columns in another order, so this only warns.
            formula = f"OR(ISTEXT({first}),{test.format(first)})"
            add("custom", formula, cells, name, text, "warning")


def _letter(at: int) -> str:
    """Letters of a column of the list; 0 is its first."""
    return get_column_letter(_FIRST_LIST + at)


def _write_jobs(sheet: Any, system: str, rows: int) -> None:
    headings = _headings(system)
    last_job = _HEADING_ROW + rows
    for address, text, kind in (
        ("A2", "unit system, if the list names none", "label"), ("C2", None, "input"),
        ("D2", "share basis of rows that state none", "label"), ("E2", _NOT_STATED, "input"),
        ("A3", f"{WORDS['calc']}: do not type here", "note"),
        (f"{_letter(0)}3",
         f"{WORDS['input']}: type or paste jobs here, headings included if you like", "note"),
    ):  # fmt: skip
        put(sheet, address, text, kind)
        realign(sheet[address], wrap_text=False)
    for at, heading in enumerate(headings):
        letter = _letter(at)
        put(sheet, f"{letter}{_HEADING_ROW}", heading, "heading")
        sheet.column_dimensions[letter].width = _WIDTHS.get(heading, 13)
        for row in range(FIRST_JOB, last_job + 1):
            put(sheet, f"{letter}{row}", None, "input")
    sheet.column_dimensions[get_column_letter(_FIRST_LIST - 1)].width = 2
    for at, name in enumerate(_BESIDE, 1):
        letter = get_column_letter(at)
        sheet.column_dimensions[letter].width = _WIDTHS.get(name, 12)
        position = f"ROW()-ROW(${letter}${_HEADING_ROW})+1"
        if name == "look at":
            head, formula = "look at", _look_at(position, last_job)
        else:
            results = _results(name, last_job)
            head = f"=INDEX({results},1)"
            # Calc finds a text from an add-in's table equal to no other text, so that a filter or
            # a look-up would miss it, until it is joined anew.
            join = "" if RESULT_COLUMNS[name].quantity else '&""'
            formula = f"=INDEX({results},{position}){join}"
        put(sheet, f"{letter}{_HEADING_ROW}", head, "heading")
        for row in range(FIRST_JOB, last_job + 1):
            put(sheet, f"{letter}{row}", formula, "calc", "0.00")
    sheet.row_dimensions[_HEADING_ROW].height = 45
    columns = {name: _letter(at) for at, name in enumerate(_PREPARED)}
    _validate(sheet, "C2", "E2", columns, last_job)
    sheet.freeze_panes = f"{_letter(1)}{FIRST_JOB}"
    sheet.print_title_rows = f"{_HEADING_ROW}:{_HEADING_ROW}"
    _write_status(sheet, last_job)


_RESULT_AT = {name: get_column_letter(2 + at) for at, name in enumerate(RESULT_COLUMNS)}


def _results(name: str, last_job: int) -> str:
    """The cells of *Sized* that hold a result column, with its heading."""
    letter = _RESULT_AT[name]
    return f"Sized!{letter}${_HEADING_ROW}:{letter}${last_job}"


def _look_at(position: str, last_job: int) -> str:
    """The problem of a row, or what is unusual, or what was assumed."""
    problem, check, assumed = (
        f"INDEX({_results(name, last_job)},{position})" for name in ("problem", "check", "assumed")
    )
    return f'=IF(LEN({problem})>0,{problem},IF(LEN({check})>0,{check},{assumed}&""))'


def list_range(rows: int = JOB_ROWS) -> str:
    """The cells of *Jobs* that are read as the list, headings included."""
    last = _letter(LIST_COLUMNS - 1)
    return f"Jobs!${_letter(0)}${_HEADING_ROW}:${last}${_HEADING_ROW + rows}"


def _below(rows: int) -> str:
    """Where a list that is too long for the prepared rows goes on."""
    last_job = _HEADING_ROW + rows
    last = _letter(LIST_COLUMNS - 1)
    return f"Jobs!${_letter(0)}${last_job + 1}:${last}${last_job + 5000}"


def _beyond(rows: int) -> str:
    """Where a list with too many columns goes on."""
    first, last = _letter(LIST_COLUMNS), _letter(LIST_COLUMNS + 100)
    return f"Jobs!${first}${_HEADING_ROW}:${last}${_HEADING_ROW + rows}"


def _catalog_range() -> str:
    return f"Catalog!$A${_CATALOG_HEADING}:$D${_CATALOG_HEADING + CATALOG_ROWS}"


def _call(function: str, rows: int) -> str:
    """A call on the list; a blank unit system means that the list says it itself."""
    units = f'IF(unit_system="","{AS_LISTED}",unit_system)'
    return f"{function}{list_range(rows)},{_catalog_range()},default_basis,{units})"


def _write_status(sheet: Any, last_job: int) -> None:
    """How many jobs were sized, how the list was read, and the look of rows with a problem."""
    rows = last_job - _HEADING_ROW

    def result(name: str) -> str:
        letter = _RESULT_AT[name]
        return f"Sized!{letter}{FIRST_JOB}:{letter}{last_job}"

    problems = f"SUMPRODUCT(--(LEN({result('problem')})>0))"
    sized = f"SUMPRODUCT(--ISNUMBER({result('next size')}))"
    status = (
        f'=IF(ISERROR(Sized!A{_HEADING_ROW}),"check: the list cannot be read. "&Sized!A2,'
        f'"check: "&{sized}&" jobs sized, "&{problems}&" with a problem"'
        f'&IF(COUNTA({_below(rows)})=0,"","; what stands below row "&ROW({_below(rows)})-1&" is '
        'NOT read: insert rows above it, see About")'
        # Calc 7.4 counts one too many with COUNTA beside a formatted list.
        f'&IF(SUMPRODUCT(--(LEN({_beyond(rows)})>0))=0,"","; the columns from '
        f'{_letter(LIST_COLUMNS)} on are NOT read: move them to the left"))'
    )
    at = f"{_letter(0)}1"
    put(sheet, at, status, "title")
    font = copy(sheet[at].font)
    font.size = 11
    sheet[at].font = font
    read = f"{_letter(0)}2"
    note = 'FIND("Note: ",Sized!A2)+6'
    # The receipt first names what is not read; a cell shows some thousand signs at most.
    put(sheet, read, f'=IFERROR("How it was read: "&MID(Sized!A2,{note},1500),"")', "note")
    realign(sheet[read], wrap_text=False)
    last = get_column_letter(len(_BESIDE))
    problem = _RESULT_AT["problem"]
    position = f"ROW()-{_HEADING_ROW}+1"
    formula = f"LEN(INDEX(Sized!${problem}${_HEADING_ROW}:${problem}${last_job},{position}))>0"
    sheet.conditional_formatting.add(
        f"A{FIRST_JOB}:{last}{last_job}",
        Rule(type="expression", dxf=failed(), formula=[formula]),
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


def _write_sized(sheet: Any, rows: int) -> None:
    last, last_job = get_column_letter(1 + len(RESULT_COLUMNS)), _HEADING_ROW + rows
    explain = _call('=HOPPER_EXPLAIN("HOPPER_SIZE_JOBS",', rows)
    put(sheet, "A2", explain, "note")
    realign(sheet["A2"], wrap_text=False)
    for column, name in enumerate(("job", *RESULT_COLUMNS), 1):
        letter = get_column_letter(column)
        sheet.column_dimensions[letter].width = _WIDTHS.get(name, 14)
        put(sheet, f"{letter}{_HEADING_ROW}", None, "heading")
        for row in range(FIRST_JOB, last_job + 1):
            put(sheet, f"{letter}{row}", None, "calc", "0.00")
    sheet[f"A{_HEADING_ROW}"] = ArrayFormula(
        f"A{_HEADING_ROW}:{last}{last_job}", _call("=HOPPER_SIZE_JOBS(", rows)
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


def build(system: str = SYSTEMS[0], rows: int = JOB_ROWS) -> Any:
    """The workbook, as openpyxl has it.

    Args:
        system: "US" or "metric": units in the prepared headings.
        rows: rows prepared for jobs, 1 to MOST_ROWS.
    """
    workbook = Workbook()
    workbook.remove(workbook.active)
    add_styles(workbook)
    jobs = start_sheet(workbook, "Jobs", "Job list", _letter(len(_headings(system)) - 1))
    catalog = start_sheet(
        workbook, "Catalog", "Catalog", "D",
        f"{WORDS['input']}: invented demo sizes and prices; replace them with your own.",
    )  # fmt: skip
    sized = start_sheet(
        workbook, "Sized", "Sized: one HOPPER_SIZE_JOBS over the whole list", "L",
    )  # fmt: skip
    about = start_sheet(workbook, "About", "About this workbook", "A")
    _write_jobs(jobs, system, rows)
    _write_catalog(catalog, system)
    _write_sized(sized, rows)
    _write_about(about)
    define_name(workbook, "unit_system", "Jobs!$C$2")
    define_name(workbook, "default_basis", "Jobs!$E$2")
    for sheet in (jobs, sized):
        sheet.page_setup.orientation = "landscape"
    workbook.properties.title = "Job list: drying hoppers"
    workbook.properties.creator = "hoppersheet"
    return workbook
