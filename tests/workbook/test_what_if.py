"""Cells with other inputs: worked out again, or kept where nothing that they take has changed.

The second way of each test is the plain one: the workbook written with the other input, and
calculated from the start.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet.workbook.book import read_book
from hoppersheet.workbook.evaluator import Evaluator, Unknown, Unrounded, WhatIf
from hoppersheet.workbook.formulas import Place
from hoppersheet.workbook.precedents import Precedents

#: So many formulas that what takes nothing that has changed is kept.
_FOLLOWERS = {f"F{row}": "=A1*2" for row in range(1, 101)}
_INPUT = ("Book", 1, 1)


def calculated(path: Path, cells: dict[str, Any]) -> Evaluator:
    made = openpyxl.Workbook()
    sheet = made.active
    sheet.title = "Book"
    for ref, value in {**_FOLLOWERS, **cells}.items():
        sheet[ref] = value
    made.save(path)
    values = Evaluator(read_book(path))
    values.calculate()
    return values


def followers(base: Evaluator, *places: Place) -> set[Place]:
    """These cells and all formulas that follow from them."""
    return Precedents(base).followers(places)


CASES = {
    "a cell named by INDIRECT": {"B1": '=INDIRECT("C"&A1)', "C1": 10, "C2": 20},
    "a cell that INDIRECT finds has changed": {"B1": '=INDIRECT("C"&1)', "C1": "=A1*3"},
    "rounded away": {"C1": "=ROUND(A1/100,0)", "B1": "=C1+1"},
    "rounded, then taken with what is not": {"C1": "=ROUND(A1/100,0)", "B1": "=C1+F7"},
    "a branch that is not taken": {"C1": "=IF(A1>0,5,D1)", "D1": "=A1", "B1": "=C1*2"},
    "a range with one changed cell": {"B1": "=SUM(F1:F3)+COUNTBLANK(H:H)"},
    "an error comes": {"C1": "=1/(A1-2)", "B1": "=IFERROR(C1,7)"},
}


@pytest.mark.parametrize("cells", CASES.values(), ids=CASES)
def test_a_what_if_gives_what_the_changed_workbook_gives(
    cells: dict[str, Any], tmp_path: Path
) -> None:
    base = calculated(tmp_path / "a.xlsx", {"A1": 1, **cells})
    other = calculated(tmp_path / "b.xlsx", {"A1": 2, **cells})
    tried = WhatIf(base, {_INPUT: 2.0}, followers(base, _INPUT) - {_INPUT})
    assert len(tried.affected) > 80
    assert tried.cell_value(("Book", 1, 2)) == other.cell_value(("Book", 1, 2))


def test_a_cell_that_follows_from_what_is_unknown_is_not_kept(tmp_path: Path) -> None:
    base = calculated(tmp_path / "a.xlsx", {"A1": 1, "C1": "=NOSUCH(G1)+A1*0", "B1": "=C1+1"})
    tried = WhatIf(base, {_INPUT: 1.0}, followers(base, _INPUT) - {_INPUT})
    with pytest.raises(Unknown, match="the function NOSUCH"):
        tried.cell_value(("Book", 1, 2))


def test_what_is_rounded_moves_without_rounding(tmp_path: Path) -> None:
    base = calculated(tmp_path / "a.xlsx", {"A1": 1, "C1": "=ROUND(A1/100,0)", "B1": "=C1+1"})
    affected = followers(base, _INPUT) - {_INPUT}
    assert WhatIf(base, {_INPUT: 2.0}, affected).cell_value(("Book", 1, 2)) == 1.0
    assert Unrounded(base, {_INPUT: 2.0}, affected).cell_value(("Book", 1, 2)) == 1.02
    same = {"A1": 1, "D1": "=IF(A1>0,1.5,0)", "B1": "=ROUND(D1,0)"}
    base = calculated(tmp_path / "b.xlsx", same)
    affected = followers(base, _INPUT) - {_INPUT}
    assert Unrounded(base, {_INPUT: 2.0}, affected).cell_value(("Book", 1, 2)) == 1.5


def test_a_value_for_a_cell_that_the_workbook_does_not_hold(tmp_path: Path) -> None:
    base = calculated(
        tmp_path / "a.xlsx", {"A1": 1, "H1": "=A1", "B1": "=SUM(H1:H3)", "C1": "=B1+G5+A1"}
    )
    changed = {("Book", 2, 8): 4.0, ("Book", 5, 7): 8.0}
    affected = followers(base, *changed, _INPUT) - {_INPUT, *changed}
    tried = WhatIf(base, changed, affected)
    assert len(affected) > 80 and tried.cell_value(("Book", 1, 3)) == 14.0


def test_a_long_chain_and_a_circle(tmp_path: Path) -> None:
    chain = {f"D{row}": f"=D{row + 1}+1" for row in range(1, 2_000)}
    base = calculated(tmp_path / "a.xlsx", {"A1": 1, "D2000": "=A1", **chain})
    assert base.cell_value(("Book", 1, 4)) == 2_000.0
    tried = WhatIf(base, {_INPUT: 5.0}, followers(base, _INPUT) - {_INPUT})
    assert tried.cell_value(("Book", 1, 4)) == 2_004.0
    base = calculated(tmp_path / "b.xlsx", {"A1": 1, "B1": "=B2+A1", "B2": "=B1"})
    assert base.unknown == {("Book", 1, 2): "a circle: it follows from itself through Book!B2"}
    with pytest.raises(Unknown, match="a circle"):
        WhatIf(base, {_INPUT: 5.0}, followers(base, _INPUT) - {_INPUT}).cell_value(("Book", 1, 2))
