"""One filled quote, computed four ways, cell by cell: add-in, core, carried functions, plain.

Calc computes it with the add-in, again as the copy that brings its functions along (the add-in is
installed beside them) and as the copy in plain formulas; the core computes the file itself;
IronCalc, which is not ours and knows no add-in, computes the carried functions.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from carried.other_engine import values as in_ironcalc
from hoppersheet.carried.book import names_in
from hoppersheet.handoff import HandedOff, hand_off, hand_off_with_functions
from hoppersheet.hosts.calc.office import Office
from hoppersheet.workbook.book import Book as Workbook
from hoppersheet.workbook.book import read_book
from hoppersheet.workbook.evaluator import Evaluator
from hoppersheet.workbook.formulas import Place, address
from hoppersheet.workbook.package import Package
from templates.quote_book import Book

pytestmark = pytest.mark.calc

Values = dict[Place, Any]


def same(a: Any, b: Any) -> bool:
    if a in (None, "") or b in (None, ""):
        return a in (None, "") and b in (None, "")
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return abs(a - b) <= 1e-9 * max(abs(a), abs(b)) + 1e-9
    return bool(a == b)


@pytest.fixture(scope="module")
def quote(demo_us: Book) -> Workbook:
    return read_book(demo_us.path)


@pytest.fixture(scope="module")
def with_add_in(demo_us: Book, quote: Workbook) -> Values:
    """Every formula of the filled quote, as Calc computes it with the add-in."""
    found = of_calc(demo_us.computed, quote)
    assert len(found) > 3000 and len(quote.sizing_cells) > 250
    return found


def of_calc(computed: dict[str, dict[str, Any]], quote: Workbook) -> Values:
    return {
        cell.place: computed[cell.place[0]].get(address(*cell.place[1:]))
        for cell in quote.formulas()
    }


def differing(found: Values, wanted: Values) -> list[str]:
    assert found.keys() == wanted.keys()
    return [
        f"{place[0]}!{address(*place[1:])}: {found[place]!r} instead of {value!r}"
        for place, value in wanted.items()
        if not same(found[place], value) and not isinstance(value, date)
    ]


def test_the_core_computes_what_calc_does(quote: Workbook, with_add_in: Values) -> None:
    core = Evaluator(quote)
    core.calculate()
    assert core.unknown == {}
    assert differing({p: core.cell_value(p) for p in with_add_in}, with_add_in) == []


@pytest.fixture(scope="module")
def carried(demo_us: Book) -> Path:
    path = demo_us.path.with_name("carried.xlsx")
    report = hand_off_with_functions(demo_us.path, path, engine="core")
    assert not report.frozen and len(report.carried) > 20
    assert set(report.carried) <= set(names_in(Package(path)))
    return path


def test_calc_with_the_add_in_computes_the_carried_copy_alike(
    office: Office, quote: Workbook, carried: Path, with_add_in: Values
) -> None:
    assert differing(of_calc(office.compute(carried), quote), with_add_in) == []


def test_the_carried_functions_compute_alike_where_nobody_has_the_add_in(
    quote: Workbook, carried: Path, with_add_in: Values
) -> None:
    """IronCalc gets some plain formulas wrong: a cell counts where all that it takes is right."""
    found: Values = {}
    for number, sheet in enumerate(quote.sheets.values()):
        cells = [cell.place for cell in sheet.cells.values() if cell.formula is not None]
        shown = in_ironcalc(carried, [address(*place[1:]) for place in cells], number)
        found |= dict(zip(cells, shown, strict=True))
    wrong = {place for place, value in with_add_in.items() if not same(found[place], value)}
    core = Evaluator(quote)
    begun = []
    for cell in quote.sizing_cells:
        if cell.place in wrong and not any(
            place != cell.place and place[0] == area[0]
            and area[1] <= place[1] <= area[3] and area[2] <= place[2] <= area[4]
            for area in core.areas_of(cell)
            for place in wrong
        ):  # fmt: skip
            begun.append(f"{cell.place}: {found[cell.place]!r} for {with_add_in[cell.place]!r}")
    assert begun == []
    ours = [cell.place for cell in quote.sizing_cells]
    assert sum(place in wrong for place in ours) < 0.02 * len(ours)


def test_calc_computes_the_plain_copy_alike(
    office: Office, demo_us: Book, quote: Workbook, with_add_in: Values
) -> None:
    path = demo_us.path.with_name("plain.xlsx")
    report: HandedOff = hand_off(demo_us.path, path, engine="core")
    assert report.left == []
    plain = read_book(path)
    assert plain.sizing_cells == []
    found = of_calc(office.compute(path), quote)
    for place in found:  # what only the add-in can know is a value there
        cell = plain.cell(place)
        if cell is not None and cell.formula is None:
            found[place] = cell.value
    constants = {place for place in found if (c := plain.cell(place)) is None or c.formula is None}
    assert constants == {("About", 3, 2)}  # the version
    assert differing(found, with_add_in) == []
