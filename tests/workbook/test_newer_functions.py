"""LET and XLOOKUP, which quotes of Microsoft 365 use; hoppersheet computes them itself.

Rules: Microsoft's pages "LET function" and "XLOOKUP function" (read on the web): a name holds from
its place on; match mode 0 is exact, -1 the next smaller, 1 the next larger; #N/A where nothing is
found and nothing is said for that case.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet.workbook.book import read_book
from hoppersheet.workbook.evaluator import Evaluator


def value(formula: str, folder: Path) -> Any:
    book = openpyxl.Workbook()
    sheet = book.active
    for row in ((12, "EXAMPLE-12"), (20, "EXAMPLE-20"), (30, "EXAMPLE-30")):
        sheet.append(row)
    sheet["D1"] = formula
    book.save(folder / "book.xlsx")
    values = Evaluator(read_book(folder / "book.xlsx"))
    values.calculate()
    assert values.unknown == {}
    return values.cell_value((sheet.title, 1, 4))


@pytest.mark.parametrize(
    ("formula", "expected"),
    [
        ("=_xlfn.LET(_xlpm.a,A1,_xlpm.b,_xlpm.a*2,_xlpm.a+_xlpm.b)", 36.0),  # 12 + 24
        ("=_xlfn.LET(_xlpm.a,-A1,ABS(_xlpm.a)%)", 0.12),
        ("=_xlfn.XLOOKUP(20,A1:A3,B1:B3)", "EXAMPLE-20"),
        ("=_xlfn.XLOOKUP(21,A1:A3,B1:B3)", "#N/A"),
        ('=_xlfn.XLOOKUP(21,A1:A3,B1:B3,"none")', "none"),
        ("=_xlfn.XLOOKUP(21,A1:A3,A1:A3,,1)", 30.0),
        ("=_xlfn.XLOOKUP(21,A1:A3,A1:A3,,-1)", 20.0),
        ('=_xlfn.XLOOKUP("example-30",B1:B3,A1:A3)', 30.0),
    ],
)
def test_what_it_gives(formula: str, expected: Any, tmp_path: Path) -> None:
    assert value(formula, tmp_path) == expected
