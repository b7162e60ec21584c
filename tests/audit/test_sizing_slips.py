"""Slips in how a line is sized, planted one at a time in books of two halls with subtotals.

Jobs, figures and models are invented; the arithmetic stands beside each check.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet.audit import Audit, audit_book

_HEADINGS = (
    "Job", "Resin", "Virgin share", "Regrind share", "Share basis", "Virgin density, lb/ft3",
    "Regrind density, lb/ft3", "Blend density, lb/ft3", "Throughput, lb/h", "Drying hours, h",
    "Required volume, ft3", "Size, ft3", "Hours held, h", "Model",
)  # fmt: skip
_JOBS = (
    ("Cap", "PP", 0.2, 33, 22, 140, 2), ("Gear", "PA66", 0.1, 41, 26, 160, 4),
    ("Bezel", "PC", 0.15, 42, 27, 95, 4), ("Panel", "ABS", 0.3, 38.5, 26.5, 235, 3.5),
    ("Tray", "HIPS", 0.25, 39, 25.5, 180, 2), ("Base", "PBT", 0.15, 50, 30, 120, 4),
)  # fmt: skip
#: Rows of the jobs: a title and a subtotal between the halls.
ROWS = (3, 4, 5, 8, 9, 10)


def halls() -> openpyxl.Workbook:
    """Six lines, three in each hall."""
    book = openpyxl.Workbook()
    catalog = book.active
    catalog.title = "Sizes"
    catalog.append(["Size, ft3", "Model"])
    for size in (3.5, 6, 9, 12, 15, 18, 22, 27, 34, 45):
        catalog.append([size, f"E-{size:g}"])
    sheet = book.create_sheet("Halls")
    for at, heading in enumerate(_HEADINGS, 1):
        sheet.cell(1, at, heading)
    sheet["A2"], sheet["A7"] = "Hall 1", "Hall 2"
    sheet["J6"], sheet["K6"] = "Sum", "=SUM(K3:K5)"
    for at, (job, resin, share, virgin, regrind, rate, hours) in zip(ROWS, _JOBS, strict=True):
        cells: list[Any] = [
            job, resin, f"=1-D{at}", share, "mass", virgin, regrind,
            f"=HOPPER_BLEND_DENSITY(C{at}:D{at},F{at}:G{at},E{at})", rate, hours,
            f"=HOPPER_REQUIRED_VOLUME(I{at},J{at},H{at})",
            f"=HOPPER_NEXT_SIZE(K{at},Sizes!$A$2:$A$11)", f"=HOPPER_HELD_HOURS(L{at},H{at},I{at})",
            f"=HOPPER_CATALOG_ENTRY(L{at},Sizes!$A$2:$A$11,Sizes!$B$2:$B$11)",
        ]  # fmt: skip
        for column, value in enumerate(cells, 1):
            sheet.cell(at, column, value)
    return book


def audited(book: openpyxl.Workbook, path: Path) -> Audit:
    book.save(path)
    return audit_book(path, "core")


def put(cell: str, value: Any, sheet: str = "Halls") -> Callable[[openpyxl.Workbook], None]:
    def plant(book: openpyxl.Workbook) -> None:
        book[sheet][cell] = value

    return plant


def all_virgin(book: openpyxl.Workbook) -> None:
    for row in ROWS:
        book["Halls"][f"H{row}"] = f"=F{row}"


def models_one_row_up(book: openpyxl.Workbook) -> None:
    sizes = book["Sizes"]
    for row in range(2, 11):
        sizes[f"B{row}"] = sizes[f"B{row + 1}"].value


#: slip -> (what is planted, the kind of finding, a cell that it names)
SLIPS: dict[str, tuple[Callable[[openpyxl.Workbook], None], str, str]] = {
    "another line's volume, by luck of the same size":
        (put("L5", "=HOPPER_NEXT_SIZE(K3,Sizes!$A$2:$A$11)"), "odd formula", "Halls!L5"),
    "hours typed into one line, across the subtotal":
        (put("K9", "=HOPPER_REQUIRED_VOLUME(I9,2,H9)"), "odd formula", "Halls!K9"),
    "a factor inside an input": (put("I4", "=160*0.8"), "number in formula", "Halls!I4"),
    "one recipe by another basis": (put("E9", "volume"), "shares", "Halls!E9"),
    "a heading of the catalog in L": (put("A1", "Size, L", "Sizes"), "unit mismatch", "Sizes!A1"),
    "a heading of the volume in L":
        (put("K1", "Required L"), "unit mismatch", "Halls!K1"),
    "the virgin density for the blend": (all_virgin, "does not follow", "Halls!H3"),
    "another line's volume": (put("K5", "=K4"), "odd formula", "Halls!K5"),
    # 12 ft3 x 28.317 = 340 L
    "a size in L among ft3": (put("A5", 340, "Sizes"), "catalog entry", "Sizes!A5"),
    "a size without its decimal point": (put("A4", 90, "Sizes"), "catalog entry", "Sizes!A4"),
    "models one row off": (models_one_row_up, "catalog entry", "Sizes!B2"),
    "shares and densities crossed, in a plain formula":
        (put("H4", "=1/(C4/G4+D4/F4)"), "odd formula", "Halls!H4"),
    "PET with regrind": (put("B9", "PET"), "caution", "Halls!B9"),
}  # fmt: skip


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_is_told_at_its_cell(slip: str, tmp_path: Path) -> None:
    plant, kind, cell = SLIPS[slip]
    book = halls()
    plant(book)
    audit = audited(book, tmp_path / "book.xlsx")
    named = {c for f in audit.findings if f.kind == kind for c in (f"{f.sheet}!{f.cell}", *f.cells)}
    assert cell in named


def test_the_clean_book_of_halls_is_quiet(tmp_path: Path) -> None:
    audit = audited(halls(), tmp_path / "book.xlsx")
    assert [f for f in audit.findings if f.severity != "note"] == []
    assert audit.coverage.complete and audit.lines == 6


def test_a_figure_and_its_conversion_are_no_padding(tmp_path: Path) -> None:
    book = halls()
    book["Halls"]["I4"] = "=72.6*2.2046"  # kg/h to lb/h
    audit = audited(book, tmp_path / "book.xlsx")
    assert [f for f in audit.findings if f.cell == "I4"] == []


def test_a_text_for_a_throughput_under_iferror_is_a_line(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(
        ["Job", "Throughput [lb/h]", "Drying hours", "Density [lb/ft3]", "Needed volume [ft3]"]
    )
    for at, rate in enumerate((140, "tbd", 95), 2):
        sheet.append([f"Press {at}", rate, 4, 40, f'=IFERROR(B{at}*C{at}/D{at},"")'])
    audit = audited(book, tmp_path / "book.xlsx")
    assert audit.status == 1 and "'Press 3' (not sized" in audit.verdict


@pytest.mark.parametrize(
    "formula",
    [
        # NIST SP 811, appendix B.9: 1 kg = 2.20462 lb
        "=I{at}*0.45359",
        "=I{at}/2.2",
        "=I{at}*2.20462",
        "=I{at}*2",
        "=I{at}/0.45359",
    ],
)
def test_a_factor_between_two_stated_units(formula, tmp_path) -> None:
    """P is in kg/h beside I in lb/h: right is a factor of 0.45359, or a division by 2.2046."""
    book = halls()
    sheet = book["Halls"]
    sheet["P1"] = "Throughput [kg/h]"
    for at in ROWS:
        sheet[f"P{at}"] = formula.format(at=at)
    found = [f for f in audited(book, tmp_path / "book.xlsx").findings if f.cell == "P3"]
    wrong = "formula takes" in "".join(f.message for f in found)
    assert wrong == (formula not in ("=I{at}*0.45359", "=I{at}/2.2"))
    assert all(f.expected == pytest.approx(140 * 0.45359237, rel=1e-4) for f in found)
