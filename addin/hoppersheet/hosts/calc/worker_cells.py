"""Cells and their values for :mod:`.worker`: JSON to cells, cells to JSON, whole runs at a time."""

from __future__ import annotations

import math
import struct
import uuid
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import uno
from load_job import Area, boxes, read

#: More cells than this on one sheet are asked for all at once.
_FEW = 10
_LOGICAL = 1024  # com.sun.star.util.NumberFormat.LOGICAL


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


#: column and row, from 0
_At = tuple[int, int]


def values_of(document: Any, wanted: list[tuple[Any, list[Area]]]) -> list[dict[_At, Any]]:
    """Every value in some areas of some sheets; for each sheet, (column, row) -> value.

    A truth value is one by the cell's number format: that of a formula in a cell without a format
    of its own, and a format for truth values. It is what Calc itself goes by when it saves.
    """
    found: list[dict[_At, Any]] = []
    for sheet, areas in wanted:
        here: dict[_At, Any] = {}
        for (left, top, _, _), rows in read(sheet, areas, "getDataArray").items():
            for row, values in enumerate(rows, top):
                here.update(((column, row), v) for column, v in enumerate(values, left))
        found.append(here)
    passing: list[Any] = []  # comes when all values are read, since SHEETS() would count it
    logical: dict[int, bool] = {}

    def error_number(cell: Any) -> float:
        return float(cell.getError())

    def is_truth(cell: Any) -> bool:
        key = int(cell.NumberFormat)
        if key not in logical:
            logical[key] = bool(document.NumberFormats.getByKey(key).Type & _LOGICAL)
        return logical[key]

    for (sheet, _), here in zip(wanted, found):  # noqa: B905
        # Errors come as nothing, and TRUE as 1.0; which they are is told by the cells alone.
        errors = [at for at, value in here.items() if value is None]
        for at, number in _answers(document, sheet, errors, passing, "ERRORTYPE", error_number):
            here[at] = {"error": int(number)}
        either = [at for at, value in here.items() if value in (0.0, 1.0)]
        for at, truth in _answers(document, sheet, either, passing, "ISLOGICAL", is_truth):
            if truth:
                here[at] = bool(here[at])
    for name in passing:
        document.Sheets.removeByName(name)
    return found


def _answers(
    document: Any, sheet: Any, asked: list[_At], passing: list[Any], formula: str,
    by_cell: Callable[[Any], Any],
) -> Iterator[tuple[_At, Any]]:  # fmt: skip
    """What a function of Calc gives for each of these cells.

    A few are asked one by one, over the bridge. For more, one formula is filled over a passing
    sheet, which takes as long for ten thousand cells as some calls for one of them; not in a
    workbook whose structure is locked.
    """
    if len(asked) <= _FEW or document.isProtected():
        for column, row in asked:
            yield (column, row), by_cell(sheet.getCellByPosition(column, row))
        return
    if not passing:
        passing.append("hoppersheet_" + uuid.uuid4().hex[:12])
        document.Sheets.insertNewByName(passing[0], document.Sheets.Count)
    there = document.Sheets.getByName(passing[0])
    name = sheet.getCellByPosition(0, 0).AbsoluteName.rpartition(".")[0]
    these = set(asked)
    for (left, top, right, bottom), _ in boxes(list(_areas(asked))):
        first = f"{column_letters(left)}{top + 1}"
        there.getCellByPosition(0, 0).setFormula(f"={formula}({name}.{first})")
        block = there.getCellRangeByPosition(0, 0, right - left, bottom - top)
        column = there.getCellRangeByPosition(0, 0, 0, bottom - top)
        for filled, direction in ((column, "TO_BOTTOM"), (block, "TO_RIGHT")):
            filled.fillAuto(uno.Enum("com.sun.star.sheet.FillDirection", direction), 1)
        for at_row, answers in enumerate(block.getDataArray(), top):
            for at_column, answer in enumerate(answers, left):
                if (at_column, at_row) in these:
                    yield (at_column, at_row), answer


def _areas(cells: Iterable[_At]) -> Iterator[Area]:
    """The cells that stand one below the other without a gap, as areas."""
    left = top = bottom = -1
    for column, row in sorted(cells):
        if (column, row) == (left, bottom + 1):
            bottom = row
            continue
        if bottom >= 0:
            yield left, top, left, bottom
        left, top, bottom = column, row, row
    if bottom >= 0:
        yield left, top, left, bottom


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


def area_of(address: str) -> Area:
    """The cells of an address such as A1:B3."""
    first, _, last = address.partition(":")
    return (*_column_row(first), *_column_row(last or first))


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
