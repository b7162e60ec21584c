"""The columns of *Sizing*: what is typed first, side by side, then what follows from it.

The typed columns are one block, so that the row that *One line* offers is pasted in one go. The
calculation is one chain: shares and densities -> blend density; rate, hours, reserve -> needed
volume; catalog -> the size below and the next one; choice -> the hopper, its load, its price. What
is missing leaves the cells behind it empty; what is wrong makes them errors; *State* says which.
"""

from __future__ import annotations

from ..layout import Column, unit_name
from ..validation import Rule, a_share, a_text, a_whole, one_of, quantity

__all__ = [
    "ALMOST",
    "BASES",
    "COLUMNS",
    "DRYER_NAMES",
    "DUTY",
    "FORMS",
    "LONGEST",
    "SHARED_NAMES",
    "TURNS",
    "TYPED",
    "live",
    "number",
]

BASES = ("measured", "data sheet", "estimated")
FORMS = ("pellets", "pellets, ground parts", "flake", "powder")
#: Dryers of one quote; a line without one is on the first.
DRYER_NAMES = "ABCDEFGH"
#: Hoppers that several lines share, and how: the first word is what a blank means.
SHARED_NAMES = tuple(f"H{number}" for number in range(1, 9))
TURNS = ("in turn", "at once")
#: Longest texts: what the rows of Sizing and of the page hold.
LONGEST = {"job": 60, "resin": 36, "reason": 200}
#: Signs of a model that the two lines of its cell on Sizing hold, its mark behind it; and where
#: it is of several hoppers that divide the rate.
_ROOM, _ROOM_OF_SEVERAL = 13, 10
#: Signs of a reason that the two lines of its cell hold.
_ROOM_OF_REASON = 44
#: Sizes and hours closer than this are the same.
ALMOST = "0.999999999"
#: 1 cfm per lb/h, and the same in m3/h per kg/h: 0.3048^3 x 60 / 0.45359237 (NIST SP 811).
DUTY = 'IF(unit_system="US",1,3.74567763457)'


def number(cell: str, name: str) -> str:
    """A typed figure in the unit of the book; a text with its own unit is converted."""
    unit = unit_name(name)
    return f"IF(ISNUMBER({cell}),{cell},HOPPER_CONVERT({cell},{unit},{unit}))"


def _typed(
    key: str, heading: str, px: float, group: str, rule: Rule, *, q: str = "", show: str = "",
    unit: str = "", align: str = "", fold: bool = False, wrap: bool = False, shrink: bool = False,
) -> Column:  # fmt: skip
    return Column(
        key, heading, "input", q, rule=rule, show=show, width=px, group=group, unit=unit,
        align=align, fold=fold, wrap=wrap, shrink=shrink,
    )  # fmt: skip


_CHOICE = Rule(
    "list", "choice_list", says="next size, size below, or a model of the Catalog",
    prompt="Blank: the policy in Settings. Or next size, size below, or a model of the Catalog. "
    "Short of the hours asked, it needs a reason.",
)  # fmt: skip
_RESIN = Rule(
    "list", "resin_list", says="a resin of the list; your own go into Resins",
    prompt="Your own resins come first. Another name may be typed: Resins tells what it knows.",
    style="warning",
)  # fmt: skip

