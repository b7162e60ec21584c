"""Two versions of quotes in many styles: every edited input is named, and nothing else."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from openpyxl.comments import Comment
from openpyxl.workbook.defined_name import DefinedName

from audit.planted.styles import Quote, build, save
from hoppersheet.audit.versions import Changes, compare


def pair(before: Quote, after: Quote, folder: Path) -> Changes:
    return compare(save(before, folder / "old.xlsx"), save(after, folder / "new.xlsx"), "core")


def edited(found: Changes) -> set[tuple[str, str]]:
    return {(c.sheet, c.cell) for c in found.changes if c.kind != "result"}


@pytest.mark.parametrize("style", ["rows", "columns", "sheets", "plain", "messy", "pages", "let"])
def test_edited_inputs_are_named_and_nothing_else(style: str, tmp_path: Path) -> None:
    quote = build(style)
    rate = 330.0 if quote.system == "US" else 150.0
    places = {
        quote.put(4, "rate", rate), quote.put(1, "hours", 4.5), quote.put(2, "quantity", 5),
        quote.put("order", "net", 0.02),
    }  # fmt: skip
    found = pair(build(style), quote, tmp_path)
    assert edited(found) == places and found.moved == []
    total = [c for c in found.causes if (c.sheet, c.cell) == quote.at("total")]
    assert total and total[0].main


def _swap(quote: Quote, one: int, other: int) -> None:
    """Two lines change places, formulas and all."""
    for role in {role for line, role in quote.cells if line == one} - {"summary"}:
        a, b = quote.cell(one, role), quote.cell(other, role)
        if role in quote.formulas:
            continue  # relative formulas read the same in every line
        a.value, b.value = b.value, a.value


@pytest.mark.parametrize("style", ["rows", "columns"])
def test_a_line_that_moved_is_no_new_one(style: str, tmp_path: Path) -> None:
    quote = build(style)
    _swap(quote, 1, 4)
    found = pair(build(style), quote, tmp_path)
    assert found.changes == [] and found.lines == []
    assert len(found.moved) == 2 and "'Cover' moved from" in " ".join(found.moved)


def test_a_moved_line_with_an_edit_names_the_edit(tmp_path: Path) -> None:
    quote = build("rows")
    _swap(quote, 1, 4)
    where = quote.put(4, "rate", 155.0)
    found = pair(build("rows"), quote, tmp_path)
    assert edited(found) == {where}
    (line,) = found.lines
    assert "'Cover'" in line.message and "from 150 to 155" in line.message


@pytest.mark.parametrize("style", ["rows", "columns"])
def test_a_formula_switched_to_the_size_below_says_that_it_is_short(
    style: str, tmp_path: Path
) -> None:
    quote = build(style)
    quote.write(4, "next", quote.formulas["next"].replace("NEXT_SIZE", "SIZE_BELOW"))
    found = pair(build(style), quote, tmp_path)
    assert edited(found) == {quote.at(4, "next")}
    # 310 lb/h x 4 h / 36.44 lb/ft3 = 34.03 ft3; 30 ft3 are 11.8 % less
    (line,) = found.lines
    assert "size 38 ft3 -> 30 ft3" in line.message and "now 11.8 % short" in line.message


def test_a_change_that_plays_no_part_is_not_named_for_the_total(tmp_path: Path) -> None:
    quote = build("rows")
    quote.put(4, "rate", 311.0)  # 34.14 ft3: still 38 ft3, at the same price
    quote.put(2, "quantity", 4)
    found = pair(build("rows"), quote, tmp_path)
    (total,) = [c for c in found.causes if (c.sheet, c.cell) == quote.at("total")]
    assert "Quantity" in total.message and "Throughput" not in total.message


def test_a_new_line_is_added_and_the_rest_is_as_it_was(tmp_path: Path) -> None:
    before, after = build("rows"), build("rows")
    row: dict[str, Any] = {role: after.at(5, role)[1] for line, role in after.cells if line == 5}
    sheet = after.book["Quote"]
    for role, ref in row.items():
        cell = sheet[ref].offset(1, 0)
        after.cells[6, role] = ("Quote", cell.coordinate)
        cell.value = sheet[ref].value if role != "job" else "Spare"
    after.lines = 7
    for role in after.formulas:
        after.write(6, role)
    after.put("sum", "net", f"=SUM({after.at(0, 'net')[1]}:{after.at(6, 'net')[1]})")
    found = pair(before, after, tmp_path)
    added = {after.at(6, role) for role in row if after.cell(6, role).value is not None}
    assert {(c.sheet, c.cell) for c in found.changes if c.kind == "added"} == added
    assert edited(found) - added == {after.at("sum")}


def _total(found: Changes, quote: Quote) -> str:
    return next(c.message for c in found.causes if (c.sheet, c.cell) == quote.at("total"))


def _added_line(quote: Quote) -> None:
    sheet = quote.book["Quote"]
    for role in [role for line, role in quote.cells if line == 5]:
        cell = sheet[quote.at(5, role)[1]].offset(1, 0)
        cell.value = sheet[quote.at(5, role)[1]].value if role != "job" else "Spare"
        quote.cells[6, role] = ("Quote", cell.coordinate)
    for role in quote.formulas:
        quote.write(6, role)
    quote.put("sum", "net", f"=SUM({quote.at(0, 'net')[1]}:{quote.at(6, 'net')[1]})")


def test_an_edit_and_a_new_line_are_both_named_for_the_total(tmp_path: Path) -> None:
    quote = build("rows")
    _added_line(quote)
    quote.put(0, "quantity", 4)
    said = _total(pair(build("rows"), quote, tmp_path), quote)
    assert "Quantity" in said and "alone does it" not in said and "'Spare' was added" in said


def _with_name(value: float) -> Quote:
    quote = build("rows")
    quote.book.defined_names["agreed"] = DefinedName("agreed", attr_text=str(value))
    quote.put("total", "net", quote.cell("total").value.replace("=", "=(1-agreed)*"))
    return quote


def test_a_name_with_another_value_is_a_cause_like_an_input(tmp_path: Path) -> None:
    quote = _with_name(0.07)
    quote.put(0, "quantity", 4)
    found = pair(_with_name(0.05), quote, tmp_path)
    said = _total(found, quote)
    assert "Quantity" in said and "the name 'agreed' from 0.05 to 0.07" in said
    assert found.book == ["The name 'agreed' stands for 0.07, it stood for 0.05"]


def test_an_input_typed_into_an_empty_cell_is_a_cause(tmp_path: Path) -> None:
    before, after = build("rows"), build("rows")
    before.put(1, "discount", None)
    after.put(1, "discount", 0.1)
    said = _total(pair(before, after, tmp_path), after)
    assert "Discount" in said and "from nothing to 0.1 alone does it" in said


def test_shares_that_change_together_are_one_cause(tmp_path: Path) -> None:
    before, after = build("rows"), build("rows")
    for quote, virgin in ((before, 1.0), (after, 0.7)):
        for line in range(6):
            quote.put(line, "regrind_share", 0.3 if line else 1 - virgin)
            quote.put(line, "virgin_share", 0.7 if line else virgin)
    found = pair(before, after, tmp_path)
    said = next(c.message for c in found.causes if (c.sheet, c.cell) == after.at(0, "required"))
    assert "#NUM!" not in said and " with Regrind share" in said


def test_what_is_hidden_and_what_is_set_is_told(tmp_path: Path) -> None:
    quote = build("rows")
    quote.book.create_sheet("Secret")["A1"] = 5
    quote.book["Secret"].sheet_state = "veryHidden"
    quote.book["Catalog"].sheet_state = "hidden"
    quote.book["Quote"].row_dimensions[5].hidden = True
    quote.book.calculation.calcMode = "manual"
    assert pair(build("rows"), quote, tmp_path).book == [
        "The sheet 'Catalog' is hidden now",
        "The added sheet 'Secret' is hidden from the menu too",
        "1 more row of 'Quote' is hidden now",
        "The setting calcMode is manual, it was as usual",
    ]


@pytest.mark.parametrize("style", ["rows", "columns", "plain"])
def test_a_sheet_with_another_name_is_the_same_sheet(style: str, tmp_path: Path) -> None:
    """Its references in other sheets' formulas and in names follow it."""
    before, quote = build(style), build(style)
    sheet = quote.at(1, "rate")[0]
    rate = quote.put(1, "rate", 155.0)
    quote.book[sheet].title = "Offer B"
    for other in quote.book:
        for row in other.iter_rows():
            for at in row:
                if isinstance(at.value, str) and at.value.startswith("="):
                    at.value = at.value.replace(f"'{sheet}'!", "'Offer B'!")
                    at.value = at.value.replace(f"{sheet}!", "'Offer B'!")
    found = pair(before, quote, tmp_path)
    assert edited(found) == {("Offer B", rate[1])} and not found.sheets_added
    assert f"The sheet {sheet!r} is called 'Offer B' now" in found.book
    assert [line.line for line in found.lines] == [before.cell(1, "job").value]
    assert not any("new" in line.message for line in found.lines)
    assert "(Offer B!" in found.lines[0].message and f"({sheet}!" not in found.lines[0].message


