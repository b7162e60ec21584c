"""Which change moved a size, price or total: each is tried alone on the old workbook.

An input is tried with its new value. A formula that somebody changed counts where it gives another
value than the old one does with all new inputs: what only follows through it is the inputs' doing.
What neither explains comes from lines that were added or removed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass, field, replace
from functools import cached_property
from typing import Any

from ...cells.values import is_error
from ...cells.wording import rounded
from ...workbook.book import Cell
from ...workbook.evaluator import Evaluator, Unknown, WhatIf
from ...workbook.formulas import Node, Place, address
from ..calls import in_area
from ..checks.single_results import is_total
from ..checks.values import same, value_text
from ..context import Context, cell_name
from ..label_words import is_prose, without_unit
from ..lines import Line
from .alignment import Alignment
from .lines_moved import change, hours_held, price_of
from .shown import shown

__all__ = ["Cause", "Causes", "Edits", "called"]

_RESULT = re.compile(r"\b(price|total|subtotal|amount|model)\b", re.IGNORECASE)
_MOST_CELLS = 3_000  # that a result may follow from, to be tried out
_NAMED = 4  # changes that a sentence names


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
class Edits:
    """What somebody changed, by its place in the old workbook.

    Attributes:
        inputs: typed cells -> the new value, None for one that is empty now.
        formulas: formulas that were changed or typed over -> what they give now.
        names: defined names that stand for a value -> (old text, new text, new tree).
        added, removed: lines that came and went, as they are called.
    """

    inputs: dict[Place, Any] = field(default_factory=dict)
    formulas: dict[Place, Any] = field(default_factory=dict)
    names: dict[str, tuple[str, str, Node]] = field(default_factory=dict)
    added: list[str] = field(default_factory=list)
    removed: dict[Place, str] = field(default_factory=dict)

    def __contains__(self, place: Place) -> bool:
        return place in self.inputs or place in self.formulas


def called(context: Context, place: Place) -> str:
    """What the sheet calls a cell; a sentence above or beside it is no name."""
    label = without_unit(context.labels.label(place))
    return "" if is_prose(label) else label


#: A change that is tried: a cell of the old workbook, or a defined name.
_Tried = Place | str


class Causes:
    """Tries the changes out.

    Args:
        old, new: the two workbooks.
        aligned: which cell of the old one is which of the new one.
        back: place in the new workbook -> place in the old one.
        edits: what was changed.
    """

    def __init__(
        self,
        old: Context,
        new: Context,
        aligned: Alignment,
        back: Callable[[Place], Place | None],
        edits: Edits,
    ) -> None:
        self.old, self.new, self.aligned, self.back, self.edits = old, new, aligned, back, edits
        self._bases: dict[frozenset[str], Evaluator] = {frozenset(): old.values}

    # -- what is a result

    def is_result(self, place: Place) -> bool:
        """Whether a cell of the new workbook holds a size, price or total."""
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

    def changed_itself(self, other: Cell, old: Any, new: Any) -> Cause:
        """A result that moved because somebody typed over its formula, or changed it."""
        typed = other.typed
        ways = ("formula", "typed") if typed else ("old formula", "new formula")
        step = change(old, new)
        values = [
            rounded(x, 9)
            if isinstance(x, float) and abs(x) >= 1e3 and text == value_text(x)
            else text
            for x in (old, new)
            for text in (shown(self.new, other.place, x),)
        ]
        why = "the formula was typed over" if typed else "the formula was changed"
        return Cause(
            other.place[0], address(*other.place[1:]),
            f"{self._called(other.place)}: {values[0]} ({ways[0]}) -> {values[1]} ({ways[1]})"
            f"{', ' if step else ''}{step}: {why}.",
            old, new, (cell_name(other.place),), why, main=True,
        )  # fmt: skip

    def _called(self, place: Place) -> str:
        name = called(self.new, place) or "the result"
        line = self.new.labels.line_name(place)
        return f"{name}{f' of {line!r}' if line and line != name else ''} in {cell_name(place)}"

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

    # -- trying out

    def causes(self) -> Iterator[Cause]:
        """Each size, price and total that moved, with what moved it."""
        for place in self._watched():
            before = self.back(place)
            if before is None:
                continue
            old, new = self.old.value(before), self.new.value(place)
            cell = self.old.book.cell(before)
            if same(old, new) or cell is None or before in self.edits:
                continue
            cause = self._cause(cell, place, old, new)
            if cause is not None:
                yield cause

    def _follows(self, cell: Cell) -> tuple[set[Place], set[Place]] | None:
        """(changed inputs, formulas) that a cell of the old workbook follows from."""
        job = self.jobs.get(cell.place)
        if job is not None:
            assert job.job is not None
            typed = {taken.place for taken in job.typed}
            if (catalog := job.job.table.catalog_area) is not None:
                typed |= {taken.place for taken in self.old.values.cells_in(catalog)}
            calculated = job.calculated
        else:
            follows = self.old.precedents.inputs_of(cell, _MOST_CELLS)
            if follows is None:
                return None
            typed, calculated = {taken.place for taken in follows[0]}, follows[1]
        blanks = [place for place in self.edits.inputs if self.old.book.cell(place) is None]
        if blanks:  # a cell that was empty is in the ranges all the same
            areas = {
                area
                for place in calculated
                if (formula := self.old.book.cell(place)) is not None
                for area in self.old.values.areas_of(formula)
            }
            typed |= {p for p in blanks if any(in_area(p, area) for area in areas)}
        return typed & set(self.edits.inputs), calculated

    def _cause(self, cell: Cell, place: Place, old: Any, new: Any) -> Cause | None:
        follows = self._follows(cell)
        if follows is None:
            return None
        inputs, calculated = follows

        def tried(changes: Mapping[_Tried, Any]) -> Any:
            return self._try(cell, changes, calculated)

        given: dict[_Tried, Any] = {p: self.edits.inputs[p] for p in sorted(inputs)}
        given |= dict.fromkeys(self.edits.names)
        moved = [
            (group, result)
            for group in self._together(given, tried)
            if not same(result := tried(group), old) and result is not None
        ]
        if len(moved) > 1:
            # What makes no difference beside the others plays no part.
            all_ = tried(given)
            moved = [
                m for m in moved
                if not same(tried({k: v for k, v in given.items() if k not in m[0]}), all_)
            ] or moved  # fmt: skip
        formulas = [p for p in sorted(calculated) if self._differs_itself(p, given)]
        together = dict(given)
        for changed in formulas:
            together[changed] = self.edits.formulas[changed]
        explained = same(tried(together), new)
        parts, because = self._clauses(moved, formulas, tried, new, given)
        gone = bool(self.edits.added or self.edits.removed)
        if (gone and (formulas or not explained)) or not parts:
            parts.append(self._came_and_went())
        why = "; ".join(parts[:_NAMED])
        why += f"; and {len(parts) - _NAMED} more" if len(parts) > _NAMED else ""
        return self._sentence(cell, place, old, new, why, because)

    def _together(
        self, given: Mapping[_Tried, Any], tried: Callable[[Mapping[_Tried, Any]], Any]
    ) -> list[dict[_Tried, Any]]:
        """Changes one by one; those that alone give an error, such as one share of two, as one."""
        alone: list[dict[_Tried, Any]] = []
        partners: dict[_Tried, Any] = {}
        for key, value in given.items():
            result = tried({key: value})
            if is_error(result) and len(given) > 1:
                partners[key] = value
            else:
                alone.append({key: value})
        return alone + ([partners] if partners else [])

    def _differs_itself(self, place: Place, given: Mapping[_Tried, Any]) -> bool:
        """Whether a changed formula gives another value than the old one with the new inputs."""
        cell = self.old.book.cell(place)
        if place not in self.edits.formulas or cell is None:
            return False
        follows = self._follows(cell)
        before = None if follows is None else self._try(cell, given, follows[1])
        return not same(before, self.edits.formulas[place])

    def _clauses(
        self,
        moved: list[tuple[dict[_Tried, Any], Any]],
        formulas: list[Place],
        tried: Callable[[Mapping[_Tried, Any]], Any],
        new: Any,
        given: Mapping[_Tried, Any],
    ) -> tuple[list[str], list[_Tried]]:
        """(clauses that say what moved a result, the changes that did)."""
        if not moved and not formulas and given:
            everything = tried(given)
            keys = [
                k for k in given
                if not same(tried({o: v for o, v in given.items() if o != k}), everything)
            ] or list(given)  # fmt: skip
            return ["only together: " + ", ".join(map(self._say, keys[:_NAMED]))], keys
        parts: list[str] = []
        because: list[_Tried] = []
        for group, result in moved:
            because += group
            words = " with ".join(map(self._say, group))
            if same(result, new) and len(moved) == 1 and not formulas:
                parts.append(f"{words} alone does it")
            else:
                parts.append(f"{words} alone gives {value_text(result)}")
        for place in formulas:
            because.append(place)
            result = tried({place: self.edits.formulas[place]})
            if same(result, new) and not moved and len(formulas) == 1:
                parts.append(f"{self._say(place)} alone does it")
            elif moved:
                name = called(self.old, place) or "the cell"
                parts.append(f"the formula of {name} ({cell_name(place)}) was changed too")
            elif not same(result, self.old.value(place)):
                parts.append(f"{self._say(place)} alone gives {value_text(result)}")
        return parts, because

    def _came_and_went(self) -> str:
        parts = []
        for names, how in (
            (self.edits.added, "added"),
            ([*self.edits.removed.values()], "removed"),
        ):
            if names:
                listed = ", ".join(map(repr, names[:_NAMED]))
                more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
                parts.append(f"{listed}{more} {'was' if len(names) == 1 else 'were'} {how}")
        return ", ".join(parts) or "because lines or cells were added or removed"

    def _sentence(
        self, cell: Cell, place: Place, old: Any, new: Any, why: str, because: list[_Tried]
    ) -> Cause:
        job = self.jobs.get(cell.place)
        name = called(self.new, place) or "the result"
        line = job.job.name if job is not None and job.job is not None else ""
        line = line or self.new.labels.line_name(place)
        of_line = f" of {line!r}" if line and line != name else ""
        more = change(old, new)
        step = f"{name}{of_line} in {place[0]}!{address(*place[1:])}"
        step += f" went from {shown(self.new, place, old)} to {shown(self.new, place, new)}"
        step += f" ({more})" if more else ""
        cells = tuple(
            p if isinstance(p, str) else self._at(p) for p in because
        )  # fmt: skip
        total = is_total(self.new, place) or place in self._orphaned
        at = address(*place[1:])
        return Cause(place[0], at, f"{step}: {why}.", old, new, cells, why, total)

    @cached_property
    def jobs(self) -> dict[Place, Line]:
        """Old place of a job's required volume and next size -> its line."""
        return {
            place: line
            for line in self.old.lines
            if line.job is not None
            for place in (line.place, line.job.result_place("next size"))
        }

    def _try(self, cell: Cell, changes: Mapping[_Tried, Any], calculated: set[Place]) -> Any:
        instead = {key: value for key, value in changes.items() if not isinstance(key, str)}
        job = self.jobs.get(cell.place)
        if job is not None:
            return self.old.job_value(job, cell.place, instead)
        base = self._base(frozenset(key for key in changes if isinstance(key, str)))
        try:
            return WhatIf(base, instead, calculated).cell_value(cell.place)
        except (Unknown, RecursionError):
            return None

    def _base(self, names: frozenset[str]) -> Evaluator:
        """The old workbook's values, with some of its names standing for what they do now."""
        if names not in self._bases:
            new = {name: self.edits.names[name][2] for name in names}
            book = replace(self.old.book, names={**self.old.book.names, **new})
            self._bases[names] = Evaluator(book, self.old.values.values)
        return self._bases[names]

    def _say(self, key: _Tried) -> str:
        if isinstance(key, str):
            old, new, _ = self.edits.names[key]
            return f"the name {key!r} from {old} to {new}"
        name = called(self.old, key) or "the cell"
        now = self.edits.inputs[key] if key in self.edits.inputs else self.edits.formulas[key]
        old, new = shown(self.old, key, self.old.value(key)), shown(self.old, key, now)
        return f"{name} ({self._at(key)}) from {old} to {new}"

    def _at(self, place: Place) -> str:
        """A cell of the old workbook, on the sheet as it is called now."""
        return f"{self.aligned.sheet(place[0])}!{address(*place[1:])}"