TYPED = (
    _typed("job", "Job", 90, "Job", a_text(LONGEST["job"], "What the customer calls it."),
           unit="name", wrap=True),
    _typed("resin", "Resin", 50, "", _RESIN, unit="list"),
    _typed("regrind", "regrind", 47, "Mix",
           a_share(prompt="Share of regrind, 0 % to 100 %; the rest is virgin."),
           show="whole share", align="right", unit="or 0 %"),
    _typed("basis", "by", 50, "Mix",
           one_of("volume", "mass", prompt="Recipes of weigh blenders are by mass. Blank: as in "
                  "Settings."), unit="or book", fold=True),
    _typed("form", "form", 76, "Mix", one_of(*FORMS), unit="list", fold=True),
    _typed("virgin", "virgin", 38, "Density",
           quantity("bulk density", "Bulk density of the virgin resin. Blank: from the resin "
                    "table."), q="bulk density"),
    _typed("ground", "regrind", 47, "Density",
           quantity("bulk density", "Bulk density of the regrind. Blank: estimated."),
           q="bulk density"),
    _typed("virgin_from", "virgin from", 70, "Density", one_of(*BASES), unit="list", fold=True),
    _typed("ground_from", "regrind from", 70, "Density", one_of(*BASES), unit="list", fold=True),
    _typed("stated", "stated", 47, "Rate",
           quantity("throughput", "What the customer states."), q="throughput", show="rate"),
    _typed("low", "low", 44, "Rate", quantity("throughput", "The lowest that is realistic."),
           q="throughput", show="rate", fold=True),
    _typed("likely", "likely", 38, "Rate",
           quantity("throughput", "What it will really be. Blank: as stated."), q="throughput",
           show="rate"),
    _typed("high", "high", 44, "Rate", quantity("throughput", "The highest that is realistic."),
           q="throughput", show="rate", fold=True),
    _typed("shot", "shot", 44, "Rate",
           quantity("shot mass", "Mass of one shot with runners, in grams, where no rate is "
                    "stated."), show="typed", unit="g", align="right", fold=True),
    _typed("cycle", "cycle", 44, "Rate", quantity("cycle time", "One full cycle, in seconds."),
           show="typed", unit="s", align="right", fold=True),
    _typed("presses", "presses", 50, "Rate", a_whole(1, 1000, "Equal presses that it feeds."),
           show="whole", unit="or 1", align="right", fold=True),
    _typed("hours", "for", 32, "Dry",
           quantity("drying hours", "Hours as a number: 4, not 4:00. The resin maker's data sheet "
                    "governs."), show="hours typed", unit="h", align="right"),
    _typed("temperature", "at", 50, "Dry",
           quantity("temperature", "Drying temperature. Blank: as Resins says."), q="temperature",
           fold=True),
    _typed("reserve", "reserve", 50, "Dry",
           a_share(prompt="Extra volume on top, 0 % to 100 %."), show="whole share", unit="or 0 %",
           align="right", fold=True),
    _typed("headroom", "headroom", 60, "Dry", quantity("length", "Blank: as in Settings."),
           q="length", fold=True),
    _typed("dryer", "dryer", 44, "Dry",
           one_of(*DRYER_NAMES, prompt="Lines with the same letter share a dryer. Blank: A."),
           unit="or A", align="center", fold=True),
    _typed("airflow", "air per rate", 70, "Dry",
           quantity("specific airflow", "Blank: as in Settings."), q="specific airflow", fold=True),
    _typed("moisture_in", "water as fed", 70, "Dry",
           quantity("moisture", "Of its wet mass: 0.2 % or 0.002. Measure it."), show="moisture",
           unit="of mass", align="right", fold=True),
    _typed("choice", "which", 67, "Choice", _CHOICE, unit="or policy", wrap=True),
    _typed("shared", "shared", 48, "Choice",
           one_of(*SHARED_NAMES, prompt="Jobs that use one hopper have the same name here: H1. "
                  "The first of them has the hopper and its price; the others cost nothing."),
           unit="or own", align="center", fold=True),
    _typed("turn", "runs", 52, "Choice",
           one_of(*TURNS, prompt="Blank: in turn, one job after the other; the largest counts. "
                  "at once: the same resin to several presses; their rates add up."),
           unit="in turn", align="center", fold=True),
    _typed("split", "split", 30, "Choice",
           a_whole(1, 20, "Equal hoppers that divide the rate of this line between them: 2 halves "
                   "each hopper, and the air stays. Blank: 1."), show="whole",
           unit="or 1", align="right", fold=True),
    _typed("quantity", "qty", 28, "Choice",
           a_whole(1, 1000, "How often the whole line is needed: 2 doubles rate, hoppers, air and "
                   "price. Several hoppers for this one rate: split. Blank: 1."), show="whole",
           unit="or 1", align="right"),
    _typed("discount", "discount", 54, "Choice", a_share(prompt="Blank: none."), show="share",
           unit="or 0 %", align="right", fold=True),
    _typed("reason", "reason", 42, "Choice",
           a_text(LONGEST["reason"], "Why a size that holds less than asked is right. The customer "
                  "reads it."), unit="if short"),
    _typed("note", "assumed, note", 160, "Choice",
           a_text(400, "What was assumed for this line. Not for the customer."), unit="internal",
           fold=True),
)  # fmt: skip


# --- what follows from it -----------------------------------------------------------------


def live(formula: str) -> str:
    """Nothing on rows into which nothing has been typed."""
    return f'IF({{begun}}=0,"",{formula})'


