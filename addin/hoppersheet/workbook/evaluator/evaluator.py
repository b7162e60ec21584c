"""The values of a workbook's cells, as they are."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from ..book import Book, Cell
from ..formulas import Binary, Call, Node, Place, Reference, Word
from ..sheet_cells import ErrorText
from .on_demand import OnDemand
from .operators import each
from .reader import SizingCall
from .references import Area, Cut, Scope
from .values import FormulaError, Unknown

__all__ = ["Evaluator"]

#: A range that goes further than this is one of whole rows or columns: it is read as far as
#: anything in the workbook is filled.
_LONG, _WIDE = 100_000, 1_000
#: Functions that give cells which the formula does not name itself.
_ELSEWHERE = ("OFFSET", "INDIRECT")
#: What stands for a value that is not known yet.
_NOT_YET = object()


def without_value(cell: Cell, why: str) -> Any:
    """What stands for a formula that could not be calculated: its stored value.

    Where nothing is stored it is an error, so that nothing follows from a blank by mistake.
    """
    if cell.value is not None:
        return cell.value
    return ErrorText("#NAME?" if why.startswith("the function ") else "#N/A")


class Evaluator(OnDemand):
    """The values of a workbook's cells.

    Args:
        book: the workbook.
        fresh: values that a spreadsheet program has just calculated, by place; without them
            every formula is calculated here.

    Attributes:
        engine: what calculated the values.
        unknown: formulas that could not be calculated here, with the reason; the stored value is
            used.
    """

    def __init__(self, book: Book, fresh: Mapping[Place, Any] | None = None) -> None:
        super().__init__(book)
        self.fresh = fresh
        self.engine = ""
        #: keep the calls of our functions that a calculation makes, for :meth:`calls_in`
        self.keeps_calls = False
        self._made: dict[Place, list[SizingCall]] = {}
        self.unknown: dict[Place, str] = {}
        self._areas: dict[Area, list[list[Any]]] = {}
        self._cells_of: dict[Area, tuple[Cell, ...]] = {}
        self._areas_of: dict[Place, tuple[Area, ...]] = {}
        #: (sheet, relative form) -> the parts of it that name cells
        self._nodes_of: dict[tuple[str, str], tuple[Node, ...]] = {}
        #: all is calculated: what OFFSET and the like mean changes no more
        self._all_known = False
        self._last_row = max((s.max_row for s in book.sheets.values()), default=1)
        self._last_column = max((s.max_column for s in book.sheets.values()), default=1)
        self.values.update(fresh or {})
        for cell in book.cells():
            if cell.formula is None and not cell.spill:
                self.values[cell.place] = cell.value
            elif fresh is not None:
                self.values[cell.place] = fresh.get(cell.place, cell.value)

    def calculate(self, tick: Callable[[], None] = lambda: None) -> None:
        """Work out every formula that has no fresh value."""
        for cell in self.book.formulas():
            self.settle(cell)
            tick()
        self._all_known = True

    def settled(self, place: Place) -> str:
        """Work out one cell and all it follows from; why that cannot be done, or ""."""
        cell = self.book.cell(place)
        if cell is None:
            return ""
        self.cell_value(place)
        seen, waiting = {place}, [cell]
        while waiting:
            current = waiting.pop()
            if current.place in self.unknown:
                return self.unknown[current.place]
            for needed in self.needed_by(current):
                if needed.place not in seen:
                    seen.add(needed.place)
                    waiting.append(needed)
        return ""

    def calculated(self, cell: Cell) -> Any:
        """The value of a cell's formula, of an array formula that of its first cell."""
        outer, self.calls = self.calls, [] if self.keeps_calls and cell.sizes else None
        try:
            value = self.formula_value(cell)
            if self.calls is not None:
                self._made[cell.place] = self.calls
        finally:
            self.calls = outer
        return self._filled(cell, value) if cell.array else value

    def refused(self, cell: Cell, why: str) -> None:
        """Keep a cell's stored value and note why."""
        self.unknown[cell.place] = why
        self.values[cell.place] = without_value(cell, why)

    def _filled(self, cell: Cell, value: Any) -> Any:
        """Lay an array formula's result into its range; the value of its first cell."""
        sheet, row, column = cell.place
        top, left, bottom, right = cell.filled
        shape = [[None] * (right - left + 1) for _ in range(bottom - top + 1)]
        rows = value if isinstance(value, list) else [[value]]
        if cell.dynamic and (len(rows), len(rows[0])) != (len(shape), len(shape[0])):
            raise Unknown(
                f"a result of {len(rows)} by {len(rows[0])} cells, which no longer fills "
                f"{cell.array}"
            )
        # A single row or column goes with each of the range's; what is too small leaves #N/A.
        laid = each(lambda found, _: 0.0 if found is None else found, value, shape)
        for down, line in enumerate(laid[: len(shape)]):
            for across, item in enumerate(line[: len(shape[0])]):
                # these cells need not be listed in the file
                self.values[sheet, top + down, left + across] = item
        return laid[row - top][column - left]

    def needed_by(self, cell: Cell) -> Iterator[Cell]:
        """Cells with formulas that the cell's formula refers to."""
        if cell.spill:
            anchor = self.book.sheets[cell.place[0]].anchors.get(cell.spill)
            if anchor is not None:
                yield anchor
            return
        for area in self.areas_of(cell):
            for found in self.cells_in(area):
                if found.formula is not None or found.spill:
                    yield found
            # an array formula also fills cells that the file does not list
            for anchor in self.book.sheets[area[0]].anchors.values():
                if _meet(anchor.filled, area[1:]):
                    yield anchor

    def areas_of(self, cell: Cell) -> tuple[Area, ...]:
        """The ranges that a cell's formula refers to, through defined names and tables too.

        Those of OFFSET, INDIRECT and of ranges between functions are the ones they mean now.
        """
        if cell.tree is None:
            return ()
        found = self._areas_of.get(cell.place)
        if found is None:
            nodes = self._nodes_of.get((cell.place[0], cell.form))
            if nodes is None:
                nodes = tuple(filter(_names_cells, self.book.nodes(cell.tree)))
                self._nodes_of[cell.place[0], cell.form] = nodes
            found = tuple(dict.fromkeys(self._find_areas(cell, nodes)))
            known = self._all_known or not any(isinstance(n, (Call, Binary)) for n in nodes)
            if known:
                self._areas_of[cell.place] = found
        return found

    def _find_areas(self, cell: Cell, nodes: Iterable[Node]) -> Iterator[Area]:
        for node in nodes:
            if isinstance(node, Reference):
                area = node.at(cell.place)
                sheet = self.book.sheet_of(area[0])
                if sheet is not None:
                    yield (sheet, *area[1:])
            elif isinstance(node, Word):
                found = self.table_area(node.text, cell.place)
                if found is not None:
                    yield found
            else:
                try:
                    found = self.area(node, Scope(cell.place, bool(cell.array)))
                except (Unknown, FormulaError, RecursionError):
                    continue
                if found is not None:
                    yield found

    def cells_in(self, area: Area) -> Iterator[Cell]:
        """The filled cells of a range."""
        sheet = self.book.sheets[area[0]]
        if area[1:3] == area[3:]:
            cell = sheet.cells.get((area[1], area[2]))
            if cell is not None:
                yield cell
            return
        found = self._cells_of.get(area)
        if found is None:
            last_row, last_column = min(area[3], sheet.max_row), min(area[4], sheet.max_column)
            found = self._cells_of[area] = tuple(
                cell
                for row in range(area[1], last_row + 1)
                for column in range(area[2], last_column + 1)
                if (cell := sheet.cells.get((row, column))) is not None
            )
        yield from found

    # -- values

    def cell_value(self, place: Place) -> Any:
        """The value of one cell; None for an empty one."""
        value = self.values.get(place, _NOT_YET)
        if value is not _NOT_YET:
            return value
        cell = self.book.cell(place)
        if cell is not None and cell.formula is not None:
            self.settle(cell)
            return self.values[place]
        anchor = self._filled_by(place)
        if anchor is not None:
            self.settle(anchor)
        if place not in self.values and cell is not None:  # it could not be calculated
            self.values[place] = without_value(cell, "")
        return self.values.get(place)

    def _filled_by(self, place: Place) -> Cell | None:
        """The array formula that fills a cell, which the file need not list."""
        _, row, column = place
        for anchor in self.book.sheets[place[0]].anchors.values():
            top, left, bottom, right = anchor.filled
            if top <= row <= bottom and left <= column <= right:
                return anchor
        return None

    def area_values(self, area: Area) -> list[list[Any]]:
        """The values of a range, cut to the part of the workbook that is in use."""
        found = self._areas.get(area)
        if found is None:
            sheet, r1, c1, r2, c2 = area
            last_row = max(min(r2, self._last_row), r1) if r2 > _LONG else r2
            last_column = max(min(c2, self._last_column), c1) if c2 > _WIDE else c2
            found = Cut(
                [self.cell_value((sheet, r, c)) for c in range(c1, last_column + 1)]
                for r in range(r1, last_row + 1)
            )
            found.missing = (r2 - r1 + 1) * (c2 - c1 + 1) - len(found) * len(found[0])
            self._areas[area] = found
        return found

    def calls_in(self, cell: Cell) -> list[SizingCall]:
        """Every call that the cell's formula really makes, inner ones first, made by the core.

        Raises:
            Unknown: the formula holds something that cannot be evaluated here.
        """
        made = self._made.pop(cell.place, None)
        if made is not None:
            return made
        self.calls = []
        try:
            self.formula_value(cell)
            return self.calls
        finally:
            self.calls = None


def _names_cells(node: Node) -> bool:
    if isinstance(node, Call):
        return node.name in _ELSEWHERE
    if isinstance(node, Binary):
        return node.operator == ":"
    return isinstance(node, (Reference, Word))


def _meet(one: tuple[int, int, int, int], other: tuple[int, int, int, int]) -> bool:
    """Whether two ranges have a cell in common."""
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]
