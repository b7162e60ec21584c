"""Sheets of an OpenDocument spreadsheet (.ods) as rows, with what their cells show.

OASIS OpenDocument 1.2, part 1: tables in 9.1, values of cells in 19.385, formats in 16.27. What is
read is what :mod:`.sheet_rows` reads of an .xlsx: percentages, clock times, units in formats,
merged, hidden and crossed-out cells, comments. Nothing is ever written.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from ..errors import InputFileError
from .safe_xml import as_utf8, walk
from .sheet_cells import ErrorText
from .sheet_rows import NO_VALUE, SheetRows, ShownAs

__all__ = ["MOST_BYTES", "Sheet", "opendocument_sheets"]

#: Of content.xml; a larger one is left to a quicker reader, which sees less.
MOST_BYTES = 48 * 2**20
_MOST_RATIO = 400
_MOST_CELLS = 4_000_000
_MOST_ROWS = 1_048_576
_DURATION = re.compile(r"-?P(?:(\d+)D)?T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:[.,]\d+)?)S)?")
_ACTIVE = re.compile(rb'config:name="ActiveTable"[^>]*>([^<]*)<')
_CELLS = ("table-cell", "covered-table-cell")


@dataclass
class Sheet:
    """A sheet.

    Attributes:
        name: its name.
        visible: whether it is shown.
        found: its rows.
        comments: (row, column), both from 1 -> text.
    """

    name: str
    visible: bool = True
    found: SheetRows = field(default_factory=SheetRows)
    comments: dict[tuple[int, int], str] = field(default_factory=dict)


@dataclass
class _Style:
    """What a style says itself; None where it leaves that to its parent."""

    parent: str = ""
    format_name: str | None = None
    struck: bool | None = None
    hides_sheet: bool = False


def opendocument_sheets(path: Path, name: str, shown: ShownAs) -> tuple[list[Sheet], str] | None:
    """The sheets of an .ods and the name of the one that was open; None where it is too large.

    Raises:
        InputFileError: damaged, or protected by a password.
    """
    try:
        with zipfile.ZipFile(path) as package:
            if "content.xml" not in package.namelist():
                raise InputFileError(f"{name} is not a readable workbook (no content.xml)")
            info = package.getinfo("content.xml")
            if info.file_size > MOST_BYTES:
                return None
            if info.file_size > 2**20 and info.file_size > _MOST_RATIO * info.compress_size:
                raise InputFileError(f"{name}: content.xml is packed as no spreadsheet is")
            manifest = _part(package, "META-INF/manifest.xml")
            if b"encryption-data" in manifest:
                raise InputFileError(f"{name} is protected by a password; save it without one")
            reader = _Reader(name, shown)
            for part in ("styles.xml", "content.xml"):
                data = _part(package, part)
                if data:
                    walk(as_utf8(data, part)[0], f"{name}: {part}", reader.start, reader.end,
                         reader.text)  # fmt: skip
            active = _ACTIVE.search(_part(package, "settings.xml"))
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError, NotImplementedError) as problem:
        raise InputFileError(f"{name} is not a readable workbook ({problem})") from None
    return reader.sheets, active[1].decode("utf-8", "replace") if active else ""


def _part(package: zipfile.ZipFile, part: str) -> bytes:
    if part not in package.namelist() or package.getinfo(part).file_size > MOST_BYTES:
        return b""
    return package.read(part)


_NAMES: dict[str, str] = {}


def _name(key: str) -> str:
    """An attribute's name without its namespace; "own-type" is LibreOffice's own kind of value."""
    space, _, name = key.rpartition(" ")
    own = name == "value-type" and not space.startswith("urn:oasis:")
    if len(_NAMES) < 1000:
        _NAMES[key] = "own-type" if own else name
    return "own-type" if own else name


def _plain(attributes: dict[str, str]) -> dict[str, str]:
    """Attributes by their names without namespaces."""
    return {_NAMES.get(key) or _name(key): value for key, value in attributes.items()}


class _Reader:
    """Takes the parts of a file, element by element."""

    def __init__(self, name: str, shown: ShownAs) -> None:
        self.sheets: list[Sheet] = []
        self._name, self._shown = name, shown
        self._inside: list[str] = []
        self._tables = 0  # how many of those are tables: a cell may hold one
        self._styles: dict[str, _Style] = {}
        self._formats: dict[str, str] = {}
        self._style: _Style | None = None
        self._format: list[str] | None = None
        self._format_name = ""
        self._sheet: Sheet | None = None
        self._cells = 0
        self._begin_row({})

    # --- what expat calls ---

    def start(self, tag: str, attributes: dict[str, str], _at: int) -> None:
        """An element begins."""
        plain = _plain(attributes)
        if self._sheet is not None:
            self._start_in_sheet(tag, plain)
        elif tag == "table" and self._inside[-1:] == ["spreadsheet"]:
            look = self._styles.get(plain.get("style-name", ""), _Style())
            self._sheet = Sheet(plain.get("name", ""), not look.hides_sheet)
            self._row_at = self._column_at = 0
            self._defaults: list[tuple[int, str]] = []
        else:
            self._start_style(tag, plain)
        self._inside.append(tag)
        self._tables += tag == "table"

    def end(self, tag: str, _at: int) -> None:
        """An element ends."""
        self._inside.pop()
        self._tables -= tag == "table"
        if self._sheet is not None:
            self._end_in_sheet(tag)
        elif tag == "style":
            self._style = None
        elif tag.endswith("-style") and self._format is not None:
            self._formats[self._format_name] = "".join(self._format)
            self._format = None

    def text(self, text: str) -> None:
        """Text is met."""
        if self._format is not None and self._inside[-1] == "text":
            self._format.append(f'"{text}"' if text.strip() else "")
        elif self._sheet is not None and "p" in self._inside and self._in_cell():
            self._into().append(text)
            if "annotation" not in self._inside and any(self._spans):
                self._struck = True

    def _in_cell(self) -> bool:
        return self._tables == 1 and not {*_CELLS}.isdisjoint(self._inside)

    def _into(self) -> list[str]:
        return self._comment if "annotation" in self._inside else self._text

    # --- styles ---

    def _start_style(self, tag: str, plain: dict[str, str]) -> None:
        if tag in ("number-style", "percentage-style", "currency-style", "date-style",
                   "time-style", "boolean-style"):  # fmt: skip
            self._format, self._format_name = [], plain.get("name", "")
        elif self._format is not None:
            if tag in ("number", "scientific-number", "fraction"):
                factor = plain.get("display-factor", "1")
                times = {"1000": 1, "1000000": 2}.get(factor.partition(".")[0], 0)
                self._format.append("0" + "," * times)
        elif tag == "style":
            self._style = _Style(plain.get("parent-style-name", ""), plain.get("data-style-name"))
            self._styles[plain.get("name", "")] = self._style
        elif self._style is not None and tag == "text-properties":
            for key in ("text-line-through-style", "text-line-through-type"):
                if key in plain:
                    self._style.struck = plain[key] != "none"
        elif self._style is not None and tag == "table-properties":
            self._style.hides_sheet = plain.get("display") == "false"

    def _inherited(self, name: str, what: str) -> Any:
        """What a style or one of its parents says."""
        for _ in range(20):
            style = self._styles.get(name)
            if style is None:
                return None
            value = getattr(style, what)
            if value is not None:
                return value
            name = style.parent
        return None

    # --- cells ---

    def _start_in_sheet(self, tag: str, plain: dict[str, str]) -> None:
        if self._tables > 1 or "shapes" in self._inside:
            return
        if tag == "table-column":
            self._take_column(plain)
        elif tag == "table-row":
            self._begin_row(plain)
        elif tag in _CELLS and self._inside[-1] == "table-row":
            self._begin_cell(plain)
        elif tag == "p" and self._into():
            self._into().append("\n")
        elif tag == "span":
            self._spans.append(bool(self._inherited(plain.get("style-name", ""), "struck")))
        elif tag == "s":
            self._into().append(" " * min(_count(plain, "c"), 100))
        elif tag in ("tab", "line-break"):
            self._into().append("\t" if tag == "tab" else "\n")

    def _end_in_sheet(self, tag: str) -> None:
        assert self._sheet is not None
        if tag == "table" and self._inside[-1:] == ["spreadsheet"]:
            self.sheets.append(self._sheet)
            self._sheet = None
        elif self._tables > 1 or "shapes" in self._inside:
            return
        elif tag == "span" and self._spans:
            self._spans.pop()
        elif tag in _CELLS and self._inside[-1] == "table-row":
            self._end_cell()
        elif tag == "table-row":
            self._end_row()

    def _take_column(self, plain: dict[str, str]) -> None:
        assert self._sheet is not None
        count = _count(plain, "number-columns-repeated")
        if plain.get("visibility", "visible") != "visible" and count < 1000:
            columns = range(self._column_at, self._column_at + count)
            self._sheet.found.hidden_columns.extend(columns)
        self._column_at += count
        self._defaults.append((self._column_at, plain.get("default-cell-style-name", "")))

    def _begin_row(self, plain: dict[str, str]) -> None:
        self._row: list[Any] = []
        self._blanks = 0
        self._repeat_row = _count(plain, "number-rows-repeated")
        self._row_style = plain.get("default-cell-style-name", "")
        self._hidden = plain.get("visibility", "visible") != "visible"
        self._text: list[str] = []
        self._comment: list[str] = []
        self._spans: list[bool] = []
        self._cell: dict[str, str] = {}
        self._struck = False
        self._struck_at: list[int] = []

    def _begin_cell(self, plain: dict[str, str]) -> None:
        self._cell = plain
        self._text, self._comment, self._spans, self._struck = [], [], [], False

    def _end_cell(self) -> None:
        assert self._sheet is not None
        plain, found = self._cell, self._sheet.found
        at = len(self._row) + self._blanks
        rows, columns = (_count(plain, f"number-{what}-spanned") for what in ("rows", "columns"))
        if rows > 1 or columns > 1:
            found.merged.append((self._row_at, at, rows, columns))
        if self._comment:
            self._sheet.comments[self._row_at + 1, at + 1] = "".join(self._comment)
        style = plain.get("style-name") or self._row_style or self._default_style(at)
        value = self._value(plain, style)
        repeated = _count(plain, "number-columns-repeated")
        if value is None:
            self._blanks += repeated
            return
        self._row.extend([None] * self._blanks + [value] * min(repeated, 16_384))
        self._blanks = 0
        if self._struck or self._inherited(style, "struck"):
            self._struck_at.extend(range(at, len(self._row)))

    def _end_row(self) -> None:
        assert self._sheet is not None
        rows = self._sheet.found.rows
        if self._row:
            count = min(self._repeat_row, _MOST_ROWS)
            self._cells += count * len(self._row) + self._row_at - len(rows)
            if self._cells > _MOST_CELLS or self._row_at > _MOST_ROWS:
                raise InputFileError(
                    f"{self._name}: more than {_MOST_CELLS:,} cells; save the list as .xlsx or .csv"
                )
            rows.extend([] for _ in range(self._row_at - len(rows)))
            rows.extend(list(self._row) for _ in range(count))
            self._sheet.found.struck.extend(
                (row, at) for row in range(self._row_at, len(rows)) for at in self._struck_at
            )
        if self._hidden and self._repeat_row < 10_000:
            last = self._row_at + self._repeat_row
            self._sheet.found.hidden_rows.extend(range(self._row_at, last))
        self._row_at += self._repeat_row
        self._begin_row({})

    def _default_style(self, at: int) -> str:
        return next((style for end, style in self._defaults if at < end), "")

    def _value(self, plain: dict[str, str], style: str) -> Any:
        """A cell as :func:`~.sheet_rows.sheet_rows` gives it."""
        kind = plain.get("value-type", "")
        text = "".join(self._text)
        if plain.get("own-type") == "error":
            return ErrorText(text)
        try:
            if kind == "percentage":
                return self._shown.percent(float(plain["value"]))
            if kind in ("float", "currency"):
                number = float(plain["value"])
                if number in (0.0, 1.0) and text.isalpha():
                    return bool(number)  # what Calc makes of TRUE in an .xlsx
                return self._number(number, style)
            if kind == "boolean":
                return plain["boolean-value"] == "true"
            if kind == "date":
                return datetime.fromisoformat(plain["date-value"].partition(".")[0])
            if kind == "time":
                days, hours, minutes, seconds = (
                    float((part or "0").replace(",", "."))
                    for part in _DURATION.fullmatch(plain["time-value"]).groups()  # type: ignore[union-attr]
                )
                seconds += days * 86_400 + hours * 3_600 + minutes * 60
                return self._shown.clock(seconds / 86_400)
        except (KeyError, ValueError, AttributeError):
            return text or None
        if "formula" in plain and not kind and not text:
            assert self._sheet is not None
            self._sheet.found.without_value += 1
            return NO_VALUE
        return text or plain.get("string-value") or None

    def _number(self, number: float, style: str) -> float:
        name = self._inherited(style, "format_name")
        code = self._formats.get(name or "", "")
        if '"' in code and self._shown.with_text is not None:
            return self._shown.with_text(number, code)
        return number


def _count(plain: dict[str, str], name: str) -> int:
    text = plain.get(name)
    if text is None:
        return 1
    return int(text) if text.isdigit() and 0 < int(text) <= 2**24 else 1
