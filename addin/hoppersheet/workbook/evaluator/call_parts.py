"""Parts of formulas that are calls of functions."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from ...call import call
from ...cells.values import OMITTED
from ...errors import SHEET_ERRORS, CellError
from ..formulas import Call, Node, Omitted
from ..sheet_cells import ErrorText
from .functions import NATIVES, VOLATILE, Native
from .functions.native import CONVERT, RANGE, RANGE_WORKED_OUT
from .operators import each
from .part import MADE_OF, Part, ready
from .parts import CellsPart
from .references import GIVE_CELLS, Area, Scope
from .special import SPECIALS, Evaluation, applied
from .values import FormulaError, Unknown

__all__ = ["ROUNDS"]

#: Functions that round their first argument.
ROUNDS = frozenset(
    ("ROUND", "ROUNDUP", "ROUNDDOWN", "MROUND", "CEILING", "CEILING.MATH", "CEILING.PRECISE",
     "FLOOR", "FLOOR.MATH", "FLOOR.PRECISE", "INT", "TRUNC", "EVEN", "ODD")
)  # fmt: skip


class _Sizing(Part):
    """A call of one of our functions, made by the core."""

    def __init__(self, node: Call) -> None:
        self.node = node
        self.arguments = [
            None if isinstance(argument, Omitted) else ready(argument)
            for argument in node.arguments
        ]

    def value(self, reader: Evaluation, scope: Scope) -> Any:
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

    def value(self, reader: Evaluation, scope: Scope) -> Any:
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


def _taken(argument: Node, kind: str) -> Callable[[Evaluation, Scope], Any]:
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

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        return self.work(reader, self.node, scope)

    def area(self, reader: Evaluation, scope: Scope) -> Area | None:
        return None if self.cells is None else self.cells(reader, self.node, scope)


class _CellsOf(CellsPart):
    """A call of a function that gives cells: INDEX, OFFSET, INDIRECT, ..."""

    def __init__(self, node: Call) -> None:
        self.node = node
        self.cells = GIVE_CELLS[node.name]
        #: for an array that stands in no cells
        self.otherwise = _Native(node) if node.name in NATIVES else _Other(node)

    def area(self, reader: Evaluation, scope: Scope) -> Area | None:
        return self.cells(reader, self.node, scope)

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        area = self.area(reader, scope)
        if area is None:
            return self.otherwise.value(reader, scope)
        return reader.cells(area) if scope.arrays else reader.crossing(area, scope.place)

    operand = value


class _Other(Part):
    """A call of what is no function of the spreadsheet: one of the workbook's own, or unknown."""

    def __init__(self, node: Call) -> None:
        self.node = node

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        node = self.node
        if node.name in VOLATILE:
            raise Unknown(f"{node.name}, which gives another value at every calculation")
        own = reader.named(node.written, scope.place)
        if isinstance(own, Call) and own.name == "LAMBDA" and own.arguments:
            return applied(reader, own, node, scope)
        raise Unknown(f"the function {node.name}")


def _called(node: Call) -> Part:
    if node.sizes:
        return _Sizing(node)
    if node.name in SPECIALS:
        return _Special(node)
    if node.name in GIVE_CELLS:
        return _CellsOf(node)
    return _Native(node) if node.name in NATIVES else _Other(node)


MADE_OF[Call] = _called
