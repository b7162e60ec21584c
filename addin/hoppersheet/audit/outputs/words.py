"""Words that the outputs of an audit share."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from ...cells.wording import counted
from ..findings import SEVERITIES

if TYPE_CHECKING:
    from .. import Audit

__all__ = ["CAUTIONS", "sized", "verdict"]

CAUTIONS = (
    "An audit shows what the workbook assumes and where it does not follow; it does not make it "
    "right.",
    "Drying times and temperatures: the resin maker's data sheet governs. Densities: measure when "
    "it matters.",
    "Loads on stands, machines and floors: a licensed engineer and the local code.",
)
_ADVICE = {
    "error": "Settle the errors before anything of it is quoted.",
    "warning": "No number is plainly wrong; somebody has to decide about the warnings.",
    "note": "No number is wrong; the notes are assumptions and choices that whoever signs must "
    "know of.",
}


def sized(audit: Audit) -> str:
    """``"7 lines, 29 calculations elsewhere"``."""
    elsewhere = f", {counted(audit.elsewhere, 'calculation')} elsewhere" if audit.elsewhere else ""
    return counted(audit.lines, "line") + elsewhere


def verdict(audit: Audit) -> str:
    """The audit in two sentences."""
    if not audit.cells:
        return "No cell calls a HOPPER_ function; there is nothing to audit."
    counts = Counter(found.severity for found in audit.findings)
    worst = next((s for s in SEVERITIES if counts[s]), None)
    if worst is None:
        return "Nothing found: every number follows from its inputs."
    parts = ", ".join(counted(counts[s], s) for s in SEVERITIES)
    return f"{counted(len(audit.findings), 'finding')}: {parts}. {_ADVICE[worst]}"
