"""The columns, rows and sister sheets of a workbook in which one formula is copied."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from ...workbook.book import Cell, Sheet
from ...workbook.formulas import Node, Place
from ..context import Context
from ..roles import role_of

__all__ = ["LEAST", "Block", "gap", "in_line", "lines_of_list", "lists_of"]

LEAST = 3  # copies of a formula that make a column of it
_GAP = 1  # empty rows within a column
_ALIKE = 0.8  # of the labels of sister sheets are the same
_OF_TURNS = 0.7  # more copies of one formula: the others do not alternate with it
_MOSTLY = 0.8  # of the formulas of a turn are one


@dataclass
class Block:
    """Cells of a column, of a row, or of sister sheets, and the formula that most of them share.

    Attributes:
        axis: ``"column"``, ``"row"`` or ``"sheets"``: along which the cells lie.
        step: from one line to the next, where several formulas take turns.
    """

    cells: list[Cell]
    form: str
    tree: Node
    axis: str = "column"
    step: int = 1

    def is_copy(self, cell: Cell) -> bool:
        """Whether a cell has the formula of the block."""
        return cell.form == self.form

    def line(self, cell: Cell) -> object:
        """Which line of the list a cell belongs to: its row, its column or its sheet."""
        return self.line_of(cell.place)

    def line_of(self, place: Place) -> object:
        """Which line of the list a place belongs to."""
        return place[{"column": 1, "row": 2, "sheets": 0}[self.axis]]


def _runs(groups: Iterable[list[Cell]], axis: str) -> Iterator[Block]:
    """Blocks of cells below or beside each other without a gap."""
    for cells in groups:
        block: list[Cell] = []
        for cell in [*cells, None]:
            if cell is not None and (not block or gap(block[-1], cell, axis) <= _GAP):
                block.append(cell)
                continue
            parts = _parts(block, axis)
            for part in parts:
                found = _block(part, axis)
                if found is not None:
                    found.step = len(parts)
                    yield found
            block = [] if cell is None else [cell]


def _parts(cells: list[Cell], axis: str) -> list[list[Cell]]:
    """A run in as many parts as its formulas alternate, where each line has two or three rows."""
    forms = Counter(cell.form for cell in cells if cell.form)
    formulas = sum(forms.values())
    if len(forms) < 2 or forms.most_common(1)[0][1] > _OF_TURNS * formulas:
        return [cells]
    number = 1 if axis == "column" else 2
    for turns in (2, 3):
        parts = [[c for c in cells if c.place[number] % turns == at] for at in range(turns)]
        usual = []
        for part in parts:
            of_part = Counter(cell.form for cell in part if cell.form)
            form, count = of_part.most_common(1)[0] if of_part else ("", 0)
            if count >= LEAST and count >= _MOSTLY * sum(of_part.values()):
                usual.append(form)
        if len(usual) == turns and len(set(usual)) > 1:
            return parts
    return [cells]


def gap(before: Cell, cell: Cell, axis: str) -> int:
    """Empty cells between two cells of a column or row."""
    (_, row, column), (_, other_row, other_column) = before.place, cell.place
    return (other_row - row if axis == "column" else other_column - column) - 1


def _block(cells: list[Cell], axis: str) -> Block | None:
    forms = Counter(cell.form for cell in cells if cell.form and not cell.array)
    if not forms:
        return None
    form, count = forms.most_common(1)[0]
    formulas = sum(forms.values())
    if count < LEAST or count <= 0.5 * formulas:
        return None
    tree = next(c.tree for c in cells if c.form == form)
    assert tree is not None
    first = next(i for i, c in enumerate(cells) if c.form == form)
    last = max(i for i, c in enumerate(cells) if c.form == form)
    if axis == "sheets":
        return Block(cells, form, tree, axis)
    # One cell beyond each end can belong to the list too: typed over, or changed.
    return Block(cells[max(0, first - 1) : last + 2], form, tree, axis)


def lists_of(context: Context) -> Iterator[list[Block]]:
    """The lists of a workbook: per sheet its columns or rows of formulas; sister sheets."""
    for name, sheet in context.book.sheets.items():
        axis = "row" if context.labels.sideways(name) else "column"
        along = (sheet.rows if axis == "row" else sheet.columns).values()
        lines, apart = _lines_in(context, name, axis)
        number = 2 if axis == "row" else 1
        found: list[Block] = []
        for cells in along:
            of_lines = [c for c in cells if c.place[number] in lines]
            whole = [] if apart else list(_runs([cells], axis))
            if not whole:
                whole = [block for block in [_block(of_lines, axis)] if block is not None]
                rest = [c for c in cells if c.place[number] not in lines]
                whole += _runs([rest], axis)
            found += whole
        yield found
    for sheets in _sisters(context):
        places = dict.fromkeys(place for sheet in sheets for place in sheet.cells)
        groups = (
            [sheet.cells[place] for sheet in sheets if place in sheet.cells] for place in places
        )
        yield [block for cells in groups if (block := _block(cells, "sheets")) is not None]


def _lines_in(context: Context, name: str, axis: str) -> tuple[set[int], bool]:
    """Rows (or columns) of a sheet's lines; whether titles or subtotals stand between them."""
    places = [line.place for line in context.lines] + [one.place for one in context.unsized]
    found = {column if axis == "row" else row for sheet, row, column in places if sheet == name}
    return found, any(after - before > 1 for before, after in pairwise(sorted(found)))


def _sisters(context: Context) -> Iterator[list[Sheet]]:
    """Sheets with the same labels in the same cells: one job each."""
    groups: list[tuple[set[tuple[int, int, str]], list[Sheet]]] = []
    for name, sheet in context.book.sheets.items():
        if not context.labels.sideways(name):
            continue
        labels = {
            (*place, cell.value)
            for place, cell in sheet.cells.items()
            if cell.typed and isinstance(cell.value, str) and role_of(cell.value)
        }
        for known, sheets in groups:
            if len(labels & known) >= _ALIKE * max(len(labels), len(known)):
                sheets.append(sheet)
                break
        else:
            groups.append((labels, [sheet]))
    return (sheets for _, sheets in groups if len(sheets) >= LEAST)


def lines_of_list(blocks: list[Block]) -> Counter[object]:
    """Line -> in how many columns (or rows) it holds a copy of their formula."""
    return Counter(block.line(c) for block in blocks for c in block.cells if block.is_copy(c))


def in_line(lines: Counter[object], block: Block, place: Place) -> int:
    """How many copies stand in the line of a cell, which may have several rows (or columns)."""
    if block.axis == "sheets":
        return lines[block.line_of(place)]
    at = place[1] if block.axis == "column" else place[2]
    return max(lines[at - before] for before in range(block.step))
