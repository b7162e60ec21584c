"""The parts of a formula, ready to be worked out.

A tree says what is written. When a node of it is worked out for the first time it becomes a
:class:`Part` (:func:`ready`), which holds for all copies of the formula what does not depend on
their cells: where a reference goes, which function a call means, how that takes its arguments.
What depends on the cell comes with the :class:`~.references.Scope`, the values of other cells from
the reader. Functions that do not need all of their arguments (:mod:`.special`) make those ready
that they take.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from ...call import call
from ...cells.values import OMITTED
from ...errors import SHEET_ERRORS, CellError
from ..addresses import COLUMNS, ROWS
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
from .operators import OPERATORS, each, over_ranges, unary
from .references import GIVE_CELLS, Area, Scope, local_name, what_is_not_understood
from .special import SPECIALS, applied
from .values import FormulaError, Unknown, number

if TYPE_CHECKING:
    from .reader import Reader

__all__ = ["ROUNDS", "Part", "ready"]

#: Functions that round their first argument.
ROUNDS = frozenset(
    ("ROUND", "ROUNDUP", "ROUNDDOWN", "MROUND", "CEILING", "CEILING.MATH", "CEILING.PRECISE",
     "FLOOR", "FLOOR.MATH", "FLOOR.PRECISE", "INT", "TRUNC", "EVEN", "ODD")
)  # fmt: skip


class Part:
    """One part of a formula."""

    def value(self, reader: Reader, scope: Scope) -> Any:
        """Its value; a list of rows for a range."""
        raise NotImplementedError

    def area(self, reader: Reader, scope: Scope) -> Area | None:
        """The cells that it means; None where it gives a value of its own."""
        return None

    def operand(self, reader: Reader, scope: Scope) -> Any:
        """Its value where one value is expected, see :meth:`_Cells.operand`."""
        return self.value(reader, scope)

    def range_value(self, reader: Reader, scope: Scope) -> Any:
        """Its value where a range is expected: rows, or a value of its own."""
        area = self.area(reader, scope)
        return self.value(reader, scope) if area is None else reader.area_values(area)

    def caught(self, reader: Reader, scope: Scope) -> Any:
        """As :meth:`operand`, an error as a value."""
        try:
            return self.operand(reader, scope)
        except FormulaError as problem:
            return problem.code

    def caught_range(self, reader: Reader, scope: Scope) -> Any:
        """As :meth:`range_value`, an error as a value."""
        try:
            return self.range_value(reader, scope)
        except FormulaError as problem:
            return problem.code

    def worked_out_range(self, reader: Reader, scope: Scope) -> Any:
        """As :meth:`caught_range`, a formula in its place cell by cell."""
        return self.caught_range(reader, scope.with_arrays())


class _Constant(Part):
    def __init__(self, value: Any) -> None:
        self.constant = value

    def value(self, reader: Reader, scope: Scope) -> Any:
        return self.constant


class _Array(Part):
    def __init__(self, node: Array) -> None:
        self.rows = node.rows

    def value(self, reader: Reader, scope: Scope) -> Any:
        return [list(row) for row in self.rows]


class _Refused(Part):
    """What is not understood."""

    def __init__(self, node: Unparsed) -> None:
        self.why = what_is_not_understood(node.text)

    def value(self, reader: Reader, scope: Scope) -> Any:
        raise Unknown(self.why)

    area = value


# --- cells ------------------------------------------------------------------------------------


class _Cells(Part):
    """What means cells, by its :meth:`area`."""

    def value(self, reader: Reader, scope: Scope) -> Any:
        area = self.area(reader, scope)
        assert area is not None
        return reader.cells(area)

    def operand(self, reader: Reader, scope: Scope) -> Any:
        """Its value where one value is expected.

        Outside of array formulas that is the one cell of a range in the formula's own row or
        column (implicit intersection).
        """
        if not scope.arrays:
            area = self.area(reader, scope)
            if area is not None:
                return reader.crossing(area, scope.place)
        return self.value(reader, scope)


class _OneCell(Part):
    """A reference to one cell: a fixed row and column, or so many from the formula's own."""

    def __init__(self, node: Reference) -> None:
        corner = node.first
        self.sheet, self.row, self.column = node.sheet, corner.row, corner.column
        self.own_row, self.own_column = not corner.row_fixed, not corner.column_fixed

    def _place(self, reader: Reader, scope: Scope) -> Place:
        sheet, own_row, own_column = scope.place
        if self.sheet:
            sheet = reader.tab(self.sheet)
        row = self.row + own_row if self.own_row else self.row
        column = self.column + own_column if self.own_column else self.column
        if not (1 <= row <= ROWS and 1 <= column <= COLUMNS):
            raise FormulaError("#REF!")
        return (sheet, row, column)

    def value(self, reader: Reader, scope: Scope) -> Any:
        return reader.cell_value(self._place(reader, scope))

    def area(self, reader: Reader, scope: Scope) -> Area:
        sheet, row, column = self._place(reader, scope)
        return (sheet, row, column, row, column)


