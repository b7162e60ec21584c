"""The quote workbook: one file per sheet, each with a function ``write``.

================== =====================================================================
sheet              file
================== =====================================================================
One line           ``one_line``, ``one_line_cards``, ``curves``: half of all quotes are one line
Sizing             ``line_columns`` and ``sizing``: one row per line
Quote              ``page_plan`` and ``quote_sheet``: the page for the customer
Settings           ``settings``: what is typed once
Dryer              ``dryer``: air, heat, water, and the dryers that give them
Shared hopper      ``shared_hopper``: several jobs on one hopper, in turn or at once
Measured density   ``measured``: weighed cups, their uncertainty, what they feed
Catalog            ``catalog``: hoppers, and *Dryer catalog*
Services           ``services``: what is sold beside them
Resins             ``resins``: own rows and the built-in table
What regrind does  ``regrind``: a table and charts over the regrind share
Revision           ``revision``: what changed from one revision to the next
Checks             ``checks``: every check of the book; Line checks (``line_checks``): of each line
Page plan          ``page_plan``, ``page_things``: what may stand on the page, in its order
About              ``about`` and ``unit_words``: the way through, marks, cautions, units
================== =====================================================================

``typing_in`` types into a finished book; ``demo`` types an invented scenario.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["LINES", "MOST_LINES", "SHEETS", "build"]

#: The sheets in their order.
SHEETS = (
    "One line", "Sizing", "Quote", "Settings", "Dryer", "Shared hopper", "Measured density",
    "Catalog", "Dryer catalog", "Services", "Resins", "What regrind does", "Revision", "Checks",
    "Line checks", "Page plan", "Curves", "About",
)  # fmt: skip
#: Lines that are prepared, and the most that can be.
LINES, MOST_LINES = 40, 200


def _put_cursor_aside(sheet: Worksheet) -> None:
    """No cursor on the title; beside the paper, on a blank cell, or where something is typed."""
    from ..styles import style_name

    typed = (style_name("input"), style_name("needed"))
    blank = (f"A{row}" for row in range(1, 6) if sheet[f"A{row}"].value is None)
    inputs = (c.coordinate for row in sheet.iter_rows() for c in row if c.style in typed)
    pane = sheet.sheet_view.pane
    if pane is not None:
        cell = pane.topLeftCell
    elif sheet.title == "Quote":
        cell = "M1"
    else:
        cell = next(blank, None) or next(inputs, "A1")
    for selection in sheet.sheet_view.selection:
        if pane is None or selection.pane == pane.activePane:
            selection.activeCell = selection.sqref = cell


def build(units: str = "US", demo: bool = False, rows: int = LINES) -> Workbook:
    """The quote workbook, without computed values.

    Args:
        units: "US" or "metric": the unit system of the book; Letter or A4 goes with it.
        demo: fill in the invented scenario and mark the book as a demonstration.
        rows: lines that are prepared on Sizing, 1 to 200.

    Raises:
        ValueError: ``rows`` is not between 1 and 200.
    """
    from openpyxl import Workbook

    from ..styles import add_styles
    from . import (
        about,
        catalog,
        checks,
        dryer,
        line_checks,
        measured,
        one_line,
        page_plan,
        quote_sheet,
        regrind,
        resins,
        revision,
        services,
        settings,
        shared_hopper,
        sizing,
        typing_in,
    )

    if not 1 <= rows <= MOST_LINES:
        raise ValueError(f"{rows} lines: a quote workbook holds 1 to {MOST_LINES}")
    book = Workbook()
    book.remove(book.active)
    add_styles(book)
    settings.write(book, units)
    about.write(book, units)
    catalog.write(book, units)
    resins.write(book, units)
    measured.write(book, units)
    for lines in (sizing, line_checks):
        lines.write(book, units, rows, dryer.LINES)
    services.write(book, units)
    for after in (dryer, page_plan, quote_sheet):
        after.write(book, units, rows)
    shared_hopper.write(book, units)
    regrind.write(book, units)
    revision.write(book, units)
    checks.write(book, units, rows)
    one_line.write(book, units)
    book._sheets.sort(key=lambda sheet: SHEETS.index(sheet.title))
    book.active = 0
    for sheet in book:
        _put_cursor_aside(sheet)
    typing_in.type_in(book, unit_system=units, units_confirmed=units)
    if demo:
        from . import demo as scenario

        scenario.fill(book, units)
    book.properties.title = "Quote: drying hoppers"
    book.properties.creator = "hoppersheet"
    book.calculation.fullCalcOnLoad = True
    return book
