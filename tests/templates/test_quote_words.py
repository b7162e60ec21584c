"""What the quote workbook says in words: to the salesperson, and to his customer.

The cases are what people wrote or missed in quotes of their own; figures are worked out here.
"""

from __future__ import annotations

from typing import Any

import pytest

from hoppersheet.hosts.calc.office import Office
from hoppersheet.tables.resin_table import called, without_grade
from hoppersheet.templates import quote
from hoppersheet.templates.quote import catalog, demo, typing_in
from hoppersheet.templates.quote.line_checks import SIZING
from hoppersheet.templates.quote.line_checks import TABLE as BEHIND
from hoppersheet.templates.quote.one_line_figures import figure
from templates.quote_book import Book, near
from templates.quote_model import table_value

pytestmark = pytest.mark.calc

#: As resins are written in job lists and on sacks.
NAMES = (
    "ABS natur", "PC (schwarz)", "pa66 black", "PA 6.6 weiß", "PC/ABS, black", "Black PBT",
    "PC 2407", "PBT 1234/5 natural", "ABS regrind", "PP 40 % talc", "PA6 GF30", "natur",
    "House blend 7", "POM black", "PA66-NC", "ABS dark grey", "virgin PC", "PC 2407 bk",
)  # fmt: skip

ABS = {"resin": "ABS", "virgin": 38, "virgin_from": "measured", "stated": 100, "hours": 3}
LINES: dict[str, dict[str, Any]] = {
    "table": {"resin": "ABS natur", "regrind": 0.3, "basis": "mass", "stated": 100, "hours": 3},
    "asked": {**ABS, "temperature": 175},
    "row": {**ABS, "note": "row 3 of the job list"},
    "assumed": {**ABS, "note": "row 4 of the job list, sheet A; assumed: 100 % virgin: no column"},
    "typed note": {**ABS, "note": f"hours from the plant{' by word of mouth' * 6}"},
    "film": {"resin": "LDPE", "regrind": 0.4, "basis": "mass", "stated": 100, "hours": 1},
    "no origin": {**ABS, "virgin_from": None},
    "no basis": {**ABS, "regrind": 0.2, "ground": 25, "ground_from": "measured"},
    "held long": {**ABS, "choice": "EXAMPLE-30", "low": 80},
    "not harmed": {"resin": "PP", "virgin": 34, "virgin_from": "measured", "stated": 60, "hours": 1,
                   "shared": "H1"},
    "with it": {"resin": "PP", "virgin": 34, "virgin_from": "measured", "stated": 90, "hours": 2,
                "shared": "H1"},
}  # fmt: skip


def number(key: str) -> int:
    return list(LINES).index(key) + 1


