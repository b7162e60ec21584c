"""Parts of formulas that are no calls: values, cells, operators."""

from __future__ import annotations

from typing import Any

from ..addresses import COLUMNS, ROWS
from ..formulas import (
    Array,
    Binary,
    Literal,
    Omitted,
    Percent,
    Place,
    Reference,
    Unary,
    Unparsed,
    Word,
)
from .operators import OPERATORS, each, over_ranges, unary
from .part import MADE_OF, Part, ready
from .references import Area, Scope, local_name, what_is_not_understood
from .special import Evaluation
from .values import FormulaError, Unknown, number

__all__ = ["CellsPart"]


class _Constant(Part):
    def __init__(self, value: Any) -> None:
        self.constant = value

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        return self.constant


class _Array(Part):
    def __init__(self, node: Array) -> None:
        self.rows = node.rows

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        return [list(row) for row in self.rows]


class _Refused(Part):
    """What is not understood."""

    def __init__(self, node: Unparsed) -> None:
        self.why = what_is_not_understood(node.text)

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        raise Unknown(self.why)

    area = value


# --- cells ------------------------------------------------------------------------------------


class CellsPart(Part):
    """What means cells, by its :meth:`area`."""

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        """The values of these cells."""
        area = self.area(reader, scope)
        assert area is not None
        return reader.cells(area)

    def operand(self, reader: Evaluation, scope: Scope) -> Any:
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

    def _place(self, reader: Evaluation, scope: Scope) -> Place:
        sheet, own_row, own_column = scope.place
        if self.sheet:
            sheet = reader.tab(self.sheet)
        row = self.row + own_row if self.own_row else self.row
        column = self.column + own_column if self.own_column else self.column
        if not (1 <= row <= ROWS and 1 <= column <= COLUMNS):
            raise FormulaError("#REF!")
        return (sheet, row, column)

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        return reader.cell_value(self._place(reader, scope))

    def area(self, reader: Evaluation, scope: Scope) -> Area:
        sheet, row, column = self._place(reader, scope)
        return (sheet, row, column, row, column)


class _Range(CellsPart):
    """A reference to several cells."""

    def __init__(self, node: Reference) -> None:
        self.node = node

    def area(self, reader: Evaluation, scope: Scope) -> Area:
        return reader.inside(self.node.at(scope.place))


class _Between(CellsPart):
    """The range between what two parts mean."""

    def __init__(self, node: Binary) -> None:
        self.ends = ready(node.left), ready(node.right)

    def area(self, reader: Evaluation, scope: Scope) -> Area:
        first, last = (end.area(reader, scope) for end in self.ends)
        if first is None or last is None or first[0] != last[0]:
            raise Unknown("a range between what are no cells")
        return (
            first[0],
            min(first[1], last[1]), min(first[2], last[2]),
            max(first[3], last[3]), max(first[4], last[4]),
        )  # fmt: skip


class _Word(CellsPart):
    """A name: one that LET or LAMBDA gave, a defined one, or a table's columns."""

    def __init__(self, node: Word) -> None:
        self.text = node.text
        self.local = local_name(node.text)

    def area(self, reader: Evaluation, scope: Scope) -> Area | None:
        if self.local in scope.local:
            return None
        named = reader.named(self.text, scope.place)
        if named is not None:
            return ready(named).area(reader, scope)
        return reader.table_area(self.text, scope.place)

    def value(self, reader: Evaluation, scope: Scope) -> Any:
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

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        left, right = self.left.operand(reader, scope), self.right.operand(reader, scope)
        if isinstance(left, list) or isinstance(right, list):
            return over_ranges(self.work, left, right)
        return self.work(left, right)


class _Sign(Part):
    def __init__(self, node: Unary) -> None:
        self.sign, self.of = node.sign, ready(node.operand)

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        return unary(self.sign, self.of.operand(reader, scope))


class _Percent(Part):
    def __init__(self, node: Percent) -> None:
        self.of = ready(node.operand)

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        return each(lambda x: number(x) / 100, self.of.operand(reader, scope))


MADE_OF.update(
    {
        Literal: lambda node: _Constant(node.value),
        Omitted: lambda node: _Constant(None),
        Array: _Array,
        Unparsed: _Refused,
        Reference: lambda node: _OneCell(node) if node.single else _Range(node),
        Word: _Word,
        Binary: lambda node: _Between(node) if node.operator == ":" else _Binary(node),
        Unary: _Sign,
        Percent: _Percent,
    }
)
