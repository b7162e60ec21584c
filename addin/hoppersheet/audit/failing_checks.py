"""Which input makes a check of the workbook fail: tried out, one cell at a time.

A check says that something is wrong, often on a sheet of its own and far from where it was typed.
So each input that it follows from is given another value, that of the other lines first where it
is unlike them; the one with which the check passes is its cause.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from statistics import median
from typing import TYPE_CHECKING, Any

from ..cells.values import is_error
from ..workbook.evaluator import Area, FormulaError, Unknown, WhatIf
from ..workbook.formulas import Literal, Place, walk
from .find_total import number_in
from .verdicts import PASSED, SEVERITY_OF

if TYPE_CHECKING:
    from ..workbook.book import Cell
    from .context import Context

__all__ = ["Cause", "causes_of"]

_MOST_CELLS = 200_000  # that a check may follow from
_MOST_TRIED = 60  # values for one check
_MOST_CHECKS = 6  # checks whose cause is looked for; the others follow from the same, mostly
_FLAGGED = 3  # cells of a range that stand out, and are followed
_UNLIKE = 0.6  # of the logarithm: about half or twice what the other lines have
_LONG = 12  # letters of a word that a cell may hold
_SCALES = (0.1, 10.0, 0.01, 100.0)
#: What a blank cell of this role might hold where no other line says it.
_USUAL = {"throughput": 100.0, "hours": 4.0, "quantity": 1.0, "list price": 1000.0}


@dataclass(frozen=True)
class Cause:
    """An input with which checks fail.

    Attributes:
        place: its cell.
        value: what it holds, None for a blank.
        better: a value with which they pass.
        checks: their cells; others of the cells that were asked for and are no error then.
    """

    place: Place
    value: Any
    better: Any
    checks: list[Place] = field(default_factory=list)


class _Tryer:
    """The checks of a workbook with other values in single cells."""

    def __init__(self, context: Context, checks: list[Place]) -> None:
        self.context = context
        self.typed: set[Place] = set()
        for cell in map(context.book.cell, checks):
            follows = context.precedents.inputs_of(cell, _MOST_CELLS) if cell is not None else None
            if follows is not None:
                self.typed |= {typed.place for typed in follows[0]}
        self._followers: dict[Place, set[Place]] = {}

    def passes(self, check: Place, place: Place, value: Any) -> bool:
        """Whether a check passes, or an error is none, with another value in one cell."""
        if place not in self._followers:
            self._followers[place] = self.context.precedents.followers([place]) - {place}
        affected = self._followers[place]
        if check not in affected:
            return False
        try:
            given = WhatIf(self.context.values, {place: value}, affected).cell_value(check)
        except (FormulaError, Unknown, RecursionError):
            return False
        if isinstance(given, str) and SEVERITY_OF.get(given.strip().lower()) == "error":
            return False
        return given is not None and not is_error(given)


@dataclass
class _Follows:
    """What a check follows from.

    Attributes:
        cells: typed or blank cells.
        named: those that the check's own row names.
        usual: cells that stand out in a range -> what the others there have.
        words: that the check compares with.
    """

    cells: list[Place] = field(default_factory=list)
    named: set[Place] = field(default_factory=set)
    usual: dict[Place, Any] = field(default_factory=dict)
    words: list[str] = field(default_factory=list)


class _Inputs:
    """The cells that may be the cause, with values to try, the likeliest first."""

    def __init__(self, context: Context, tryer: _Tryer) -> None:
        self.context, self.tryer = context, tryer
        #: typed cells of the lines, whether or not they are unlike the others
        self.in_lists: set[Place] = set()
        unlike = [one for one in self._of_lines() if one[0] >= _UNLIKE]
        self.of_lines = sorted(unlike, key=lambda one: -one[0])

    def _rows(self) -> dict[str, set[int]]:
        """Sheet -> the rows, or columns, of its lines and of what has no size yet."""
        context, rows = self.context, dict[str, set[int]]()
        places = [line.place for line in context.quoted]
        places += [line.job.first for line in context.quoted if line.job is not None]
        for sheet, row, column in places + [one.place for one in context.unsized]:
            number = column if context.labels.sideways(sheet) else row
            rows.setdefault(sheet, set()).add(number)
        for sheet, found in rows.items():  # a line without a figure is none yet
            held = context.book.sheets[sheet]
            lists = held.columns if context.labels.sideways(sheet) else held.rows
            for number in range(min(found) - 1, max(found) + 2):
                typed = [cell.value for cell in lists.get(number, ()) if cell.typed]
                if len(typed) >= _FLAGGED and any(isinstance(value, float) for value in typed):
                    found.add(number)
        return rows

    def _of_lines(self) -> Iterator[tuple[float, Place, Any]]:
        """(how unlike the other lines, cell, what it might be)."""
        context = self.context
        for sheet, numbers in self._rows().items():
            sideways = context.labels.sideways(sheet)
            typed = [place for place in self.tryer.typed if place[0] == sheet]
            across = sorted({p[1] if sideways else p[2] for p in typed})
            for other in across:
                places: list[Place] = [
                    (sheet, other, n) if sideways else (sheet, n, other) for n in sorted(numbers)
                ]
                cells = [context.book.cell(place) for place in places]
                if any(cell is not None and cell.formula is not None for cell in cells):
                    continue
                values = [None if cell is None else cell.value for cell in cells]
                self.in_lists.update(places)
                for at, place in enumerate(places):
                    yield from self._unlike(place, values[at], values[:at] + values[at + 1 :])

    def _unlike(
        self, place: Place, value: Any, others: list[Any]
    ) -> Iterator[tuple[float, Place, Any]]:
        others = [other for other in others if other != ""]
        typed = [other for other in others if other is not None]
        numbers = [other for other in typed if isinstance(other, float)]
        if not others:
            if value in (None, ""):
                usual = _USUAL.get(self.context.labels.role(place))
                if usual is not None:
                    yield 4.0, place, usual
            elif isinstance(value, float):
                for scale in _SCALES:
                    yield 1.0, place, value * scale
            return
        if 2 * len(typed) < len(others):  # mostly blank
            if value not in (None, ""):
                yield 0.7, place, None
        elif 2 * len(numbers) >= len(typed):
            usual = median(numbers)
            if value in (None, ""):
                yield 4.0, place, usual
            elif not isinstance(value, float):
                yield 6.0, place, usual
            elif value != usual:
                near = value > 0 and usual > 0
                yield (abs(math.log(value / usual)) if near else 5.0), place, usual
        else:
            word = Counter(map(str, typed)).most_common(1)[0][0]
            if value != word:
                yield (4.0 if value in (None, "") else 0.6), place, word

    def of(self, check: Place) -> Iterator[tuple[Place, Any]]:
        """Cells and values to try for one check."""
        yield from ((place, better) for _, place, better in self.of_lines)
        known = {place for _, place, _ in self.of_lines}
        follows = self._alone(check)
        for place in follows.cells:
            if place in known or place in self.in_lists:
                continue
            cell = self.context.book.cell(place)
            value = None if cell is None else cell.value
            if place in follows.usual:
                yield place, follows.usual[place]
            if isinstance(value, float):
                yield from ((place, value * scale) for scale in _SCALES)
            elif isinstance(value, str) and (number := number_in(value)) is not None:
                yield place, number  # it is stored as text
            elif value in (None, "") and place in follows.named:
                yield place, _USUAL.get(self.context.labels.role(place), "x")
            if place in follows.named and not isinstance(value, float):
                yield from ((place, word) for word in follows.words if word != value)

    def _alone(self, check: Place) -> _Follows:
        """What a check follows from cell by cell, with the cells of ranges that stand out."""
        context, labels = self.context, self.context.labels
        found, words = _Follows(), dict[str, None]()
        seen, waiting = {check}, [check]
        while waiting:
            cell = context.book.cell(place := waiting.pop(0))
            own = labels.line_of(place) == labels.line_of(check)
            if cell is None or cell.formula is None:
                if not own:
                    found.cells.append(place)
                continue
            if own and cell.tree is not None:
                literals = (n.value for n in walk(cell.tree) if isinstance(n, Literal))
                words.update(dict.fromkeys(w for w in literals if isinstance(w, str)))
            for area in context.values.areas_of(cell):
                if area[1:3] == area[3:]:
                    taken = [area[:3]]
                    if own:
                        found.named.update(taken)
                elif len(found.usual) < _MOST_CHECKS:
                    standing_out = self._standing_out(area)
                    found.usual.update(standing_out)
                    taken = list(standing_out)
                else:
                    continue
                new = [one for one in taken if one not in seen]
                seen.update(new)
                waiting += new
        held = (context.value(place) for place in found.named)
        words.update(dict.fromkeys(text for text in held if isinstance(text, str)))
        verdicts = {"", *PASSED, *SEVERITY_OF}
        known = [word for word in words if word.lower() not in verdicts and len(word) < _LONG]
        found.words = known[:_MOST_CHECKS]
        return found

    def _standing_out(self, area: Area) -> dict[Place, Any]:
        """Cells of a range in error or with a text that the others have not -> what these have."""
        cells = list(self.context.values.cells_in(area))
        shown = [(cell.place, self.context.value(cell.place)) for cell in cells]
        errors = [place for place, value in shown if is_error(value)]
        if errors:
            return dict.fromkeys(errors[:_FLAGGED])
        held = [value for _, value in shown if value not in (None, "")]
        numbers = [value for value in held if isinstance(value, float)]
        usual: Any = ""
        if 2 * len(numbers) > len(held):
            usual = median(numbers)
        elif 2 * len(held) > len(shown):
            usual, count = Counter(map(str, held)).most_common(1)[0]
            if 2 * count <= len(held):
                return {}  # names, each another one
        unlike = [p for p, value in shown if isinstance(value, str) and value not in ("", usual)]
        return dict.fromkeys(unlike[:_FLAGGED], usual if usual != "" else None)


def causes_of(context: Context, failing: Iterable[Place]) -> list[Cause]:
    """The inputs with which some checks fail, or some cells are an error.

    A check that no single input makes pass is in none of them.
    """
    left = list(failing)
    causes: list[Cause] = []
    if not left:
        return causes
    tryer = _Tryer(context, left)
    inputs = _Inputs(context, tryer)
    for _ in range(min(_MOST_CHECKS, len(left))):
        if not left:
            break
        check = left.pop(0)
        for tried, (place, better) in enumerate(inputs.of(check)):
            if tried >= _MOST_TRIED:
                break
            if tryer.passes(check, place, better):
                cell: Cell | None = context.book.cell(place)
                value = None if cell is None else cell.value
                also = [other for other in left if tryer.passes(other, place, better)]
                left = [other for other in left if other not in also]
                causes.append(Cause(place, value, better, [check, *also]))
                break
    return causes
