"""Cells of a workbook that check the rest of it and say "pass" or "fail"."""

from __future__ import annotations

from ..workbook.book import Cell
from ..workbook.formulas import Literal, walk

__all__ = ["PASSED", "SEVERITY_OF", "judges"]

#: What a check says when all is well.
PASSED = frozenset(("pass", "passed", "ok"))
#: What it says when it is not -> how grave that is.
SEVERITY_OF = {
    "fail": "error", "failed": "error", "not ok": "error", "warn": "warning", "warning": "warning",
    "look": "look",
}  # fmt: skip


def judges(cell: Cell) -> bool:
    """Whether a formula says "pass" or "ok" when all is well, and "fail" or the like when not."""
    if cell.tree is None:
        return False
    texts = {n.value for n in walk(cell.tree) if isinstance(n, Literal)}
    words = {t.strip().lower() for t in texts if isinstance(t, str)}
    return not words.isdisjoint(PASSED) and not words.isdisjoint(SEVERITY_OF)
