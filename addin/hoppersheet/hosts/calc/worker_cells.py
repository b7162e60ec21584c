"""Cells and their values for :mod:`.worker`: JSON to cells, cells to JSON, whole runs at a time."""

from __future__ import annotations

import math
import struct
import uuid
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import uno

#: More error cells than this in one range are asked for all at once.
_FEW_ERRORS = 10


class Problem(Exception):
    """What could not be done, in one sentence."""


def plain(value: Any) -> Any:
    """A value from the office as JSON."""
    if isinstance(value, tuple):
        return [plain(item) for item in value]
    if value is None:
        return {"error": 32767}  # FunctionAccess gives nothing for #N/A
    if isinstance(value, float) and not math.isfinite(value):
        bits = struct.unpack("<Q", struct.pack("<d", value))[0]
        return {"error": bits & 0xFFFF or 503}
    return value if isinstance(value, (float, str)) else float(value)


def scalar(value: Any) -> Any:
    """A value from JSON as a single argument of FunctionAccess."""
    if isinstance(value, dict) or value is None:
        raise Problem("a direct call takes no blank and no error as a single argument")
    if isinstance(value, bool):
        return 1.0 if value else 0.0
    return float(value) if isinstance(value, int) else value


def values_of(document: Any, areas: Sequence[Any]) -> list[list[list[Any]]]:
    """All values of some cell ranges of a document, row by row."""
    blocks = [[list(row) for row in cells.getDataArray()] for cells in areas]
    passing = None  # comes when all values are read, since SHEETS() would count it
    for cells, rows in zip(areas, blocks):  # noqa: B905
        # Errors come as nothing; their numbers are told by the cells alone.
        unknown = [(i, j) for i, row in enumerate(rows) for j, v in enumerate(row) if v is None]
        if len(unknown) > _FEW_ERRORS and not document.isProtected():
            passing = passing or _passing_sheet(document)
            numbers = _error_numbers(cells, passing)
        else:
            numbers = {(i, j): cells.getCellByPosition(j, i).getError() for i, j in unknown}
        for i, j in unknown:
            rows[i][j] = {"error": numbers[i, j]}
    if passing is not None:
        document.Sheets.removeByName(passing.Name)
    return blocks


def _passing_sheet(document: Any) -> Any:
    name = "hoppersheet_" + uuid.uuid4().hex[:12]
    document.Sheets.insertNewByName(name, document.Sheets.Count)
    return document.Sheets.getByName(name)


def _error_numbers(cells: Any, passing: Any) -> dict[tuple[int, int], int]:
    """(row, column) in a range -> number of the error there, found by formulas on another sheet.

    One formula filled downwards and to the right takes as long for ten thousand cells as two
    calls for one of them.
    """
    width, height = cells.Columns.Count, cells.Rows.Count
    sheet, _, first = cells.getCellByPosition(0, 0).AbsoluteName.rpartition(".")
    passing.getCellByPosition(0, 0).setFormula(f"=ERRORTYPE({sheet}.{first.replace('$', '')})")
    block = passing.getCellRangeByPosition(0, 0, width - 1, height - 1)
    column = passing.getCellRangeByPosition(0, 0, 0, height - 1)
    for filled, direction in ((column, "TO_BOTTOM"), (block, "TO_RIGHT")):
        filled.fillAuto(uno.Enum("com.sun.star.sheet.FillDirection", direction), 1)
    return {
        (i, j): int(number)
        for i, row in enumerate(block.getDataArray())
        for j, number in enumerate(row)
        if number is not None  # no error there
    }


