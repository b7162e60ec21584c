"""What the cells of one sheet part hold: values and formulas.

Cell values are float, str, bool, None (blank) or :class:`ErrorText`.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from ..errors import InputFileError
from .addresses import cells_of, row_column
from .copies import moved
from .safe_xml import walk
from .sheet_scan import RawCell, SheetScan

__all__ = [
    "Cell",
    "ErrorText",
    "Value",
    "Values",
    "computed_cells",
    "finite",
    "read_cells",
    "read_values",
    "serial",
    "shared_strings",
    "stored_value",
    "unescaped",
]

_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")


class ErrorText(str):
    """An error value by its text, such as ``"#N/A"``; tells it from the same words as text."""

    __slots__ = ()


Value = float | str | bool | None
#: sheet -> address -> value
Values = dict[str, dict[str, Value]]


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
            found.append(unescaped("".join(texts)))
        elif tag in depth:
            depth[tag] -= 1

    def text(piece: str) -> None:
        if depth["t"] and not depth["rPh"]:
            texts.append(piece)

    walk(data, part, start, end, text)
    return found


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


def unescaped(text: str) -> str:
    """Undo ``_x000A_`` (ECMA-376 part 1, 22.9.2.19 ST_Xstring)."""
    return _ESCAPE.sub(lambda m: chr(int(m[1], 16)), text) if "_x" in text else text


_DAY_0 = datetime.datetime(1899, 12, 30)


def serial(text: str) -> float:
    """An ISO 8601 date, time or both as the number of days that a cell shows it by."""
    if re.match(r"T?\d\d:", text):
        text = f"1899-12-30T{text.removeprefix('T')}"
    moment = datetime.datetime.fromisoformat(text).replace(tzinfo=None)
    return (moment - _DAY_0) / datetime.timedelta(days=1)


def finite(text: str) -> float:
    """The number in a cell's text; "nan" and "inf" are none, whatever Python takes them for.

    Raises:
        ValueError: it is no number.
    """
    number = float(text)
    if not isfinite(number):
        raise ValueError(text)
    return number


def stored_value(raw: RawCell, strings: list[str]) -> Value:
    """The value that the file holds for a cell.

    Raises:
        InputFileError: it cannot be read as what it is said to be.
    """
    if raw.inline is not None and raw.stored is None:
        return unescaped(raw.inline.text)
    if raw.stored is None:
        return None
    text = raw.stored.text
    try:
        if raw.kind == "n":
            return finite(text) if text.strip() else None
        if raw.kind == "s":
            return strings[int(text)]
        if raw.kind == "b":
            return bool(int(text))
        if raw.kind == "d":
            return serial(text)
    except (ValueError, IndexError):
        raise InputFileError(f"the cell {raw.ref} holds {text[:30]!r}, which is no value") from None
    text = unescaped(text)
    return ErrorText(text) if raw.kind == "e" else text


def _formula(raw: RawCell, masters: Mapping[str, RawCell]) -> str | None:
    span = raw.formula
    if span is None:
        return None
    if span.attributes.get("t") == "dataTable":
        inputs = (span.attributes.get(key, "") for key in ("r1", "r2"))
        return f"TABLE({','.join(filter(None, inputs))})"
    text = unescaped(span.text)
    if text or span.attributes.get("t") != "shared":
        return text
    master = masters.get(span.attributes.get("si", ""))
    if master is None or master.formula is None:
        raise InputFileError(f"the cell {raw.ref} shares a formula that the sheet does not hold")
    (row, column), (to_row, to_column) = row_column(master.ref), row_column(raw.ref)
    return moved(unescaped(master.formula.text), to_row - row, to_column - column)


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
