"""A copy of the workbook in which each sizing cell says how it came about, as a cell comment."""

from __future__ import annotations

from pathlib import Path

from ...call import call
from ...cells.values import is_error
from ...workbook.comments import add_comments
from ...workbook.formulas import address
from ...workbook.package import Package
from .. import Audit
from ..findings import KINDS, Finding

__all__ = ["annotate"]

_AUTHOR = "hoppersheet audit"


def _explained(audit: Audit) -> dict[tuple[str, str], list[str]]:
    """(sheet, cell) -> one line per call that the cell makes."""
    assert audit.context is not None
    found: dict[tuple[str, str], list[str]] = {}
    for (sheet, row, column), calls in audit.context.calls.items():
        lines = [
            str(call("HOPPER_EXPLAIN", made.name, *made.values))
            for made in calls
            if made.name not in ("HOPPER_EXPLAIN", "HOPPER_VERSION")
            and not any(is_error(value) for value in made.values if isinstance(value, str))
        ]
        if lines:
            found[sheet, address(row, column)] = list(dict.fromkeys(lines))
    return found


def _sentence(found: Finding) -> str:
    return f"{found.severity.upper()} {found.kind} ({KINDS[found.kind]}): {found.message}"


def annotate(audit: Audit, out: Path) -> int:
    """Write a copy of the audited workbook with comments; nothing else in it changes.

    Args:
        audit: what :func:`~hoppersheet.audit.audit_book` found.
        out: the copy.

    Returns:
        The number of cells with a comment.

    Raises:
        InputFileError: the workbook cannot be read again, or ``out`` cannot be written.
    """
    package = Package(audit.path)
    texts: dict[str, dict[str, list[str]]] = {}
    if audit.context is not None:
        for (sheet, cell), lines in _explained(audit).items():
            texts.setdefault(sheet, {}).setdefault(cell, []).extend(lines)
        for found in audit.findings:
            if found.sheet:
                texts.setdefault(found.sheet, {}).setdefault(found.cell, []).append(
                    _sentence(found)
                )
    joined = {s: {c: "\n\n".join(t) for c, t in cells.items()} for s, cells in texts.items()}
    count = add_comments(package, joined, _AUTHOR)
    package.save(out)
    return count
