"""The cells that a line or the total follows from, whatever a check looks for in them."""

from __future__ import annotations

from collections.abc import Iterator

from ..workbook.book import Cell
from ..workbook.formulas import Place
from .money import Money
from .records import LineRecords, Record

__all__ = ["feeding_of"]


def feeding_of(context: LineRecords, money: Money) -> Iterator[tuple[Record | None, str, Cell]]:
    """(line, role, cell) of all that a line or the total follows from."""
    seen: set[Place] = set()
    for record in context.records:
        for role, place in record.cells.items():
            cell = context.book.cell(place)
            if cell is not None and place not in seen:
                seen.add(place)
                yield record, role, cell
    for record in context.records:  # what the line takes from cells that only repeat them
        for cell in _typed_for(context, record):
            if cell.place not in seen:
                seen.add(cell.place)
                yield record, context.labels.role(cell.place), cell
    for line in context.lines:
        for cell in line.typed:
            if cell.place not in seen:
                seen.add(cell.place)
                yield None, "", cell
    of_total = [(figure.place, figure.role) for figure in money.block]
    if money.total is not None:
        of_total.append((money.total, "total"))
    for place, role in of_total:
        found = context.book.cell(place)
        if found is not None and place not in seen:
            seen.add(place)
            yield None, role, found


def _typed_for(context: LineRecords, record: Record) -> Iterator[Cell]:
    """Typed cells of a line that its own formulas take."""
    own = (context.book.cell(place) for place in record.places)
    taken = {
        area[:3]
        for cell in own
        if cell is not None and cell.formula is not None
        for area in context.values.areas_of(cell)
        if area[1:3] == area[3:] and area[:3] in record.places
    }
    for place in sorted(taken):
        cell = context.book.cell(place)
        if cell is not None and cell.typed:
            yield cell
