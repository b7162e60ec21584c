"""The workbook that tests an installation: every test vector as a live formula.

A user opens it after installing the add-in and reads one cell. Sheet *Check* has one row per
vector: the formula, the answer it gives in this spreadsheet program, the expected value with its
tolerance and source, and pass or FAIL. Ranges, blanks and error values that the formulas refer
to stand on *Inputs*; results that are tables stand on *Tables*, beside what is expected.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, isfinite
from typing import Any

from openpyxl import Workbook
from openpyxl.formatting.rule import Rule
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.formula import ArrayFormula

from ..cells.values import OMITTED, as_rows, is_blank
from ..errors import SHEET_ERRORS
from ..functions import get
from ..vectors import Vector, load_vectors
from ..workbook.formula_text import call_text, fits_in_formula, literal
from .layout import define_name, put, realign, start_sheet
from .styles import add_styles, failed, passed

__all__ = ["ALL_PASS", "FIRST_ROW", "STATUS_CELL", "build"]

#: What the status cell says when every check passes; the cell's defined name is ``all_pass``.
ALL_PASS = "ALL PASS"
STATUS_CELL = "B4"
#: Row of the first check on the sheet *Check*.
FIRST_ROW = 12

_ANY_ERROR = "any error"
_HEADINGS = (
    ("check", 36),
    ("function", 30),
    ("formula", 52),
    ("answer here", 22),
    ("expected", 22),
    ("tolerance", 11),
    ("tolerance is", 13),
    ("error shown", 13),
    ("verdict", 10),
    ("source of the expected value", 70),
)
_COMPUTED = ("answer here", "error shown", "verdict")
_ERROR_NAMES = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A")
_NOTES = (
    "Every row computes one cell function live and compares the answer with a value from the "
    "named source. Open it after installing the add-in, and after updating it.",
    "If every answer is #NAME?, the add-in is not installed or not loaded. If some rows FAIL, do "
    "not quote with this installation; reinstall the add-in.",
    'Expected "any error": the formula refers to a blank cell, which reaches the function as '
    "nothing in Excel (#VALUE!) and as 0 in Calc (#NUM!); or it is #NULL!, which Calc cannot name.",
)


def _put(cell: Any, value: Any) -> None:
    """Write a raw cell value; a text that looks like a formula or an error stays a text."""
    if isinstance(value, float) and not isfinite(value):
        raise ValueError(f"no cell can hold {value!r}")
    cell.value = value
    if isinstance(value, str):
        cell.data_type = "s"


def _put_input(cell: Any, value: Any) -> None:
    """Write an input: here an error value is a real one, and an empty text comes of a formula."""
    if value == "":
        cell.value = '=""'
    elif isinstance(value, str) and value in SHEET_ERRORS:
        if value not in _ERROR_NAMES:
            raise ValueError(f"an .xlsx file cannot hold the error {value}")
        cell.value, cell.data_type = value, "e"
    else:
        _put(cell, value)


@dataclass
class _Inputs:
    """The sheet *Inputs*: hands out a reference for every value that needs cells."""

    sheet: Any
    row: int = 4

    def reference(self, vector: Vector, name: str, value: Any) -> str:
        rows = as_rows(value)
        width = max(len(line) for line in rows)
        first = self.row
        _put(self.sheet.cell(first, 1), vector.id)
        _put(self.sheet.cell(first, 2), name)
        for line in rows:
            for column, item in enumerate(line, 3):
                if item is not None:
                    _put_input(self.sheet.cell(self.row, column), item)
            self.row += 1
        last = f"${get_column_letter(2 + width)}${self.row - 1}"
        self.row += 1
        start = f"{self.sheet.title}!$C${first}"
        return start if last == f"$C${first}" else f"{start}:{last}"


def _formula(vector: Vector, inputs: _Inputs) -> str:
    record = get(vector.function)
    assert record is not None
    texts: list[Any] = []
    for at, value in enumerate(vector.arguments):
        if value is OMITTED:
            texts.append(OMITTED)
        elif fits_in_formula(value):
            texts.append(literal(value))
        else:
            name = record.arguments[min(at, len(record.arguments) - 1)].name
            texts.append(inputs.reference(vector, name, value))
    return call_text(vector.function, texts)


def _expected(vector: Vector) -> Any:
    """The expected cell value, or that any error will do where the programs differ."""
    # Calc's ERROR.TYPE has no number for #NULL!, and Calc passes a blank on as 0.
    if vector.expected == "#NULL!":
        return _ANY_ERROR
    blank = any(is_blank(a) for a in vector.arguments if not isinstance(a, (list, tuple)))
    if blank and isinstance(vector.expected, str) and vector.expected in SHEET_ERRORS:
        return _ANY_ERROR
    return vector.expected


def _table(
    vector: Vector, formula: str, sheet: Any, row: int, check_row: int
) -> tuple[str, int, int]:
    """Put a table result and the expected one on *Tables*, from row ``row`` on.

    Returns:
        The formula that counts the cells that agree, how many must, and the next free row.
    """
    expected = as_rows(vector.expected)
    height, width = len(expected), max(len(line) for line in expected)
    _put(sheet.cell(row, 1), vector.id)
    gap = width + 1
    for part, label in enumerate(("computed", "expected", "agrees")):
        _put(sheet.cell(row, 2 + part * gap), label)
    top, bottom = row + 1, row + height
    last = get_column_letter(1 + width)
    sheet[f"B{top}"] = ArrayFormula(f"B{top}:{last}{bottom}", f"={formula}")
    for down, line in enumerate(expected):
        for across, value in enumerate(line):
            here, there = (
                f"{get_column_letter(2 + across + part * gap)}{top + down}" for part in (0, 1)
            )
            _put(sheet[there], value)
            agrees = sheet.cell(top + down, 2 + across + 2 * gap)
            agrees.value = f"=IF({_verdict(here, there, check_row, 'Check!')},1,0)"
    first_flag = get_column_letter(2 + 2 * gap)
    last_flag = get_column_letter(1 + width + 2 * gap)
    count = f"SUM({sheet.title}!{first_flag}{top}:{last_flag}{bottom})"
    return count, height * width, bottom + 2


def _error_name(cell: str) -> str:
    """Formula text: the name of the error in ``cell``, or an empty text."""
    names = ",".join(f'"{name}"' for name in _ERROR_NAMES)
    other = '"another error"'
    return f'IF(ISERROR({cell}),IFERROR(CHOOSE(ERROR.TYPE({cell}),{names}),{other}),"")'


def _verdict(answer: str, expected: str, row: int, sheet: str = "") -> str:
    """Formula text: TRUE where the cell ``answer`` is as the cell ``expected`` says.

    The tolerance stands in row ``row`` of *Check*; ``sheet`` is the prefix that leads there.
    """
    factor = f'IF({sheet}G{row}="relative",ABS({expected}),1)'
    near = f"ABS({answer}-{expected})<={sheet}F{row}*{factor}"
    error = _error_name(answer)
    return (
        f'IF(ISERROR({answer}),OR({error}={expected},{expected}="{_ANY_ERROR}"),'
        f"IF(ISNUMBER({expected}),IF(ISNUMBER({answer}),{near},FALSE),"
        # Calc finds a text from an add-in's table equal to no other text until it is joined anew.
        f'IF(ISNUMBER({answer}),FALSE,EXACT({answer}&"",{expected}&""))))'
    )


def _start(workbook: Any) -> tuple[Any, Any, Any]:
    """The three empty sheets with their titles."""
    titles = (
        ("Check", "Function check", "J", _NOTES[0]),
        (
            "Inputs", "Inputs of the checks", "H",
            "Ranges, blanks and error values that the formulas on Check refer to.",
        ),
        ("Tables", "Results that are tables", "H", "What was computed beside what is expected."),
    )  # fmt: skip
    check, inputs, tables = (start_sheet(workbook, *title) for title in titles)
    for sheet in (check, inputs, tables):
        sheet.page_setup.orientation = "landscape"
    for column, (heading, width) in enumerate(_HEADINGS, 1):
        cell = check.cell(FIRST_ROW - 1, column)
        put(check, cell.coordinate, heading, "heading")
        check.column_dimensions[cell.column_letter].width = width
    check.freeze_panes = f"B{FIRST_ROW}"
    check.print_title_rows = f"{FIRST_ROW - 1}:{FIRST_ROW - 1}"
    return check, inputs, tables


def _summary(sheet: Any, last: int) -> None:
    """The one cell that tells, the counts, and the version."""
    put(sheet, "A3", _NOTES[1], "note")
    put(sheet, "A9", _NOTES[2], "note")
    for address in ("A3", "A9"):
        realign(sheet[address], wrap_text=False)
    verdicts = f"I{FIRST_ROW}:I{last}"
    lines = (
        ("result", f'=IF(B7=0,"{ALL_PASS}",B7&" OF "&B5&" FAIL")'),
        ("checks", f"=COUNTA(A{FIRST_ROW}:A{last})"),
        ("pass", f'=COUNTIF({verdicts},"pass")'),
        ("fail", "=B5-B6"),
        ("add-in", '=IFERROR(HOPPER_VERSION(),"not installed or not loaded")'),
    )
    for row, (label, value) in enumerate(lines, 4):
        put(sheet, f"A{row}", label, "label")
        put(sheet, f"B{row}", value, "total" if row == 4 else "check", align="left")
    # In every row of the list, and in the cell that tells: words first, color second.
    for span, condition, look in (
        (f"A{FIRST_ROW}:J{last}", f'$I{FIRST_ROW}="FAIL"', failed()),
        (STATUS_CELL, f'{STATUS_CELL}<>"{ALL_PASS}"', failed()),
        (STATUS_CELL, f'{STATUS_CELL}="{ALL_PASS}"', passed()),
    ):
        rule = Rule(type="expression", dxf=look, formula=[condition], stopIfTrue=True)
        sheet.conditional_formatting.add(span, rule)


def _write_row(sheet: Any, row: int, cells: Iterable[tuple[str, Any]]) -> None:
    """The cells of one check, from left to right, as (style, value)."""
    lines = 1
    for column, ((kind, value), (heading, width)) in enumerate(
        zip(cells, _HEADINGS, strict=True), 1
    ):
        cell = sheet.cell(row, column)
        formula = heading in _COMPUTED
        put(sheet, cell.coordinate, value, kind)
        if not formula:
            _put(cell, value)
            # No program sizes a wrapped row by itself in a file that was never opened before.
            lines = max(lines, ceil(len(str(value)) / width))
        realign(cell, wrap_text=not formula, vertical="top", horizontal="left")
    sheet.row_dimensions[row].height = 14 * min(lines, 8) + 2


def build(vectors: Sequence[Vector] | None = None) -> Any:
    """The workbook, as openpyxl has it.

    Args:
        vectors: the checks, one row each; all of :func:`~hoppersheet.vectors.load_vectors` when
            left out.

    Raises:
        ValueError: a vector holds what no cell can hold, such as an infinite number.
    """
    rows: Iterable[Vector] = load_vectors() if vectors is None else vectors
    workbook = Workbook()
    workbook.remove(workbook.active)
    add_styles(workbook)
    check, inputs_sheet, tables = _start(workbook)
    inputs, tables_row, last = _Inputs(inputs_sheet), 4, FIRST_ROW - 1
    for last, vector in enumerate(rows, FIRST_ROW):
        formula, expected = _formula(vector, inputs), _expected(vector)
        shown = formula
        if isinstance(expected, (list, tuple)):
            formula, expected, tables_row = _table(vector, formula, tables, tables_row, last)
        kind = {"rel": "relative", "abs": "absolute", "exact": "exact"}[vector.tolerance_kind]
        verdict = f'=IF({_verdict(f"D{last}", f"E{last}", last)},"pass","FAIL")'
        _write_row(
            check, last,
            (
                ("text", vector.id), ("text", vector.function), ("text", shown),
                ("calc", f"={formula}"), ("text", expected), ("text", vector.tolerance),
                ("text", kind), ("check", "=" + _error_name(f"D{last}")), ("check", verdict),
                ("note", vector.source),
            ),
        )  # fmt: skip
    if last < FIRST_ROW:
        raise ValueError("there is no vector to check")
    _summary(check, last)
    define_name(workbook, "all_pass", f"Check!${STATUS_CELL[0]}${STATUS_CELL[1:]}")
    workbook.properties.title = "Function check"
    workbook.properties.creator = "hoppersheet"
    return workbook
