"""Our calls as formulas of the spreadsheet's own functions (Excel 2010, Calc 7.4 and later).

Each record of the registry says in ``plain`` how its function reads in spreadsheet functions for
inputs within their limits. Here the limits and the order of errors are put around it, from the
same record, so that what was an error stays the same error:

    IF(AND(inputs are numbers), IF(AND(inputs within limits), plain, #NUM!), error or #VALUE!)

``SUM(inputs)+#VALUE!`` hands over the first error among the inputs, and is #VALUE! without one.
The language of ``plain``: ``{name}`` is an argument, ``[2.2|1]`` a number in US and in metric
units, ``EACH(...)`` the sum over the cells of ranges that belong together.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..audit.context import Context
from ..cells.values import is_error
from ..functions import get
from ..workbook.evaluator import FormulaError, SizingCall, Unknown
from ..workbook.formula_text import fits_in_formula
from ..workbook.formulas import (
    Binary,
    Call,
    Literal,
    Node,
    Omitted,
    Percent,
    Place,
    Unary,
    Unparsed,
    text_of,
    walk,
)
from .call_writer import CallWriter
from .conversion import convert
from .equivalents import NoEquivalent
from .freezing import frozen_node, value_of

__all__ = ["LONGEST", "Frozen", "Translator", "replaces"]

#: A formula may have 8,192 characters; some programs count a little more.
LONGEST = 8_000


@dataclass(frozen=True)
class Frozen:
    """A call that became its value.

    Attributes:
        holds: the value shows only while the inputs are what they were.
        unwatched: inputs that may change without this being seen.
    """

    call: str
    why: str
    holds: bool = False
    unwatched: tuple[str, ...] = ()


def _stays(node: Call, kept: frozenset[str]) -> bool:
    """Whether a call stays: its function does, and it hands over no table of the user's own."""
    record = get(node.name)
    return (
        record is not None
        and node.name in kept
        and all(
            argument.kind != "cells"
            or argument.required
            or isinstance(given, Omitted)
            or given == Literal(argument.default)
            for argument, given in zip(record.arguments, node.arguments, strict=False)
        )
    )


def replaces(tree: Node, kept: frozenset[str]) -> bool:
    """Whether a formula has a call that does not stay where those of ``kept`` do."""
    return any(
        isinstance(node, Call) and node.sizes and not _stays(node, kept) for node in walk(tree)
    )


class Translator:
    """Writes the calls of one workbook in spreadsheet functions."""

    def __init__(self, context: Context, kept: frozenset[str] = frozenset()) -> None:
        self.context = context
        self.kept = kept  # functions whose calls stay as they are
        self.frozen: list[Frozen] = []
        self._whole = False

    def formula(self, place: Place, tree: Node) -> str | None:
        """The formula (with ``=``) for a cell, None where the whole becomes its value.

        What was frozen in it is in :attr:`frozen` afterwards.
        """
        self.frozen, self._whole = [], False
        new = self._node(tree, place)
        if self._whole or (isinstance(new, Literal) and isinstance(tree, Call)):
            return None
        text = "=" + text_of(new, place)
        if len(text) > LONGEST:
            self.frozen = [Frozen(text_of(tree, place)[:200], "the formula would be too long")]
            return None
        return text

    # -- trees

    def _node(self, node: Node, place: Place) -> Node:
        """The tree with every call of ours replaced."""
        if isinstance(node, Call):
            if node.sizes and not _stays(node, self.kept):
                return self._call(node, place)
            return Call(
                node.name, node.written, tuple(self._node(a, place) for a in node.arguments)
            )
        if isinstance(node, Binary):
            return Binary(
                node.operator, self._node(node.left, place), self._node(node.right, place)
            )
        if isinstance(node, Unary):
            return Unary(node.sign, self._node(node.operand, place))
        if isinstance(node, Percent):
            return Percent(self._node(node.operand, place))
        return node

    def _call(self, node: Call, place: Place) -> Node:
        made = next((c for c in self.context.calls.get(place, []) if c.node is node), None)
        before = len(self.frozen)
        try:
            record = get(node.name)
            if record is None:
                raise NoEquivalent("there is no such function")
            if node.name in self.kept:
                raise NoEquivalent("a table of your own is read by the add-in only")
            if node.name == "HOPPER_CONVERT":
                text = self._convert(node, place, made)
            else:
                area_of = self.context.area_of
                text = CallWriter(self.argument, area_of, record, node, place, made).text()
            if len(text) > LONGEST:
                raise NoEquivalent("the formula would be too long")
            return Unparsed(text)
        except NoEquivalent as problem:
            del self.frozen[before:]
            return self._freeze(node, place, made, str(problem))

    def _freeze(self, node: Call, place: Place, made: SizingCall | None, why: str) -> Node:
        """The value of a call that has no equivalent, while its inputs stay what they are."""
        value = value_of(made, get(node.name))
        # A long text or one of several lines cannot stand in a formula.
        whole = isinstance(value, str) and not (is_error(value) or fits_in_formula(value))
        self._whole |= whole
        kept = list(self.frozen)
        new: Node = Literal(value)
        unwatched: list[str] = []
        if not whole and made is not None:
            new, unwatched = frozen_node(self.context, made, place, self.argument, LONGEST // 4)
        holds = isinstance(new, Unparsed)
        self.frozen = [*kept, Frozen(text_of(node, place)[:200], why, holds, tuple(unwatched))]
        return new

    def argument(self, node: Node, place: Place) -> str:
        """An argument as text that can stand beside any operator."""
        new = self._node(node, place)
        text = text_of(new, place)
        return f"({text})" if isinstance(new, (Binary, Unary, Percent)) else text

    # -- conversion of units

    def _convert(self, node: Call, place: Place, made: SizingCall | None) -> str:
        if len(node.arguments) != 3:
            raise NoEquivalent("it does not have three arguments")
        if made is not None and isinstance(made.values[0], str) and not is_error(made.values[0]):
            raise NoEquivalent("the value is a text")
        texts = [self.argument(a, place) for a in node.arguments]
        return convert(texts, [self._text(a, place) for a in node.arguments[1:]])

    def _text(self, node: Node, place: Place) -> str:
        """The text that an argument gives now, "" where it gives none."""
        try:
            value = self.context.values.evaluate(node, place)
        except (Unknown, FormulaError, RecursionError):
            return ""
        return value.strip() if isinstance(value, str) and not is_error(value) else ""
