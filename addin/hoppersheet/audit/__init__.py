"""Examine a workbook that sizes hoppers: does every number still follow, and from what?

    audit = audit_book("quote.xlsx")
    for finding in audit.findings:
        print(finding.sheet, finding.cell, finding.kind, finding.message)

Works on any workbook with our functions, not only on our template: what it knows of a cell it
takes from the formulas, the headings and labels, the units in them, and the neighbors.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from ..errors import HostError
from ..workbook.book import Book, read_book
from ..workbook.evaluator import Evaluator
from ..workbook.formulas import Place
from .context import Context
from .findings import KINDS, SEVERITIES, Finding
from .register import Assumption, assumptions_of

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
        lines: number of hoppers that are offered; elsewhere: of other required volumes, such as
            those of a sheet that tries something out.
        engine: what calculated the fresh values.
        not_followed: cell -> why its calls could not be made again.
        never_calculated: cells with a formula that gives something, and no stored value.
    """

    path: Path
    findings: list[Finding] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)
    cells: int = 0
    lines: int = 0
    elsewhere: int = 0
    engine: str = ""
    not_followed: dict[Place, str] = field(default_factory=dict)
    never_calculated: int = 0
    context: Context | None = None

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "findings": [found.as_dict() for found in self.findings],
            "assumptions": [taken.as_dict() for taken in self.assumptions],
            "cells": self.cells,
            "lines": self.lines,
            "elsewhere": self.elsewhere,
            "engine": self.engine,
            "not_followed": [
                {"sheet": sheet, "cell": _address(row, column), "reason": reason}
                for (sheet, row, column), reason in self.not_followed.items()
            ],
        }


def _address(row: int, column: int) -> str:
    from ..workbook.formulas import address

    return address(row, column)


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
    if engine == "core" or not book.sizing_cells:
        return None, {}, here
    from ..workbook.addresses import place
    from ..workbook.compute import recalculated

    try:
        sheets, receipt = recalculated(book.package, engine or "calc")
    except HostError:
        if engine is not None:
            raise
        return None, {}, here
    values = {
        (sheet, *place(cell)): value
        for sheet, cells in sheets.items()
        for cell, value in cells.items()
    }
    kept = {(each.sheet, *place(each.cell)): each.why for each in receipt.kept}
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


def _in_order(findings: Iterable[Finding], book: Book) -> list[Finding]:
    """One finding per cell and message, worst first, then in the order of the sheets."""
    sheets = {name: at for at, name in enumerate(book.sheets)}
    kinds = list(KINDS)
    unique: dict[tuple[str, str, str, str], Finding] = {}
    for found in findings:
        # One cell is typed over once, whichever check sees it first.
        said = "" if found.kind == "typed over" else found.message
        unique.setdefault((found.kind, found.sheet, found.cell, said), found)
    # A price that was typed over is said once, with the price that is right.
    priced = {(f.sheet, f.cell) for f in unique.values() if f.kind == "price differs"}
    kept = [f for f in unique.values() if f.kind != "typed over" or (f.sheet, f.cell) not in priced]

    def key(found: Finding) -> tuple[int, int, int, tuple[int, int]]:
        from openpyxl.utils.cell import coordinate_to_tuple

        place = coordinate_to_tuple(found.cell) if found.sheet else (0, 0)
        return (
            SEVERITIES.index(found.severity),
            kinds.index(found.kind),
            sheets.get(found.sheet, -1),
            place,
        )

    return sorted(kept, key=key)


def _with_their_cause(found: list[Finding]) -> list[Finding]:
    """Name the workbook's own failing checks with the first error, which they follow from.

    Whether they follow from it alone shows when it is settled and the audit is made again. A check
    that fails without any other error stands for itself.
    """
    failing = [f for f in found if f.kind == "own check" and f.severity == "error"]
    others = [f for f in found if f not in failing]
    first = next((f for f in others if f.severity == "error"), None)
    if first is None or not failing:
        return found
    cells = ", ".join(f"{f.sheet}!{f.cell}" for f in failing)
    told = f"{first.message} The workbook's own check fails too ({cells})."
    return [replace(f, message=told) if f is first else f for f in others]


def audit_book(path: str | Path, engine: str | None = None, progress: Progress = _quiet) -> Audit:
    """Audit the workbook at ``path``.

    Args:
        path: an .xlsx or .xlsm; it is only read.
        engine: what calculates the fresh values, see :func:`fresh_values`.
        progress: told how far the work is.

    Raises:
        InputFileError: the workbook cannot be read.
        HostError: the engine that was asked for is missing or fails.
    """
    from .checks import CHECKS

    book = read_book(Path(path), lambda what: progress(what, 0, 0))
    audit = Audit(book.path)
    if not book.sizing_cells:
        return audit
    context = examine(book, engine, progress)
    found: list[Finding] = []
    for at, (family, check) in enumerate(CHECKS.items()):
        progress(f"looking at {family}", at, len(CHECKS))
        found += check(context)
    audit.findings = _in_order(_with_their_cause(found), book)
    audit.assumptions = assumptions_of(
        context, _counter(progress, "weighing assumptions", len(context.lines))
    )
    audit.cells, audit.lines = len(book.sizing_cells), len(context.quoted)
    audit.elsewhere = len(context.lines) - audit.lines
    audit.engine = context.values.engine
    audit.not_followed = {**context.values.unknown, **context.unread}
    audit.never_calculated = sum(
        cell.value is None and context.value(cell.place) not in (None, "")
        for cell in book.formulas()
    )
    audit.context = context
    return audit
