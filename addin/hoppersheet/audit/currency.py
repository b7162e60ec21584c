"""In which currency a cell is: what its number format or its heading says."""

from __future__ import annotations

from ..workbook.formulas import Place
from .calls import Calls
from .currency_words import currency_in, currency_named

__all__ = ["currency_of"]


def currency_of(context: Calls, place: Place, label: str | None = None) -> str:
    """The currency that a cell's format or heading says, ``""`` where neither does."""
    label = context.labels.label(place) if label is None else label
    cell = context.book.cell(place)
    form = cell.style.number_format if cell is not None else ""
    return currency_in(form) or currency_named(label)
