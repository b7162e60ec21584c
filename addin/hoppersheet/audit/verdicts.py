"""Cells of a workbook that check the rest of it and say "pass" or "fail"."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

from ..workbook.book import Cell
from ..workbook.formulas import Literal, walk

if TYPE_CHECKING:
    from .calls import Calls

__all__ = ["PASSED", "SEVERITY_OF", "check_sheets", "judges"]

_SHEET = 20  # checks that make a sheet one of checks

#: What a check says when all is well.
PASSED = frozenset(("pass", "passed", "ok"))
#: Such a text in a formula, before its tree is looked through.
_SAYS_PASSED = re.compile(r'"\s*(pass|passed|ok)\s*"', re.IGNORECASE)
#: What it says when it is not -> how grave that is.
SEVERITY_OF = {
    "fail": "error", "failed": "error", "not ok": "error", "warn": "warning", "warning": "warning",
    "look": "look",
}  # fmt: skip


def judges(cell: Cell) -> bool:
    """Whether a formula says "pass" or "ok" when all is well, and "fail" or the like when not."""
    if cell.tree is None or not _SAYS_PASSED.search(cell.formula or ""):
        return False
    texts = {n.value for n in walk(cell.tree) if isinstance(n, Literal)}
    words = {t.strip().lower() for t in texts if isinstance(t, str)}
    return not words.isdisjoint(PASSED) and not words.isdisjoint(SEVERITY_OF)


def check_sheets(context: Calls) -> set[str]:
    """Sheets of checks that make the calls they check, and sheets that feed nothing else.

    The sheet of checks of a quote makes none: what it checks is the quote. A catalog that says
    of each row whether it is complete is none either: lines are sized from it.
    """
    judged: Counter[str] = Counter(c.place[0] for c in context.book.formulas() if judges(c))
    calls: Counter[str] = Counter(place[0] for place in (*context.calls, *context.unread))
    found = {n for n, count in judged.items() if count >= _SHEET and calls[n] >= _SHEET}
    if not found:
        return set()
    takers: dict[str, set[str]] = {}
    for cell in context.book.formulas():
        for area in context.values.areas_of(cell):
            takers.setdefault(area[0], set()).add(cell.place[0])
    sized_from = {
        area[0]
        for place in (*context.calls, *context.unread)
        if (calling := context.book.cell(place)) is not None
        for area in context.values.areas_of(calling)
        if area[0] != place[0]
    }
    found -= sized_from
    grown = True
    while grown:
        more = {n for n, by in takers.items() if n not in found and by - {n} and by - {n} <= found}
        found |= more
        grown = bool(more)
    return found
