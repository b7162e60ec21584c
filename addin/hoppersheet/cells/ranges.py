"""Read a range of cells by the kind of its argument, and bring ranges that belong together in step.

A range arrives as a list of rows of raw cells; :mod:`.reading` reads each of them.
"""

from __future__ import annotations

from itertools import chain
from typing import Any

from ..errors import CellError, ErrorIn, OutOfRange, WrongKind
from ..registry import Argument
from .reading import (
    Reader,
    choice_reader,
    flow_reader,
    fractions,
    number_reader,
    single_cell,
    text_of,
)
from .units import HOME_FACTORS
from .values import as_rows, is_blank
from .wording import counted

__all__ = ["align", "positions_in_step", "reader"]

_OF_AN_ESTIMATE = ("low", "likely", "high")
_ROWS, _FLOAT = frozenset((list, tuple)), frozenset((float,))


def _cell_at(rows: list[list[Any]], index: int) -> str:
    """Where the ``index``-th cell of a flattened range of several cells is, for a sentence."""
    if sum(map(len, rows)) > 1:
        for number, row in enumerate(rows, 1):
            if index < len(row):
                return f"in row {number}, column {index + 1} of the range, "
            index -= len(row)
    return ""


def _is_rows(cell: Any) -> bool:
    """Whether a cell is a range given as rows, and as nothing but rows."""
    return type(cell) in _ROWS and _ROWS.issuperset(map(type, cell))


def _range_reader(argument: Argument, system: str) -> Reader:
    """Flat list of SI floats; blanks are dropped for the kind "numbers", else None."""
    one = number_reader(argument, system)
    measure, limits = argument.measure, argument.limits
    assert measure is not None and limits is not None, argument
    (scale, offset), (low, high) = HOME_FACTORS[measure.unit(system)], limits

    def read(cell: Any) -> list[float] | list[float | None]:
        # Nearly every range holds nothing but floats within limits; a call for each takes long.
        if _is_rows(cell):
            flat = list(chain.from_iterable(cell))
            if flat and _FLOAT.issuperset(map(type, flat)):
                values = [si for value in flat if low <= (si := value * scale + offset) <= high]
                if len(values) == len(flat):
                    return values
        return one_by_one(as_rows(cell))

    def one_by_one(rows: list[list[Any]]) -> list[float] | list[float | None]:
        values: list[float | None] = []
        try:
            for row in rows:
                for value in row:
                    values.append(None if is_blank(value) else one(value))
        except CellError as problem:
            if not isinstance(problem, ErrorIn):
                problem.reason = _cell_at(rows, len(values)) + problem.reason
            raise
        return _filled(values, argument) if argument.kind == "numbers" else values

    return read


def _estimate_reader(argument: Argument, system: str) -> Reader:
    """Low, likely and high in SI, from three cells in a row or a column, or from one cell."""
    read_cells = _range_reader(argument, system)

    def read(cell: Any) -> list[float]:
        values = read_cells(cell)
        rows, columns = _shape(cell)
        if len(values) not in (1, 3) or min(rows, columns) > 1:
            raise WrongKind(
                f"the range is {rows} by {columns} cells (rows by columns); give three cells low, "
                "likely, high side by side or below each other, or one cell for a fixed value",
                argument.name,
            )
        if None in values:
            raise WrongKind(
                "the cell is blank; a blank is never taken for 0"
                if len(values) == 1
                else f"the cell of the {_OF_AN_ESTIMATE[values.index(None)]} value is blank; give "
                "all three, or one cell for a fixed value",
                argument.name,
            )
        if len(values) == 1:
            return values * 3
        low, likely, high = values
        if not low <= likely <= high:
            raise OutOfRange(
                "low {low}, likely {likely}, high {high} are not in rising order; often two cells "
                "are swapped",
                argument.name,
                low=(low, argument.quantity),
                likely=(likely, argument.quantity),
                high=(high, argument.quantity),
            )
        return values

    return read


