"""What changed between two versions of a workbook, and which change moved the size or the price."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from .. import Progress, examine
from ..book import Cell, read_book
from ..calculation import Unknown, WhatIf
from ..checks.values import said, same
from ..context import Context, percent
from ..formulas import Place, address
from ..labels import without_unit
from ..lines import Line
from .alignment import Alignment, align

__all__ = ["Cause", "Change", "Changes", "compare"]

_RESULT = re.compile(r"\b(price|total|subtotal|amount|model)\b", re.IGNORECASE)
_MOST_CELLS = 3_000  # that a result may follow from, to be tried out


@dataclass(frozen=True)
class Change:
    """One cell that is not what it was.

    Attributes:
        kind: "input", "formula", "result", "added" or "removed".
        cell: in the new workbook; in the old one for "removed".
        name: what the sheet calls it; line: what its line is called.
    """

    kind: str
    sheet: str
    cell: str
    name: str
    line: str
    old: Any
    new: Any

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


@dataclass(frozen=True)
class Cause:
    """Why a size, price or total moved: one sentence, and the cells that did it."""

    sheet: str
    cell: str
    message: str
    old: Any
    new: Any
    because_of: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


@dataclass
class Changes:
    """All differences between two workbooks."""

    old: Path
    new: Path
    changes: list[Change] = field(default_factory=list)
    causes: list[Cause] = field(default_factory=list)
    sheets_added: list[str] = field(default_factory=list)
    sheets_removed: list[str] = field(default_factory=list)

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "changes": [change.as_dict() for change in self.changes],
            "causes": [cause.as_dict() for cause in self.causes],
            "sheets_added": self.sheets_added,
            "sheets_removed": self.sheets_removed,
        }


def _quiet(_what: str, _done: int, _total: int) -> None:
    """No progress wanted."""


class _Comparison:
    def __init__(self, old: Context, new: Context, found: Changes) -> None:
        self.old, self.new, self.found = old, new, found
        self.aligned: Alignment = align(old.book, new.book)
        self.back: dict[Place, Place] = {}
        #: old place -> new value of what somebody changed: inputs, and formulas by their result
        self.changed: dict[Place, Any] = {}

    def _add(self, kind: str, context: Context, place: Place, old: Any, new: Any) -> None:
        self.found.changes.append(
            Change(
                kind, place[0], address(*place[1:]), without_unit(context.labels.label(place)),
                context.labels.line_name(place), old, new,
            )
        )  # fmt: skip

    def cells(self) -> None:
        """Compare cell by cell."""
        for cell in self.old.book.cells():
            place = self.aligned.place(cell.place)
            other = self.new.book.cell(place) if place is not None else None
            if other is None or place is None:
                if cell.value is not None or cell.formula:
                    self._add("removed", self.old, cell.place, cell.formula or cell.value, None)
                    if place is not None:
                        self.changed[cell.place] = None
                continue
            self.back[place] = cell.place
            self._pair(cell, other)
        for cell in self.new.book.cells():
            if cell.place not in self.back and (cell.value is not None or cell.formula):
                self._add("added", self.new, cell.place, None, cell.formula or cell.value)

    def _pair(self, cell: Cell, other: Cell) -> None:
        old, new = self.old.value(cell.place), self.new.value(other.place)
        if cell.spill and other.spill:
            if not same(old, new):
                self._add("result", self.new, other.place, old, new)
            return
        if cell.formula is None and other.formula is None:
            if not same(old, new):
                self._add("input", self.new, other.place, old, new)
                self.changed[cell.place] = new
            return
        if cell.tree is not None and other.tree is not None:
            before = self.aligned.meaning(cell.tree, cell.place, moved=True)
            if before == self.aligned.meaning(other.tree, other.place, moved=False):
                if not same(old, new):
                    self._add("result", self.new, other.place, old, new)
                return
        self._add(
            "formula", self.new, other.place, cell.formula or cell.value,
            other.formula or other.value,
        )  # fmt: skip
        self.changed[cell.place] = new

    # -- causes

    def _watched(self) -> Iterator[Place]:
        """New places of sizes, prices and totals."""
        seen: set[Place] = set()
        for line in self.new.lines:
            sized = line.job.result_place("next size") if line.job is not None else None
            for place in (line.place, line.chosen, sized):
                if place is not None and place not in seen:
                    seen.add(place)
                    yield place
        for cell in self.new.book.formulas():
            if cell.place not in seen and _RESULT.search(self.new.labels.label(cell.place)):
                seen.add(cell.place)
                yield cell.place

    def causes(self) -> None:
        """Try the changes out, one at a time, on the old workbook."""
        for place in self._watched():
            before = self.back.get(place)
            if before is None:
                continue
            old, new = self.old.value(before), self.new.value(place)
            cell = self.old.book.cell(before)
            if same(old, new) or cell is None or before in self.changed:
                continue
            cause = self._cause(cell, place, old, new)
            if cause is not None:
                self.found.causes.append(cause)

    def _cause(self, cell: Cell, place: Place, old: Any, new: Any) -> Cause | None:
        job = self.jobs.get(cell.place)
        if job is not None:
            assert job.job is not None
            typed, calculated = list(job.typed), job.calculated
            if (catalog := job.job.table.catalog_area) is not None:
                typed += self.old.values.cells_in(catalog)
        else:
            follows = self.old.values.inputs_of(cell, _MOST_CELLS)
            if follows is None:
                return None
            typed, calculated = follows
        concerned = sorted(c.place for c in typed if c.place in self.changed)
        concerned += sorted(p for p in calculated if p in self.changed)
        moved: list[tuple[Place, Any]] = []
        for changed in concerned:
            result = self._try(cell, {changed: self.changed[changed]}, calculated)
            if result is not None and not same(result, old):
                moved.append((changed, result))
        where = f"{place[0]}!{address(*place[1:])}"
        name = without_unit(self.new.labels.label(place)) or "the result"
        line = job.job.name if job is not None and job.job is not None else ""
        line = line or self.new.labels.line_name(place)
        of_line = f" of {line!r}" if line and line != name else ""
        step = f"{name}{of_line} in {where} went from {said(old)} to {said(new)}{_change(old, new)}"
        alone = [changed for changed, result in moved if same(result, new)]
        if alone:
            why = f"{self._say(alone[0])} alone does it"
            because = alone
        elif moved:
            parts = [f"{self._say(p)} alone gives {said(result)}" for p, result in moved]
            why, because = "; ".join(parts[:4]), [p for p, _ in moved]
        elif concerned:
            why = "only together: " + ", ".join(self._say(p) for p in concerned[:4])
            because = concerned
        else:
            why, because = "because lines or cells were added or removed", []
        cells = tuple(f"{p[0]}!{address(*p[1:])}" for p in because)
        return Cause(place[0], address(*place[1:]), f"{step}: {why}.", old, new, cells)

    @cached_property
    def jobs(self) -> dict[Place, Line]:
        """Old place of a job's required volume and next size -> its line."""
        return {
            place: line
            for line in self.old.lines
            if line.job is not None
            for place in (line.place, line.job.result_place("next size"))
        }

    def _try(self, cell: Cell, instead: Mapping[Place, Any], calculated: set[Place]) -> Any:
        job = self.jobs.get(cell.place)
        if job is not None:
            return self.old.job_value(job, cell.place, instead)
        try:
            return WhatIf(self.old.values, instead, calculated).cell_value(cell.place)
        except (Unknown, RecursionError):
            return None

    def _say(self, place: Place) -> str:
        name = without_unit(self.old.labels.label(place)) or "the cell"
        old, new = said(self.old.value(place)), said(self.changed[place])
        return f"{name} ({place[0]}!{address(*place[1:])}) from {old} to {new}"


