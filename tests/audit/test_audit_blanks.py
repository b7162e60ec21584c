"""Blank cells that count as 0, seen alike whatever calculates; and what is no such blank.

That Calc hands a blank single cell to an argument that may be left out as 0 is measured in
``test_calc_agrees``; the expected numbers are arithmetic.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from audit.audit_books import stored
from hoppersheet.audit import Audit, audit_book

WORKBOOKS = Path(__file__).parents[2] / "workbooks"


def form(**cells: Any) -> Any:
    """A form of one hopper's load and heat; ``cells`` are changed in it."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Form"
    rows = [
        ("Throughput", 100, "lb/h"),
        ("Specific heat", 0.3, "Btu/(lb degF)"),
        ("Resin enters at", 70, "degF"),
        ("Drying temperature", 250, "degF"),
        ("Heat", "=HOPPER_HEAT(B1,B2,B3,B4)", "Btu/h"),
        ("Empty hopper", 400, "lb"),
        ("Volume", 20, "ft3"),
        ("High density", 45, "lb/ft3"),
        ("Loaded", "=HOPPER_LOADED_MASS(B6,B7,B8)", "lb"),
        ("Altitude", 500, "ft"),
        ("Room", 75, "degF"),
        ("Humidity", 0.5, ""),
        ("Moisture of the room", "=HOPPER_AIR_MOISTURE(B11,B12,B10)", ""),
        ("Heat twice", "=2*B5", ""),
    ]
    for row in rows:
        sheet.append(row)
    for cell, value in cells.items():
        sheet[cell] = value
    return book


def audited(book: Any, folder: Path, engine: str = "core") -> Audit:
    return audit_book(stored(book, folder / "form.xlsx"), engine)


def found_in(audit: Audit) -> set[tuple[str, str, str]]:
    return {(found.kind, found.severity, found.cell) for found in audit.findings}


def test_nothing_to_find_where_nothing_is_blank(tmp_path: Path) -> None:
    assert audited(form(), tmp_path).findings == []


def test_a_blank_that_is_the_default_in_calc(tmp_path: Path) -> None:
    audit = audited(form(B10=None), tmp_path)
    assert found_in(audit) == {("blank read as 0", "warning", "B10")}
    said = audit.findings[0].message
    assert "HOPPER_AIR_MOISTURE in Form!B13 takes it for its altitude" in said
    assert "as 0 ft and shows" in said and "Excel shows #VALUE!" in said and "type a 0" in said


def test_a_required_input_that_is_blank_is_an_error_in_both_programs(tmp_path: Path) -> None:
    audit = audited(form(B3=None, B6=None), tmp_path)
    assert found_in(audit) == {("error value", "error", "B5"), ("error value", "error", "B9")}
    assert "from_temperature from Form!B3: the cell is blank" in audit.findings[0].message


def test_a_0_made_of_a_blank_by_a_formula(tmp_path: Path) -> None:
    """``=D3`` is 0 in every program where D3 is blank."""
    audit = audited(form(B3="=D3", B6="=D6"), tmp_path)
    assert found_in(audit) == {
        ("blank read as 0", "error", "D3"), ("blank read as 0", "error", "D6"),
    }  # fmt: skip
    said = {found.cell: found.message for found in audit.findings}
    assert "takes it for its from_temperature: a formula makes a 0 of the blank" in said["D3"]
    # 100 x 0.3 x 250 = 7500 Btu/h; from 10 degF it is 7200: 4 % less
    assert "0 degF gives 7500 Btu/h" in said["D3"]
    assert "with 10 degF the heat to warm the resin is 4 % less" in said["D3"]
    # 20 x 45 = 900 lb without the hopper; 100 / 900 = 11.1 %
    assert "gives 900 lb" in said["D6"] and "11.1 % more" in said["D6"]


@pytest.mark.calc
def test_calc_agrees(tmp_path: Path) -> None:
    """Calc really shows the numbers that the core's audit says, and finds the same."""
    book = form(B3="=D3", B6=None, B10=None)
    by_calc, by_core = (audited(book, tmp_path, engine) for engine in ("calc", "core"))
    assert by_calc.context is not None
    assert by_calc.context.value(("Form", 5, 2)) == pytest.approx(7500)
    assert isinstance(by_calc.context.value(("Form", 13, 2)), float)
    assert by_calc.context.value(("Form", 9, 2)) == "#VALUE!"
    assert by_calc.findings == by_core.findings


@pytest.mark.parametrize(
    "cells",
    [
        {"B3": 0},  # typed
        {"B3": "=N(D3)"},  # a blank that is meant to be 0
        {"B3": '=IF(D3="",70,D3)'},
        {"B5": '=IF(B3="","",HOPPER_HEAT(B1,B2,B3,B4))', "B3": None, "B14": None},
        {"B5": "=HOPPER_HEAT(B1,B2,B3,B4)", "B1": None, "B3": None, "B4": None, "B2": None},
    ],
)
def test_what_is_no_blank_taken_for_0(cells: dict[str, Any], tmp_path: Path) -> None:
    kinds = {kind for kind, _, _ in found_in(audited(form(**cells), tmp_path))}
    assert "blank read as 0" not in kinds


def test_a_column_of_blank_reserves_is_said_once(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Job", "Throughput [lb/h]", "Hours", "Density [lb/ft3]", "Reserve", "Volume"])
    for row in range(2, 8):
        formula = f"=HOPPER_REQUIRED_VOLUME(B{row},C{row},D{row},E{row})"
        sheet.append([f"J{row}", 100, 4, 34, None, formula])
    (found,) = audited(book, tmp_path).findings
    assert (found.kind, found.severity, found.cell) == ("blank read as 0", "warning", "E2")
    assert "(and 5 more like it)" in found.message


@pytest.mark.parametrize("name", ["quote_template", "joblist_template"])
def test_prepared_rows_of_our_templates_are_no_blanks(name: str) -> None:
    assert audit_book(WORKBOOKS / f"{name}.xlsx", "core").findings == []
