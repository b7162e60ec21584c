"""The word beside each kind of cell. The style alone would be lost in print and on a phone."""

from __future__ import annotations

__all__ = ["WORDS"]

#: Kind of a cell -> its word. Apart from the styles, so that the audit can look for the words
#: without loading what writes workbooks.
WORDS = {"input": "input", "calc": "calculated", "check": "check"}
