"""What changed between two versions of a workbook, and which change moved the size or the price."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from ...workbook.book import Cell, read_book
from ...workbook.formulas import Place, address
from .. import Progress, examine
from ..checks.values import same
from ..context import Context, cell_name
from .alignment import Alignment, align
from .causes import Cause, Causes, Edits, called
from .lines_moved import LineMoved, change, lines_gone, lines_moved
from .of_book import of_book
from .shown import money_text, shown

__all__ = ["Change", "Changes", "TotalMoved", "compare"]


@dataclass(frozen=True)
class Change:
    """One cell that is not what it was.

    Attributes:
        kind: "input", "typed over", "formula", "result", "added" or "removed".
        cell: in the new workbook; in the old one for "removed".
        name: what the sheet calls it; line: what its line is called.
        formula: that somebody typed over; ``old`` is what it gave.
        old_text, new_text: both as the cell shows them: a date as a date, money as money.
        seen: whether it stands where a reader sees it, in no hidden row, column or sheet.
    """

    kind: str
    sheet: str
    cell: str
    name: str
    line: str
    old: Any
    new: Any
    formula: str = ""
    old_text: str = ""
    new_text: str = ""
    seen: bool = True

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


@dataclass
class TotalMoved:
    """The total of both workbooks; None where none was found, "" for its cell then."""

    old: float | None = None
    new: float | None = None
    old_cell: str = ""
    cell: str = ""
    priced: bool = False

    @property
    def message(self) -> str:
        """What became of the total, in one sentence; "" where neither workbook has prices."""
        if self.old is not None and self.new is not None:
            if same(self.old, self.new):
                return f"The total is {money_text(self.new)} in {self.cell}, as it was."
            step = change(self.old, self.new)
            return (
                f"The total went from {money_text(self.old)} to {money_text(self.new)}"
                f"{f' ({step})' if step else ''}, in {self.cell}."
            )
        if self.old is None and self.new is None:
            return "No total was found in either workbook." if self.priced else ""
        which, other, value = (
            ("new", "old", self.old) if self.new is None else ("old", "new", self.new)
        )
        assert value is not None
        return (
            f"No total was found in the {which} workbook; in the {other} one {money_text(value)}."
        )


@dataclass
class Changes:
    """All differences between two workbooks.

    Attributes:
        lines: what became of the lines of the quote, one each.
        causes: each size, price and total that moved, with what moved it.
        moved: lines that stand in another row or column, in words.
        total: the total before and after.
        book: what changed besides cells: hidden sheets, rows and columns, names, settings.
    """

    old: Path
    new: Path
    total: TotalMoved = field(default_factory=TotalMoved)
    changes: list[Change] = field(default_factory=list)
    lines: list[LineMoved] = field(default_factory=list)
    causes: list[Cause] = field(default_factory=list)
    sheets_added: list[str] = field(default_factory=list)
    sheets_removed: list[str] = field(default_factory=list)
    moved: list[str] = field(default_factory=list)
    book: list[str] = field(default_factory=list)

    @property
    def any(self) -> bool:
        """Whether anything is not as it was."""
        return bool(
            self.changes or self.sheets_added or self.sheets_removed or self.moved or self.book
        )

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "total": asdict(self.total),
            "changes": [change.as_dict() for change in self.changes],
            "lines": [moved.as_dict() for moved in self.lines],
            "causes": [cause.as_dict() for cause in self.causes],
            "sheets_added": self.sheets_added,
            "sheets_removed": self.sheets_removed,
            "moved": self.moved,
            "book": self.book,
        }


def _quiet(_what: str, _done: int, _total: int) -> None:
    """No progress wanted."""


class _Comparison:
    def __init__(self, old: Context, new: Context, found: Changes) -> None:
        self.old, self.new, self.found = old, new, found
        self.aligned: Alignment = align(old.book, new.book)
        self.back: dict[Place, Place] = {}
        self.edits = Edits(names=dict(self._names()))
        self.causes = Causes(old, new, self.aligned, self.back.get, self.edits)

    def _add(
        self, kind: str, context: Context, place: Place, old: Any, new: Any, formula: str = ""
    ) -> None:
        self.found.changes.append(
            Change(
                kind, place[0], address(*place[1:]), called(context, place),
                context.labels.line_name(place), old, new, formula,
                shown(context, place, old), shown(context, place, new), _seen(context, place),
            )
        )  # fmt: skip

    def _names(self) -> Iterator[tuple[str, tuple[str, str, Any]]]:
        """Defined names that mean something else now, ranges that only moved excepted."""
        home = (next(iter(self.old.book.sheets), ""), 1, 1)
        for name, tree in self.old.book.names.items():
            other = self.new.book.names.get(name)
            if other is None:
                continue
            before = self.aligned.meaning(tree, home, moved=True)
            if before != self.aligned.meaning(other, home, moved=False):
                yield name, (self.old.book.name_texts[name], self.new.book.name_texts[name], other)

    def cells(self) -> None:
        """Compare cell by cell."""
        rest: list[Cell] = []
        for cell in self.old.book.cells():
            place = self.aligned.place(cell.place)
            other = self.new.book.cell(place) if place is not None else None
            if other is None or place is None:
                rest.append(cell)
            else:
                self.back[place] = cell.place
                self._pair(cell, other)
        for cell in rest:
            # A total below columns that changed places stays where it was.
            sheet, row, column = cell.place
            other = self.new.book.cell((self.aligned.sheet(sheet), row, column))
            if self.aligned.is_replaced(cell.place):
                other = None
            if other is not None and other.place not in self.back and _alike(cell, other):
                self.back[other.place] = cell.place
                self._pair(cell, other)
            elif cell.value is not None or cell.formula:
                self._removed(cell)
        for cell in self.new.book.cells():
            if cell.place not in self.back and (cell.value is not None or cell.formula):
                self._add("added", self.new, cell.place, None, cell.formula or cell.value)
                place = self.aligned.old_place(cell.place)
                if place is not None:
                    self.edits.inputs[place] = self.new.value(cell.place)
        self._came_and_went()

    def _removed(self, cell: Cell) -> None:
        self._add("removed", self.old, cell.place, cell.formula or cell.value, None)
        if self.aligned.place(cell.place) is not None:
            kind = self.edits.inputs if cell.formula is None else self.edits.formulas
            kind[cell.place] = None

    def _came_and_went(self) -> None:
        """The lines that are new, and those that are gone."""
        now = {self.back.get(line.place) for line in self.new.lines}
        for line in self.new.quoted:
            if self.back.get(line.place) is None:
                self.edits.added.append(self.new.name_of(line) or self.new.where(line))
        for line in self.old.quoted:
            if line.place not in now and self.aligned.place(line.place) is None:
                self.edits.removed[line.place] = self.old.name_of(line) or self.old.where(line)

    def _pair(self, cell: Cell, other: Cell) -> None:
        old, new = self.old.value(cell.place), self.new.value(other.place)
        if cell.spill and other.spill:
            if not same(old, new):
                self._add("result", self.new, other.place, old, new)
            return
        if cell.formula is None and other.formula is None:
            if not same(old, new):
                self._add("input", self.new, other.place, old, new)
                self.edits.inputs[cell.place] = new
            return
        if cell.tree is not None and other.tree is not None:
            before = self.aligned.meaning(cell.tree, cell.place, moved=True)
            untouched = cell.place == other.place and cell.formula == other.formula
            if untouched or before == self.aligned.meaning(other.tree, other.place, moved=False):
                if not same(old, new):
                    self._add("result", self.new, other.place, old, new)
                return
        if cell.formula is not None and other.typed:
            self._add("typed over", self.new, other.place, old, new, cell.formula)
            self.edits.formulas[cell.place] = new
            self.found.causes.append(self.causes.changed_itself(other, old, new))
            return
        result = cell.formula is not None and self.causes.is_result(other.place)
        if result and not same(old, new):
            self.found.causes.append(self.causes.changed_itself(other, old, new))
        self._add(
            "formula", self.new, other.place, cell.formula or cell.value,
            other.formula or other.value,
        )  # fmt: skip
        kind = self.edits.inputs if cell.formula is None else self.edits.formulas
        kind[cell.place] = new

    def lines(self) -> None:
        """What became of each line of the quote."""
        known = {(cause.sheet, cause.cell): cause for cause in self.found.causes}

        def why(place: Place) -> tuple[str, tuple[str, ...]]:
            cause = known.get((place[0], address(*place[1:])))
            return ("", ()) if cause is None else (cause.why, cause.because_of)

        self.found.lines += lines_moved(self.old, self.new, self.back.get, why)
        self.found.lines += lines_gone(self.old, self.edits.removed)


def _seen(context: Context, place: Place) -> bool:
    sheet = context.book.sheets[place[0]]
    columns = sheet.settings.hidden_columns | sheet.settings.folded_columns
    return not (sheet.hidden or place[1] in sheet.hidden_rows or place[2] in columns)


def _totals(old: Context, new: Context) -> TotalMoved:
    found = [context.money for context in (old, new)]
    cells = [cell_name(money.total) if money.total is not None else "" for money in found]
    priced = any(
        worked.net is not None or worked.price is not None
        for context in (old, new)
        for worked in context.worked
    )
    return TotalMoved(found[0].value, found[1].value, cells[0], cells[1], priced)


def _alike(cell: Cell, other: Cell) -> bool:
    """Whether two cells are one: the same formula, or the same typed text."""
    if cell.formula is not None or other.formula is not None:
        return cell.formula == other.formula
    return cell.value == other.value


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
    comparison = _Comparison(before, after, found)
    sheets = comparison.aligned.renamed
    known = {*before.book.sheets, *sheets.values()}
    found.sheets_added = [s for s in after.book.sheets if s not in known]
    found.sheets_removed = [s for s in before.book.sheets if s not in {*after.book.sheets, *sheets}]
    found.book += [f"The sheet {one!r} is called {other!r} now" for one, other in sheets.items()]
    progress("comparing", 0, 0)
    found.moved += comparison.aligned.moved(before.book)
    comparison.cells()
    found.book += of_book(before.book, after.book, comparison.aligned, comparison.edits.names)
    progress("looking for causes", 0, 0)
    found.causes += comparison.causes.causes()
    comparison.lines()
    found.total = _totals(before, after)
    found.causes.sort(key=lambda cause: not cause.main)
    order = {
        "typed over": 0, "input": 1, "formula": 2, "added": 3, "removed": 4, "result": 5,
    }  # fmt: skip
    found.changes.sort(key=lambda change: order[change.kind])
    return found
