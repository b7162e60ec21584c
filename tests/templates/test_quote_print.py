"""The page on paper: what stands together, nothing cut, no ###; by the widths of the font.

Widths are checked by Excel's rule, which shows columns narrower than Calc; see ``quote_widths``.
"""

from __future__ import annotations

import random
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from openpyxl.utils import get_column_letter, range_boundaries
from pypdf import PdfReader

from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import quote
from hoppersheet.templates.quote.grid import PIXELS
from hoppersheet.templates.quote.line_check_list import BRIEF, LINE_CHECKS
from hoppersheet.templates.quote.line_checks import SIZING
from hoppersheet.templates.quote.page_shape import (
    CAPITALS_WIDER,
    FIRST,
    LINE_LENGTH,
    TITLE_LENGTH,
    WIDTHS,
    units_on_a_page,
)
from templates.quote_book import Book
from templates.quote_lines import SLIPS
from templates.quote_long import CUSTOMER, JOB, LINES, REASON, model
from templates.quote_widths import EXCEL, lines_needed, text_width

#: Pixels that a cell keeps free of text, left and right together.
_PADDING = 5


def units(book: Book) -> list[dict[str, Any]]:
    """Every unit of the page, those left blank too, with the sheet of paper that it stands on."""
    ends = [brk.id for brk in book.typed["Quote"].row_breaks.brk]
    found = []
    row = FIRST
    while book.computed["Quote"].get(f"S{row}") not in ("", None):
        found.append({
            "paper": sum(end < row for end in ends), "row": row,
            "kind": book.value("Quote", f"P{row}"), "piece": book.value("Quote", f"T{row}"),
            "number": book.value("Quote", f"A{row}"), "title": book.value("Quote", f"B{row}"),
            "text": book.value("Quote", f"B{row + 1}"),
        })  # fmt: skip
        row += 2
    return found


# --- what stands together -----------------------------------------------------------------


def test_a_long_quote_breaks_between_things_and_never_inside(long_quote: Book) -> None:
    assert long_quote.failing() == set()
    assert {long_quote.state(n)[0] for n in range(1, LINES + 1)} == {"●", "▲"}
    found = units(long_quote)
    papers = found[-1]["paper"] + 1
    assert long_quote.named("quote_pages") == papers
    assert papers >= 4  # lines and texts on three or more, and the basis
    first, others = units_on_a_page("metric")
    sizes = [sum(unit["paper"] == paper for unit in found) for paper in range(papers)]
    assert sizes[0] == first and set(sizes[1:-1]) == {others} and sizes[-1] <= others
    shown = [unit for unit in found if unit["piece"] != 0]
    for before, unit in pairwise(shown):
        if unit["piece"] > 1 or unit["kind"] == "reason":  # the rest of a text; why it is short
            assert before["paper"] == unit["paper"], unit
    total = next(n for n, unit in enumerate(shown) if unit["kind"] == "total")
    last_item = max(n for n, unit in enumerate(shown[:total]) if unit["number"] not in ("", None))
    assert shown[last_item]["paper"] == shown[total]["paper"]
    confirm = next(unit for unit in shown if unit["kind"] == "confirm")
    assert next(u for u in shown if u["paper"] == confirm["paper"]) is confirm


def test_the_printed_pages_are_those_of_the_plan(
    long_quote: Book, office: Office, tmp_path: Path
) -> None:
    office.convert(long_quote.path, tmp_path / "q.pdf", sheet="Quote")
    pages = [page.extract_text() for page in PdfReader(tmp_path / "q.pdf").pages]
    found = units(long_quote)
    assert len(pages) == found[-1]["paper"] + 1
    for paper, text in enumerate(pages):
        assert f"Page {paper + 1} of {len(pages)}" in text
        assert "###" not in text
        for unit in (u for u in found if u["paper"] == paper and u["piece"] == 1):
            assert str(unit["title"]) in text, (paper + 1, unit)


def test_long_names_stand_whole_on_the_page(long_quote: Book) -> None:
    texts = " ".join(str(unit["text"]) for unit in units(long_quote) if unit["text"])
    assert long_quote.value("Quote", "C4") == CUSTOMER
    for n in range(LINES):
        line = long_quote.line(n + 1)
        assert line["job"] in texts and line["model"] in texts
        assert line["job"].startswith(JOB.format(n + 1)[:40])
    assert model("EXAMPLE-12") in texts and REASON in texts
    titles = [str(unit["title"]) for unit in units(long_quote)]
    assert all(len(title) <= TITLE_LENGTH for title in titles if title.endswith("…"))


# --- nothing cut --------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["long_quote", "demo_us"])
def test_no_text_of_the_page_needs_more_lines_than_its_cell_has(
    name: str, request: pytest.FixtureRequest
) -> None:
    book = request.getfixturevalue(name)
    sheet = book.typed["Quote"]
    looked = 0
    for span in sheet.merged_cells.ranges:
        left, top, right, _ = span.bounds
        text = book.value("Quote", f"{'ABCDEFGHIJKL'[left - 1]}{top}")
        cell = sheet.cell(top, left)
        if text in ("", None) or cell.alignment.shrink_to_fit:
            continue
        width = sum(WIDTHS["ABCDEFGHIJKL"[n - 1]] for n in range(left, right + 1)) * EXCEL
        points = cell.font.size
        height = sheet.row_dimensions[top].height
        lines = lines_needed(str(text), points, width - _PADDING, bool(cell.font.bold))
        # A line takes 1.15 of its size: ascent and descent of Arial.
        assert lines * points * 1.15 <= height + 0.5, (cell.coordinate, lines, text)
        looked += 1
    assert looked > 20