_TYPED_CELLS = "{job}:{note}"
_FILLED = f'SUMPRODUCT(--({_TYPED_CELLS}<>""))'
_EST = "{ground_estimate}"
_TABLE_GROUND = (
    f'MAX(MIN({_EST},IF({{behind.ground_high}}="",{_EST},{{behind.ground_high}})),'
    f'IF({{behind.ground_low}}="",{_EST},{{behind.ground_low}}))'
)


def _from_needs(formula: str) -> str:
    return live(f'IF({{hopper_needs}}="","",{formula})')


#: 1 in the lines that share the hopper of this one, itself among them.
_WITH = "({shared:all}={shared})"


def _greatest(number: str) -> str:
    """The greatest figure of the lines that share a hopper; ``number`` is never a text."""
    return f"SUMPRODUCT(MAX({_WITH}*{number}))"


def _hoppers(key: str, blank: str) -> str:
    """What is typed of the hopper, on the line that has it."""
    there = f"INDEX({{{key}:all}},{{hopper_line}})"
    return live(f'IF({{also}}=1,IF({there}="",{blank},{there}),IF({{{key}}}="",{blank},{{{key}}}))')


def _through(rate: str) -> str:
    """The rate of all that draw from the hopper at the same time."""
    return live(
        f'IF({{hopper_needs}}="","",IF({{at_once}}=1,'
        f"SUMIF({{shared:all}},{{shared}},{{{rate}:all}}),{{{rate}}}))"
    )


def _held(size: str, rate: str) -> str:
    return live(
        f"IF(ISNUMBER({size}),"
        f'HOPPER_HELD_HOURS({size}*{{split_used}},{{blend}},{rate},unit_system),"")'
    )


def _model(size: str) -> str:
    return _from_needs(
        f"IF(ISNUMBER({size}),"
        f"HOPPER_CATALOG_ENTRY({size},catalog_volumes,catalog_models,unit_system),{size})"
    )


def _marked(model: str, word: str) -> str:
    """As much of the model as two lines hold, how many divide the rate, and its mark.

    No line breaks before the mark: it would stand alone.
    """
    several = f'AND({{split_used}}>1,{model}<>"none")'
    room = f"IF({several},{_ROOM_OF_SEVERAL},{_ROOM})"
    return _from_needs(
        f'IF(LEN({model})>{room},LEFT({model},{room}-1)&"…",{model})'
        f'&IF({several},"\u00a0x\u00a0"&{{split_used}},"")'
        f'&IF(OR({{choice_used}}="{word}",{{choice_used}}={model}),"\u00a0●","")'
    )


def _of_catalog(name: str, nothing: str = '{row}=""') -> str:
    entry = f"INDEX({name},{{row}})"
    return live(f'IF({nothing},"",IF({entry}="","",{entry}))')


