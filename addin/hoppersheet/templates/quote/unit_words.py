"""The words for units, one named cell per quantity, in the unit system of the book.

``unit_system`` (sheet *Settings*) is the one cell that switches the book. What somebody has typed
does not change by switching, so a check fails until ``units_confirmed`` says the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...cells.quantities import QUANTITIES, Quantity
from ..layout import define_name, has_unit, put, unit_name

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["SWITCHING", "shown", "write_unit_words"]

#: The quantities whose unit differs between the systems, in the order of the table.
SWITCHING = tuple(name for name in QUANTITIES if has_unit(name))


def shown(unit: str) -> str:
    """A unit as people write it: with the cube of Latin-1, and degrees."""
    return unit.replace("3", "³").replace("degF", "°F").replace("degC", "°C")


def write_unit_words(book: Workbook, sheet: Worksheet, first_row: int) -> int:
    """Write the table of units from ``first_row`` (its headings) on; returns the row after it."""
    headings = ("Quantity", "US", "metric", "in this book")
    for letter, heading in zip("ABCD", headings, strict=True):
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
        define_name(book, unit_name(name), f"{sheet.title}!$D${cells[units]}")
    return row + 1


def _write_line(sheet: Worksheet, row: int, quantity: Quantity) -> None:
    put(sheet, f"A{row}", quantity.name, "label", align="left")
    put(sheet, f"B{row}", shown(quantity.us), "calc", align="center")
    put(sheet, f"C{row}", shown(quantity.metric), "calc", align="center")
    formula = f'=IF(unit_system="US",$B{row},IF(unit_system="metric",$C{row},NA()))'
    put(sheet, f"D{row}", formula, "calc", align="center")
