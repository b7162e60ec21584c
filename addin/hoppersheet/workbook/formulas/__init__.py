"""Formulas as trees: who is called with what, and how a formula reads relative to its own cell.

References are kept as offsets from the cell that holds the formula, so that the 5,000 copies of
one formula down a column share one tree (:func:`tree_of`).
"""

from __future__ import annotations

# Here a "reference" is a part of a formula; what names one cell is its address.
from ..addresses import reference as address
from .parsing import parse, plain_function_name, tree_of
from .tree import (
    Array,
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
    let_body,
    walk,
)
from .writing import quoted_sheet, text_of

__all__ = [
    "Array", "Binary", "Call", "Corner", "Literal", "Node", "Omitted", "Percent", "Place",
    "Reference", "Unary", "Unparsed", "Word", "address", "let_body", "parse", "plain_function_name",
    "quoted_sheet", "text_of", "tree_of", "walk",
]  # fmt: skip
