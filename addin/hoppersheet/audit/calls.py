"""The calls of a workbook: what each was given, from which cells, and who takes which cell."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from ..call import Inputs, read_inputs
from ..errors import CellError
from ..functions import get
from ..registry import Argument
from ..workbook.book import Book
from ..workbook.evaluator import Area, Evaluator, FormulaError, SizingCall, Unknown
from ..workbook.formulas import (
    Binary,
    Call,
    Node,
    Percent,
    Place,
    Reference,
    Unary,
    Word,
    address,
    quoted_sheet,
)  # fmt: skip
from ..workbook.precedents import Precedents
from .labels import Labels
from .reached import Reached

__all__ = ["Calls", "PlainCall", "Use", "cell_name", "in_area", "overlap", "passed_through",
           "places_of", "result_with"]  # fmt: skip


def cell_name(place: Place) -> str:
    """``"Sizing!B3"``, as it stands in a formula."""
    return f"{quoted_sheet(place[0])}!{address(*place[1:])}"


@dataclass(frozen=True)
class Use:
    """One cell taken by one argument of one call."""

    call: SizingCall
    argument: Argument


@dataclass
class PlainCall(SizingCall):
    """A call that our function makes in place of plain arithmetic."""


def in_area(place: Place, area: Area) -> bool:
    """Whether a cell is one of a range."""
    sheet, r1, c1, r2, c2 = area
    return place[0] == sheet and r1 <= place[1] <= r2 and c1 <= place[2] <= c2


def overlap(one: Area, other: Area) -> bool:
    """Whether two ranges share a cell."""
    return (
        one[0] == other[0]
        and max(one[1], other[1]) <= min(one[3], other[3])
        and max(one[2], other[2]) <= min(one[4], other[4])
    )


def places_of(area: Area) -> Iterator[Place]:
    """Each cell of a range, row by row."""
    sheet, top, left, bottom, right = area
    for row in range(top, bottom + 1):
        for column in range(left, right + 1):
            yield (sheet, row, column)


def passed_through(node: Node | None) -> Iterator[Call]:
    """Calls of our functions whose result is the formula's result, perhaps unless an IF decides."""
    if not isinstance(node, Call):
        return
    if node.sizes:
        yield node
    elif node.name in ("IF", "IFERROR", "IFNA", "CHOOSE"):
        for argument in node.arguments[1 if node.name in ("IF", "CHOOSE") else 0 :]:
            yield from passed_through(argument)


def result_with(inputs: Inputs, argument: str = "", value: Any = None) -> Any:
    """What a function gives in SI, perhaps with another value of one argument; None: nothing.

    A limit of the function, or arithmetic that leads nowhere, is no concern of whoever tries.
    """
    values = {**inputs.values, argument: value} if argument else inputs.values
    try:
        return inputs.function.function(*values.values())
    except (CellError, ArithmeticError, ValueError):
        return None


#: Functions that take one of their arguments and leave the others.
_CHOOSES = frozenset(("IF", "CHOOSE"))
#: Functions that give a value on, perhaps in another unit.
_REPEATS = frozenset(("IF", "IFERROR", "IFNA", "N", "VALUE", "TRIM", "HOPPER_CONVERT"))


