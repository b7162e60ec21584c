"""From a formula's text to its tree.

Grammar after ECMA-376 part 1, 18.17.2 (SpreadsheetML formulas): English names, arguments separated
by commas, the rows of an array by semicolons.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

from ..addresses import COLUMNS, ROWS, column_number
from ..sheet_cells import ErrorText
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
)

__all__ = ["CELL", "SIGN_STRENGTH", "STRENGTH", "parse", "plain_function_name", "tree_of"]

# --- words ---------------------------------------------------------------------------------

CELL = r"\$?[A-Za-z]{1,3}\$?[0-9]{1,7}"
_ENDS = r"(?![\w.(!\[])"
#: A sheet before a cell, a file before a sheet or a function: all up to the exclamation mark.
_BEFORE = r"(?:'(?:[^']|'')+'!|(?:\[[^\]]*\])?[\w.?\\]*(?::[\w.?\\]+)?!)"
_TABLE = r"\[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\]"
_TOKEN = re.compile(
    rf"""
    (?P<sign><=|>=|<>|[-+*/^&=<>%,;(){{}}@])  # the most of all, and nothing else begins with these
    | (?P<space>[ \t\r\n]+)
    | (?P<text>"(?:[^"]|"")*")
    | (?P<cells>(?P<sheet>{_BEFORE})??
        (?P<first>{CELL}|\$?[A-Za-z]{{1,3}}(?=:)|\$?[0-9]{{1,7}}(?=:))
        (?::(?P<last>{CELL}|\$?[A-Za-z]{{1,3}}|\$?[0-9]{{1,7}}))?{_ENDS}(?P<spilled>\#)?)
    | (?P<number>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?)(?![\w.])
    | (?P<name>(?:{_BEFORE})??(?:[^\W\d]|\\)[\w.?\\]*(?:{_TABLE})?)(?P<opens>\()?
    | (?P<table>{_TABLE})
    | (?P<error>(?:{_BEFORE})?\#(?:REF!(?:{CELL}(?::{CELL})?)?|[A-Z][A-Z_/0-9]*[!?]?))
    | (?P<colon>:)
    """,
    re.VERBOSE | re.DOTALL,
)
_CORNER = re.compile(r"(\$?)([A-Za-z]{1,3})?(\$?)([0-9]{1,7})?")
_ONE_CELL = re.compile(CELL)


#: The group that matched last -> what the word is.
_KINDS = {
    "sheet": "cells",
    "first": "cells",
    "last": "cells",
    "spilled": "cells",
    "opens": "call",
    "colon": "sign",
}


class _Token(NamedTuple):
    kind: str
    value: str
    match: re.Match[str]


def _tokens(formula: str, begin: int) -> Iterator[_Token]:
    at = begin
    while at < len(formula):
        match = _TOKEN.match(formula, at)
        if match is None or match.end() == at:
            raise ValueError(f"unexpected {formula[at]!r}")
        kind = str(match.lastgroup)
        if kind != "space":
            yield _Token(_KINDS.get(kind, kind), match[0], match)
        at = match.end()


def _corner(text: str, place: Place, whole: int) -> Corner | None:
    """``whole``: 0 for the first, 1 for the last corner, where a column or row is left open."""
    match = _CORNER.fullmatch(text)
    if match is None:
        return None
    before_column, letters, before_row, digits = match.groups()
    if letters is None:  # a whole row: "$3" matches the first dollar
        before_row = before_row or before_column
    column_fixed = letters is None or before_column == "$"
    row_fixed = digits is None or before_row == "$"
    column = column_number(letters) if letters else (1, COLUMNS)[whole]
    row = int(digits) if digits else (1, ROWS)[whole]
    if not (1 <= column <= COLUMNS and 1 <= row <= ROWS):
        return None
    return Corner(
        row if row_fixed else row - place[1],
        column if column_fixed else column - place[2],
        row_fixed,
        column_fixed,
    )


def _reference(match: re.Match[str], place: Place) -> Node:
    text = match["cells"]
    sheet, first_text, last_text = match["sheet"] or "", match["first"], match["last"]
    one_cell = _ONE_CELL.fullmatch(first_text) is not None
    if last_text is None and not one_cell:
        return Word(text)
    first = _corner(first_text, place, 0)
    last = _corner(last_text or first_text, place, 1)
    if (
        first is None
        or last is None
        or (last_text and (_ONE_CELL.fullmatch(last_text) is not None) != one_cell)
    ):
        return Word(text)
    sheet = sheet.removesuffix("!")
    if sheet.startswith("'"):
        sheet = sheet[1:-1].replace("''", "'")
    # Another workbook, or all sheets from one to another: no sheet's name holds these signs.
    # "A1#" is what spills from A1; files write it as a function.
    if "[" in sheet or ":" in sheet or match["spilled"]:
        return Unparsed(text)
    return Reference(sheet, first, last, last_text is None)


# --- parsing -------------------------------------------------------------------------------

STRENGTH = {
    "=": 1, "<>": 1, "<": 1, ">": 1, "<=": 1, ">=": 1,
    "&": 2, "+": 3, "-": 3, "*": 4, "/": 4, "^": 5, ":": 8,
}  # fmt: skip
SIGN_STRENGTH = 6  # a sign binds tighter than ^ in a spreadsheet: -2^2 is 4


@lru_cache(maxsize=5_000)
def plain_function_name(written: str) -> str:
    """``"'C:\\x.xlam'!HOPPER_X"`` or ``"ORG.SERVICE.HOPPER_X"`` -> ``"HOPPER_X"``."""
    name = written.rpartition("!")[2].lstrip("@+").upper()
    for prefix in ("_XLFN.", "_XLWS.", "_XLL.", "_XLDUDF_"):
        name = name.removeprefix(prefix)
    at = name.rfind("HOPPER_")
    return name[at:] if at > 0 and name[at - 1] == "." else name


class _Parser:
    def __init__(self, formula: str, place: Place) -> None:
        self.tokens = list(_tokens(formula, formula.startswith("=")))
        self.at = 0
        self.place = place

    def peek(self) -> str:
        """The sign that comes next, "" at the end or before anything else."""
        if self.at < len(self.tokens) and self.tokens[self.at].kind == "sign":
            return self.tokens[self.at].value
        return ""

    @property
    def ended(self) -> bool:
        return self.at >= len(self.tokens)

    def next(self) -> _Token:
        if self.ended:
            raise ValueError("formula ends early")
        self.at += 1
        return self.tokens[self.at - 1]

    def expression(self, strength: int = 0) -> Node:
        left = self.operand()
        while sign := self.peek():
            if sign == "%":
                self.next()
                left = Percent(left)
                continue
            own = STRENGTH.get(sign)
            if own is None or own <= strength:
                break
            self.next()
            left = Binary(sign, left, self.expression(own))
        return left

    def operand(self) -> Node:
        token = self.next()
        kind, value = token.kind, token.value
        if kind == "cells":
            return _reference(token.match, self.place)
        if kind == "call":
            written = token.match["name"]
            return Call(plain_function_name(written), written, tuple(self._arguments()))
        if kind == "sign":
            return self._after_sign(value)
        if kind in ("name", "table"):
            return self._word(value)
        return _literal(kind, value)

    def _after_sign(self, sign: str) -> Node:
        if sign in "+-":
            return Unary(sign, self.expression(SIGN_STRENGTH))
        if sign == "@":  # only narrows a range to one cell
            return self.expression(SIGN_STRENGTH)
        if sign == "(":
            inside = self.expression()
            if self.next().value != ")":
                raise ValueError("a bracket is not closed")
            return inside
        if sign == "{":
            return self._array()
        raise ValueError(f"unexpected {sign!r}")

    def _word(self, text: str) -> Node:
        if text.upper() in ("TRUE", "FALSE"):
            return Literal(text.upper() == "TRUE")
        return Unparsed(text) if "!" in text else Word(text)

    def _arguments(self) -> Iterator[Node]:
        if self.peek() == ")":
            self.next()
            return
        while True:
            yield Omitted() if self.peek() in (",", ")") else self.expression()
            token = self.next()
            if token.kind != "sign" or token.value not in (",", ")"):
                raise ValueError(f"unexpected {token.value!r}")
            if token.value == ")":
                return

    def _array(self) -> Node:
        rows: list[tuple[Any, ...]] = []
        row: list[Any] = []
        sign = 1.0
        while True:
            token = self.next()
            if token.value in ("}", ";") and token.kind == "sign":
                rows.append(tuple(row))
                row = []
                if token.value == "}":
                    return Array(tuple(rows))
            elif token.value in ("-", "+"):
                sign = -1.0 if token.value == "-" else 1.0
            elif token.value != ",":
                literal = self._word(token.value) if token.kind == "name" else None
                literal = literal or _literal(token.kind, token.value)
                value = literal.value if isinstance(literal, Literal) else None
                row.append(sign * value if type(value) is float else value)
                sign = 1.0


def _literal(kind: str, value: str) -> Literal:
    if kind == "number":
        return Literal(float(value))
    if kind == "text":
        return Literal(value[1:-1].replace('""', '"'))
    if kind == "error":
        return Literal(ErrorText("#REF!" if "#REF!" in value.upper() else value.upper()))
    raise ValueError(f"unexpected {value!r}")


def parse(formula: str, place: Place) -> Node:
    """The tree of a formula (with its ``=``) that stands in ``place``.

    What cannot be understood becomes :class:`Unparsed`: a foreign workbook may hold anything.
    """
    try:
        parser = _Parser(formula, place)
        tree = parser.expression()
        return tree if parser.ended else Unparsed(formula)
    except (ValueError, RecursionError):
        return Unparsed(formula)


_TREES: dict[str, Node] = {}
_MOST_TREES = 50_000


def tree_of(formula: str, form: str, place: Place) -> Node:
    """:func:`parse`, once per relative form, see :func:`~..copies.relative_form`."""
    tree = _TREES.get(form)
    if tree is None:
        if len(_TREES) > _MOST_TREES:
            _TREES.clear()
        tree = _TREES[form] = parse(formula, place)
    return tree
