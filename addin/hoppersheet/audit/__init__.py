"""Examine a workbook that sizes hoppers: does every number still follow, and from what?

    audit = audit_book("quote.xlsx")
    for finding in audit.findings:
        print(finding.sheet, finding.cell, finding.kind, finding.message)

Works on any workbook with our functions, not only on our template: what it knows of a cell it
takes from the formulas, the headings and labels, the units in them, and the neighbors.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..errors import HostError
from ..workbook.book import Book, read_book
from ..workbook.evaluator import Evaluator
from ..workbook.formulas import Place
from .accepted import Acceptance, apply, gone
from .assumption_groups import grouped
from .context import Context
from .coverage import Coverage, coverage_of
from .findings import KINDS, Finding
from .outputs.words import fingerprint, verdict
from .ranking import in_order
from .register import Assumption, assumptions_of
from .sign_off import SignOff, sign_off

__all__ = [
    "ENGINES",
    "KINDS",
    "Assumption",
    "Audit",
    "Finding",
    "Progress",
    "audit_book",
    "examine",
]

#: What works the values out: a spreadsheet program, or hoppersheet alone.
ENGINES = ("calc", "core")


@dataclass
class Audit:
    """What an audit found.

    Attributes:
        cells: number of cells that call our functions.
        lines: number of hoppers that are offered, with those that have no volume;
            elsewhere: of other required volumes, such as those of a sheet that tries something out.
        engine: what calculated the fresh values.
        coverage: what was examined, what was not, and how the lines were found.
        sign_off: a row per line, for whoever signs.
        gone: findings that somebody accepted earlier and that are no longer there.
        never_calculated: cells with a formula that gives something, and no stored value.
    """

    path: Path
    findings: list[Finding] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)
    cells: int = 0
    lines: int = 0
    elsewhere: int = 0
    engine: str = ""
    coverage: Coverage = field(default_factory=Coverage)
    sign_off: SignOff = field(default_factory=SignOff)
    gone: list[Acceptance] = field(default_factory=list)
    never_calculated: int = 0
    context: Context | None = None

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "workbook": str(self.path),
            "fingerprint": fingerprint(self.path),
            "verdict": self.verdict,
            "status": self.status,
            "coverage": self.coverage.as_dict(),
            "sign_off": self.sign_off.as_dict(),
            "findings": [found.as_dict() for found in self.findings],
            "accepted_and_gone": [one.as_dict() for one in self.gone],
            "assumptions_by_input": [group.as_dict() for group in grouped(self.assumptions)],
            "assumptions": [taken.as_dict() for taken in self.assumptions],
            "cells": self.cells,
            "lines": self.lines,
            "elsewhere": self.elsewhere,
            "engine": self.engine,
        }

    @property
    def verdict(self) -> str:
        """The audit in a few sentences."""
        return verdict(self.coverage, self.findings, self.sign_off)

    @property
    def open(self) -> list[Finding]:
        """Errors and warnings that nobody has accepted."""
        return [f for f in self.findings if f.severity != "note" and not f.accepted]

    @property
    def status(self) -> int:
        """Exit status: 0 only where all was examined and nothing is open."""
        return int(bool(self.open) or not self.coverage.complete)


#: (what is being done, how far it is, of how many)
Progress = Callable[[str, int, int], None]


def _quiet(_what: str, _done: int, _total: int) -> None:
    """No progress wanted."""


def fresh_values(
    book: Book, engine: str | None
) -> tuple[dict[Place, Any] | None, dict[Place, str], str]:
    """(values that a spreadsheet program calculates, cells that it kept and why, its name).

    None for the values: calculate here.

    Args:
        book: the workbook.
        engine: one of :data:`ENGINES`; None: Calc where it is, else hoppersheet alone.

    Raises:
        HostError: the engine that was asked for is missing or fails.
    """
    here = "hoppersheet alone (no spreadsheet program)"
    if engine == "core" or not any(True for _ in book.formulas()):
        return None, {}, here
    from ..hosts.calc import programs
    from ..workbook.addresses import row_column
    from ..workbook.compute import recalculated

    try:
        sheets, receipt = recalculated(book.package, engine or "calc")
    except HostError as problem:
        if engine is not None:
            raise
        try:
            programs.find()
        except HostError:
            return None, {}, here
        return None, {}, f"hoppersheet alone, because Calc failed ({problem})"
    values = {
        (sheet, *row_column(cell)): value
        for sheet, cells in sheets.items()
        for cell, value in cells.items()
    }
    kept = {(each.sheet, *row_column(each.cell)): each.why for each in receipt.kept}
    return values, kept, receipt.engine


def examine(book: Book, engine: str | None = None, progress: Progress = _quiet) -> Context:
    """Values of all cells, every call made again by the core.

    Raises:
        HostError: see :func:`fresh_values`.
    """
    progress("calculating", 0, 0)
    fresh, kept, name = fresh_values(book, engine)
    values = Evaluator(book, fresh)
    values.engine = name
    values.keeps_calls = True
    values.unknown.update(kept)  # their stored values are taken, and they are named
    formulas = sum(1 for _ in book.formulas())
    values.calculate(_counter(progress, "calculating", formulas))
    total = len(book.sizing_cells)
    return Context(book, values, _counter(progress, "checking calls", total))


def _counter(progress: Progress, what: str, total: int) -> Callable[[], None]:
    done = 0

    def tick() -> None:
        nonlocal done
        done += 1
        if done % 50 == 0 or done == total:
            progress(what, done, total)

    return tick


def audit_book(
    path: str | Path,
    engine: str | None = None,
    progress: Progress = _quiet,
    accepted: Iterable[Acceptance] = (),
) -> Audit:
    """Audit the workbook at ``path``.

    Args:
        path: an .xlsx or .xlsm; it is only read.
        engine: what calculates the fresh values, see :func:`fresh_values`.
        progress: told how far the work is.
        accepted: findings that somebody has accepted before (:func:`.accepted.read_accepted`).

    Raises:
        InputFileError: the workbook cannot be read.
        HostError: the engine that was asked for is missing or fails.
    """
    from .checks import CHECKS

    accepted = list(accepted)

    book = read_book(Path(path), lambda what: progress(what, 0, 0))
    audit = Audit(book.path)
    context = examine(book, engine, progress)
    audit.context, audit.engine = context, context.values.engine
    audit.cells = len(context.calls) + len(context.unread)
    if context.lines or context.calls or context.unread:
        found: list[Finding] = []
        for at, (family, check) in enumerate(CHECKS.items()):
            progress(f"looking at {family}", at, len(CHECKS))
            found += check(context)
        audit.findings = apply(in_order(found, context), accepted)
        audit.assumptions = assumptions_of(
            context, _counter(progress, "weighing assumptions", len(context.lines))
        )
    audit.gone = gone(audit.findings, accepted)
    audit.lines = len(context.quoted) + len(context.unsized)
    audit.elsewhere = len(context.lines) - len(context.quoted)
    audit.coverage = coverage_of(context)
    audit.sign_off = sign_off(context, audit.findings)
    audit.never_calculated = sum(
        cell.value is None and context.value(cell.place) not in (None, "")
        for cell in book.formulas()
    )
    return audit
