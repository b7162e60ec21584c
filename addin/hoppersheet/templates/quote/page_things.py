"""What may stand on the customer's page, in its order, and in which words.

*Page plan* (``page_plan``) has a row for each of these things; all is formulas.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from ..layout import Table
from .dryer import LINES as DRYER_LINES
from .dryer import TABLE as DRYERS
from .line_checks import SIZING
from .line_checks import TABLE as BEHIND
from .line_columns import ALMOST, DRYER_NAMES, number
from .page_shape import MODEL_LENGTH, TEXT_LENGTH, TITLE_LENGTH
from .services import SERVICES
from .settings import CONDITIONS

__all__ = ["Block", "blocks", "hopper_of"]


@dataclass(frozen=True)
class Block:
    """One thing on the page: formulas without ``=``.

    Attributes:
        after: how many of the blocks that follow stand on the same page.
        item: it has a number and a price; the last one stands on the page of the total.
        new_page: with those after it, it begins a page where this one has no room for them all.
        length: signs of a piece of our own text; 0: what may be typed, by its capitals.
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
    length: int = 0


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


def _line(k: int) -> list[Block]:
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
    line = Block(
        "line", f"{s('begun')}=1", k, head,
        f"{safe(mix)}&{safe(dried)}&{safe(origin)}&{safe(size)}&{safe(terms)}&{safe(shared)}&"
        f"{safe(over)}", item=True,
        after=1,
        mood=f'IF({b("own_stop")}<>"","stop","")',
    )  # fmt: skip
    folded = f" (column {SIZING.letter('basis')}, folded)"  # nothing to its reader
    missing = f'SUBSTITUTE({b("unfinished")},"{folded}","")'
    by = f'{_rounded("100*(1-" + s("held") + "/" + s("hours") + ")")}&" %"'
    short = f"ISNUMBER({s('held')}),{s('held')}<{s('hours')}*0.999999999"
    reason = Block(
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


def _dryer(k: int) -> list[Block]:
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
    dryer = Block(
        "dryer", f"IF({used},{quoted},FALSE)", k, name, f'IF(ISERROR({words}),"",{words})',
        f'IF({d("stop")}<>"","stop","")', item=True, after=1,
    )  # fmt: skip
    small = f"IF(ISNUMBER({d('gives')}),{d('gives')}<{d('needs')}*{ALMOST},FALSE)"
    one_air = (
        f'IF({d("apart")}>0,"Its lines ask for "&{_in_both_temperatures(d("coolest"))}&" to "&'
        f'{_in_both_temperatures(d("hottest"))}&". A dryer gives air of one temperature: a hopper '
        'whose resin takes less needs a heater of its own. ","")'
    )
    why = Block(
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


def _service(k: int) -> Block:
    return Block(
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
def blocks(rows: int) -> list[Block]:
    """All of them for so many lines of Sizing, in their order."""
    lines = [block for k in range(1, rows + 1) for block in _line(k)]
    dryers = [block for k in range(1, DRYERS.rows + 1) for block in _dryer(k)]
    services = [_service(k) for k in range(1, SERVICES.rows + 1)]
    equipment = Block(
        "equipment", "COUNTIF(services_begun,1)>0",
        title='"Subtotal, hoppers"&IF(dryers_quoted>0," and dryers","")',
        text=_items("lines_begun+dryers_quoted"),
    )  # fmt: skip
    taxed = "IF(ISNUMBER(tax_rate),tax_rate>0,TRUE)"
    sums = [
        Block("subtotal", taxed, title='"Subtotal before tax"', after=2,
               text=_items("lines_begun+dryers_quoted+COUNTIF(services_begun,1)")),
        Block("tax", taxed, title='"Tax"',
               text='"Of "&ROUND(100*tax_rate,3)&" % on all above."', after=1),
        Block("total", "TRUE",
               title=f'IF({taxed},"Total with tax, ","Total, ")&'
               'IF(checks_failed=0,"","draft, ")&currency',
               text=f'IF(no_total<>"",no_total,IF({taxed},"","Tax is not included."))',
               mood='IF(no_total<>"","stop","")'),
    ]  # fmt: skip
    conditions = "&".join(
        f'IF(conditions_{n}="",""," "&TRIM(conditions_{n}))' for n in range(1, CONDITIONS + 1)
    )
    resins = [
        Block("resin", _first_of_caution(k), k, f'{_at(BEHIND, "caution_names", k)}&""',
               f'INDEX(caution_texts,{_at(BEHIND, "caution", k)})', length=TEXT_LENGTH)
        for k in range(1, rows + 1)
    ]  # fmt: skip
    texts = [
        Block("head", "lines_begun>0", title='"How the hoppers were sized"', text=_BASIS,
               length=TEXT_LENGTH),
        Block("head", f"LEN({conditions})>0", title='"Conditions"', text=f"MID({conditions},2,"
                                                                          f"2000)"),
        *resins,
        Block("head", "TRUE", title='"Please note"', text='""', after=1, length=TEXT_LENGTH),
        Block("sign", "TRUE",
               title='IF(checks_failed=0,"Accepted","A draft is not to be signed.")',
               # Not shown on a draft: but whether it is one follows from the length of the page.
               text='"Name, date, signature: "&REPT("_",80)'),
    ]  # fmt: skip
    basis = [
        Block("basis", f'IF(basis_page="yes",{_at(SIZING, "begun", k)}=1,FALSE)', k,
               f'"Line "&{_at(BEHIND, "page_line", k)}&IF({_at(SIZING, "job", k)}="","",": "&'
               f'{_cut(_at(SIZING, "job", k), TITLE_LENGTH - 9)})', _basis_of(k))
        for k in range(1, rows + 1)
    ]  # fmt: skip
    confirm = Block(
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
