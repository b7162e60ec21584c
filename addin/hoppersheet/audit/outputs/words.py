"""Words that the outputs of an audit share."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ...cells.wording import counted, rounded
from ..findings import SEVERITIES

if TYPE_CHECKING:
    from ..coverage import Coverage
    from ..findings import Finding
    from ..sign_off import SignedLine, SignOff

__all__ = ["CAUTIONS", "fingerprint", "money", "signed_row", "sized", "stake_of", "verdict"]

CAUTIONS = (
    "An audit shows what the workbook assumes and which numbers do not follow; it does not correct "
    "them.",
    "Drying times and temperatures: the resin maker's data sheet governs. Densities: measure when "
    "it matters.",
    "Loads on stands, machines and floors: a licensed engineer and the local code.",
)
_MISSING = 3  # things not examined that the verdict names
_ADVICE = {
    "error": "Fix the errors before you quote from this workbook.",
    "warning": "No number is plainly wrong; decide about each warning.",
    "note": "No number is wrong; the notes are assumptions and choices to know before you sign.",
}


def stake_of(found: Finding) -> str:
    """What is at stake in a finding: money, else hours; ``""`` where nothing is known of it."""
    if found.money >= 0.005:
        return money(found.money)
    return f"{found.hours:.2g} h" if found.hours >= 0.01 else ""


def sized(lines: int, elsewhere: int) -> str:
    """``"7 lines, 29 calculations elsewhere"``."""
    others = f", {counted(elsewhere, 'calculation')} elsewhere" if elsewhere else ""
    return counted(lines, "line") + others


def _nothing_examined(coverage: Coverage) -> Iterator[str]:
    if coverage.calling or coverage.unfinished:
        yield (
            "Nothing was examined: the workbook has sizing formulas, but no line of it is filled "
            "in or could be followed."
        )
    else:
        yield (
            "Nothing was examined: no cell calls a HOPPER_ function, and no plain formula was "
            "recognized as sizing a hopper. That says nothing about the workbook."
        )
    yield from _not_examined(coverage)


def _not_examined(coverage: Coverage) -> Iterator[str]:
    """What could size or price a line and was not examined."""
    missing = coverage.missing()
    if missing:
        more = f"; and {len(missing) - _MISSING} more" if len(missing) > _MISSING else ""
        yield f"Not examined: {'; '.join(missing[:_MISSING])}{more}."


def verdict(coverage: Coverage, findings: Sequence[Finding], signed: SignOff) -> str:
    """An audit in a few sentences; it never claims more than was looked at."""
    if not coverage.anything:
        return " ".join(_nothing_examined(coverage))
    parts = []
    accepted = sum(bool(found.accepted) for found in findings)
    counts = Counter(found.severity for found in findings if not found.accepted)
    worst = next((s for s in SEVERITIES if counts[s]), None)
    seen = f"{coverage.examined} of {counted(coverage.cells, 'sizing cell')} examined"
    if worst is None:
        if not coverage.complete:
            parts.append(f"{seen}, no finding there.")
        elif coverage.not_looked_at:
            parts.append(f"Nothing found in the cells, which were all looked at: {seen}.")
        else:
            parts.append(f"Nothing found, and all was looked at: {seen}, not examined: none.")
    else:
        listed = ", ".join(counted(counts[s], s) for s in SEVERITIES)
        parts.append(f"{counted(sum(counts.values()), 'finding')}: {listed}. {_ADVICE[worst]}")
    parts += _not_examined(coverage)
    if coverage.not_looked_at and worst is None:
        parts.append(f"Not looked at: {coverage.not_looked_at}.")
    if coverage.without_resin:
        lines = counted(coverage.without_resin, "line")
        parts.append(f"Density and hours of {lines} could be compared with no resin.")
    if coverage.without_size and coverage.complete:
        parts.append(f"No hopper is chosen for {counted(len(coverage.without_size), 'line')}.")
    if accepted:
        parts.append(f"{counted(accepted, 'finding')} accepted earlier.")
    parts += _total_words(signed)
    return " ".join(parts)


def _total_words(signed: SignOff) -> list[str]:
    """What the total is, worked out again."""
    if signed.right_total is None or signed.total is None:
        priced = any(line.price is not None or line.net is not None for line in signed.lines)
        return [f"The total was not worked out again: {signed.why}."] if priced else []
    again = "Worked out again from the typed inputs"
    if signed.as_they_are:
        taken = counted(signed.as_they_are, "line")
        again += f", with the net price of {taken} as the workbook has it"
    right, book = money(signed.right_total), money(signed.total)
    gap = signed.total - signed.right_total
    if abs(gap) <= max(0.02, 1e-6 * abs(signed.right_total)):
        return [f"{again} the total is {right}, as it says."]
    side = "more" if gap > 0 else "less"
    return [f"{again}: total {right}; the workbook says {book} ({money(abs(gap))} {side})."]


def fingerprint(path: Path) -> str:
    """The first 16 digits of a file's SHA-256: two files with the same are the same."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:16]


def money(value: float | None) -> str:
    """An amount with its cents; "" for none."""
    return "" if value is None else f"{value:,.2f}"


def signed_row(line: SignedLine, unit: str) -> tuple[str, ...]:
    """A line of the sign-off table as texts; another unit than the table's is said."""
    other = f" {line.unit}" if line.unit != unit else ""

    def number(value: float | None, digits: int = 4) -> str:
        return "" if value is None else rounded(value, digits)

    chosen = line.model or (number(line.chosen) + other if line.chosen is not None else "")
    return (
        line.job or line.where,
        number(line.needs) + other,
        chosen,
        number(line.asked, 3),
        number(line.holds, 3),
        f"{line.quantity:g}",
        money(line.price),
        f"{line.discount * 100:g} %" if line.discount else "",
        money(line.net),
        line.verdict,
    )
