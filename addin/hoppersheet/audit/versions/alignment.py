"""Which row and column of an old sheet is which of the new one, when some came or went."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher

from ...workbook.addresses import COLUMNS, ROWS
from ...workbook.book import Book, Sheet
from ...workbook.formulas import Binary, Call, Node, Percent, Place, Reference, Unary

__all__ = ["Alignment", "align"]


@dataclass
class Alignment:
    """Old row -> new row and old column -> new column of each sheet that both books have."""

    rows: dict[str, dict[int, int]]
    columns: dict[str, dict[int, int]]

    def place(self, old: Place) -> Place | None:
        """Where a cell is now; None where its row, column or sheet is gone."""
        sheet, row, column = old
        new_row = self.rows.get(sheet, {}).get(row)
        new_column = self.columns.get(sheet, {}).get(column)
        return None if new_row is None or new_column is None else (sheet, new_row, new_column)

    def meaning(self, node: Node, place: Place, moved: bool) -> object:
        """A formula with its references as places of the new book, to be compared.

        Args:
            node, place: the formula's tree and its cell.
            moved: whether it is one of the old book, so that its references have to be moved.
        """
        if isinstance(node, Reference):
            sheet, r1, c1, r2, c2 = node.at(place)
            if not moved:
                return (sheet, r1, c1, r2, c2)
            rows, columns = self.rows.get(sheet, {}), self.columns.get(sheet, {})
            row = [r if r == ROWS else rows.get(r, r) for r in (r1, r2)]
            column = [c if c == COLUMNS else columns.get(c, c) for c in (c1, c2)]
            return (sheet, row[0], column[0], row[1], column[1])
        if isinstance(node, Call):
            return (node.name, *(self.meaning(a, place, moved) for a in node.arguments))
        if isinstance(node, Binary):
            left = self.meaning(node.left, place, moved)
            return (node.operator, left, self.meaning(node.right, place, moved))
        if isinstance(node, (Unary, Percent)):
            return (type(node).__name__, self.meaning(node.operand, place, moved))
        return node


def _row_keys(sheet: Sheet, last: int) -> list[object]:
    keys: list[object] = []
    for row in range(1, last + 1):
        cells = sheet.rows.get(row, [])
        text = next((c.value for c in cells if c.typed and isinstance(c.value, str)), "")
        keys.append((text, tuple(c.place[2] for c in cells if c.formula)))
    return keys


def _column_keys(sheet: Sheet, last: int) -> list[object]:
    """A column is known by its first texts; headings that are formulas count by their formula."""
    keys: list[object] = []
    for column in range(1, last + 1):
        texts = [
            c.formula or c.value
            for c in sheet.columns.get(column, [])
            if isinstance(c.value, str) or c.formula
        ]
        keys.append(tuple(texts[:1]))
    return keys


def _matched(old: list[object], new: list[object]) -> dict[int, int]:
    """Old number -> new number, both from 1; rows that only changed keep their order."""
    if len(old) == len(new) and sum(a == b for a, b in zip(old, new, strict=True)) * 2 >= len(old):
        return {at: at for at in range(1, len(old) + 1)}
    found: dict[int, int] = {}
    for kind, a1, a2, b1, b2 in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if kind in ("equal", "replace"):
            for a, b in zip(range(a1, a2), range(b1, b2), strict=False):
                found[a + 1] = b + 1
    return found


def align(old: Book, new: Book) -> Alignment:
    """Match the rows and columns of two versions of a workbook, sheet by sheet."""
    found = Alignment({}, {})
    for name, sheet in old.sheets.items():
        other = new.sheets.get(name)
        if other is None:
            continue
        found.rows[name] = _matched(
            _row_keys(sheet, sheet.max_row), _row_keys(other, other.max_row)
        )
        found.columns[name] = _matched(
            _column_keys(sheet, sheet.max_column), _column_keys(other, other.max_column)
        )
    return found
