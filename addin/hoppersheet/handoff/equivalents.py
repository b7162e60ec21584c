"""What every part of the translation needs: that a call has none, and how numbers are written."""

from __future__ import annotations

__all__ = ["NoEquivalent", "number_text"]


class NoEquivalent(Exception):
    """A call cannot be written in spreadsheet functions; the text says why."""


def number_text(value: float) -> str:
    """A number as it stands in a formula."""
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return f"{value:.15g}".upper()
