"""Which row and column of an old sheet is which of the new one, when some came or went."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from dataclasses import dataclass, field

from ...workbook.addresses import COLUMNS, ROWS
from ...workbook.book import Book, Sheet
from ...workbook.formulas import Binary, Call, Node, Percent, Place, Reference, Unary

__all__ = ["Alignment", "align"]


_LEAST_TEXTS = 4  # in common, of a sheet that was renamed
_SAME_SHEET = 0.6  # of all texts of both
_LEAST_TYPED = 6  # figures of a line that may be told to be another one
_STILL_SAME = 0.4  # of them, such as quantity and hours, may be as they were
_LONG = 20_000  # rows of a range beyond which only its ends are looked at


@dataclass
class Alignment:
    """Which row, column and sheet of the old book is which of the new one.

    Attributes:
        rows, columns: old sheet -> old number -> new number.
        renamed: old sheet -> what it is called now, where it has another name.
        replaced: old sheet -> rows in whose place another line stands now; columns alike.
    """

    rows: dict[str, dict[int, int]] = field(default_factory=dict)
    columns: dict[str, dict[int, int]] = field(default_factory=dict)
    renamed: dict[str, str] = field(default_factory=dict)
    replaced_rows: dict[str, set[int]] = field(default_factory=dict)
    replaced_columns: dict[str, set[int]] = field(default_factory=dict)
    _back: dict[str, tuple[dict[int, int], dict[int, int]]] = field(default_factory=dict)

    def sheet(self, old: str) -> str:
        """What a sheet is called now."""
        return self.renamed.get(old, old)

    def old_sheet(self, new: str) -> str:
        """What a sheet was called."""
        return next((old for old, name in self.renamed.items() if name == new), new)

    def place(self, old: Place) -> Place | None:
        """Where a cell is now; None where its row, column or sheet is gone."""
        sheet, row, column = old
        new_row = self.rows.get(sheet, {}).get(row)
        new_column = self.columns.get(sheet, {}).get(column)
        if new_row is None or new_column is None:
            return None
        return (self.sheet(sheet), new_row, new_column)

    def old_place(self, new: Place) -> Place | None:
        """Where a cell of the new book was; None where its row, column or sheet is new."""
        sheet, row, column = self.old_sheet(new[0]), *new[1:]
        rows, columns = self._backwards(sheet)
        old_row, old_column = rows.get(row), columns.get(column)
        return None if old_row is None or old_column is None else (sheet, old_row, old_column)

    def is_replaced(self, old: Place) -> bool:
        """Whether another line stands where a cell's line was."""
        sheet, row, column = old
        rows, columns = self.replaced_rows, self.replaced_columns
        return row in rows.get(sheet, ()) or column in columns.get(sheet, ())

    def _backwards(self, sheet: str) -> tuple[dict[int, int], dict[int, int]]:
        if sheet not in self._back:
            self._back[sheet] = (
                {to: at for at, to in self.rows.get(sheet, {}).items()},
                {to: at for at, to in self.columns.get(sheet, {}).items()},
            )
        return self._back[sheet]

    def moved(self, old: Book) -> list[str]:
        """Rows and columns with a text of their own that changed their order, in words."""
        moves = []
        for name, sheet in old.sheets.items():
            for what, matched, cells in (
                ("row", self.rows.get(name, {}), sheet.rows),
                ("column", self.columns.get(name, {}), sheet.columns),
            ):
                for at in _out_of_order(matched):
                    if at == matched[at]:
                        continue  # others moved past it
                    text = next(
                        (c.value for c in cells.get(at, []) if isinstance(c.value, str)), ""
                    )
                    if text:
                        moves.append(
                            f"{text!r} moved from {what} {at} to {matched[at]} of {name!r}"
                        )
        return moves

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
            row, column = _ends(r1, r2, rows, ROWS), _ends(c1, c2, columns, COLUMNS)
            return (self.sheet(sheet), row[0], column[0], row[1], column[1])
        if isinstance(node, Call):
            return (node.name, *(self.meaning(a, place, moved) for a in node.arguments))
        if isinstance(node, Binary):
            left = self.meaning(node.left, place, moved)
            return (node.operator, left, self.meaning(node.right, place, moved))
        if isinstance(node, (Unary, Percent)):
            return (type(node).__name__, self.meaning(node.operand, place, moved))
        return node


def _out_of_order(matched: dict[int, int]) -> list[int]:
    """Numbers that changed places with others: all but a longest run that kept its order."""
    olds = sorted(matched)
    tails: list[int] = []  # of the best run of each length, its last old number
    before: dict[int, int | None] = {}
    for at in olds:
        place = bisect_left([matched[t] for t in tails], matched[at])
        before[at] = tails[place - 1] if place else None
        tails[place : place + 1] = [at]
    kept = set()
    last = tails[-1] if tails else None
    while last is not None:
        kept.add(last)
        last = before[last]
    return [at for at in olds if at not in kept]


def _ends(first: int, last: int, moved: dict[int, int], whole: int) -> tuple[int, int]:
    """First and last row or column of a range in the new book, whatever changed places inside."""
    if last == whole or last - first > _LONG:
        return moved.get(first, first), last if last == whole else moved.get(last, last)
    inside = [moved.get(at, at) for at in range(first, last + 1)]
    return min(inside), max(inside)


