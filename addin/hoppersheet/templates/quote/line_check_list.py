"""Everything that may be said of a line, as data: when it applies, how bad it is, in which words.

*Line checks* has a column for each; the state of a line is put together from them.
"""

from __future__ import annotations

from dataclasses import dataclass

from .line_columns import ALMOST, TURNS
from .resins import key_of

__all__ = ["BESIDE", "BRIEF", "FAR_LONGER", "LINE_CHECKS", "OVER_HELD", "WITH", "LineCheck"]


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
#: So many times the hours asked are far longer: common practice, no source.
FAR_LONGER = 1.5
#: A hopper of one job holds a resin that suffers from it far longer than asked, and than is usual.
OVER_HELD = (
    f'AND({{s.shared}}="",{{suffers}}="yes",ISNUMBER({{longest}}),N({{longest}})*{ALMOST}>'
    f"MAX({FAR_LONGER}*{{s.hours}},N({{hours_high}})))"
)
_UNIT_D = "unit_bulk_density"


def _outside(cell: str, us: tuple[float, float], metric: tuple[float, float]) -> str:
    low, high = (f'IF(unit_system="US",{a:g},{b:g})' for a, b in zip(us, metric, strict=True))
    return f"AND(ISNUMBER({cell}),OR({cell}<{low},{cell}>{high}))"


_DENSITY = ((1.873, 187.28), (0.03, 3.0))
#: (condition, words, the same in brief) of a line in error, in the order of the columns.
_ERRORS = (
    ("ISERROR({s.regrind_share})", '"regrind share is not a number"', '"regrind: a number"'),
    ("ISERROR({s.virgin_used})", '"virgin density is not a number of its unit"',
     '"virgin density in error"'),
    (_outside("{s.virgin_used}", *_DENSITY),
     f'"virgin density "&{{s.virgin_used}}&" is no "&{_UNIT_D}',
     '"virgin density "&ROUND({s.virgin_used},2)&"?"'),
    ("ISERROR({s.ground_used})", '"regrind density is not a number of its unit"',
     '"regrind density?"'),
    (_outside("{s.ground_used}", *_DENSITY),
     f'"regrind density "&{{s.ground_used}}&" is no "&{_UNIT_D}',
     '"regrind density?"'),
    ("ISERROR({s.blend})", '"blend: see the shares and densities"', '"blend in error"'),
    ("ISERROR({s.rate_used})", '"rate is not a number of its unit"', '"rate in error"'),
    ("ISERROR({s.low_used}+{s.likely_used}+{s.high_used})",
     '"low, likely or high rate is not a number of its unit"', '"low, likely, high?"'),
    ("OR({s.low_used}>{s.likely_used},{s.likely_used}>{s.high_used})",
     '"low, likely, high rate not in order"', '"rates not in order"'),
    ('AND(ISNUMBER({s.hours}),OR({s.hours}<0.75,{s.hours}>72))',
     '"hours "&ROUND({s.hours},4)&": type 4, not 4:00"', '"hours "&ROUND({s.hours},4)&": type 4"'),
    ("ISERROR({s.reserve_used})", '"reserve is not a number"', '"reserve in error"'),
    ("ISERROR({s.needs})", '"needed volume: see rate, hours, reserve"', '"needs in error"'),
    ('COUNTIF(catalog_volumes,"not readable")>0', '"Catalog: a size cannot be read"',
     '"Catalog: odd size"'),
    ("ISERROR({s.next_size})", '"Catalog: no size can be read"', '"Catalog: no size"'),
    ('AND({s.choice_used}="size below",{s.below_size}="none")', '"there is no size below"',
     '"no size below"'),
    ("ISERROR({s.chosen_size})", '"no model "&{s.choice_used}&" in Catalog"', '"no such model"'),
)  # fmt: skip


def _error_words(*, brief: bool = False) -> str:
    """The first thing that is wrong, in the order of the columns."""
    formula = '"cells in error"' if brief else '"see the cells in error"'
    for condition, words, in_brief in reversed(_ERRORS):
        formula = f"IF({condition},{in_brief if brief else words},{formula})"
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

#: 1 in the lines that share the hopper of this one, itself among them.
WITH = "({s.shared:all}={s.shared})"

#: 1 in the lines whose hoppers take air of the same dryer at the same time: not in those that run
#: in turn in the hopper of this one.
BESIDE = (
    '({s.dryer_used:all}={s.dryer_used})*((({s.shared:all}="")+({s.shared:all}<>{s.shared}))>0)'
)
_DEGREES = '" "&unit_temperature'


def _of_its_hopper(cell: str) -> str:
    """The same cell of the line that has the hopper."""
    return f"INDEX({{{cell}:all}},{{s.hopper_line}})"


