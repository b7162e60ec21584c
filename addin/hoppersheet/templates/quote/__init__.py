"""The quote workbook: one file per sheet, one function per sheet called ``write``.

================== ==================================================================
sheet              file
================== ==================================================================
Quote              ``quote_sheet``: one printed page for the customer
Sizing             ``sizing`` and ``sizing_columns``: one row per line, all inputs
Catalog            ``catalog``: the hoppers that can be quoted
Dryer              ``dryer``: airflow, heat and water behind the hoppers; how humid the room is
Shared hopper      ``shared_hopper``: several jobs that take turns on one hopper
Resins             ``resins``: the user's own resin values, and what the tables say per line
What regrind does  ``regrind``: a table and charts over the regrind share
Checks             ``checks``: every check, and the flag that Quote shows
About              ``about`` and ``unit_words``: version, marks, cautions, units
================== ==================================================================

``demo`` fills the book with an invented scenario. A further sheet is one more file with a
``write(book)``, entered in :data:`SHEETS`; its checks are entered in ``checks.CHECKS``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["SHEETS", "build"]

#: The sheets in their order; each is the name of a file here.
SHEETS = (
    "quote_sheet", "sizing", "catalog", "dryer", "shared_hopper", "resins", "regrind", "checks",
    "about",
)  # fmt: skip


def build(units: str = "US", demo: bool = False) -> Workbook:
    """The quote workbook, without computed values.

    Args:
        units: "US" or "metric": the unit system that the book is shown and typed in.
        demo: fill in the invented scenario (typed in US units, shown in ``units``).
    """
    import importlib

    from openpyxl import Workbook

    from ..styles import add_styles

    book = Workbook()
    book.remove(book.active)
    add_styles(book)
    for name in SHEETS:
        importlib.import_module(f".{name}", __package__).write(book)
    _set(book, "unit_system", units)
    _set(book, "typed_units", "US" if demo else units)
    if demo:
        from .demo import fill

        fill(book)
    book.properties.title = "Quote: drying hoppers"
    book.properties.creator = "hoppersheet"
    book.calculation.fullCalcOnLoad = True
    return book


def _set(book: Workbook, name: str, value: object) -> None:
    """Type ``value`` into the cell called ``name``."""
    ((sheet, address),) = book.defined_names[name].destinations
    book[sheet][address.replace("$", "")] = value
