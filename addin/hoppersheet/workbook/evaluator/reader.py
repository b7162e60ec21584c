"""Evaluates the tree of a formula; our functions are called in the core."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from ...call import call
from ...cells.values import OMITTED
from ...errors import SHEET_ERRORS, CellError
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
    Unparsed,
    Word,
)
from ..sheet_cells import ErrorText
from .functions import NATIVES, VOLATILE, Native
from .functions.native import CONVERT, RANGE, RANGE_WORKED_OUT
from .operators import binary, each, unary
from .references import Area, Scope, local_name, what_is_not_understood
from .special import SPECIALS, Evaluation, applied
from .values import FormulaError, Unknown, number

__all__ = ["Reader", "SizingCall"]


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


class Reader(Evaluation):
    """Evaluates trees; where values of cells come from is the subclass's business."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.calls: list[SizingCall] | None = None
        self._cell: Cell | None = None

    def cell_value(self, place: Place) -> Any:
        """The value of one cell."""
        raise NotImplementedError

    def formula_value(self, cell: Cell) -> Any:
        """The value of a cell's formula; a list of rows for an array formula."""
        assert cell.tree is not None
        outer, self._cell = self._cell, cell
        scope = Scope(cell.place, bool(cell.array))
        try:
            value = self.operand(cell.tree, scope)
        except FormulaError as problem:
            value = problem.code
        finally:
            self._cell = outer
        if isinstance(value, list) and not cell.array:
            value = value[0][0]  # a table in a cell of its own shows its first value
        return 0.0 if value is None else value

    def evaluate(self, node: Node, place: Place) -> Any:
        """The value of a tree for a formula in ``place``."""
        return self.value(node, Scope(place))

    # -- trees

    def value(self, node: Node, scope: Scope) -> Any:
        """The value of a tree; a list of rows for a range."""
        if isinstance(node, Reference):
            return self._referred(node, scope)
        if isinstance(node, Literal):
            return node.value
        if isinstance(node, Call):
            return self._called(node, scope)
        if isinstance(node, Binary):
            if node.operator == ":":
                return self._cells(self.area(node, scope))
            left = self.operand(node.left, scope)
            return binary(node.operator, left, self.operand(node.right, scope))
        if isinstance(node, Word):
            return self._worded(node, scope)
        if isinstance(node, Unary):
            return unary(node.sign, self.operand(node.operand, scope))
        if isinstance(node, Percent):
            return each(lambda x: number(x) / 100, self.operand(node.operand, scope))
        if isinstance(node, Array):
            return [list(row) for row in node.rows]
        if isinstance(node, Unparsed):
            raise Unknown(what_is_not_understood(node.text))
        return None  # an argument left out

    def _referred(self, node: Reference, scope: Scope) -> Any:
        return self._cells(self.area(node, scope))

    def _cells(self, area: Area | None) -> Any:
        if area is None:
            raise Unknown("a range between what are no cells")
        if area[1:3] == area[3:]:
            return self.cell_value(area[:3])
        return self.area_values(area)

    def _worded(self, node: Word, scope: Scope) -> Any:
        key = local_name(node.text)
        if key in scope.local:
            return scope.local[key]
        named = self.named(node.text, scope.place)
        if named is not None:
            return self.value(named, scope.called({}))
        area = self.table_area(node.text, scope.place)
        if area is None:
            raise Unknown(f"{node.text[:60]} is not a name of this workbook")
        return self._cells(area)

    def operand(self, node: Node, scope: Scope) -> Any:
        """The value of a tree where one value is expected.

        Outside of array formulas that is the one cell of a range in the formula's own row or
        column (implicit intersection).
        """
        if (
            scope.arrays
            or isinstance(node, Literal)
            or (isinstance(node, Reference) and node.single)
        ):
            return self.value(node, scope)
        ranged = isinstance(node, Binary) and node.operator == ":"
        if ranged or isinstance(node, (Reference, Word)):
            area = self.area(node, scope)
            if area is not None:
                return self._crossing(area, scope.place)
        return self.value(node, scope)

    def _crossing(self, area: Area, place: Place) -> Any:
        sheet, r1, c1, r2, c2 = area
        if r1 == r2 and c1 == c2:
            return self.cell_value((sheet, r1, c1))
        if c1 == c2 and r1 <= place[1] <= r2:
            return self.cell_value((sheet, place[1], c1))
        if r1 == r2 and c1 <= place[2] <= c2:
            return self.cell_value((sheet, r1, place[2]))
        raise FormulaError("#VALUE!")

    def range_value(self, node: Node, scope: Scope) -> Any:
        """The value of a tree where a range is expected: rows, or a value of its own."""
        area = self.area(node, scope)
        return self.value(node, scope) if area is None else self.area_values(area)

    def caught(self, node: Node, scope: Scope) -> Any:
        """The value of a tree; an error as a value."""
        try:
            return self.operand(node, scope)
        except FormulaError as problem:
            return problem.code

    # -- calls

    def _called(self, node: Call, scope: Scope) -> Any:
        name = node.name
        if node.sizes:
            return self._sized(node, scope)
        special = SPECIALS.get(name)
        if special is not None:
            return special(self, node, scope)
        if name in ("INDEX", "OFFSET", "INDIRECT", "ANCHORARRAY"):
            area = self.area(node, scope)
            if area is not None:
                if scope.arrays or area[1:3] == area[3:]:
                    return self._cells(area)
                return self._crossing(area, scope.place)
        native = NATIVES.get(name)
        if native is not None:
            return self._native(node, native, scope)
        if name in VOLATILE:
            raise Unknown(f"{name}, which gives another value at every calculation")
        own = self.named(node.written, scope.place)
        if isinstance(own, Call) and own.name == "LAMBDA" and own.arguments:
            return applied(self, own, node, scope)
        raise Unknown(f"the function {name}")

    def _native(self, node: Call, native: Native, scope: Scope) -> Any:
        arguments = node.arguments
        if len(arguments) < native.least or (arguments and not native.kind(len(arguments) - 1)):
            raise Unknown(f"{node.name} with {len(arguments)} arguments")
        inner = scope.with_arrays() if native.arrays else scope
        kinds = [native.kind(at) for at in range(len(arguments))]
        given: list[Any] = []
        for kind, argument in zip(kinds, arguments, strict=True):
            if isinstance(argument, Omitted):
                given.append(None)
            elif kind == RANGE:
                given.append(self._range_or_error(argument, inner))
            elif kind == RANGE_WORKED_OUT:
                given.append(self._range_or_error(argument, scope.with_arrays()))
            elif kind == "e":
                given.append(self.caught(argument, inner))
            else:
                given.append(self.operand(argument, inner))
        single = [at for at, kind in enumerate(kinds) if kind not in (RANGE, RANGE_WORKED_OUT)]

        def work(*values: Any) -> Any:
            ready = list(given)
            for at, value in zip(single, values, strict=True):
                ready[at] = CONVERT[kinds[at]](value)
            return _result(native.work(*ready))

        try:
            return each(work, *(given[at] for at in single))
        except OverflowError:
            raise FormulaError("#NUM!") from None
        except (TypeError, ValueError, IndexError, ZeroDivisionError, AttributeError) as problem:
            raise Unknown(
                f"{node.name} with these arguments ({type(problem).__name__})"
            ) from problem

    def _range_or_error(self, node: Node, scope: Scope) -> Any:
        try:
            return self.range_value(node, scope)
        except FormulaError as problem:
            return problem.code

    def calls_made(self) -> int:
        """How many calls of our functions were made so far."""
        return 0 if self.calls is None else len(self.calls)

    def hide_errors_since(self, made: int) -> None:
        """The errors of our functions' calls since then do not reach the cell."""
        for one in (self.calls or [])[made:]:
            one.hidden = one.error is not None or one.hidden

    def _sized(self, node: Call, scope: Scope) -> Any:
        values: list[Any] = []
        inner = scope.with_arrays()
        for argument in node.arguments:
            if isinstance(argument, Omitted):
                values.append(OMITTED)
                continue
            try:
                values.append(self.value(argument, inner))
            except FormulaError as problem:
                values.append(problem.code)
        result, error = None, None
        try:
            result = call(node.name, *values)
        except CellError as problem:
            error = problem
        if self.calls is not None and self._cell is not None:
            made = SizingCall(self._cell, node, scope.place, tuple(values), result, error)
            self.calls.append(made)
        if error is not None:
            raise FormulaError(error.code, error)
        if isinstance(result, list):
            return [[_with_errors(cell) for cell in row] for row in result]
        return result


def _with_errors(cell: Any) -> Any:
    """A cell of a table of ours, which gives errors as texts."""
    return ErrorText(cell) if isinstance(cell, str) and cell in SHEET_ERRORS else cell


def _result(value: Any) -> Any:
    """What a function gave, as a cell value."""
    if type(value) is float and not math.isfinite(value):
        raise FormulaError("#NUM!")
    return float(value) if type(value) is int else value
