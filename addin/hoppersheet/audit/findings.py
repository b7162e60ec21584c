"""What a finding is, and the kinds there are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from ..workbook.formulas import Place, address, quoted_sheet

__all__ = ["KINDS", "SEVERITIES", "Finding", "finding", "in_ranges"]

#: Worst first. error: a number is wrong or cannot be trusted; warning: somebody must decide;
#: note: an assumption or choice that is stated, and that whoever signs must know of.
SEVERITIES = ("error", "warning", "note")

#: Kind -> what it means, in the order of the summary.
KINDS = {
    "error value": "a calculation has no result",
    "circular": "a calculation refers to itself",
    "not computed": "a cell could not be worked out",
    "does not follow": "a result is not what follows from its inputs",
    "total differs": "the grand total does not match the lines",
    "quantity": "a line counts as nothing",
    "no price": "a line of the quote has no price",
    "impossible input": "an input is not possible",
    "stale value": "the stored value is not what a fresh calculation gives",
    "redefined": "the workbook has its own function under one of our names",
    "not carried": "a workbook with stored functions lacks one that it uses",
    "blank read as 0": "a blank cell counts as 0",
    "undersized": "the chosen size is below the required volume",
    "not in catalog": "the chosen size is no catalog size",
    "shares": "shares do not add up, or their heading states another basis",
    "unit mismatch": "a heading or another call says another unit",
    "typed over": "a typed value where a formula belongs",
    "odd formula": "a formula unlike its neighbors",
    "model differs": "a model is not the catalog's model of that size",
    "price differs": "a price is not the catalog's",
    "catalog entry": "a row of the catalog cannot be right",
    "catalog range": "a formula does not take the whole catalog",
    "discount": "a discount is not counted, or counted twice",
    "currency": "two currencies are mixed",
    "total skips lines": "a total leaves something out",
    "load from low density": "one density for volume and for load",
    "basis not stated": "nobody stated whether shares are by volume or by mass",
    "estimated density": "a density that nobody measured",
    "against the resin": "a density is unlike what the resin table says",
    "outside typical range": "an input is unusual",
    "caution": "the resin table has a caution about this",
    "number as text": "a number is stored as text",
    "comment": "a comment and its cell give different numbers",
    "crossed out": "a cell that counts has a line through it",
    "same job twice": "two lines are the same",
    "no name": "a line has no name",
    "oversized": "the chosen size is much larger than required",
    "number in formula": "a number is typed inside a call",
    "external link": "a value comes from another workbook",
    "hidden": "hidden cells feed a result",
    "unseen": "a cell that is used cannot be seen",
    "shown rounded": "a cell shows a different number than it holds",
    "setting": "a setting of the workbook changes what its numbers mean",
    "version": "made with another version",
    "own check": "a check that the workbook makes itself does not pass",
}


@dataclass(frozen=True)
class Finding:
    """One thing to look at.

    Attributes:
        message: one sentence: what is wrong, what it does to the answer, what to do.
        value: what the cell holds; expected: what it should hold, None where that is open.
        cells: every cell that it concerns, ``"Sheet!A1"``, where there is more than one.
        money: what is at stake, in the workbook's currency; hours: by which a hopper is short.
        accepted: who accepted it, why and when; ``""`` where nobody did.
    """

    kind: str
    severity: str
    sheet: str
    cell: str
    message: str
    formula: str = ""
    value: Any = None
    expected: Any = None
    cells: tuple[str, ...] = ()
    money: float = 0.0
    hours: float = 0.0
    accepted: str = ""

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
    cells: Iterable[Place] = (),
    money: float = 0.0,
    hours: float = 0.0,
) -> Finding:
    """A finding at one cell, or at several with the same cause."""
    assert kind in KINDS and severity in SEVERITIES, (kind, severity)
    sheet, row, column = place
    named = tuple(f"{quoted_sheet(s)}!{address(r, c)}" for s, r, c in cells)
    return Finding(
        kind, severity, sheet, address(row, column), message, formula or "", value, expected,
        named, money, hours,
    )  # fmt: skip


def in_ranges(places: Iterable[Place], most: int = 3) -> str:
    """Cells for a message: ``"Quote!R4:R9"``, ``"Quote!R4, Quote!R7 and 3 more"``."""
    left = sorted(set(places))
    parts: list[str] = []
    while left:
        sheet, row, column = left[0]
        last = left[0]
        for step in ((0, 1, 0), (0, 0, 1)):
            end = (sheet, row, column)
            while (after := (sheet, end[1] + step[1], end[2] + step[2])) in left:
                end = after
            last = end if end != (sheet, row, column) and last == left[0] else last
        run = [
            p for p in left
            if p[0] == sheet and row <= p[1] <= last[1] and column <= p[2] <= last[2]
        ]  # fmt: skip
        left = [p for p in left if p not in run]
        to = f":{address(*last[1:])}" if len(run) > 1 else ""
        parts.append(f"{quoted_sheet(sheet)}!{address(row, column)}{to}")
    if len(parts) > most + 1:
        parts = [*parts[:most], f"{len(parts) - most} more"]
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
