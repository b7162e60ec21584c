"""The words for units, one named cell per quantity: as the book shows it, and as it was typed.

``unit_system`` (sheet Quote) is the one cell that switches the whole book. What somebody has
typed does not change by switching: ``typed_units`` (sheet Sizing) says in which system the typed
figures are, and every figure is converted once, in the column beside it. So a switch can never
turn 100 lb/h into 100 kg/h.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...cells.quantities import QUANTITIES, Quantity
from ..layout import define_name, has_unit, put, unit_name

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["SWITCHING", "write_unit_words"]

#: The quantities whose unit differs between the systems, in the order of the table.
SWITCHING = tuple(name for name in QUANTITIES if has_unit(name))


def write_unit_words(book: Workbook, sheet: Worksheet, first_row: int) -> int:
    """Write the table of units from ``first_row`` (its headings) on; returns the row after it."""
    headings = ("Quantity", "US", "metric", "shown in this book", "as typed")
    for letter, heading in zip("ABCDE", headings, strict=True):
        put(sheet, f"{letter}{first_row}", heading, "heading")
    row = first_row
    cells: dict[tuple[str, str], int] = {}
    for name in SWITCHING:
        quantity = QUANTITIES[name]
        units = (quantity.us, quantity.metric)
        # One line for all quantities of the same unit, under the name of the first.
        if units not in cells:
            row += 1
            cells[units] = row
            _write_line(sheet, row, quantity)
        for letter, typed in (("D", False), ("E", True)):
            define_name(book, unit_name(name, typed), f"{sheet.title}!${letter}${cells[units]}")
    return row + 1


def _write_line(sheet: Worksheet, row: int, quantity: Quantity) -> None:
    put(sheet, f"A{row}", quantity.name, "label", align="left")
    put(sheet, f"B{row}", quantity.us, "calc", align="center")
    put(sheet, f"C{row}", quantity.metric, "calc", align="center")
    for letter, system in (("D", "unit_system"), ("E", "typed_units")):
        formula = f'=IF({system}="US",$B{row},IF({system}="metric",$C{row},NA()))'
        put(sheet, f"{letter}{row}", formula, "calc", align="center")