class _Range(_Cells):
    """A reference to several cells."""

    def __init__(self, node: Reference) -> None:
        self.node = node

    def area(self, reader: Reader, scope: Scope) -> Area:
        return reader.inside(self.node.at(scope.place))


class _Between(_Cells):
    """The range between what two parts mean."""

    def __init__(self, node: Binary) -> None:
        self.ends = ready(node.left), ready(node.right)

    def area(self, reader: Reader, scope: Scope) -> Area:
        first, last = (end.area(reader, scope) for end in self.ends)
        if first is None or last is None or first[0] != last[0]:
            raise Unknown("a range between what are no cells")
        return (
            first[0],
            min(first[1], last[1]), min(first[2], last[2]),
            max(first[3], last[3]), max(first[4], last[4]),
        )  # fmt: skip


class _Word(_Cells):
    """A name: one that LET or LAMBDA gave, a defined one, or a table's columns."""

    def __init__(self, node: Word) -> None:
        self.text = node.text
        self.local = local_name(node.text)

    def area(self, reader: Reader, scope: Scope) -> Area | None:
        if self.local in scope.local:
            return None
        named = reader.named(self.text, scope.place)
        if named is not None:
            return ready(named).area(reader, scope)
        return reader.table_area(self.text, scope.place)

    def value(self, reader: Reader, scope: Scope) -> Any:
        if self.local in scope.local:
            return scope.local[self.local]
        named = reader.named(self.text, scope.place)
        if named is not None:
            return ready(named).value(reader, scope.called({}))
        area = reader.table_area(self.text, scope.place)
        if area is None:
            raise Unknown(f"{self.text[:60]} is not a name of this workbook")
        return reader.cells(area)


# --- operators --------------------------------------------------------------------------------


class _Binary(Part):
    def __init__(self, node: Binary) -> None:
        self.work = OPERATORS[node.operator]
        self.left, self.right = ready(node.left), ready(node.right)

    def value(self, reader: Reader, scope: Scope) -> Any:
        left, right = self.left.operand(reader, scope), self.right.operand(reader, scope)
        if isinstance(left, list) or isinstance(right, list):
            return over_ranges(self.work, left, right)
        return self.work(left, right)


class _Sign(Part):
    def __init__(self, node: Unary) -> None:
        self.sign, self.of = node.sign, ready(node.operand)

    def value(self, reader: Reader, scope: Scope) -> Any:
        return unary(self.sign, self.of.operand(reader, scope))


class _Percent(Part):
    def __init__(self, node: Percent) -> None:
        self.of = ready(node.operand)

    def value(self, reader: Reader, scope: Scope) -> Any:
        return each(lambda x: number(x) / 100, self.of.operand(reader, scope))


# --- calls ------------------------------------------------------------------------------------


class _Sizing(Part):
    """A call of one of our functions, made by the core."""

    def __init__(self, node: Call) -> None:
        self.node = node
        self.arguments = [
            None if isinstance(argument, Omitted) else ready(argument)
            for argument in node.arguments
        ]

    def value(self, reader: Reader, scope: Scope) -> Any:
        inner = scope.with_arrays()
        values: list[Any] = []
        for argument in self.arguments:
            try:
                values.append(OMITTED if argument is None else argument.value(reader, inner))
            except FormulaError as problem:
                values.append(problem.code)
        result, error = None, None
        try:
            result = call(self.node.name, *values)
        except CellError as problem:
            error = problem
        reader.note_call(self.node, scope.place, values, result, error)
        if error is not None:
            raise FormulaError(error.code, error)
        if isinstance(result, list):
            return [[_with_errors(cell) for cell in row] for row in result]
        return result


def _with_errors(cell: Any) -> Any:
    """A cell of a table of ours, which gives errors as texts."""
    return ErrorText(cell) if isinstance(cell, str) and cell in SHEET_ERRORS else cell