_ONLY_THERE = ("choice", "split", "quantity", "discount")
_TURNS = tuple(f'({{s.turn:all}}="{turn}")' for turn in TURNS)
_BOTH_TURNS = "AND(" + ",".join(f"SUMPRODUCT({WITH}*{turn})>0" for turn in _TURNS) + ")"
_ANOTHER_MIX = (
    f"OR({{key}}<>{_of_its_hopper('key')},{{s.hours}}<>{_of_its_hopper('s.hours')},"
    f"ABS({{s.blend}}/{_of_its_hopper('s.blend')}-1)>0.000000001)"
)

_CAN_SOFTEN = 'AND({softens}<>"",OR({softens_what}="all",{s.regrind_share}>0))'
_COOL = f'AND({{temperature_low}}<>"",{{s.temperature_used}}<{{temperature_low}}*{ALMOST})'
_HOT = f'AND({{temperature_high}}<>"",{{s.temperature_used}}*{ALMOST}>{{temperature_high}})'
_USUAL_TO = "ROUND({temperature_high},0)"
_SOFTENS_THERE = f"IF({_CAN_SOFTEN},{{beside}}>={{softens}},FALSE)"

_NO_ORIGIN = 'IF({s.virgin_is}="not stated","{s.virgin_from:letter}","{s.ground_from:letter}")'
#: The note of a line from a job list says which row it is, and then, maybe, what was assumed.
_MARK = 'FIND("; assumed: ",{s.note})'
_ASSUMED = f"TRIM(IF(ISNUMBER({_MARK}),MID({{s.note}},{_MARK}+11,400),{{s.note}}))"

LINE_CHECKS: tuple[LineCheck, ...] = (
    LineCheck("no_resin", "unfinished", "resin missing", '{s.resin}=""', '"resin"'),
    LineCheck("no_rate", "unfinished", "rate missing", '{s.rate_used}=""', '"rate"'),
    LineCheck("no_hours", "unfinished", "hours missing", '{s.hours}=""', '"hours"'),
    LineCheck("no_basis", "unfinished", "by mass or by volume not stated",
              'AND({s.regrind_share}>0,{s.regrind_share}<1,{s.basis_used}="")',
              '"by mass or volume (column {s.basis:letter}, folded)"'),
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
              '": in turn, or at once? (column {s.turn:letter}, folded)")'),
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
    LineCheck("one_air", "look", "drying air hotter than asked: another line of the dryer needs it",
              "AND({hotter_by}>0,LEN(TRIM(INDEX(dryer_reasons,MATCH({s.dryer_used},dryer_letters,0"
              "))))=0)",
              '"line "&{beside_line}&" has dryer "&{s.dryer_used}&" at "&ROUND({beside},0)&'
              f'{_DEGREES}&", "&ROUND({{hotter_by}},0)&{_DEGREES}&" hotter than asked here"&'
              f'IF({{temperature_high}}="",""," (usual to "&{_USUAL_TO}&{_DEGREES}&")")&'
              f'IF({_SOFTENS_THERE},", softens at "&ROUND({{softens}},0)&{_DEGREES},'
              'IF({suffers}="yes",", may degrade",""))'),
    LineCheck("spare_reason", "look", "reason that is not printed: the line is not short",
              f"AND(ISNUMBER({{s.held}}),NOT({_SHORT}),NOT({_NO_REASON}))",
              '"reason not printed: not short"'),
    LineCheck("alone", "look", "the only line of its shared hopper",
              f'AND({{s.shared}}<>"",SUMPRODUCT(--{WITH})=1)',
              '"no other line shares hopper "&{s.shared}'),
    LineCheck("over", "look", "shared hopper, full: may be over-dried",
              'AND({s.shared}<>"",ISNUMBER({s.held}),OR({suffers}="yes",{own_row}+{table_row}=0),'
              f'IF({{hours_high}}="",TRUE,{{s.held}}*{ALMOST}>{{hours_high}}))',
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
    LineCheck("dried_hot", "look", "drying temperature outside what the resin table says",
              'IF(ISNUMBER({s.temperature_used}),IF({s.temperature}="",FALSE,'
              f"OR({_COOL},{_HOT})),FALSE)",
              f'IF({_COOL},"dried cooler than usual "&ROUND({{temperature_low}},0)&{_DEGREES}&'
              f'": may stay wet","dried hotter than usual "&{_USUAL_TO}&{_DEGREES}&'
              'IF({suffers}="yes",": may degrade",""))'),
    LineCheck("over_held", "look", "held far longer than asked, of a resin that suffers from it",
              OVER_HELD,
              '"holds "&ROUND({longest},1)&" h: may be over-dried, fill to about "&{fill}&" %"'),
    LineCheck("sticks", "look", "softening at the drying temperature",
              f"AND({_CAN_SOFTEN},ISNUMBER({{s.temperature_used}}),"
              "{s.temperature_used}>={softens})",
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
              f'"density: origin not stated (column "&{_NO_ORIGIN}&", folded)"'),
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
    LineCheck("graded", "look", "resin looked up without the number of its grade",
              f"AND({{own_row}}+{{table_row}}>0,LEN({{lookup}})<LEN({key_of('{bare}')}))",
              '"taken as "&{name}&": grade not known"'),
    LineCheck("no_load", "look", "load not known", 'AND({s.row}<>"",{s.loaded}="")',
              '"load not known"'),
    LineCheck("noted", "look", "something assumed, as its note says",
              "AND(LEN(TRIM({s.note}))>0,OR(ISERROR(FIND(\" of the job list\",{s.note})),"
              f"ISNUMBER({_MARK})))",
              f'"assumed: "&LEFT({_ASSUMED},80)&IF(LEN({_ASSUMED})>80,"…","")'),
    LineCheck("slip", "look", "catalog row that does not fit the others",
              'AND({s.row}<>"",LEFT(INDEX(catalog_slips,MAX(1,N({s.row}))),4)="look")',
              '"Catalog: a slip?"'),
)  # fmt: skip