_CHAIN = (
    Column("begun", "begun", width=40, show="whole", group="Used", fold=True,
           formula=f"IF(ISERROR({_FILLED}),1,IF({_FILLED}>0,1,0))"),
    Column("hopper_line", "line that has the hopper", width=50, show="whole", group="Used",
           fold=True, formula=live('IF({shared}="",{line},MATCH({shared},{shared:all},0))')),
    Column("also", "1: in the hopper of another line", width=50, show="whole", group="Used",
           fold=True, formula=live("IF({hopper_line}={line},0,1)")),
    Column("at_once", "1: several draw at once", width=50, show="whole", group="Used", fold=True,
           formula=live('IF({shared}="",0,IF(SUMPRODUCT('
                        f'{_WITH}*({{turn:all}}="{TURNS[1]}"))>0,1,0))')),
    Column("virgin_share", "virgin share", width=60, show="whole share", group="Used", fold=True,
           formula=live("1-{regrind_share}")),
    Column("regrind_share", "regrind share", width=60, show="whole share", group="Used", fold=True,
           formula=live('IF({regrind}="",0,IF(ISNUMBER({regrind}),{regrind},NA()))')),
    Column("basis_used", "by", width=50, group="Used", fold=True,
           formula=live('IF({basis}<>"",{basis},IF(book_basis="","",book_basis))')),
    Column("virgin_used", "virgin density", quantity="bulk density", width=70, group="Used",
           fold=True,
           formula=live('IF({regrind_share}>=1,"",IF({virgin}<>"",'
                        + number("{virgin}", "bulk density") + ",IF({behind.weighed_virgin}<>\"\","
                                                               "{behind.weighed_virgin},{behind.density})))")),
    Column("ground_used", "regrind density", quantity="bulk density", width=70, group="Used",
           fold=True,
           formula=live('IF({regrind_share}=0,"",IF({ground}<>"",'
                        + number("{ground}", "bulk density")
                        + ',IF({behind.weighed_regrind}<>"",{behind.weighed_regrind}'
                        + f',IF({{virgin_used}}="",{{behind.ground}},IF({{behind.ground}}="",'
                          f'{_EST},'
                        + f"{_TABLE_GROUND})))))")),
    Column("virgin_is", "virgin density from", width=90, group="Used", fold=True,
           formula=live('IF({virgin_used}="","",IF({virgin}="",IF({behind.weighed_virgin}<>"",'
                        '"measured","table"),'
                        'IF({virgin_from}="","not stated",{virgin_from})))')),
    Column("ground_is", "regrind density from", width=90, group="Used", fold=True,
           formula=live('IF({ground_used}="","",IF({ground}<>"",IF({ground_from}="","not stated",'
                        '{ground_from}),IF({behind.weighed_regrind}<>"","measured",'
                        'IF({behind.ground}="","rule of thumb","table"))))')),
    Column("ground_estimate", "regrind density, from virgin", quantity="bulk density", width=80,
           group="Used", fold=True,
           formula=live('IF(OR({regrind_share}=0,{ground}<>"",{virgin_used}=""),"",'
                        "HOPPER_REGRIND_DENSITY({virgin_used},IF(AND(ISNUMBER({behind.ground}),"
                        "ISNUMBER({behind.density})),{behind.ground}/{behind.density},"
                        "regrind_ratio),unit_system))")),
    Column("rate_shot", "rate from shot and cycle", quantity="throughput", width=80, group="Used",
           fold=True,
           formula=live('IF(OR({shot}="",{cycle}=""),"",HOPPER_MOLDING_RATE({shot},{cycle},'
                        'IF({presses}="",1,{presses}),unit_system))')),
    Column("rate_used", "rate", quantity="throughput", width=60, group="Used", fold=True,
           formula=live('IF({stated}<>"",' + number("{stated}", "throughput") + ",{rate_shot})")),
    Column("low_used", "rate, low", quantity="throughput", width=60, group="Used", fold=True,
           formula=live('IF({rate_used}="","",IF({low}<>"",' + number("{low}", "throughput")
                        + ",{likely_used}))")),
    Column("likely_used", "rate, likely", quantity="throughput", width=60, group="Used", fold=True,
           formula=live('IF({rate_used}="","",IF({likely}<>"",' + number("{likely}", "throughput")
                        + ",{rate_used}))")),
    Column("high_used", "rate, high", quantity="throughput", width=60, group="Used", fold=True,
           formula=live('IF({rate_used}="","",IF({high}<>"",' + number("{high}", "throughput")
                        + ",MAX({rate_used},{likely_used})))")),
    Column("reserve_used", "reserve", width=50, show="whole share", group="Used", fold=True,
           formula=live('IF({reserve}="",0,{reserve})')),
    Column("split_used", "hoppers for one rate", width=50, show="whole", group="Used", fold=True,
           formula=_hoppers("split", "1")),
    Column("quantity_used", "times the line", width=50, show="whole", group="Used", fold=True,
           formula=_hoppers("quantity", "1")),
    Column("temperature_used", "dried at", quantity="temperature", width=60, group="Used",
           align="right", fold=True,
           formula=live('IF({temperature}<>"",' + number("{temperature}", "temperature")
                        + ",{behind.temperature})")),
    Column("dryer_used", "dryer", width=44, align="center", group="Used", fold=True,
           formula=_hoppers("dryer", '"A"')),
)  # fmt: skip

