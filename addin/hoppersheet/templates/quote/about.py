"""Sheet *About*: version, the way through the book, what the marks mean, cautions, units."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...tables.resin_table import TABLE_VERSION
from ..cautions import CAUTIONS
from ..layout import put, put_across, text_height
from ..styles import STATES
from .grid import new_sheet, portrait
from .line_checks import SIZING
from .unit_words import write_unit_words

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["STEPS", "write"]

_WIDTHS = (26, 26, 26, 34)

_STEPS = (
    "Settings: customer, quote number, dates, units, and what applies to the whole quote. Catalog "
    "and Dryer catalog: replace the invented models with your own.",
    "One line: try a job, compare the candidates, see what is still estimated. Copy its row "
    "into Sizing (paste values). Or type straight into Sizing.",
    "Sizing: one row per job. Straw cells are typed; the plus signs above show the columns that "
    "are rarely needed. Hours are a number: 4, not 4:00. Leave a density blank to take it from "
    "Measured density or Resins.",
    "Choice: blank follows the policy in Settings. A size that holds less than asked needs a "
    "reason; the customer reads it.",
    "A job larger than the largest hopper: split, folded under Choice on Sizing, says how many "
    "hoppers share its rate.",
    "Dryer: blank quotes the next dryer up for all lines on it. Choose none, with a reason, where "
    "the customer has one. It gives air of one temperature: lines that ask for less need heaters "
    "of their own (type that as the reason) or another dryer (column {dryer} of Sizing, folded).",
    "Checks: fix every fail, review every look. The page says DRAFT until nothing fails.",
    "Quote: print this sheet alone, pages 1 to the number on Checks (Pages to print of Quote): "
    "what follows is blank. The other sheets hold the price list and internal reasons. hoppersheet "
    "handoff BOOK --page Quote --out quote.pdf writes just these pages.",
)
#: Numbered sentences.
STEPS = tuple(
    f"{number}. {step.format(dryer=SIZING.letter('dryer'))}"
    for number, step in enumerate(_STEPS, 1)
)

_MARKS = (
    (f"{STATES['ready']} ready", "quotable, nothing to add"),
    (f"{STATES['look']} look", "quotable; the reason to look is named"),
    (f"{STATES['stop']} stop", "keeps the page a DRAFT"),
    (f"{STATES['unfinished']} unfinished", "something is typed, something is missing; also DRAFT"),
    ("▼ before a figure", "below what is asked, or above the headroom"),
    ("straw", "you type here; a cell shows what it expects"),
    ("#N/A", "no answer: see State"),
    ("#NUM!", "a value that is impossible or out of range"),
    ("#VALUE!", "the wrong kind of input, such as text for a number"),
    ("#NAME?", "this program has no HOPPER functions: install the add-in. "
    "In Excel 2016 to 2021 a workbook with stored functions shows this too, after a recalculation"),
)  # fmt: skip


def _write_list(sheet: Worksheet, row: int, heading: str, lines: tuple[str, ...]) -> int:
    put_across(sheet, f"A{row}:D{row}", heading, "section")
    for row, line in enumerate(lines, row + 1):  # noqa: B020 goes on from the heading
        put_across(sheet, f"A{row}:D{row}", line, "text")
        sheet.row_dimensions[row].height = text_height(line, sum(_WIDTHS), 9)
    return row + 2


def write(book: Workbook, units: str) -> None:
    """Add the sheet."""
    sheet, _ = new_sheet(book, "About", "About this workbook")
    for letter, width in zip("ABCD", _WIDTHS, strict=True):
        sheet.column_dimensions[letter].width = width
    put(sheet, "A3", "Computed with", "label")
    put_across(sheet, "B3:D3", "=HOPPER_VERSION()", "calc", align="left")
    put(sheet, "A4", "Made with", "label")
    from ..._version import __version__

    put_across(
        sheet, "B4:D4", f"hoppersheet {__version__}, resin table {TABLE_VERSION}", "label",
        align="left",
    )  # fmt: skip
    row = _write_list(sheet, 6, "How to use it", STEPS)
    put_across(sheet, f"A{row}:D{row}", "What the marks mean", "section")
    for mark, meaning in _MARKS:
        row += 1
        # The text, not the error itself, which openpyxl would make of it.
        put(sheet, f"A{row}", mark, "strong").data_type = "s"
        put_across(sheet, f"B{row}:D{row}", meaning, "text", align="left")
        sheet.row_dimensions[row].height = text_height(meaning, sum(_WIDTHS[1:]), 9)
    row = _write_list(sheet, row + 2, "Cautions", CAUTIONS)
    put_across(sheet, f"A{row}:D{row}", "Units", "section")
    row = write_unit_words(book, sheet, row + 1)
    portrait(sheet, f"A1:D{row - 1}", units)
