"""Sheet *Page plan*: what the customer's page shows, in its order; and the services that are sold.

One row per thing that may stand on the page. Those that apply are numbered in their order, and the
page shows them one after the other in *units* of two rows. A page holds a fixed number of units
(``quote_sheet.units_on_a_page``, where the sheet has its page breaks): what belongs together, such
as a line and why it is short, begins on the next page where this one has no room for all of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from ..cautions import CUSTOMER
from ..layout import Column, Table, define_name
from ..validation import a_text, amount
from .dryer import LINES as DRYER_LINES
from .dryer import TABLE as DRYERS
from .grid import landscape, letters_between, new_sheet, write_grid
from .line_checks import SIZING
from .line_checks import TABLE as BEHIND
from .line_columns import ALMOST, DRYER_NAMES, number
from .page_shape import (
    LINE_LENGTH,
    MODEL_LENGTH,
    TEXT_LENGTH,
    TITLE_LENGTH,
    TYPED_LENGTH,
    units_on_a_page,
)
from .settings import CONDITIONS

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = [
    "KEYS",
    "PIECES",
    "PLAN",
    "SERVICES",
    "SHEET",
    "hopper_of",
    "plan_length",
    "write",
]

SHEET = "Page plan"
#: Columns of the plan.
KEYS = ("shown", "units", "start", "number", "kind", "ref", "title", "mood", "text", "together")
_FIRST = 6
#: Into how many pieces a text may be cut.
PIECES = 10
_ENDS = range(PIECES + 1)
#: What is still to be cut: the signs that piece k may have, and one more.
_RESTS = tuple(f"rest {k}" for k in _ENDS[1:])
_LETTERS = dict(zip((*KEYS, *_ENDS, "length", *_RESTS), letters_between("A", "AF"), strict=True))

SERVICES = Table(
    "Services", first_row=6, rows=12,
    columns=(
        Column("text", "what", "input", width=260, group="Sold beside hoppers and dryers",
               unit="such as start-up, freight", rule=a_text(40)),
        Column("note", "note", "input", width=300, group="", unit="printed under it",
               rule=a_text(200)),
        Column("quantity", "quantity", "input", show="typed", width=70, align="right", group="",
               unit="or 1", rule=amount(0.01, 100_000, "How many.")),
        Column("price", "price", "input", show="money", width=110, group="",
               rule=amount(-1e8, 1e8, "In the currency of the quote; a rebate is below 0.")),
        Column("begun", "begun", show="whole", width=50, group="Worked out", fold=True,
               formula='IF(LEN({text}&{note}&{quantity}&{price})>0,1,0)'),
        Column(
            "total", "total", show="money", width=110, group="Worked out", align="right",
            formula='IF({begun}=0,"",IF(AND(LEN(TRIM({text}))>0,ISNUMBER({price}),'
            'OR({quantity}="",ISNUMBER({quantity}))),'
            'ROUND(IF({quantity}="",1,{quantity})*{price},2),NA()))',
        ),
    ),
)  # fmt: skip


@dataclass(frozen=True)
class _Block:
    """One thing on the page: formulas without ``=``.

    Attributes:
        after: how many of the blocks that follow stand on the same page.
        item: it has a number and a price; the last one stands on the page of the total.
        new_page: with those after it, it begins a page where this one has no room for them all.
        length: signs of a piece of its text, a number or a formula.
    """

    kind: str
    shown: str
    ref: int = 0
    title: str = '""'
    text: str = '""'
    mood: str = '""'
    item: bool = False
    after: int = 0
    new_page: bool = False
    length: int | str = TYPED_LENGTH


def _at(table: Table, key: str, k: int) -> str:
    return f"{table.quoted_sheet}!${table.letter(key)}${table.first_row + k - 1}"


def _rounded(cell: str, digits: int = 1) -> str:
    return f"ROUND({cell},{digits})"


def _cut(name: str, length: int) -> str:
    """A name that may be too long for its cell."""
    return f'IF(LEN({name})>{length},LEFT({name},{length - 1})&"…",{name})'


def _whole(name: str, length: int, before: str = "", after: str = ". ") -> str:
    """The name for the text, where its cell has only its beginning."""
    return f'IF(LEN({name})>{length},"{before}"&{name}&"{after}","")'


def _printed(n: int, row: str, block: str = "catalog_free") -> str:
    """A free column of Catalog, or of *Dryer catalog*, that Settings asks for."""
    heads, name = f"{block}_headings", f"printed_{n}"
    cell = f"INDEX({block},{row},MATCH({name},{heads},0))"
    return (
        f'IF({name}="","",IF(ISNA(MATCH({name},{heads},0)),"",IF({cell}="","",'
        f'"; "&{name}&" "&{cell})))'
    )


def _sentence(words: str) -> str:
    return f'UPPER(LEFT({words},1))&MID({words},2,300)&"."'


def _by(basis: str) -> str:
    """ " by mass", nothing where the basis is not stated yet."""
    return f'IF({basis}="",""," by "&{basis})'


def _less_discount(cell: str) -> str:
    """What is taken off the price, in words; nothing where there is no discount."""
    return f'IF(N({cell})>0,"; each less "&{_rounded("100*" + cell)}&" % discount","")'


def _origin(cell: str, of_table: str) -> str:
    """Where a density comes from, for somebody who has no resin table."""
    return f'IF({cell}="table","{of_table}",IF({cell}="not stated","origin not stated",{cell}))'


def hopper_of(line: str) -> str:
    """The number on the page of the line that has the hopper."""
    return f"INDEX({BEHIND.range('page_line')},{line})"


#: m3/h in a cfm: 0.3048^3 x 60, NIST SP 811 (2008).
_CFM = "1.69901079552"


def _in_both_temperatures(cell: str) -> str:
    return (
        f'ROUND({cell},0)&" "&unit_temperature&" ("&IF(unit_system="US",'
        f'ROUND(({cell}-32)/1.8,0)&" °C",ROUND({cell}*1.8+32,0)&" °F")&")"'
    )


def _line(k: int) -> list[_Block]:
    def s(key: str) -> str:
        return _at(SIZING, key, k)

    def b(key: str) -> str:
        return _at(BEHIND, key, k)

    mix = (
        f"{_whole(s('job'), TITLE_LENGTH)}&{s('resin')}&"
        f'IF({s("regrind_share")}=0,", virgin",IF({s("regrind_share")}=1,'
        f'", regrind only",", "&{_rounded("100*" + s("regrind_share"))}&" % regrind"&'
        f"{_by(s('basis_used'))}))"
    )
    dried = (
        f'IF(ISNUMBER({s("temperature_used")}),IF({s("temperature")}="","; typically dried at ",'
        f'"; dried at ")&{_in_both_temperatures(s("temperature_used"))},"")'
    )
    # With a virgin density, the table gives the regrind's as a share of it.
    ground = _origin(s("ground_is"), "typical ratio to virgin")
    origin = (
        f'IF({s("blend")}="","","; density: "&IF({s("regrind_share")}=1,'
        f"{_origin(s('ground_is'), 'typical value')},{_origin(s('virgin_is'), 'typical value')}&"
        f'IF({s("regrind_share")}=0,"","; regrind: "&{ground})))'
    )
    usable, gross = (f"INDEX(catalog_{what},{s('row')})" for what in ("volumes", "gross"))
    volume = (
        f'{_rounded(gross)}&" "&unit_volume&IF({usable}<{gross}*{ALMOST}," ("&{_rounded(usable)}&'
        f'" "&unit_volume&" usable)",IF(catalog_sizes_are="usable"," usable",""))'
    )
    size = (
        f'IF(OR({s("row")}="",{s("also")}=1),"","; "&'
        f"{_whole(s('model'), MODEL_LENGTH, after=', ')}&"
        f'IF({s("split_used")}>1,"each of "&{s("split_used")}&" hoppers that divide this rate: ",'
        f'"")&{volume}&IF({s("height")}="","",", "&ROUND({s("height")},IF(unit_system="US",1,2))&'
        f'" "&unit_length&" high")&'
        f'IF({s("loaded")}="","",", "&{_rounded(s("loaded"), 0)}&" "&unit_mass&" loaded")&'
        f"{_printed(1, s('row'))}&{_printed(2, s('row'))})"
    )
    terms = (
        f'IF(AND({s("also")}=0,{s("quantity_used")}>1),"; "&{s("quantity_used")}&" times this '
        f'rate: "&{_rounded(s("quantity_used") + "*" + s("through"))}&" "&unit_throughput&'
        f'" in all","")&IF(N({s("reserve_used")})>0,"; "&{_rounded("100*" + s("reserve_used"))}&'
        f'" % reserve","")&{_less_discount(s("discount"))}'
    )

    shared = (
        f'IF({s("shared")}="","",IF({s("at_once")}=1,". Lines "&{b("jobs")}&" draw at once from '
        f'one hopper, their rates add up",IF({s("also")}=1,". In turn in the hopper of line "&'
        f'{hopper_of(s("hopper_line"))},". One hopper for lines "&{b("jobs")}&" in turn, sized for '
        f'the largest need")&". Full it holds "&{_rounded(b("contents"), 0)}&" "&unit_mass&'
        '" of this, to run out before the next resin"&'
        f'IF(N({b("fill")})*({b("fill")}<100)=0,"",". Usual at most "&{b("hours_high")}&'
        f'" h: fill to about "&{b("fill")}&" %"))&".")'
    )
    over = (
        f'IF({b("over_held")}="","",". At "&{_rounded(s("through_low"))}&" "&unit_throughput&'
        f'" it holds "&{_rounded(b("longest"))}&" h, too long for this resin: fill to about "&'
        f'{b("fill")}&" %.")'
    )

    def safe(text: str) -> str:
        return f'IF(ISERROR({text}),"",{text})'

    head = f'IF({s("job")}="","Line "&{b("page_line")},{_cut(s("job"), TITLE_LENGTH)})'
    line = _Block(
        "line", f"{s('begun')}=1", k, head,
        f"{safe(mix)}&{safe(dried)}&{safe(origin)}&{safe(size)}&{safe(terms)}&{safe(shared)}&"
        f"{safe(over)}", item=True,
        after=1,
        mood=f'IF({b("own_stop")}<>"","stop","")',
        length=f"IF(OR(LEN({s('job')})>{TITLE_LENGTH},LEN({s('model')})>{MODEL_LENGTH}),"
        f"{TYPED_LENGTH},{LINE_LENGTH})",
    )  # fmt: skip
    folded = f" (column {SIZING.letter('basis')}, folded)"  # nothing to its reader
    missing = f'SUBSTITUTE({b("unfinished")},"{folded}","")'
    by = f'{_rounded("100*(1-" + s("held") + "/" + s("hours") + ")")}&" %"'
    short = f"ISNUMBER({s('held')}),{s('held')}<{s('hours')}*0.999999999"
    reason = _Block(
        "reason", f'IF(ISERROR({b("own_stop")}),TRUE,OR({b("own_stop")}<>"",{b("unfinished")}<>"",'
        f'AND({short})))', k,
        f'IF({b("own_stop")}<>"","■ NOT READY",IF({b("unfinished")}<>"","○ UNFINISHED","▼ SHORT"))',
        f'IF({b("own_stop")}<>"",{_sentence(b("own_stop"))},IF({b("unfinished")}<>"","Missing: "&'
        f'{missing}&".","Holds "&{by}&" less than asked"&'
        f'IF({s("held_likely")}>{s("held")},"; at the likely "&ROUND({s("likely_used")},1)&" "&'
        f'unit_throughput&" it holds "&ROUND({s("held_likely")},2)&" h","")&". Reason given: "&'
        f'TRIM({s("reason")})))',
        f'IF({b("own_stop")}<>"","stop",IF({b("unfinished")}<>"","stop","short"))',
    )  # fmt: skip
    return [line, reason]


def _hot_air(hottest: str, coolest: str) -> str:
    """ " of air at so many degrees", as far as it is known."""
    return (
        f'" of air"&IF(ISNUMBER({hottest})," at "&IF({coolest}<{hottest},"up to ","")&'
        f'{_in_both_temperatures(hottest)},"")'
    )


def _must_give(air: str, hottest: str, coolest: str) -> str:
    """What a dryer that is not sold has to give, in both unit systems, as far as it is known."""
    dew_point = number("drying_dew_point", "room temperature")
    return (
        f'IF(ISNUMBER({air}),"It must give "&ROUND({air},0)&" "&unit_airflow&" ("&'
        f'IF(unit_system="US",ROUND({air}*{_CFM},0)&" m³/h",ROUND({air}/{_CFM},0)&" cfm")&'
        f'")"&{_hot_air(hottest, coolest)}&IF(drying_dew_point="","",", dew point "&'
        f'{_in_both_temperatures(dew_point)}&" or below")&". ","")'
    )


def _dryer(k: int) -> list[_Block]:
    def d(key: str) -> str:
        return _at(DRYERS, key, k)

    letter = DRYER_NAMES[k - 1]
    used = f"N({d('lines')})>0"
    many = f'COUNTIF({DRYERS.range("lines")},">0")>1'
    quoted = f'IF(ISERROR({d("choice")}),FALSE,{d("choice")}<>"none")'
    name = f'"Dryer"&IF({many}," {letter}","")'

    def counting(sign: str) -> str:
        """How many of its lines have air that counts: of one hopper in turn, one line has."""
        return (
            f'SUMPRODUCT(({DRYER_LINES.range("dryer")}="{letter}")*'
            f"({DRYER_LINES.range('air_counts')}{sign}))"
        )

    how = (
        f'IF({d("lines")}=1,"",IF(OR({d("turn")}="in turn",{counting(">0")}=1)," in turn",'
        f'IF({counting("=0")}>0," at once, those of one hopper in turn"," at once")))'
    )
    # The number of each line on the page, collected on the last line of the dryer.
    last = f'SUMPRODUCT(MAX(({SIZING.range("dryer_used")}="{letter}")*{BEHIND.range("place")}))'
    lines = f'IF({d("lines")}=1,"line ","lines ")&INDEX({BEHIND.range("on_dryer")},{last})'
    words = (
        f"{_whole(d('model'), MODEL_LENGTH)}&"
        f'"For "&{lines}&{how}&IF({d("needs")}="","",": needs "&ROUND({d("needs")},0)&" "&'
        f"unit_airflow&{_hot_air(d('hottest'), d('coolest'))})&IF(ISNUMBER({d('gives')}),"
        f'", gives "&ROUND({d("gives")},0)&" "&'
        f'unit_airflow,"")&IF(ISNUMBER({d("row")}),{_printed(1, d("row"), "dryer_free")}&'
        f'{_printed(2, d("row"), "dryer_free")},"")&{_less_discount(d("discount"))}'
    )
    dryer = _Block(
        "dryer", f"IF({used},{quoted},FALSE)", k, name, f'IF(ISERROR({words}),"",{words})',
        f'IF({d("stop")}<>"","stop","")', item=True, after=1,
    )  # fmt: skip
    small = f"IF(ISNUMBER({d('gives')}),{d('gives')}<{d('needs')}*{ALMOST},FALSE)"
    one_air = (
        f'IF({d("apart")}>0,"Its lines ask for "&{_in_both_temperatures(d("coolest"))}&" to "&'
        f'{_in_both_temperatures(d("hottest"))}&". A dryer gives air of one temperature: a hopper '
        'whose resin takes less needs a heater of its own. ","")'
    )
    why = _Block(
        "reason",
        f'IF({used},IF(ISERROR({d("stop")}),TRUE,OR({d("stop")}<>"",{d("told")}=1)),FALSE)', k,
        f'IF({d("stop")}<>"","■ NOT READY",IF({d("choice")}="none","Dryer not quoted",'
        f'IF({small},"▼ SMALLER","Air temperature")))',
        f'IF({d("stop")}<>"",{name}&", for "&{lines}&": "&{d("stop")}&".",'
        f'IF({d("choice")}="none",{name}&", for "&{lines}&", is not part of this quote. "&'
        f'{_must_give(d("needs"), d("hottest"), d("coolest"))},IF({small},{name}&" is too small '
        f'by "&ROUND({d("needs")}-{d("gives")},0)&" "&unit_airflow&". ",""))&{one_air}&'
        f'IF(LEN(TRIM({d("reason")}))=0,"","Reason given: "&TRIM({d("reason")})))',
        f'IF({d("stop")}<>"","stop",IF(OR({small},AND({d("apart")}>0,LEN(TRIM({d("reason")}))=0)),'
        '"short",""))',
    )  # fmt: skip
    return [dryer, why]


def _service(k: int) -> _Block:
    return _Block(
        "service", f"{_at(SERVICES, 'begun', k)}=1", k,
        f'{_cut(_at(SERVICES, "text", k), TITLE_LENGTH)}&""',
        f'{_whole(_at(SERVICES, "text", k), TITLE_LENGTH)}&{_at(SERVICES, "note", k)}', item=True,
        mood=f'IF(ISERROR({_at(SERVICES, "total", k)}),"stop","")',
    )  # fmt: skip


def _first_of_caution(k: int) -> str:
    """Whether line k is the last one with its caution: there the resins are named together."""
    b = BEHIND
    here = _at(b, "caution", k)
    rest = (
        f"{b.quoted_sheet}!${b.letter('caution')}${b.first_row + k}:"
        f"${b.letter('caution')}${b.reach_row + 1}"
    )
    return f"IF(ISNUMBER({here}),COUNTIF({rest},{here})=0,FALSE)"


_HELD_SHORT = f'(COUNTIF({BEHIND.range("short")},"?*")+COUNTIF({BEHIND.range("reasoned")},"?*"))'
_IN_TURN = f"SUMPRODUCT(({SIZING.range('also')}=1)*({SIZING.range('at_once')}=0))>0"


def _lines_with(key: str, words: str) -> str:
    count = f'COUNTIF({BEHIND.range(key)},"?*")'
    return f'IF({count}=0,"","{words}: "&{count}&" of "&lines_begun&" lines. ")'


_BASIS = (
    '"Needs = rate x hours asked / bulk density"&'
    f'IF(COUNTIF({SIZING.range("reserve_used")},">0")>0,'
    '", plus the reserve where a line has one","")&'
    '". Holds = usable hopper volume x bulk density / '
    'rate, all resin moving at one pace (plug flow). "&'
    f'IF(COUNTIF({SIZING.range("also")},1)=0,"","One hopper for jobs in turn: the largest need; '
    'at once: the sum of their rates. ")&'
    'IF(COUNTIF(mixed_by_mass,">0")=1,"Shares by mass: 1 / sum(share / density). ","")&'
    'IF(COUNTIF(mixed_by_volume,">0")=1,"Shares by volume: sum(share x density). ","")&'
    '"Rates, drying hours and shares are those stated for this quote. Densities: "&'
    'IF(ISERROR(densities_in_words),"not known yet",densities_in_words)&". "&'
    f'IF({_HELD_SHORT}>0,"Held shorter than asked: "&({_HELD_SHORT})&" of "&lines_begun&" lines. ",'
    f'IF(COUNT({SIZING.range("held")})=lines_begun,"Each hopper holds the hours asked or more. ",""'
    f"))&{_lines_with('over_held', 'Held far longer than asked')}&"
    f"{_lines_with('dried_long', 'Hours longer than usual for the resin')}&"
    f'IF(COUNT({SIZING.range("loaded")})=0,"","Loaded: full volume x the heaviest density, with '
    'the empty hopper. ")&"Air: by the rate of each line"&'
    f'IF({_IN_TURN},", jobs in turn on one hopper counted once","")&'
    '". Hoppers and prices: "&catalog_name&'
    'IF(catalog_date="","",", of "&YEAR(catalog_date)&"-"&RIGHT("0"&MONTH(catalog_date),2)&"-"&'
    'RIGHT("0"&DAY(catalog_date),2))&"."'
)


def _items(count: str) -> str:
    return f'IF({count}=1,"Item 1.","Items 1 to "&({count})&".")'


@lru_cache(maxsize=4)
def _blocks(rows: int) -> list[_Block]:
    lines = [block for k in range(1, rows + 1) for block in _line(k)]
    dryers = [block for k in range(1, DRYERS.rows + 1) for block in _dryer(k)]
    services = [_service(k) for k in range(1, SERVICES.rows + 1)]
    equipment = _Block(
        "equipment", "COUNTIF(services_begun,1)>0",
        title='"Subtotal, hoppers"&IF(dryers_quoted>0," and dryers","")',
        text=_items("lines_begun+dryers_quoted"),
    )  # fmt: skip
    taxed = "IF(ISNUMBER(tax_rate),tax_rate>0,TRUE)"
    sums = [
        _Block("subtotal", taxed, title='"Subtotal before tax"', after=2,
               text=_items("lines_begun+dryers_quoted+COUNTIF(services_begun,1)")),
        _Block("tax", taxed, title='"Tax"',
               text='"Of "&ROUND(100*tax_rate,3)&" % on all above."', after=1),
        _Block("total", "TRUE",
               title=f'IF({taxed},"Total with tax, ","Total, ")&'
               'IF(checks_failed=0,"","draft, ")&currency',
               text=f'IF(no_total<>"",no_total,IF({taxed},"","Tax is not included."))',
               mood='IF(no_total<>"","stop","")'),
    ]  # fmt: skip
    conditions = "&".join(
        f'IF(conditions_{n}="",""," "&TRIM(conditions_{n}))' for n in range(1, CONDITIONS + 1)
    )
    resins = [
        _Block("resin", _first_of_caution(k), k, f'{_at(BEHIND, "caution_names", k)}&""',
               f'INDEX(caution_texts,{_at(BEHIND, "caution", k)})', length=TEXT_LENGTH)
        for k in range(1, rows + 1)
    ]  # fmt: skip
    texts = [
        _Block("head", "lines_begun>0", title='"How the hoppers were sized"', text=_BASIS,
               length=TEXT_LENGTH),
        _Block("head", f"LEN({conditions})>0", title='"Conditions"', text=f"MID({conditions},2,"
                                                                          f"2000)"),
        *resins,
        _Block("head", "TRUE", title='"Please note"', text='""', after=1, length=TEXT_LENGTH),
        _Block("sign", "TRUE",
               title='IF(checks_failed=0,"Accepted","A draft is not to be signed.")',
               # Not shown on a draft: but whether it is one follows from the length of the page.
               text='"Name, date, signature: "&REPT("_",80)'),
    ]  # fmt: skip
    basis = [
        _Block("basis", f'IF(basis_page="yes",{_at(SIZING, "begun", k)}=1,FALSE)', k,
               f'"Line "&{_at(BEHIND, "page_line", k)}&IF({_at(SIZING, "job", k)}="","",": "&'
               f'{_cut(_at(SIZING, "job", k), TITLE_LENGTH - 9)})', _basis_of(k))
        for k in range(1, rows + 1)
    ]  # fmt: skip
    confirm = _Block(
        "confirm", 'basis_page="yes"', after=rows, new_page=True,
        title='IF(checks_failed=0,"Sizing basis","Sizing basis: a draft, not to be confirmed.")',
        text='"Please confirm these figures: the hoppers follow from them. '
        'Name, date, signature: "&REPT("_",40)',
    )  # fmt: skip
    return [*lines, *dryers, equipment, *services, *sums, *texts, confirm, *basis]


def _basis_of(k: int) -> str:
    def s(key: str) -> str:
        return _at(SIZING, key, k)

    def density(what: str, used: str, origin: str) -> str:
        return (
            f'IF({s(used)}="","","; {what} density "&ROUND({s(used)},IF(unit_system="US",1,3))&" "'
            f'&unit_bulk_density&" ("&{origin}&")")'
        )

    virgin = _origin(s("virgin_is"), "typical value")
    ground = (
        f'IF({s("virgin_used")}="",{_origin(s("ground_is"), "typical value")},'
        f"{_origin(s('ground_is'), 'typical ratio to virgin')})"
    )

    parts = (
        f'{s("resin")}&IF({s("regrind_share")}=0,", virgin",", "&'
        f'{_rounded("100*" + s("regrind_share"))}&" % regrind"&IF({s("regrind_share")}=1,"",'
        f"{_by(s('basis_used'))}))&{density('virgin', 'virgin_used', virgin)}&"
        f'{density("regrind", "ground_used", ground)}&"; rate "&ROUND({s("rate_used")},1)&" "&'
        f'unit_throughput&IF({s("stated")}=""," (shot and cycle)","")&'
        f'IF({s("likely_used")}={s("rate_used")},"",", likely "&'
        f'ROUND({s("likely_used")},1))&IF({s("low_used")}={s("high_used")},"",", from "&'
        f'ROUND({s("low_used")},1)&" to "&ROUND({s("high_used")},1))&"; dried for "&{s("hours")}&'
        f'" h (as asked)"&IF({s("temperature_used")}="",""," at "&ROUND({s("temperature_used")},0)'
        f'&" "&unit_temperature&IF({s("temperature")}=""," (typical)"," (as asked)"))&'
        f'IF({s("reserve_used")}=0,"","; reserve "&ROUND(100*{s("reserve_used")},1)&" %")&"."'
    )
    return f'IF(ISERROR({parts}),"unfinished",{parts})'


def plan_length(rows: int) -> int:
    """How many rows the plan has for so many lines."""
    return len(_blocks(rows))


def PLAN(key: str | int, rows: int) -> str:
    """A column of the plan for other sheets; a number k: where piece k of a text ends."""
    letter = _LETTERS[key]
    return f"'{SHEET}'!${letter}${_FIRST}:${letter}${_FIRST + plan_length(rows) - 1}"


def write(book: Workbook, units: str, rows: int) -> None:
    """Add both sheets."""
    _write_services(book, units)
    sheet, pen = new_sheet(
        book, SHEET, "Page plan: what may stand on the page, in its order",
        "Calculated from the other sheets; do not type here.",
    )  # fmt: skip
    pen.widths(A=46, B=40, C=40, D=50, E=66, F=34, G=210, H=44, I=560)
    for key, letter in _LETTERS.items():
        head = key if isinstance(key, str) else f"cut {key}"
        pen.put(f"{letter}{_FIRST - 2}", head, "unit")
        if key not in KEYS:
            dimension = sheet.column_dimensions[letter]
            dimension.outlineLevel, dimension.hidden = 1, True
    at = {block.kind: n for n, block in enumerate(_blocks(rows), _FIRST)}
    last = _FIRST + plan_length(rows) - 1
    for row, block in enumerate(_blocks(rows), _FIRST):
        for key, value in _cells(block, row, at, last, units_on_a_page(units)).items():
            words = key in ("kind", "title", "mood", "text")
            pen.put(
                f"{_LETTERS[key]}{row}", value, "plain", up="top", at="left" if words else "",
                indent=int(key in ("kind", "title")) or None,
            )  # fmt: skip
        if block.title == '"Please note"':
            # Longer than a formula's text may be: a plain text.
            sheet[f"{_LETTERS['text']}{row}"] = " ".join(CUSTOMER)
    start, count = (f"{_LETTERS[key]}{last}" for key in ("start", "units"))
    pen.put("I3", "units on all pages", "label", at="right")
    pen.put("J3", f"={start}+{count}-1", "plain")
    pen.name("J3", "page_units")
    sheet.freeze_panes = f"A{_FIRST}"
    landscape(sheet, f"A1:I{_FIRST + plan_length(rows) - 1}", "ABCDEFGHI", units)
    sheet.print_title_rows = f"{_FIRST - 2}:{_FIRST - 2}"


def _cells(
    block: _Block, row: int, at: dict[str, int], last: int, on_a_page: tuple[int, int]
) -> dict[Any, Any]:
    """The cells of one row of the plan; ``at``: the (last) row of each kind of block."""
    c = {key: f"${letter}{row}" for key, letter in _LETTERS.items()}
    up = {key: f"${letter}{row - 1}" for key, letter in _LETTERS.items()}
    first, others = on_a_page

    def page(unit: str) -> str:
        # Without INT: it is no rounding of money, for which the audit would take it.
        further = f"({unit}-{first}-1)"
        return f"IF({unit}<={first},1,({further}-MOD({further},{others}))/{others}+2)"

    unit = f"${_LETTERS['units']}"
    # Added one by one: a SUM would be taken for a total that leaves rows out.
    together = "+".join(f"{unit}{row + n}" for n in range(block.after + 1))
    if block.item:
        # The last item stands on the page of the sums that end it.
        number = f"${_LETTERS['number']}"
        sums = "+".join(f"{unit}{at[kind]}" for kind in ("subtotal", "tax", "total"))
        together += f"+IF(COUNT({number}{row + 1}:{number}{last + 1})=0,{sums},0)"
        if (below := at["equipment"]) > row:
            together += f"+IF(COUNT({number}{row + 1}:{number}{below})=0,{unit}{below},0)"
    here = f"({up['start']}+{up['units']})" if row > _FIRST else "1"
    next_page = f"{first}+({page(here)}-1)*{others}+1"
    begins = f"{here}={first}+({page(here)}-2)*{others}+1"
    ends = f"({here}+{c['together']}-1)"
    crosses = f"{page(ends)}>{page(here)}"
    # What no page holds goes on where it is, unless it shall begin a page.
    long = "FALSE" if block.new_page else f"{c['together']}>{others}"
    start = (
        f"={here}+0"
        if row == _FIRST
        else f"=IF({c['shown']}=0,{here},IF({long},{here},IF({begins},{here},"
        f"IF({crosses},{next_page},{here}))))"
    )

    def beside(key: Any) -> str:
        """A cell that moves on with the piece: all pieces have copies of one formula."""
        return f"{_LETTERS[key]}{row}"

    def rest(k: int) -> str:
        begin, text = beside(k - 1), c["text"]
        return (
            f'=IF({begin}="","",IF({begin}>=LEN({text}),"",MID({text},{begin}+1,{c["length"]}+1)))'
        )

    def end(k: int) -> str:
        """Where piece k ends: after a sentence, a clause, unless that is early, or a word."""
        left, length = beside(f"rest {k}"), c["length"]

        def after_last(sign: str) -> str:
            times = f'(LEN({left})-LEN(SUBSTITUTE({left},"{sign}","")))/{len(sign)}'
            return f'FIND("¦",SUBSTITUTE({left},"{sign}","¦",{times}))+{len(sign) - 1}'

        cut = f"IFERROR({after_last(' ')},{length})"
        for sign in ("; ", ". "):
            found = after_last(sign)
            cut = f"IF(IFERROR({found},0)>{length}/2,{found},{cut})"
        return f'=IF({left}="","",IF(LEN({left})<={length},LEN({c["text"]}),{beside(k - 1)}+{cut}))'

    return {
        "shown": f"=IF(IF(ISERROR({block.shown}),TRUE,{block.shown}),1,0)",
        "units": f"=IF({c['shown']}=1,MAX(1,COUNT({c[1]}:{c[PIECES]})),0)",
        "together": f"=IF({c['shown']}=1,{together},0)",
        "start": start,
        "number": f'=IF({c["shown"]}=1,COUNT(${_LETTERS["number"]}${_FIRST - 1}:{up["number"]})+1,'
        '"")' if block.item else None,
        "kind": block.kind,
        "ref": block.ref,
        "title": f'=IF({c["shown"]}=0,"",{block.title})',
        "mood": f'=IF({c["shown"]}=0,"",{block.mood})',
        "text": f'=IF({c["shown"]}=0,"",{block.text})',
        0: f"=IF({c['shown']}=1,0,\"\")",
        **{k: end(k) for k in _ENDS[1:]},
        "length": f"={block.length}" if isinstance(block.length, str) else block.length,
        **{key: rest(k) for k, key in enumerate(_RESTS, 1)},
    }  # fmt: skip


def _write_services(book: Workbook, units: str) -> None:
    sheet, _ = new_sheet(
        book, SERVICES.sheet, "Services and other items",
        "What is sold beside the hoppers and dryers. Each needs a price.",
    )  # fmt: skip
    write_grid(sheet, SERVICES)
    for key in ("begun", "total"):
        letter = SERVICES.letter(key)
        define_name(
            book, f"services_{key}",
            f"Services!${letter}${SERVICES.first_row}:${letter}${SERVICES.last_row}",
        )  # fmt: skip
    last = SERVICES.letter("total")
    landscape(sheet, f"A1:{last}{SERVICES.last_row}", letters_between("A", last), units)
