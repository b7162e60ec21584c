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
Services           ``page_plan``: what is sold beside them
Resins             ``resins``: own rows and the built-in table
What regrind does  ``regrind``: a table and charts over the regrind share
Revision           ``revision``: what changed from one revision to the next
Checks             ``checks``: every check of the book; Line checks (``line_checks``): of each line
Page plan          ``page_plan``: what may stand on the page, in its order
About              ``about`` and ``unit_words``: the way through, marks, cautions, units
================== =====================================================================

``demo`` fills the book with an invented scenario.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["SHEETS", "build", "fill", "type_in"]

#: The sheets in their order.
SHEETS = (
    "One line", "Sizing", "Quote", "Settings", "Dryer", "Shared hopper", "Measured density",
    "Catalog", "Dryer catalog", "Services", "Resins", "What regrind does", "Revision", "Checks",
    "Line checks", "Page plan", "Curves", "About",
)  # fmt: skip
#: Lines that are prepared, and the most that can be.
LINES, MOST_LINES = 40, 200


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
        settings,
        shared_hopper,
        sizing,
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
    for lines in (sizing, line_checks, dryer, page_plan, quote_sheet):
        lines.write(book, units, rows)
    shared_hopper.write(book, units)
    regrind.write(book, units)
    revision.write(book, units)
    checks.write(book, units, rows)
    one_line.write(book, units)
    book._sheets.sort(key=lambda sheet: SHEETS.index(sheet.title))
    book.active = 0
    type_in(book, unit_system=units, units_confirmed=units)
    if demo:
        from .demo import fill as fill_demo

        fill_demo(book, units)
    book.properties.title = "Quote: drying hoppers"
    book.properties.creator = "hoppersheet"
    book.calculation.fullCalcOnLoad = True
    return book


def type_in(book: Workbook, **cells: Any) -> Workbook:
    """Type values into named cells of ``book``; returns it."""
    for name, value in cells.items():
        ((sheet, address),) = book.defined_names[name].destinations
        book[sheet.strip("'")][address.replace("$", "")] = value
    return book


def fill(book: Workbook, lines: Iterable[Mapping[str, Any]]) -> None:
    """Type lines into *Sizing*, from its first row on.

    Args:
        book: made by :func:`build`.
        lines: one mapping per line, by the keys of the typed columns (``line_columns.TYPED``):
            job, resin, regrind (share, 0 to 1), basis ("volume" or "mass"), form, virgin and
            ground (densities), virgin_from and ground_from ("measured", "data sheet",
            "estimated"), stated, low, likely, high (rates), shot (g), cycle (s), presses, hours,
            temperature, reserve, split, headroom, dryer, airflow, moisture_in, choice, quantity,
            discount, reason, note (what was assumed; the line then asks for a look). Figures are
            numbers in the book's unit system, or texts with their own unit. An empty mapping
            leaves a row blank; a missing key leaves the cell blank.

    Raises:
        ValueError: more lines than the book has rows, or a key that no column has.
    """
    from .line_checks import SIZING
    from .line_columns import TYPED

    sheet = book["Sizing"]
    known = {column.key for column in TYPED}
    prepared = sheet.max_row - SIZING.first_row + 1
    lines = list(lines)
    if len(lines) > prepared:
        raise ValueError(f"{len(lines)} lines, but the workbook has rows for {prepared}")
    for row, line in enumerate(lines, SIZING.first_row):
        for key, value in line.items():
            if key not in known:
                raise ValueError(f"Sizing has no typed column {key!r}")
            cell = sheet[SIZING.cell(key, row)]
            cell.value = value
            if isinstance(value, str) and value.startswith("="):
                cell.data_type = "s"  # a text that came in never leaves as a formula
