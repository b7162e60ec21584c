"""The values of a workbook's cells, as they are and as they would be."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from ..book import Book, Cell
from ..formulas import Place, Reference, Word, address
from .reader import Area, Reader, SizingCall
from .values import Unknown

__all__ = ["Evaluator", "WhatIf"]


class Evaluator(Reader):
    """The values of a workbook's cells.

    Args:
        book: the workbook.
        fresh: values that a spreadsheet program has just calculated, by place; without them
            every formula is calculated here.
    """

    def __init__(self, book: Book, fresh: Mapping[Place, Any] | None = None) -> None:
        super().__init__(book)
        self.fresh = fresh
        #: what calculated the values
        self.engine = ""
        self.values: dict[Place, Any] = {}
        #: formulas that could not be calculated here, with the reason; the stored value is used
        self.unknown: dict[Place, str] = {}
        self._areas: dict[Area, list[list[Any]]] = {}
        self.values.update(fresh or {})
        for cell in book.cells():
            if cell.formula is None and not cell.spill:
                self.values[cell.place] = cell.value
            elif fresh is not None:
                self.values[cell.place] = fresh.get(cell.place, cell.value)

    def calculate(self, tick: Callable[[], None] = lambda: None) -> None:
        """Work out every formula that has no fresh value, inputs before what follows from them."""
        for cell in self.book.formulas():
            self._settle(cell)
            tick()

    def _settle(self, wanted: Cell) -> None:
        waiting, begun = [wanted], set()
        while waiting:
            cell = waiting[-1]
            if cell.place in self.values:
                waiting.pop()
                continue
            if cell.place not in begun:
                begun.add(cell.place)
                needed = [
                    c
                    for c in self.needed_by(cell)
                    if c.place not in self.values and c.place not in begun
                ]
                if needed:
                    waiting.extend(needed)
                    continue
            waiting.pop()
            self._calculate(cell)

    def _calculate(self, cell: Cell) -> None:
        if cell.tree is None:  # filled by an array formula that could not be calculated
            self.values[cell.place] = cell.value
            return
        try:
            value = self.formula_value(cell)
        except (Unknown, RecursionError) as problem:
            self.unknown[cell.place] = str(problem)
            value = cell.value
        if isinstance(value, list):
            sheet, row, column = cell.place
            # An array formula also fills cells that the file need not list.
            _, _, last_row, last_column = cell.filled
            for r, line in enumerate(value[: last_row - row + 1]):
                for c, item in enumerate(line[: last_column - column + 1]):
                    self.values[sheet, row + r, column + c] = item
            value = value[0][0]
        self.values[cell.place] = value

    def needed_by(self, cell: Cell) -> Iterator[Cell]:
        """Cells with formulas that the cell's formula refers to."""
        if cell.spill:
            sheet = self.book.sheets[cell.place[0]]
            anchor = next((c for c in sheet.cells.values() if c.array and _covers(c, cell)), None)
            if anchor is not None:
                yield anchor
            return
        for area in self.areas_of(cell):
            if area in self._areas:
                continue
            for found in self.cells_in(area):
                if found.formula is not None or found.spill:
                    yield found

    def areas_of(self, cell: Cell) -> Iterator[Area]:
        """The ranges that a cell's formula refers to, through defined names and tables too."""
        if cell.tree is None:
            return
        for node in self.book.nodes(cell.tree):
            area: Area | None = None
            if isinstance(node, Reference):
                area = node.at(cell.place)
                sheet = self.book.sheet_of(area[0])
                area = None if sheet is None else (sheet, *area[1:])
            elif isinstance(node, Word):
                area = self.table_area(node.text, cell.place)
            if area is not None:
                yield area

    def cells_in(self, area: Area) -> Iterator[Cell]:
        """The filled cells of a range."""
        sheet = self.book.sheets[area[0]]
        if area[1:3] == area[3:]:
            cell = sheet.cells.get((area[1], area[2]))
            if cell is not None:
                yield cell
            return
        last_row, last_column = min(area[3], sheet.max_row), min(area[4], sheet.max_column)
        for row in range(area[1], last_row + 1):
            for column in range(area[2], last_column + 1):
                cell = sheet.cells.get((row, column))
                if cell is not None:
                    yield cell

    # -- values

    def cell_value(self, place: Place) -> Any:
        """The value of one cell; None for an empty one."""
        if place in self.values:
            return self.values[place]
        cell = self.book.cell(place)
        if cell is None:
            return None
        if cell.formula is None and not cell.spill:
            return cell.value
        raise Unknown("the formula refers to itself")

    def area_values(self, area: Area) -> list[list[Any]]:
        """The values of a range, cut to the part of the sheet that is in use."""
        found = self._areas.get(area)
        if found is None:
            sheet, r1, c1, r2, c2 = area
            used = self.book.sheets[sheet]
            r2 = min(r2, max(used.max_row, r1)) if r2 > 100_000 else r2
            c2 = min(c2, max(used.max_column, c1)) if c2 > 1_000 else c2
            found = self._areas[area] = [
                [self.cell_value((sheet, r, c)) for c in range(c1, c2 + 1)]
                for r in range(r1, r2 + 1)
            ]
        return found

    def calls_in(self, cell: Cell) -> list[SizingCall]:
        """Every call that the cell's formula really makes, inner ones first, made by the core.

        Raises:
            Unknown: the formula holds something that cannot be evaluated here.
        """
        self.calls = []
        try:
            self.formula_value(cell)
            return self.calls
        finally:
            self.calls = None

    def inputs_of(self, cell: Cell, limit: int = 400) -> tuple[list[Cell], set[Place]] | None:
        """(typed cells, cells with formulas) that a cell follows from; None where too many."""
        typed: list[Cell] = []
        calculated: set[Place] = set()
        seen, waiting = {cell.place}, [cell]
        while waiting:
            current = waiting.pop()
            if current.formula is None and not current.spill:
                typed.append(current)
                continue
            calculated.add(current.place)
            if len(seen) > limit:
                return None
            for area in self.areas_of(current):
                for found in self.cells_in(area):
                    if found.place not in seen:
                        seen.add(found.place)
                        waiting.append(found)
        return typed, calculated


