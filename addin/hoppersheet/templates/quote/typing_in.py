"""Type into a quote workbook as its user would: single cells by name, and lines into *Sizing*."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from .line_checks import SIZING
from .line_columns import TYPED

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["fill", "type_in"]


def type_in(book: Workbook, **cells: Any) -> Workbook:
    """Type values into named cells of ``book``; returns it."""
    for name, value in cells.items():
        ((sheet, address),) = book.defined_names[name].destinations
        book[sheet.strip("'")][address.replace("$", "")] = value
    return book


def fill(book: Workbook, lines: Iterable[Mapping[str, Any]]) -> None:
    """Type lines into *Sizing*, from its first row on.

    Args:
        book: a quote workbook.
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
