"""The lines of *Quote*: what the customer reads of each row of *Sizing* that was begun."""

from __future__ import annotations

from ..layout import Column, Table
from .sizing import TABLE as SIZING

__all__ = ["LAST", "TABLE"]

#: Last column of the printed page.
LAST = "M"


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
        # Beside the page: what the text above the lines says of those that are short.
        Column(
            "short_number", "Short line no.", show="whole", width=9, align="center",
            formula='IF({enough}="SHORT",COUNTIF({enough:down},"SHORT"),"")',
        ),
        Column(
            "short_words", "Short line, in words", width=40,
            formula='IF({enough}="SHORT","line "&{line}&" holds "&ROUND({held},2)&" h of "&'
            f'{{hours}}&" h, "&MID({_at("holds")},5,30),"")',
        ),
    ),
)  # fmt: skip
