"""The quote workbook: filled as a user would, computed by a real Calc, worked out again by a model.

``quote_model`` says what the cells must show, by plain arithmetic; a second engine computes every
cell once more.
"""

from __future__ import annotations

from datetime import date, datetime
from itertools import pairwise
from typing import Any

import pytest
from openpyxl.utils import get_column_letter

from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import quote
from hoppersheet.templates.quote import (
    demo,
    dryer,
    measured,
    page_shape,
    resins,
    shared_hopper,
    typing_in,
)
from hoppersheet.templates.quote.line_checks import SIZING
from hoppersheet.templates.quote.line_checks import TABLE as BEHIND
from hoppersheet.templates.quote.line_columns import TYPED
from hoppersheet.templates.quote.one_line_figures import (
    CARDS,
    FIRST_FOR_SIZING,
    IN,
    ROW_FOR_SIZING,
    figure,
)
from templates.quote_book import Book, near, typed_lines, weighed
from templates.quote_lines import GOOD, SLIPS
from templates.quote_model import COVERAGE, blend, chance, table_value, uncertainty

pytestmark = pytest.mark.calc
BOTH = pytest.mark.parametrize("name", ["demo_us", "demo_metric"])


@pytest.fixture
def book(name: str, demo_us: Book, demo_metric: Book) -> Book:
    return {"demo_us": demo_us, "demo_metric": demo_metric}[name]


# --- Sizing -------------------------------------------------------------------------------


@BOTH
def test_every_line_is_what_plain_arithmetic_gives(book: Book) -> None:
    ((_, cups, volume),) = weighed(book)
    scale = 62.4279605761446 if book.named("unit_system") == "US" else 1.0
    model = book.model(measured={(5, "regrind"): sum(cups) / len(cups) / volume * scale})
    lines = typed_lines(book)
    for number, line in enumerate(lines, 1):
        shown, expected = book.line(number), model.line(line, number, lines)
        for key, value in expected.items():
            assert shown[key] == near(value), (number, key)
    assert book.line(len(demo.LINES) + 1)["needs"] == ""


@BOTH
def test_the_chance_of_a_line_is_that_of_its_stated_rates(book: Book) -> None:
    line = book.line(1)
    volume, density, hours = line["chosen_size"], line["blend"], line["hours"]
    rates = (line["low_used"], line["likely_used"], line["high_used"])
    expected = chance(volume, rates, (hours,) * 3, (density,) * 3)
    assert line["chance"] == pytest.approx(expected, abs=0.01)


@BOTH
def test_states_totals_and_what_the_demo_declares(book: Book) -> None:
    states = [book.state(n).split(":")[0] for n in range(1, len(demo.LINES) + 1)]
    assert states.count("● ready") == book.named("lines_ready")
    assert book.named("lines_stop") == book.named("lines_unfinished") == 0
    assert book.named("quote_ready") == "ready"
    lines = [book.line(n)["net"] for n in range(1, len(demo.LINES) + 1)]
    dryers = [book.cell(dryer.TABLE, "net", dryer.TABLE.first_row + n) for n in range(2)]
    services = [row["quantity"] * row["price"] if "quantity" in row else row["price"]
                for row in demo.SERVICE_ROWS]  # fmt: skip
    subtotal = sum(lines) + sum(dryers) + sum(services)
    assert book.named("quote_subtotal") == near(subtotal)
    assert book.named("quote_tax") == near(round(subtotal * demo.HEADER["tax_rate"], 2))
    assert book.named("quote_total") == near(subtotal + book.named("quote_tax"))


def test_the_demo_lies_within_the_ranges_of_the_resin_table() -> None:
    for line in demo.LINES:
        for key, wanted in (("virgin", "bulk density"), ("ground", "regrind density"),
                            ("hours", "drying hours")):  # fmt: skip
            low, high = (
                table_value(line["resin"], f"{wanted} {end}", "US") for end in ("low", "high")
            )
            if key in line and low is not None and high is not None:
                assert low <= line[key] <= high, (line["job"], key, low, high)


# --- One line -----------------------------------------------------------------------------


