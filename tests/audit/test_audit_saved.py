"""Workbooks that LibreOffice Calc has saved, and fresh values from the other engines.

Calc 7.4 writes our functions by their internal name (``ORG.HOPPERSHEET.FUNCTIONS.HOPPER_X``),
other number formats and styles, and its own 15 digits; none of this may change a finding. The demo
quote saved by Calc is in ``test_audit_quote.py``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from audit.audit_books import at, clean_book, set_stored, stored
from audit.audit_job_lists import bulk_book, saved
from hoppersheet.audit import Audit, Finding, audit_book
from hoppersheet.workbook.package import Package


def spoiled_book() -> Any:
    """Faults that show in formulas, prices, origins, and an input that is missing."""
    book = clean_book()
    sheet = book["Sizing"]
    sheet[at("blend", 2)] = 31.0
    sheet[at("required", 4)] = sheet[at("required", 4)].value + "*1.02"
    sheet[at("price", 5)] = 1700.0
    sheet[at("regrind", 1)] = f"=HOPPER_REGRIND_DENSITY({at('virgin', 1)})"
    sheet[at("empty", 0)] = None
    return book


def spoiled_list() -> Any:
    book = bulk_book()
    for cell, value in {"D5": 0.1667, "G6": None, "I7": None, "H8": 62}.items():
        book["Bulk"][cell] = value
    return book


def comparable(finding: Finding) -> tuple[Any, ...]:
    """A finding, its number as Calc stores it."""
    value = finding.value
    value = float(f"{value:.14g}") if isinstance(value, float) else value
    return (
        finding.kind, finding.severity, finding.sheet, finding.cell, finding.message,
        finding.formula, value,
    )  # fmt: skip


def assert_alike(one: Audit, other: Audit) -> None:
    assert sorted(map(comparable, other.findings), key=str) == sorted(
        map(comparable, one.findings), key=str
    )
    assert (other.cells, other.lines) == (one.cells, one.lines)
    assert other.coverage.as_dict() == one.coverage.as_dict()
    assert [(a.cell, a.input, a.origin) for a in other.assumptions] == [
        (a.cell, a.input, a.origin) for a in one.assumptions
    ]


def formulas_in(path: Path) -> str:
    package = Package(path)
    return "".join(package.xml(sheet.part).decode() for sheet in package.sheets)


@pytest.mark.calc
@pytest.mark.parametrize("name", ["spoiled", "list"])
def test_a_book_saved_by_calc_gives_the_same_findings(
    name: str, office: Any, tmp_path: Path
) -> None:
    source = tmp_path / "source.xlsx"
    if name == "spoiled":
        stored(spoiled_book(), source)
    else:
        saved(spoiled_list(), source)
    office.compute(source, save_as=tmp_path / "saved.xlsx")
    if office.version().startswith("7."):
        assert "ORG.HOPPERSHEET.FUNCTIONS.HOPPER_" in formulas_in(tmp_path / "saved.xlsx")
    before = audit_book(source, "core")
    assert before.findings
    assert_alike(before, audit_book(tmp_path / "saved.xlsx", "core"))


@pytest.mark.calc
def test_a_value_edited_by_hand_in_a_book_saved_by_calc(office: Any, tmp_path: Path) -> None:
    source = stored(clean_book(), tmp_path / "clean.xlsx")
    office.compute(source, save_as=tmp_path / "saved.xlsx")
    set_stored(tmp_path / "saved.xlsx", "Sizing", at("total", 6), 1.0)
    (found,) = audit_book(tmp_path / "saved.xlsx", "calc").findings
    assert (found.kind, found.cell) == ("stale value", at("total", 6))