class Calls:
    """A workbook with every call of our functions made again.

    Args:
        book: the workbook.
        values: the values of its cells.
        tick: called once per sizing cell read.
    """

    def __init__(
        self, book: Book, values: Evaluator, tick: Callable[[], None] = lambda: None
    ) -> None:
        self.book = book
        self.values = values
        self.precedents = Precedents(values)
        self.reached = Reached(values)
        self.labels = Labels(book, values.cell_value)
        #: place -> the calls its formula really makes, inner ones first
        self.calls: dict[Place, list[SizingCall]] = {}
        #: place -> why its calls could not be followed
        self.unread: dict[Place, str] = {}
        #: place -> calls that take this cell's value
        self.uses: dict[Place, list[Use]] = {}
        #: place -> calls that take this cell as one of a range
        self.range_uses: dict[Place, list[Use]] = {}
        self._inputs: dict[int, Inputs | None] = {}
        #: (id of an IF or CHOOSE, its cell) -> it, so that the id stays its own; what it comes to
        self._branches: dict[tuple[int, Place], tuple[Node, Node]] = {}
        #: id of a tree -> it, whether it may name a cell
        self._naming: dict[int, tuple[Node, bool]] = {}
        #: cell -> the cell that it repeats
        self._repeated: dict[Place, Place | None] = {}
        for cell in book.sizing_cells:
            try:
                self.calls[cell.place] = values.calls_in(cell)
            except (Unknown, RecursionError) as problem:
                self.unread[cell.place] = str(problem)
            tick()
        #: place -> the call that a plain formula there stands for
        self.plain: dict[Place, PlainCall] = {}
        for call in self.all_calls():
            self._note_uses(call)

    # -- calls

    def take_plain(self, found: Iterable[PlainCall]) -> None:
        """Take plain formulas for the calls that they stand for, the inner one of two first."""
        self.plain = {}
        for made in list(found):
            self.plain[made.cell.place] = made
            self.calls.setdefault(made.cell.place, []).append(made)
            self._note_uses(made)

    def all_calls(self) -> Iterator[SizingCall]:
        """Every call that is really made, in the order of the sheets."""
        for calls in self.calls.values():
            yield from calls

    def value(self, place: Place) -> Any:
        """The fresh value of a cell."""
        return self.values.cell_value(place)

    def inputs(self, call: SizingCall) -> Inputs | None:
        """What the function was given in SI; None where it refuses its inputs."""
        key = id(call)
        if key not in self._inputs:
            try:
                self._inputs[key] = read_inputs(call.name, call.values)
            except CellError:
                self._inputs[key] = None
        return self._inputs[key]

    def arguments(self, call: SizingCall) -> Iterator[tuple[Argument, Node, Any]]:
        """(argument, its tree, its value) of a call, as far as given."""
        record = get(call.name)
        if record is None:
            return
        # fewer may be given
        yield from zip(record.arguments, call.node.arguments, call.values, strict=False)

    def argument_node(self, call: SizingCall, name: str) -> Node | None:
        """The tree of one argument, None where it is left out."""
        return next((n for a, n, _ in self.arguments(call) if a.name == name), None)

    def branch(self, node: Node | None, place: Place) -> Node | None:
        """What an IF or CHOOSE comes to now; any other tree as it is."""
        while isinstance(node, Call) and node.name in _CHOOSES:
            taken = self._taken(node, place)
            if taken is node:
                break
            node = taken
        return node

    def _taken(self, node: Call, place: Place) -> Node:
        """The argument that an IF or CHOOSE comes to now, kept; itself where that is not known."""
        key = id(node), place
        known = self._branches.get(key)
        if known is not None and known[0] is node:
            return known[1]
        taken: Node = node
        try:
            decides = self.values.evaluate(node.arguments[0], place)
            at = int(decides) if node.name == "CHOOSE" else 1 if decides else 2
            taken = node.arguments[at]
        except (Unknown, FormulaError, RecursionError, IndexError, TypeError, ValueError):
            pass
        self._branches[key] = (node, taken)
        return taken

    def _names_a_cell(self, node: Node) -> bool:
        """Whether a tree may come to a cell as it stands, whatever its conditions say."""
        if not isinstance(node, Call):
            return isinstance(node, (Reference, Word))
        known = self._naming.get(id(node))
        if known is None or known[0] is not node:
            given = node.arguments[1:] if node.name in _CHOOSES else node.arguments[:1]
            names = node.name in _CHOOSES | _REPEATS and any(map(self._names_a_cell, given))
            known = self._naming[id(node)] = (node, names)
        return known[1]

    def nodes_taken(self, node: Node, place: Place) -> Iterator[Node]:
        """The parts of a formula that count now: of an IF its condition and one branch."""
        waiting = [node]
        while waiting:
            current = waiting.pop()
            yield current
            if isinstance(current, Call) and (taken := self.branch(current, place)) is not current:
                waiting += [part for part in (taken, current.arguments[0]) if part is not None]
            elif isinstance(current, Call):
                waiting += reversed(current.arguments)
            elif isinstance(current, Binary):
                waiting += (current.right, current.left)
            elif isinstance(current, (Unary, Percent)):
                waiting.append(current.operand)

    def area_of(self, node: Node | None, place: Place) -> Area | None:
        """The range that a tree names (directly, or by a defined name), else None."""
        if node is None or not self._names_a_cell(node):
            return None
        node = self.branch(node, place)
        while isinstance(node, Word):
            key = node.text.lower()
            names = self.book.names
            named = names.get(f"{place[0].lower()}!{key}", names.get(key))
            if named is None:
                return self.values.table_area(node.text, place)
            node = named
        if not isinstance(node, Reference):
            return None
        area = node.at(place)
        sheet = self.book.sheet_of(area[0])
        return None if sheet is None else (sheet, *area[1:])

    def source(self, node: Node | None, place: Place, converted: bool = True) -> Place | None:
        """The one cell that a tree takes its value from, else None.

        ``IF(B2="","",B2)`` counts too, and with ``converted`` a mere change of units.
        """
        if node is None or not self._names_a_cell(node):
            return None
        area = self.area_of(node, place)
        if area is not None:
            return area[:3] if area[1:3] == area[3:] else None
        if not isinstance(node, Call) or node.name not in _REPEATS:
            return None
        if node.sizes and not converted:
            return None
        taken = self._taken(node, place) if node.name == "IF" else node.arguments[0]
        return None if taken is node else self.source(taken, place, converted)

    def _note_uses(self, call: SizingCall) -> None:
        for argument, node, _ in self.arguments(call):
            area = self.area_of(node, call.place)
            if area is None:
                place = self.source(node, call.place)
                if place is not None:
                    self.uses.setdefault(place, []).append(Use(call, argument))
            elif area[1:3] == area[3:]:
                self.uses.setdefault(area[:3], []).append(Use(call, argument))
            elif argument.kind in ("pairs", "shares", "numbers", "estimate"):
                for cell in self.values.cells_in(area):
                    self.range_uses.setdefault(cell.place, []).append(Use(call, argument))

    def own_calls(self, place: Place) -> list[SizingCall]:
        """The calls whose result is the cell's result."""
        cell = self.book.cell(place)
        if cell is None:
            return []
        direct = {id(node) for node in passed_through(cell.tree)}
        return [
            c
            for c in self.calls.get(place, [])
            if (id(c.node) in direct or isinstance(c, PlainCall)) and not c.hidden
        ]

    def trail(self, place: Place, limit: int = 12) -> list[Place]:
        """The cell and those it only repeats: ``=B2``, ``=IF(B2="","",B2)``."""
        found = [place]
        while len(found) < limit:
            before = self._source_of(found[-1])
            if before is None or before in found:
                break
            found.append(before)
        return found

    def _source_of(self, place: Place) -> Place | None:
        """The cell that a cell's whole formula only repeats, None where it does more."""
        if place not in self._repeated:
            cell = self.book.cell(place)
            tree = cell.tree if cell is not None else None
            self._repeated[place] = None if tree is None else self.source(tree, place)
        return self._repeated[place]
