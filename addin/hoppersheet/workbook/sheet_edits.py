"""New values put into the cells of one sheet part, no other byte changed."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping

from .addresses import reference, row_column
from .safe_xml import escaped, spliced, start_tag_end
from .sheet_cells import ErrorText, Value, stored_value
from .sheet_scan import RawCell, RawRow, SheetScan

__all__ = ["same_value", "with_values", "without_formulas"]

_ATTRIBUTE = re.compile(rb"""\s+([\w:.-]+)\s*=\s*("[^"]*"|'[^']*')""")
_TO_ESCAPE = re.compile("_(?=x[0-9A-Fa-f]{4}_)|[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")


def _escaped(text: str) -> bytes:
    return escaped(_TO_ESCAPE.sub(lambda m: f"_x{ord(m[0]):04X}_", text))


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

    def _into_row(self, row: RawRow, column: int, cell: bytes) -> None:
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
            missing[row_column(ref)] = value
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
