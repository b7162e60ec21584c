"""The tree of a formula: what stands in it, with references as offsets from its cell."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

__all__ = [
    "Array",
    "Binary",
    "Call",
    "Corner",
    "Literal",
    "Node",
    "Omitted",
    "Percent",
    "Place",
    "Reference",
    "Unary",
    "Unparsed",
    "Word",
    "let_body",
    "walk",
]

#: (sheet, row, column), both counted from 1
Place = tuple[str, int, int]


@dataclass(frozen=True)
class Literal:
    """A number, text, TRUE/FALSE or error value typed into the formula."""

    value: Any


@dataclass(frozen=True)
class Corner:
    """One corner of a reference; offsets where not fixed by ``$``."""

    row: int
    column: int
    row_fixed: bool
    column_fixed: bool

    def at(self, row: int, column: int) -> tuple[int, int]:
        """Where the corner is for a formula in (row, column)."""
        return (
            self.row if self.row_fixed else self.row + row,
            self.column if self.column_fixed else self.column + column,
        )


@dataclass(frozen=True)
class Reference:
    """One cell or a range; ``sheet`` is "" for the formula's own sheet."""

    sheet: str
    first: Corner
    last: Corner
    single: bool

    def at(self, place: Place) -> tuple[str, int, int, int, int]:
        """(sheet, first row, first column, last row, last column) seen from ``place``."""
        sheet, row, column = place
        r1, c1 = self.first.at(row, column)
        if self.single:
            return (self.sheet or sheet, r1, c1, r1, c1)
        r2, c2 = self.last.at(row, column)
        return (self.sheet or sheet, min(r1, r2), min(c1, c2), max(r1, r2), max(c1, c2))


@dataclass(frozen=True)
class Word:
    """A defined name or a reference to a table's columns."""

    text: str


@dataclass(frozen=True)
class Unparsed:
    """A part that is not understood, such as a reference into another workbook."""

    text: str


@dataclass(frozen=True)
class Omitted:
    """An argument that is left out: ``F(1,,3)``."""


@dataclass(frozen=True)
class Unary:
    """A sign before a value."""

    sign: str
    operand: Node


@dataclass(frozen=True)
class Percent:
    """A value with a percent sign behind it."""

    operand: Node


@dataclass(frozen=True)
class Binary:
    """Two values and what stands between them."""

    operator: str
    left: Node
    right: Node


@dataclass(frozen=True)
class Call:
    """A function call. ``name`` is upper case without prefixes; ``written`` as it stands."""

    name: str
    written: str
    arguments: tuple[Node, ...]

    @property
    def sizes(self) -> bool:
        """Whether it is one of our functions."""
        return self.name.startswith("HOPPER_")


@dataclass(frozen=True)
class Array:
    """An array typed into the formula."""

    rows: tuple[tuple[Any, ...], ...]


Node = (
    Literal | Reference | Word | Unparsed | Omitted | Unary | Percent | Binary | Call | Array
)  # fmt: skip


def walk(node: Node) -> Iterator[Node]:
    """The node and everything below it, in the order in which they are written.

    Not by recursion: ``1+1+1+...`` is as deep as it is long, and a formula may have 8,192 signs.
    """
    waiting = [node]
    while waiting:
        current = waiting.pop()
        yield current
        if isinstance(current, Call):
            waiting += reversed(current.arguments)
        elif isinstance(current, Binary):
            waiting += (current.right, current.left)
        elif isinstance(current, (Unary, Percent)):
            waiting.append(current.operand)


#: Parts that a formula may grow to when names are replaced by their values.
_MOST_PARTS = 5_000


def let_body(node: Call) -> Node | None:
    """What ``LET(name, value, ..., body)`` says with each name replaced by its value.

    None where the arguments are no pairs and a body, or where it would grow beyond reason.
    """
    *pairs, body = node.arguments or (Omitted(),)
    if len(pairs) % 2 or not all(isinstance(name, Word) for name in pairs[::2]):
        return None
    known: dict[str, Node] = {}
    for name, value in zip(pairs[::2], pairs[1::2], strict=True):
        if isinstance(name, Word):
            known[name.text.lower()] = _replaced(value, known)
        if sum(1 for one in known.values() for _ in walk(one)) > _MOST_PARTS:
            return None
    return _replaced(body, known)


def _replaced(node: Node, known: dict[str, Node]) -> Node:
    if isinstance(node, Word):
        return known.get(node.text.lower(), node)
    if isinstance(node, Call):
        arguments = tuple(_replaced(argument, known) for argument in node.arguments)
        return Call(node.name, node.written, arguments)
    if isinstance(node, Binary):
        return Binary(node.operator, _replaced(node.left, known), _replaced(node.right, known))
    if isinstance(node, Unary):
        return Unary(node.sign, _replaced(node.operand, known))
    if isinstance(node, Percent):
        return Percent(_replaced(node.operand, known))
    return node
