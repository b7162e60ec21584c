"""A copy of the workbook in which each sizing cell says how it came about, as a cell comment."""

from __future__ import annotations

from pathlib import Path

from ...call import call
from ...cells.values import is_error
from ...workbook.comments import add_comments
from ...workbook.formulas import address
from ...workbook.package import Package
from .. import Audit
from ..findings import Finding

__all__ = ["annotate"]

_AUTHOR = "hoppersheet audit"


#: Functions whose call says nothing that the sheet does not show.
_PLAIN = frozenset(
    ("HOPPER_EXPLAIN", "HOPPER_VERSION", "HOPPER_CATALOG_ENTRY", "HOPPER_CONVERT",
     "HOPPER_SIZE_MARGIN", "HOPPER_SIZE_JOBS")
)  # fmt: skip
_MOST = 600  # explained cells; in a longer list each line has one, at its required volume


def _explained(audit: Audit) -> dict[tuple[str, str], list[str]]:
    """(sheet, cell) -> one line per call that the cell makes."""
    assert audit.context is not None
    context = audit.context
    calls = {
        place: [made for made in calls if made.name not in _PLAIN]
        for place, calls in context.calls.items()
    }
    if sum(map(bool, calls.values())) > _MOST:
        volumes = {line.place for line in context.lines}
        calls = {place: made for place, made in calls.items() if place in volumes}
    found: dict[tuple[str, str], list[str]] = {}
    for (sheet, row, column), several in calls.items():
        lines = [
            str(call("HOPPER_EXPLAIN", made.name, *made.values))
            for made in several
            if not any(is_error(value) for value in made.values if isinstance(value, str))
        ]
        if lines:
            found[sheet, address(row, column)] = list(dict.fromkeys(lines))
    return found


def _sentence(found: Finding) -> str:
    return f"{found.severity.upper()}, {found.kind}: {found.message}"


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
