"""One part of a formula, ready to be worked out.

A tree says what is written. When a node of it is worked out for the first time it becomes a
:class:`Part` (:func:`ready`), which holds for all copies of the formula what does not depend on
their cells: where a reference goes, which function a call means, how that takes its arguments.
What depends on the cell comes with the :class:`~.references.Scope`, the values of other cells from
the reader. Functions that do not need all of their arguments (:mod:`.special`) make those ready
that they take.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..formulas import Node
from .references import Area, Scope
from .special import Evaluation
from .values import FormulaError

__all__ = ["MADE_OF", "Part", "ready"]


class Part:
    """One part of a formula."""

    def value(self, reader: Evaluation, scope: Scope) -> Any:
        """Its value; a list of rows for a range."""
        raise NotImplementedError

    def area(self, reader: Evaluation, scope: Scope) -> Area | None:
        """The cells that it means; None where it gives a value of its own."""
        return None

    def operand(self, reader: Evaluation, scope: Scope) -> Any:
        """Its value where one value is expected, see :meth:`.parts.CellsPart.operand`."""
        return self.value(reader, scope)

    def range_value(self, reader: Evaluation, scope: Scope) -> Any:
        """Its value where a range is expected: rows, or a value of its own."""
        area = self.area(reader, scope)
        return self.value(reader, scope) if area is None else reader.area_values(area)

    def caught(self, reader: Evaluation, scope: Scope) -> Any:
        """As :meth:`operand`, an error as a value."""
        try:
            return self.operand(reader, scope)
        except FormulaError as problem:
            return problem.code

    def caught_range(self, reader: Evaluation, scope: Scope) -> Any:
        """As :meth:`range_value`, an error as a value."""
        try:
            return self.range_value(reader, scope)
        except FormulaError as problem:
            return problem.code

    def worked_out_range(self, reader: Evaluation, scope: Scope) -> Any:
        """As :meth:`caught_range`, a formula in its place cell by cell."""
        return self.caught_range(reader, scope.with_arrays())


#: Kind of node -> what makes its part; :mod:`.parts` and :mod:`.call_parts` say what.
MADE_OF: dict[type, Callable[[Any], Part]] = {}


def ready(node: Node) -> Part:
    """The part that a node of a tree becomes; made once, and kept with the node."""
    part: Part | None = node.__dict__.get("part")
    if part is None:
        part = node.__dict__["part"] = MADE_OF[type(node)](node)
    return part
