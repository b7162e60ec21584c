"""Cells with carried functions, computed by IronCalc: an engine that is not ours.

It reads the written .xlsx, knows nothing of the add-in, and computes the names alone.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import ironcalc
import openpyxl
from openpyxl.utils import get_column_letter

from hoppersheet import OMITTED
from hoppersheet.carried.book import carry
from hoppersheet.workbook.package import Package

Call = tuple[str, Sequence[Any]]


def book_of_calls(path: Path, calls: Iterable[Call], names: Sequence[str]) -> list[str]:
    """Write a workbook with one call a row, its arguments in cells; the cells of the calls."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    places, row = [], 1
    for function, arguments in calls:
        column, height, references = 2, 1, []
        for argument in arguments:
            if argument is OMITTED:
                references.append("")
                continue
            rows = argument if isinstance(argument, (list, tuple)) else [[argument]]
            rows = [r if isinstance(r, (list, tuple)) else [r] for r in rows]
            for i, cells in enumerate(rows):
                for j, value in enumerate(cells):
                    cell = sheet.cell(row + i, column + j, value)
                    if isinstance(value, str):
                        cell.data_type = "e" if value.startswith("#") and value != "#" else "s"
            last = f"{get_column_letter(column + len(rows[0]) - 1)}{row + len(rows) - 1}"
            first = f"{get_column_letter(column)}{row}"
            references.append(first if first == last else f"{first}:{last}")
            column += len(rows[0])
            height = max(height, len(rows))
        while references and not references[-1]:
            references.pop()
        sheet.cell(row, 1).value = f"={function}({','.join(references)})"
        places.append(f"A{row}")
        row += height
    plain = path.with_name(f"plain_{path.name}")
    book.save(plain)
    package = Package(plain)
    carry(package, names)
    package.save(path)
    return places


@lru_cache(maxsize=1)
def _computed(path: str, _changed: int) -> Any:
    model = ironcalc.load_from_xlsx(path, "en", "UTC", "en")
    model.evaluate()
    return model


def values(path: Path, places: Iterable[str], sheet: int = 0) -> list[Any]:
    """What IronCalc shows in cells of a workbook, each computed anew."""
    model = _computed(os.fspath(path), path.stat().st_mtime_ns)
    found = []
    for place in places:
        column, row = openpyxl.utils.cell.coordinate_from_string(place)
        found.append(
            model.get_cell_value(sheet, row, openpyxl.utils.column_index_from_string(column))
        )
    return found
