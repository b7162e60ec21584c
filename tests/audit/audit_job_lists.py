"""A workbook with a job list that one HOPPER_SIZE_JOBS sizes, for the tests of the audit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.worksheet.formula import ArrayFormula

from audit.audit_books import stored

HEADINGS = (
    "Job", "Resin", "Throughput [lb/h]", "Drying hours", "Virgin share", "Regrind share",
    "Share basis", "Virgin density", "Regrind density", "Density basis",
)  # fmt: skip
SIZES = (8, 10, 12, 14, 16, 20)
FIRST, LINES = 4, 5
LAST = FIRST + LINES - 1
FORMULA = f"=HOPPER_SIZE_JOBS(Bulk!A3:J{LAST},Hoppers!A1:C{len(SIZES) + 1})"


def bulk_book() -> Any:
    """Five jobs with nothing to find: 4 h, half and half of 36 and 20 lb/ft3 by volume."""
    book = openpyxl.Workbook()
    bulk = book.active
    bulk.title = "Bulk"
    bulk["A1"] = "Jobs of an invented week"
    for column, heading in enumerate(HEADINGS, 1):
        bulk.cell(FIRST - 1, column, heading)
    for line in range(LINES):
        # 4 h x 60 lb/h / 28 lb/ft3 = 8.571 ft3, and so on in steps of 10 lb/h
        row = (f"J{line + 1}", "PC", 60 + 10 * line, 4, 0.5, 0.5, "volume", 36, 20, "measured")
        for column, value in enumerate(row, 1):
            bulk.cell(FIRST + line, column, value)
    hoppers = book.create_sheet("Hoppers")
    hoppers.append(["Size [ft3]", "Model", "Price"])
    for size in SIZES:
        hoppers.append([size, f"Model {size}", 1000 + 50 * size])
    book.create_sheet("Sized")["A1"] = ArrayFormula(f"A1:J{LINES + 1}", FORMULA)
    return book


def saved(book: Any, path: Path) -> Path:
    """Save as a spreadsheet program does: what the array formula fills stands in its cells."""
    from hoppersheet.workbook.book import read_book
    from hoppersheet.workbook.evaluator import Evaluator

    book.save(path)
    values = Evaluator(read_book(path))
    values.calculate()
    for row in book["Sized"]["A1:J6"]:
        for cell in row:
            if cell.coordinate != "A1":
                cell.value = values.cell_value(("Sized", cell.row, cell.column))
    return stored(book, path)
