"""A cell that nobody could compute: no copy makes it, or what follows from it, look computed."""

from __future__ import annotations

from pathlib import Path

import pytest

from abuse.hostile import SHEET, cell, make, run, sheet

#: C1 calls a function that neither Calc nor hoppersheet knows; D1 follows from it.
ROWS = (
    f'<row r="1">{cell("A1", 220)}{cell("B1", 3.5)}'
    f"{cell('C1', 36.4, '_xlfn.STOCKHISTORY(1)')}"
    f"{cell('D1', 21.153846153846, 'HOPPER_REQUIRED_VOLUME(A1,B1,C1)')}</row>"
)


@pytest.mark.parametrize("engine", ["core", pytest.param("calc", marks=pytest.mark.calc)])
@pytest.mark.parametrize("how", ["--values", "--plain"])
def test_a_copy_names_it_and_ends_with_1(engine: str, how: str, tmp_path: Path) -> None:
    path = make(tmp_path / "b.xlsx", **{SHEET: sheet(ROWS)})
    done = run("handoff", path, how, "--engine", engine, "--out", tmp_path / "copy.xlsx")
    assert done.status == 1, done
    assert "not computed, stored value kept: One!C1" in done.err and "STOCKHISTORY" in done.err
    assert "depends on cells that were not computed: One!D1" in done.err


@pytest.mark.parametrize("engine", ["core", pytest.param("calc", marks=pytest.mark.calc)])
def test_the_audit_does_not_call_it_calculated(engine: str, tmp_path: Path) -> None:
    path = make(tmp_path / "b.xlsx", **{SHEET: sheet(ROWS)})
    done = run("audit", path, "--engine", engine)
    assert "STOCKHISTORY" in done.out, done


@pytest.mark.calc
def test_an_outside_link_without_a_kept_value_stays(tmp_path: Path) -> None:
    from hoppersheet.workbook.package import Package
    from workbook.test_outside import linked

    path = linked(tmp_path / "b.xlsx", "", ("[1]S!$B$2", 3550), ("A1*2", 7100))
    out = tmp_path / "out.xlsx"
    done = run("compute", path, "--engine", "calc", "--out", out)
    assert done.status == 1 and "One!A1" in done.out and "no kept value" in done.out, done
    assert Package(out).values("One") == {"A1": 3550.0, "A2": 7100.0}
