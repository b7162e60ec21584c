"""Quote workbooks that several tests look at; each is computed once."""

from __future__ import annotations

from typing import Any

import pytest

from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import quote
from hoppersheet.templates.quote import typing_in
from templates.quote_book import Book
from templates.quote_lines import SLIPS
from templates.quote_long import long_book


@pytest.fixture(scope="session")
def demo_us(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    return Book(quote.build(demo=True, rows=12), tmp_path_factory.mktemp("us") / "q.xlsx", office)


@pytest.fixture(scope="session")
def demo_metric(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    book = quote.build("metric", demo=True, rows=12)
    return Book(book, tmp_path_factory.mktemp("metric") / "q.xlsx", office)


@pytest.fixture(scope="session")
def slips(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Every line of :data:`quote_lines.SLIPS` in one book that is no demonstration."""
    book = quote.build(rows=len(SLIPS))
    for row in range(10, 40):  # the models of this book are not marked as invented
        book["Catalog"][f"J{row}"] = None
    book["Catalog"]["J20"] = "yes"  # but one
    # All lines are on one dryer, which would stop each of them.
    book["Dryer"]["D6"], book["Dryer"]["G6"] = "none", "the plant has its own"
    typing_in.type_in(book, book_basis="mass", book_headroom=6, catalog_sizes_are="usable")
    typing_in.fill(book, (line for line, _ in SLIPS.values()))
    return Book(book, tmp_path_factory.mktemp("slips") / "q.xlsx", office)


@pytest.fixture
def small(office: Office, tmp_path: Any) -> Any:
    """Builds and computes a book of a few lines that would be ready but for what a test types."""

    def make(
        *lines: dict[str, Any], units: str = "US", ready: bool = True,
        cells: dict[tuple[str, str], Any] | None = None, **named: Any,
    ) -> Book:  # fmt: skip
        """``cells``: (sheet, address) -> what is typed there; ``named``: into cells by name."""
        from hoppersheet.templates.quote.demo import HEADER

        book = quote.build(units, rows=max(2, len(lines)))
        header = {k: v for k, v in HEADER.items() if not k.startswith(("room", "plant", "drying"))}
        typing_in.type_in(book, **({**header, **named} if ready else named))
        typing_in.fill(book, lines)
        for (sheet, address), value in (cells or {}).items():
            book[sheet][address] = value
        return Book(book, tmp_path / "q.xlsx", office)

    return make


@pytest.fixture(scope="session")
def long_quote(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """36 lines with the longest names and prices of eight digits, on A4: see ``quote_long``."""
    return Book(long_book(), tmp_path_factory.mktemp("long") / "q.xlsx", office)
