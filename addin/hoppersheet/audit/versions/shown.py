"""A cell's value as its reader sees it: dates as dates, money as money, shares in percent."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from ...cells.wording import rounded
from ...workbook.sheet_rows import kind_of_format
from ..checks.values import value_text

if TYPE_CHECKING:
    from ...workbook.formulas import Place
    from ..context import Context

__all__ = ["money_text", "shown"]

_LAST_DAY = 2_957_003  # the year 9996, whatever day they are counted from


def money_text(value: float) -> str:
    """``"4,708.00"``."""
    return f"{value:,.2f}"


def shown(context: Context, place: Place, value: Any) -> str:
    """``value`` as a cell shows it; a formula's text as it is.

    Args:
        context: the workbook of the cell.
        place: the cell, whose number format counts.
        value: what it holds, or held.
    """
    cell = context.book.cell(place)
    if cell is None or not isinstance(value, float):
        return value_text(value)
    style = cell.style.number_format
    kind = kind_of_format(style)
    if kind == "date" and 0 < value < _LAST_DAY:
        moment = context.book.day_0 + timedelta(days=value)
        return moment.date().isoformat() if value == int(value) else f"{moment:%Y-%m-%d %H:%M}"
    if kind == "percent":
        return f"{rounded(100 * value, 6)} %"
    # A format with conditions is one for measures: its digits follow the size of the number.
    if "#,##0" in style and "[" not in style:
        whole = value == int(value) and ".0" not in style
        return f"{value:,.0f}" if whole else money_text(value)
    return value_text(value)
