"""Two versions of a quote: what was changed, what moved, and which change moved it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from audit_books import COLUMN, FIRST, LINES, at, clean_book, formulas, stored
from hoppersheet.books.audit.versions import Changes, compare


@pytest.fixture(scope="module")
def old(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return stored(clean_book(), tmp_path_factory.mktemp("old") / "old.xlsx")


def changed(old: Path, folder: Path, **cells: Any) -> Changes:
    book = clean_book()
    for cell, value in cells.items():
        book["Sizing"][cell] = value
    return compare(old, stored(book, folder / "new.xlsx"), "core")


def found(changes: Changes, kind: str) -> set[str]:
    return {change.cell for change in changes.changes if change.kind == kind}


def test_nothing_changed(old: Path) -> None:
    assert compare(old, old, "core").as_dict() == {
        "changes": [], "causes": [], "sheets_added": [], "sheets_removed": [],
    }  # fmt: skip


def test_one_input_moves_the_size_and_the_price(old: Path, tmp_path: Path) -> None:
    # 60 -> 80 lb/h: 80 x 4 / 28 = 11.43 ft3, so 12 ft3 at 1600 instead of 10 ft3 at 1500
    changes = changed(old, tmp_path, **{at("rate", 0): 80.0})
    assert found(changes, "input") == {at("rate", 0)}
    assert found(changes, "formula") == set()
    causes = {cause.cell: cause for cause in changes.causes}
    size, price = causes[at("chosen", 0)], causes[at("price", 0)]
    assert (size.old, size.new) == (10.0, 12.0) and (price.old, price.new) == (1500.0, 1600.0)
    assert size.because_of == (f"Sizing!{at('rate', 0)}",)
    assert "Throughput" in size.message and "from 60 to 80 alone does it" in size.message


def test_of_two_changes_each_is_tried_alone(old: Path, tmp_path: Path) -> None:
    # hours 4 -> 4.2: 60 x 4.2 / 28 = 9 ft3, still 10
    changes = changed(old, tmp_path, **{at("hours", 0): 4.2, at("virgin", 0): 24.0})
    # 60 x 4.2 / 22 = 11.45: 12 ft3; density alone: 60 x 4 / 22 = 10.91: 12 ft3 too
    (cause,) = [c for c in changes.causes if c.cell == at("chosen", 0)]
    assert cause.because_of == (f"Sizing!{at('virgin', 0)}",)
    required = next(c for c in changes.causes if c.cell == at("required", 0))
    for part in ("from 4 to 4.2 alone gives 9", "from 36 to 24 alone gives 10.9091"):
        assert part in required.message


def test_a_changed_formula_is_told_from_its_result(old: Path, tmp_path: Path) -> None:
    changes = changed(old, tmp_path, **{at("blend", 1): f"={at('virgin', 1)}"})
    assert found(changes, "formula") == {at("blend", 1)}
    assert at("required", 1) in found(changes, "result")
    cause = next(c for c in changes.causes if c.cell == at("required", 1))
    assert cause.because_of == (f"Sizing!{at('blend', 1)}",)


def test_an_inserted_line_is_one_added_line(old: Path, tmp_path: Path) -> None:
    """Built anew with one line more in the middle, as a program inserts it."""
    import audit_books

    book = clean_book()
    sheet = book["Sizing"]
    last = FIRST + LINES
    for row in range(last, FIRST + 2, -1):  # lines 2 and on move down by one
        for key, letter in COLUMN.items():
            moved = formulas(row).get(key, sheet[f"{letter}{row - 1}"].value)
            sheet[f"{letter}{row}"] = moved
    for key, value in {"job": "Press 2b", "virgin": 40.0, "rate": 90.0}.items():
        sheet[at(key, 2)] = value
    for key, value in formulas(FIRST + 2).items():
        sheet[at(key, 2)] = value
    for row in (last + 1, last + 2):
        for letter in COLUMN.values():
            sheet[f"{letter}{row}"] = None
    total = COLUMN["total"]
    sheet[f"{COLUMN['quantity']}{last + 2}"] = "Total"
    sheet[f"{total}{last + 2}"] = f"=SUM({at('total', 0)}:{total}{last})"
    changes = compare(old, audit_books.stored(book, tmp_path / "new.xlsx"), "core")
    assert found(changes, "formula") == set() and found(changes, "input") == set()
    assert {c.rstrip("0123456789") for c in found(changes, "added")} >= {COLUMN["job"]}
    assert all(c.endswith(str(FIRST + 2)) for c in found(changes, "added"))
    assert found(changes, "result") == {f"{total}{last + 2}"}


def test_the_command(old: Path, tmp_path: Path) -> None:
    book = clean_book()
    book["Sizing"][at("rate", 0)] = 80.0
    new = stored(book, tmp_path / "new.xlsx")

    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "hoppersheet", "audit", *arguments, "--engine", "core"],
            capture_output=True, text=True, timeout=120,
        )  # fmt: skip

    done = run(str(old), str(new), "--changes")
    assert done.returncode == 1 and "WHAT MOVED, AND WHY" in done.stdout
    assert "from 10 to 12 (+20 %)" in done.stdout
    assert run(str(old), str(old), "--changes").returncode == 0
    assert run(str(old), str(new)).returncode == 2
