"""A checked call as the function guide shows it: typed into a cell, and what comes out."""

from __future__ import annotations

import re
from typing import Any

from openpyxl.utils import get_column_letter

from ..call import call, read_inputs
from ..cells.values import OMITTED, is_blank
from ..cells.wording import in_both, rounded, to_si
from ..errors import CellError
from ..functions import all_functions
from ..registry import UNITS, CellFunction
from ..vectors import Vector
from ..workbook.formula_text import fits_in_formula, literal

__all__ = [
    "DIGITS",
    "TypedCall",
    "aligned",
    "answer",
    "cell_text",
    "computed",
    "problem",
    "source",
    "typed",
]

DIGITS = 6  # of a result


def cell_text(value: Any) -> str:
    """A cell's content as people read it."""
    if is_blank(value):
        return "(blank)"
    return rounded(value, 15) if isinstance(value, (int, float)) else str(value)


def aligned(table: list[list[str]]) -> list[str]:
    """A table as lines of text, its columns under each other."""
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    return [
        "   ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in table
    ]


class TypedCall:
    """A call as somebody would type it, with the cells that it refers to.

    Attributes:
        formula: ``=HOPPER_NEXT_SIZE(21.15, A1:A4)``.
        ranges: reference -> rows of cells, for every argument that does not fit in a formula.
    """

    def __init__(self, name: str, arguments: tuple[Any, ...]) -> None:
        self.ranges: dict[str, list[list[Any]]] = {}
        self._right = self._below = 0  # how far the cells in use reach
        texts = ["" if a is OMITTED else self._text(a) for a in arguments]
        while texts and not texts[-1]:
            texts.pop()
        self.formula = f"={name}({', '.join(texts)})"

    def _text(self, value: Any) -> str:
        if fits_in_formula(value) and not is_blank(value):
            return literal(value)
        rows = value if isinstance(value, list) else [[value]]
        high, wide = len(rows), max(map(len, rows))
        # Columns go side by side, rows below each other, as people lay them out.
        left, top = (self._right, 0) if high >= wide else (0, self._below)
        self._right, self._below = max(self._right, left + wide), max(self._below, top + high)
        first = f"{get_column_letter(left + 1)}{top + 1}"
        last = f"{get_column_letter(left + wide)}{top + high}"
        reference = first if first == last else f"{first}:{last}"
        self.ranges[reference] = rows
        return reference

    def beside(self) -> str:
        """``"with A1:A2 holding 0.5, 0.4"``, or nothing."""
        parts = [
            f"{reference} holding {', '.join(cell_text(x) for row in rows for x in row)}"
            for reference, rows in self.ranges.items()
        ]
        return f"with {' and '.join(parts)}" if parts else ""

    def sheet(self) -> list[str]:
        """The cells as lines of text, with their letters and numbers."""
        grid: dict[tuple[int, int], str] = {}
        for reference, rows in self.ranges.items():
            letter, number = reference.partition(":")[0][:1], reference.partition(":")[0][1:]
            for down, row in enumerate(rows):
                for right, value in enumerate(row):
                    grid[int(number) + down, ord(letter) - ord("A") + 1 + right] = cell_text(value)
        high, wide = (max((cell[i] for cell in grid), default=0) for i in (0, 1))
        table = [["", *(get_column_letter(c) for c in range(1, wide + 1))]]
        for r in range(1, high + 1):
            table.append([str(r), *(grid.get((r, c), "") for c in range(1, wide + 1))])
        return aligned(table) if grid else []


def typed(vector: Vector) -> TypedCall:
    """The vector's call as somebody would type it: without a default that need not be said, and
    with fewer digits where they change nothing that is shown.
    """
    arguments = list(vector.arguments)
    function = all_functions()[vector.function]
    if len(arguments) == len(function.arguments) and arguments[-1:] == [UNITS.default]:
        arguments.pop()
    short = [float(rounded(a, 6)) if isinstance(a, float) else a for a in arguments]
    same = _shown(vector, tuple(short)) == _shown(vector, vector.arguments)
    return TypedCall(vector.function, tuple(short if same else arguments))


def _shown(vector: Vector, arguments: tuple[Any, ...]) -> str:
    function = all_functions()[vector.function]
    try:
        return answer(function, arguments, call(vector.function, *arguments))
    except CellError as problem:
        return f"{problem.code} {problem.argument} {problem.reason}"


def source(vector: Vector) -> str:
    """Where the expected value comes from, without the note where it was read."""
    return re.sub(r" \([^()]*\bseen\b[^()]*\)", "", vector.source)


def answer(function: CellFunction, arguments: tuple[Any, ...], value: Any) -> str:
    """What comes out, with its unit in both systems."""
    quantity = function.result.quantity
    if quantity:
        system = read_inputs(function.name, arguments).system
        return in_both(to_si(value, quantity, system), quantity, system, DIGITS)
    return rounded(value, DIGITS) if isinstance(value, (int, float)) else str(value)


def computed(vector: Vector) -> Any:
    """The vector's result, computed now.

    Raises:
        ValueError: it is not what the vector's source says.
    """
    value = call(vector.function, *vector.arguments)
    if not vector.accepts(value):
        raise ValueError(f"{vector.id}: {value!r} is not {vector.expected!r}")
    return value


def problem(vector: Vector) -> CellError:
    """The error that the vector's call gives, now.

    Raises:
        ValueError: it gives none, or another one than it should.
    """
    try:
        value = call(vector.function, *vector.arguments)
    except CellError as problem:
        if problem.code == vector.expected:
            return problem
        value = problem.code
    raise ValueError(f"{vector.id}: {value!r} is not {vector.expected}")
