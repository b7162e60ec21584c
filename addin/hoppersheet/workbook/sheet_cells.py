"""The cells of one sheet part: where each stands and what it holds.

Cell values are float, str, bool, None (blank) or :class:`ErrorText`. Structure after ECMA-376
part 1, 18.3.1 (``c``, ``f``, ``v``, ``is``, ``row``, ``sheetData``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from ..errors import InputFileError
from .safe_xml import start_tag_end, walk

__all__ = [
    "COLUMNS",
    "ROWS",
    "Cell",
    "ErrorText",
    "RawCell",
    "RawRow",
    "SheetScan",
    "Value",
    "cell_count",
    "cells_of",
    "column_letters",
    "column_number",
    "computed_cells",
    "place",
    "read_cells",
    "read_values",
    "reference",
    "scan_sheet",
    "shared_strings",
    "stored_value",
]

#: ECMA-376 part 1, 18.3.1.73: a sheet has 1,048,576 rows; and 16,384 columns (XFD).
ROWS, COLUMNS = 1_048_576, 16_384
#: Cells of one sheet that are taken in; each needs some 350 bytes here, whatever it holds.
MOST_CELLS = 4_000_000

_REFERENCE = re.compile(r"\$?([A-Za-z]{1,3})\$?([1-9][0-9]{0,6})\Z")
_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")


class ErrorText(str):
    """An error value by its text, such as ``"#N/A"``; tells it from the same words as text."""

    __slots__ = ()


Value = float | str | bool | None


# --- places -------------------------------------------------------------------------------


def column_number(letters: str) -> int:
    """``"AB"`` -> 28; in either case."""
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


def place(ref: str) -> tuple[int, int]:
    """``"B7"`` -> (7, 2).

    Raises:
        InputFileError: no cell of a sheet is called so.
    """
    match = _REFERENCE.match(ref)
    if match:
        column, row = column_number(match[1]), int(match[2])
        if row <= ROWS and column <= COLUMNS:
            return row, column
    raise InputFileError(f"{ref[:30]!r} is not a cell")


def reference(row: int, column: int) -> str:
    """(7, 2) -> ``"B7"``."""
    return f"{column_letters(column)}{row}"


def cell_count(area: str) -> int:
    """How many cells ``"A1:B3"`` has, 6; 0 where it is no range."""
    first, _, last = area.partition(":")
    try:
        (top, left), (bottom, right) = place(first), place(last or first)
    except InputFileError:
        return 0
    return (abs(bottom - top) + 1) * (abs(right - left) + 1)


def cells_of(area: str, most: int = 1_000_000) -> Iterator[str]:
    """Every cell of ``"A1:B3"``, row by row.

    Raises:
        InputFileError: not a range, or one of more than ``most`` cells.
    """
    first, _, last = area.partition(":")
    top, left = place(first)
    bottom, right = place(last or first)
    if (bottom - top + 1) * (right - left + 1) > most:
        raise InputFileError(f"the array formula of {area} is larger than {most} cells")
    for row in range(top, bottom + 1):
        for column in range(left, right + 1):
            yield reference(row, column)


# --- scanning -----------------------------------------------------------------------------


@dataclass
class _Span:
    """An element's bytes and text."""

    start: int
    end: int = 0
    text: str = ""
    attributes: Mapping[str, str] = field(default_factory=dict)


@dataclass
class RawCell:
    """One ``<c>`` as it stands in the file."""

    ref: str
    start: int
    kind: str  # its attribute t: "n", "s", "str", "b", "e", "inlineStr", "d"
    formula: _Span | None = None
    stored: _Span | None = None
    inline: _Span | None = None


@dataclass
class RawRow:
    """A row and its cells, in the order of their columns."""

    number: int
    start: int
    end: int = 0  # place of </row>, or of the row itself where it is <row/>
    cells: list[tuple[int, RawCell]] = field(default_factory=list)


