"""Values of cells, calculated here: our functions by the core, the rest by :mod:`natives`.

:class:`Evaluator` takes the values that a real spreadsheet program has just calculated where there
are such, and works them out itself where there are none. Either way every call of our functions
is made once more by the core (:meth:`Evaluator.calls_in`), and any input can be tried out with
another value (:class:`WhatIf`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from ...call import call
from ...call_values import OMITTED, is_error
from ...errors import CellError
from .book import Book, Cell
from .formulas import (
    Array,
    Binary,
    Call,
    Literal,
    Node,
    Omitted,
    Percent,
    Place,
    Reference,
    Unary,
    Word,
)
from .natives import (
    NATIVES,
    SEES_ERRORS,
    TAKES_RANGES,
    VOLATILE,
    FormulaError,
    Unknown,
    binary,
    each,
    number,
    scalar,
    truth,
    unary,
)

__all__ = ["Area", "Evaluator", "SizingCall", "WhatIf"]

#: (sheet, first row, first column, last row, last column)
Area = tuple[str, int, int, int, int]


@dataclass
class SizingCall:
    """One call of one of our functions, with what it was given and what came out.

    Attributes:
        cell: the cell whose formula makes it.
        node: where in the formula's tree.
        place: the cell its references are relative to.
        values: one raw value per argument.
        result: the value, or None where there is an error.
        error: why there is none.
        hidden: the error does not reach the cell: IFERROR or the like replaces it.
    """

    cell: Cell
    node: Call
    place: Place
    values: tuple[Any, ...]
    result: Any
    error: CellError | None
    hidden: bool = False

    @property
    def name(self) -> str:
        """Name of the function."""
        return self.node.name


class _Reader:
    """Evaluates trees; where values of cells come from is the subclass's business."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.calls: list[SizingCall] | None = None
        self._cell: Cell | None = None

    def cell_value(self, place: Place) -> Any:
        """The value of one cell."""
        raise NotImplementedError

    def area_values(self, area: Area) -> list[list[Any]]:
        """The values of a range."""
        raise NotImplementedError

    def formula_value(self, cell: Cell) -> Any:
        """The value of a cell's formula; a list of rows for an array formula."""
        assert cell.tree is not None
        self._cell = cell
        try:
            value = self.evaluate(cell.tree, cell.place)
            if isinstance(value, list) and not cell.array:
                value = scalar(value)
        except FormulaError as problem:
            value = problem.code
        return 0.0 if value is None else value

    # -- trees

    def evaluate(self, node: Node, place: Place, as_range: bool = False) -> Any:
        """The value of a tree for a formula in ``place``."""
        if isinstance(node, Literal):
            return node.value
        if isinstance(node, Reference):
            return self._referred(node, place, as_range)
        if isinstance(node, Call):
            return self._called(node, place)
        if isinstance(node, Binary):
            left = self.evaluate(node.left, place)
            return binary(node.operator, left, self.evaluate(node.right, place))
        if isinstance(node, Unary):
            return unary(node.sign, self.evaluate(node.operand, place))
        if isinstance(node, Percent):
            return each(lambda x: number(x) / 100, self.evaluate(node.operand, place))
        if isinstance(node, Array):
            return [list(row) for row in node.rows]
        if isinstance(node, Word):
            return self._named(node, place, as_range)
        if isinstance(node, Omitted):
            return None
        raise Unknown(f"{node.text} is not understood")

    def _referred(self, node: Reference, place: Place, as_range: bool) -> Any:
        area = node.at(place)
        sheet = self.book.sheet_of(area[0])
        if sheet is None:
            raise FormulaError("#REF!")
        if node.single and not as_range:
            return self.cell_value((sheet, area[1], area[2]))
        return self.area_values((sheet, *area[1:]))

    def _named(self, node: Word, place: Place, as_range: bool) -> Any:
        key = node.text.lower()
        named = self.book.names.get(f"{place[0].lower()}!{key}", self.book.names.get(key))
        if named is not None:
            value = self.evaluate(named, place, as_range)
            one = isinstance(value, list) and len(value) == 1 and len(value[0]) == 1
            return value[0][0] if one and not as_range else value
        area = self.table_area(node.text, place)
        if area is None:
            raise Unknown(f"{node.text} is not a name of this workbook")
        if area[1:3] == area[3:] and not as_range:
            return self.cell_value((area[0], area[1], area[2]))
        return self.area_values(area)

    def table_area(self, written: str, place: Place) -> Area | None:
        """The cells that ``Table[Column]`` or ``Table[@Column]`` means, or None."""
        name, bracket, inside = written.partition("[")
        table = self.book.tables.get(name.lower())
        if table is None or not bracket:
            return None
        inside = inside[:-1]
        this_row = inside.startswith("@") or "[#this row]" in inside.lower()
        wanted = inside.lstrip("@").replace("[#This Row],", "").strip("[] ")
        lowered = [column.lower() for column in table.columns]
        if wanted.lower() not in lowered:
            return None
        column = table.first_column + lowered.index(wanted.lower())
        if this_row:
            return (table.sheet, place[1], column, place[1], column)
        return (table.sheet, table.first_row, column, table.last_row, column)

    def _called(self, node: Call, place: Place) -> Any:
        name, arguments = node.name, node.arguments
        if node.sizes:
            return self._sized(node, place)
        if name == "IF":
            chosen = truth(self.evaluate(arguments[0], place))
            if not chosen and len(arguments) < 3:
                return False
            value = self.evaluate(arguments[1 if chosen else 2], place)
            return 0.0 if value is None else value
        if name in ("IFERROR", "IFNA"):
            return self._guarded(node, place)
        if name == "CHOOSE":
            at = int(number(self.evaluate(arguments[0], place)))
            if not 1 <= at < len(arguments):
                raise FormulaError("#VALUE!")
            return self.evaluate(arguments[at], place)
        if name in ("ROW", "COLUMN"):
            return self._position(node, place)
        if name in VOLATILE:
            raise Unknown(f"{name} gives another value at every calculation")
        native = NATIVES.get(name)
        if native is None:
            raise Unknown(f"the function {name}")
        ranges = name in TAKES_RANGES
        given = []
        for argument in arguments:
            try:
                value = self.evaluate(argument, place, ranges)
            except FormulaError as problem:
                if name not in SEES_ERRORS:
                    raise
                value = problem.code
            if name not in SEES_ERRORS and is_error(value):
                raise FormulaError(value)
            given.append(value)
        try:
            return native(*given)
        except (TypeError, IndexError, OverflowError, ZeroDivisionError, ValueError):
            raise Unknown(f"{name} with these arguments") from None

    def _position(self, node: Call, place: Place) -> float:
        at = place
        if node.arguments:
            argument = node.arguments[0]
            if not isinstance(argument, Reference):
                raise Unknown(f"{node.name} of a calculated range")
            at = argument.at(place)[:3]
        return float(at[1] if node.name == "ROW" else at[2])

    def _guarded(self, node: Call, place: Place) -> Any:
        before = 0 if self.calls is None else len(self.calls)
        try:
            value = self.evaluate(node.arguments[0], place)
            if not is_error(value):
                return value
            code = value
        except FormulaError as problem:
            code = problem.code
        if node.name == "IFNA" and code != "#N/A":
            raise FormulaError(code)
        for made in (self.calls or [])[before:]:
            made.hidden = made.error is not None or made.hidden
        return self.evaluate(node.arguments[1], place) if len(node.arguments) > 1 else ""

    def _sized(self, node: Call, place: Place) -> Any:
        values: list[Any] = []
        for argument in node.arguments:
            if isinstance(argument, Omitted):
                values.append(OMITTED)
                continue
            try:
                values.append(self.evaluate(argument, place))
            except FormulaError as problem:
                values.append(problem.code)
        result, error = None, None
        try:
            result = call(node.name, *values)
        except CellError as problem:
            error = problem
        if self.calls is not None and self._cell is not None:
            made = SizingCall(self._cell, node, place, tuple(values), result, error)
            self.calls.append(made)
        if error is not None:
            raise FormulaError(error.code, error)
        return result


class Evaluator(_Reader):
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
    from .formulas import address

    return cell.spill == address(*anchor.place[1:])


class WhatIf(_Reader):
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