def _row_keys(sheet: Sheet, last: int) -> list[str]:
    """A row is known by its first typed text, such as the job's name."""
    keys = []
    for row in range(1, last + 1):
        cells = sheet.rows.get(row, [])
        keys.append(next((c.value for c in cells if c.typed and isinstance(c.value, str)), ""))
    return keys


def _column_keys(sheet: Sheet, last: int) -> list[str]:
    """A column is known by its first text; headings that are formulas count by their formula."""
    keys = []
    for column in range(1, last + 1):
        cells = sheet.columns.get(column, [])
        keys.append(
            next((c.formula or c.value for c in cells if isinstance(c.value, str) or c.formula), "")
        )
    return keys


def _matched(old: list[str], new: list[str]) -> dict[int, int]:
    """Old number -> new number, both from 1.

    What stands at its old place stays there; what has another place now has moved, if its text is
    there as often as before; what is left keeps its order between its neighbors.
    """
    found = {at: at for at, (a, b) in enumerate(zip(old, new, strict=False), 1) if a == b}
    if len(found) == len(old) == len(new):
        return found
    counts = Counter(old), Counter(new)
    same = {text for text in counts[0] if text and counts[0][text] == counts[1][text]}
    found = {}
    places: dict[str, list[int]] = {}
    for at, text in enumerate(new, 1):
        places.setdefault(text, []).append(at)
    for at, text in enumerate(old, 1):
        if text in same:
            found[at] = places[text].pop(0)
    _between(old, new, found)
    return found


def _between(old: list[str], new: list[str], found: dict[int, int]) -> None:
    """Rows without a text of their own, or with a new one: beside the neighbor they had."""
    taken = set(found.values())
    for step in (1, -1):
        order = range(1, len(old) + 1) if step > 0 else range(len(old), 0, -1)
        for at in order:
            if at in found:
                continue
            beside = 0 if at == 1 and step > 0 else found.get(at - step, -9)
            to = beside + step
            alike = 1 <= to <= len(new) and to not in taken
            if alike and (old[at - 1] == new[to - 1] or not _elsewhere(old, new, at, to)):
                found[at] = to
                taken.add(to)


def _elsewhere(old: list[str], new: list[str], at: int, to: int) -> bool:
    """Whether one of two rows came or went, so that they are not one row with another text."""
    gone = bool(old[at - 1]) and old.count(old[at - 1]) > new.count(old[at - 1])
    came = bool(new[to - 1]) and new.count(new[to - 1]) > old.count(new[to - 1])
    # As many came as went: texts were changed. Else the sheet has grown or shrunk here.
    return (gone or came) and len(old) != len(new)


def _texts(sheet: Sheet) -> set[tuple[int, int, str]]:
    return {
        (*at, cell.value)
        for at, cell in sheet.cells.items()
        if cell.typed and isinstance(cell.value, str)
    }


def _renamed(old: Book, new: Book) -> dict[str, str]:
    """Sheets that have another name now, known by their texts."""
    gone = {name: _texts(sheet) for name, sheet in old.sheets.items() if name not in new.sheets}
    came = {name: _texts(sheet) for name, sheet in new.sheets.items() if name not in old.sheets}
    alike = sorted(
        (
            (len(before & after) / len(before | after), one, other)
            for one, before in gone.items()
            for other, after in came.items()
            if len(before & after) >= _LEAST_TEXTS
        ),
        reverse=True,
    )
    found: dict[str, str] = {}
    for share, one, other in alike:
        if share >= _SAME_SHEET and one not in found and other not in found.values():
            found[one] = other
    return found


def _replaced(
    matched: dict[int, int], keys: tuple[list[str], list[str]], old: Sheet, new: Sheet, across: bool
) -> set[int]:
    """Rows, or columns, with another name in which hardly a typed figure is as it was."""
    groups = (old.columns, new.columns) if across else (old.rows, new.rows)
    found = set()
    for at, to in matched.items():
        if not keys[0][at - 1] or keys[0][at - 1] == keys[1][to - 1]:
            continue
        typed = [
            {cell.place[1 if across else 2]: cell.value for cell in group.get(number, ())
             if cell.typed and cell.value is not None}
            for group, number in zip(groups, (at, to), strict=True)
        ]  # fmt: skip
        both = typed[0].keys() & typed[1].keys()
        same = sum(typed[0][number] == typed[1][number] for number in both)
        if len(both) >= _LEAST_TYPED and same <= _STILL_SAME * len(both):
            found.add(at)
    return found


def align(old: Book, new: Book) -> Alignment:
    """Match the sheets, rows and columns of two versions of a workbook."""
    found = Alignment(renamed=_renamed(old, new))
    for name, sheet in old.sheets.items():
        other = new.sheets.get(found.sheet(name))
        if other is None:
            continue
        rows = _row_keys(sheet, sheet.max_row), _row_keys(other, other.max_row)
        columns = _column_keys(sheet, sheet.max_column), _column_keys(other, other.max_column)
        found.rows[name], found.columns[name] = _matched(*rows), _matched(*columns)
        gone = _replaced(found.rows[name], rows, sheet, other, across=False)
        found.replaced_rows[name] = gone
        found.rows[name] = {at: to for at, to in found.rows[name].items() if at not in gone}
        gone = _replaced(found.columns[name], columns, sheet, other, across=True)
        found.replaced_columns[name] = gone
        found.columns[name] = {at: to for at, to in found.columns[name].items() if at not in gone}
    return found