@BOTH
def test_the_cards_of_one_line_are_what_plain_arithmetic_gives(book: Book) -> None:
    model = book.model()

    def typed(key: str) -> Any:
        return book.value("One line", IN[key])

    line = {
        k: typed(k) for k in ("resin", "regrind", "basis", "virgin", "ground", "stated", "hours")
    }
    worked = model.line(line)
    density, needs, rate = worked["blend"], worked["needs"], line["stated"]
    assert book.value("One line", figure("needs")) == near(needs)
    sizes = model.sizes
    after = min(s for s in sizes if s >= needs)
    expected = {
        "K": max(s for s in sizes if s < needs), "M": after,
        "O": min(s for s in sizes if s > after),
        "Q": 2 * min(s for s in sizes if 2 * s >= needs),
    }  # fmt: skip
    low, high = (
        [table_value(line["resin"], f"{what} {end}", model.system) for what in
         ("bulk density", "regrind density")]
        for end in ("low", "high")
    )  # fmt: skip
    # The regrind density is measured; only the virgin one has a range.
    ends = [
        blend(line["regrind"], edge, line["ground"], line["basis"])
        for edge in (min(low[0] or 0, line["virgin"]), max(high[0] or 0, line["virgin"]))
    ]
    rates = (typed("low"), typed("likely"), typed("high"))
    hours = (typed("hours_low"), typed("hours_likely"), typed("hours_high"))
    for letter, _, count in CARDS:
        volume = expected[letter]
        row = model.row(volume / count)

        def shown(number: int, letter: str = letter) -> Any:
            return book.value("One line", f"{letter}{number}")

        assert shown(6) == row["model"]
        assert shown(7) == near(volume)
        assert shown(8) == ("held" if volume >= needs else
                            f"▼ {round(100 * (1 - volume / needs), 1):g} % short")  # fmt: skip
        assert shown(9) == near(volume * density / rate)
        assert shown(10) == near(volume * density / rates[1])
        assert shown(50) == pytest.approx(
            chance(volume, rates, hours, (ends[0], density, ends[1]), 40), abs=0.02
        )
        assert shown(12) == near(volume * density / line["hours"])
        fits = (volume / (rate * line["hours"]) - 1 / line["virgin"]) / (
            1 / line["ground"] - 1 / line["virgin"]
        )
        assert shown(13) == ("any" if fits >= 1 else near(fits))
        assert shown(14) == near(row["empty"] + row["gross"] * worked["heavy"])
        assert shown(15) == near(row["height"])
        assert shown(16) == near(row["price"] * count)
    worst = rates[2] * hours[2] / ends[0]
    assert book.value("One line", figure("worst")) == near(worst)
    for letter in "KMOQ":
        said = book.value("One line", f"{letter}11")
        # Never 100 % unless the worst case holds.
        assert (said == 1) == (expected[letter] >= worst * (1 - 1e-9))
    assert book.value("One line", "D26") == "● same figures there"
    assert book.named("one_line_open") == 0


