"""From the cells of a formula, as Calc hands them over, to what Calc takes back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ...call import OMITTED, call
from ...errors import CellError
from ...registry import CellFunction
from .cell_values import WHOLE_COLUMN, answer, arguments, caution, error_value, table

__all__ = ["answering"]


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

    def numbers(*cells: Any) -> Any:
        # Nearly always Calc hands over what the core takes as it is; whole columns are cut first.
        if any(type(cell) is tuple and len(cell) >= WHOLE_COLUMN for cell in cells):
            return look_closely(*cells)
        try:
            return call(name, *[OMITTED if cell is None else cell for cell in cells])
        except CellError:  # perhaps for what only Calc has, such as a NaN that is an error value
            return look_closely(*cells)

    return numbers if function.only_numbers else look_closely