@dataclass
class SheetScan:
    """A sheet's XML and where its rows and cells stand in it."""

    part: str
    data: bytes
    cells: dict[str, RawCell]
    rows: dict[int, RawRow]
    #: place of ``</sheetData>``
    end: int

    @property
    def arrays(self) -> dict[str, str]:
        """Top-left cell -> range, of array formulas and data tables."""
        return {
            ref: cell.formula.attributes.get("ref") or ref
            for ref, cell in self.cells.items()
            if cell.formula and cell.formula.attributes.get("t") in ("array", "dataTable")
        }


class _Scanner:
    """Builds a SheetScan while expat runs."""

    def __init__(self, part: str, data: bytes) -> None:
        self.scan = SheetScan(part, data, {}, {}, 0)
        self.in_data = False
        self.row: RawRow | None = None
        self.cell: RawCell | None = None
        self.span: _Span | None = None
        self.texts: list[str] = []
        self.phonetic = 0

    def start(self, tag: str, attributes: dict[str, str], at: int) -> None:
        if not self.in_data:
            self.in_data = tag == "sheetData"
        elif self.cell is not None:
            if tag in ("f", "v", "is") and self.span is None:
                self.span = _Span(at, attributes=attributes)
                self.texts = []
            elif tag == "rPh":
                self.phonetic += 1
        elif tag == "c" and self.row is not None:
            self._start_cell(attributes, at)
        elif tag == "row":
            self._start_row(attributes, at)

    def _start_row(self, attributes: dict[str, str], at: int) -> None:
        previous = self.row.number if self.row else 0
        text = attributes.get("r", str(previous + 1))
        if not text.isdecimal() or not 1 <= int(text) <= ROWS or int(text) in self.scan.rows:
            raise InputFileError(f"{self.scan.part}: row {text[:20]!r} makes no sense")
        self.row = self.scan.rows[int(text)] = RawRow(int(text), at)

    def _start_cell(self, attributes: dict[str, str], at: int) -> None:
        row = self.row
        assert row is not None
        ref = attributes.get("r")
        if ref is None:
            ref = reference(row.number, row.cells[-1][0] + 1 if row.cells else 1)
        number, column = place(ref)
        ref = reference(number, column)
        if len(self.scan.cells) >= MOST_CELLS:
            raise InputFileError(f"{self.scan.part} holds more than {MOST_CELLS} cells")
        if number != row.number or ref in self.scan.cells:
            raise InputFileError(f"{self.scan.part}: the cell {ref} stands in the wrong place")
        self.cell = RawCell(ref, at, attributes.get("t", "n"))
        self.scan.cells[ref] = self.cell
        row.cells.append((column, self.cell))

    def text(self, text: str) -> None:
        if self.span is not None and not self.phonetic:
            self.texts.append(text)

    def end(self, tag: str, at: int) -> None:
        if not self.in_data:
            return
        span, cell = self.span, self.cell
        if span is not None and cell is not None:
            if tag == "rPh":
                self.phonetic -= 1
            elif tag in ("f", "v", "is"):
                span.end = start_tag_end(self.scan.data, at)
                span.text = "".join(self.texts)
                if tag == "f":
                    cell.formula = span
                elif tag == "v":
                    cell.stored = span
                else:
                    cell.inline = span
                self.span = None
        elif tag == "c":
            self.cell = None
        elif tag == "row" and self.row is not None:
            self.row.end = at
        elif tag == "sheetData":
            self.scan.end = at
            self.in_data = False


def scan_sheet(data: bytes, part: str) -> SheetScan:
    """Find every row and cell of a sheet's UTF-8 XML.

    Raises:
        InputFileError: damaged, or with cells that cannot be.
    """
    scanner = _Scanner(part, data)
    walk(data, part, scanner.start, scanner.end, scanner.text)
    return scanner.scan


def shared_strings(data: bytes, part: str) -> list[str]:
    """The texts of a shared string table; phonetic hints are left out."""
    found: list[str] = []
    texts: list[str] = []
    depth = {"t": 0, "rPh": 0}

    def start(tag: str, _: dict[str, str], __: int) -> None:
        if tag == "si":
            texts.clear()
        elif tag in depth:
            depth[tag] += 1

    def end(tag: str, _: int) -> None:
        if tag == "si":
            found.append(_unescaped("".join(texts)))
        elif tag in depth:
            depth[tag] -= 1

    def text(piece: str) -> None:
        if depth["t"] and not depth["rPh"]:
            texts.append(piece)

    walk(data, part, start, end, text)
    return found


