"""The rows of a sized list as a worksheet's XML: long tables go past the library's cell objects.

A text cell stays text; cells keep the number format they came with. What a text file holds becomes
a number where it is read as one, or looks the same as one.
"""

from __future__ import annotations

import re
from typing import Any

from ...workbook.row_writer import RowWriter, number_cell, other_cell, text_cell
from ..job_cells import ClockTime, Percent, ShownWithUnit, plain_number
from ..job_columns import RESULT_COLUMNS
from .sizing import SizedList
from .table_sheet import TableSheet
from .text_output import padded

__all__ = ["TableRows", "as_it_looks", "numeric_signs"]

_PLAIN = re.compile(r"(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{0,8}[1-9])?")


def as_it_looks(text: str) -> Any:
    """A text of a text file as the number that looks just like it, such as a quantity; else itself.

    A part number keeps its leading zeros, an item "1.10" its last one; "1.250" may be 1250.
    """
    if not _PLAIN.fullmatch(text) or re.fullmatch(r"[1-9][0-9]{0,2}\.[0-9]{3}", text):
        return text
    return float(text)


def numeric_signs(sized: SizedList) -> dict[int, str]:
    """Index of each column of numbers -> its decimal sign."""
    return {c.at: c.sign for c in sized.sizer.columns.values() if c.quantity}


class TableRows:
    """Writes the rows of one list, each with its results behind it.

    Args:
        cells: makes cells of the list's sheet.
        sized: the list.
        first: number of the first row in the sheet.
    """

    def __init__(self, cells: TableSheet, sized: SizedList, first: int) -> None:
        source = sized.file.source
        self._cells, self._from_text = cells, source.is_text
        self._width = len(sized.file.headings)
        self._numeric = numeric_signs(sized)
        self._formats = {at: cells.style_of(code) for at, code in source.formats.items()}
        self._percent, self._clock = cells.style_of("0.##%"), cells.style_of("[h]:mm")
        self._results = [cells.style_of(c.number_format) for c in RESULT_COLUMNS.values()]
        #: keeps the XML of the rows
        self.written = RowWriter(first, self._width + len(self._results))

    def append(self, row: list[Any], results: list[Any]) -> None:
        """One row of the list and its results."""
        cells = [self._passed(at, cell) for at, cell in enumerate(padded(row, self._width))]
        cells += [
            self._cell(value, style) for value, style in zip(results, self._results, strict=True)
        ]
        self.written.append(cells)

    def _passed(self, at: int, cell: Any) -> str:
        """A cell of the list. A number that came as text becomes a number in the columns that are
        read as numbers; in others where it looks the same (:func:`as_it_looks`).
        """
        kind = type(cell)
        if kind is float:
            return number_cell(cell, self._formats.get(at, 0))
        if kind is str:
            if at in self._numeric and cell:
                number = plain_number(cell, self._numeric[at])
                if number is not None and "%" in cell:
                    return number_cell(number / 100, self._percent)
                if number is not None and ":" not in cell and "/" not in cell:
                    return number_cell(number)
            return self._cell(as_it_looks(cell) if self._from_text else cell)
        if kind is Percent:
            return number_cell(float(cell), self._formats.get(at, self._percent))
        if kind is ShownWithUnit:
            return number_cell(cell.stored, self._cells.style_of(cell.number_format))
        if kind is ClockTime:
            return number_cell(float(cell), self._clock)
        return self._cell(cell)

    def _cell(self, value: Any, style: int = 0) -> str:
        """Any value; a number in a format of its own."""
        kind = type(value)
        if kind is float:
            return number_cell(value, style)
        if kind is str and value[:1] not in "=#":
            return text_cell(value)
        return "" if value is None or value == "" else self._rare(value)

    def _rare(self, value: Any) -> str:
        """A value that the library knows how to write: a date, an error, what no formula is."""
        from openpyxl.utils.datetime import to_excel

        cell = self._cells.any(value)
        style = cell.style_id if cell.has_style else 0
        if cell.data_type == "s":
            return text_cell(cell.value, style)
        if cell.data_type == "d":
            return number_cell(to_excel(cell.value), style)
        if cell.data_type == "n":
            return number_cell(cell.value, style)
        stored = str(int(cell.value)) if cell.data_type == "b" else cell.value
        return other_cell(cell.data_type, stored, style)
