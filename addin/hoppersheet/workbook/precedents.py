"""Which cell of a workbook follows from which, through ranges; every range is looked at once.

precedents = Precedents(evaluator)
precedents.inputs_of(cell)          # what a cell follows from
precedents.followers([place])       # what follows from a cell
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from functools import cached_property

from .book import Book, Cell
from .evaluator import Area, Evaluator
from .formulas import Place

__all__ = ["Precedents"]

#: Cells that are taken together: those that a formula names one by one, or a range.
_Group = tuple[Cell, ...]
_LOW = 20  # rows of a range that is kept beside those of its rows
_NARROW = 50  # columns of one that is kept beside those of its columns


class _Range:
    """A range and the formulas that take it."""

    __slots__ = ("bottom", "left", "right", "takers", "top")

    def __init__(self, area: Area) -> None:
        _, self.top, self.left, self.bottom, self.right = area
        self.takers: list[Cell] = []


class _Takers:
    """Who takes each cell: by itself, or in a range."""

    def __init__(self, values: Evaluator) -> None:
        self.single: dict[Place, list[Cell]] = {}
        self._in_rows: dict[tuple[str, int], list[_Range]] = {}
        self._in_columns: dict[tuple[str, int], list[_Range]] = {}
        self._large: dict[str, list[_Range]] = {}
        ranges: dict[Area, _Range] = {}
        for cell in values.book.formulas():
            for area in values.areas_of(cell):
                if area[1:3] == area[3:]:
                    self.single.setdefault(area[:3], []).append(cell)
                    continue
                found = ranges.get(area)
                if found is None:
                    found = ranges[area] = _Range(area)
                    self._keep(area[0], found)
                found.takers.append(cell)

    def _keep(self, sheet: str, kept: _Range) -> None:
        if kept.bottom - kept.top < _LOW:
            for row in range(kept.top, kept.bottom + 1):
                self._in_rows.setdefault((sheet, row), []).append(kept)
        elif kept.right - kept.left < _NARROW:
            for column in range(kept.left, kept.right + 1):
                self._in_columns.setdefault((sheet, column), []).append(kept)
        else:
            self._large.setdefault(sheet, []).append(kept)

    def ranges_at(self, place: Place) -> Iterator[_Range]:
        """The ranges that a cell is in."""
        sheet, row, column = place
        for found in (
            *self._in_rows.get((sheet, row), ()),
            *self._in_columns.get((sheet, column), ()),
            *self._large.get(sheet, ()),
        ):
            if found.top <= row <= found.bottom and found.left <= column <= found.right:
                yield found


class Precedents:
    """Which cell of a workbook follows from which.

    Args:
        values: what knows the ranges that a formula refers to, which must change no more.
    """

    def __init__(self, values: Evaluator) -> None:
        self.values = values
        self.book: Book = values.book
        self._groups: dict[Cell, tuple[_Group, ...]] = {}
        self._ranges: dict[Area, _Group] = {}

    def groups_of(self, cell: Cell) -> tuple[_Group, ...]:
        """The cells that a formula takes, in the order in which it names them."""
        found = self._groups.get(cell)
        if found is None:
            found = self._groups[cell] = tuple(self._find_groups(cell))
        return found

    def _find_groups(self, cell: Cell) -> Iterator[_Group]:
        singles: list[Cell] = []
        for area in self.values.areas_of(cell):
            if area[1:3] == area[3:]:
                singles += self.values.cells_in(area)
                continue
            if singles:
                yield tuple(singles)
                singles = []
            group = self._ranges.get(area)
            if group is None:
                group = self._ranges[area] = tuple(self.values.cells_in(area))
            yield group
        if singles:
            yield tuple(singles)

    def inputs_of(self, cell: Cell, limit: int = 400) -> tuple[list[Cell], set[Place]] | None:
        """(typed cells, cells with formulas) that a cell follows from; None where too many."""
        typed: list[Cell] = []
        calculated: set[Place] = set()
        done: set[int] = set()
        seen, waiting = {cell}, [cell]
        while waiting:
            current = waiting.pop()
            if current.formula is None and not current.spill:
                typed.append(current)
                continue
            calculated.add(current.place)
            if len(seen) > limit:
                return None
            for group in self.groups_of(current):
                if id(group) in done:
                    continue
                done.add(id(group))
                new = [taken for taken in group if taken not in seen]
                seen.update(new)
                waiting += new
        return typed, calculated

    def taken_by(self, begin: Iterable[Place]) -> Iterator[Cell]:
        """Every cell that these cells follow from, once; one of them where another takes it."""
        seen: set[Cell] = set()
        done: set[int] = set()
        waiting = [cell for cell in map(self.book.cell, begin) if cell is not None]
        while waiting:
            for group in self.groups_of(waiting.pop()):
                if id(group) in done:
                    continue
                done.add(id(group))
                for taken in group:
                    if taken not in seen:
                        seen.add(taken)
                        yield taken
                        if taken.formula is not None:
                            waiting.append(taken)

    @cached_property
    def _takers(self) -> _Takers:
        return _Takers(self.values)

    def followers(self, begin: Iterable[Place], within: Set[Place] | None = None) -> set[Place]:
        """These cells and all with formulas that follow from them.

        Args:
            within: formulas that are looked at; None: all.
        """
        takers, cells = self._takers, self.book.sheets
        found: set[Place] = set()
        done: set[int] = set()
        waiting = list(begin)
        while waiting:
            place = waiting.pop()
            if place in found:
                continue
            found.add(place)
            sheet, row, column = place
            cell = cells[sheet].cells.get((row, column))
            if cell is not None and cell.array:
                top, left, bottom, right = cell.filled
                waiting += [
                    (sheet, r, c) for r in range(top, bottom + 1) for c in range(left, right + 1)
                ]
            groups = [takers.single.get(place, [])]
            for taken in takers.ranges_at(place):
                if id(taken) not in done:
                    done.add(id(taken))
                    groups.append(taken.takers)
            for group in groups:
                waiting += [
                    taker.place for taker in group if within is None or taker.place in within
                ]
        return found

    @cached_property
    def in_order(self) -> tuple[list[Cell], bool]:
        """(formulas, each behind those that it takes; whether some follow from themselves).

        In a circle some formula stands before one that it takes.
        """
        order: list[Cell] = []
        circular = False
        opened: set[int] = set()  # cells and ranges
        closed: set[int] = set()
        for start in self.book.formulas():
            if id(start) in opened:
                continue
            opened.add(id(start))
            # a formula with the groups that it takes, or a group with its cells
            waiting: list[tuple[Cell | _Group, Iterator[Cell | _Group]]] = [
                (start, iter(self.groups_of(start)))
            ]
            while waiting:
                current, parts = waiting[-1]
                for part in parts:
                    if isinstance(part, Cell) and part.formula is None:
                        continue
                    if id(part) not in opened:
                        opened.add(id(part))
                        inner = self.groups_of(part) if isinstance(part, Cell) else part
                        waiting.append((part, iter(inner)))
                        break
                    circular |= id(part) not in closed
                else:
                    waiting.pop()
                    closed.add(id(current))
                    if isinstance(current, Cell):
                        order.append(current)
        return order, circular

    @cached_property
    def positions(self) -> tuple[dict[Place, int], bool]:
        """(formula -> its position in the order of working out, whether there is a circle)."""
        order, circular = self.in_order
        return {cell.place: at for at, cell in enumerate(order)}, circular

    def marked_behind(self, marked: Iterable[Place]) -> dict[Place, int]:
        """Formula -> which of some cells it follows from, itself among them.

        Args:
            marked: the cells; bit 0 stands for the first of them, and so on.
        """
        cells = (self.book.cell(place) for place in marked)
        bits = {cell: 1 << at for at, cell in enumerate(cells) if cell is not None}
        found: dict[Cell, int] = dict(bits)
        order, circular = self.in_order
        changed = True
        while changed:
            changed = False
            of_group: dict[int, int] = {}
            for cell in order:
                mask = bits.get(cell, 0)
                for group in self.groups_of(cell):
                    known = of_group.get(id(group))
                    if known is None:
                        known = 0
                        for taken in group:
                            known |= found.get(taken, 0)
                        of_group[id(group)] = known
                    mask |= known
                if mask != found.get(cell, 0):
                    found[cell] = mask
                    changed = circular  # once more round the circle
        return {cell.place: mask for cell, mask in found.items()}