def test_one_line_of_three_typed_cells(no_demonstration: Book) -> None:
    """Resin, rate and hours: the rest from the table; no range stated, so nothing is in between."""
    seen = no_demonstration
    usual = table_value("PC", "bulk density", "US") or 0
    needs = 100 * 4 / usual
    assert seen.value("One line", figure("needs")) == near(needs)
    assert seen.value("One line", figure("h_low")) == 4
    assert seen.value("One line", figure("h_likely")) == 4
    after = min(s for s in seen.model().sizes if s >= needs)
    assert seen.value("One line", "M7") == near(after)
    assert seen.value("One line", "B2").startswith(f"Needs {round(needs, 1):g} ft³: EXAMPLE-")
    assert seen.value("One line", "M13") > 0  # by mass, the basis of the book
    assert seen.named("one_line_open") == 1
    assert "invented model" in seen.value("One line", "F1")
    # Nobody stated a range: no chance is worked out, and none is spoken of.
    assert [seen.value("One line", f"{letter}11") for letter in "KMOQ"] == ["no range"] * 4
    assert "chance" not in seen.value("One line", "B3")
    estimated = {seen.value("One line", f"S{row}"): seen.value("One line", f"T{row}")
                 for row in range(17, 21)}  # fmt: skip
    low, high = (table_value("PC", f"bulk density {end}", "US") or 0 for end in ("high", "low"))
    assert estimated == {
        "Rate": "no range", "Drying time": "no range", "Regrind density": "not in it",
        "Virgin density": f"{round(400 / low, 1):g} to {round(400 / high, 1):g}",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("choice", "begins", "then"),
    [
        ("size below", "EXAMPLE-20 is 9.9 % short (3.15 h)", "EXAMPLE-30 holds 4.73 h of 3.5 h"),
        ("next size", "EXAMPLE-30 holds 4.73 h of 3.5 h", "EXAMPLE-20 is 9.9 % short (3.15 h)"),
        ("next but one", "EXAMPLE-45 holds 7.1 h of 3.5 h", "EXAMPLE-30 holds 4.73 h of 3.5 h"),
        ("two smaller", "2 x EXAMPLE-12 hold 3.78 h of 3.5 h", "EXAMPLE-30 holds 4.73 h of 3.5 h"),
    ],
)
def test_the_answer_speaks_of_the_card_that_is_chosen(
    choice: str, begins: str, then: str, office: Office, tmp_path: Any
) -> None:
    book = quote.build(rows=1)
    demo.fill_one_line(book, {"resin": "PC/ABS", "regrind": 0.3, "basis": "mass", "stated": 220,
                              "hours": 3.5, "choice": choice})  # fmt: skip
    seen = Book(book, tmp_path / "q.xlsx", office)
    assert seen.value("One line", "B2") == f"Needs 22.2 ft³: {begins}; {then}"


@pytest.mark.parametrize(
    ("units", "typed", "hidden"),
    [
        # Two of 10 are as much as one of 20, the size below: their names would be one.
        ("US", {"stated": 215, "hours": 3.5}, {"likely"}),
        ("US", {"stated": 30, "low": 10, "likely": 20, "high": 60}, set()),
        ("metric", {"stated": 100, "likely": 130, "high": 140}, set()),
        ("metric", {"stated": 4, "hours": 2}, {"likely"}),
        ("US", {"stated": 9000}, {"likely"}),
    ],
)
def test_no_two_names_in_the_chart_touch(
    units: str, typed: dict[str, Any], hidden: set[str], office: Office, tmp_path: Any
) -> None:
    book = quote.build(units, rows=1)
    cells = {"resin": "PC/ABS", "regrind": 0.3, "basis": "mass", "hours": 4, **typed}
    for key, value in cells.items():
        book["One line"][IN[key].replace("$", "")] = value
    for number, size in enumerate((1, 2, 5, 10, 20, 21, 22, 24, 70), 10):
        book["Catalog"][f"B{number}"] = size
    seen = Book(book, tmp_path / "q.xlsx", office)

    def at(letter: str, row: int) -> Any:
        return seen.value("Curves", f"{letter}{row}")

    names = {row: at("A", row) for row in range(30, 41) if at("A", row)}
    assert {name.split()[0] for name in names.values()} >= {"asked", "stated"}
    assert any(name.startswith("likely") for name in names.values()) == ("likely" not in hidden)
    heights = sorted(at("G", row) for row in names if row < 35)
    top = max(at("C", row) for row in range(30, 35))
    assert all(b - a >= 0.0999 * top for a, b in pairwise(heights)), heights
    # In the order of their curves, which begin at the right of them.
    for a in (row for row in names if row < 35):
        assert at("B", a) == 60
        for b in (row for row in names if row < 35):
            assert (at("C", a) < at("C", b)) <= (at("G", a) < at("G", b))
    # What is named is drawn, once; what is not has its place below the axis.
    for row in range(30, 41):
        assert (row in names) == (at("G", row) >= 0), row
    sides = [(at("B", row), row % 2) for row in names if row in (35, 36, 37, 38)]
    assert len({n.split()[0] for r, n in names.items() if r > 34}) == sum(r > 34 for r in names)
    if len(sides) == 2:  # each away from the other, or both at the right and far apart
        (one, left), (other, too) = sorted(sides)
        assert (left, too) == (1, 0) or other - one >= 20