@pytest.fixture(scope="module")
def book(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    made = quote.build(rows=len(LINES))
    typing_in.type_in(made, **demo.HEADER | {
        "catalog_sizes_are": "gross", "catalog_usable_share": 0.875, "book_basis": None,
        "project": None, "inquiry": None, "printed_1": None, "basis_page": "yes",
    })  # fmt: skip
    typing_in.fill(made, LINES.values())
    demo.fill_one_line(made, {**LINES["table"], "choice": "next but one", "low": 60, "likely": 90})
    return Book(made, tmp_path_factory.mktemp("words") / "q.xlsx", office)


def texts(book: Book) -> list[str]:
    """All that stands under each numbered thing on the page, up to the next one."""
    shown: list[str] = []
    for unit in book.page():
        if unit[0] in ("", None):
            shown[-1] += f" {unit[-1]}"
        else:
            shown.append(str(unit[-1]))
    return shown


def test_a_resin_is_looked_up_as_job_lists_do(office: Office, tmp_path: Any) -> None:
    made = quote.build(rows=len(NAMES))
    typing_in.fill(made, ({"resin": name, "stated": 60, "hours": 4} for name in NAMES))
    seen = Book(made, tmp_path / "q.xlsx", office)
    for row, name in enumerate(NAMES, BEHIND.first_row):
        found = called(name)
        expected = found[0] if len(found) == 1 else without_grade(name)
        assert seen.cell(BEHIND, "name", row) == expected, name
        graded = f"taken as {expected}: grade not known" in str(seen.cell(BEHIND, "look", row))
        assert graded == bool(without_grade(name)), name


def test_the_line_of_the_page_is_in_the_words_of_its_reader(book: Book) -> None:
    line = texts(book)[number("table") - 1]
    # 180 degF is the resin table's for ABS; 12 ft3 x 87.5 % = 10.5 ft3.
    assert line.startswith(
        "ABS natur, 30 % regrind by mass; typically dried at 180 °F (82 °C); density: typical "
        "value; regrind: typical ratio to virgin; 12 ft³ (10.5 ft³ usable), 5 ft high"
    )
    assert book.line(1)["chosen_size"] == near(10.5)
    assert "ABS, virgin; dried at 175 °F (79 °C); density: measured; " in texts(book)[1]
    assert "; density: origin not stated; " in texts(book)[number("no origin") - 1]
    everything = " ".join(texts(book))
    assert (
        "(typical value); regrind density 25.9 lb/ft³ (typical ratio to virgin); rate" in everything
    )
    assert "at 180 °F (typical)" in everything and "at 175 °F (as asked)" in everything
    assert "virgin density 38 lb/ft³ (origin not stated)" in everything
    for internal in (
        "PE film fluff", "of the table", "(table)", "resin table)", "density: not stated",
        "as typed", "folded",
    ):  # fmt: skip
        assert internal not in everything, internal
    assert "Loaded: full volume x the heaviest density, with the empty hopper." in everything


def test_a_page_without_loads_says_nothing_of_loads(small: Any) -> None:
    table = catalog.TABLE
    blank = {
        ("Catalog", table.cell("empty", row)): None
        for row in range(table.first_row, table.last_row + 1)
    }
    book = small(ABS, cells=blank)
    assert book.line(1)["loaded"] == "" and "Loaded" not in " ".join(texts(book))


def test_held_too_long_is_said_on_a_line_of_its_own_hopper(book: Book) -> None:
    """30 ft3 x 87.5 % x 38 lb/ft3 / 80 lb/h = 12.5 h; ABS is usually dried for 4 h at most."""
    held, usual = 30 * 0.875 * 38 / 80, table_value("ABS", "drying hours high", "US") or 0
    fill = round(100 * usual / held)
    state = book.state(number("held long"))
    assert f"holds {held:.1f} h: may be over-dried, fill to about {fill} %" in state
    assert (
        f". At 80 lb/h it holds {held:.1f} h, too long for this resin: fill to about {fill} %."
    ) in texts(book)[number("held long") - 1]
    # The resin table knows no harm for PP that is held long.
    for key in ("not harmed", "with it"):
        assert "over-dried" not in book.state(number(key)) and "fill" not in book.state(number(key))
        assert "fill to about" not in texts(book)[number(key) - 1]


def test_a_note_asks_for_a_look_only_where_something_was_assumed(book: Book) -> None:
    assert book.state(number("row")) == "● ready"
    assert book.state(number("assumed")) == "▲ look: assumed: 100 % virgin: no column"
    assert book.line(number("assumed"))["state"] == "▲ look: 100 % virgin: n…"
    assert book.state(number("typed note")) == (
        "▲ look: assumed: hours from the plant" + " by word of mouth" * 3 + " by word …"
    )


def test_what_is_asked_for_in_a_folded_column_is_found(book: Book) -> None:
    basis, origin = SIZING.letter("basis"), SIZING.letter("virgin_from")
    assert all(book.typed["Sizing"].column_dimensions[letter].hidden for letter in (basis, origin))
    assert book.state(number("no basis")) == (
        f"○ unfinished: by mass or volume (column {basis}, folded) missing"
    )
    assert book.line(number("no basis"))["state"] == f"○ unfinished: mass? column {basis}"
    assert f"(column {origin}, folded)" in book.state(number("no origin"))
    head = book.value("Sizing", f"{SIZING.letter('reason')}1")
    assert head.endswith(
        f"Asked for in folded columns (+ above): {basis} (by mass or volume), {origin} (origin, "
        "virgin)"
    )


def test_the_head_of_the_page_has_no_holes(book: Book) -> None:
    head = [(book.value("Quote", f"A{row}"), book.value("Quote", f"C{row}")) for row in range(4, 8)]
    assert head == [
        ("For", demo.HEADER["customer"]), ("Prepared by", demo.HEADER["prepared_by"]), ("", ""),
        ("", ""),
    ]  # fmt: skip
    said = book.value("Quote", "G2").split("\n")
    assert said[1:] == ["EX-0147", "2026-03-02, valid until 2026-04-30"]


def test_one_line_shows_the_densities_that_it_takes(book: Book) -> None:
    virgin, ground = (table_value("ABS", f"{what} density", "US") for what in ("bulk", "regrind"))
    assert book.value("One line", figure("ground_used")) == near(ground)
    assert book.value("One line", "B11") == f"Virgin: {virgin:.1f} taken"
    assert book.value("One line", "B12") == f"Regrind: {ground:.1f} taken"
    rests = [book.value("One line", f"S{row}") for row in range(24, 30)]
    assert f"Virgin: {virgin:.1f} lb/ft³, table" in rests
    assert f"Regrind: {ground:.1f} lb/ft³, ratio of the table" in rests
    assert "may be over-dried: " in book.value("One line", figure("look"))
