"""Hoppers that several jobs share: sold once, sized and loaded for all of them, air once.

Every figure is worked out here by hand from what is typed: a hopper for jobs in turn is as large as
the largest of them needs it and carries the heaviest; presses that draw at once add their rates.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import quote
from hoppersheet.templates.quote import demo, dryer, shared_hopper, typing_in
from hoppersheet.templates.quote.line_checks import TABLE as BEHIND
from templates.quote_book import Book, near
from templates.quote_model import DUTY_METRIC, FT3, table_value

pytestmark = pytest.mark.calc

#: In turn, two such hoppers, on dryer B: the job in the middle needs most, the first is densest.
IN_TURN: tuple[dict[str, Any], ...] = (
    {"job": "a", "resin": "PET", "virgin": 52, "virgin_from": "data sheet", "stated": 62,
     "hours": 4, "shared": "H1", "quantity": 2, "dryer": "B"},
    {"job": "b", "resin": "PC", "virgin": 40, "virgin_from": "measured", "stated": 140, "hours": 4,
     "reserve": 0.1, "shared": "H1"},
    {"job": "c", "resin": "ABS", "virgin": 38, "virgin_from": "data sheet", "stated": 200,
     "hours": 2, "shared": "H1"},
)  # fmt: skip
#: At once, in two hoppers that divide the rate.
_ABS = {"resin": "ABS", "virgin": 39, "virgin_from": "measured", "hours": 3, "shared": "H2"}
AT_ONCE: tuple[dict[str, Any], ...] = (
    {"job": "d", **_ABS, "stated": 300, "likely": 250, "split": 2, "turn": "at once"},
    {"job": "e", **_ABS, "stated": 180},
)
NEVER = (
    {"job": "f", "resin": "POM", "stated": 75, "hours": 2, "shared": "H3", "dryer": "C"},
    {"job": "g", "resin": "PVC-U", "stated": 75, "hours": 2, "shared": "H3"},
)


def us_book() -> Any:
    book = quote.build(rows=9)
    typing_in.type_in(book, **demo.HEADER, shared_pick="H2")
    # A row left blank: the page counts on, the lines keep their numbers.
    typing_in.fill(book, [*IN_TURN, {}, *AT_ONCE, *NEVER])
    return book


@pytest.fixture(scope="module")
def us(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    return Book(us_book(), tmp_path_factory.mktemp("shared") / "q.xlsx", office)


def units_of(book: Book) -> Iterator[tuple[Any, ...]]:
    """What stands on the page for each line, dryer and service: figures, and all of its text."""
    shown: list[tuple[Any, ...]] = []
    for unit in book.page():
        if unit[1] == "" and shown:
            shown[-1] = (*shown[-1][:-1], f"{shown[-1][-1]} {unit[-1]}")
        else:
            shown.append(unit)
    return iter(shown)


def test_jobs_in_turn_have_one_hopper_as_large_as_the_largest_needs_it(us: Book) -> None:
    needs = [62 * 4 / 52, 140 * 4 / 40 * 1.1, 200 * 2 / 38]
    lines = [us.line(n) for n in (1, 2, 3)]
    assert [line["needs"] for line in lines] == [near(value) for value in needs]
    assert needs[1] == max(needs) and needs[1] == near(15.4)
    assert {line["model"] for line in lines} == {"EXAMPLE-20"}
    assert [line["held"] for line in lines] == [near(20 * 52 / 62), near(20 * 40 / 140),
                                                near(20 * 38 / 200)]  # fmt: skip
    # Two hoppers, both priced on the first line.
    assert [line["pieces"] for line in lines] == [2, "", ""]
    assert [line["net"] for line in lines] == [near(2 * 5890), 0, 0]
    # The load is that of PET in all three, by the resin table.
    heavy = table_value("PET", "bulk density high", "US") or 0
    row = us.model().row(20)
    assert all(line["loaded"] == near(row["empty"] + 20 * heavy) for line in lines)


def test_presses_at_once_add_their_rates_in_the_hoppers_that_divide_them(us: Book) -> None:
    needs = [300 * 3 / 39, 180 * 3 / 39]
    lines = [us.line(n) for n in (5, 6)]
    assert [line["needs"] for line in lines] == [near(value) for value in needs]
    each = sum(needs) / 2  # 18.46 ft3
    assert all(line["needs_each"] == near(each) for line in lines)
    assert {line["model"] for line in lines} == {"EXAMPLE-20"}
    assert all(line["held"] == near(2 * 20 * 39 / 480) for line in lines)
    assert all(line["held_likely"] == near(2 * 20 * 39 / 430) for line in lines)
    assert [line["pieces"] for line in lines] == [2, ""]


def test_the_air_counts_once_in_turn_and_adds_up_at_once(us: Book) -> None:
    first = dryer.TABLE.first_row
    needs = {name: us.cell(dryer.TABLE, "needs", first + n) for n, name in enumerate("ABC")}
    assert needs["A"] == near(300 + 180)  # 1 cfm per lb/h
    assert needs["B"] == near(2 * 200)  # c draws most; two hoppers
    assert us.cell(dryer.TABLE, "lines", first + 1) == 3
    # Heat by m c (T - T0), room at 86 degF: PC takes most, though PET is hottest and ABS fastest.
    heats = [
        2 * rate * heat * (hot - 86)
        for rate, heat, hot in ((62, 0.334384, 320), (140, 0.322442, 248), (200, 0.3105, 180))
    ]
    assert us.cell(dryer.TABLE, "power", first + 1) == near(heats[1]) and heats[1] == max(heats)
    assert us.cell(dryer.TABLE, "hottest", first + 1) == 320


def test_resins_that_must_never_meet_stop_in_one_hopper(us: Book) -> None:
    for number in (7, 8):
        state = us.cell(BEHIND, "state", BEHIND.first_row + number - 1)
        assert "must never meet" in state and us.line(number)["dryer_used"] == "C"


def test_the_page_sells_a_shared_hopper_once_and_says_who_shares_it(us: Book) -> None:
    page = list(units_of(us))[:5]
    assert [unit[0] for unit in page] == ["1", "2", "3", "4", "5"]
    assert [unit[5] for unit in page] == [
        "EXAMPLE-20", "hopper of line 1", "hopper of line 1", "EXAMPLE-20", "hopper of line 4",
    ]  # fmt: skip
    assert [unit[8:11] for unit in page] == [
        (2, 5890, near(11780)), ("", "", ""), ("", "", ""), (2, 5890, near(11780)), ("", "", ""),
    ]  # fmt: skip
    text = page[0][-1]
    assert ". One hopper for lines 1, 2, 3 in turn, sized for the largest need" in text
    assert ". Full it holds 1040 lb of this, to run out before the next resin" in text
    # PET is usually dried for 6 h at most: 6 / 16.77 h.
    assert ". Usual at most 6 h: fill to about 36 %" in text
    assert "; 2 times this rate: 124 lb/h in all" in text
    assert ". In turn in the hopper of line 1. Full it holds 800 lb" in page[1][-1]
    assert "Lines 4, 5 draw at once from one hopper, their rates add up" in page[3][-1]
    assert "each of 2 hoppers that divide this rate" in page[3][-1]
    texts = " ".join(str(unit[-1]) for unit in us.page())
    assert "One hopper for jobs in turn: the largest need; at once: the sum" in texts
    assert "jobs in turn on one hopper counted once" in texts


def test_shared_hopper_shows_presses_at_once_as_they_are_quoted(us: Book) -> None:
    assert (us.named("shared_turn"), us.named("shared_split")) == ("at once", 2)
    assert us.named("shared_required") == near(480 * 3 / 39)
    assert us.named("shared_size") == near(20)
    assert us.named("shared_model_used") == "EXAMPLE-20"


def test_a_shared_hopper_of_a_metric_quote(small: Any) -> None:
    """PC needs 45 x 4 / 0.65 = 276.9 L, PBT 38 x 4 / 0.77 = 197.4 L; 12 ft3 are 339.8 L."""
    book = small(
        {"job": "a", "resin": "PC", "virgin": 0.65, "stated": 45, "hours": 4, "shared": "H1"},
        {"job": "b", "resin": "PBT", "virgin": 0.77, "stated": 38, "hours": 4, "shared": "H1"},
        units="metric",
    )
    size = 12 * FT3 * 1000
    first, second = book.line(1), book.line(2)
    assert (first["hopper_needs"], second["hopper_needs"]) == (near(45 * 4 / 0.65),) * 2
    assert (first["model"], second["model"]) == ("EXAMPLE-12", "EXAMPLE-12")
    assert second["held"] == near(size * 0.77 / 38)
    heavy = table_value("PBT", "bulk density high", "metric") or 0
    empty = book.model().row(size)["empty"]
    assert first["loaded"] == second["loaded"] == near(empty + size * heavy)
    assert book.cell(dryer.TABLE, "needs", dryer.TABLE.first_row) == near(45 * DUTY_METRIC)
    one, dryer_net = first["price"], book.cell(dryer.TABLE, "net", dryer.TABLE.first_row)
    assert book.named("quote_subtotal") == near(one + dryer_net)
    assert book.failing() == set()


def test_jobs_tried_on_shared_hopper_that_are_sold_apart_ask_for_a_look(
    office: Office, tmp_path: Any
) -> None:
    book = quote.build(rows=2)
    typing_in.fill(book, [{"resin": "ABS", "stated": 100, "hours": 3}] * 2)
    demo.fill_table(book, shared_hopper.TABLE, [{"line": 1}, {"line": 2}])
    seen = Book(book, tmp_path / "q.xlsx", office)
    assert seen.named("shared_apart") == 2
    text = "Lines that stand together on Shared hopper have one hopper on Sizing too"
    assert seen.results()[text][1] == "look"