def _covers(anchor: Cell, cell: Cell) -> bool:
    return cell.spill == address(*anchor.place[1:])


class WhatIf(Reader):
    """The values of cells if some inputs were different.

    Args:
        base: the values as they are.
        instead: place -> value to take there.
        affected: cells with formulas that may change; all others keep their value.
    """

    def __init__(self, base: Evaluator, instead: Mapping[Place, Any], affected: set[Place]) -> None:
        super().__init__(base.book)
        self.base = base
        self.affected = affected
        self.values: dict[Place, Any] = dict(instead)
        self._begun: set[Place] = set()

    def cell_value(self, place: Place) -> Any:
        """The value of one cell under these conditions."""
        if place in self.values:
            return self.values[place]
        cell = self.book.cell(place) if place in self.affected else None
        if cell is None or cell.tree is None:
            return self.base.cell_value(place)
        if place in self._begun:
            raise Unknown("the formula refers to itself")
        self._begun.add(place)
        value = self.formula_value(cell)
        if isinstance(value, list):
            value = value[0][0]
        self.values[place] = value
        return value

    def area_values(self, area: Area) -> list[list[Any]]:
        """The values of a range under these conditions."""
        sheet, r1, c1, r2, c2 = area
        touched = [
            p
            for places in (self.affected, self.values)
            for p in places
            if p[0] == sheet and r1 <= p[1] <= r2 and c1 <= p[2] <= c2
        ]
        rows = self.base.area_values(area)
        if touched:
            rows = [list(row) for row in rows]
            for place in touched:
                if place[1] - r1 < len(rows) and place[2] - c1 < len(rows[0]):
                    rows[place[1] - r1][place[2] - c1] = self.cell_value(place)
        return rows