class _Native(Part):
    """A call of one of the spreadsheet's own functions."""

    def __init__(self, node: Call) -> None:
        self.name = node.name
        self.native: Native = NATIVES[node.name]
        arguments = node.arguments
        kinds = [self.native.kind(at) for at in range(len(arguments))]
        #: what it rounds
        self.rounded = ready(arguments[0]) if node.name in ROUNDS and arguments else None
        #: why it cannot be called, or ""
        self.refused = ""
        if len(arguments) < self.native.least or "" in kinds:
            self.refused = f"{node.name} with {len(arguments)} arguments"
            return
        self.takes = [_taken(*both) for both in zip(arguments, kinds, strict=True)]
        #: which arguments are single values, and what becomes of them
        self.single = [(at, CONVERT[kind]) for at, kind in enumerate(kinds) if kind in CONVERT]

    def value(self, reader: Reader, scope: Scope) -> Any:
        if self.rounded is not None and not reader.rounds:
            return self.rounded.operand(reader, scope)
        if self.refused:
            raise Unknown(self.refused)
        if self.native.arrays:
            scope = scope.with_arrays()
        given = [take(reader, scope) for take in self.takes]
        try:
            if any(isinstance(given[at], list) for at, _ in self.single):
                return self._cell_by_cell(given)
            for at, convert in self.single:
                given[at] = convert(given[at])
            return _result(self.native.work(*given))
        except OverflowError:
            raise FormulaError("#NUM!") from None
        except (TypeError, ValueError, IndexError, ZeroDivisionError, AttributeError) as problem:
            raise Unknown(
                f"{self.name} with these arguments ({type(problem).__name__})"
            ) from problem

    def _cell_by_cell(self, given: list[Any]) -> Any:
        """With ranges where single values are expected."""

        def work(*values: Any) -> Any:
            ready = list(given)
            for (at, convert), value in zip(self.single, values, strict=True):
                ready[at] = convert(value)
            return _result(self.native.work(*ready))

        return each(work, *(given[at] for at, _ in self.single))


def _taken(argument: Node, kind: str) -> Callable[[Reader, Scope], Any]:
    """How a function takes an argument."""
    part = ready(argument)
    if isinstance(argument, Omitted):
        return part.value
    if kind == RANGE:
        return part.caught_range
    if kind == RANGE_WORKED_OUT:
        return part.worked_out_range
    return part.caught if kind == "e" else part.operand


def _result(value: Any) -> Any:
    """What a function gave, as a cell value."""
    if type(value) is float and not math.isfinite(value):
        raise FormulaError("#NUM!")
    return float(value) if type(value) is int else value


class _Special(Part):
    """A call of a function that decides itself what of its arguments is worked out."""

    def __init__(self, node: Call) -> None:
        self.node = node
        self.work = SPECIALS[node.name]
        self.cells = GIVE_CELLS.get(node.name)

    def value(self, reader: Reader, scope: Scope) -> Any:
        return self.work(reader, self.node, scope)

    def area(self, reader: Reader, scope: Scope) -> Area | None:
        return None if self.cells is None else self.cells(reader, self.node, scope)


class _CellsOf(_Cells):
    """A call of a function that gives cells: INDEX, OFFSET, INDIRECT, ..."""

    def __init__(self, node: Call) -> None:
        self.node = node
        self.cells = GIVE_CELLS[node.name]
        #: for an array that stands in no cells
        self.otherwise = _Native(node) if node.name in NATIVES else _Other(node)

    def area(self, reader: Reader, scope: Scope) -> Area | None:
        return self.cells(reader, self.node, scope)

    def value(self, reader: Reader, scope: Scope) -> Any:
        area = self.area(reader, scope)
        if area is None:
            return self.otherwise.value(reader, scope)
        return reader.cells(area) if scope.arrays else reader.crossing(area, scope.place)

    operand = value


class _Other(Part):
    """A call of what is no function of the spreadsheet: one of the workbook's own, or unknown."""

    def __init__(self, node: Call) -> None:
        self.node = node

    def value(self, reader: Reader, scope: Scope) -> Any:
        node = self.node
        if node.name in VOLATILE:
            raise Unknown(f"{node.name}, which gives another value at every calculation")
        own = reader.named(node.written, scope.place)
        if isinstance(own, Call) and own.name == "LAMBDA" and own.arguments:
            return applied(reader, own, node, scope)
        raise Unknown(f"the function {node.name}")


# --- making them ------------------------------------------------------------------------------


def _called(node: Call) -> Part:
    if node.sizes:
        return _Sizing(node)
    if node.name in SPECIALS:
        return _Special(node)
    if node.name in GIVE_CELLS:
        return _CellsOf(node)
    return _Native(node) if node.name in NATIVES else _Other(node)


_MADE_OF: dict[type, Callable[[Any], Part]] = {
    Literal: lambda node: _Constant(node.value),
    Omitted: lambda node: _Constant(None),
    Array: _Array,
    Unparsed: _Refused,
    Reference: lambda node: _OneCell(node) if node.single else _Range(node),
    Word: _Word,
    Binary: lambda node: _Between(node) if node.operator == ":" else _Binary(node),
    Unary: _Sign,
    Percent: _Percent,
    Call: _called,
}


def ready(node: Node) -> Part:
    """The part that a node of a tree becomes; made once, and kept with the node."""
    part: Part | None = node.__dict__.get("part")
    if part is None:
        part = node.__dict__["part"] = _MADE_OF[type(node)](node)
    return part
