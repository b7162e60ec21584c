"""Formulas as trees: who is called with what, and how a formula reads relative to its own cell.

openpyxl's tokenizer cuts a formula into typed tokens; :func:`parse` builds a small tree from
them. References are kept as offsets from the cell that holds the formula, so that the 5,000
copies of one formula down a column share one tree (:func:`tree_of`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

__all__ = [
    "Array",
    "Binary",
    "Call",
    "Literal",
    "Node",
    "Omitted",
    "Percent",
    "Place",
    "Reference",
    "Unary",
    "Unparsed",
    "Word",
    "address",
    "column_letters",
    "column_number",
    "parse",
    "relative_form",
    "text_of",
    "tree_of",
    "walk",
]

#: (sheet, row, column), both counted from 1
Place = tuple[str, int, int]

MAX_ROW, MAX_COLUMN = 1_048_576, 16_384


def column_number(letters: str) -> int:
    """``"AB"`` -> 28."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


def column_letters(number: int) -> str:
    """28 -> ``"AB"``."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def address(row: int, column: int) -> str:
    """(3, 2) -> ``"B3"``."""
    return f"{column_letters(column)}{row}"


# --- the tree ------------------------------------------------------------------------------


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
    """The node and everything below it."""
    yield node
    if isinstance(node, Call):
        for argument in node.arguments:
            yield from walk(argument)
    elif isinstance(node, Binary):
        yield from walk(node.left)
        yield from walk(node.right)
    elif isinstance(node, (Unary, Percent)):
        yield from walk(node.operand)


# --- reading references --------------------------------------------------------------------

_CELL = r"\$?[A-Za-z]{1,3}\$?[0-9]{1,7}"
_REFERENCE = re.compile(
    rf"(?:(?P<sheet>'(?:[^']|'')+'|[^'!\[\]]+)!)?(?P<first>{_CELL}|\$?[A-Za-z]{{1,3}}|\$?[0-9]{{1,7}})"
    rf"(?::(?P<last>{_CELL}|\$?[A-Za-z]{{1,3}}|\$?[0-9]{{1,7}}))?#?"
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
    column = column_number(letters) if letters else (1, MAX_COLUMN)[whole]
    row = int(digits) if digits else (1, MAX_ROW)[whole]
    if not (1 <= column <= MAX_COLUMN and 1 <= row <= MAX_ROW):
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
    one_cell = re.fullmatch(_CELL, first_text) is not None
    if last_text is None and not one_cell:
        return Word(text)
    first = _corner(first_text, place, 0)
    last = _corner(last_text or first_text, place, 1)
    if (
        first is None
        or last is None
        or (last_text and (re.fullmatch(_CELL, last_text) is not None) != one_cell)
    ):
        return Word(text)
    if sheet.startswith("'"):
        sheet = sheet[1:-1].replace("''", "'")
    if "[" in sheet:
        return Unparsed(text)
    return Reference(sheet, first, last, last_text is None)


# --- parsing -------------------------------------------------------------------------------

_STRENGTH = {
    "=": 1, "<>": 1, "<": 1, ">": 1, "<=": 1, ">=": 1,
    "&": 2, "+": 3, "-": 3, "*": 4, "/": 4, "^": 5,
}  # fmt: skip
_SIGN_STRENGTH = 6  # a sign binds tighter than ^ in a spreadsheet: -2^2 is 4


def plain_function_name(written: str) -> str:
    """``"'C:\\x.xlam'!HOPPER_X"`` or ``"ORG.SERVICE.HOPPER_X"`` -> ``"HOPPER_X"``."""
    name = written.rpartition("!")[2].lstrip("@+").upper()
    for prefix in ("_XLFN.", "_XLWS.", "_XLL."):
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
                own = _STRENGTH.get(token.value.strip())
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
            operand = self.expression(_SIGN_STRENGTH)
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


# --- the relative form ---------------------------------------------------------------------

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


# --- back to text --------------------------------------------------------------------------


def quoted_sheet(name: str) -> str:
    """A sheet's name as it stands in a formula."""
    plain = re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.]*", name) and not re.fullmatch(_CELL, name)
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
        return value if value.startswith("#") else '"' + value.replace('"', '""') + '"'
    if isinstance(node, Reference):
        return _reference_text(node, place)
    if isinstance(node, (Word, Unparsed)):
        return node.text
    if isinstance(node, Omitted):
        return ""
    if isinstance(node, Unary):
        return node.sign + _bracketed(node.operand, place, _SIGN_STRENGTH)
    if isinstance(node, Percent):
        return _bracketed(node.operand, place, _SIGN_STRENGTH) + "%"
    if isinstance(node, Binary):
        own = _STRENGTH[node.operator]
        left = _bracketed(node.left, place, own)
        return f"{left}{node.operator}{_bracketed(node.right, place, own + 1)}"
    if isinstance(node, Call):
        return f"{node.written}({','.join(text_of(a, place) for a in node.arguments)})"
    rows = (",".join(text_of(Literal(v), place) for v in row) for row in node.rows)
    return "{" + ";".join(rows) + "}"


def _bracketed(node: Node, place: Place, strength: int) -> str:
    text = text_of(node, place)
    if isinstance(node, Binary) and _STRENGTH[node.operator] < strength:
        return f"({text})"
    return (
        f"({text})" if isinstance(node, (Unary, Percent)) and strength == _SIGN_STRENGTH else text
    )


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
    if (r1, r2) == (1, MAX_ROW):
        dollars = ["$" if x.column_fixed else "" for x in (node.first, node.last)]
        return f"{before}{dollars[0]}{column_letters(c1)}:{dollars[1]}{column_letters(c2)}"
    if (c1, c2) == (1, MAX_COLUMN):
        dollars = ["$" if x.row_fixed else "" for x in (node.first, node.last)]
        return f"{before}{dollars[0]}{r1}:{dollars[1]}{r2}"
    return f"{before}{_corner_text(node.first, row, column)}:{_corner_text(node.last, row, column)}"
