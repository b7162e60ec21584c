"""Currencies as number formats, headings and labels write them."""

from __future__ import annotations

import re

__all__ = ["CURRENCY_CODES", "currency_in", "currency_named"]

_SIGNS = (
    ("EUR", r"€|\bEUR\b|\beuros?\b"), ("USD", r"US ?\$|\bUSD\b|(?<![A-Z])\$(?!-)|\bdollars?\b"),
    ("GBP", r"£|\bGBP\b"), ("CHF", r"\bCHF\b|\bSFr"), ("CAD", r"C\$|\bCAD\b"),
    ("JPY", r"¥|\bJPY\b"),
    ("MXN", r"\bMXN\b"), ("CNY", r"\bCNY\b|\bRMB\b"), ("PLN", r"\bPLN\b|\bzł"),
)  # fmt: skip
#: The codes of ISO 4217 that are known, for a pattern.
CURRENCY_CODES = "|".join(code for code, _ in _SIGNS)
_LOCALE = re.compile(r"\[\$([^\]-]*)(-[0-9A-Fa-f]+)?\]")


def currency_in(number_format: str) -> str:
    """The currency that a number format shows, ``""`` where it shows none."""
    return currency_named(_LOCALE.sub(lambda found: found[1], number_format))


def currency_named(text: str) -> str:
    """The currency that words name, ``""`` where they name none."""
    return next((code for code, sign in _SIGNS if re.search(sign, text)), "")