@BOTH
def test_the_row_that_one_line_offers_is_the_line_on_sizing(book: Book) -> None:
    offered = {
        column.key: book.value(
            "One line", f"{get_column_letter(FIRST_FOR_SIZING + n)}{ROW_FOR_SIZING}"
        )
        for n, column in enumerate(TYPED)
    }
    typed = demo.LINES[0]
    for key in ("job", "resin", "regrind", "hours", "virgin_from", "ground_from"):
        assert offered[key] == typed[key], key
    assert (
        offered["choice"] == "next size" and offered["split"] == "" and offered["basis"] == "mass"
    )
    assert book.line(1)["stated"] == offered["stated"]


# --- dryer, shared hopper, measured density ------------------------------------------------


def test_dryers_give_the_air_that_their_lines_need(demo_us: Book) -> None:
    lines = [demo_us.line(n) for n in range(1, len(demo.LINES) + 1)]
    by_dryer: dict[str, list[dict[str, Any]]] = {}
    for line in lines[:-1]:  # the last one is in turn in the hopper of line 3, with less air
        by_dryer.setdefault(line["dryer"] or "A", []).append(line)
    assert lines[-1]["rate_used"] < lines[2]["rate_used"]
    airflows = sorted(row["stated"] for row in catalog_dryers())
    for place, (name, mine) in enumerate(sorted(by_dryer.items())):
        row = dryer.TABLE.first_row + place
        need = sum(line["rate_used"] * (line["quantity"] or 1) for line in mine)  # 1 cfm per lb/h
        gives = min(flow for flow in airflows if flow >= need)
        assert demo_us.cell(dryer.TABLE, "name", row) == name
        assert demo_us.cell(dryer.TABLE, "needs", row) == near(need)
        assert demo_us.cell(dryer.TABLE, "gives", row) == near(gives)
        assert demo_us.cell(dryer.TABLE, "model", row) == f"EXAMPLE-D{gives:g}"


def catalog_dryers() -> Any:
    from hoppersheet.templates.quote.catalog import demo_dryers

    return demo_dryers()


def test_the_air_returns_at_what_the_energy_balance_says(demo_us: Book) -> None:
    """Heat to the resin = heat that the air gives up (energy balance)."""
    row = dryer.TABLE.first_row + 1  # dryer B: PLA alone
    hot, needs, power, carries, back = (
        demo_us.cell(dryer.TABLE, key, row)
        for key in ("hottest", "needs", "power", "carries", "returns")
    )
    room = demo.HEADER["room_temperature"]
    assert hot == 175
    assert back == near(hot - power / carries * (hot - room))
    # Dry air at 175 degF and 650 ft weighs about 0.0607 lb/ft3, 0.24 Btu/(lb degF) (ideal gas).
    assert carries == pytest.approx(needs * 60 * 0.0607 * 0.24 * (hot - room), rel=0.02)


def test_weighed_cups_feed_their_line_with_their_uncertainty(demo_us: Book) -> None:
    ((line, cups, volume),) = weighed(demo_us)
    row = measured.TABLE.first_row

    def shown(key: str) -> Any:
        return demo_us.cell(measured.TABLE, key, row)

    spread, combined, freedom = uncertainty(cups)
    assert shown("density") == near(sum(cups) / len(cups) / volume * 62.4279605761446)
    assert shown("spread") == near(spread)
    assert shown("u_c") == near(combined)
    assert shown("freedom") == freedom
    assert shown("factor") == pytest.approx(COVERAGE[freedom], abs=0.006)
    assert shown("relative") == near(shown("factor") * combined)
    assert demo_us.line(line)["ground_is"] == "measured"
    assert demo_us.line(line)["blend"] == near(shown("density"))


