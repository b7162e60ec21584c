"""The receipt of a computation, in words for the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from .addresses import column_letters, row_column
from .compute import Computed

__all__ = ["areas", "receipt"]

_SHOWN = 20  # cells or ranges named in one line; the rest is counted


def areas(cells: Iterable[str]) -> list[str]:
    """``["Sizing!S15", "Sizing!S16", "Prices!D4"]`` -> ``["Sizing!S15:S16", "Prices!D4"]``."""
    found: dict[tuple[str, int], list[int]] = {}
    for cell in cells:
        sheet, _, ref = cell.rpartition("!")
        row, column = row_column(ref)
        found.setdefault((sheet, column), []).append(row)
    written = []
    for (sheet, column), rows in found.items():
        letters = column_letters(column)
        first = last = 0
        for row in [*sorted(set(rows)), 0]:
            if first and row == last + 1:
                last = row
                continue
            if first:
                end = f":{letters}{last}" if last > first else ""
                written.append(f"{sheet}!{letters}{first}{end}")
            first = last = row
    return written


def _named(cells: list[str]) -> str:
    more = f" and {len(cells) - _SHOWN} more" if len(cells) > _SHOWN else ""
    return ", ".join(cells[:_SHOWN]) + more


def _counted(count: int, word: str) -> str:
    return f"{count:,} {word}{'' if count == 1 else 's'}"


def receipt(report: Computed) -> Iterator[str]:
    """What was computed by what, what was not, and what follows from that."""
    total = report.cells + len(report.kept)
    by_engine = report.cells - len(report.by_core)
    probed = " (probe right)" if report.probe else ""
    parts = [f"{by_engine:,} computed by {report.engine}{probed}"]
    if report.by_core:
        parts.append(f"{len(report.by_core):,} computed by hoppersheet")
    if report.kept:
        parts.append(f"{len(report.kept):,} kept as stored")
    yield f"{_counted(total, 'formula')}: {', '.join(parts)}; {report.changed:,} changed."
    if report.by_core:
        names = _named(areas(report.by_core))
        yield f"Computed by hoppersheet, because {report.engine} cannot: {names}."
    reasons: dict[str, list[str]] = {}
    for kept in report.kept:
        reasons.setdefault(kept.why, []).append(kept.where)
    for why, cells in reasons.items():
        yield f"Kept: {_named(areas(cells))}: {why}."
    if report.kept and report.follows:
        count = _counted(len(report.follows), "cell")
        verb = "depends" if len(report.follows) == 1 else "depend"
        yield f"{count} {verb} on what was kept: {_named(areas(report.follows))}."
    if report.untouched:
        yield f"Left untouched, and not looked at: {report.untouched}."
    if report.full_calc_dropped:
        yield "Removed Excel's recalculate-on-open flag."
    if report.bound:
        verb = "has" if report.bound == 1 else "have"
        yield (
            f"{_counted(report.bound, 'formula')} {verb} function names bound to a path or a "
            "service; 'hoppersheet names' repairs them."
        )
    if report.errors:
        verb = "shows" if len(report.errors) == 1 else "show"
        yield f"{_counted(len(report.errors), 'cell')} {verb} an error: {_named(report.errors)}."
