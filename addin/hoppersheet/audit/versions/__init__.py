"""Two versions of one workbook: which rows belong together, what changed, what it moved."""

from __future__ import annotations

from .causes import Cause
from .changes import Change, Changes, compare

__all__ = ["Cause", "Change", "Changes", "compare"]
