"""A call that has no equivalent becomes its value, for as long as its inputs are what they were."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..audit.context import Context
from ..cells.values import is_error
from ..functions import get
from ..registry import CellFunction
from ..workbook.evaluator import SizingCall
from ..workbook.formulas import Literal, Node, Omitted, Place, Unparsed, text_of
from ..workbook.sheet_cells import ErrorText
from .equivalents import number_text

__all__ = ["NEEDS", "frozen_node", "value_of"]

#: What a frozen text shows when its inputs are no longer those it was made from.
NEEDS = "needs the add-in"
_MOST_CELLS = 12  # of a range that are watched one by one
_CLOSE = 1e-9  # relative; programs round the 15th digit differently


def value_of(made: SizingCall | None, record: CellFunction | None) -> Any:
    """What a frozen call becomes; where it was not made, what says that it cannot be."""
    if made is None:
        return _otherwise(record)
    if made.error is not None:
        return ErrorText(made.error.code)
    value = made.result
    if isinstance(value, list):
        value = value[0][0]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _otherwise(record: CellFunction | None) -> str:
    # A text says it itself; where a number is expected only an error keeps it out of a total.
    return (
        NEEDS
        if record is not None and record.result.kind in ("text", "cell")
        else ErrorText("#N/A")
    )


def _is(text: str, value: Any, place: Place) -> str | None:
    """A condition that an input still is ``value``; None for an error."""
    if value is None or value == "":
        return f'{text}=""'
    if isinstance(value, str):
        return None if is_error(value) else f"{text}={text_of(Literal(value), place)}"
    if isinstance(value, bool):
        return f"{text}={str(value).upper()}"
    if isinstance(value, (int, float)):
        number = float(value)
        if number == 0:
            return f"{text}=0"
        return f"ABS({text}-{number_text(number)})<={number_text(abs(number) * _CLOSE)}"
    return None


def frozen_node(
    context: Context,
    made: SizingCall | None,
    place: Place,
    argument: Callable[[Node, Place], str],
    longest: int,
) -> tuple[Node, list[str]]:
    """(what stands for a frozen call, names of the inputs that are not watched).

    Args:
        context: the workbook.
        made: the call, None where the formula does not make it now.
        place: the cell.
        argument: writes an argument as formula text.
        longest: characters that a formula may have.
    """
    record = get(made.name) if made is not None else None
    value = Literal(value_of(made, record))
    if made is None or record is None:
        return value, []
    tests: list[str | None] = []
    unwatched = []
    names = [a.name for a in record.arguments]
    for at, (node, given) in enumerate(zip(made.node.arguments, made.values, strict=True)):
        if isinstance(node, (Literal, Omitted)):
            continue
        if not isinstance(given, list):
            tests.append(_is(argument(node, place), given, place))
            continue
        area = context.area_of(node, place)
        cells = [cell for row in given for cell in row]
        if area is None or len(cells) > _MOST_CELLS:
            unwatched.append(names[min(at, len(names) - 1)])
            continue
        text = argument(node, place)
        rows, columns = len(given), len(given[0])
        for row in range(rows):
            for column in range(columns):
                one = text if rows == columns == 1 else f"INDEX({text},{row + 1},{column + 1})"
                tests.append(_is(one, given[row][column], place))
    if not tests or None in tests:
        return value, unwatched
    conditions = ",".join(dict.fromkeys(filter(None, tests)))
    otherwise = text_of(Literal(_otherwise(record)), place)
    text = f"IF(AND({conditions}),{text_of(value, place)},{otherwise})"
    return (Unparsed(text) if len(text) <= longest else value), unwatched
