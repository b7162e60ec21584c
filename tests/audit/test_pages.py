"""What a summary or a customer's page shows of each job, spoiled cell by cell. All is invented."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from audit.planted.styles import Quote, build, save
from hoppersheet.audit import Finding, audit_book

SHOWN = ("job", "model", "quantity", "net")


def with_page(across: bool = False) -> Quote:
    """A quote in rows with a page for the customer: a row, or a column, for each job."""
    quote = build("rows")
    page = quote.book.create_sheet("Page")
    for at, text in enumerate(("Job", "Model", "Quantity", "Net price"), 1):
        page.cell(*((2 + at, 1) if across else (3, at)), text)
    for line in range(quote.lines):
        for at, role in enumerate(SHOWN, 1):
            sheet, cell = quote.at(line, role)
            place = (2 + at, 2 + line) if across else (4 + line, at)
            page.cell(*place, f"='{sheet}'!{cell}")
            quote.cells[line, f"page {role}"] = ("Page", page.cell(*place).coordinate)
    return quote


def found(quote: Quote, path: Path) -> list[Finding]:
    audit = audit_book(save(quote, path / "book.xlsx"), "core")
    return [f for f in audit.findings if f.severity != "note"]


def refer(quote: Quote, line: int, role: str, to: int, of: str = "") -> Any:
    sheet, cell = quote.at(to, of or role)
    return quote.put(line, f"page {role}", f"='{sheet}'!{cell}")


@pytest.mark.parametrize("across", [False, True])
def test_a_right_page_is_quiet(across: bool, tmp_path: Path) -> None:
    assert found(with_page(across), tmp_path) == []


@pytest.mark.parametrize("across", [False, True])
@pytest.mark.parametrize("role", ["job", "model", "quantity", "net"])
def test_another_jobs_cell_on_the_page_is_told(role: str, across: bool, tmp_path: Path) -> None:
    quote = with_page(across)
    at = refer(quote, 2, role, to=4)
    (told,) = found(quote, tmp_path)
    assert (told.sheet, told.cell) == at
    assert "'Tray'" in told.message and "'Gear'" in told.message


def test_the_wrong_line_of_a_lookup_is_told(tmp_path: Path) -> None:
    quote = with_page()
    models = ":".join(quote.at(line, "model")[1] for line in (0, quote.lines - 1))
    sheet = quote.at(0, "model")[0]
    for line in range(quote.lines):
        number = 5 if line == 2 else line + 1
        quote.put(line, "page model", f"=INDEX('{sheet}'!{models},{number})")
    (told,) = found(quote, tmp_path)
    assert (told.sheet, told.cell) == quote.at(2, "page model")


@pytest.mark.parametrize(("role", "value"), [("net", 5000.0), ("model", "EXAMPLE-60"),
                                             ("quantity", 9)])  # fmt: skip
def test_a_page_that_somebody_typed_over_is_told(role: str, value: Any, tmp_path: Path) -> None:
    quote = with_page()
    at = quote.put(3, f"page {role}", value)
    (told,) = found(quote, tmp_path)
    assert (told.kind, told.sheet, told.cell) == ("typed over", *at)


def test_a_job_twice_and_another_not_at_all(tmp_path: Path) -> None:
    quote = with_page()
    for role in SHOWN:
        refer(quote, 4, role, to=1)
    (told,) = found(quote, tmp_path)
    assert told.kind == "same job twice" and "'Tray' is not on the page" in told.message


@pytest.mark.parametrize("role", ["model", "summary"])
def test_a_summary_of_sheets(role: str, tmp_path: Path) -> None:
    """The cell is told, and the total that it makes wrong is not told once more."""
    quote = build("sheets")
    summary = quote.book["Summary"]
    cell = "B6" if role == "model" else "C6"
    summary[cell] = summary[f"{cell[0]}5"].value
    (told,) = found(quote, tmp_path)
    assert (told.sheet, told.cell) == ("Summary", cell)