def test_shared_hopper_shows_the_lines_of_sizing_in_turn(demo_us: Book) -> None:
    """Lines 3 and 8 of the demo: PBT at 62 lb/h and PA6 at 60 lb/h, 4 h each."""
    table = shared_hopper.TABLE
    needs = [62 * 4 / 48, 60 * 4 / 41]

    def shown(key: str) -> list[Any]:
        return [demo_us.cell(table, key, table.first_row + n) for n in range(3)]

    assert shown("line_used") == [3, 8, ""]
    assert shown("needs") == [near(needs[0]), near(needs[1]), ""]
    assert demo_us.named("shared_required") == near(max(needs))
    assert demo_us.named("shared_by") == demo_us.line(8)["job"]
    size = min(s for s in demo_us.model().sizes if s >= max(needs))
    assert demo_us.named("shared_size") == near(size)
    assert shown("held")[:2] == [near(size * 48 / 62), near(size * 41 / 60)]
    assert shown("contents")[:2] == [near(size * 48), near(size * 41)]
    # PBT is the heavier of the two, by the resin table.
    heavy = table_value("PBT", "bulk density high", "US") or 0
    assert heavy > (table_value("PA6", "bulk density high", "US") or 0)
    load = demo_us.model().row(size)["empty"] + size * heavy
    assert demo_us.named("shared_load") == demo_us.line(3)["loaded"] == near(load)


# --- the page -----------------------------------------------------------------------------


@BOTH
def test_the_page_shows_every_line_dryer_and_service_in_its_order(book: Book) -> None:
    page = book.page()
    numbered = [unit for unit in page if unit[0] not in ("", None)]
    assert [unit[0] for unit in numbered] == [str(n + 1) for n in range(len(numbered))]
    lines = [book.line(n) for n in range(1, len(demo.LINES) + 1)]
    for unit, line in zip(numbered, lines, strict=False):
        assert unit[1] == line["job"]
        figures = (
            "blend",
            "rate_used",
            "needs",
            "model",
            "hours",
            "held",
            "pieces",
            "price",
            "net",
        )
        if line["also"]:
            assert unit[2:11] == (*(near(line[key]) for key in figures[:3]), "hopper of line 3",
                                  near(line["hours"]), near(line["held"]), "", "", "")  # fmt: skip
        else:
            assert unit[2:11] == tuple(near(line[key]) for key in figures)
        origin = line["virgin_is"] or line["ground_is"]
        assert f"; density: {'typical value' if origin == 'table' else origin}" in unit[11]
    titles = [unit[1] for unit in page]
    assert "Total with tax, USD" in titles and "Accepted" in titles and "▼ SHORT" in titles
    texts = " ".join(str(unit[11]) for unit in page)
    assert "the press log of March shows 88 lb/h" in texts
    assert "plug flow" in texts and "Payment within 30 days" in texts
    for caution in ("licensed engineer", "combustible dust", "not a process guarantee"):
        assert caution in texts
    assert "dried for" not in texts  # the sizing basis is not asked for
    items = {unit[0]: unit[10] or 0 for unit in numbered}
    sold = sum(items[str(n)] for n in range(1, 11))  # eight lines, two dryers
    services = items["11"] + items["12"]
    sums = {str(unit[1]): unit[10] for unit in page if str(unit[1]).startswith(("Sub", "T"))}
    assert list(sums) == ["Subtotal, hoppers and dryers", "Subtotal before tax", "Tax",
                          "Total with tax, USD"]  # fmt: skip
    tax = round((sold + services) * demo.HEADER["tax_rate"], 2)
    assert list(sums.values()) == [
        near(value) for value in (sold, sold + services, tax, sold + services + tax)
    ]
    assert "For lines 1, 2, 3, 4, 5, 6, 8 at once, those of one hopper in turn: needs" in texts
    assert "For line 7: needs" in texts
    assert book.value("Quote", "A1") == "Drying hoppers and dryers"
    assert book.value("Quote", "G1") == "DEMONSTRATION"
    assert "INVENTED" in book.value("Quote", "G2")


def test_long_texts_are_cut_between_words_and_nothing_is_lost(demo_us: Book) -> None:
    plan = demo_us.computed["Page plan"]
    wanted = [v for a, v in plan.items() if a.startswith("I") and v not in ("", None)]
    shown = " ".join(str(unit[11]) for unit in demo_us.page() if unit[11])
    for text in [*wanted, demo_us.typed["Page plan"]["I5"].value]:
        if isinstance(text, str) and not text.startswith("="):
            assert " ".join(text.split()) in " ".join(shown.split()), text
    assert all(len(str(unit[11])) <= page_shape.LINE_LENGTH for unit in demo_us.page())


