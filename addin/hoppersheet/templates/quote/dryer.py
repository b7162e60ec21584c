"""Sheet *Dryer*: the air, heat and water that the chosen hoppers need, and the dryers that give it.

Lines with the same letter share a dryer, at once or in turn. Each dryer comes from the dryer
catalog: the next one up by its airflow, a model that somebody names, or none with a reason.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.worksheet.pagebreak import Break

from ..layout import Column, Table, put, put_across, unit_name
from ..styles import STATES
from ..validation import Rule, a_share, a_text, a_whole, one_of
from .grid import landscape, letters_between, new_sheet, quoted, write_grid
from .line_checks import LINES as ROWS
from .line_checks import REACH, SIZING
from .line_checks import TABLE as BEHIND
from .line_columns import ALMOST, DRYER_NAMES, number
from .rows import highlight_errors, highlight_glyphs

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["LINES", "SHEET", "TABLE", "WORKED_OUT", "write"]

SHEET = "Dryer"
#: What a figure says when an input for it is given nowhere.
NOT_STATED = "not stated"
_FIRST, _FIRST_LINE = 6, 28
_LINK = {"s": lambda: SIZING, "b": lambda: BEHIND}


def _live(formula: str) -> str:
    return f'IF({{line}}="","",{formula})'


def _once(number: str) -> str:
    """Of jobs in turn on one hopper the greatest counts, once, on the line that has the hopper."""
    return (
        f'IF({{line}}="",0,IF(OR({{s.shared}}="",{{s.at_once}}=1),{{{number}}},IF({{s.also}}=1,0,'
        f"SUMPRODUCT(MAX(({{s.shared:all}}={{s.shared}})*{{{number}:all}})))))"
    )


_HEAT_KNOWN = 'OR({temperature}="",{heat}="",room_temperature="")'

#: Row k belongs to row k of *Sizing*.
LINES = Table(
    SHEET, first_row=_FIRST_LINE, rows=ROWS, reach=REACH, links=_LINK,
    columns=(
        Column("line", "line", show="whole", width=36, align="center", group="Line",
               formula="{b.line}"),
        # Its whole name stands on Sizing.
        Column("job", "job", width=132, group="Line",
               formula=_live('IF(LEN({s.job})>22,LEFT({s.job},21)&"…",{s.job}&"")')),
        Column("resin", "resin", width=58, group="Line", shrink=True,
               formula=_live('{s.resin}&""')),
        Column("dryer", "dryer", width=62, align="center", group="Line",
               formula=_live("{s.dryer_used}")),
        Column("feed", "rate, all\nhoppers", quantity="throughput", width=84, align="right",
               group="Air",
               formula=_live('IF({s.rate_used}="","",{s.rate_used}*{s.quantity_used})')),
        Column("air", "air", quantity="airflow", width=74, align="right", group="Air",
               formula=_live("{s.air}")),
        Column("temperature", "dried at", quantity="temperature", width=70, align="right",
               group="Heat", formula=_live("{s.temperature_used}")),
        Column("heat", "specific\nheat", quantity="specific heat", width=84, align="right",
               group="Heat", formula=_live("{b.specific_heat}")),
        Column(
            "power", "heat for\nthe resin", quantity="heat", width=96, align="right", group="Heat",
            formula=_live(
                f'IF(OR({{feed}}="",{_HEAT_KNOWN}),"{NOT_STATED}",HOPPER_HEAT({{feed}},{{heat}},'
                "room_temperature_used,{temperature},unit_system))"
            ),
        ),
        Column("moisture", "dried to", show="moisture", unit="of mass", width=70, align="right",
               group="Water", formula=_live("{b.moisture}")),
        Column(
            "water", "water\nremoved", quantity="throughput", show="water", width=84,
            align="right", group="Water",
            formula=_live(
                f'IF(OR({{feed}}="",{{s.moisture_in}}="",{{moisture}}=""),"{NOT_STATED}",'
                "HOPPER_WATER_REMOVED({feed},{s.moisture_in},{moisture},unit_system))"
            ),
        ),
        Column("air_counts", "air that\ncounts", quantity="airflow", show="counted", width=90,
               align="right", group="Counted", formula=_once("air_number")),
        Column("air_number", "air as a number", quantity="airflow", width=74, group="For the sums",
               fold=True, formula='IF(ISERROR({air}),0,N({air}))'),
        Column("power_number", "heat as a number", quantity="heat", width=74,
               group="For the sums", fold=True, formula='IF(ISERROR({power}),0,N({power}))'),
        Column("hot", "dried at, as a number", quantity="temperature", width=74,
               group="For the sums", fold=True,
               formula='IF(ISERROR({temperature}),-999,IF(ISNUMBER({temperature}),{temperature},-999))'),
        Column("power_counts", "heat that\ncounts", quantity="heat", show="counted", width=90,
               align="right", group="Counted", formula=_once("power_number")),
        Column("stop", "what stops", "check", width=62, group="Dryer",
               formula=_live("INDEX(dryer_stops,MATCH({dryer},dryer_letters,0))&\"\"")),
    ),
)  # fmt: skip

_MINE = f"({LINES.range('dryer')}={{name}})"
_HOTTER = BEHIND.range("hotter_by")
_SMALLER = f'SUMPRODUCT((dryer_airflows<>"")*(dryer_airflows<{{each}}*{ALMOST}))'
_NO_REASON = "LEN(TRIM({reason}))=0"
_TOO_SMALL = f"{{gives}}<{{needs}}*{ALMOST}"
_BY = 'ROUND({needs}-{gives},0)&" "&unit_airflow'
_COLD = (
    'AND({hottest}<>"",INDEX(dryer_temperatures,{row})<>"",'
    "INDEX(dryer_temperatures,{row})<{hottest})"
)
_WEAK = f"IF(AND(ISNUMBER({{carries}}),ISNUMBER({{power}})),{{carries}}*{ALMOST}<{{power}},FALSE)"
_INVENTED = (
    'AND(INDEX(dryer_invented,{row})<>"",INDEX(dryer_invented,{row})<>"no",demonstration<>"yes")'
)
_CHOICE = Rule(
    "list", "dryer_choices", says="next size, none, or a model of the dryer catalog",
    prompt="Blank: the next dryer up by its airflow. none: none is quoted, with a reason.",
)  # fmt: skip


def _used(formula: str) -> str:
    return f'IF({{lines}}=0,"",{formula})'


TABLE = Table(
    SHEET, first_row=_FIRST, rows=len(DRYER_NAMES),
    columns=(
        Column("name", "dryer", width=36, align="center", group="Dryer",
               formula="CHAR(64+ROWS({name:above}))"),
        Column("state", "state", "check", width=132, group="Dryer", wrap=True,
               formula=f'IF({{lines}}=0,"",IF({{stop}}<>"","{STATES["stop"]} stop: "&{{stop}},'
               f'IF({{look}}<>"","{STATES["look"]} look: "&{{look}},'
               f'IF(IF(ISERROR({{needs}}),TRUE,{{needs}}=""),"{STATES["unfinished"]} unfinished",'
               f'"{STATES["ready"]} ready"))))'),
        Column("turn", "runs", "input", width=58, group="Typed", unit="or at once",
               rule=one_of("at once", "in turn", prompt="at once: the air of all its lines is "
                                                        "added "
                           "up. in turn: the largest counts.")),
        Column("choice", "which", "input", width=74, group="Typed", unit="or next size",
               wrap=True, rule=_CHOICE),
        Column("quantity", "quantity", "input", show="whole", width=56, align="right",
               group="Typed", unit="or 1", rule=a_whole(1, 20, "Dryers that share the air.")),
        Column("discount", "discount", "input", show="share", width=56, align="right",
               group="Typed", unit="or 0 %", rule=a_share()),
        Column("reason", "reason, if\nto look at", "input", width=100, group="Typed",
               unit="on the quote", wrap=True,
               rule=a_text(200, "Why this dryer is right though it is small or its lines ask for "
                                "different temperatures, or why none is quoted.")),
        Column("lines", "lines", show="count", width=66, align="right", group="Needs",
               formula=f"SUMPRODUCT(--{_MINE})"),
        Column(
            "needs", "air", quantity="airflow", width=58, align="right", group="Needs", bold=True,
            formula=_used(
                f"IF(SUMPRODUCT({_MINE}*ISERROR({LINES.range('air')}))>0,NA(),"
                f'IF(SUMPRODUCT({_MINE}*({LINES.range("air_number")}>0))<{{lines}},"",'
                f'IF({{turn}}="in turn",SUMPRODUCT(MAX({_MINE}*{LINES.range("air_counts")})),'
                f'SUMPRODUCT({_MINE}*{LINES.range("air_counts")}))))'
            ),
        ),
        Column("hottest", "hottest\nline", quantity="temperature", width=56, align="right",
               group="Needs",
               formula=_used(f"IF(SUMPRODUCT({_MINE}*({LINES.range('hot')}>-999))=0,\"\","
                             f"SUMPRODUCT(MAX({_MINE}*({LINES.range('hot')}+999)))-999)")),
        Column("model", "model", width=76, group="Quoted", wrap=True,
               formula=_used('IF(ISNUMBER({row}),INDEX(dryer_models,{row}),{row})')),
        Column("gives", "gives", quantity="airflow", width=58, align="right", group="Quoted",
               formula=_used('IF(ISNUMBER({row}),INDEX(dryer_airflows,{row})*{count},"")')),
        Column("each", "air of each", quantity="airflow", width=74, align="right",
               group="Quoted", fold=True, formula=_used('IF({needs}="","",{needs}/{count})')),
        Column("count", "quantity", show="whole", width=74, align="right", group="Quoted",
               fold=True, formula=_used('IF({quantity}="",1,{quantity})')),
        Column(
            "row", "row of the catalog", show="whole", width=74, align="right", group="Quoted",
            fold=True,
            formula=_used(
                'IF({choice}="none","none",IF({each}="","",IF(OR({choice}="",{choice}="next size"),'
                f'IF({_SMALLER}>=COUNT(dryer_airflows),"none",'
                f"MATCH(SMALL(dryer_airflows,{_SMALLER}+1),dryer_airflows,0)),"
                "MATCH({choice},dryer_models,0))))"
            ),
        ),
        Column("price", "list price", show="money", width=64, align="right", group="Quoted",
               formula=_used('IF(ISNUMBER({row}),IF(INDEX(dryer_prices,{row})="","",'
                             'INDEX(dryer_prices,{row})),"")')),
        Column("net", "net", show="money", width=64, align="right", group="Quoted",
               formula=_used('IF(ISNUMBER({price}),ROUND({count}*{price}*(1-IF({discount}="",0,'
                             '{discount})),2),IF({choice}="none",0,""))')),
        Column("power", "heat for\nthe resin", quantity="heat", width=58, align="right",
               group="Heat",
               formula=_used(
                   f'IF(SUMPRODUCT({_MINE}*ISNUMBER({LINES.range("power")}))<{{lines}},'
                   f'"{NOT_STATED}",IF({{turn}}="in turn",'
                   f'SUMPRODUCT(MAX({_MINE}*{LINES.range("power_counts")})),'
                   f'SUMPRODUCT({_MINE}*{LINES.range("power_counts")})))'
               )),
        Column("carries", "air can\ngive", quantity="heat", width=56, align="right", group="Heat",
               formula=_used(
                   f'IF(OR({{needs}}="",{{hottest}}="",room_temperature=""),"{NOT_STATED}",'
                   "HOPPER_AIR_HEAT({needs},{hottest},room_temperature_used,altitude_used,"
                   "unit_system))"
               )),
        Column("returns", "air re-\nturns at", quantity="temperature", width=62, align="right",
               group="Heat",
               formula=_used(
                   'IF(AND(ISNUMBER({carries}),ISNUMBER({power})),{hottest}-{power}/{carries}'
                   f'*({{hottest}}-room_temperature_used),"{NOT_STATED}")'
               )),
        Column(
            "stop", "what stops", "check", width=200, group="Checks", fold=True,
            formula=_used(
                f'IF({{choice}}="none",IF({_NO_REASON},"not quoted, no reason",""),'
                'IF(ISERROR({needs}),"",IF({needs}="","",'
                'IF(ISERROR({row}),"not in the dryer catalog: "&{choice},'
                'IF(NOT(ISNUMBER({row})),"larger than the dryer catalog",'
                f'IF({_INVENTED},"is an invented model",'
                'IF({price}="","has no price",'
                f'IF(AND({_TOO_SMALL},{_NO_REASON}),"too small by "&{_BY},'
                f'IF({_COLD},"air not hot enough",'
                f'IF({_WEAK},"air cannot carry the heat",""))))))))))'
            ),
        ),
        Column(
            "look", "to look at", "check", width=200, group="Checks", fold=True,
            formula=_used(
                'MID(IF({choice}="none","; not quoted, reason given",IF(ISERROR({needs}),"",'
                f'IF(NOT(ISNUMBER({{row}})),"",IF({_TOO_SMALL},"; too small by "&{_BY}&'
                '", reason given",""))))&IF({apart}>0,"; one air for "&ROUND({coolest},0)&" to "&'
                f'ROUND({{hottest}},0)&" "&unit_temperature&IF({_NO_REASON},"",", reason given"),'
                '""),3,250)'
            ),
        ),
        Column("coolest", "coolest line", quantity="temperature", width=74, align="right",
               group="Checks", fold=True,
               formula=_used(f"IF(SUMPRODUCT({_MINE}*({LINES.range('hot')}>-999))=0,\"\","
                             f"9999-SUMPRODUCT(MAX({_MINE}*({LINES.range('hot')}>-999)*"
                             f"(9999-{LINES.range('hot')}))))")),
        Column("apart", "a line takes less than its air, by", quantity="temperature", width=74,
               align="right", group="Checks", fold=True,
               formula=_used(f"SUMPRODUCT(MAX({_MINE}*{_HOTTER}))")),
        Column("told", "1: the customer reads why", show="whole", width=74, group="Checks",
               fold=True,
               formula=_used('IF(OR({choice}="none",{apart}>0),1,IF(ISERROR({needs}),0,'
                             f"IF(AND(ISNUMBER({{row}}),{_TOO_SMALL}),1,0)))")),
    ),
)  # fmt: skip


#: All that is worked out of a dryer.
WORKED_OUT = (
    f"{SHEET}!${TABLE.letter(next(c.key for c in TABLE.columns[2:] if c.formula))}${_FIRST}:"
    f"${TABLE.letter(TABLE.columns[-1].key)}${TABLE.last_row}"
)


def _shown(cell: str, name: str) -> str:
    return f'=IF({cell}="","",{number(cell, name)})'


_ROOM = (
    ("Room temperature", "room temperature", "room_temperature_used",
     _shown("room_temperature", "room temperature"), "0.0_)"),
    ("Altitude", "altitude", "altitude_used",
     f'=IF(plant_altitude="",0,{number("plant_altitude", "altitude")})', "#,##0_)"),
    ("Dew point of the room", "temperature", "room_dew_point",
     '=IF(OR(room_temperature="",room_humidity=""),"",'
     "HOPPER_DEW_POINT(room_temperature_used,room_humidity,unit_system))", "0.0_)"),
    ("Water in the room air", "humidity ratio", "room_moisture",
     '=IF(OR(room_temperature="",room_humidity=""),"",HOPPER_AIR_MOISTURE(room_temperature_used,'
     "room_humidity,altitude_used,unit_system))", "0.000000_)"),
    ("Water in the drying air", "humidity ratio", "drying_moisture",
     '=IF(drying_dew_point="","",HOPPER_AIR_MOISTURE('
     + number("drying_dew_point", "room temperature") + ",1,altitude_used,unit_system))",
     "0.000000_)"),
    ("Room air is wetter by a factor of", "", "room_over_drying",
     '=IF(OR(room_moisture="",drying_moisture=""),"",room_moisture/drying_moisture)', "#,##0_)"),
)  # fmt: skip


def write(book: Workbook, units: str, rows: int) -> None:
    """Add the sheet."""
    from dataclasses import replace

    from openpyxl.utils import get_column_letter

    from ..layout import define_name

    lines = replace(LINES, rows=rows)
    sheet, _ = new_sheet(
        book, SHEET, "Dryer: what the chosen hoppers need, and what is quoted",
        "A line is on dryer A unless Sizing says otherwise; all hoppers on a dryer get air of one "
        "temperature. Heat: the resin's share; most of a dryer's stays in its air loop, or leaves "
        "it when the desiccant is heated.",
    )  # fmt: skip
    pen = write_grid(sheet, TABLE, row_px=41, up="top")  # three lines of a reason
    widths = {k: d.width for k, d in sheet.column_dimensions.items()}
    row = _FIRST + len(DRYER_NAMES) + 1
    pen.put(f"A{row}", "Room and drying air", "section")
    for letter in letters_between("B", "G"):
        pen.put(f"{letter}{row}", None, "section")
    for row, (label, name, cell, formula, fmt) in enumerate(_ROOM, row + 1):  # noqa: B020
        text = f'="{label}, "&{unit_name(name)}' if name else label
        if name == "humidity ratio":
            text = f"{label}, mass per mass"
        pen.put(f"A{row}", text, "label")
        pen.put(f"D{row}", formula, "calc", fmt, at="right")
        pen.name(f"D{row}", cell)
    note = row + 1
    put_across(
        sheet, f"A{note}:T{note}",
        "Figures for water that open resin takes up again have no source: keep it closed, and "
        "measure its moisture (ISO 15512). Airflows are actual flows at the drying temperature.",
        "note",
    )  # fmt: skip
    pen.heights(note, note, 17)
    pen.put(f"A{_FIRST_LINE - 4}", "Air, heat and water of each line", "title")
    write_grid(sheet, lines)
    # The table of dryers above decides the widths.
    for letter, width in widths.items():
        sheet.column_dimensions[letter].width = width
    _unfold(sheet, lines)
    for key, name in (
        ("name", "dryer_letters"), ("stop", "dryer_stops"), ("net", "dryer_nets"),
        ("turn", "dryer_turns"), ("reason", "dryer_reasons"),
    ):  # fmt: skip
        letter = TABLE.letter(key)
        define_name(book, name, f"{SHEET}!${letter}${_FIRST}:${letter}${TABLE.last_row}")
    span = f"B{_FIRST}:B{TABLE.last_row}"
    highlight_glyphs(sheet, span)
    highlight_errors(sheet, f"H{_FIRST}:{TABLE.letter('look')}{TABLE.last_row}")
    highlight_errors(sheet, f"D{_FIRST_LINE}:{lines.letter('stop')}{lines.last_row}")
    _write_choices(book, get_column_letter(len(TABLE.columns) + 2))
    last = TABLE.letter("returns")
    sheet.row_breaks.append(Break(id=_FIRST_LINE - 5))  # its headings stand over all of its lines
    landscape(sheet, f"A1:{last}{lines.last_row}", letters_between("A", last), units, margin=0.2)


def _unfold(sheet: object, lines: Table) -> None:
    """Both tables share the columns: only those that both fold stay folded."""
    folded = {TABLE.letter(c.key) for c in TABLE.columns if c.fold}
    shown = {lines.letter(c.key) for c in lines.columns if not c.fold}
    for letter in letters_between("A", TABLE.letter(TABLE.columns[-1].key)):
        dimension = sheet.column_dimensions[letter]  # type: ignore[attr-defined]
        fold = letter in folded and letter not in shown
        dimension.hidden, dimension.outlineLevel = fold, int(fold)


def _write_choices(book: Workbook, letter: str) -> None:
    """What may be chosen: next size, none, and the models of the dryer catalog."""
    from openpyxl.utils import get_column_letter

    from ..layout import define_name
    from .catalog import DRYERS

    sheet = book[SHEET]
    count = DRYERS.rows + 2
    models = DRYERS.range("model")
    for n in range(count):
        value = ("next size", "none")[n] if n < 2 else f'=INDEX({models},{n - 1})&""'
        put(sheet, f"{letter}{_FIRST + n}", value, "plain")
    dimension = sheet.column_dimensions[letter]
    dimension.hidden, dimension.outlineLevel = True, 1
    sheet.column_dimensions[get_column_letter(len(TABLE.columns) + 3)].collapsed = True
    define_name(
        book, "dryer_choices",
        f"{quoted(SHEET)}!${letter}${_FIRST}:${letter}${_FIRST + count - 1}",
    )  # fmt: skip
