"""The cells of one sheet part: where each stands, what it holds, and new values put in place.

Cell values are float, str, bool, None (blank) or :class:`ErrorText`. Structure after ECMA-376
part 1, 18.3.1 (``c``, ``f``, ``v``, ``is``, ``row``, ``sheetData``).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field

from ..errors import InputFileError
from .safe_xml import escaped, spliced, start_tag_end, walk

__all__ = [
    "Cell",
    "ErrorText",
    "SheetScan",
    "Value",
    "cells_of",
    "computed_cells",
    "place",
    "read_cells",
    "read_values",
    "reference",
    "same_value",
    "scan_sheet",
    "shared_strings",
    "with_values",
    "without_formulas",
]

#: ECMA-376 part 1, 18.3.1.73: a sheet has 1,048,576 rows; and 16,384 columns (XFD).
ROWS, COLUMNS = 1_048_576, 16_384

_REFERENCE = re.compile(r"\$?([A-Za-z]{1,3})\$?([1-9][0-9]{0,6})\Z")
_ATTRIBUTE = re.compile(rb"""\s+([\w:.-]+)\s*=\s*("[^"]*"|'[^']*')""")
_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")
_TO_ESCAPE = re.compile("_(?=x[0-9A-Fa-f]{4}_)|[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")


class ErrorText(str):
    """An error value by its text, such as ``"#N/A"``; tells it from the same words as text."""

    __slots__ = ()


Value = float | str | bool | None


# --- places -------------------------------------------------------------------------------


def place(ref: str) -> tuple[int, int]:
    """``"B7"`` -> (7, 2).

    Raises:
        InputFileError: no cell of a sheet is called so.
    """
    match = _REFERENCE.match(ref)
    if match:
        column = 0
        for letter in match[1].upper():
            column = column * 26 + ord(letter) - 64
        row = int(match[2])
        if row <= ROWS and column <= COLUMNS:
            return row, column
    raise InputFileError(f"{ref[:30]!r} is not a cell")


def reference(row: int, column: int) -> str:
    """(7, 2) -> ``"B7"``."""
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row}"


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
class _RawRow:
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
    rows: dict[int, _RawRow]
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
        self.row: _RawRow | None = None
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
        self.row = self.scan.rows[int(text)] = _RawRow(int(text), at)

    def _start_cell(self, attributes: dict[str, str], at: int) -> None:
        row = self.row
        assert row is not None
        ref = attributes.get("r")
        if ref is None:
            ref = reference(row.number, row.cells[-1][0] + 1 if row.cells else 1)
        number, column = place(ref)
        ref = reference(number, column)
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


def _escaped(text: str) -> bytes:
    return escaped(_TO_ESCAPE.sub(lambda m: f"_x{ord(m[0]):04X}_", text))


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


# --- writing ------------------------------------------------------------------------------


def same_value(one: object, other: object) -> bool:
    """Whether two values are the same to a spreadsheet, which keeps 15 significant digits."""
    if isinstance(one, float) and isinstance(other, float):
        return one == other or f"{one:.15g}" == f"{other:.15g}"
    if isinstance(one, ErrorText) != isinstance(other, ErrorText):
        return False
    return type(one) is type(other) and one == other


def _stored_form(value: Value) -> tuple[bytes | None, bytes | None]:
    """The attribute t (None: leave it out) and the text of ``<v>`` (None: no ``<v>``)."""
    if value is None:
        return None, None
    if isinstance(value, bool):
        return b"b", b"1" if value else b"0"
    if isinstance(value, ErrorText):
        return b"e", _escaped(value)
    if isinstance(value, str):
        return b"str", _escaped(value)
    if isinstance(value, (int, float)):
        number = float(value)
        if number - number != 0.0:
            raise ValueError(f"{value!r} cannot be stored in a cell")
        text = repr(number)
        return None, (text[:-2] if text.endswith(".0") else text).encode()
    raise TypeError(f"{value!r} is no cell value")


