"""From a tree back to the text of a formula."""

from __future__ import annotations

import re

from ..addresses import COLUMNS, ROWS, column_letters
from ..sheet_cells import ErrorText
from .parsing import CELL, SIGN_STRENGTH, STRENGTH
from .tree import (
    Binary,
    Call,
    Corner,
    Literal,
    Node,
    Omitted,
    Percent,
    Place,
    Reference,
    Unary,
    Unparsed,
    Word,
)

__all__ = ["quoted_sheet", "text_of"]


def quoted_sheet(name: str) -> str:
    """A sheet's name as it stands in a formula."""
    plain = re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.]*", name) and not re.fullmatch(CELL, name)
    return name if plain else "'" + name.replace("'", "''") + "'"


def _number_text(value: float) -> str:
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)


def text_of(node: Node, place: Place) -> str:
    """The tree as formula text for a cell in ``place``, without the ``=``."""
    if isinstance(node, Literal):
        value = node.value
        if isinstance(value, bool):
            return str(value).upper()
        if isinstance(value, float):
            return _number_text(value)
        return value if isinstance(value, ErrorText) else '"' + value.replace('"', '""') + '"'
    if isinstance(node, Reference):
        return _reference_text(node, place)
    if isinstance(node, (Word, Unparsed)):
        return node.text
    if isinstance(node, Omitted):
        return ""
    if isinstance(node, Unary):
        return node.sign + _bracketed(node.operand, place, SIGN_STRENGTH)
    if isinstance(node, Percent):
        return _bracketed(node.operand, place, SIGN_STRENGTH) + "%"
    if isinstance(node, Binary):
        own = STRENGTH[node.operator]
        left = _bracketed(node.left, place, own)
        return f"{left}{node.operator}{_bracketed(node.right, place, own + 1)}"
    if isinstance(node, Call):
        return f"{node.written}({','.join(text_of(a, place) for a in node.arguments)})"
    rows = (",".join(text_of(Literal(v), place) for v in row) for row in node.rows)
    return "{" + ";".join(rows) + "}"


def _bracketed(node: Node, place: Place, strength: int) -> str:
    text = text_of(node, place)
    if isinstance(node, Binary) and STRENGTH[node.operator] < strength:
        return f"({text})"
    return f"({text})" if isinstance(node, (Unary, Percent)) and strength == SIGN_STRENGTH else text


def _corner_text(corner: Corner, row: int, column: int) -> str:
    r, c = corner.at(row, column)
    return (
        f"{'$' if corner.column_fixed else ''}{column_letters(c)}"
        f"{'$' if corner.row_fixed else ''}{r}"
    )


def _reference_text(node: Reference, place: Place) -> str:
    _, row, column = place
    before = f"{quoted_sheet(node.sheet)}!" if node.sheet else ""
    if node.single:
        return before + _corner_text(node.first, row, column)
    (r1, c1), (r2, c2) = node.first.at(row, column), node.last.at(row, column)
    if (r1, r2) == (1, ROWS):
        dollars = ["$" if x.column_fixed else "" for x in (node.first, node.last)]
        return f"{before}{dollars[0]}{column_letters(c1)}:{dollars[1]}{column_letters(c2)}"
    if (c1, c2) == (1, COLUMNS):
        dollars = ["$" if x.row_fixed else "" for x in (node.first, node.last)]
        return f"{before}{dollars[0]}{r1}:{dollars[1]}{r2}"
    return f"{before}{_corner_text(node.first, row, column)}:{_corner_text(node.last, row, column)}"
