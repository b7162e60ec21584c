"""Numbers typed inside a call of our functions, where nobody who reads the sheet sees them."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...workbook.evaluator import SizingCall
from ...workbook.formulas import Array, Call, Literal, Node, walk
from ..calls import PlainCall, result_with
from ..context import Context
from ..findings import Finding, finding

__all__ = ["check"]

#: Functions whose numbers say how, not how much; None: all arguments from the second one on.
_COUNTS_ONLY = frozenset(
    ("INDEX", "MATCH", "VLOOKUP", "HLOOKUP", "ROUND", "ROUNDUP", "ROUNDDOWN", "CHOOSE", "LEFT",
     "RIGHT", "MID", "SMALL", "LARGE", "OFFSET", "SUBTOTAL", "AGGREGATE", "TEXT", "FIND", "SEARCH")
)  # fmt: skip
_NUMBER_TEXT = re.compile(r"\s*[+-]?[0-9.,]*[0-9][0-9.,]*\s*[a-zA-Z%]")


def _typed_numbers(node: Node) -> Iterator[str]:
    """Numbers typed below a node, outside of inner calls of our functions."""
    if isinstance(node, Literal):
        value = node.value
        if isinstance(value, float) and value not in (0.0, 1.0):
            yield f"{value:.15g}"
        elif isinstance(value, str) and _NUMBER_TEXT.match(value):
            yield repr(value)
    elif isinstance(node, Array):
        typed = [f"{v:.15g}" for row in node.rows for v in row if isinstance(v, float)]
        if typed:
            yield "{" + ", ".join(typed[:6]) + ("..." if len(typed) > 6 else "") + "}"
    elif isinstance(node, Call):
        if not node.sizes:
            for argument in node.arguments[: 1 if node.name in _COUNTS_ONLY else None]:
                yield from _typed_numbers(argument)
    else:
        for child in list(walk(node))[1:]:
            if isinstance(child, (Literal, Array)):
                yield from _typed_numbers(child)


_UNSEEN = "nobody who reads the sheet can see it"


def _moves(context: Context, call: SizingCall, argument: str) -> str:
    """What 10 % more of a typed number does to the call's result."""
    inputs = context.inputs(call)
    if inputs is None or not isinstance(inputs.values.get(argument), float):
        return _UNSEEN
    before = result_with(inputs)
    after = result_with(inputs, argument, inputs.values[argument] * 1.1)
    if not isinstance(before, float) or not isinstance(after, float) or not before:
        return _UNSEEN
    change = (after / before - 1) * 100
    if abs(change) < 0.005:
        return _UNSEEN
    return f"{_UNSEEN}, and 10 % more of it moves the result by {change:+.3g} %"


def check(context: Context) -> Iterator[Finding]:
    """``number in formula``."""
    for call in context.all_calls():
        if isinstance(call, PlainCall):
            continue
        for argument, node, _ in context.arguments(call):
            if argument.kind in ("choice", "text", "rest"):
                continue
            for typed in _typed_numbers(node):
                yield finding(
                    "number in formula",
                    "warning",
                    call.cell.place,
                    f"{typed} is typed into {call.name} as {argument.name}; "
                    f"{_moves(context, call, argument.name)}; put it into a cell of its own with "
                    "its unit and source, and refer to that.",
                    formula=call.cell.formula,
                    value=context.value(call.cell.place),
                )
