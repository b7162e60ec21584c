"""Evaluates the tree of a formula; our functions are called in the core."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ...call import call
from ...cells.values import OMITTED, is_error
from ...errors import CellError
from ..book import Book, Cell
from ..formulas import (
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
    let_body,
)
from .functions import NATIVES, SEES_ERRORS, TAKES_RANGES, VOLATILE
from .operators import binary, each, unary
from .values import FormulaError, Unknown, number, scalar, truth

__all__ = ["Area", "Reader", "SizingCall"]

#: How many arguments the functions handled here need; a foreign file may hold any formula.
_LEAST = {"IF": 2, "IFERROR": 1, "IFNA": 1, "CHOOSE": 2}

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


class Reader:
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
                table = isinstance(cell.tree, Call) and cell.tree.sizes
                # a table in a cell of its own shows its first value
                value = value[0][0] if table else scalar(value)
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
        """The cells that ``Table``, ``Table[Column]``, ``Table[@Column]`` ... means, or None."""
        name, bracket, inside = written.partition("[")
        table = self.book.tables.get(name.lower())
        return None if table is None else table.area(inside[:-1] if bracket else "", place[1])

    def _called(self, node: Call, place: Place) -> Any:
        name, arguments = node.name, node.arguments
        if node.sizes:
            return self._sized(node, place)
        if len(arguments) < _LEAST.get(name, 0):
            raise Unknown(f"{name} with {len(arguments)} arguments")
        if name == "IF":
            chosen = truth(self.evaluate(arguments[0], place))
            if not chosen and len(arguments) < 3:
                return False
            value = self.evaluate(arguments[1 if chosen else 2], place)
            return 0.0 if value is None else value
        if name in ("IFERROR", "IFNA"):
            return self._guarded(node, place)
        if name == "LET":
            body = let_body(node)
            if body is None:
                raise Unknown("LET with these arguments")
            return self.evaluate(body, place)
        if name == "CHOOSE":
            at = number(self.evaluate(arguments[0], place))
            if not 1 <= at < len(arguments):
                raise FormulaError("#VALUE!")
            return self.evaluate(arguments[int(at)], place)
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
