"""The audit's summary on the terminal."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import click

from ...cells.wording import counted
from ...workbook.addresses import row_column
from ...workbook.formulas import Place, address, quoted_sheet
from ..assumption_groups import effect_words, grouped
from ..findings import SEVERITIES, Finding
from ..versions.lines_moved import change as step_of
from .words import signed_row, sized, stake_of

if TYPE_CHECKING:
    from .. import Audit
    from ..versions import Change, Changes

__all__ = ["print_audit", "print_changes"]

_MOST_LINES = 40  # lines of a quote on the terminal
_MOST_FINDINGS = 25  # of one severity; the rest is counted
_MOST_ASSUMPTIONS = 8  # columns of inputs
_CAUTION = (
    "An audit shows what the workbook assumes; it does not make it right. Drying times and "
    "temperatures:\nthe resin maker's data sheet governs. Loads: a licensed engineer and the local "
    "code."
)


def print_audit(audit: Audit) -> None:
    """Print what an audit found: the lines first, then findings, then what was not looked at."""
    coverage = audit.coverage
    click.echo(
        f"{audit.path}: {sized(audit.lines, audit.elsewhere)}, {coverage.examined} of "
        f"{counted(coverage.cells, 'sizing cell')} examined; calculated by {audit.engine}."
    )
    _print_sign_off(audit)
    if audit.never_calculated:
        click.echo(
            f"{counted(audit.never_calculated, 'formula')} without a stored value: the workbook "
            "was never calculated, so nothing stored could be compared (hoppersheet compute)."
        )
    for severity in SEVERITIES:
        found = [f for f in audit.findings if f.severity == severity and not f.accepted]
        _print_severity(found, severity)
    _print_accepted(audit)
    _print_assumptions(audit)
    if coverage.anything or coverage.cells:
        click.echo("\nLOOKED AT")
        for sentence in coverage.sentences():
            click.echo(f"  {sentence}")
    click.echo(f"\n{audit.verdict}")
    click.echo(_CAUTION)


def _print_sign_off(audit: Audit) -> None:
    """A row per line of the quote."""
    lines = audit.sign_off.lines
    if not lines:
        return
    unit = lines[0].unit
    headings = (
        "job", f"needs {unit}", "chosen", "asked h", "holds h", "qty", "list", "disc.", "net",
        "verdict",
    )  # fmt: skip
    rows = [headings] + [signed_row(line, unit) for line in lines[:_MOST_LINES]]
    widths = [max(len(row[at]) for row in rows) for at in range(len(headings))]
    click.echo()
    for row in rows:
        cells = [
            text.ljust(width) if at in (0, 2, len(row) - 1) else text.rjust(width)
            for at, (text, width) in enumerate(zip(row, widths, strict=True))
        ]
        click.echo(("  " + "  ".join(cells)).rstrip())
    if len(lines) > _MOST_LINES:
        click.echo(f"  ... and {counted(len(lines) - _MOST_LINES, 'more line')} (--out, --json)")


def _print_severity(findings: list[Finding], severity: str) -> None:
    if not findings:
        return
    click.echo(f"\n{severity.upper()}S, by what is at stake")
    shown = findings[:_MOST_FINDINGS]
    stakes = [stake_of(found) for found in shown]
    width = max(map(len, stakes))
    kinds = max(len(found.kind) for found in shown)
    for found, stake in zip(shown, stakes, strict=True):
        where = f"{found.sheet}!{found.cell}" if found.sheet else found.cell or "workbook"
        click.echo(f"  {stake.rjust(width)}  {found.kind.ljust(kinds)}  {where}: {found.message}")
    if len(findings) > len(shown):
        rest = Counter(found.kind for found in findings[_MOST_FINDINGS:])
        listed = ", ".join(f"{count} {kind}" for kind, count in rest.items())
        click.echo(f"  ... and {len(findings) - len(shown)} more: {listed} (--out, --json)")


def _print_assumptions(audit: Audit) -> None:
    """The inputs that matter most, a row per column of inputs."""
    groups = grouped(audit.assumptions)
    if not groups:
        return
    click.echo("\nASSUMPTIONS, what leaves least room first")
    for group in groups[:_MOST_ASSUMPTIONS]:
        typed_with_it = not group.unit or group.unit in group.values
        unit = "" if typed_with_it else f" {group.unit}"
        click.echo(
            f"  {group.input} in {group.cells}: {group.values}{unit}, {group.origin}; "
            f"{effect_words(group)}"
        )
    more = len(groups) - _MOST_ASSUMPTIONS
    rest = f"{counted(more, 'more column')} of inputs; " if more > 0 else ""
    click.echo(f"  {rest}all {len(audit.assumptions)}, line by line: --out, --json")


def _print_accepted(audit: Audit) -> None:
    findings = [f for f in audit.findings if f.accepted]
    if findings or audit.gone:
        click.echo("\nACCEPTED EARLIER")
    for found in findings:
        click.echo(f"  {found.kind}  {found.sheet}!{found.cell}: {found.accepted}")
    for one in audit.gone:
        click.echo(f"  {one.kind}  {one.cell}: {one.note}; no longer found")


_MOST_CHANGES = 12  # of one kind
_MOST_VALUES = 5  # of a row that came or went
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
    in_lines = {(line.sheet, line.cell) for line in found.lines}
    rest = [c for c in found.causes if not c.main]
    rest = [c for c in rest if (c.sheet, c.cell) not in in_lines] + main[_MOST_CHANGES:]
    if rest:
        sheets = ", ".join(dict.fromkeys(repr(c.sheet) for c in rest))
        click.echo(f"  ... and {counted(len(rest), 'more result')} on {sheets} (--json)")


def _print_blocks(changes: list[Change]) -> None:
    """Cells that came or went, a row of the sheet each; a sheet with many such rows as one."""
    sheets: dict[str, dict[int, list[Change]]] = {}
    for change in changes:
        row, _ = row_column(change.cell)
        sheets.setdefault(change.sheet, {}).setdefault(row, []).append(change)
    for sheet, rows in sheets.items():
        if len(rows) > _MOST_CHANGES:
            cells = [(sheet, *row_column(c.cell)) for found in rows.values() for c in found]
            click.echo(f"  {counted(len(cells), 'cell')} of {sheet!r}: {_box(cells)}")
            continue
        for found in rows.values():
            cells = [(sheet, *row_column(change.cell)) for change in found]
            line = f" of {found[0].line!r}" if found[0].line else ""
            values = [c.old_text if c.new is None else c.new_text for c in found]
            listed = ", ".join(values[:_MOST_VALUES])
            more = ", ..." if len(values) > _MOST_VALUES else ""
            click.echo(f"  {_box(cells)}{line}: {listed}{more}")


def _box(cells: list[Place]) -> str:
    """The smallest range around some cells of one sheet, and whether it has gaps."""
    rows, columns = [c[1] for c in cells], [c[2] for c in cells]
    first, last = address(min(rows), min(columns)), address(max(rows), max(columns))
    return f"{quoted_sheet(cells[0][0])}!{first}" + (f":{last}" if last != first else "")


def _results_to_list(found: Changes) -> list[Change]:
    """Results that a reader sees and that were not named above: no helper cells.

    Numbers only: a text that puts figures into words moves with them.
    """
    above = {(line.sheet, line.cell) for line in found.lines}
    above |= {(cause.sheet, cause.cell) for cause in found.causes}
    return [
        change
        for change in found.changes
        if change.kind == "result"
        and change.seen
        and (change.sheet, change.cell) not in above
        and isinstance(change.new, float)
        and (change.line or change.name)
    ]


def print_changes(found: Changes) -> None:
    """Print what changed between two workbooks: the total first, then causes."""
    if found.total.message:
        click.echo(found.total.message)
    for what, sheets in (("added", found.sheets_added), ("removed", found.sheets_removed)):
        if sheets:
            click.echo(f"Sheets {what}: {', '.join(sheets)}.")
    for sentence in (*found.book, *found.moved):
        click.echo(f"{sentence}.")
    if not found.changes:
        click.echo("No cell changed.")
        return
    _print_moved(found)
    for kind, title in _SECTIONS.items():
        changes = [change for change in found.changes if change.kind == kind]
        if not changes:
            continue
        click.echo(f"\n{title}: {len(changes)}")
        if kind in ("added", "removed"):
            _print_blocks(changes)
            continue
        listed = _results_to_list(found) if kind == "result" else changes
        for change in listed[:_MOST_CHANGES]:
            name = f" {change.name}" if change.name else ""
            of = " ".join(change.line.split())  # a heading may have two rows
            line = f" of {of!r}" if of and change.line != change.name else ""
            step = f"{change.old_text} -> {change.new_text}"
            if change.kind == "typed over":
                more = step_of(change.old, change.new)
                step = f"{change.old_text} (formula) -> {change.new_text} (typed)"
                step += f", {more}" if more else ""
            click.echo(f"  {change.sheet}!{change.cell}{name}{line}: {step}")
        rest = [c for c in changes if c not in listed[:_MOST_CHANGES]]
        if rest:
            counts = Counter(change.sheet for change in rest).most_common()
            where = ", ".join(f"{count} on {sheet!r}" for sheet, count in counts)
            more = f"{len(rest)} more" if len(rest) < len(changes) else f"{len(rest)}"
            click.echo(f"  ... and {more}: {where} (--json)")
