"""Every number that the filled demo shows is worked out again, or listed with the reason."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from hoppersheet.templates.layout import Table
from hoppersheet.templates.quote import catalog, demo, dryer
from hoppersheet.templates.quote.line_checks import SIZING
from templates.quote_book import Book, near, typed_lines, weighed
from templates.quote_cells import (
    LISTED,
    Cells,
    catalogs,
    dryers,
    mixes,
    one_line,
    page,
    services,
    sizing,
)

pytestmark = pytest.mark.calc
TABLES = (SIZING, catalog.TABLE, catalog.DRYERS, dryer.TABLE, dryer.LINES)


def expected(book: Book) -> Cells:
    ((line, cups, volume),) = weighed(book)
    scale = 62.4279605761446 if book.named("unit_system") == "US" else 1.0
    model = book.model(measured={(line, "regrind"): sum(cups) / len(cups) / volume * scale})
    lines = typed_lines(book)
    return (
        catalogs(book, model) | sizing(book, model, lines) | dryers(book, model, lines)
        | mixes(book, model, lines[0]) | one_line(book, model) | page(book, len(demo.LINES))
        | services(book)
    )  # fmt: skip


def column_key(sheet: str, letter: str, row: int) -> str:
    """The key of the column that a cell is in, or its letter."""
    for table in TABLES:
        if table.sheet == sheet and table.first_row <= row <= _last(table):
            for column in table.columns:
                if table.letter(column.key) == letter:
                    return column.key
    return letter


def _last(table: Table) -> int:
    return table.first_row + (11 if table in (SIZING, dryer.LINES) else table.rows - 1)


def numbers(book: Book) -> Iterator[tuple[str, str, str]]:
    """(sheet, address, column) of each formula whose answer is a number."""
    for sheet in book.typed:
        for cell in (cell for row in sheet.iter_rows() for cell in row):
            shown = book.computed[sheet.title].get(cell.coordinate)
            if cell.data_type == "f" and isinstance(shown, float):
                yield (
                    sheet.title,
                    cell.coordinate,
                    column_key(sheet.title, cell.column_letter, cell.row),
                )


@pytest.mark.parametrize("name", ["demo_us", "demo_metric"])
def test_every_number_is_worked_out_again_or_listed(
    name: str, request: pytest.FixtureRequest
) -> None:
    book: Book = request.getfixturevalue(name)
    cells = expected(book)
    wrong = {
        place: (book.value(*place), value)
        for place, value in cells.items()
        if book.value(*place) != near(value)
    }
    assert wrong == {}
    assert len(cells) > 700

    def listed(sheet: str, column: str) -> bool:
        return any(
            there == sheet
            and (key in ("*", column) or (key[0] == "*" and column.endswith(key[1:])))
            for there, key in LISTED
        )

    shown = set(numbers(book))
    left = {(sheet, column) for sheet, address, column in shown
            if (sheet, address) not in cells and not listed(sheet, column)}  # fmt: skip
    assert not left, sorted(left)
    # What is listed is there: no reason outlives its cells.
    columns = {(sheet, column) for sheet, _, column in shown}
    for sheet, key in LISTED:
        assert any(
            there == sheet and (key in ("*", column) or column.endswith(key.lstrip("*")))
            for there, column in columns
        ), (sheet, key)
