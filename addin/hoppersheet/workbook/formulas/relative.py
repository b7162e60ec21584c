"""How a formula reads relative to its own cell: equal for all copies down a column."""

from __future__ import annotations

import re

from ..addresses import column_number
from .parsing import parse
from .tree import Node, Place

__all__ = ["relative_form", "tree_of"]

_PARTS = re.compile(
    r'"(?:[^"]|"")*"'  # text
    r"|'(?:[^']|'')*'!?"  # quoted sheet name
    r"|\[[^\[\]]*(?:\[[^\[\]]*\][^\[\]]*)*\]"  # a table's columns, or another workbook
    r"|(?<![A-Za-z0-9_.$])\$?[A-Z]{1,3}\$?[0-9]{1,7}(?![A-Za-z0-9_(.!])"
    r"|(?<![A-Za-z0-9_.$])\$?[A-Z]{1,3}:\$?[A-Z]{1,3}(?![A-Za-z0-9_(.!])"
)
_ONE_CELL = re.compile(r"(\$?)([A-Z]{1,3})(\$?)([0-9]{1,7})")


def relative_form(formula: str, row: int, column: int) -> str:
    """The formula with every reference as an offset: equal for all copies of one formula."""

    def offset(match: re.Match[str]) -> str:
        found = match[0]
        cell = _ONE_CELL.fullmatch(found)
        if cell is not None:
            column_text = (
                f"C{column_number(cell[2])}" if cell[1] else f"C[{column_number(cell[2]) - column}]"
            )
            row_text = f"R{cell[4]}" if cell[3] else f"R[{int(cell[4]) - row}]"
            return row_text + column_text
        if found[0] in "\"'[":
            return found
        return ":".join(
            f"C{column_number(part[1:])}"
            if part.startswith("$")
            else f"C[{column_number(part) - column}]"
            for part in found.split(":")
        )

    return _PARTS.sub(offset, formula)


_TREES: dict[str, Node] = {}


def tree_of(formula: str, form: str, place: Place) -> Node:
    """:func:`parse`, once per relative form."""
    tree = _TREES.get(form)
    if tree is None:
        if len(_TREES) > 50_000:
            _TREES.clear()
        tree = _TREES[form] = parse(formula, place)
    return tree