#: Beginning of what stops a dryer -> the same in brief.
_DRYER_STOPS = (
    ("too small", " too small"), ("not quoted", " not quoted"), ("not in", " not in list"),
    ("air not hot", " too cold"), ("air cannot", ": little heat"), ("has no", ": no price"),
    ("is an inv", " invented"), ("larger", " beyond list"),
)  # fmt: skip


def _dryer_in_brief() -> str:
    formula = '" "&{air.stop}'
    for begins, words in reversed(_DRYER_STOPS):
        formula = f'IF(LEFT({{air.stop}},{len(begins)})="{begins}","{words}",{formula})'
    return f'"dryer "&{{s.dryer_used}}&{formula}'


#: The same words where they would not fit on *Sizing*: its State has room for the count of what
#: else there is and some 18 signs more. The whole text stands on *Line checks*.
BRIEF: dict[str, str] = {
    "no_resin": '"no resin"',
    "no_rate": '"no rate"',
    "no_hours": '"no hours"',
    "no_basis": '"mass? column {s.basis:letter}"',
    "no_virgin": '"no virgin density"',
    "no_ground": '"regrind density?"',
    "waits": '"other job of "&{s.shared}',
    "bad_share": '"regrind "&100*{s.regrind_share}&" %?"',
    "bad_hours": '"hours: a number"',
    "error": _error_words(brief=True),
    "large": '"larger than Catalog"',
    "no_price": '"no price"',
    "short": '"short, no reason"',
    "bad_count": '"qty, split, discount"',
    "bad_turn": 'IF({s.shared}="","which hopper runs?","runs? column {s.turn:letter}")',
    "elsewhere": '{s.shared}&": typed on line "&{s.hopper_line}',
    "two_dryers": '{s.shared}&" is on dryer "&{s.dryer_used}',
    "another_mix": '"not as on line "&{s.hopper_line}',
    "meets": '"never on one dryer"',
    "dryer": _dryer_in_brief(),
    "reasoned": '"short, reason given"',
    "one_air": f'"air "&ROUND({{hotter_by}},0)&{_DEGREES}&" too hot"',
    "spare_reason": '"reason not used"',
    "alone": '"alone in hopper "&{s.shared}',
    "over": 'IF({hours_high}="","usual time not known","fill to about "&{fill}&" %")',
    "both_counts": '"qty "&{s.quantity_used}&" x split "&{s.split_used}',
    "dried_short": '"usual "&{hours_low}&" h or more"',
    "dried_long": '"usual at most "&{hours_high}&" h"',
    "dried_hot": f'"usual "&IF({_COOL},"from "&ROUND({{temperature_low}},0),"to "&'
    f"ROUND({{temperature_high}},0))&{_DEGREES}",
    "over_held": '"over-dried? "&ROUND({longest},1)&" h"',
    "sticks": '"softens at "&ROUND({softens},0)&" "&unit_temperature',
    "from_table": 'IF({s.virgin_is}="table","table density","guessed density")',
    "ground_guess": '"regrind"&IF({s.ground_is}="table",": table",IF({s.ground_is}="estimated",'
    '": estimate"," by a rule"))',
    "virgin_odd": '"virgin density "&IF({s.virgin_used}<{density_low},"low","high")',
    "ground_odd": 'IF({s.ground_used}<{ground_low},"light","heavy")&" regrind"',
    "origin": f'"origin? column "&{_NO_ORIGIN}',
    "other_basis": '"mixed by "&{s.basis_used}',
    "two_rates": '"shot, cycle: "&ROUND({s.rate_shot},1)',
    "unknown": '"resin not listed"',
    "graded": '"taken as "&LEFT({name},8)',
    "noted": f'LEFT({_ASSUMED},15)&"…"',
}
