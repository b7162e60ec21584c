"""The audit's summary on the terminal."""

from __future__ import annotations

import re
from collections import Counter
from itertools import groupby
from typing import TYPE_CHECKING

import click

from ...cells.wording import counted
from ..checks.values import said
from ..findings import KINDS, SEVERITIES, Finding
from ..versions.lines_moved import change as step_of
from .words import sized, verdict

if TYPE_CHECKING:
    from .. import Audit
    from ..versions import Changes

__all__ = ["print_audit", "print_changes"]

_SHOWN_ALIKE = 3  # findings of one kind and wording; the rest is counted
_CAUTION = (
    "An audit shows what the workbook assumes; it does not make it right. Drying times and "
    "temperatures:\nthe resin maker's data sheet governs. Loads: a licensed engineer and the local "
    "code."
)


def _pattern(found: Finding) -> str:
    """Findings that differ only in numbers and addresses are alike."""
    return re.sub(r"'[^']*'|[\w']*![A-Z]{1,3}\d+|[\d.]+", "#", found.message)[:60]


def print_audit(audit: Audit) -> None:
    """Print what an audit found, worst first."""
    if not audit.cells:
        click.echo(f"{audit.path}: no cell calls a HOPPER_ function; nothing to audit.")
        return
    click.echo(
        f"{audit.path}: {sized(audit)} ({counted(audit.cells, 'sizing cell')}); "
        f"calculated by {audit.engine}."
    )
    if audit.never_calculated:
        click.echo(
            f"{counted(audit.never_calculated, 'formula')} without a stored value: the workbook "
            "was never calculated, so nothing stored could be compared (hoppersheet compute)."
        )
    if audit.not_followed:
        (sheet, _, _), reason = next(iter(audit.not_followed.items()))
        click.echo(
            f"{counted(len(audit.not_followed), 'cell')} could not be followed, such as one in "
            f"{sheet!r}: {reason}; their stored values were taken."
        )
    for severity in SEVERITIES:
        _print_severity([f for f in audit.findings if f.severity == severity], severity)
    click.echo(("\n" if audit.findings else "") + verdict(audit))
    register = counted(len(audit.assumptions), "assumption")
    click.echo(f"{register} in the register (--out, --json).")
    click.echo(_CAUTION)


def _print_severity(findings: list[Finding], severity: str) -> None:
    if not findings:
        return
    click.echo(f"\n{severity.upper()}S")
    for kind, of_kind in groupby(findings, key=lambda f: f.kind):
        listed = list(of_kind)
        click.echo(f"  {kind} ({KINDS[kind]}): {len(listed)}")
        shown: Counter[str] = Counter()
        for found in listed:
            pattern = _pattern(found)
            shown[pattern] += 1
            if shown[pattern] <= _SHOWN_ALIKE:
                where = f"{found.sheet}!{found.cell}" if found.sheet else found.cell or "workbook"
                click.echo(f"    {where}: {found.message}")
        for pattern, count in shown.items():
            if count > _SHOWN_ALIKE:
                first = next(f for f in listed if _pattern(f) == pattern)
                click.echo(
                    f"    ... and {count - _SHOWN_ALIKE} more like {first.sheet}!{first.cell}"
                )


_MOST_CHANGES = 12  # of one kind
_SECTIONS = {
    "typed over": "FORMULAS TYPED OVER",
    "input": "INPUTS",
    "formula": "FORMULAS",
    "added": "ADDED",
    "removed": "REMOVED",
    "result": "RESULTS",
}


def _print_moved(found: Changes) -> None:
    """First the lines of the quote, then totals; what only follows is counted."""
    if not found.causes and not found.lines:
        return
    click.echo("WHAT MOVED, AND WHY")
    for line in found.lines[: 3 * _MOST_CHANGES]:
        click.echo(f"  {line.message}")
    if len(found.lines) > 3 * _MOST_CHANGES:
        click.echo(f"  ... and {counted(len(found.lines) - 3 * _MOST_CHANGES, 'more line')}")
    main = [cause for cause in found.causes if cause.main]
    if not found.lines and not main:
        click.echo("  No line of the quote, and no total.")
    for cause in main[:_MOST_CHANGES]:
        click.echo(f"  {cause.message}")
    told = {(line.sheet, line.cell) for line in found.lines}
    rest = [c for c in found.causes if not c.main]
    rest = [c for c in rest if (c.sheet, c.cell) not in told] + main[_MOST_CHANGES:]
    if rest:
        sheets = ", ".join(dict.fromkeys(repr(c.sheet) for c in rest))
        click.echo(f"  ... and {counted(len(rest), 'more result')} on {sheets} (--json)")


def print_changes(found: Changes) -> None:
    """Print what changed between two workbooks, causes first."""
    for what, sheets in (("added", found.sheets_added), ("removed", found.sheets_removed)):
        if sheets:
            click.echo(f"Sheets {what}: {', '.join(sheets)}.")
    if not found.changes:
        click.echo("No cell changed.")
        return
    _print_moved(found)
    for kind, title in _SECTIONS.items():
        changes = [change for change in found.changes if change.kind == kind]
        if not changes:
            continue
        click.echo(f"\n{title}: {len(changes)}")
        for change in changes[:_MOST_CHANGES]:
            name = f" {change.name}" if change.name else ""
            line = f" of {change.line!r}" if change.line and change.line != change.name else ""
            step = f"{said(change.old)} -> {said(change.new)}"
            if change.kind == "typed over":
                more = step_of(change.old, change.new)
                step = f"{said(change.old)} (formula) -> {said(change.new)} (typed)"
                step += f", {more}" if more else ""
            click.echo(f"  {change.sheet}!{change.cell}{name}{line}: {step}")
        if len(changes) > _MOST_CHANGES:
            click.echo(f"  ... and {len(changes) - _MOST_CHANGES} more (--json)")
