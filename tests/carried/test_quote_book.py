"""The quote books that bring their functions along, in an engine that is not ours.

The stored values are those of a real Calc with the add-in; IronCalc knows only the names. It gets
some plain formulas wrong (ISERROR and ISNUMBER over a range inside SUMPRODUCT see one cell), so a
cell counts where everything that it takes is right.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from carried.other_engine import values
from hoppersheet.carried.book import functions_used, names_in
from hoppersheet.carried.examination import bring_along
from hoppersheet.workbook.book import read_book
from hoppersheet.workbook.evaluator import Evaluator
from hoppersheet.workbook.formulas import Place, address
from hoppersheet.workbook.package import Package

WORKBOOKS = Path(__file__).parents[2] / "workbooks"
BOOKS = ("demo_quote_365.xlsx", "quote_template_365.xlsx")


def same(value: object, stored: object) -> bool:
    if isinstance(stored, float) and isinstance(value, (int, float)):
        return abs(value - stored) <= 1e-9 * abs(stored) + 1e-9
    return value == stored or (value in (None, "") and stored in (None, ""))


@pytest.mark.parametrize("name", BOOKS)
def test_every_function_is_carried_and_ours(name: str) -> None:
    package = Package(WORKBOOKS / name)
    assert len(functions_used(package)) > 20
    assert set(functions_used(package)) <= set(names_in(package))
    brought = bring_along(package)
    assert (brought.redefined, brought.missing, brought.older) == ({}, [], False)


@pytest.mark.parametrize("name", BOOKS)
def test_the_sizing_is_what_calc_computed(name: str) -> None:
    book = read_book(WORKBOOKS / name)
    evaluator = Evaluator(book)
    wrong: set[Place] = set()
    for number, sheet in enumerate(book.sheets.values()):
        cells = [cell for cell in sheet.cells.values() if cell.formula is not None]
        shown = values(WORKBOOKS / name, [address(*cell.place[1:]) for cell in cells], number)
        wrong |= {
            cell.place
            for cell, value in zip(cells, shown, strict=True)
            if not same(value, cell.value)
        }
    ours = book.sizing_cells
    assert len(ours) > 500
    first = [
        f"{cell.place[0]}!{address(*cell.place[1:])}: {cell.formula}"
        for cell in ours
        if cell.place in wrong
        and not any(
            place != cell.place and place[0] == area[0]
            and area[1] <= place[1] <= area[3] and area[2] <= place[2] <= area[4]
            for area in evaluator.areas_of(cell)
            for place in wrong
        )
    ]  # fmt: skip
    assert first == []
    # Most are right whatever they take.
    assert sum(cell.place in wrong for cell in ours) < 0.01 * len(ours)
