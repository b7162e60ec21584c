"""Why a call of ours has no result, with the cells of the sheet in place of "row 1, column 2"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from ..errors import ErrorIn
from ..workbook.formulas import Place
from .calls import cell_name

if TYPE_CHECKING:
    from ..workbook.book import Cell
    from ..workbook.evaluator import SizingCall
    from .sized_lines import SizedLines

__all__ = ["hidden_refusal", "refusal"]

_IN_RANGE = re.compile(r"in row (\d+), column (\d+) of the range, ")
_BLANK = re.compile(r"cell (\d+) of the range is blank, but cell \d+ of (\w+) is not")


def refusal(context: SizedLines, call: SizingCall) -> tuple[str, Place | None]:
    """(``"densities in Quote!E6: bulk density 640 lb/ft3 is above ..."``, the cell to blame).

    The cell is None where no single one is to blame.
    """
    assert call.error is not None
    reason, argument = call.error.reason, call.error.argument
    node = context.argument_node(call, argument) if argument else None
    area = context.area_of(node, call.place) if node is not None else None
    source = context.source(node, call.place) if node is not None else None
    if area is not None and (found := _IN_RANGE.search(reason)):
        source = (area[0], area[1] + int(found[1]) - 1, area[2] + int(found[2]) - 1)
        return f"{argument} in {cell_name(source)}: {_IN_RANGE.sub('', reason)}", source
    if area is not None and (found := _BLANK.fullmatch(reason)):
        step, width = int(found[1]) - 1, area[4] - area[2] + 1
        source = (area[0], area[1] + step // width, area[2] + step % width)
        return f"{cell_name(source)} is blank, and its cell among the {found[2]} is not", source
    where = f" from {cell_name(source)}" if source is not None else ""
    return (f"{argument}{where}: {reason}" if argument else reason), source


def hidden_refusal(context: SizedLines, cell: Cell) -> SizingCall | None:
    """The first call behind a cell that has no result and hides that, as IFERROR does."""
    follows = context.behind(cell)
    if follows is None:
        return None
    refused = [
        call
        for place in sorted(follows[1])
        for call in context.calls.get(place, [])
        if call.error is not None and call.hidden and not isinstance(call.error, ErrorIn)
    ]
    places = {call.cell.place for call in refused}
    for call in refused:
        before = context.behind(call.cell)
        if before is not None and not (before[1] - {call.cell.place}) & places:
            return call
    return None
