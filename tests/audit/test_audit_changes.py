"""Two versions of a quote: what was changed, what moved, and which change moved it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from audit.audit_books import COLUMN, FIRST, LINES, at, clean_book, formulas, stored
from hoppersheet.audit.versions import Changes, compare


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
    found = compare(old, old, "core")
    where = f"Sizing!{COLUMN['total']}{FIRST + LINES + 1}"
    assert found.total.message == f"The total is 25,200.00 in {where}, as it was."
    assert {key: value for key, value in found.as_dict().items() if key != "total"} == {
        "changes": [], "lines": [], "causes": [], "sheets_added": [], "sheets_removed": [],
        "moved": [], "book": [],
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


def test_a_result_typed_over_shows_what_it_was(old: Path, tmp_path: Path) -> None:
    # 0.55 x 36.5 + 0.45 x 20 = 29.075 lb/ft3; 72 x 4 / 29.075 = 9.90542 ft3; 8 is 19.2 % less
    changes = changed(old, tmp_path, **{at("required", 1): 8.0})
    (over,) = [c for c in changes.changes if c.kind == "typed over"]
    assert over.cell == at("required", 1) and over.formula.startswith("=HOPPER_REQUIRED_VOLUME")
    assert round(over.old, 5) == 9.90542 and over.new == 8.0
    (cause,) = [c for c in changes.causes if c.cell == at("required", 1)]
    assert cause.main and "9.90542 (formula) -> 8 (typed), -19.2 %" in cause.message
    size = next(c for c in changes.causes if c.cell == at("chosen", 1))  # 10 -> 8 ft3
    assert size.because_of == (f"Sizing!{at('required', 1)}",)


def test_first_one_sentence_per_line_of_the_quote(old: Path, tmp_path: Path) -> None:
    # line 0: 60 x 4 / 28 = 8.571 ft3; 80 lb/h: 11.43 ft3, so 12 ft3 at 1600
    # line 2: 0.6 x 37 + 0.4 x 20 = 30.2: 84 x 4 / 30.2 = 11.13 ft3; 85 lb/h: 11.26 ft3, still 12
    changes = changed(old, tmp_path, **{at("rate", 0): 80.0, at("rate", 2): 85.0})
    one, two = changes.lines
    assert one.message.startswith(f"'Press 1' in Sizing!{at('required', 0)}: required volume ")
    assert (
        "8.571 ft3 -> 11.43 ft3 (+33.3 %), size 10 ft3 -> 12 ft3, price 1,500.00 -> 1,600.00"
        in (one.message)
    )
    assert "(+1.19 %); size and price unchanged" in two.message
    assert two.because_of == (f"Sizing!{at('rate', 2)}",) and "from 84 to 85" in two.message
    total = next(c for c in changes.causes if c.main)
    assert total.cell == f"{COLUMN['total']}{FIRST + LINES + 1}" and total.new - total.old == 100


def test_a_size_that_is_short_now_is_said(tmp_path: Path) -> None:
    book = clean_book()
    book["Sizing"][at("chosen", 0)] = 10.0
    before = stored(book, tmp_path / "before.xlsx")
    book["Sizing"][at("rate", 0)] = 72.0  # 72 x 4 / 28 = 10.29 ft3: 2.78 % short
    (line,) = compare(before, stored(book, tmp_path / "after.xlsx"), "core").lines
    assert "size and price unchanged; now 2.78 % short" in line.message


def test_an_inserted_line_is_one_added_line(old: Path, tmp_path: Path) -> None:
    """Built anew with one line more in the middle, as a program inserts it."""
    from audit import audit_books

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
    assert done.stdout.startswith("The total went from 25,200.00 to 25,300.00 (+0.397 %), in Siz")
    assert "size 10 ft3 -> 12 ft3" in done.stdout
    assert run(str(old), str(old), "--changes").returncode == 0
    assert run(str(old), str(new)).returncode == 2


def test_dates_are_dates_money_is_money_and_helper_cells_are_only_counted(tmp_path: Path) -> None:
    """46,355 is 2026-11-29, counted from 1899-12-30 (ECMA-376 part 1, 18.17.4.1)."""
    book = clean_book()
    sheet = book["Sizing"]
    sheet["Y1"], sheet["Z1"] = "Date", "Freight"
    sheet["Y2"], sheet["Z2"] = 46355, 1234.5
    sheet["Y2"].number_format, sheet["Z2"].number_format = "yyyy-mm-dd", "#,##0.00"
    for row in range(1, 41):
        sheet[f"AB{row}"] = f"=Y2+{row}"
    sheet.column_dimensions["AB"].hidden = True
    before = stored(book, tmp_path / "before.xlsx")
    sheet["Y2"], sheet["Z2"] = 46356, 1500
    after = stored(book, tmp_path / "after.xlsx")
    changes = compare(before, after, "core")
    texts = {c.cell: (c.old_text, c.new_text) for c in changes.changes}
    assert texts["Y2"] == ("2026-11-29", "2026-11-30")
    assert texts["Z2"] == ("1,234.50", "1,500.00")
    printed = _printed(changes)
    assert "Sizing!Y2 Date: 2026-11-29 -> 2026-11-30" in printed
    assert "RESULTS: 40\n  ... and 40: 40 on 'Sizing' (--json)" in printed
    assert "Sizing!AB" not in printed


def _printed(changes: Changes) -> str:
    from contextlib import redirect_stdout
    from io import StringIO

    from hoppersheet.audit.outputs.terminal import print_changes

    with redirect_stdout(StringIO()) as out:
        print_changes(changes)
    return out.getvalue()