def test_two_lines_hold_what_the_plan_takes_for_them() -> None:
    """By the widths of Helvetica, of texts with more and fewer names in capitals."""
    chance = random.Random(4)
    small = (
        JOB + " density data sheet regrind measured 849.5 L 2.13 m high loaded " + REASON
    ).split()
    capitals = (model("EXAMPLE-30") + " INVENTED DRYER SALES PC/ABS PA66").split()
    width = sum(WIDTHS[letter] for letter in "BCDEFGHIJKL") * EXCEL - _PADDING
    for share in (0, 0.2, 0.5, 1):
        too_long = 0
        for _ in range(500):
            text = " ".join(
                chance.choice(capitals if chance.random() < share else small) for _ in range(80)
            )
            upper = sum("A" <= sign <= "Z" for sign in text) / len(text)
            begin = text[: round(LINE_LENGTH / (1 + CAPITALS_WIDER * upper)) + 1]
            too_long += lines_needed(begin[: begin.rindex(" ")], 8.5, width) > 2
        assert too_long <= 10, (share, too_long)


@pytest.mark.parametrize("name", ["slips", "demo_us", "demo_metric", "long_quote"])
def test_the_state_of_a_line_stands_whole_on_sizing(
    name: str, request: pytest.FixtureRequest
) -> None:
    book = request.getfixturevalue(name)
    column = SIZING.column("state")
    states = {str(book.cell(SIZING, "state", row)) for row in range(5, 5 + len(SLIPS))}
    for state in states - {"", "None"}:
        assert lines_needed(state, 9, column.width * EXCEL - _PADDING) <= 2, state
    assert len(states) > 4
    assert set(BRIEF) <= {check.key for check in LINE_CHECKS}


#: Number format -> the widest that is plausible in it.
_WIDEST = {
    "[<100]0.0_);#,##0_)": "99,999", "[=0];[<100]0.0_);#,##0_)": "99,999",
    "0 %_)": "100 %", "0 %": "100 %", "0.00_)": "999.99",
    "[<1.87]0.000_);[<100]0.0_);#,##0_)": "1.869", "[<1.87]0.000_);0.0_)": "1.869",
    "#,##0_)": "99,999", "0.00_)_)": "999.99", "[<100]0.0_)_);#,##0_)_)": "99,999",
    "0_)_);-0_)_);0_)_);@_)_)": "held", "0 %_)_);-0 %_)_);0 %_)_);@_)_)": "> 99 %",
    "#,##0_)_);-#,##0_)_);#,##0_)_);@_)_)": "99,999", "0.0_)_);-0.0_)_);0.0_)_);@_)_)": "999.9",
    "0.0_)": "999.9", "0.0#_)": "72.25", "0_)": "999", "0": "999", "0.000_)": "99.999",
    "0.000%_)": "9.999%", "0.0 %_)": "100.0 %", "#,##0.00_)": "12,345,678.90",
    "[<100]0.00_);#,##0_)": "1,234,567", "0.000000_)": "0.123456", "0.00#": "0.125",
    "0.00#_)": "13.97",
    "0_);-0_);": "200", "+0.0%_);-0.0%_);0.0%_)": "+999.9%", "#,##0": "12,345,678",
    "General_)": "9999.5", 'General" g"': "9999.5 g", 'General" s"': "999.5 s",
    "0.00": "999.99", "0.0": "999.9", '"yes";"no";"no"': "yes", "yyyy-mm-dd": "2026-12-30",
}  # fmt: skip
#: Cells of money among those of "#,##0_)".
_MONEY = {("Sizing", "net"), *(("One line", f"{letter}16") for letter in "KMOQ")}


def test_no_number_becomes_number_signs() -> None:
    """Each number column, by Excel's widths: shrunk where it must be, and not below 6.3 points."""
    book = quote.build(rows=1)
    looked: dict[str, int] = {}
    for sheet in book:
        spans = {str(span).partition(":")[0]: span for span in sheet.merged_cells.ranges}
        inside = {
            (row, column)
            for span in spans.values()
            for row in range(span.min_row, span.max_row + 1)
            for column in range(span.min_col, span.max_col + 1)
            if (row, column) != (span.min_row, span.min_col)
        }
        for cell in (cell for row in sheet.iter_rows() for cell in row):
            shown = cell.number_format
            if shown in ("General", "@_)") or (cell.row, cell.column) in inside:
                continue
            first, _, last, _ = range_boundaries(str(spans.get(cell.coordinate, cell.coordinate)))
            letters = [get_column_letter(n) for n in range(first, last + 1)]
            if any(sheet.column_dimensions[letter].hidden for letter in letters):
                continue
            wide = sum(sheet.column_dimensions[letter].width for letter in letters) * PIXELS * EXCEL
            money = (sheet.title, cell.coordinate) in _MONEY or (
                sheet.title == "Sizing" and cell.column_letter == SIZING.letter("net")
            )
            text = "12,345,678" if money else _WIDEST[shown]
            text += ")" if shown.endswith("_)") else ""
            share = (wide - _PADDING) / text_width(text, cell.font.size, bool(cell.font.bold))
            place = f"{sheet.title}!{cell.coordinate} {shown} {text}"
            if shown == "yyyy-mm-dd":
                assert share >= 1, place
            else:
                assert share >= 1 or cell.alignment.shrink_to_fit, place
                assert cell.font.size * min(1, share) >= 6.3, (place, share)
            looked[sheet.title] = looked.get(sheet.title, 0) + 1
    assert set(looked) >= {"One line", "Sizing", "Quote", "Dryer", "Catalog", "Services", "Resins"}
