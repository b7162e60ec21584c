"""Workbooks for the tests of the audit: a clean one as somebody might make it, then spoiled.

All names and figures are invented. The arithmetic behind the expected findings stands beside each
check in the tests.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.utils import get_column_letter

from hoppersheet.cells.values import is_error
from hoppersheet.workbook.book import read_book
from hoppersheet.workbook.evaluator import Evaluator
from hoppersheet.workbook.package import Package
from hoppersheet.workbook.sheet_cells import ErrorText

#: column key -> heading; the letter follows from the order
HEADINGS = {
    "job": "Job",
    "virgin_share": "Virgin share",
    "regrind_share": "Regrind share",
    "basis": "Share basis",
    "virgin": "Virgin density [lb/ft3]",
    "regrind": "Regrind density [lb/ft3]",
    "origin": "Density basis",
    "blend": "Blend density [lb/ft3]",
    "rate": "Throughput [lb/h]",
    "hours": "Drying hours",
    "required": "Required volume [ft3]",
    "next": "Next size [ft3]",
    "chosen": "Chosen size [ft3]",
    "reason": "Reason",
    "model": "Model",
    "price": "Unit price",
    "quantity": "Quantity",
    "total": "Line total",
    "high": "High density for load [lb/ft3]",
    "empty": "Empty mass [lb]",
    "loaded": "Loaded mass [lb]",
}
COLUMN = {key: get_column_letter(at) for at, key in enumerate(HEADINGS, 1)}
SIZES, MODELS, PRICES = "Catalog!$A$2:$A$9", "Catalog!$B$2:$B$9", "Catalog!$C$2:$C$9"
FIRST, LINES = 4, 8
CATALOG = [(s, f"Model {s}", 1000.0 + 50 * s) for s in (8, 10, 12, 14, 16, 20, 25, 30)]


def at(key: str, line: int) -> str:
    """``at("blend", 0)`` -> the cell of the first line in that column."""
    return f"{COLUMN[key]}{FIRST + line}"


def formulas(row: int) -> dict[str, str]:
    """The formulas of one line."""
    c = {key: f"{letter}{row}" for key, letter in COLUMN.items()}
    return {
        "regrind_share": f"=1-{c['virgin_share']}",
        "blend": f"=HOPPER_BLEND_DENSITY({c['virgin_share']}:{c['regrind_share']},"
        f"{c['virgin']}:{c['regrind']},{c['basis']})",
        "required": f"=HOPPER_REQUIRED_VOLUME({c['rate']},{c['hours']},{c['blend']})",
        "next": f"=HOPPER_NEXT_SIZE({c['required']},{SIZES})",
        "chosen": f"={c['next']}",
        "model": f"=HOPPER_CATALOG_ENTRY({c['chosen']},{SIZES},{MODELS})",
        "price": f"=HOPPER_CATALOG_ENTRY({c['chosen']},{SIZES},{PRICES})",
        "total": f"={c['price']}*{c['quantity']}",
        "loaded": f"=HOPPER_LOADED_MASS({c['empty']},{c['chosen']},{c['high']})",
    }


def clean_book() -> openpyxl.Workbook:
    """A list of eight lines, a catalog and a total; nothing in it to find."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Sizing"
    sheet["A1"] = "Hoppers for an invented customer"
    for at_column, heading in enumerate(HEADINGS.values(), 1):
        sheet.cell(FIRST - 1, at_column, heading)
    for line in range(LINES):
        row = FIRST + line
        inputs: dict[str, Any] = {
            "job": f"Press {line + 1}", "virgin_share": 0.5 + 0.05 * line, "basis": "volume",
            "virgin": 36.0 + 0.5 * line, "regrind": 20.0, "origin": "measured",
            "rate": 60.0 + 12 * line, "hours": 4.0, "quantity": 1 + line % 3, "high": 45.0,
            "empty": 300.0 + 10 * line,
        }  # fmt: skip
        for key, value in {**inputs, **formulas(row)}.items():
            sheet[f"{COLUMN[key]}{row}"] = value
    last = FIRST + LINES - 1
    sheet[f"{COLUMN['quantity']}{last + 2}"] = "Total"
    sheet[f"{COLUMN['total']}{last + 2}"] = f"=SUM({at('total', 0)}:{at('total', LINES - 1)})"
    catalog = book.create_sheet("Catalog")
    catalog.append(["Size [ft3]", "Model", "Price"])
    for row in CATALOG:
        catalog.append(row)
    return book


def stored(
    book: openpyxl.Workbook, path: Path, known: dict[tuple[str, str], Any] | None = None
) -> Path:
    """Save with the values that a calculation gives stored in it, as a program would.

    ``known``: (sheet, cell) -> value of formulas that cannot be calculated here.
    """
    book.save(path)
    for (sheet, cell), value in (known or {}).items():
        set_stored(path, sheet, cell, value)
    read = read_book(path)
    values = Evaluator(read)
    values.calculate()
    assert len(values.unknown) == len(known or {}), values.unknown
    package = Package(path)
    for name in read.sheets:
        found = {
            cell.coordinate: values.cell_value((name, cell.row, cell.column))
            for row in book[name].iter_rows()
            for cell in row
            if cell.data_type == "f"
        }
        package.set_values(name, {k: ErrorText(v) if is_error(v) else v for k, v in found.items()})
    package.save(path)
    return path


def set_stored(path: Path, sheet: str, cell: str, value: Any) -> None:
    """Falsify one stored value and nothing else."""
    package = Package(path)
    assert package.set_values(sheet, {cell: value}) == 1
    package.save(path)