# --- states and checks --------------------------------------------------------------------


@pytest.mark.parametrize("what", SLIPS)
def test_a_slip_is_said_in_the_state_of_its_line(slips: Book, what: str) -> None:
    number = list(SLIPS).index(what) + 1
    assert slips.state(number).startswith(SLIPS[what][1])


def test_a_line_says_how_much_else_there_is_to_say(slips: Book) -> None:
    number = list(SLIPS).index("two things") + 1  # no origin of the density, and too tall
    assert (
        slips.line(number)["state"] == f"▲ look +1: origin? column {SIZING.letter('virgin_from')}"
    )


def test_checks_name_the_lines_and_the_total_is_loud(slips: Book) -> None:
    results = slips.results()
    places = {what: n for n, what in enumerate(SLIPS, 1)}
    cases, result, lines = results["Lines: short without a reason"]
    short = [places["short, no reason, hydrolyzes"], places["short, no reason"]]
    assert (cases, result, lines) == (2, "fail", ", ".join(map(str, sorted(short))))
    assert results["Lines: quoting an invented catalog row"][2] == str(places["an invented model"])
    assert slips.named("quote_total") == "#N/A"
    assert slips.value("Quote", "G1") == "DRAFT"
    ready = slips.named("quote_ready")
    failing = slips.named("checks_failed")
    assert ready.startswith(f"{failing:g} of its checks fail: not every line is priced; ")
    assert f"; and {failing - 3:g} more" in ready
    assert slips.value("Quote", "A8") == "Why a draft"
    assert slips.value("Quote", "C8").startswith("not every line is priced; ")
    missing = {str(places[what]) for what in ("no hours", "only a rate", "the unfinished one")}
    assert set(results["Lines: hours missing"][2].split(", ")) == missing
    page = slips.page()
    assert any(unit[1] == "■ NOT READY" for unit in page)
    total = next(unit for unit in page if str(unit[1]).startswith("Total, draft"))
    assert total[10] == "not priced" and "not priced" in total[11]
    # None is left out.
    assert sum(unit[0] not in ("", None) for unit in page) >= len(SLIPS)
    texts = " ".join(str(unit[11]) for unit in page)
    long = results["Lines: held far longer than asked, of a resin that suffers from it"]
    assert str(places["held far longer"]) in long[2].split(", ")
    assert f"Held far longer than asked: {long[0]:g} of" in texts and "#N" not in texts
    assert places["pure regrind needs no virgin density"] and slips.line(
        places["pure regrind needs no virgin density"]
    )["blend"] == near(28)


#: A line of one resin, and the same with regrind: all that has to be typed of it.
SIMPLE = {"resin": "ABS", "stated": 100, "hours": 3}
SIX = {**SIMPLE, "regrind": 0.2, "basis": "mass", "choice": "EXAMPLE-12"}


def test_a_simple_line_needs_three_typed_cells_and_one_with_regrind_at_most_six(small: Any) -> None:
    """The very cells are counted in the file; all else is at its default, and seen as such."""
    assert (len(SIMPLE), len(SIX)) == (3, 6)
    book = small(SIMPLE, SIX)
    typed = [
        [c.key for c in TYPED if book.typed["Sizing"][SIZING.cell(c.key, row)].value is not None]
        for row in (SIZING.first_row, SIZING.first_row + 1)
    ]
    assert [sorted(keys) for keys in typed] == [sorted(SIMPLE), sorted(SIX)]
    assert book.failing() == set()
    assert book.named("quote_ready") == "ready"
    for number, line in enumerate((SIMPLE, SIX), 1):
        assert book.state(number).startswith("▲ look: density from table")
        shown, expected = book.line(number), book.model().line(line, number)
        assert {key: shown[key] for key in expected} == {k: near(v) for k, v in expected.items()}
        assert shown["pieces"] == 1
    units = {c.key: c.unit for c in TYPED}  # what a blank means stands in the heading
    assert (units["regrind"], units["quantity"], units["choice"]) == ("or 0 %", "or 1", "or policy")


