"""Sheet *Resins*: the user's own resin values, and what the tables say about each line.

On the left the own rows: a table that HOPPER_RESIN reads, headings and all, under the name
``own_resins``; what is filled in there wins over the built-in table. On the right, row by row
beside the lines of *Sizing*, the values that apply and whether the line agrees with them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...tables.resin_table import PROPERTIES
from ..layout import (
    Column,
    Table,
    define_name,
    has_unit,
    put,
    put_across,
    realign,
    start_sheet,
    unit_name,
    write_table,
)
from ..styles import failed, noticed
from ..validation import a_text, quantity
from .rows import highlight_errors, print_in_parts, when
from .sizing import TABLE as SIZING

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["NO_VALUE", "OWN", "TABLE", "WET", "of_line", "write"]

#: What a cell says where no table has the value.
NO_VALUE = "no value"
_FIRST_ROW = 9
_HEADING_ROW = _FIRST_ROW - 1


def _own(name: str) -> Column:
    return Column(
        name.replace(" ", "_"), name, "input", PROPERTIES[name], width=10, group="Your own values",
        rule=quantity(
            PROPERTIES[name],
            "Blank: the built-in table's value. A property counts with its low and high: fill in "
            "all that you use.",
        ),
        show="typed",
    )  # fmt: skip


#: The own rows; its heading row and all rows below are what HOPPER_RESIN is given.
OWN = Table(
    "Resins",
    first_row=_FIRST_ROW,
    rows=20,
    reach=100,
    columns=(
        Column("resin", "resin", "input", width=16, group="Your own values", rule=a_text(40)),
        *(_own(name) for name in PROPERTIES),
        Column(
            "source", "source", "input", width=30, group="Your own values",
            rule=a_text(200, "Where the values come from, with date: it is shown with each."),
        ),
    ),
)  # fmt: skip


def of_line(key: str, number: str = "ROWS({line:above})") -> str:
    """A cell of *Sizing* beside this row; an empty text where it is empty."""
    cell = f"INDEX({SIZING.range(key)},{number})"
    return f'IF({cell}="","",{cell})'


def _live(formula: str) -> str:
    return f'IF({{line}}="","",{formula})'


def _value(key: str, name: str, heading: str, show: str = "") -> Column:
    look_up = f'HOPPER_RESIN({{resin}},"{name}",own_resins,unit_system)'
    return Column(
        key, heading, quantity=PROPERTIES[name], show=show, width=10, align="right",
        group="What the tables say", unit="h" if "hours" in name else "",
        formula=_live(f'IF(ISNA({look_up}),"{NO_VALUE}",{look_up})'),
    )  # fmt: skip


#: Where the tables give no range, a figure may differ so much from their value.
_NEAR = 0.01
#: An estimate is compared with the value itself; the rule of thumb knows no range.
_ESTIMATE = f'INDEX({SIZING.range("regrind_is")},{{line}})="estimated"'


def _outside(ours: str, key: str, what: str, below: str, above: str) -> str:
    """Words where a figure of Sizing is outside what the tables say, and what that does.

    A drying time that is too short is said in capitals: it is the one that spoils parts.
    """
    loud = what.upper() if key == "hours" else what
    ours = f"INDEX({SIZING.range(ours)},{{line}})"
    low, high = (
        f"IF(ISNUMBER({{{key}_{end}}}),{{{key}_{end}}},{{{key}}}*{1 + sign * _NEAR:g})"
        for end, sign in (("low", -1), ("high", 1))
    )
    if key == "regrind":
        high = f"IF({_ESTIMATE},{{{key}}}*{1 + _NEAR:g},{high})"
    return (
        f"IF(AND(ISNUMBER({ours}),ISNUMBER({{{key}}})),"
        f'IF({ours}<{low}*0.999999999,", {loud} below Resins: {below}",'
        f'IF({ours}>{high}*1.000000001,", {what} above Resins: {above}","")),"")'
    )


#: How the words of a line begin whose drying time is too short.
WET = "DRYING TIME below"
_SMALL, _LARGE = "the hopper may be too small", "the hopper may be larger than needed"
_MIXED = f"N(INDEX({SIZING.range('regrind_share')},{{line}}))>0"
_REGRIND = _outside("regrind_used", "regrind", "regrind density", _LARGE, _SMALL)
_DIFFERENCES = "&".join(
    (
        _outside("hours", "hours", "drying time", "the resin may stay wet",
                 "the resin may be over-dried"),
        _outside("virgin_used", "density", "virgin density", _LARGE, _SMALL),
        f'IF({_MIXED},{_REGRIND},"")',
    )
)  # fmt: skip
_SOURCE = 'HOPPER_RESIN({resin},"source",own_resins,unit_system)'

#: Row k belongs to row k of *Sizing*.
TABLE = Table(
    "Resins",
    first_row=_FIRST_ROW,
    rows=20,
    reach=200,
    first_column=len(OWN.columns) + 2,
    columns=(
        Column(
            "line", "Line", show="whole", width=5, align="center", group="Line of Sizing",
            formula=of_line("line"),
        ),
        Column(
            "resin", "Resin", width=18, group="Line of Sizing", wrap=True,
            formula=_live(of_line("resin", "{line}")),
        ),
        _value("density", "bulk density", "Bulk density"),
        _value("density_low", "bulk density low", "low"),
        _value("density_high", "bulk density high", "high"),
        _value("regrind", "regrind density", "Regrind density"),
        _value("regrind_low", "regrind density low", "low"),
        _value("regrind_high", "regrind density high", "high"),
        _value("temperature", "drying temperature", "Drying temperature"),
        _value("hours", "drying hours", "Drying time", "hours"),
        _value("hours_low", "drying hours low", "low", "hours"),
        _value("hours_high", "drying hours high", "high", "hours"),
        _value("moisture", "moisture limit", "Moisture limit", "moisture"),
        _value("specific_heat", "specific heat", "Specific heat"),
        Column(
            "agrees", "Sizing against the tables", "check", width=62, group="Check", wrap=True,
            formula=_live(
                f'IF(ISNA({_SOURCE}),"not in the tables: nothing to compare with",'
                f"IF(SUMPRODUCT(--ISERROR({{density}}:{{specific_heat}}))+ISERROR({_SOURCE})>0,"
                '"error: see In words",'
                f'IF({_DIFFERENCES}="",IF(COUNT({{density}},{{regrind}},{{hours}})=0,'
                '"no value to compare with","ok"),'
                f"MID({_DIFFERENCES},3,400))))"
            ),
        ),
        Column(
            "in_words", "In words: the sources, or why there is no value", "check", width=200,
            group="Check", wrap=True,
            formula=_live(
                f"IF(ISERROR({_SOURCE}),"
                'HOPPER_EXPLAIN("HOPPER_RESIN",{resin},"source",own_resins,unit_system),'
                f"{_SOURCE})"
            ),
        ),
    ),
)  # fmt: skip


def _swap_words_and_headings(sheet: Worksheet, table: Table) -> None:
    """Bring the headings down onto the rows: HOPPER_RESIN takes whatever follows for resins."""
    for column in table.columns:
        upper, lower = (sheet[f"{table.letter(column.key)}{table.first_row - n}"] for n in (2, 1))
        upper.value, lower.value = lower.value, upper.value
        upper.style, lower.style = lower.style, upper.style
    sheet.row_dimensions[_HEADING_ROW].height = 54
    sheet.row_dimensions[_HEADING_ROW - 1].height = None


def write(book: Workbook) -> None:
    """Add the sheet."""
    last = TABLE.letter(TABLE.columns[-1].key)
    sheet = start_sheet(
        book, TABLE.sheet, "Resins", last,
        "Sizing is compared with these values, and Dryer and Shared hopper take theirs from here; "
        "they change no density and no drying time that is typed on Sizing.",
    )  # fmt: skip
    put(
        sheet, "A3",
        '="Your own rows are typed in "&typed_units&" units, as the headings say (chosen on '
        'Sizing); the tables\' values on the right are shown in "&unit_system&" units."', "note",
    )  # fmt: skip
    put(
        sheet, "A4",
        "Your own values win over the built-in ones, which are typical values to start from: "
        "measure the density, and let the resin maker's data sheet govern drying.", "note",
    )  # fmt: skip
    for address in ("A3", "A4"):
        realign(sheet[address], wrap_text=False)
    for table in (OWN, TABLE):
        write_table(sheet, table, row_height=27)
        _swap_words_and_headings(sheet, table)
    for column in OWN.columns:
        # HOPPER_RESIN reads these headings: the property's own name, its unit in brackets.
        heading: str = column.heading
        if has_unit(column.quantity):
            heading = f'="{heading} ["&{unit_name(column.quantity, typed=True)}&"]"'
        sheet[f"{OWN.letter(column.key)}{_HEADING_ROW}"] = heading
    first, end = OWN.letter("resin"), OWN.letter("source")
    define_name(book, "own_resins", f"Resins!${first}${_HEADING_ROW}:${end}${OWN.reach_row}")
    span = TABLE.letter("agrees")
    span = f"{span}{TABLE.first_row}:{span}{TABLE.last_row}"
    cell = span.partition(":")[0]
    when(sheet, span, f'LEFT({cell},{len(WET)})="{WET}"', failed())
    when(sheet, span, f'AND({cell}<>"",{cell}<>"ok")', noticed())
    highlight_errors(sheet, f"{TABLE.letter('line')}{TABLE.first_row}:{last}{TABLE.last_row}")
    put_across(
        sheet, f"{TABLE.letter('line')}4:{TABLE.letter('agrees')}4",
        "A low density is safe for volume, a high one for load.", "alarm",
    )  # fmt: skip
    sheet.freeze_panes = f"B{TABLE.first_row}"
    print_in_parts(sheet, "", OWN.letter("source"), TABLE.letter("agrees"))
