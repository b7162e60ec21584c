"""What a page leaves out of what it shows: hidden rows, and cells outside its print area."""

from __future__ import annotations

from collections.abc import Iterator

from ...cells.values import is_error
from ...errors import InputFileError
from ...workbook.addresses import area_of
from ...workbook.book import Cell, Sheet
from ...workbook.formulas import Place
from ..context import Context, cell_name
from ..findings import Finding, finding, in_ranges
from ..verdicts import judges
from .values import value_text

__all__ = ["check"]

_CHECKS = 5  # cells that say pass or fail: a sheet of checks
_SHOWN = (0.9, 1.5)  # times the total: the total itself, or with tax

#: First row and column, last row and column.
_Box = tuple[int, int, int, int]


def _areas(context: Context) -> dict[str, list[_Box]]:
    """Sheet -> its print areas."""
    found: dict[str, list[_Box]] = {}
    for name in context.book.package.defined_names:
        if name.name.lower() != "_xlnm.print_area" or name.sheet is None:
            continue
        for part in name.formula.split(","):
            try:
                box = area_of(part.rpartition("!")[2].replace("$", ""))
            except InputFileError:
                continue  # whole columns: nothing is left out below
            found.setdefault(name.sheet, []).append(box)
    return found


def _inside(place: Place, boxes: list[_Box]) -> bool:
    return any(r1 <= place[1] <= r2 and c1 <= place[2] <= c2 for r1, c1, r2, c2 in boxes)


def _totals_shown(context: Context) -> dict[str, list[Cell]]:
    """Sheet -> cells that show the total."""
    total, value = context.money.total, context.money.value
    found: dict[str, list[Cell]] = {}
    if total is None or value is None:
        return found
    for place in {total, *context.precedents.followers([total])}:
        cell, shown = context.book.cell(place), context.value(place)
        if cell is None or not isinstance(shown, float):
            continue
        if place[0] == total[0] and place != total:
            continue  # what is worked out from it beside it
        if _SHOWN[0] * value <= shown <= _SHOWN[1] * value:
            found.setdefault(place[0], []).append(cell)
    return found


def _cut(context: Context) -> Iterator[Finding]:
    """Totals of a page that are not printed."""
    areas = _areas(context)
    for name, cells in _totals_shown(context).items():
        boxes = areas.get(name)
        outside = [cell for cell in cells if boxes and not _inside(cell.place, boxes)]
        if not outside:
            continue
        cell = min(outside, key=lambda one: one.place)
        yield finding(
            "unseen",
            "warning",
            cell.place,
            f"The print area of {name!r} leaves out {cell_name(cell.place)}, the total of "
            f"{value_text(context.value(cell.place))}; whoever gets the page does not see it; set "
            "the print area to all that the page shows.",
            formula=cell.formula,
            value=context.value(cell.place),
        )


def _says(context: Context, sheet: Sheet, row: int, boxes: list[_Box]) -> list[Cell]:
    """The cells of a row that would be printed, and say something."""
    return [
        cell
        for cell in sheet.rows.get(row, [])
        if (not boxes or _inside(cell.place, boxes))
        and cell.place[2] not in sheet.hidden_columns
        and cell.place[2] not in sheet.settings.folded_columns
        and (value := context.value(cell.place)) not in (None, "", 0.0)
        and not is_error(value)
    ]


def _hidden_on_pages(context: Context) -> Iterator[Finding]:
    """Hidden rows of a page that would tell the customer something."""
    areas = _areas(context)
    own = {place[:2] for record in context.records for place in record.places}
    for name, totals in _totals_shown(context).items():
        sheet = context.book.sheets[name]
        last = max(cell.place[1] for cell in totals)
        rows = {
            row: cells
            for row in sorted(sheet.hidden_rows | sheet.thin_rows)
            if (areas.get(name) or row <= last)
            and (name, row) not in own  # told where it feeds the quote
            and (cells := _says(context, sheet, row, areas.get(name, [])))
        }
        if not rows:
            continue
        first = next(iter(rows.values()))
        places = [cell.place for cells in rows.values() for cell in cells]
        yield finding(
            "hidden",
            "warning",
            first[0].place,
            f"{in_ranges(places)} of the page cannot be seen: a row is hidden; the first says "
            f"{value_text(context.value(first[0].place))}; the customer does not read it, and the "
            "total counts it; show it.",
            formula=first[0].formula,
            value=context.value(first[0].place),
            cells=places,
        )


def _hidden_checks(context: Context) -> Iterator[Finding]:
    """Checks of the workbook in rows that nobody sees."""
    for sheet in context.book.sheets.values():
        if sheet.hidden or not sheet.hidden_rows:
            continue
        judging = [cell for cell in sheet.cells.values() if judges(cell)]
        hidden = [cell for cell in judging if cell.place[1] in sheet.hidden_rows]
        if len(judging) >= _CHECKS and hidden:
            first = min(hidden, key=lambda cell: cell.place)
            yield finding(
                "hidden",
                "warning",
                first.place,
                "A check of the workbook is in a hidden row, "
                f"{in_ranges(c.place for c in hidden)}; it says "
                f"{value_text(context.value(first.place))} now, and nobody sees a fail; show it.",
                formula=first.formula,
                value=context.value(first.place),
            )


def check(context: Context) -> Iterator[Finding]:
    """``unseen`` and ``hidden`` of pages and of sheets of checks."""
    yield from _cut(context)
    yield from _hidden_on_pages(context)
    yield from _hidden_checks(context)
