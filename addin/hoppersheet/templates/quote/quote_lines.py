"""The lines of *Quote*: what the customer reads of each row of *Sizing* that was begun."""

from __future__ import annotations

from ..layout import Column, Table
from .sizing import TABLE as SIZING

__all__ = ["LAST", "MARGIN", "SHORT", "TABLE"]

#: Last column of the printed page.
LAST = "M"
#: Beside the printed page: the words that say what is what.
MARGIN = "O"


def _at(key: str) -> str:
    return f"INDEX({SIZING.range(key)},{{line}})"


def _from(key: str, *, text: bool = False) -> str:
    """The value of a Sizing column for the line; nothing where that is empty."""
    if text:
        return f'IF({{line}}="","",{_at(key)}&"")'
    if SIZING.column(key).role == "input":
        return f'IF({{line}}="","",IF({_at(key)}="","",{_at(key)}))'
    return f'IF({{line}}="","",{_at(key)})'


TABLE = Table(
    "Quote",
    first_row=20,
    rows=20,
    columns=(
        Column(
            "line", "Line", show="whole", width=5, align="center",
            # The lines that were begun, without gaps; none is left out.
            formula=f'IF(ROWS({{line:above}})>lines_begun,"",'
            f"SMALL({SIZING.range('line')},ROWS({{line:above}})))",
        ),
        Column("job", "Job", width=21, wrap=True, formula=_from("job", text=True)),
        Column(
            "mix", "Resin and mix", width=27, wrap=True,
            formula='IF({line}="","",'
            f"{_at('resin')}&IF({_at('regrind_share')}=0,\", virgin\","
            f"\", \"&ROUND(100*{_at('regrind_share')},1)&\" % regrind by \"&"
            f"{_at('share_basis')}))",
        ),
        Column("throughput", "Throughput", quantity="throughput", width=10,
               formula=_from("throughput_used")),
        Column("hours", "Drying time", show="hours", unit="h", width=7, formula=_from("hours")),
        Column("model", "Hopper model", width=14, wrap=True, formula=_from("model", text=True)),
        Column("size", "Hopper size", quantity="volume", width=8, formula=_from("chosen")),
        Column("held", "Hours held", show="hours", unit="h", width=7,
               formula=_from("hours_held")),
        Column(
            "enough", "Long enough?", width=8, align="center",
            formula=f'IF({{line}}="","",IF(ISNUMBER({{held}}),'
            f'IF(LEFT({_at("holds")},2)="no","SHORT","yes"),""))',
        ),
        Column("quantity", "Qty", show="whole", width=5, align="center",
               formula=_from("quantity")),
        Column("price", "Unit price", show="money", width=12, formula=_from("price")),
        Column("discount", "Disc.", show="share", width=7, formula=_from("discount")),
        Column("total", "Total", show="money", width=14, formula=_from("line_total")),
    ),
)  # fmt: skip


def _of_row(key: str) -> str:
    """The cell of the line in the same row."""
    return f"INDEX({TABLE.range(key)},ROWS({{number:above}}))"


#: Far beside the page: the lines that are short, for the text above the lines.
SHORT = Table(
    "Quote",
    first_row=TABLE.first_row,
    rows=TABLE.rows,
    first_column=len(TABLE.columns) + 4,
    columns=(
        Column(
            "number", "Short line no.", show="whole", width=9, align="center",
            formula=f'IF({_of_row("enough")}="SHORT",MAX({{number:above}})+1,"")',
        ),
        Column(
            "words", "Short line, in words", width=40,
            formula=f'IF({{number}}="","","line "&{_of_row("line")}&" holds "&'
            f'ROUND({_of_row("held")},2)&" h of "&{_of_row("hours")}&" h, "&'
            f'MID(INDEX({SIZING.range("holds")},{_of_row("line")}),5,30))',
        ),
    ),
)  # fmt: skip
