"""Evaluates the tree of a formula; our functions are called in the core."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ...errors import CellError
from ..book import Book, Cell
from ..formulas import Call, Node, Place
from .part import ready
from .references import Area, Scope
from .special import Evaluation
from .values import FormulaError

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
    """Evaluates trees; where values of cells come from is the subclass's business.

    Attributes:
        calls: where the calls of our functions are noted, or None.
    """

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.calls: list[SizingCall] | None = None
        self._cell: Cell | None = None

    def formula_value(self, cell: Cell) -> Any:
        """The value of a cell's formula; a list of rows for an array formula."""
        assert cell.tree is not None
        outer, self._cell = self._cell, cell
        try:
            value = ready(cell.tree).operand(self, Scope(cell.place, bool(cell.array)))
        except FormulaError as problem:
            value = problem.code
        finally:
            self._cell = outer
        if isinstance(value, list) and not cell.array:
            value = value[0][0]  # a table in a cell of its own shows its first value
        return 0.0 if value is None else value

    def evaluate(self, node: Node, place: Place) -> Any:
        """The value of a tree for a formula in ``place``."""
        return ready(node).value(self, Scope(place))

    # -- parts of formulas, for the functions that choose among their arguments

    def value(self, node: Node, scope: Scope) -> Any:
        """The value of a tree; a list of rows for a range."""
        return ready(node).value(self, scope)

    def operand(self, node: Node, scope: Scope) -> Any:
        """The value of a tree where one value is expected."""
        return ready(node).operand(self, scope)

    def caught(self, node: Node, scope: Scope) -> Any:
        """As :meth:`operand`, an error as a value."""
        return ready(node).caught(self, scope)

    def area(self, node: Node, scope: Scope) -> Area | None:
        """The cells that a tree means, see :meth:`.References.area`."""
        return ready(node).area(self, scope)

    # -- calls of ours

    def note_call(
        self, node: Call, place: Place, values: Sequence[Any], result: Any, error: CellError | None
    ) -> None:
        """Note a call of ours where calls are noted."""
        if self.calls is not None and self._cell is not None:
            self.calls.append(SizingCall(self._cell, node, place, tuple(values), result, error))

    def calls_made(self) -> int:
        """How many calls of our functions were noted so far."""
        return 0 if self.calls is None else len(self.calls)

    def hide_errors_since(self, made: int) -> None:
        """The errors of our functions' calls since then do not reach the cell."""
        for one in (self.calls or [])[made:]:
            one.hidden = one.error is not None or one.hidden