@pytest.mark.parametrize("style", ["rows", "columns"])
def test_another_job_in_the_place_of_one(style: str, tmp_path: Path) -> None:
    quote = build(style)
    other = {
        "job": "Spool", "resin": "PET", "virgin_share": 0.6, "virgin": 45.0, "regrind": 24.0,
        "rate": 410.0, "hours": 6.0, "quantity": 4,
    }  # fmt: skip
    for role, value in other.items():
        quote.put(2, role, value)
    found = pair(build(style), quote, tmp_path)
    assert {c.kind for c in found.changes} <= {"added", "removed", "result"}
    messages = [line.message for line in found.lines]
    assert len(messages) == 2, messages
    assert "'Spool'" in messages[0] and "is new" in messages[0]
    assert "'Gear'" in messages[1] and "is gone" in messages[1]


def test_a_renamed_job_with_one_edit_stays_the_same_line(tmp_path: Path) -> None:
    quote = build("rows")
    places = {quote.put(2, "job", "Spool"), quote.put(2, "rate", 95.0)}
    assert edited(pair(build("rows"), quote, tmp_path)) == places


def test_comments_and_currencies_are_named(tmp_path: Path) -> None:
    quote = build("rows")
    quote.cell(2, "rate").comment = Comment("Customer confirmed 150 lb/h", "invented")
    quote.cell(3, "price").number_format = "[$\u20ac-407] #,##0.00"
    found = pair(build("rows"), quote, tmp_path)
    text = " ".join(found.book)
    assert "says 'Customer confirmed 150 lb/h' now" in text and "is shown in EUR now" in text
