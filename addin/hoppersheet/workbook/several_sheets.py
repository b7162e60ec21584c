"""References to several sheets at once, ``SUM('Job 1:Job 6'!B19)``, as one reference per sheet."""

from __future__ import annotations

import re
from dataclasses import replace

from .formulas import Binary, Call, Node, Percent, Place, Unary, Unparsed, parse, quoted_sheet

__all__ = ["SEVERAL", "sheet_by_sheet"]

#: ``'Job 1:Job 6'!B19`` or ``Jan:Dec!B2:B9``.
SEVERAL = re.compile(
    r"(?:'((?:[^'\[\]:]|'')+:(?:[^'\[\]:]|'')+)'|([\w.]+:[\w.]+))!"
    r"(\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)",
    re.IGNORECASE,
)
#: Functions to which it makes no difference in how many arguments the cells come.
_TAKE_ALL = frozenset(
    ("SUM", "AVERAGE", "AVERAGEA", "COUNT", "COUNTA", "MIN", "MINA", "MAX", "MAXA", "PRODUCT",
     "SUMSQ", "STDEV", "STDEV.S", "STDEV.P", "STDEVP", "VAR", "VAR.S", "VAR.P", "VARP", "MEDIAN")
)  # fmt: skip


def sheet_by_sheet(node: Node, sheets: list[str], place: Place) -> Node:
    """The tree with one reference per sheet, where that is the same; ``sheets`` in their order."""
    if isinstance(node, Call):
        arguments: list[Node] = []
        for argument in node.arguments:
            if isinstance(argument, Unparsed) and node.name in _TAKE_ALL:
                arguments += _each(argument, sheets, place)
            else:
                arguments.append(sheet_by_sheet(argument, sheets, place))
        return replace(node, arguments=tuple(arguments))
    if isinstance(node, Binary):
        left, right = (sheet_by_sheet(side, sheets, place) for side in (node.left, node.right))
        return replace(node, left=left, right=right)
    if isinstance(node, (Unary, Percent)):
        return replace(node, operand=sheet_by_sheet(node.operand, sheets, place))
    return node


def _each(node: Unparsed, sheets: list[str], place: Place) -> list[Node]:
    found = SEVERAL.fullmatch(node.text)
    if found is None:
        return [node]
    first, colon, last = (found[1] or found[2]).replace("''", "'").partition(":")
    known = {name.lower(): at for at, name in enumerate(sheets)}
    ends = [known.get(name.lower()) for name in (first, last)]
    if not colon or None in ends:
        return [node]
    start, end = sorted(at for at in ends if at is not None)
    return [parse(f"={quoted_sheet(name)}!{found[3]}", place) for name in sheets[start : end + 1]]