def test_a_switch_of_the_unit_system_fails_until_it_is_confirmed(small: Any) -> None:
    book = small(GOOD, unit_system="metric")
    assert "The unit system is US or metric, and the typed figures are in it" in book.failing()
    assert book.value("Quote", "G1") == "DRAFT"


@pytest.fixture(scope="module")
def no_demonstration(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """One line on Sizing and another on One line, models as they come: invented."""
    book = quote.build(rows=1)
    typing_in.type_in(book, **demo.HEADER | {"demonstration": "no"})
    typing_in.fill(book, [without_choice()])
    demo.fill_one_line(book, {"resin": "PC", "stated": 100, "hours": 4})
    return Book(book, tmp_path_factory.mktemp("invented") / "q.xlsx", office)


def test_an_invented_model_stops_a_book_that_is_no_demonstration(no_demonstration: Book) -> None:
    book = no_demonstration
    assert book.state(1).startswith("■ stop: invented model")
    assert "dryer A is an invented model" in full_state(book, 1)
    assert "Lines: quoting an invented catalog row" in book.failing()
    assert book.value("Quote", "G1") == "DRAFT"


def full_state(book: Book, number: int) -> str:
    """All that is said of a line; Sizing shows its first part."""
    return str(book.cell(BEHIND, "state", BEHIND.first_row + number - 1))


def without_choice() -> dict[str, Any]:
    return {k: v for k, v in GOOD.items() if k != "choice"}


def test_a_dryer_too_small_or_not_quoted_stops_without_a_reason(
    office: Office, tmp_path: Any
) -> None:
    lines = [{**without_choice(), "dryer": letter} for letter in "ABCDE"]
    book = quote.build(rows=5)
    typing_in.type_in(book, **demo.HEADER)
    typing_in.fill(book, lines)
    for row, (choice, reason) in enumerate(
        ((None, None), ("EXAMPLE-D120", None), ("none", None), ("none", "the plant's own, 400 cfm"),
         ("EXAMPLE-D200", "runs at 190 lb/h")), dryer.TABLE.first_row,
    ):  # fmt: skip
        book["Dryer"][dryer.TABLE.cell("choice", row)] = choice
        book["Dryer"][dryer.TABLE.cell("reason", row)] = reason
    seen = Book(book, tmp_path / "q.xlsx", office)
    states = [seen.state(n) for n in range(1, 6)]
    assert states[0] == "● ready"
    assert states[1] == "■ stop: dryer B too small by 100 cfm"
    assert states[2] == "■ stop: dryer C not quoted, no reason"
    assert states[3] == states[4] == "● ready"
    page = seen.page()
    texts = " ".join(str(unit[11]) for unit in page)
    # 220 lb/h at 1 cfm per lb/h; 220 x 0.3048^3 x 60 = 373.8 m3/h (NIST SP 811). PC/ABS dries at
    # the resin table's temperature.
    hot = table_value("PC/ABS", "drying temperature", "US") or 0
    assert (
        "Dryer D, for line 4, is not part of this quote. It must give 220 cfm (374 m³/h) of air at "
        f"{int(hot + 0.5)} °F ({(hot - 32) / 1.8:.0f} °C), dew point -40 °F (-40 °C) or below. "
        "Reason given: the plant's own, 400 cfm"
    ) in texts
    assert "Dryer E is too small by 20 cfm. Reason given: runs at 190 lb/h" in texts
    # A dryer that stops is told once, with its line, and not on the line again.
    assert "Dryer B, for line 2: too small by 100 cfm." in texts
    assert texts.count("too small by 100 cfm") == 1
    assert {unit[1] for unit in page} >= {"Dryer A", "Dryer E", "▼ SMALLER", "Dryer not quoted"}


def test_resins_that_must_never_meet_stop_on_one_dryer(resins_book: Book) -> None:
    states = [full_state(resins_book, number) for number in (1, 2, 3)]
    assert ["must never meet" in state for state in states] == [True, True, False]


def test_the_usable_share_of_the_catalog_enters_size_and_hours(small: Any) -> None:
    """At 90 % fill a hopper of 30 ft3 holds 27 ft3."""
    book = small(without_choice(), catalog_sizes_are="gross", catalog_usable_share=0.9)
    line = book.line(1)
    assert line["chosen_size"] == near(27) and line["model"] == "EXAMPLE-30"
    assert line["held"] == near(27 * line["blend"] / 220)
    # The load is that of the full hopper.
    assert line["loaded"] > 30 * 40


def test_a_fresh_template_is_a_draft_without_any_error(office: Office, tmp_path: Any) -> None:
    seen = Book(quote.build(rows=3), tmp_path / "q.xlsx", office)
    errors = [
        f"{sheet}!{address}"
        for sheet, cells in seen.computed.items()
        for address, value in cells.items()
        if isinstance(value, str) and value.startswith("#") and sheet != "Curves"
    ]
    assert errors == []
    assert seen.value("Quote", "G1") == "DRAFT"
    assert "At least one line is filled in" in seen.failing()


@pytest.fixture(scope="module")
def resins_book(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """POM and PVC on dryer A, POM on B; ABS of an own row and by its long name on C."""
    book = quote.build(rows=5)
    for key, value in (("resin", "ABS"), ("density", 45.0)):
        book["Resins"][resins.TABLE.cell(key, resins.TABLE.first_row)] = value
    typing_in.fill(book, (
        {"resin": "POM", "stated": 75, "hours": 2},
        {"resin": "PVC-U", "stated": 75, "hours": 2},
        {"resin": "POM", "stated": 75, "hours": 2, "dryer": "B"},
        {"resin": "abs", "stated": 100, "hours": 3, "dryer": "C"},
        {"resin": "Acrylonitrile butadiene styrene", "stated": 100, "hours": 3, "dryer": "C"},
    ))  # fmt: skip
    return Book(book, tmp_path_factory.mktemp("resins") / "q.xlsx", office)


def test_own_resins_win_value_by_value(resins_book: Book) -> None:
    assert resins_book.line(4)["virgin_used"] == 45
    assert resins_book.line(5)["virgin_used"] == near(table_value("ABS", "bulk density", "US"))


def test_dates_and_revisions_stand_on_the_page(demo_us: Book) -> None:
    assert demo_us.named("revision") == "B"
    assert demo_us.value("Quote", "C8") == "Revision B: line 2 one size smaller; dryer B added"
    typed = demo_us.named("valid_until")
    assert (typed.date() if isinstance(typed, datetime) else typed) == date(2026, 4, 30)
    assert "2026-04-30" in demo_us.value("Quote", "G2")


def test_a_revision_has_its_own_date_and_is_valid_as_long_as_the_first_quote(small: Any) -> None:
    """61 days from 1 June 2026 on; Settings still has the first quote's dates."""
    from hoppersheet.templates.quote.revision import TABLE as REVISION

    first = {"quote_date": date(2026, 3, 1), "valid_until": date(2026, 5, 1)}

    def revised(*rows: dict[str, Any]) -> Book:
        typed = {
            (REVISION.sheet, REVISION.cell(key, REVISION.first_row + n)): value
            for n, row in enumerate(rows)
            for key, value in row.items()
        }
        return small(GOOD, cells=typed, **first)

    a = {"revision": "A", "date": date(2026, 3, 1)}
    book = revised(a, {"revision": "B", "date": date(2026, 6, 1), "changed": "one more"})
    assert book.failing() == set()
    assert "revision B\n2026-06-01, valid until 2026-08-01" in str(book.value("Quote", "G2"))
    assert "The revision on the page has its own date, not before the quote's" in (
        revised(a, {"revision": "B"}).failing()
    )


def test_a_page_without_a_seller_is_a_draft_and_says_what_is_missing(small: Any) -> None:
    book = small(GOOD, seller=None, seller_contact=" ")
    which = "Customer, number, date, prepared by, seller and contact are filled in"
    assert book.results()[which][1:] == ("fail", "seller, address or contact")
    assert book.named("quote_ready").endswith("fails: seller, address or contact missing")
    assert book.value("Quote", "C8") == "seller, address or contact missing"
    assert book.value("Quote", "G1") == "DRAFT"