_SIZED = (
    Column("blend", "blend", quantity="bulk density", width=38, group="Sized",
           formula=live("IF({regrind_share}=0,{virgin_used},IF({regrind_share}=1,{ground_used},"
                        'IF(OR({virgin_used}="",{ground_used}="",{basis_used}=""),"",'
                        "HOPPER_BLEND_DENSITY({virgin_share}:{regrind_share},"
                        "{virgin_used}:{ground_used},{basis_used},unit_system))))")),
    Column("needs", "needs", quantity="volume", width=40, group="Sized", bold=True,
           formula=live('IF(OR({rate_used}="",{hours}="",{blend}=""),"",'
                        "HOPPER_REQUIRED_VOLUME({rate_used},{hours},{blend},{reserve_used},"
                        "unit_system))")),
    # In turn the largest need decides, at once they add up; not before all of them are known.
    Column("hopper_needs", "needed volume, all jobs of the hopper", quantity="volume", width=60,
           group="Sized", fold=True,
           formula=live('IF({shared}="",{needs},IF({needs}="","",IF('
                        f"SUMPRODUCT({_WITH}*({{behind.needs_number:all}}>0))<SUMPRODUCT(--{_WITH}),"
                        f'"",IF({{at_once}}=1,SUMPRODUCT({_WITH}*{{behind.needs_number:all}}),'
                        f"{_greatest('{behind.needs_number:all}')}))))")),
    Column("needs_each", "needed volume of each hopper", quantity="volume", width=60,
           group="Sized", fold=True, formula=_from_needs("{hopper_needs}/{split_used}")),
    Column("through", "rate through the hopper", quantity="throughput", width=60, group="Sized",
           fold=True, formula=_through("rate_used")),
    Column("through_low", "rate through it, low", quantity="throughput", width=60, group="Sized",
           fold=True, formula=_through("low_used")),
    Column("through_likely", "rate through it, likely", quantity="throughput", width=60,
           group="Sized", fold=True, formula=_through("likely_used")),
    Column("through_high", "rate through it, high", quantity="throughput", width=60,
           group="Sized", fold=True, formula=_through("high_used")),
    Column("below_size", "catalog size below", quantity="volume", width=60, group="Sized",
           align="right", fold=True,
           formula=_from_needs(f'IF(MIN(catalog_volumes)>={{needs_each}}*{ALMOST},"none",'
                               "HOPPER_SIZE_BELOW({needs_each},catalog_volumes,unit_system))")),
    Column("next_size", "next catalog size", quantity="volume", width=60, group="Sized",
           align="right", fold=True,
           formula=_from_needs(f'IF(MAX(catalog_volumes)<{{needs_each}}*{ALMOST},"none",'
                               "HOPPER_NEXT_SIZE({needs_each},catalog_volumes,0,unit_system))")),
    Column("below_model", "model below, whole name", width=60, group="Sized", fold=True,
           formula=_model("{below_size}")),
    Column("next_model", "next model, whole name", width=60, group="Sized", fold=True,
           formula=_model("{next_size}")),
    Column("choice_typed", "which, typed", width=60, group="Sized", fold=True,
           formula=_hoppers("choice", '""')),
    Column("choice_used", "choice", width=60, group="Sized", fold=True,
           formula=_from_needs('IF({choice_typed}<>"",{choice_typed},'
                               'IF(size_policy="size below allowed",'
                               "IF(ISNUMBER({below_size}),IF({below_size}>={needs_each}"
                               f'*(1-policy_shortfall)*{ALMOST},"size below","next size"),'
                               '"next size"),"next size"))')),
    Column("below", "model", width=70, group="Size below", wrap=True,
           formula=_marked("{below_model}", "size below")),
    Column("below_held", "stated", show="hours held", unit="h held", width=46,
           group="Size below", formula=_held("{below_size}", "{through}"), align="right"),
    Column("below_likely", "likely", show="hours held", unit="h held", width=46,
           group="Size below", formula=_held("{below_size}", "{through_likely}"), align="right"),
    Column("next", "model", width=70, group="Next size", wrap=True,
           formula=_marked("{next_model}", "next size")),
    Column("next_held", "stated", show="hours held", unit="h held", width=46,
           group="Next size", formula=_held("{next_size}", "{through}"), align="right"),
    Column("next_likely", "likely", show="hours held", unit="h held", width=46,
           group="Next size", formula=_held("{next_size}", "{through_likely}"), align="right"),
    Column("net", "net", show="round money", unit="price", width=52, group="Quoted",
           formula=live('IF({also}=1,0,IF(ISNUMBER({price}),ROUND({pieces}*{price}*'
                        '(1-IF({discount}="",0,{discount})),2),""))')),
)  # fmt: skip

