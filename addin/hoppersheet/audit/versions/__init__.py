"""Two versions of one workbook: which rows belong together, what changed, what it moved."""

from __future__ import annotations

from .changes import Cause, Change, Changes, compare

__all__ = ["Cause", "Change", "Changes", "compare"]
