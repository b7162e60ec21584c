"""Lines that share a dryer and ask for different temperatures: one dryer gives air of one.

Temperatures are those of the resin table, in degC: PC 120, PMMA 80 (usual to 93.3), PA66 79.4,
PETG 65 (sticks above 66), TPC-ET 100 (usual to 120), PBT 120, PS 65.6 (it does not suffer). That a
dryer's return loop feeds one temperature to all of its hoppers: common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import quote
from hoppersheet.templates.quote import demo, dryer, typing_in
from hoppersheet.templates.quote.line_checks import TABLE as BEHIND
from templates.quote_book import Book, near
from templates.quote_model import table_value

pytestmark = pytest.mark.calc


def line(resin: str, dryer_name: str, **more: Any) -> dict[str, Any]:
    return {"job": resin, "resin": resin, "virgin": 40, "virgin_from": "measured", "stated": 60,
            "hours": 4, "dryer": dryer_name, **more}  # fmt: skip


LINES = (
    line("PC", "A"), line("PMMA", "A"), line("PETG", "A"), line("PS", "A"),
    line("House blend 7", "A", temperature=170),
    # In turn on one dryer, and in one hopper.
    line("PC", "B"), line("PMMA", "B"),
    line("PC", "C", shared="H1"), line("PA66", "C", shared="H1"),
    # Each hopper with a heater.
    line("PC", "D"), line("PMMA", "D"),
    # Within what is usual.
    line("PBT", "E"), line("TPC-ET", "E"),
    # A third line beside two that take turns in a hopper.
    line("PC", "F", shared="H2"), line("PA66", "F", shared="H2"), line("PMMA", "F"),
)  # fmt: skip


@pytest.fixture(scope="module")
def shared(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    book = quote.build(rows=len(LINES))
    typing_in.type_in(book, **demo.HEADER)
    typing_in.fill(book, LINES)
    first = dryer.TABLE.first_row
    book["Dryer"][dryer.TABLE.cell("turn", first + 1)] = "in turn"
    book["Dryer"][dryer.TABLE.cell("reason", first + 3)] = "each hopper has its own heater"
    return Book(book, tmp_path_factory.mktemp("air") / "q.xlsx", office)


def hot(resin: str) -> float:
    return table_value(resin, "drying temperature", "US") or 0.0


def test_a_line_says_how_much_hotter_the_air_of_its_dryer_is(shared: Book) -> None:
    by = {n: shared.cell(BEHIND, "hotter_by", BEHIND.first_row + n - 1) for n in range(1, 17)}
    assert by == {
        1: 0, 2: near(hot("PC") - hot("PMMA")), 3: near(hot("PC") - hot("PETG")),
        4: near(hot("PC") - hot("PS")), 5: near(hot("PC") - 170), 6: 0, 7: 0, 8: 0, 9: 0, 10: 0,
        11: near(hot("PC") - hot("PMMA")), 12: 0, 13: 0, 14: 0,
        # PC asks for more than PA66 in the same hopper, but never while PA66 runs.
        15: 0, 16: near(hot("PC") - hot("PMMA")),
    }  # fmt: skip
    start = "▲ look: line 1 has dryer A at 248 °F, "
    assert shared.state(2) == start + "72 °F hotter than asked here (usual to 200 °F), may degrade"
    assert shared.state(3).startswith(
        start + "99 °F hotter than asked here (usual to 151 °F), softens at 151 °F"
    )
    assert shared.state(4).startswith(start + "98 °F hotter than asked here (usual to 170 °F); ")
    assert shared.state(5).startswith(start + "78 °F hotter than asked here")
    assert shared.line(2)["state"] == "▲ look: air 72 °F too hot"
    for ready in (1, 6, 7, 8, 10, 11, 12, 13, 14, 15):
        assert "hotter" not in shared.state(ready), ready
    assert shared.state(16).startswith("▲ look: line 14 has dryer F at 248 °F, 72 °F hotter")
    ((text, found),) = [(t, r) for t, r in shared.results().items() if "another line of" in t]
    assert text.startswith("Lines: drying air hotter than asked")
    assert found == (5, "look", "2, 3, 4, 5, 16")


def test_the_dryer_and_its_customer_read_it_too(shared: Book) -> None:
    states = [
        shared.cell(dryer.TABLE, "state", dryer.TABLE.first_row + place) for place in range(6)
    ]
    assert states == [
        "▲ look: one air for 149 to 248 °F", "● ready", "● ready",
        "▲ look: one air for 176 to 248 °F, reason given", "● ready",
        "▲ look: one air for 175 to 248 °F",
    ]  # fmt: skip
    page = shared.page()
    titles = [unit[1] for unit in page]
    assert titles.count("Air temperature") == 3
    texts = " ".join(str(unit[11]) for unit in page)
    assert "needs 300 cfm of air at up to 248 °F (120 °C), gives" in texts
    assert "needs 60 cfm of air at 248 °F (120 °C), gives" not in texts
    assert (
        "Its lines ask for 149 °F (65 °C) to 248 °F (120 °C). A dryer gives air of one "
        "temperature: a hopper whose resin takes less needs a heater of its own."
    ) in texts
    assert "needs a heater of its own. Reason given: each hopper has its own heater" in texts
    assert "For lines 6, 7 in turn: needs 60 cfm" in texts
    assert "For lines 8, 9 in turn: needs 60 cfm" in texts
    assert "For lines 14, 15, 16 at once, those of one hopper in turn: needs 120 cfm" in texts
    assert shared.failing() == set()
