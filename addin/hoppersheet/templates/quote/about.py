"""Sheet *About*: version, how to use the book, what the marks mean, cautions, units."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..cautions import CAUTIONS
from ..layout import put, put_across, start_sheet, text_height
from ..styles import WORDS
from .steps import STEPS
from .unit_words import write_unit_words

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["write"]

_WIDTHS = (24, 18, 18, 20, 22)

_MARKS = (
    ("input", "You type here. Every one has a prompt and refuses impossible values."),
    ("calc", "A formula. Leave it alone; more rows by copying the last one down."),
    ("check", "Compares or judges. Says in words what it found."),
)
_ERRORS = (
    ("#N/A", "no answer: an input is missing, or no size is large enough"),
    ("#NUM!", "a value that is impossible or out of range"),
    ("#VALUE!", "the wrong kind of input, such as text for a number"),
    ("#NAME?", "the add-in is not installed"),
)


def _write_list(sheet: Worksheet, row: int, heading: str, lines: tuple[str, ...]) -> int:
    put_across(sheet, f"A{row}:E{row}", heading, "section")
    for row, line in enumerate(lines, row + 1):  # noqa: B020 goes on from the heading
        put_across(sheet, f"A{row}:E{row}", line, "text")
        sheet.row_dimensions[row].height = text_height(line, sum(_WIDTHS))
    return row + 2


def write(book: Workbook) -> None:
    """Add the sheet."""
    sheet = start_sheet(book, "About", "About this workbook", "E")
    for letter, width in zip("ABCDE", _WIDTHS, strict=True):
        sheet.column_dimensions[letter].width = width
    put(sheet, "A3", "Computed with", "label")
    put_across(sheet, "B3:E3", "=HOPPER_VERSION()", "calc", align="left")
    put(sheet, "A4", "What it is for", "label")
    put_across(
        sheet, "B4:E4",
        "Sizes drying hoppers for plastic resin and makes the quote, with every assumption in the "
        "open.", "label", align="left",
    )  # fmt: skip
    row = _write_list(sheet, 6, "How to use it", STEPS)
    put_across(sheet, f"A{row}:E{row}", "What the marks mean", "section")
    for role, meaning in _MARKS:
        row += 1
        put(sheet, f"A{row}", WORDS[role], role, align="center")
        put_across(sheet, f"B{row}:E{row}", meaning, "label", align="left")
    for code, meaning in _ERRORS:
        row += 1
        # The text, not the error itself, which openpyxl would make of it.
        put(sheet, f"A{row}", code, "alarm", align="center").data_type = "s"
        put_across(sheet, f"B{row}:E{row}", meaning, "label", align="left")
    row = _write_list(sheet, row + 2, "Cautions", CAUTIONS)
    put_across(sheet, f"A{row}:E{row}", "Units", "section")
    row = write_unit_words(book, sheet, row + 1)
    sheet.page_setup.orientation = "portrait"
    sheet.page_setup.fitToHeight = 1
    sheet.page_margins.bottom = 0.75
    sheet.print_area = f"A1:E{row - 1}"
