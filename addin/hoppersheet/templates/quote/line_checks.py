"""Sheet *Line checks*: what the resin table says of each line, and everything worth saying of it.

Row k belongs to row k of *Sizing*. Each check of a line is one column that holds its words where it
applies; the state of the line is put together from them, and *Checks* names the lines.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..layout import Column, Table
from ..styles import STATES
from . import resins
from .grid import landscape, letters_between, new_sheet, write_grid
from .line_columns import ALMOST, COLUMNS, TURNS
from .rows import highlight_errors, highlight_glyphs

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = [
    "FAR_LONGER",
    "FIRST",
    "LINES",
    "LINE_CHECKS",
    "REACH",
    "SIZING",
    "TABLE",
    "LineCheck",
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


@dataclass(frozen=True)
class LineCheck:
    """Something that may be said of a line.

    Attributes:
        key: its column.
        severity: "unfinished", "stop" or "look".
        heading: what it is about, for the headings and for *Checks*.
        applies: condition, with placeholders of Sizing as ``{s.hours}``; in error: does not.
        words: formula of what is said.
    """

    key: str
    severity: str
    heading: str
    applies: str
    words: str


def _percent(fraction: str) -> str:
    return f'ROUND(100*({fraction}),1)&" %"'


_SHORT = f"{{s.held}}<{{s.hours}}*{ALMOST}"
_SHORT_BY = _percent("1-{s.held}/{s.hours}")
_NO_REASON = "LEN(TRIM({s.reason}))=0"
#: Hours held at the lowest realistic rate.
_LONGEST = "{s.held}*{s.through}/{s.through_low}"
#: So many times the hours asked are far longer: common practice, no source.
FAR_LONGER = 2
_UNIT_D = "unit_bulk_density"


def _outside(cell: str, us: tuple[float, float], metric: tuple[float, float]) -> str:
    low, high = (f'IF(unit_system="US",{a:g},{b:g})' for a, b in zip(us, metric, strict=True))
    return f"AND(ISNUMBER({cell}),OR({cell}<{low},{cell}>{high}))"


_DENSITY = ((1.873, 187.28), (0.03, 3.0))
#: (condition, words) of a line in error, in the order of the columns.
_ERRORS = (
    ("ISERROR({s.regrind_share})", '"regrind share is not a number"'),
    ("ISERROR({s.virgin_used})", '"virgin density is not a number of its unit"'),
    (_outside("{s.virgin_used}", *_DENSITY), '"virgin density "&{s.virgin_used}&" is no '
                                             '"&' + _UNIT_D),
    ("ISERROR({s.ground_used})", '"regrind density is not a number of its unit"'),
    (_outside("{s.ground_used}", *_DENSITY),
     '"regrind density "&{s.ground_used}&" is no "&' + _UNIT_D),
    ("ISERROR({s.blend})", '"blend: see the shares and densities"'),
    ("ISERROR({s.rate_used})", '"rate is not a number of its unit"'),
    ("ISERROR({s.low_used}+{s.likely_used}+{s.high_used})",
     '"low, likely or high rate is not a number of its unit"'),
    ("OR({s.low_used}>{s.likely_used},{s.likely_used}>{s.high_used})",
     '"low, likely, high rate not in order"'),
    ('AND(ISNUMBER({s.hours}),OR({s.hours}<0.75,{s.hours}>72))',
     '"hours "&ROUND({s.hours},4)&": type 4, not 4:00"'),
    ("ISERROR({s.reserve_used})", '"reserve is not a number"'),
    ("ISERROR({s.needs})", '"needed volume: see rate, hours, reserve"'),
    ('COUNTIF(catalog_volumes,"not readable")>0', '"Catalog: a size cannot be read"'),
    ("ISERROR({s.next_size})", '"Catalog: no size can be read"'),
    ('AND({s.choice_used}="size below",{s.below_size}="none")', '"there is no size below"'),
    ("ISERROR({s.chosen_size})", '"no model "&{s.choice_used}&" in Catalog"'),
)  # fmt: skip
_WRONG = "SUMPRODUCT(--ISERROR({s.job}:{s_end}))"


def _error_words() -> str:
    """The first thing that is wrong, in the order of the columns."""
    formula = '"see the cells in error"'
    for condition, words in reversed(_ERRORS):
        formula = f"IF({condition},{words},{formula})"
    return formula


_MEETS = (
    'SUMPRODUCT(({s.dryer_used:all}={s.dryer_used})*({name:all}<>"")'
    '*ISNUMBER(SEARCH(", "&{name:all}&",",", "&{apart}&",")))'
)
_TOO_TALL = "ROUND({s.height}-{s.headroom_used},1)"
_MIXED = "{s.regrind_share}>0"


def _beyond(cell: str, low: str, high: str, what: str, below: str, above: str) -> tuple[str, str]:
    """(condition, words) of a figure outside what the resin table says is usual."""
    under = f'AND(ISNUMBER({cell}),{low}<>"",{cell}<{low}*{ALMOST})'
    over = f'AND(ISNUMBER({cell}),{high}<>"",{cell}*{ALMOST}>{high})'
    return f"OR({under},{over})", f'"{what} "&IF({under},"{below}","{above}")'


_VIRGIN = _beyond(
    "{s.virgin_used}", "{density_low}", "{density_high}", "virgin density",
    "below usual: hopper may be larger than needed", "above usual: hopper may be too small",
)  # fmt: skip
_GROUND = _beyond(
    "{s.ground_used}", "{ground_low}", "{ground_high}", "regrind density",
    "below usual: hopper may be larger than needed", "above usual: hopper may be too small",
)  # fmt: skip

_WITH = "({s.shared:all}={s.shared})"


def _of_its_hopper(cell: str) -> str:
    """The same cell of the line that has the hopper."""
    return f"INDEX({{{cell}:all}},{{s.hopper_line}})"


_ONLY_THERE = ("choice", "split", "quantity", "discount")
_TURNS = tuple(f'({{s.turn:all}}="{turn}")' for turn in TURNS)
_BOTH_TURNS = "AND(" + ",".join(f"SUMPRODUCT({_WITH}*{turn})>0" for turn in _TURNS) + ")"
_ANOTHER_MIX = (
    f"OR({{key}}<>{_of_its_hopper('key')},{{s.hours}}<>{_of_its_hopper('s.hours')},"
    f"ABS({{s.blend}}/{_of_its_hopper('s.blend')}-1)>0.000000001)"
)

LINE_CHECKS: tuple[LineCheck, ...] = (
    LineCheck("no_resin", "unfinished", "resin missing", '{s.resin}=""', '"resin"'),
    LineCheck("no_rate", "unfinished", "rate missing", '{s.rate_used}=""', '"rate"'),
    LineCheck("no_hours", "unfinished", "hours missing", '{s.hours}=""', '"hours"'),
    LineCheck("no_basis", "unfinished", "by mass or by volume not stated",
              'AND({s.regrind_share}>0,{s.regrind_share}<1,{s.basis_used}="")',
              '"by mass or volume"'),
    LineCheck("no_virgin", "unfinished", "virgin density missing",
              'AND({s.regrind_share}<1,{s.virgin_used}="",{s.resin}<>"")', '"virgin density"'),
    LineCheck("no_ground", "unfinished", "regrind density missing",
              'AND({s.regrind_share}>0,{s.ground_used}="",{s.resin}<>"")', '"regrind density"'),
    LineCheck("waits", "unfinished", "another job of its hopper is not finished",
              'AND({s.shared}<>"",ISNUMBER({s.needs}),{s.hopper_needs}="")',
              '"another job of hopper "&{s.shared}'),
    LineCheck("bad_share", "stop", "regrind share not between 0 % and 100 %",
              "OR({s.regrind_share}<0,{s.regrind_share}>1)",
              '"regrind share "&100*{s.regrind_share}&" %: type 30 %, not 30"'),
    LineCheck("bad_hours", "stop", "hours that are not a number",
              'AND({s.hours}<>"",NOT(ISNUMBER({s.hours})))', '"hours: type a number, 4"'),
    LineCheck("error", "stop", "in error", "{wrong}>0", _error_words()),
    LineCheck("large", "stop", "larger than the catalog",
              'AND({s.choice_used}="next size",{s.next_size}="none")', '"larger than the catalog"'),
    LineCheck("no_below", "stop", "no size below to choose",
              'AND({s.choice_used}="size below",{s.below_size}="none")', '"no size below"'),
    LineCheck("no_price", "stop", "without a price",
              'AND({s.row}<>"",{s.also}=0,{s.price}="")', '"no price in Catalog"'),
    LineCheck("invented", "stop", "quoting an invented catalog row",
              'AND({s.row}<>"",INDEX(catalog_invented,MAX(1,N({s.row})))<>"",'
              'INDEX(catalog_invented,MAX(1,N({s.row})))<>"no",demonstration<>"yes")',
              '"invented model"'),
    LineCheck("short", "stop", "short without a reason",
              f"AND(ISNUMBER({{s.held}}),{_SHORT},{_NO_REASON})",
              f'{_SHORT_BY}&" short, no reason"&IF({{wet}}="yes"," ("&{{s.resin}}&")","")'),
    LineCheck("bad_count", "stop", "qty, split or discount impossible",
              'OR(IF({s.quantity}="",FALSE,IF(ISNUMBER({s.quantity}),OR({s.quantity}<1,'
              "{s.quantity}<>ROUND({s.quantity},0)),TRUE)),{s.split_used}<1,"
              "{s.split_used}<>ROUND({s.split_used},0),"
              'IF({s.discount}="",FALSE,IF(ISNUMBER({s.discount}),OR({s.discount}<0,'
              "{s.discount}>1),TRUE)))", '"qty, split or discount"'),
    LineCheck("bad_turn", "stop", "shared hopper: in turn, at once or both?",
              f'IF({{s.shared}}="",{{s.turn}}<>"",OR({_BOTH_TURNS},AND({{s.turn}}<>"",'
              + ",".join(f'{{s.turn}}<>"{turn}"' for turn in TURNS) + ")))",
              'IF({s.shared}="","runs "&{s.turn}&": which shared hopper?","hopper "&{s.shared}&'
              '": in turn, or at once?")'),
    LineCheck("elsewhere", "stop", "in the hopper of another line, and a hopper typed for it",
              'AND({s.also}=1,OR(' + ",".join(f'{{s.{k}}}<>""' for k in _ONLY_THERE) + "))",
              '"hopper "&{s.shared}&": which, split, qty and discount stand on line "&'
              "{s.hopper_line}"),
    LineCheck("two_dryers", "stop", "in the hopper of another line, and on another dryer",
              'AND({s.also}=1,{s.dryer}<>"",{s.dryer}<>{s.dryer_used})',
              '"hopper "&{s.shared}&" is on dryer "&{s.dryer_used}'),
    LineCheck("another_mix", "stop", "at once in one hopper: not the same resin, mix or hours",
              f"IF({{s.at_once}}=1,{_ANOTHER_MIX},FALSE)",
              '"at once with line "&{s.hopper_line}&": not the same resin, mix or hours"'),
    LineCheck("meets", "stop", "sharing a dryer with a resin that it must never meet",
              f'AND({{apart}}<>"",{_MEETS}>0)', '"must never meet "&{apart}&" on one dryer"'),
    LineCheck("dryer", "stop", "dryer too small, not quoted, or not found",
              '{air.stop}<>""',
              '"dryer "&{s.dryer_used}&" "&SUBSTITUTE({air.stop},"larger than the dryer catalog",'
              '"beyond its catalog")'),
    LineCheck("reasoned", "look", "short, with a reason",
              f"AND(ISNUMBER({{s.held}}),{_SHORT},NOT({_NO_REASON}))",
              f'{_SHORT_BY}&" short, reason given"'),
    LineCheck("spare_reason", "look", "reason that is not printed: the line is not short",
              f"AND(ISNUMBER({{s.held}}),NOT({_SHORT}),NOT({_NO_REASON}))",
              '"reason not printed: not short"'),
    LineCheck("alone", "look", "the only line of its shared hopper",
              f'AND({{s.shared}}<>"",SUMPRODUCT(--{_WITH})=1)',
              '"no other line shares hopper "&{s.shared}'),
    LineCheck("over", "look", "shared hopper, full: may be over-dried",
              f'AND({{s.shared}}<>"",ISNUMBER({{s.held}}),IF({{hours_high}}="",TRUE,{{s.held}}*'
              f"{ALMOST}>{{hours_high}}))",
              'IF({hours_high}="","longest drying time not known","full, held "&'
              'ROUND({s.held},1)&" h, usual "&{hours_high}&" h: fill to about "&{fill}&" %")'),
    LineCheck("both_counts", "look", "split and qty both above 1",
              "AND({s.also}=0,{s.split_used}>1,{s.quantity_used}>1)",
              '"qty "&{s.quantity_used}&" x split "&{s.split_used}&": "&{s.pieces}&" hoppers, "&'
              'ROUND({s.quantity_used}*{s.through},1)&" "&unit_throughput'),
    LineCheck("dried_short", "look", "hours below what the resin table says: may stay wet",
              f'AND(ISNUMBER({{s.hours}}),{{hours_low}}<>"",{{s.hours}}<{{hours_low}}*{ALMOST})',
              '"dried shorter than usual "&{hours_low}&" h"'),
    LineCheck("dried_long", "look", "hours above what the resin table says: may be over-dried",
              f'AND(ISNUMBER({{s.hours}}),{{hours_high}}<>"",{{s.hours}}*{ALMOST}>{{hours_high}})',
              '"dried longer than usual "&{hours_high}&" h"'),
    LineCheck("over_held", "look", "held far longer than asked, of a resin that suffers from it",
              f'AND({{s.shared}}="",{{suffers}}="yes",ISNUMBER({{s.held}}),{_LONGEST}*{ALMOST}>'
              f"MAX({FAR_LONGER}*{{s.hours}},N({{hours_high}})))",
              f'"holds "&ROUND({_LONGEST},1)&" h: may be over-dried"'),
    LineCheck("sticks", "look", "softening at the drying temperature",
              'AND({softens}<>"",OR({softens_what}="all",{s.regrind_share}>0),'
              "ISNUMBER({s.temperature_used}),{s.temperature_used}>={softens})",
              'IF({softens_what}="all","","regrind ")&"softens at "&ROUND({softens},0)&" "&'
              "unit_temperature"),
    LineCheck("from_table", "look", "virgin density from the table or estimated",
              'OR({s.virgin_is}="table",{s.virgin_is}="estimated")',
              '"density from "&IF({s.virgin_is}="table","table","estimate")'),
    LineCheck("ground_guess", "look", "regrind density from the table, a rule or estimated",
              'OR({s.ground_is}="table",{s.ground_is}="rule of thumb",{s.ground_is}="estimated")',
              '"regrind density from "&IF({s.ground_is}="estimated","estimate",{s.ground_is})'),
    LineCheck("virgin_odd", "look", "virgin density outside what the resin table says", *_VIRGIN),
    LineCheck("ground_odd", "look", "regrind density outside what the resin table says", *_GROUND),
    LineCheck("origin", "look", "density without its origin",
              'OR({s.virgin_is}="not stated",{s.ground_is}="not stated")',
              '"density: origin not stated"'),
    LineCheck("other_basis", "look", "shares by another basis than the book's",
              'AND(book_basis<>"",{s.basis_used}<>"",{s.basis_used}<>book_basis,'
              "{s.regrind_share}>0,{s.regrind_share}<1)", '"shares by "&{s.basis_used}'),
    LineCheck("tall", "look", "hopper taller than the headroom",
              "AND(ISNUMBER({s.height}),ISNUMBER({s.headroom_used}),"
              "{s.height}>{s.headroom_used})", f'{_TOO_TALL}&" "&unit_length&" too tall"'),
    LineCheck("two_rates", "look", "rate that differs from shot and cycle",
              'AND({s.stated}<>"",ISNUMBER({s.rate_shot}),'
              "ABS({s.rate_shot}/{s.rate_used}-1)>0.02)",
              '"shot and cycle give "&ROUND({s.rate_shot},1)'),
    LineCheck("unknown", "look", "resin that Resins does not know: nothing to compare with",
              'AND({s.resin}<>"",{own_row}+{table_row}=0)', '"resin not in the list"'),
    LineCheck("no_load", "look", "load not known", 'AND({s.row}<>"",{s.loaded}="")',
              '"load not known"'),
    LineCheck("noted", "look", "something assumed, as its note says", 'LEN(TRIM({s.note}))>0',
              '"assumed: "&LEFT(TRIM({s.note}),80)'),
    LineCheck("slip", "look", "catalog row that does not fit the others",
              'AND({s.row}<>"",LEFT(INDEX(catalog_slips,MAX(1,N({s.row}))),4)="look")',
              '"Catalog: a slip?"'),
)  # fmt: skip


def _flag(check: LineCheck) -> Column:
    applies = check.applies
    return Column(
        check.key, check.heading, "check", width=90, group=check.severity, shrink=True,
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


def _not_named() -> str:
    """How many findings of a line its short state leaves out: it names the first, or what is
    missing."""
    keys = [check.key for check in LINE_CHECKS]
    missing = [check.key for check in LINE_CHECKS if check.severity == "unfinished"]
    every, these = (f'COUNTIF({{{group[0]}}}:{{{group[-1]}}},"?*")' for group in (keys, missing))
    return f'{every}-IF({{kind}}="unfinished",{these},1)'


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
        Column("job", "job", width=130, group="Line", shrink=True, formula=_live('{s.job}&""')),
        Column("key", "resin", width=70, group="Line", fold=True,
               formula=_live(f'IF({{s.resin}}="","",{resins.key_of("{s.resin}")})')),
        Column("own_row", "own row", show="whole", width=50, group=group, fold=True,
               formula=_live(resins.row_of("{key}", own=True))),
        Column("table_row", "built-in row", show="whole", width=50, group=group, fold=True,
               formula=_live(resins.row_of("{key}", own=False))),
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
    last_with = f"SUMPRODUCT(MAX({_WITH}*{{place:all}}))"
    shared = (
        *(
            Column(f"{what}_number", f"{what} as a number", show="typed", width=60, fold=True,
                   align="right", group="Shared hopper",
                   formula=f"IF(ISNUMBER({{s.{what}}}),{{s.{what}}},0)")
            for what in ("needs", "heavy")
        ),
        Column("with_before", "row of the job before it", show="whole", width=50,
               group="Shared hopper", fold=True,
               formula=_live(f'IF({{s.shared}}="",0,SUMPRODUCT(MAX({_WITH}*({{place:all}}<{{place}})'
                             "*{place:all})))")),
        Column("with_number", "which of its jobs", show="whole", width=50, group="Shared hopper",
               fold=True,
               formula=_live(f'IF({{s.shared}}="",0,SUMPRODUCT({_WITH}*({{place:all}}>0)*'
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
        Column("fill", "fill to about, in percent", show="whole", width=60, align="right",
               group="Shared hopper", fold=True,
               formula=_live('IF(AND({s.shared}<>"",ISNUMBER({s.held}),ISNUMBER({hours_high})),'
                             'MIN(100,ROUND(100*{hours_high}/{s.held},0)),"")')),
    )  # fmt: skip
    states = (
        Column("wrong", "cells in error", show="whole", width=50, group="Together", fold=True,
               formula=_live(_WRONG.replace("{s_end}", f"{{s.{last}:bare}}"))),
        Column("unfinished", "missing", "check", width=120, group="Together", shrink=True,
               formula=_live(f"MID({_joined('unfinished')},3,200)")),
        Column("stop", "stops", "check", width=160, group="Together", shrink=True,
               formula=_live(f"MID({_joined('stop')},3,250)")),
        Column("own_stop", "stops, its dryer apart", "check", width=160, group="Together",
               shrink=True, fold=True,
               formula=_live(f"MID({_joined('stop', without='dryer')},3,250)")),
        Column("look", "to look at", "check", width=200, group="Together", shrink=True,
               formula=_live(f"MID({_joined('look')},3,250)")),
        Column(
            "state", "state", "check", width=240, group="Together", shrink=True,
            formula='IF({begun}=0,"",IF({stop}<>"",'
            f'"{_glyph("stop")}: "&{{stop}},IF({{unfinished}}<>"",'
            f'"{_glyph("unfinished")}: "&{{unfinished}}&" missing",IF({{look}}<>"",'
            f'"{_glyph("look")}: "&{{look}},"{_glyph("ready")}"))))',
        ),
        Column("more", "findings that Sizing does not name", show="whole", width=50,
               group="Together", fold=True, formula=_live(_not_named())),
        Column("short_state", "state, its first part", width=120, group="Together", fold=True,
               # The count comes first: the cell may have no room for its end.
               formula='IF(N({more})<1,{state},SUBSTITUTE(IF(ISNUMBER(FIND("; ",{state})),'
               'LEFT({state},FIND("; ",{state})-1),{state}),":"," +"&{more}&":",1))'),
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
        *head, *values, *weighed, *named, *shared, agrees, *states,
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
    write_grid(sheet, table)
    for key in ("state",):
        letter = table.letter(key)
        highlight_glyphs(sheet, f"{letter}{FIRST}:{letter}{table.last_row}")
    first, last = table.letter("job"), table.letter(LINE_CHECKS[-1].key)
    highlight_errors(sheet, f"{first}{FIRST}:{last}{table.last_row}")
    sheet.freeze_panes = f"{table.letter('key')}{FIRST}"
    end = table.letter("state")
    landscape(sheet, f"A1:{end}{table.last_row}", letters_between("A", end), units, fit=True)
