"""Rows written as XML, read back by a library and by the house's own reader."""

from __future__ import annotations

import io
from pathlib import Path

from openpyxl import Workbook, load_workbook

from hoppersheet.workbook.package import Package
from hoppersheet.workbook.row_writer import (
    LONGEST_TEXT,
    RowWriter,
    number_cell,
    other_cell,
    text_cell,
    with_rows,
)
from hoppersheet.workbook.sheet_rows import sheet_rows

#: Texts that XML would change or refuse -> what must come back.
TEXTS = {
    "a < b & c > d \"e\" 'f'": None, " kept ": None, "two\nlines": None, "two\r\nlines": None,
    "=1+1": None, "\u6a39\u8102 \U0001f600": None, "bad \x00\x1f sign": "bad \ufffd\ufffd sign",
    "x" * (LONGEST_TEXT + 5): "x" * LONGEST_TEXT,
}  # fmt: skip
NUMBERS = (0.1 + 0.2, 12.0, 1e-7, 1e22, -3.5, 123456789.12345679)


def test_rows_come_back_as_they_were(tmp_path: Path) -> None:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Jobs")
    sheet.append(["heading", None, "other"])
    other = book.create_sheet("Other")
    other.append(["left alone"])
    rows = RowWriter(2, 3)
    for text in TEXTS:
        rows.append([text_cell(text), "", text_cell(text)])
    rows.append([])
    for number in NUMBERS:
        rows.append([number_cell(number)])
    rows.append([other_cell("b", "1"), other_cell("e", "#N/A")])
    book.save(short := io.BytesIO())
    with_rows(short, tmp_path / "out.xlsx", {sheet.path.lstrip("/"): rows})
    rows.close()

    texts = [kept or text for text, kept in TEXTS.items()]
    expected = [["heading", None, "other"], *([text, None, text] for text in texts), []]
    expected += [[number] for number in NUMBERS] + [[True, "#N/A"]]
    assert sheet_rows(Package(tmp_path / "out.xlsx"), "Jobs").rows == expected
    read = load_workbook(tmp_path / "out.xlsx")
    values = [list(row) for row in read["Jobs"].values]
    assert values == [row + [None] * (3 - len(row)) for row in expected]
    assert [[*row] for row in read["Other"].values] == [["left alone"]]
