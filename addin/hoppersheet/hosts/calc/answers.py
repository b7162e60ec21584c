"""From the cells of a formula, as Calc hands them over, to what Calc takes back.

Calc calculates a cell again whenever it cannot know that it need not: on Ctrl+Shift+F9, when a
file is opened again, when a row is inserted in a range. Nearly all then have the inputs that
they had before, and a function of ours gives the same for the same. So its latest answers are
kept, which takes less than to work them out.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from ...call import OMITTED, call
from ...errors import CellError
from ...registry import CellFunction
from .cell_values import answer, arguments, caution, error_value, table

__all__ = ["answering"]

# Answers kept for each function: half a kilobyte each, up to three with a range.
_KEPT = 16_384
# Larger ranges are not kept: each formula hands over a copy of its own.
_MOST_CELLS = 32


def answering(function: CellFunction) -> Callable[..., Any]:
    """A function that takes the cells of a formula and gives what the cell is to show.

    It takes them as Calc hands them over, and gives a float, a text or rows of these; an error is
    the NaN that Calc takes for it.
    """
    name = function.name
    is_table = function.result.kind == "table"
    takes_rest = bool(function.arguments) and function.arguments[-1].kind == "rest"

    def look_closely(*cells: Any) -> Any:
        try:
            value = call(name, *arguments(cells))
        except CellError as problem:
            error = error_value(problem.code)
            return ((error,),) if is_table else error
        if takes_rest:
            value += caution(cells)
        return table(value) if is_table else answer(value)

    @lru_cache(_KEPT)
    def kept(*cells: Any) -> Any:
        return call(name, *[OMITTED if cell is None else cell for cell in cells])

    def quickly(*cells: Any) -> Any:
        for cell in cells:
            if type(cell) is tuple and cell and len(cell) * len(cell[0]) > _MOST_CELLS:
                return look_closely(*cells)
        try:
            return kept(*cells)
        except CellError:  # perhaps for what only Calc has, such as a NaN that is an error value
            return look_closely(*cells)

    return quickly if function.only_numbers else look_closely
