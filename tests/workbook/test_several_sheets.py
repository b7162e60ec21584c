"""References to several sheets at once: the sum over sheets is the sum of its sheets."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook

from hoppersheet.workbook.book import read_book
from hoppersheet.workbook.evaluator import Evaluator, Unknown


@pytest.fixture
def book(tmp_path: Path) -> Path:
    made = Workbook()
    made.active.title = "Sum"
    for at, name in enumerate(("Job 1", "Job 2", "It's 3", "Later"), 1):
        sheet = made.create_sheet(name)
        sheet["B2"], sheet["B3"] = 10.0**at, 1.0
    for row, formula in enumerate(
        (
            "=SUM('Job 1:It''s 3'!B2)", "=2*SUM('Job 1:Job 2'!$B$2:$B$3)+1",
            "=AVERAGE('Job 2:Later'!B2)", "=SUM('Job 1:Nowhere'!B2)", "=INDEX('Job 1:Job 2'!B2,1)",
            "=COUNT('later:job 2'!B2:B3)",
        ),
        1,
    ):  # fmt: skip
        made["Sum"][f"A{row}"] = formula
    made.save(tmp_path / "book.xlsx")
    return tmp_path / "book.xlsx"


def test_each_sheet_from_one_to_the_other_counts(book: Path) -> None:
    values = Evaluator(read_book(book))
    assert values.cell_value(("Sum", 1, 1)) == 10 + 100 + 1000
    assert values.cell_value(("Sum", 2, 1)) == 2 * (10 + 100 + 1 + 1) + 1
    assert values.cell_value(("Sum", 3, 1)) == pytest.approx((100 + 1000 + 10_000) / 3)
    assert values.cell_value(("Sum", 6, 1)) == 6


@pytest.mark.parametrize("row", [4, 5])
def test_what_is_no_such_sum_is_not_guessed(book: Path, row: int) -> None:
    values = Evaluator(read_book(book))
    values.calculate()
    assert ("Sum", row, 1) in values.unknown


def test_the_unknown_is_raised_for_whoever_asks(book: Path) -> None:
    values = Evaluator(read_book(book))
    cell = values.book.cell(("Sum", 4, 1))
    assert cell is not None and cell.tree is not None
    with pytest.raises(Unknown, match="several sheets"):
        values.evaluate(cell.tree, cell.place)