# --- reading ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Cell:
    """One cell.

    Attributes:
        ref: ``"B7"``.
        value: the stored value; an error is an :class:`ErrorText`.
        formula: without ``=`` and as this cell means it (a shared formula is moved here), or
            None. The cells that an array formula fills, other than its first, have none.
        spill: the range that an array formula fills, in its first cell only.
    """

    ref: str
    value: Value
    formula: str | None = None
    spill: str | None = None


def _unescaped(text: str) -> str:
    """Undo ``_x000A_`` (ECMA-376 part 1, 22.9.2.19 ST_Xstring)."""
    return _ESCAPE.sub(lambda m: chr(int(m[1], 16)), text) if "_x" in text else text


def stored_value(raw: RawCell, strings: list[str]) -> Value:
    """The value that the file holds for a cell.

    Raises:
        InputFileError: it cannot be read as what it is said to be.
    """
    if raw.inline is not None and raw.stored is None:
        return _unescaped(raw.inline.text)
    if raw.stored is None:
        return None
    text = raw.stored.text
    try:
        if raw.kind == "n":
            return float(text) if text.strip() else None
        if raw.kind == "s":
            return strings[int(text)]
        if raw.kind == "b":
            return bool(int(text))
    except (ValueError, IndexError):
        raise InputFileError(f"the cell {raw.ref} holds {text[:30]!r}, which is no value") from None
    text = _unescaped(text)
    return ErrorText(text) if raw.kind == "e" else text


def _formula(raw: RawCell, masters: Mapping[str, RawCell]) -> str | None:
    span = raw.formula
    if span is None:
        return None
    text = _unescaped(span.text)
    if text or span.attributes.get("t") != "shared":
        return text
    master = masters.get(span.attributes.get("si", ""))
    if master is None or master.formula is None:
        raise InputFileError(f"the cell {raw.ref} shares a formula that the sheet does not hold")
    from openpyxl.formula.translate import Translator

    whole = Translator("=" + _unescaped(master.formula.text), origin=master.ref)
    return str(whole.translate_formula(raw.ref))[1:]


def read_cells(scan: SheetScan, strings: list[str]) -> dict[str, Cell]:
    """``{"A1": Cell}`` of every cell that holds a value or a formula.

    Raises:
        InputFileError: a value or formula makes no sense; names the part and the cell.
    """
    masters = {
        cell.formula.attributes.get("si", ""): cell
        for cell in scan.cells.values()
        if cell.formula and cell.formula.text and cell.formula.attributes.get("t") == "shared"
    }
    arrays = scan.arrays
    found = {}
    try:
        for ref, raw in scan.cells.items():
            formula, value = _formula(raw, masters), stored_value(raw, strings)
            if formula is not None or value is not None:
                found[ref] = Cell(ref, value, formula, arrays.get(ref))
    except InputFileError as problem:
        raise InputFileError(f"{scan.part}: {problem}") from None
    return found


def read_values(scan: SheetScan, strings: list[str]) -> dict[str, Value]:
    """``{"A1": value}``, as :func:`read_cells` but without the formulas, which takes longer."""
    found = {}
    try:
        for ref, raw in scan.cells.items():
            value = stored_value(raw, strings)
            if value is not None or raw.formula is not None:
                found[ref] = value
    except InputFileError as problem:
        raise InputFileError(f"{scan.part}: {problem}") from None
    return found


def computed_cells(scan: SheetScan) -> list[str]:
    """Every cell with a formula or filled by an array formula, in the order of the file."""
    found = dict.fromkeys(ref for ref, raw in scan.cells.items() if raw.formula)
    for area in scan.arrays.values():
        found.update(dict.fromkeys(cells_of(area)))
    return list(found)