_CHOSEN = (
    Column("chosen_size", "chosen size", quantity="volume", width=64, group="Quoted", fold=True,
           align="right",
           formula=_from_needs('IF({choice_used}="next size",{next_size},'
                               'IF({choice_used}="size below",'
                               "{below_size},INDEX(catalog_volumes,MATCH({choice_used},"
                               "catalog_models,0))))")),
    Column("model", "model", width=90, group="Quoted", fold=True,
           formula=live('IF(ISNUMBER({chosen_size}),IF(OR({choice_used}="next size",'
                        '{choice_used}="size below"),HOPPER_CATALOG_ENTRY({chosen_size},'
                        "catalog_volumes,catalog_models,unit_system),{choice_used}),\"\")")),
    Column("row", "row of Catalog", show="whole", width=50, group="Quoted", fold=True,
           formula=live('IF({model}="","",MATCH({model},catalog_models,0))')),
    Column("held", "hours held, stated", show="hours held", unit="h", width=60, group="Quoted",
           align="right", fold=True, formula=_held("{chosen_size}", "{through}")),
    Column("held_likely", "hours held, likely", show="hours held", unit="h", width=60,
           align="right", group="Quoted", fold=True,
           formula=_held("{chosen_size}", "{through_likely}")),
    Column("chance", "chance held, of the rates stated", width=70, show="whole share",
           group="Quoted", align="right", fold=True,
           formula=live('IF(ISNUMBER({chosen_size}),HOPPER_CHANCE_HELD({chosen_size}*{split_used},'
                        '{through_low}:{through_high},{hours},{blend},unit_system),"")')),
    Column("most", "highest rate", quantity="throughput", width=60, group="Quoted", fold=True,
           align="right",
           formula=live('IF(ISNUMBER({chosen_size}),HOPPER_MAX_THROUGHPUT({chosen_size}'
                        '*{split_used},{blend},{hours},unit_system),"")')),
    Column("pieces", "hoppers quoted", show="whole", width=54, group="Quoted", fold=True,
           formula=live('IF({also}=1,"",{quantity_used}*{split_used})')),
    Column("price", "list price", show="money", width=80, group="Quoted", fold=True,
           align="right", formula=_of_catalog("catalog_prices", "OR({also}=1,{row}=\"\")")),
    Column("heavy", "density for load", quantity="bulk density", width=64, group="Load and height",
           align="right", fold=True,
           formula=live("IF(ISNUMBER(IF({regrind_share}=1,{behind.ground_high},"
                        "{behind.density_high})),MAX(IF({regrind_share}=1,{behind.ground_high},"
                        "{behind.density_high}),{virgin_used},{ground_used},{blend}),"
                        "MAX({virgin_used},{ground_used},{blend})*(1+load_allowance))")),
    Column("heaviest", "density for load, all jobs of the hopper", quantity="bulk density",
           width=64, group="Load and height", align="right", fold=True,
           formula=live(f'IF({{shared}}="",{{heavy}},{_greatest("{behind.heavy_number:all}")})')),
    Column("loaded", "loaded, each", quantity="mass", width=64, group="Load and height",
           align="right", fold=True,
           formula=live('IF({row}="","",IF(INDEX(catalog_empty_masses,{row})="","",'
                        "HOPPER_LOADED_MASS(INDEX(catalog_empty_masses,{row}),"
                        "INDEX(catalog_gross,{row}),{heaviest},unit_system)))")),
    Column("height", "height", quantity="length", show="height", width=54, align="right",
           group="Load and height", fold=True, formula=_of_catalog("catalog_heights")),
    Column("headroom_used", "headroom", quantity="length", show="height", width=60, align="right",
           group="Load and height", fold=True,
           formula=live('IF({headroom}<>"",' + number("{headroom}", "length")
                        + ',IF(book_headroom="","",' + number("book_headroom", "length") + "))")),
    Column("airflow_used", "air per rate", quantity="specific airflow", width=80, fold=True,
           group="Load and height",
           formula=live('IF({airflow}<>"",' + number("{airflow}", "specific airflow")
                        + ',IF(book_airflow<>"",' + number("book_airflow", "specific airflow")
                        + f",{DUTY}))")),
    Column("air", "air", quantity="airflow", width=60, group="Load and height", fold=True,
           align="right",
           formula=live('IF({rate_used}="","",HOPPER_AIRFLOW({rate_used}*{quantity_used},'
                        "{airflow_used},unit_system))")),
    # Beside the figures, where the window has room; its cell among the typed ones is narrow.
    Column("why", "reason, where short", width=142, group="On the quote", unit="as typed",
           wrap=True,
           formula=live(f'IF(LEN({{reason}})>{_ROOM_OF_REASON},'
                        f'LEFT({{reason}},{_ROOM_OF_REASON - 1})&"…",{{reason}}&"")')),
)  # fmt: skip

_HEAD = (
    Column("line", "line", show="whole", width=24, align="center", group="",
           formula="ROWS({line:above})"),
    Column("state", "State", "check", width=100, group="State", wrap=True,
           unit="+1: one more",
           formula="{behind.short_state}"),
)  # fmt: skip

COLUMNS = (*_HEAD, *TYPED, *_CHAIN, *_SIZED, *_CHOSEN)
