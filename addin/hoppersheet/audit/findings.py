"""What a finding is, and the kinds there are."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from ..workbook.formulas import Place, address

__all__ = ["KINDS", "SEVERITIES", "Finding", "finding"]

#: Worst first. error: a number is wrong or cannot be trusted; warning: somebody must decide;
#: note: an assumption or choice that is stated, and that whoever signs must know of.
SEVERITIES = ("error", "warning", "note")

#: Kind -> what it means, in the order of the summary.
KINDS = {
    "error value": "a calculation has no result",
    "stale value": "the stored value is not what a fresh calculation gives",
    "redefined": "the workbook brings a function of its own under the name of one of ours",
    "not carried": "a workbook that brings functions along lacks one that it calls",
    "blank read as 0": "a blank cell counts as 0",
    "undersized": "the chosen size is below the required volume",
    "not in catalog": "the chosen size is no catalog size",
    "shares": "shares do not make a whole, or are on another basis than their heading says",
    "unit mismatch": "a heading or another call says another unit",
    "typed over": "a typed value where a formula belongs",
    "odd formula": "a formula unlike its neighbors",
    "price differs": "a price is not the catalog's",
    "total skips lines": "a total leaves something out",
    "load from low density": "one density for volume and for load",
    "basis not stated": "nobody said whether shares are by volume or by mass",
    "estimated density": "a density that nobody measured",
    "outside typical range": "an input is unusual",
    "oversized": "the chosen size is much larger than required",
    "number in formula": "a number is typed inside a call",
    "external link": "a value comes from another workbook",
    "hidden": "hidden cells feed a result",
    "version": "made with another version",
    "own check": "a check that the workbook makes itself does not pass",
}


@dataclass(frozen=True)
class Finding:
    """One thing to look at.

    Attributes:
        message: one sentence: what is wrong, what it does to the answer, what to do.
        value: what the cell holds; expected: what it should hold, None where that is open.
    """

    kind: str
    severity: str
    sheet: str
    cell: str
    message: str
    formula: str = ""
    value: Any = None
    expected: Any = None

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


def finding(
    kind: str,
    severity: str,
    place: Place,
    message: str,
    *,
    formula: str | None = None,
    value: Any = None,
    expected: Any = None,
) -> Finding:
    """A finding at one cell."""
    assert kind in KINDS and severity in SEVERITIES, (kind, severity)
    sheet, row, column = place
    return Finding(
        kind, severity, sheet, address(row, column), message, formula or "", value, expected
    )
