"""Slips that people make in the quote workbook: a real Calc computes it, the book must say so.

What a salesperson types in the wrong unit, forgets, or pastes must be converted, refused or said,
in the words of the column that it is in.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import quote
from hoppersheet.templates.quote import demo, other_items, quote_sheet, resins, sizing_columns
from hoppersheet.templates.saving import save_workbook
from hoppersheet.templates.validation import quantity
from templates.test_quote_book import CATALOG, CHECKS_ROW, GOOD, QUOTE, SIZING, Book, type_in

LB, FT = 0.45359237, 0.3048  # NIST SP 811 (2008), appendix B.8


def line(book: Book, number: int) -> dict[str, Any]:
    """A line of Sizing by the keys of its columns."""
    row = SIZING.first_row + number - 1
    return {c.key: book.value("Sizing", SIZING.cell(c.key, row)) for c in SIZING.columns}


def cases(book: Book, words: str) -> Any:
    """The cases of the one check whose text has ``words`` in it."""
    sheet = book.typed["Checks"]
    (row,) = (
        row
        for row in range(CHECKS_ROW, CHECKS_ROW + 50)
        if words in str(sheet[f"B{row}"].value)
    )  # fmt: skip
    return book.value("Checks", f"C{row}")


# --- units --------------------------------------------------------------------------------


@pytest.mark.calc
def test_figures_with_their_own_unit_are_converted(office: Office, tmp_path: Path) -> None:
    """45 kg/h in a US book is 99.2 lb/h, not 45 lb/h: more than twice the hopper."""
    with_units = {**GOOD, "throughput": "45 kg/h", "virgin_density": "0.55 g/cm3"}
    numbers = {**GOOD, "throughput": 45 / LB, "virgin_density": 550 / (LB / FT**3)}
    book = quote.build()
    demo.fill_lines(book, (with_units, numbers))
    seen = Book(book, tmp_path / "q.xlsx", office)
    one, other = line(seen, 1), line(seen, 2)
    assert one["state"] == other["state"] == "ok"
    for key, value in other.items():
        if key not in ("line", "throughput", "virgin_density"):
            same = pytest.approx(value, rel=1e-12) if isinstance(value, float) else value
            assert one[key] == same, key


@pytest.mark.calc
def test_the_validation_admits_a_figure_with_a_unit_and_refuses_slips(
    office: Office, tmp_path: Path
) -> None:
    admitted = {
        "US": {45: True, "45 kg/h": True, " 45 kg/h": True, ".5 kg/h": True, 2.3e6: False,
               0: False, "many": False, "kg 45": False},
        "metric": {45: True, 2.3e6: False, 1e6: True, 0.0005: True},
    }  # fmt: skip
    for system, values in admitted.items():
        book = openpyxl.Workbook()
        sheet = book.active
        sheet.title = "S"
        sheet["A1"] = system
        from hoppersheet.templates.layout import define_name

        define_name(book, "typed_units", "S!$A$1")
        for row, value in enumerate(values, 2):
            sheet[f"A{row}"] = value
            rule = quantity("throughput").validation("Throughput", f"A{row}")
            assert rule.type == "custom" and len(rule.formula1) <= 255
            sheet[f"B{row}"] = f"=IF(ISERROR({rule.formula1}),FALSE,{rule.formula1})"
        save_workbook(book, tmp_path / "v.xlsx")
        seen = office.compute(tmp_path / "v.xlsx")["S"]
        assert [bool(seen[f"B{row}"]) for row in range(2, 2 + len(values))] == list(values.values())


# --- lines --------------------------------------------------------------------------------

#: The typed line, how its State begins, and what "Still to do" or "In words" must say.
SLIPS: dict[str, tuple[dict[str, Any], str, str]] = {
    "unknown unit": (
        {**GOOD, "virgin_density": "0.65 kg/x"}, "error",
        "Virgin density: unknown unit 'kg/x'. Type the number in lb/ft3, or with its unit",
    ),
    "metric density on a line without regrind": (
        {**GOOD, "virgin_share": 1, "virgin_density": 0.65}, "error",
        "Virgin density: bulk density 0.65 lb/ft3 is below the lowest possible",
    ),
    "words for a throughput": (
        {**GOOD, "throughput": "many"}, "error",
        "Throughput: 'many' is not a number. Type the number in lb/h, or with its unit: 45 kg/h",
    ),
    "clock time": ({**GOOD, "hours": 0.1667}, "error", "Drying time: drying hours 0.1667 h is"),
    "a share of 75": (
        {**GOOD, "virgin_share": 75}, "error", "Virgin share: 7500 % is not between 0 % and 100 %",
    ),
    "a reserve of 10": ({**GOOD, "reserve": 10}, "error", "Reserve: reserve 10 is above"),
    "a space for a reason": (
        {**GOOD, "choice": "below", "reason": "  "}, "to do", "reason for the choice",
    ),
    "a choice that is none": (
        {**GOOD, "choice": "smaller"}, "to do", "one of the choices next, below, own",
    ),
    "no drying hours": (
        {k: v for k, v in GOOD.items() if k != "hours"}, "to do", "drying time",
    ),
    "an own model that is not there": (
        {**GOOD, "choice": "own", "own_model": "X-1", "reason": "as asked"}, "error",
        "Own model: the Catalog has no model X-1",
    ),
    "regrind too light to be true": (
        {**GOOD, "regrind_density": 0.4, "regrind_basis": "measured"}, "error",
        "Regrind density: bulk density 0.4 lb/ft3 is below",
    ),
    "a load density in another unit": (
        {**GOOD, "load_density": 0.7}, "error", "Density for load: bulk density 0.7 lb/ft3",
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def slips(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    book = quote.build()
    demo.fill_lines(book, (*(typed for typed, _, _ in SLIPS.values()), {"job": "half filled"}))
    return Book(book, tmp_path_factory.mktemp("slips") / "q.xlsx", office)


@pytest.mark.calc
@pytest.mark.parametrize("what", SLIPS)
def test_a_slip_is_said_in_the_words_of_its_column(slips: Book, what: str) -> None:
    _, state, words = SLIPS[what]
    cells = line(slips, list(SLIPS).index(what) + 1)
    assert cells["state"] == state
    assert words in cells["to_do" if state == "to do" else "in_words"]
    assert "HOPPER_" not in cells["in_words"]
    if what != "a load density in another unit":
        assert str(cells["line_total"]).startswith("#")


@pytest.mark.calc
def test_checks_count_a_missing_reason_and_nothing_else_as_one(slips: Book) -> None:
    assert cases(slips, "choice below or own has its reason") == 1


@pytest.mark.calc
def test_a_half_filled_line_shows_no_zeros_on_the_quote(slips: Book) -> None:
    row = QUOTE.first_row + len(SLIPS)
    shown = {key: slips.value("Quote", QUOTE.cell(key, row)) for key in ("hours", "quantity")}
    assert slips.value("Quote", QUOTE.cell("job", row)) == "half filled"
    assert shown == {"hours": "", "quantity": ""}


# --- what the resin tables say ------------------------------------------------------------


@pytest.mark.calc
def test_lines_are_compared_with_the_tables_value_by_value(office: Office, tmp_path: Path) -> None:
    pet = {**GOOD, "resin": "PET", "virgin_density": 52, "virgin_share": 0.6, "hours": 4}
    own = ({"resin": "PMMA", "bulk_density": 45},)
    pmma = {**GOOD, "resin": "PMMA", "virgin_share": 1, "hours": 4}
    lines = (
        pet,  # half of 52 is more than the table's flake
        {**pet, "regrind_density": 22, "regrind_basis": "measured"},
        {**GOOD, "virgin_density": 42, "hours": 1, "virgin_share": 1},
        {**GOOD, "virgin_density": 42, "hours": 2, "virgin_share": 1},
        {**GOOD, "resin": "House blend 7"},
        {**pmma, "virgin_density": 40},  # within the built-in range, but not the own value
        {**pmma, "virgin_density": 45},
    )
    book = quote.build()
    demo.fill_lines(book, lines)
    demo.fill_table(book, resins.OWN, own)
    seen = Book(book, tmp_path / "q.xlsx", office)
    table = resins.TABLE
    said = [
        seen.value("Resins", table.cell("agrees", table.first_row + n)) for n in range(len(lines))
    ]
    assert said[0] == "regrind density above Resins: the hopper may be too small"
    assert said[1] == "ok"
    assert said[2] == said[3] == "DRYING TIME below Resins: the resin may stay wet"
    assert said[4].startswith("not in the tables")
    assert said[5] == "virgin density below Resins: the hopper may be larger than needed"
    assert said[6] == "ok"
    assert cases(seen, "drying time below what Resins says") == 2
    assert cases(seen, "regrind density outside what Resins says") == 1
    assert cases(seen, "virgin density outside what Resins says") == 1
    assert cases(seen, "a resin that no table knows") == 1
    assert seen.named("checks_warned") == 2


# --- the catalog --------------------------------------------------------------------------


def row_of(model: str) -> int:
    from hoppersheet.templates.quote.catalog import DEMO_MODELS

    return CATALOG.first_row + [row["model"] for row in DEMO_MODELS].index(model)


@pytest.mark.calc
def test_slips_of_the_catalog_are_looked_at(office: Office, tmp_path: Path) -> None:
    book = quote.build()
    demo.fill_lines(book, (GOOD,))
    sheet = book["Catalog"]
    for model, key, value in (
        ("EXAMPLE-150", "price", 2360), ("EXAMPLE-20", "stated_unit", "L"),
        ("EXAMPLE-230", "stated", 2300), ("EXAMPLE-8", "stated", "0.2 m3"),
    ):  # fmt: skip
        sheet[CATALOG.cell(key, row_of(model))] = value
    seen = Book(book, tmp_path / "q.xlsx", office)
    said = {
        seen.typed["Catalog"][CATALOG.cell("model", row)].value: seen.value(
            "Catalog", CATALOG.cell("slips", row)
        )
        for row in range(CATALOG.first_row, CATALOG.first_row + 13)
    }
    looked = {model: words for model, words in said.items() if words != "no"}
    assert set(looked) == {"EXAMPLE-150", "EXAMPLE-20", "EXAMPLE-230"}
    assert "price out of order" in looked["EXAMPLE-150"]
    assert "empty mass does not fit" in looked["EXAMPLE-20"]
    assert "more than 3 times from all other sizes" in looked["EXAMPLE-230"]
    assert cases(seen, "does not fit the others") == 3
    # A text with its own unit is read: 0.2 m3 is 7.06 ft3.
    volume = seen.value("Catalog", CATALOG.cell("volume", row_of("EXAMPLE-8")))
    assert volume == pytest.approx(0.2 / FT**3, rel=1e-12)


@pytest.mark.calc
def test_an_unreadable_size_stops_the_quote_and_says_why(office: Office, tmp_path: Path) -> None:
    book = quote.build()
    demo.fill_lines(book, (GOOD,))
    book["Catalog"][CATALOG.cell("stated", row_of("EXAMPLE-12"))] = "fifteen"
    book["Catalog"][CATALOG.cell("empty", row_of("EXAMPLE-8"))] = "heavy"
    seen = Book(book, tmp_path / "q.xlsx", office)
    states = [
        seen.value("Catalog", CATALOG.cell("state", row_of(m))) for m in ("EXAMPLE-12", "EXAMPLE-8")
    ]
    assert states == [
        "the size is not a number of its unit", "the empty mass is not a number of its unit",
    ]  # fmt: skip
    cells = line(seen, 1)
    assert cells["next"] == "#VALUE!" and cells["line_total"].startswith("#")
    assert cells["in_words"].startswith("Catalog: the size of a row cannot be read")
    assert seen.named("checks_flag").startswith("NOT READY")


# --- the printed page ---------------------------------------------------------------------


@pytest.mark.calc
def test_other_items_enter_the_subtotal_and_short_lines_are_named(
    office: Office, tmp_path: Path
) -> None:
    short = {**GOOD, "choice": "below", "reason": "as the customer asked"}
    items = (("Dryer", 1, 12000), ("Freight", 2.5, 400.1), ("Package rebate", 1, -500))
    book = quote.build()
    demo.fill_lines(book, (GOOD, *(short,) * 5))
    demo.fill_items(book, items)
    seen = Book(type_in(book, tax_rate=0.1), tmp_path / "q.xlsx", office)
    hoppers = sum(line(seen, n)["line_total"] for n in range(1, 7))
    subtotal = hoppers + 12000 + 1000.25 - 500
    assert seen.named("quote_subtotal") == pytest.approx(subtotal, abs=1e-6)
    assert seen.named("quote_total") == pytest.approx(subtotal * 1.1, abs=0.006)
    assert cases(seen, "by another way of summing") == 0
    said = seen.value("Quote", f"A{quote_sheet.BASIS_ROW + 4}")
    # Residence time = volume x density / throughput; the size below is EXAMPLE-12.
    asked = GOOD["hours"]
    held = 12 * line(seen, 2)["blend"] / GOOD["throughput"]
    words = f"holds {held:.3g} h of {asked:g} h, {1 - held / asked:.1%} short".replace("%", " %")
    assert said == (
        f"Shorter than the drying time: line 2 {words}; line 3 {words}; line 4 {words}; and 2 more."
    )
    row = QUOTE.first_row
    words = [seen.value("Quote", QUOTE.cell("enough", row + n)) for n in range(6)]
    assert words == ["yes", *["SHORT"] * 5]


@pytest.mark.calc
def test_other_items_that_lack_something_make_the_total_loud(
    office: Office, tmp_path: Path
) -> None:
    book = quote.build()
    demo.fill_lines(book, (GOOD,))
    lacking = (("Freight", 1, "at cost"), ("Dryer", None, 400), ("  ", 1, 9))
    demo.fill_items(book, (*lacking, ("Start-up", 1, 500)))
    seen = Book(book, tmp_path / "q.xlsx", office)
    totals = [seen.value("Quote", QUOTE.cell("total", row)) for row in other_items.ROWS]
    assert totals == ["#N/A", "#N/A", "#N/A", 500]
    assert seen.named("quote_total") == "#N/A"
    said = seen.value("Quote", quote_sheet.NO_TOTAL_CELL)
    assert said.startswith("3 other items without description, quantity or price")
    assert seen.value("Quote", quote_sheet.NOT_READY_CELL).startswith("NOT READY")


#: Widths of Helvetica in 1/1000 of the size (Adobe's AFM file for it; Arial has the same).
_WIDTHS = {
    **dict.fromkeys("0123456789abdeghnopqu?L", 556), **dict.fromkeys("cksvxyzJ", 500),
    **dict.fromkeys("ABEKPSVXY&", 667), **dict.fromkeys("CDHNRUw", 722),
    **dict.fromkeys(" ft.,/:;I", 278), **dict.fromkeys("ijl", 222), "r": 333, "-": 333, "m": 833,
    "M": 833, "W": 944, "%": 889, "F": 611, "T": 611, "Z": 611, "G": 778, "O": 778, "Q": 778,
    "(": 333, ")": 333, "U": 722,
}  # fmt: skip


def lines_of(text: str, points: float, size: float) -> int:
    """How many lines a text takes in a cell so many points wide, broken between words."""
    lines, used = 1, 0.0
    for word in text.split(" "):
        width = sum(_WIDTHS[sign] for sign in word) * size / 1000
        if used and used + 278 * size / 1000 + width > points:
            lines, used = lines + 1, 0.0
        used += width + (278 * size / 1000 if used else 0)
        assert used <= points, "a word that must be cut"
    return lines


def room(sheet: Any, letters: str) -> float:
    """Points that text has in columns: 7 dots per digit of Arial 10 at 96 dots per inch, less
    what a program keeps free at the edges and an indent of one."""
    wide = sum(sheet.column_dimensions[letter].width * 7 + 5 for letter in letters)
    return float(wide * 0.75 - 4 - 7)


def test_the_longest_texts_that_may_be_typed_are_printed_whole() -> None:
    """As high as the rows are; the texts are of usual letters, at the length that is admitted."""
    sheet = quote.build()["Quote"]
    job = "Extruder 12, inner liner of a storage drum, red"[: sizing_columns.LONGEST_JOB]
    resin = "polycarbonate UV stabilized 22 clear"
    assert len(job) == sizing_columns.LONGEST_JOB and len(resin) == sizing_columns.LONGEST_RESIN
    height = sheet.row_dimensions[QUOTE.first_row].height
    for key, text in (("job", job), ("mix", f"{resin}, 33.3 % regrind by volume"),
                      ("model", "Drying hopper 0400 with loader")):  # fmt: skip
        cell = sheet[QUOTE.cell(key, QUOTE.first_row)]
        assert cell.alignment.wrap_text
        lines = lines_of(text, room(sheet, QUOTE.letter(key)), cell.font.size)
        assert lines * cell.font.size * 1.2 <= height, key
    conditions = "Delivery of eight weeks ex works; payment within thirty days. " * 9
    conditions = conditions[: quote_sheet.LONGEST_CONDITIONS].strip()
    (block,) = (r for r in sheet.merged_cells.ranges if r.min_col == 3 and r.size["rows"] > 1)
    letters = "CDEFGHIJKLM"
    lines = lines_of(conditions, room(sheet, letters), 10)
    assert sheet.cell(block.min_row, 3).alignment.wrap_text
    assert lines < block.size["rows"], "one line more, for a line break"
    from hoppersheet.templates.quote.quote_lines import MARGIN
    from hoppersheet.templates.quote.steps import STEPS

    steps = [cell for cell in sheet[MARGIN] if cell.value in STEPS]
    assert steps
    for cell in steps:
        lines = lines_of(cell.value, room(sheet, MARGIN), cell.font.size)
        assert lines * cell.font.size * 1.2 <= height, cell.value
    rules = {
        str(v.sqref): v for v in sheet.data_validations.dataValidation if v.type == "textLength"
    }
    assert rules[f"C{block.min_row}"].formula2 == str(quote_sheet.LONGEST_CONDITIONS)


def test_nothing_internal_is_printed_and_the_steps_are_seen_first() -> None:
    book = quote.build(demo=True)
    sheet = book["Quote"]
    footers = [part.text or "" for part in (sheet.oddFooter.left, sheet.oddFooter.center,
                                            sheet.oddFooter.right)]  # fmt: skip
    assert "&F" not in "".join(footers)
    area = sheet.print_area.partition("!")[2].replace("$", "")
    printed = {cell.coordinate for row in sheet[area] for cell in row}
    flags = [
        cell.coordinate for row in sheet.iter_rows() for cell in row if cell.value == "=checks_flag"
    ]
    assert flags == [quote_sheet.FLAG_CELL] and flags[0] not in printed
    for name, first, word in (("Quote", "1. Catalog", "--page Quote"), ("Sizing", "How to", ""),
                              ("About", "1. Catalog", "--page Quote")):  # fmt: skip
        texts = [str(c.value) for row in book[name].iter_rows() for c in row if c.value]
        assert any(text.startswith(first) for text in texts), name
        assert any(re.search(word, text) for text in texts), name