def _filled(values: list[float | None], argument: Argument) -> list[float]:
    """The values without blanks; an empty range is refused."""
    kept = [value for value in values if value is not None]
    if not kept:
        raise WrongKind("the range has no values", argument.name)
    return kept


def _shape(cell: Any) -> tuple[int, int]:
    rows = as_rows(cell)
    return len(rows), max(map(len, rows))


def _same_shape(one: Any, other: Any) -> bool:
    """Whether two ranges of as many cells have one shape; a row and a column count as one."""
    if _is_rows(one) and _is_rows(other) and list(map(len, one)) == list(map(len, other)):
        return True  # nearly always; to make rows of them takes long
    shape, shape_of_other = _shape(one), _shape(other)
    return shape == shape_of_other or (min(shape) == 1 and min(shape_of_other) == 1)


def positions_in_step(arguments: tuple[Argument, ...]) -> list[int]:
    """Which arguments are ranges that belong together cell by cell."""
    return [i for i, argument in enumerate(arguments) if argument.kind in ("pairs", "shares")]


def align(
    arguments: tuple[Argument, ...],
    together: list[int],
    values: list[Any],
    cells: tuple[Any, ...],
) -> None:
    """Bring the ranges at the positions ``together`` into step, in place.

    A row and a column of equal length are in step; blocks must have the same shape.
    """
    first = together[0]
    has_blanks = not values[first] or None in values[first]
    for i in together[1:]:
        has_blanks = has_blanks or None in values[i]
        if len(values[i]) != len(values[first]):
            raise WrongKind(
                f"the range has {counted(len(values[i]), 'cell')}, but {arguments[first].name} has "
                f"{len(values[first])}; they must be equally long",
                arguments[i].name,
            )
        if not _same_shape(cells[i], cells[first]):
            shape, expected = _shape(cells[i]), _shape(cells[first])
            raise WrongKind(
                f"the range is {shape[0]} by {shape[1]} cells (rows by columns), but "
                f"{arguments[first].name} is {expected[0]} by {expected[1]}; blocks must have the "
                "same shape",
                arguments[i].name,
            )
    if has_blanks:
        _drop_blanks(arguments, values, together)
    for i in together:
        if arguments[i].kind == "shares":
            values[i] = fractions(values[i], arguments[i])


def _drop_blanks(arguments: tuple[Argument, ...], values: list[Any], together: list[int]) -> None:
    """Drop the positions that are blank in all of the ranges ``together``, in place."""
    first = together[0]
    kept = []
    for position, group in enumerate(zip(*(values[i] for i in together)), 1):  # noqa: B905
        blank = [arguments[i].name for i, v in zip(together, group) if v is None]  # noqa: B905
        if not blank:
            kept.append(group)
        elif len(blank) < len(together):
            partner = next(arguments[i].name for i in together if arguments[i].name not in blank)
            raise WrongKind(
                f"cell {position} of the range is blank, but cell {position} of {partner} is not",
                blank[0],
            )
    if not kept:
        raise WrongKind("the range has no values", arguments[first].name)
    for position, i in enumerate(together):
        values[i] = [group[position] for group in kept]


def reader(argument: Argument, system: str) -> Reader:
    """A function that reads what is given for ``argument``, by its kind."""
    kind = argument.kind
    if argument.actual_flow is not None:
        return flow_reader(argument, system)
    if kind == "number":
        return number_reader(argument, system)
    if kind == "estimate":
        return _estimate_reader(argument, system)
    if kind in ("numbers", "positions", "pairs", "shares"):
        return _range_reader(argument, system)
    if kind == "choice":
        return choice_reader(argument)
    if kind == "text":
        return lambda cell: text_of(cell, argument)
    if kind == "cell":
        return lambda cell: single_cell(cell, argument)
    if kind == "cells":
        return as_rows
    raise ValueError(f"argument {argument.name} has the unknown kind {kind!r}")
