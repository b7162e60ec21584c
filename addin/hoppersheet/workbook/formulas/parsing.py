"""From a formula's text to its tree."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from ..addresses import COLUMNS, ROWS, column_number
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

__all__ = ["CELL", "SIGN_STRENGTH", "STRENGTH", "parse", "plain_function_name"]

# --- reading references --------------------------------------------------------------------

CELL = r"\$?[A-Za-z]{1,3}\$?[0-9]{1,7}"
_REFERENCE = re.compile(
    rf"(?:(?P<sheet>'(?:[^']|'')+'|[^'!\[\]]+)!)?(?P<first>{CELL}|\$?[A-Za-z]{{1,3}}|\$?[0-9]{{1,7}})"
    rf"(?::(?P<last>{CELL}|\$?[A-Za-z]{{1,3}}|\$?[0-9]{{1,7}}))?#?"
)
_CORNER = re.compile(r"(\$?)([A-Za-z]{1,3})?(\$?)([0-9]{1,7})?")


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


def _reference(text: str, place: Place) -> Node:
    match = _REFERENCE.fullmatch(text)
    if match is None:
        return Unparsed(text) if "!" in text or text.startswith("[") else Word(text)
    sheet, first_text, last_text = match["sheet"] or "", match["first"], match["last"]
    one_cell = re.fullmatch(CELL, first_text) is not None
    if last_text is None and not one_cell:
        return Word(text)
    first = _corner(first_text, place, 0)
    last = _corner(last_text or first_text, place, 1)
    if (
        first is None
        or last is None
        or (last_text and (re.fullmatch(CELL, last_text) is not None) != one_cell)
    ):
        return Word(text)
    if sheet.startswith("'"):
        sheet = sheet[1:-1].replace("''", "'")
    if "[" in sheet:
        return Unparsed(text)
    return Reference(sheet, first, last, last_text is None)


# --- parsing -------------------------------------------------------------------------------

STRENGTH = {
    "=": 1, "<>": 1, "<": 1, ">": 1, "<=": 1, ">=": 1,
    "&": 2, "+": 3, "-": 3, "*": 4, "/": 4, "^": 5,
}  # fmt: skip
SIGN_STRENGTH = 6  # a sign binds tighter than ^ in a spreadsheet: -2^2 is 4


def plain_function_name(written: str) -> str:
    """``"'C:\\x.xlam'!HOPPER_X"`` or ``"ORG.SERVICE.HOPPER_X"`` -> ``"HOPPER_X"``."""
    name = written.rpartition("!")[2].lstrip("@+").upper()
    for prefix in ("_XLFN.", "_XLWS.", "_XLL.", "_XLDUDF_"):
        name = name.removeprefix(prefix)
    at = name.rfind("HOPPER_")
    return name[at:] if at > 0 and name[at - 1] == "." else name


class _Parser:
    def __init__(self, tokens: list[Any], place: Place) -> None:
        self.tokens = [t for t in tokens if t.type != "WHITE-SPACE"]
        self.at = 0
        self.place = place

    def peek(self) -> Any:
        return self.tokens[self.at] if self.at < len(self.tokens) else None

    def next(self) -> Any:
        token = self.peek()
        self.at += 1
        return token

    def expression(self, strength: int = 0) -> Node:
        left = self.operand()
        while (token := self.peek()) is not None:
            if token.type == "OPERATOR-POSTFIX":
                self.next()
                left = Percent(left)
            elif token.type == "OPERATOR-INFIX":
                own = STRENGTH.get(token.value.strip())
                if own is None:
                    raise ValueError(f"operator {token.value!r}")
                if own <= strength:
                    break
                self.next()
                left = Binary(token.value.strip(), left, self.expression(own))
            else:
                break
        return left

    def operand(self) -> Node:
        token = self.next()
        if token is None:
            raise ValueError("formula ends early")
        if token.type == "OPERATOR-PREFIX":
            operand = self.expression(SIGN_STRENGTH)
            # "@" only narrows a range to one cell
            return operand if token.value == "@" else Unary(token.value, operand)
        if token.type == "OPERAND":
            return self._literal(token)
        if token.type == "PAREN" and token.subtype == "OPEN":
            inside = self.expression()
            closing = self.next()
            if closing is None or closing.type != "PAREN":
                raise ValueError("a bracket is not closed")
            return inside
        if token.type == "FUNC" and token.subtype == "OPEN":
            written = token.value[:-1]
            return Call(plain_function_name(written), written, tuple(self._arguments()))
        if token.type == "ARRAY" and token.subtype == "OPEN":
            return self._array()
        raise ValueError(f"unexpected {token.value!r}")

    def _literal(self, token: Any) -> Node:
        if token.subtype == "NUMBER":
            return Literal(float(token.value))
        if token.subtype == "TEXT":
            return Literal(token.value[1:-1].replace('""', '"'))
        if token.subtype == "LOGICAL":
            return Literal(token.value.upper() == "TRUE")
        if token.subtype == "ERROR":
            return Literal(token.value.upper())
        return _reference(token.value, self.place)

    def _arguments(self) -> Iterator[Node]:
        token = self.peek()
        if token is not None and token.type == "FUNC" and token.subtype == "CLOSE":
            self.next()
            return
        while True:
            token = self.peek()
            if token is None:
                raise ValueError("a call is not closed")
            ends = token.type == "SEP" or (token.type == "FUNC" and token.subtype == "CLOSE")
            yield Omitted() if ends else self.expression()
            token = self.next()
            if token is None:
                raise ValueError("a call is not closed")
            if token.type == "FUNC" and token.subtype == "CLOSE":
                return
            if token.type != "SEP":
                raise ValueError(f"unexpected {token.value!r}")

    def _array(self) -> Node:
        rows: list[tuple[Any, ...]] = []
        row: list[Any] = []
        sign = 1.0
        while (token := self.next()) is not None:
            if token.type == "ARRAY" and token.subtype == "CLOSE":
                if row:
                    rows.append(tuple(row))
                return Array(tuple(rows))
            if token.type == "SEP" and token.subtype == "ROW":
                rows.append(tuple(row))
                row = []
            elif token.type == "OPERATOR-PREFIX":
                sign = -1.0 if token.value == "-" else 1.0
            elif token.type == "OPERAND":
                literal = self._literal(token)
                value = literal.value if isinstance(literal, Literal) else None
                row.append(sign * value if isinstance(value, float) else value)
                sign = 1.0
        raise ValueError("an array is not closed")


def parse(formula: str, place: Place) -> Node:
    """The tree of a formula (with its ``=``) that stands in ``place``.

    What cannot be understood becomes :class:`Unparsed`: a foreign workbook may hold anything.
    """
    from openpyxl.formula import Tokenizer

    try:
        parser = _Parser(Tokenizer(formula).items, place)
        tree = parser.expression()
        return tree if parser.peek() is None else Unparsed(formula)
    except Exception:  # the tokenizer raises whatever it meets
        return Unparsed(formula)
