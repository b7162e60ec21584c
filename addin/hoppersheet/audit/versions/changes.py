"""What changed between two versions of a workbook, and which change moved the size or the price."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from ...cells.wording import rounded
from ...workbook.book import Cell, read_book
from ...workbook.evaluator import Unknown, WhatIf
from ...workbook.formulas import Place, address
from .. import Progress, examine
from ..checks.single_results import is_total
from ..checks.values import same, value_text
from ..context import Context, cell_name
from ..labels import is_prose, without_unit
from ..lines import Line
from .alignment import Alignment, align
from .lines_moved import LineMoved, change, hours_held, lines_moved, price_of

__all__ = ["Cause", "Change", "Changes", "compare"]

_RESULT = re.compile(r"\b(price|total|subtotal|amount|model)\b", re.IGNORECASE)
_MOST_CELLS = 3_000  # that a result may follow from, to be tried out


@dataclass(frozen=True)
class Change:
    """One cell that is not what it was.

    Attributes:
        kind: "input", "typed over", "formula", "result", "added" or "removed".
        cell: in the new workbook; in the old one for "removed".
        name: what the sheet calls it; line: what its line is called.
        formula: that somebody typed over; ``old`` is what it gave.
    """

    kind: str
    sheet: str
    cell: str
    name: str
    line: str
    old: Any
    new: Any
    formula: str = ""

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


@dataclass(frozen=True)
class Cause:
    """Why a size, price or total moved: one sentence, and the cells that did it.

    ``main``: a total, or a result that somebody changed itself; not one of many that follow.
    """

    sheet: str
    cell: str
    message: str
    old: Any
    new: Any
    because_of: tuple[str, ...]
    why: str = ""
    main: bool = False

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


@dataclass
class Changes:
    """All differences between two workbooks.

    Attributes:
        lines: what became of the lines of the quote, one each.
        causes: each size, price and total that moved, with what moved it.
        moved: lines that stand in another row or column, in words.
    """

    old: Path
    new: Path
    changes: list[Change] = field(default_factory=list)
    lines: list[LineMoved] = field(default_factory=list)
    causes: list[Cause] = field(default_factory=list)
    sheets_added: list[str] = field(default_factory=list)
    sheets_removed: list[str] = field(default_factory=list)
    moved: list[str] = field(default_factory=list)

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "changes": [change.as_dict() for change in self.changes],
            "lines": [moved.as_dict() for moved in self.lines],
            "causes": [cause.as_dict() for cause in self.causes],
            "sheets_added": self.sheets_added,
            "sheets_removed": self.sheets_removed,
            "moved": self.moved,
        }


def _quiet(_what: str, _done: int, _total: int) -> None:
    """No progress wanted."""


def _name(context: Context, place: Place) -> str:
    """What the sheet calls a cell; a sentence above or beside it is no name."""
    label = without_unit(context.labels.label(place))
    return "" if is_prose(label) else label


class _Comparison:
    def __init__(self, old: Context, new: Context, found: Changes) -> None:
        self.old, self.new, self.found = old, new, found
        self.aligned: Alignment = align(old.book, new.book)
        self.back: dict[Place, Place] = {}
        #: old place -> new value of what somebody changed: inputs, and formulas by their result
        self.changed: dict[Place, Any] = {}

    def _add(
        self, kind: str, context: Context, place: Place, old: Any, new: Any, formula: str = ""
    ) -> None:
        self.found.changes.append(
            Change(
                kind, place[0], address(*place[1:]), _name(context, place),
                context.labels.line_name(place), old, new, formula,
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
        if cell.formula is not None and other.typed:
            self._add("typed over", self.new, other.place, old, new, cell.formula)
            self.changed[cell.place] = new
            self._changed_itself(cell, other, old, new)
            return
        if cell.formula is not None and not same(old, new) and self._is_result(other.place):
            self._changed_itself(cell, other, old, new)
        self._add(
            "formula", self.new, other.place, cell.formula or cell.value,
            other.formula or other.value,
        )  # fmt: skip
        self.changed[cell.place] = new

    # -- causes

    def _is_result(self, place: Place) -> bool:
        return place in self._sized or bool(_RESULT.search(self.new.labels.label(place)))

    @cached_property
    def _orphaned(self) -> set[Place]:
        """New places of sizes and prices whose required volume is no longer calculated."""
        known = {line.place for line in self.new.lines}
        found: set[Place] = set()
        for line in self.old.quoted:
            if self.aligned.place(line.place) not in known:
                for old in (line.chosen, hours_held(self.old, line), price_of(self.old, line)):
                    place = self.aligned.place(old) if old is not None else None
                    if place is not None:
                        found.add(place)
        return found

    @cached_property
    def _sized(self) -> set[Place]:
        """New places of required volumes and chosen sizes."""
        return {p for line in self.new.lines for p in (line.place, line.chosen) if p is not None}

    def _changed_itself(self, cell: Cell, other: Cell, old: Any, new: Any) -> None:
        """A result that moved because somebody typed over its formula, or changed it."""
        where = cell_name(other.place)
        typed = other.typed
        ways = ("formula", "typed") if typed else ("old formula", "new formula")
        step = change(old, new)
        says = [
            rounded(x, 9) if isinstance(x, float) and abs(x) >= 1e3 else value_text(x)
            for x in (old, new)
        ]
        why = "the formula was typed over" if typed else "the formula was changed"
        self.found.causes.append(
            Cause(
                other.place[0], address(*other.place[1:]),
                f"{self._called(other.place)}: {says[0]} ({ways[0]}) -> {says[1]} ({ways[1]})"
                f"{', ' if step else ''}{step}: {why}.",
                old, new, (where,), why, main=True,
            )
        )  # fmt: skip

    def _called(self, place: Place) -> str:
        name = _name(self.new, place) or "the result"
        line = self.new.labels.line_name(place)
        return f"{name}{f' of {line!r}' if line and line != name else ''} in {cell_name(place)}"

    def lines(self) -> None:
        """What became of each line of the quote."""
        causes = {(cause.sheet, cause.cell): cause for cause in self.found.causes}

        def why(place: Place) -> tuple[str, tuple[str, ...]]:
            cause = causes.get((place[0], address(*place[1:])))
            return ("", ()) if cause is None else (cause.why, cause.because_of)

        self.found.lines += lines_moved(self.old, self.new, self.back.get, why)

    def _watched(self) -> Iterator[Place]:
        """New places of sizes, prices and totals."""
        seen: set[Place] = set()
        for line in self.new.lines:
            sized = line.job.result_place("next size") if line.job is not None else None
            for place in (line.place, line.chosen, sized):
                if place is not None and place not in seen:
                    seen.add(place)
                    yield place
        for place in self._orphaned:
            if place not in seen:
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
        name = _name(self.new, place) or "the result"
        line = job.job.name if job is not None and job.job is not None else ""
        line = line or self.new.labels.line_name(place)
        of_line = f" of {line!r}" if line and line != name else ""
        more = change(old, new)
        step = f"{name}{of_line} in {where} went from {value_text(old)} to {value_text(new)}"
        step += f" ({more})" if more else ""
        if len(moved) > 1:
            # What makes no difference beside the others plays no part.
            moved = [m for m in moved if self._counts(cell, m[0], new, calculated)] or moved
        if not moved:
            concerned = [
                c for c in concerned if self._counts(cell, c, new, calculated)
            ] or concerned  # fmt: skip
        alone = [changed for changed, result in moved if same(result, new)]
        if alone:
            why = f"{self._say(alone[0])} alone does it"
            because = alone
        elif moved:
            parts = [f"{self._say(p)} alone gives {value_text(result)}" for p, result in moved]
            why, because = "; ".join(parts[:4]), [p for p, _ in moved]
        elif concerned:
            why = "only together: " + ", ".join(self._say(p) for p in concerned[:4])
            because = concerned
        else:
            why, because = "because lines or cells were added or removed", []
        cells = tuple(f"{p[0]}!{address(*p[1:])}" for p in because)
        total = is_total(self.new, place) or place in self._orphaned
        at = address(*place[1:])
        return Cause(place[0], at, f"{step}: {why}.", old, new, cells, why, total)

    def _counts(self, cell: Cell, place: Place, new: Any, calculated: set[Place]) -> bool:
        """Whether a result would be another without this one of the changes."""
        others = {p: value for p, value in self.changed.items() if p != place}
        return not same(self._try(cell, others, calculated), new)

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
        name = _name(self.old, place) or "the cell"
        old, new = value_text(self.old.value(place)), value_text(self.changed[place])
        return f"{name} ({place[0]}!{address(*place[1:])}) from {old} to {new}"


def compare(
    old: str | Path, new: str | Path, engine: str | None = None, progress: Progress = _quiet
) -> Changes:
    """Compare two versions of a workbook.

    Args:
        old, new: .xlsx or .xlsm; only read. Rows and columns that came or went are matched.
        engine: what calculates the values, see :func:`hoppersheet.audit.fresh_values`.
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
    found.moved += comparison.aligned.moved(before.book)
    comparison.cells()
    progress("looking for causes", 0, 0)
    comparison.causes()
    comparison.lines()
    found.causes.sort(key=lambda cause: not cause.main)
    order = {
        "typed over": 0, "input": 1, "formula": 2, "added": 3, "removed": 4, "result": 5,
    }  # fmt: skip
    found.changes.sort(key=lambda change: order[change.kind])
    return found
