"""Where the rows and cells of one sheet part stand in its XML.

Structure after ECMA-376 part 1, 18.3.1 (``c``, ``f``, ``v``, ``is``, ``row``, ``sheetData``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..errors import InputFileError
from .addresses import ROWS, reference, row_column
from .safe_xml import start_tag_end, walk

__all__ = [
    "MOST_CELLS", "NARROW_COLUMN", "THIN_ROW", "RawCell", "RawRow", "SheetScan", "scan_sheet",
    "size_of",
]  # fmt: skip

#: Cells of one sheet that are taken in; each needs some 350 bytes here, whatever it holds.
MOST_CELLS = 4_000_000

#: A row lower than this (points), a column narrower (signs) shows nothing; a judgment.
THIN_ROW, NARROW_COLUMN = 2.0, 0.5


def size_of(text: str | None, usual: float) -> float:
    """A height, width or font size in a file; the usual one where none is given."""
    try:
        return usual if text is None else float(text)
    except ValueError:
        return usual


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
    style: int = 0  # its attribute s: place in the list of cell formats
    spills: bool = False  # it has the mark of a formula whose result spills
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
    #: places behind ``<sheetData>`` and of ``</sheetData>``
    begin: int = 0
    end: int = 0
    hidden_rows: set[int] = field(default_factory=set)
    thin_rows: set[int] = field(default_factory=set)

    @property
    def surroundings(self) -> bytes:
        """The sheet's XML without its rows: columns, validations, links, ..."""
        return self.data[: self.begin] + self.data[max(self.begin, self.end) :]

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
        self.scan = SheetScan(part, data, {}, {})
        self.in_data = False
        self.row: RawRow | None = None
        self.cell: RawCell | None = None
        self.span: _Span | None = None
        self.texts: list[str] = []
        self.phonetic = 0

    def start(self, tag: str, attributes: dict[str, str], at: int) -> None:
        if not self.in_data:
            if tag == "sheetData":
                self.in_data = True
                self.scan.begin = start_tag_end(self.scan.data, at)
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
        if attributes.get("hidden") in ("1", "true"):
            self.scan.hidden_rows.add(self.row.number)
        elif size_of(attributes.get("ht"), THIN_ROW) < THIN_ROW:
            self.scan.thin_rows.add(self.row.number)

    def _start_cell(self, attributes: dict[str, str], at: int) -> None:
        row = self.row
        assert row is not None
        ref = attributes.get("r")
        if ref is None:
            ref = reference(row.number, row.cells[-1][0] + 1 if row.cells else 1)
        number, column = row_column(ref)
        ref = reference(number, column)
        if len(self.scan.cells) >= MOST_CELLS:
            raise InputFileError(f"{self.scan.part} holds more than {MOST_CELLS} cells")
        if number != row.number or ref in self.scan.cells:
            raise InputFileError(f"{self.scan.part}: the cell {ref} stands in the wrong place")
        style = attributes.get("s", "0")
        self.cell = RawCell(
            ref,
            at,
            attributes.get("t", "n"),
            int(style) if style.isdecimal() else 0,
            # ECMA-376 part 1, 18.3.1.4 cm; no other cell metadata than this is in use
            "cm" in attributes,
        )
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