def _change(old: Any, new: Any) -> str:
    if isinstance(old, float) and isinstance(new, float) and old:
        return f" ({'+' if new > old else '-'}{percent(new / old - 1)})"
    return ""


def compare(
    old: str | Path, new: str | Path, engine: str | None = None, progress: Progress = _quiet
) -> Changes:
    """Compare two versions of a workbook.

    Args:
        old, new: .xlsx or .xlsm; only read. Rows and columns that came or went are matched.
        engine: what calculates the values, see :func:`hoppersheet.books.audit.fresh_values`.
        progress: told how far the work is.

    Raises:
        InputFileError: one of them cannot be read.
        HostError: the engine that was asked for is missing or fails.
    """
    books = [read_book(Path(path), lambda what: progress(what, 0, 0)) for path in (old, new)]
    before, after = (examine(book, engine, progress) for book in books)
    found = Changes(Path(old), Path(new))
    found.sheets_added = [s for s in after.book.sheets if s not in before.book.sheets]
    found.sheets_removed = [s for s in before.book.sheets if s not in after.book.sheets]
    comparison = _Comparison(before, after, found)
    progress("comparing", 0, 0)
    comparison.cells()
    progress("looking for causes", 0, 0)
    comparison.causes()
    order = {"input": 0, "formula": 1, "added": 2, "removed": 3, "result": 4}
    found.changes.sort(key=lambda change: order[change.kind])
    return found
