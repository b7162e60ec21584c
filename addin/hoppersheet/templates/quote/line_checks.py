"""Sheet *Line checks*: what the resin table says of each line, and everything worth saying of it.

Row k belongs to row k of *Sizing*. Each check of a line is one column that holds its words where it
applies; the state of the line is put together from them, and *Checks* names the lines.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ..layout import Column, Table
from ..styles import STATES
from . import resins
from .grid import landscape, letters_between, new_sheet, write_grid
from .line_check_list import BESIDE, BRIEF, LINE_CHECKS, OVER_HELD, WITH, LineCheck
from .line_columns import ALMOST, COLUMNS
from .rows import highlight_errors, highlight_glyphs

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = [
    "FIRST",
    "LINES",
    "REACH",
    "SIZING",
    "TABLE",
    "naming",
    "prepared",
    "write",
]

#: Rows that are prepared, and rows that other formulas look at.
LINES, REACH = 40, 200
FIRST = 5

SIZING: Table = Table(
    "Sizing", COLUMNS, FIRST, LINES, REACH,
    links={"behind": lambda: TABLE},
)  # fmt: skip


def prepared(table: Table, rows: int, dryer_lines: Table) -> Table:
    """:data:`SIZING` or :data:`TABLE`, ready to be written.

    Args:
        table: one of the two.
        rows: lines that are prepared.
        dryer_lines: the lines of *Dryer*, which their formulas call ``{air. }`` and which follow
            from both.
    """
    return replace(table, rows=rows, links={**table.links, "air": lambda: dryer_lines})


#: Temperatures closer than this are one: common practice, no source.
CLOSE = 'IF(unit_system="US",9,5)'
_IN_TURN = 'INDEX(dryer_turns,MATCH({s.dryer_used},dryer_letters,0))="in turn"'
_WRONG = "SUMPRODUCT(--ISERROR({s.job}:{s_end}))"


def _flag(check: LineCheck) -> Column:
    applies = check.applies
    return Column(
        check.key, check.heading, "check", width=180, group=check.severity, fold=True, wrap=True,
        formula=f'IF({{begun}}=0,"",IF(ISERROR({applies}),"",IF({applies},{check.words},"")))',
    )  # fmt: skip


def naming(key: str) -> str:
    """The column that names, in its last row, all lines for which a check applies."""
    return f"{key}_lines"


def _names(check: LineCheck) -> Column:
    return Column(
        naming(check.key), check.heading, width=60, group="lines named", fold=True, shrink=True,
        formula=f'IF(ROWS({{line:down}})=1,"",{{{naming(check.key)}:prev}})'
        f'&IF({{{check.key}}}="","",", "&ROWS({{line:down}}))',
    )  # fmt: skip


def _joined(severity: str, without: str = "") -> str:
    comma = ", " if severity == "unfinished" else "; "
    return "&".join(
        f'IF({{{check.key}}}="","","{comma}"&{{{check.key}}})'
        for check in LINE_CHECKS
        if check.severity == severity and check.key != without
    )


def _in_brief() -> str:
    """The first finding of a line, in words that the State of Sizing has room for."""
    by_kind = {"stop": '""', "unfinished": '""', "look": '""'}
    for check in reversed(LINE_CHECKS):
        words = BRIEF.get(check.key, f"{{{check.key}}}")
        by_kind[check.severity] = f'IF({{{check.key}}}<>"",{words},{by_kind[check.severity]})'
    stop, unfinished, look = by_kind.values()
    return f'IF({{kind}}="stop",{stop},IF({{kind}}="unfinished",{unfinished},{look}))'


def _how_many_more() -> str:
    """How many findings of a line its State does not name: it names the first."""
    return f'COUNTIF({{{LINE_CHECKS[0].key}}}:{{{LINE_CHECKS[-1].key}}},"?*")-1'


def _live(formula: str) -> str:
    return f'IF({{begun}}=0,"",{formula})'


def _glyph(state: str) -> str:
    return f"{STATES[state]} {state}"


def _columns() -> tuple[Column, ...]:
    group = "What Resins says"
    last = COLUMNS[-1].key
    head = (
        Column("line", "line", show="whole", width=36, align="center", group="Line",
               formula='IF({begun}=0,"",ROWS({s.line:down}))'),
        Column("begun", "begun", show="whole", width=40, group="Line", fold=True,
               formula="{s.begun}"),
        Column("job", "job", width=130, group="Line", wrap=True, formula=_live('{s.job}&""')),
        Column("key", "resin", width=70, group="Line", fold=True,
               formula=_live(f'IF({{s.resin}}="","",{resins.key_of("{s.resin}")})')),
        *resins.bare_columns("{s.resin}", "Line"),
        Column("lookup", "resin as looked up", width=70, group="Line", fold=True,
               formula=_live(resins.lookup_of("{key}", "{bare}"))),
        Column("own_row", "own row", show="whole", width=50, group=group, fold=True,
               formula=_live(resins.row_of("{lookup}", own=True))),
        Column("table_row", "built-in row", show="whole", width=50, group=group, fold=True,
               formula=_live(resins.row_of("{lookup}", own=False))),
        Column("name", "name", width=70, group=group,
               formula=_live(f'IF({{own_row}}+{{table_row}}=0,"",'
                             f"INDEX({resins.TABLE.range('resin')},MAX({{table_row}},"
                             "IF({table_row}=0,{own_row},0))))")),
    )  # fmt: skip
    quantities = {c.key: c for c in resins.TABLE.columns}
    from .measured import measured

    weighed = tuple(
        Column(
            f"weighed_{what}", f"{what}, measured", quantity="bulk density", width=60,
            align="right", group="Measured density", fold=True,
            formula=_live(measured("density", what, "ROWS({line:down})", "{key}")),
        )
        for what in ("virgin", "regrind")
    )  # fmt: skip
    values = tuple(
        Column(
            key, quantities[key].heading if key != "apart" else "must never meet",
            quantity=quantities[key].quantity, show=quantities[key].show or "text",
            width=50, align="right", group=quantities[key].group, fold=True,
            formula=_live(resins.value_of(key, "{own_row}", "{table_row}")),
        )
        for key in (*resins.VALUES, "wet", "suffers", "apart", "softens", "softens_what", "caution")
    )  # fmt: skip
    air = (
        Column("beside", "hottest air of its dryer at the same time", quantity="temperature",
               width=60, align="right", group="Air of its dryer", fold=True,
               formula=_live(f'IF(OR({{air.hot}}=-999,{_IN_TURN}),"",MAX({{air.hot}},'
                             f"SUMPRODUCT(MAX({BESIDE}*({{air.hot:all}}+999)))-999))")),
        Column("beside_line", "the line that asks for it", show="whole", width=50,
               group="Air of its dryer", fold=True,
               formula=_live('IF({beside}="","",SUMPRODUCT(MAX('
                             f"{BESIDE}*(ABS({{air.hot:all}}-{{beside}})<0.000001)*{{place:all}})))")),
        Column("hotter_by", "hotter than it takes, by", quantity="temperature", width=60,
               align="right", group="Air of its dryer", fold=True,
               formula='IF(N({beside})=0,0,IF(AND({beside}-{air.hot}>'
                       f"{CLOSE},{{beside}}>MAX({{air.hot}},N({{temperature_high}}))),"
                       "{beside}-{air.hot},0))"),
    )  # fmt: skip
    last_with = f"SUMPRODUCT(MAX({WITH}*{{place:all}}))"
    shared = (
        *(
            Column(f"{what}_number", f"{what} as a number", show="typed", width=60, fold=True,
                   align="right", group="Shared hopper",
                   formula=f"IF(ISNUMBER({{s.{what}}}),{{s.{what}}},0)")
            for what in ("needs", "heavy")
        ),
        Column("with_before", "row of the job before it", show="whole", width=50,
               group="Shared hopper", fold=True,
               formula=_live(f'IF({{s.shared}}="",0,SUMPRODUCT(MAX({WITH}*({{place:all}}<{{place}})'
                             "*{place:all})))")),
        Column("with_number", "which of its jobs", show="whole", width=50, group="Shared hopper",
               fold=True,
               formula=_live(f'IF({{s.shared}}="",0,SUMPRODUCT({WITH}*({{place:all}}>0)*'
                             "({place:all}<={place})))")),
        Column("jobs_so_far", "its jobs, up to this one", width=60, group="Shared hopper",
               fold=True,
               formula=_live('IF({s.shared}="","",IF({with_before}=0,"",'
                             'INDEX({jobs_so_far:above},{with_before}+1)&", ")&{page_line})')),
        Column("jobs", "its jobs", width=60, group="Shared hopper", fold=True,
               formula=_live(f'IF({{s.shared}}="","",INDEX({{jobs_so_far:all}},{last_with}))')),
        Column("contents", "contents when full", quantity="mass", width=60, align="right",
               group="Shared hopper", fold=True,
               formula=_live('IF(AND({s.shared}<>"",ISNUMBER({s.chosen_size})),'
                             "HOPPER_HELD_MASS({s.chosen_size}*{s.split_used},{s.blend},"
                             'unit_system),"")')),
        Column("longest", "hours held at the lowest rate", show="hours held", width=60,
               align="right", group="Held", fold=True,
               formula=_live('IF(ISNUMBER({s.held}),{s.held}*{s.through}/{s.through_low},"")')),
        Column("fill", "fill to about, in percent", show="whole", width=60, align="right",
               group="Held", fold=True,
               formula=_live('IF(AND({s.shared}<>"",{suffers}="yes",ISNUMBER({s.held}),'
                             "ISNUMBER({hours_high})),"
                             "MIN(100,ROUND(100*{hours_high}/{s.held},0)),"
                             f"IF({OVER_HELD},"
                             'ROUND(100*MAX({s.hours},N({hours_high}))/{longest},0),""))')),
    )  # fmt: skip
    states = (
        Column("wrong", "cells in error", show="whole", width=50, group="Together", fold=True,
               formula=_live(_WRONG.replace("{s_end}", f"{{s.{last}:bare}}"))),
        Column("unfinished", "missing", "check", width=120, group="Together", fold=True,
               formula=_live(f"MID({_joined('unfinished')},3,200)")),
        Column("stop", "stops", "check", width=160, group="Together", shrink=True, fold=True,
               formula=_live(f"MID({_joined('stop')},3,250)")),
        Column("own_stop", "stops, its dryer apart", "check", width=160, group="Together",
               shrink=True, fold=True,
               formula=_live(f"MID({_joined('stop', without='dryer')},3,250)")),
        Column("look", "to look at", "check", width=200, group="Together", shrink=True, fold=True,
               formula=_live(f"MID({_joined('look')},3,250)")),
        Column(
            "state", "state", "check", width=690, group="Together", wrap=True,
            formula='IF({begun}=0,"",IF({stop}<>"",'
            f'"{_glyph("stop")}: "&{{stop}},IF({{unfinished}}<>"",'
            f'"{_glyph("unfinished")}: "&{{unfinished}}&" missing",IF({{look}}<>"",'
            f'"{_glyph("look")}: "&{{look}},"{_glyph("ready")}"))))',
        ),
        Column("more", "findings that Sizing does not name", show="whole", width=50,
               group="Together", fold=True, formula=_live(_how_many_more())),
        Column("brief", "the first finding, in brief", width=120, group="Together", fold=True,
               formula=_live(_in_brief())),
        Column("short_state", "state, for Sizing", width=120, group="Together", fold=True,
               formula=_live(f'IF({{kind}}="ready","{_glyph("ready")}",IF({{kind}}="stop",'
                             f'"{_glyph("stop")}",IF({{kind}}="look","{_glyph("look")}",'
                             f'"{_glyph("unfinished")}"))&IF({{more}}<1,""," +"&{{more}})&": "&'
                             "{brief})")),
        Column("kind", "state", width=70, group="Together", fold=True,
               formula='IF({begun}=0,"",IF({stop}<>"","stop",IF({unfinished}<>"","unfinished",'
               'IF({look}<>"","look","ready"))))'),
    )  # fmt: skip
    before = "SUMPRODUCT(MAX(({caution:all}={caution})*({place:all}<{place})*{place:all}))"
    earlier = (
        "SUMPRODUCT(MAX(({s.dryer_used:all}={s.dryer_used})*({place:all}<{place})*{place:all}))"
    )
    named = (
        Column("page_line", "number on the page", show="whole", width=40, group="On the page",
               fold=True, formula=_live("COUNTIF({begun:down},1)")),
        Column("dryer_before", "earlier line on its dryer", show="whole", width=60,
               group="On the page", fold=True, formula=_live(earlier)),
        Column(
            "on_dryer", "lines on its dryer so far", width=90, group="On the page", fold=True,
            formula=_live('IF({dryer_before}=0,"",INDEX({on_dryer:above},{dryer_before}+1)&", ")'
                          "&{page_line}"),
        ),
        Column("place", "row", show="whole", width=40, group="Cautions", fold=True,
               formula="ROWS({place:above})"),
        Column(
            "caution_before", "earlier line with the same cautions", show="whole", width=60,
            group="Cautions", fold=True,
            formula=f'IF(ISNUMBER({{caution}}),{before},"")',
        ),
        Column(
            "caution_names", "resins with these cautions", width=90, group="Cautions", fold=True,
            formula='IF({caution_before}="","",IF({caution_before}=0,{name},'
            "IF(ISNUMBER(SEARCH(\", \"&{name}&\",\",\", \"&INDEX({caution_names:above},"
            '{caution_before}+1)&",")),INDEX({caution_names:above},{caution_before}+1),'
            'INDEX({caution_names:above},{caution_before}+1)&", "&{name})))',
        ),
    )  # fmt: skip
    plain_blend = (
        "IF({s.regrind_share}=0,{s.virgin_used},IF({s.regrind_share}=1,{s.ground_used},"
        'IF({s.basis_used}="mass",1/({s.virgin_share}/{s.virgin_used}+{s.regrind_share}/'
        "{s.ground_used}),{s.virgin_share}*{s.virgin_used}+{s.regrind_share}*{s.ground_used})))"
    )
    agrees = Column(
        "agrees",
        "agrees with plain arithmetic?",
        "check",
        width=80,
        align="center",
        group="Together",
        fold=True,
        # 1E-9 relative: far above the rounding of 15 digits, far below anything that matters.
        formula=_live(
            "IF(ISNUMBER({s.held}),IF(AND("
            f"ABS({{s.blend}}/({plain_blend})-1)<0.000000001,"
            "ABS({s.needs}/({s.rate_used}*{s.hours}*(1+{s.reserve_used})/{s.blend})-1)<0.000000001,"
            "ABS({s.held}/({s.chosen_size}*{s.split_used}*{s.blend}/{s.through})-1)<0.000000001"
            f',OR({{s.heavy}}="",{{s.heavy}}>={{s.blend}}*{ALMOST})'
            '),"yes","no"),"")'
        ),
    )
    return (
        *head, *values, *weighed, *named, *air, *shared, agrees, *states,
        *map(_flag, LINE_CHECKS), *map(_names, LINE_CHECKS),
    )  # fmt: skip


TABLE: Table = Table(
    "Line checks", _columns(), FIRST, LINES, REACH,
    links={"s": lambda: SIZING},
)  # fmt: skip


def write(book: Workbook, units: str, rows: int, dryer_lines: Table) -> None:
    """Add the sheet; ``dryer_lines``: see :func:`prepared`."""
    table = prepared(TABLE, rows, dryer_lines)
    sheet, _ = new_sheet(book, TABLE.sheet, "Line checks: everything found about each line")
    write_grid(sheet, table, row_px=29)
    for key in ("state",):
        letter = table.letter(key)
        highlight_glyphs(sheet, f"{letter}{FIRST}:{letter}{table.last_row}")
    first, last = table.letter("job"), table.letter(LINE_CHECKS[-1].key)
    highlight_errors(sheet, f"{first}{FIRST}:{last}{table.last_row}")
    sheet.freeze_panes = f"{table.letter('key')}{FIRST}"
    end = table.letter("state")
    landscape(sheet, f"A1:{end}{table.last_row}", letters_between("A", end), units)