class _Editor:
    """Collects the byte edits that put values into one sheet."""

    def __init__(self, scan: SheetScan) -> None:
        self.scan = scan
        self.edits: dict[tuple[int, int], bytes] = {}

    def _tag_name(self, at: int) -> bytes:
        name = re.compile(rb"</?([^\s/>]+)").match(self.scan.data, at)
        assert name is not None
        return name[1]

    def change(self, raw: RawCell, value: Value) -> None:
        """Replace the value of a cell that stands in the sheet."""
        data = self.scan.data
        kind, text = _stored_form(value)
        tag_end = start_tag_end(data, raw.start)
        tag = data[raw.start : tag_end]
        name = self._tag_name(raw.start)
        # vm points at what a richer program put beside the old value; it does not go with a new.
        kept = b"".join(m[0] for m in _ATTRIBUTE.finditer(tag) if m[1] not in (b"t", b"vm"))
        new_tag = b"<" + name + kept + (b' t="' + kind + b'"' if kind else b"")
        prefix = name[:-1]
        new_value = b"" if text is None else b"<%bv>%b</%bv>" % (prefix, text, prefix)
        if tag.endswith(b"/>"):
            closing = b">" + new_value + b"</" + name + b">" if new_value else b"/>"
            self.edits[raw.start, tag_end] = new_tag + closing
            return
        self.edits[raw.start, tag_end] = new_tag + b">"
        if raw.inline is not None:
            self.edits[raw.inline.start, raw.inline.end] = b""
        if raw.stored is not None:
            self.edits[raw.stored.start, raw.stored.end] = new_value
        else:
            at = raw.formula.end if raw.formula else tag_end
            self.edits[at, at] = new_value

    def add(self, values: Mapping[tuple[int, int], Value]) -> None:
        """Put cells that the sheet does not hold yet where they belong."""
        prefix = self._tag_name(self.scan.end)[: -len(b"sheetData")]
        new_rows: dict[int, bytes] = {}
        for (number, column), value in sorted(values.items()):
            kind, text = _stored_form(value)
            if text is None:
                continue
            cell = b'<%bc r="%b"%b><%bv>%b</%bv></%bc>' % (
                prefix,
                reference(number, column).encode(),
                b' t="' + kind + b'"' if kind else b"",
                prefix,
                text,
                prefix,
                prefix,
            )
            row = self.scan.rows.get(number)
            if row is None:
                new_rows[number] = new_rows.get(number, b"") + cell
            else:
                self._into_row(row, column, cell)
        later = sorted(self.scan.rows)
        for number, cells in new_rows.items():
            text = b'<%brow r="%d">%b</%brow>' % (prefix, number, cells, prefix)
            after = next((r for r in later if r > number), None)
            at = self.scan.end if after is None else self.scan.rows[after].start
            self.edits[at, at] = self.edits.get((at, at), b"") + text

    def _into_row(self, row: _RawRow, column: int, cell: bytes) -> None:
        after = next((raw for known, raw in row.cells if known > column), None)
        if after is not None:
            key = (after.start, after.start)
        elif row.end != row.start:
            key = (row.end, row.end)
        else:  # <row r="3"/> is opened to take the cell
            end = start_tag_end(self.scan.data, row.start)
            name = self._tag_name(row.start)
            key = (end - 2, end)
            before = self.edits.get(key, b"></" + name + b">")
            self.edits[key] = before[: -len(name) - 3] + cell + b"</" + name + b">"
            return
        self.edits[key] = self.edits.get(key, b"") + cell


def with_values(
    scan: SheetScan, strings: list[str], values: Mapping[str, Value]
) -> tuple[bytes, int]:
    """The sheet's XML with the given values stored in the given cells, nothing else changed.

    A cell whose stored value already is the same stays as it is, byte for byte. A cell that does
    not exist (an array formula may fill cells that the file does not list) is added.

    Returns:
        The XML, and the number of cells that changed.
    """
    editor = _Editor(scan)
    missing: dict[tuple[int, int], Value] = {}
    count = 0
    for ref, value in values.items():
        raw = scan.cells.get(ref)
        if raw is None:
            missing[place(ref)] = value
        elif not same_value(stored_value(raw, strings), value):
            editor.change(raw, value)
            count += 1
    editor.add(missing)
    return spliced(scan.data, editor.edits), count + len(missing)


def without_formulas(scan: SheetScan, refs: Collection[str]) -> bytes:
    """The sheet's XML with the formulas taken out of some cells, which keep their values.

    Where one cell of those that share a formula is named, all of them lose it.
    """
    shared = {key for ref in refs if (key := _share(scan.cells[ref])) is not None}
    return spliced(
        scan.data,
        {
            (raw.formula.start, raw.formula.end): b""
            for ref, raw in scan.cells.items()
            if raw.formula and (ref in refs or _share(raw) in shared)
        },
    )


def _share(raw: RawCell) -> str | None:
    """The number under which a cell shares its formula."""
    if raw.formula is None or raw.formula.attributes.get("t") != "shared":
        return None
    return raw.formula.attributes.get("si")