def column_letters(index: int) -> str:
    """Letters of the column with this index, from 0."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _column_row(address: str) -> tuple[int, int]:
    """Column and row, from 0, of an address such as B3."""
    letters = address.rstrip("0123456789")
    column = 0
    for letter in letters.upper():
        column = column * 26 + ord(letter) - 64
    return column - 1, int(address[len(letters) :]) - 1


def runs(addresses: Iterable[str]) -> Iterator[tuple[list[str], tuple[int, int, int, int]]]:
    """Addresses that stand one below the other without a gap, and the range they fill.

    A call to the office takes as long for ten thousand cells as for one.
    """
    run: list[str] = []
    last = (-1, -1)
    for address in sorted(addresses, key=_column_row):
        column, row = _column_row(address)
        if run and (column, row) != (last[0], last[1] + 1):
            yield run, (last[0], last[1] - len(run) + 1, *last)
            run = []
        run.append(address)
        last = (column, row)
    if run:
        yield run, (last[0], last[1] - len(run) + 1, *last)


def _formula_for(value: Any) -> str:
    """The formula that gives a value which cannot be written as it is."""
    if isinstance(value, dict):  # an error
        return str(value["formula"])
    return "=TRUE()" if value else "=FALSE()"


def write(sheet: Any, cells: dict[str, Any]) -> None:
    """Write values into cells: numbers, texts, logical values, errors; None leaves it blank."""
    by_formula = {a: _formula_for(v) for a, v in cells.items() if isinstance(v, (bool, dict))}
    plain = {a: v for a, v in cells.items() if a not in by_formula and v is not None}
    for run, area in runs(plain):
        values = (plain[address] for address in run)
        rows = tuple((v if isinstance(v, str) else float(v),) for v in values)
        sheet.getCellRangeByPosition(*area).setDataArray(rows)
    write_formulas(sheet, by_formula)


def write_formulas(sheet: Any, formulas: dict[str, str]) -> None:
    """Write formulas into cells."""
    for run, area in runs(formulas):
        rows = tuple((formulas[address],) for address in run)
        sheet.getCellRangeByPosition(*area).setFormulaArray(rows)


def write_block(sheet: Any, first_row: int, rows: list[list[Any]]) -> Any:
    """Write rows of values from the first column of a row on; the range that they fill."""
    write(
        sheet,
        {
            f"{column_letters(right)}{first_row + down + 1}": value
            for down, row in enumerate(rows)
            for right, value in enumerate(row)
        },
    )
    width = max(len(row) for row in rows)
    return sheet.getCellRangeByPosition(0, first_row, width - 1, first_row + len(rows) - 1)


def cut_print_areas(sheet: Any) -> None:
    """End the print areas of a sheet, or what is printed without any, below what is filled.

    Prepared rows that show nothing would make empty pages. A picture or a chart is filled, too.
    """
    page = sheet.DrawPage
    shapes = [page.getByIndex(at) for at in range(page.Count)]
    right = max((shape.Position.X + shape.Size.Width for shape in shapes), default=0)
    bottom = max((shape.Position.Y + shape.Size.Height for shape in shapes), default=0)
    areas = sheet.getPrintAreas()
    if not areas:
        cursor = sheet.createCursor()
        cursor.gotoEndOfUsedArea(False)
        column, row = cursor.getRangeAddress().EndColumn, cursor.getRangeAddress().EndRow
        while right > sheet.getCellByPosition(column + 1, 0).Position.X:
            column += 1
        while bottom > sheet.getCellByPosition(0, row + 1).Position.Y:
            row += 1
        areas = (sheet.getCellRangeByPosition(0, 0, column, row).RangeAddress,)
    kept = []
    for area in areas:
        cells = sheet.getCellRangeByPosition(
            area.StartColumn, area.StartRow, area.EndColumn, area.EndRow
        )
        rows = cells.getDataArray()
        filled = [at for at, row in enumerate(rows) if any(value != "" for value in row)]
        last = filled[-1] if filled else 0
        while last < len(rows) - 1 and bottom > cells.getCellByPosition(0, last + 1).Position.Y:
            last += 1
        area.EndRow = area.StartRow + last
        kept.append(area)
    sheet.setPrintAreas(tuple(kept))
