"""The rows of one sheet as a table, with what its cells show: percent, clock times, dates.

For tables of any length: one pass of expat, nothing kept but the values. Where the place of a cell
in the file matters, :mod:`.sheet_cells` is the reader to use.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from xml.parsers import expat

from ..errors import InputFileError
from .addresses import COLUMNS, ROWS, column_number, row_column
from .package import Package
from .sheet_cells import ErrorText, finite, serial, unescaped
from .sheet_scan import MOST_CELLS
from .styles import styles_of

__all__ = [
    "NO_VALUE",
    "SheetRows",
    "ShownAs",
    "day_0",
    "kind_of_format",
    "sheet_rows",
    "text_of_format",
]

#: What stands for a formula whose value the file does not hold.
NO_VALUE = "(a formula without a stored value)"

_LITERAL = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?!h+\]|m+\]|s+\])[^\]]*\]', re.IGNORECASE)


_QUOTED = re.compile(r'"([^"]*)"|\\(.)')
_SCALED = re.compile(r"[0#?](,+)(?![0#?,])")
# A text of a shared table, and what in it says that a part is crossed out.
_SHARED = re.compile(rb"<(?:\w+:)?si\b.*?</(?:\w+:)?si>", re.DOTALL)
_STRUCK = re.compile(rb"<(?:\w+:)?strike(?:\s+val=[\"'](?:1|true)[\"'])?\s*/>")


@dataclass(frozen=True)
class ShownAs:
    """What a reader makes of a number with a format.

    Attributes:
        percent, clock: types for percentages and clock times.
        with_text: what becomes of (number, format) where the format shows a text beside it.
    """

    percent: type = float
    clock: type = float
    with_text: Callable[[float, str], float] | None = None


@dataclass
class SheetRows:
    """A sheet as rows.

    Attributes:
        rows: lists of float, str, bool, datetime, None; an error is its text.
        merged: (row, column, rows, columns) of merged cells, from 0.
        hidden_rows, hidden_columns: from 0.
        formats: column -> the first number format that is not the general one.
        without_value: how many formulas have no stored value.
        struck: (row, column) from 0 of cells that are crossed out, whole or in part.
    """

    rows: list[list[Any]] = field(default_factory=list)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    hidden_rows: list[int] = field(default_factory=list)
    hidden_columns: list[int] = field(default_factory=list)
    formats: dict[int, str] = field(default_factory=dict)
    without_value: int = 0
    struck: list[tuple[int, int]] = field(default_factory=list)


def text_of_format(code: str) -> tuple[str, float]:
    """(the text that a number format shows behind a number, what it divides the number by).

    ``0.0 "kg/h"`` gives ("kg/h", 1); ``0.0, "t/h"`` gives ("t/h", 1000).
    """
    first = code.partition(";")[0]
    text = "".join(quoted or sign for quoted, sign in _QUOTED.findall(first)).strip()
    scaled = _SCALED.search(_QUOTED.sub("", first))
    return text, 1000.0 ** len(scaled[1]) if scaled else 1.0


def _struck_strings(package: Package) -> frozenset[str]:
    """The shared texts that are crossed out, whole or in part, as cells refer to them."""
    for kind, part in package.relations(package.workbook_part).values():
        if kind == "sharedStrings" and part in package.parts:
            data = package.xml(part)
            if b"strike" not in data:
                break
            found = enumerate(_SHARED.finditer(data))
            return frozenset(str(at) for at, match in found if _STRUCK.search(match[0]))
    return frozenset()


def kind_of_format(code: str) -> str:
    """ "percent", "clock", "date" or "" of a number format."""
    plain = _LITERAL.sub("", code.partition(";")[0]).lower()
    if "%" in plain:
        return "percent"
    if re.search(r"[yd]|mmm", plain):
        return "date"
    if "h" in plain or re.search(r"m+:s|\[[ms]+\]", plain):
        return "clock"
    return ""


def day_0(package: Package) -> datetime:
    """The day from which the dates of a workbook are counted."""
    from_1904 = any(
        element.tag == "workbookPr" and element.attributes.get("date1904", "0") in ("1", "true")
        for element in package.elements(package.workbook_part)
    )
    return datetime(1904, 1, 1) if from_1904 else datetime(1899, 12, 30)


def sheet_rows(package: Package, sheet: str, shown: ShownAs = ShownAs()) -> SheetRows:
    """Read the sheet called ``sheet`` (KeyError if there is none).

    Raises:
        InputFileError: the part is damaged, or larger than a list can be.
    """
    part = next((s.part for s in package.sheets if s.name == sheet), None)
    if part is None:
        raise KeyError(sheet)
    styles = styles_of(package)
    formats = [style.number_format for style in styles]
    struck = frozenset(str(at) for at, style in enumerate(styles) if style.struck)
    kinds = [kind_of_format(code) for code in formats]
    epoch = day_0(package)
    with package.naming_file():
        reader = _Reader(part, package.strings, formats, kinds, epoch, shown)
        reader.struck, reader.struck_strings = struck, _struck_strings(package)
        return reader.read(package.xml(part))


class _Reader:
    """Builds a SheetRows while expat runs."""

    def __init__(
        self, part: str, strings: list[str], formats: list[str], kinds: list[str],
        epoch: datetime, shown: ShownAs,
    ) -> None:  # fmt: skip
        self.part, self.strings, self.formats, self.kinds = part, strings, formats, kinds
        self.epoch, self.shown = epoch, shown
        if shown.with_text is not None:
            self.kinds = [
                kind or ("text" if text_of_format(code)[0] else "")
                for kind, code in zip(kinds, formats)  # noqa: B905 Python 3.9
            ]
        self.struck: frozenset[str] = frozenset()
        self.struck_strings: frozenset[str] = frozenset()
        self.found = SheetRows()
        self.count = 0

    def read(self, data: bytes) -> SheetRows:
        found, formats = self.found, self.formats
        struck, struck_strings = self.struck, self.struck_strings
        rows = found.rows
        short: dict[str, str] = {}
        columns: dict[str, int] = {}
        row: list[Any] = []
        texts: list[str] = []
        number = at = 0
        kind = style = ""
        wanted = has_formula = False
        phonetic = 0

        def start(tag: str, attributes: dict[str, str]) -> None:
            nonlocal row, number, at, kind, style, wanted, has_formula, phonetic
            name = short.get(tag) or short.setdefault(tag, tag.rpartition(" ")[2])
            if name == "c":
                ref = attributes.get("r")
                if ref is None:
                    at += 1
                else:
                    letters = ref.rstrip("0123456789")
                    at = columns.get(letters) or columns.setdefault(letters, column_number(letters))
                    if not 1 <= at <= COLUMNS:
                        raise InputFileError(f"{self.part}: {ref[:30]!r} is not a cell")
                kind, style = attributes.get("t", "n"), attributes.get("s", "")
                texts.clear()
                has_formula = False
            elif name == "v" or name == "t":
                wanted = not phonetic
            elif name == "f":
                has_formula = True
            elif name == "rPh":
                phonetic += 1
            elif name == "row":
                text = attributes.get("r", "")
                number = int(text) if text.isdecimal() else number + 1
                if not len(rows) < number <= ROWS:
                    raise InputFileError(f"{self.part}: row {text[:20]!r} makes no sense")
                if attributes.get("hidden") in ("1", "true"):
                    found.hidden_rows.append(number - 1)
                row, at = [], 0
            elif name == "mergeCell":
                first, _, last = attributes.get("ref", "").partition(":")
                (top, left), (bottom, right) = row_column(first), row_column(last or first)
                found.merged.append((top - 1, left - 1, bottom - top + 1, right - left + 1))
            elif name == "strike" and attributes.get("val", "1") in ("1", "true"):
                found.struck.append((number - 1, at - 1))  # in a text that its cell holds
            elif name == "col" and attributes.get("hidden") in ("1", "true"):
                first_at, last_at = int(attributes.get("min", 1)), int(attributes.get("max", 1))
                found.hidden_columns.extend(range(first_at - 1, min(last_at, first_at + 200)))

        def text(piece: str) -> None:
            if wanted:
                texts.append(piece)

        def end(tag: str) -> None:
            nonlocal wanted, phonetic
            name = short.get(tag, "")
            if name == "c":
                if texts:
                    value: Any = texts[0] if len(texts) == 1 else "".join(texts)
                    if style in struck or (kind == "s" and value in struck_strings):
                        found.struck.append((number - 1, at - 1))
                    value = self.value(value, kind, style)
                elif has_formula:
                    value = NO_VALUE
                    found.without_value += 1
                else:
                    return
                gap = at - len(row)
                if gap > 1:
                    row.extend([None] * (gap - 1))
                elif gap < 1:
                    raise InputFileError(f"{self.part}: a cell of row {number} stands twice")
                row.append(value)
                self.count += 1
                if style and value is not None and at - 1 not in found.formats:
                    code = (
                        formats[int(style)] if style.isdigit() and int(style) < len(formats) else ""
                    )
                    if code and code.lower() != "general" and not isinstance(value, str):
                        found.formats[at - 1] = code
            elif name == "v" or name == "t":
                wanted = False
            elif name == "rPh":
                phonetic -= 1
            elif name == "row" and row:
                if self.count > 3 * MOST_CELLS:
                    raise InputFileError(f"{self.part} holds more than {3 * MOST_CELLS} cells")
                while len(rows) < number - 1:
                    rows.append([])
                rows.append(row)

        parser = expat.ParserCreate("utf-8", " ")
        parser.buffer_text = True

        def refuse(*_: object) -> None:
            raise InputFileError(
                f"{self.part} holds a document type declaration, which no workbook does"
            )

        parser.StartDoctypeDeclHandler = refuse
        parser.StartElementHandler = start
        parser.EndElementHandler = end
        parser.CharacterDataHandler = text
        try:
            parser.Parse(data, True)
        except expat.ExpatError as problem:
            raise InputFileError(f"{self.part} is damaged: {problem}") from None
        return found

    def value(self, text: str, kind: str, style: str) -> Any:
        if kind == "s":
            try:
                return self.strings[int(text)]
            except (ValueError, IndexError):
                raise InputFileError(f"{self.part}: {text[:30]!r} is no shared text") from None
        if kind == "n":
            try:
                number = finite(text)
            except ValueError:
                raise InputFileError(
                    f"{self.part} holds {text[:30]!r}, which is no number"
                ) from None
            shown_as = (
                self.kinds[int(style)] if style.isdigit() and int(style) < len(self.kinds) else ""
            )
            if not shown_as:
                return number
            if shown_as == "percent":
                return self.shown.percent(number)
            if shown_as == "clock":
                return self.shown.clock(number)
            if shown_as == "date":
                try:
                    return self.epoch + timedelta(days=round(number * 86_400) / 86_400)
                except OverflowError:
                    return number
            if shown_as == "text" and self.shown.with_text is not None:
                return self.shown.with_text(number, self.formats[int(style)])
            return number
        if kind == "b":
            return text.strip() not in ("0", "false")
        if kind == "e":
            return ErrorText(text)
        if kind == "d":
            try:
                return self.epoch + timedelta(days=serial(text))
            except ValueError:
                return text
        return unescaped(text)
