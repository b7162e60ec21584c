"""Puts calls into the cells of a sheet, and says what Calc makes of their arguments."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import hoppersheet
from hoppersheet.errors import SHEET_ERRORS
from hoppersheet.functions import get
from hoppersheet.hosts.calc.cell_values import comes_as_text
from hoppersheet.workbook.addresses import column_letters


class Sheet:
    """Cells and formulas that grow downwards, one call after the other."""

    def __init__(self) -> None:
        self.cells: dict[str, Any] = {}
        self.formulas: dict[str, str] = {}
        self._row = 1

    def _place(self, value: Any) -> str:
        """Write one argument into cells of its own; the reference to it."""
        rows = [list(row) for row in value] if isinstance(value, (list, tuple)) else [[value]]
        first = self._row
        for row in rows:
            for at, cell in enumerate(row):
                self.cells[f"{column_letters(at + 1)}{self._row}"] = cell
            self._row += 1
        if not isinstance(value, (list, tuple)):
            return f"A{first}"
        width = max(len(row) for row in rows)
        return f"A{first}:{column_letters(width)}{self._row - 1}"

    def add(
        self, function: str, arguments: Sequence[Any], shape: tuple[int, int] | None = None
    ) -> str:
        """A formula that calls ``function`` on cells; its address (a range for a ``shape``)."""
        words = ["" if value is hoppersheet.OMITTED else self._place(value) for value in arguments]
        while words and not words[-1]:
            words.pop()
        first = self._row
        address = f"Z{first}"
        self._row += 1
        if shape is not None:
            rows, columns = shape
            address += f":{column_letters(25 + columns)}{first + rows - 1}"
            self._row += rows
        self.formulas[address] = f"={function}({';'.join(words)})"
        return address


def as_calc_hands_over(function: str, arguments: Sequence[Any]) -> list[Any]:
    """What reaches a function in Calc: TRUE is 1, and a blank single cell 0 where 0 is no risk."""
    record = get(function)
    assert record is not None

    def scalar(value: Any, place: int) -> Any:
        if value is None:
            # Refused as blank by an argument that may be 0, see hosts/calc/cell_values.py.
            known = record.arguments[min(place, len(record.arguments) - 1)]
            return None if comes_as_text(known) else 0.0
        return float(value) if isinstance(value, bool) else value

    return [
        [[float(c) if isinstance(c, bool) else c for c in row] for row in value]
        if isinstance(value, (list, tuple))
        else scalar(value, place)
        for place, value in enumerate(arguments)
    ]


def refused_by_calc(function: str, arguments: Sequence[Any]) -> bool:
    """Whether an error stands in a range that Calc does not hand over then (Err:504)."""
    record = get(function)
    assert record is not None
    for place, value in enumerate(arguments):
        known = record.arguments[min(place, len(record.arguments) - 1)]
        if known.kind == "cells" and known.required:
            continue
        if isinstance(value, (list, tuple)) and any(
            isinstance(cell, str) and cell in SHEET_ERRORS for row in value for cell in row
        ):
            return True
    return False


def differs_in_calc(function: str, arguments: Sequence[Any]) -> bool:
    """Whether Calc changes an argument on its way."""
    return as_calc_hands_over(function, arguments) != list(arguments) or any(
        isinstance(cell, bool)
        for value in arguments
        for row in (value if isinstance(value, (list, tuple)) else [[value]])
        for cell in row
    )


def core(function: str, arguments: Sequence[Any]) -> Any:
    """What hoppersheet itself gives: the value or the error."""
    try:
        return hoppersheet.call(function, *arguments)
    except hoppersheet.CellError as problem:
        return problem.code
