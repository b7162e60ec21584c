"""In which currency a cell is: what its number format or its heading says."""

from __future__ import annotations

import re

from ..workbook.formulas import Place
from .calls import Calls

__all__ = ["currency_in", "currency_of"]

_SIGNS = (
    ("EUR", r"€|\bEUR\b|\beuros?\b"), ("USD", r"US ?\$|\bUSD\b|(?<![A-Z])\$(?!-)|\bdollars?\b"),
    ("GBP", r"£|\bGBP\b"), ("CHF", r"\bCHF\b|\bSFr"), ("CAD", r"C\$|\bCAD\b"),
    ("JPY", r"¥|\bJPY\b"),
    ("MXN", r"\bMXN\b"), ("CNY", r"\bCNY\b|\bRMB\b"), ("PLN", r"\bPLN\b|\bzł"),
)  # fmt: skip
_LOCALE = re.compile(r"\[\$([^\]-]*)(-[0-9A-Fa-f]+)?\]")


def currency_in(number_format: str) -> str:
    """The currency that a number format shows, ``""`` where it shows none."""
    return _stated_in(_LOCALE.sub(lambda found: found[1], number_format))


def _stated_in(text: str) -> str:
    return next((code for code, sign in _SIGNS if re.search(sign, text)), "")


def currency_of(context: Calls, place: Place, label: str | None = None) -> str:
    """The currency that a cell's format or heading says, ``""`` where neither does."""
    label = context.labels.label(place) if label is None else label
    cell = context.book.cell(place)
    form = cell.style.number_format if cell is not None else ""
    return currency_in(form) or _stated_in(label)
