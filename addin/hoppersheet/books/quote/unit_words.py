"""The words for units, one named cell per quantity: as the book shows it, and as it was typed.

``unit_system`` (sheet Quote) is the one cell that switches the whole book. What somebody has
typed does not change by switching: ``typed_units`` (sheet Sizing) says in which system the typed
figures are, and every figure is converted once, in the column beside it. So a switch can never
turn 100 lb/h into 100 kg/h.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...quantities import QUANTITIES
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
    for name in SWITCHING:
        row += 1
        quantity = QUANTITIES[name]
        put(sheet, f"A{row}", quantity.name, "label")
        put(sheet, f"B{row}", quantity.us, "calc", align="center")
        put(sheet, f"C{row}", quantity.metric, "calc", align="center")
        for letter, system, typed in (("D", "unit_system", False), ("E", "typed_units", True)):
            formula = f'=IF({system}="US",$B{row},IF({system}="metric",$C{row},NA()))'
            put(sheet, f"{letter}{row}", formula, "calc", align="center")
            define_name(book, unit_name(name, typed), f"{sheet.title}!${letter}${row}")
    return row + 1
