"""The columns of *Sizing*, in the order of the calculation.

The calculation is one chain: shares and densities -> blend density; throughput, hours, reserve ->
required volume; catalog -> the size below and the next one, with the facts to judge by; choice ->
the hopper; its load; its price. A missing input makes the cells that need it #N/A, and "State"
says in words what is missing; "In words" gives the calculation, or the reason for an error.
"""

from __future__ import annotations

from typing import Any

from ..layout import Column
from ..validation import Rule, a_share, a_text, a_whole, one_of, quantity

__all__ = ["COLUMNS"]

BASES = ("measured", "data sheet", "estimated")


def _live(formula: str) -> str:
    """Nothing in a row that nobody has begun."""
    return f'IF({{line}}="","",{formula})'


def _as_shown(key: str, quantity_name: str) -> str:
    """A typed figure in the units that the book is shown in; #N/A while it is missing."""
    words = quantity_name.replace(" ", "_")
    return f'IF({{{key}}}="",NA(),HOPPER_CONVERT({{{key}}},typed_{words},unit_{words}))'


_RESERVE = 'IF({reserve}="",0,{reserve})'
_BASIS = 'IF({share_basis}="","volume",{share_basis})'
_DISCOUNT = 'IF({discount}="",0,{discount})'

_JOB = (
    Column("line", "Line", show="whole", width=5, align="center", group="Job", formula="?"),
    Column(
        "job", "Job", "input", width=22, group="Job",
        rule=a_text(60, "What the customer calls it; one row per hopper and job."),
    ),
    Column("resin", "Resin", "input", width=15, group="Job", rule=a_text(40)),
)  # fmt: skip

_MIX = (
    Column(
        "virgin_share", "Virgin share", "input", show="share", width=9, group="Mix",
        rule=a_share(prompt="Share of virgin resin, 0 % to 100 %; the rest is regrind."),
    ),
    Column(
        "regrind_share", "Regrind share", show="share", width=9, group="Mix",
        formula=_live('IF({virgin_share}="",NA(),1-{virgin_share})'),
    ),
    Column(
        "share_basis", "Share by volume or mass", "input", width=10, align="center", group="Mix",
        rule=one_of(
            "volume", "mass",
            prompt="What the shares are parts of. Recipes of weigh blenders are by mass. Needed "
            "wherever there is regrind: nothing is assumed.",
        ),
    ),
)  # fmt: skip

_DENSITY = (
    Column(
        "virgin_density", "Virgin density, typed", "input", "bulk density", width=10,
        group="Bulk density",
        rule=quantity(
            "bulk density",
            'Bulk density of the virgin resin. Another unit: =HOPPER_CONVERT(0.55,"g/cm3",'
            '"lb/ft3").',
        ),
    ),
    Column(
        "virgin_basis", "from", "input", width=10, align="center", group="Bulk density",
        rule=one_of(*BASES, prompt="Where the virgin density comes from."),
    ),
    Column(
        "regrind_density", "Regrind density, typed", "input", "bulk density", width=10,
        group="Bulk density",
        rule=quantity(
            "bulk density",
            "Bulk density of the regrind. Blank: estimated from the virgin density.",
        ),
    ),
    Column(
        "regrind_basis", "from", "input", width=10, align="center", group="Bulk density",
        rule=one_of(*BASES, prompt="Where the typed regrind density comes from."),
    ),
    Column(
        "virgin_used", "Virgin density", quantity="bulk density", width=9, group="Bulk density",
        formula=_live(_as_shown("virgin_density", "bulk density")),
    ),
    Column(
        "regrind_used", "Regrind density", quantity="bulk density", width=9, group="Bulk density",
        formula=_live(
            'IF({regrind_density}="",'
            "HOPPER_REGRIND_DENSITY({virgin_used},regrind_ratio,unit_system),"
            "HOPPER_CONVERT({regrind_density},typed_bulk_density,unit_bulk_density))"
        ),
    ),
    Column(
        "regrind_is", "Regrind density is", width=11, align="center", group="Bulk density",
        formula=_live(
            'IF({regrind_density}="","estimated",'
            'IF({regrind_basis}="","not stated",{regrind_basis}))'
        ),
    ),
    Column(
        "blend", "Blend density", quantity="bulk density", width=9, group="Bulk density",
        formula=_live(
            'IF({regrind_share}=0,{virgin_used},IF({share_basis}="",NA(),'
            "HOPPER_BLEND_DENSITY({virgin_share}:{regrind_share},{virgin_used}:{regrind_used},"
            "{share_basis},unit_system)))"
        ),
    ),
)  # fmt: skip

_DEMAND = (
    Column(
        "throughput", "Throughput, typed", "input", "throughput", width=11, group="Demand",
        rule=quantity(
            "throughput",
            "What the machine really uses, not what it could. From shots: HOPPER_MOLDING_RATE; "
            "from a profile: HOPPER_EXTRUSION_RATE.",
        ),
    ),
    Column(
        "throughput_used", "Throughput", quantity="throughput", width=11, group="Demand",
        formula=_live(_as_shown("throughput", "throughput")),
    ),
    Column(
        "hours", "Drying time", "input", "drying hours", width=8, unit="h", group="Demand",
        rule=quantity(
            "drying hours",
            "Hours as a number: 4, not 4:00. The resin maker's data sheet governs.",
        ),
    ),
    Column(
        "reserve", "Reserve\n(blank: none)", "input", show="share", width=9, group="Demand",
        rule=a_share(prompt="Extra volume on top, 0 % to 100 %. Blank: none."),
    ),
    Column(
        "required", "Required volume", quantity="volume", width=10, group="Demand",
        formula=_live(
            'IF({hours}="",NA(),HOPPER_REQUIRED_VOLUME({throughput_used},{hours},{blend},'
            f"{_RESERVE},unit_system))"
        ),
    ),
)  # fmt: skip


def _size(key: str, heading: str, formula: str) -> tuple[Column, ...]:
    """A size with the facts to judge it by; the same for the size below and for the next one."""
    there = f'IF({{{key}}}="none","",'

    def fact(name: str, heading: str, formula: str, **more: Any) -> Column:
        live = _live(f"{there}{formula})")
        return Column(f"{name}_{key}", heading, formula=live, group=band, **more)

    band = heading
    least = f"{{least_{key}}}"
    return (
        Column(key, heading, quantity="volume", width=10, group=band, formula=_live(formula)),
        fact(
            "hours", "Hours held", f"HOPPER_HELD_HOURS({{{key}}},{{blend}},{{throughput_used}},"
            "unit_system)", show="hours", unit="h", width=8,
        ),
        fact(
            "margin", "Margin", f"HOPPER_SIZE_MARGIN({{{key}}},{{required}},unit_system)",
            show="margin", width=8,
        ),
        fact(
            "most", "Highest throughput", f"HOPPER_MAX_THROUGHPUT({{{key}}},{{blend}},{{hours}},"
            "unit_system)", quantity="throughput", width=10,
        ),
        fact(
            "growth", "Room for growth", f"{{most_{key}}}/{{throughput_used}}-1", show="margin",
            width=8,
        ),
        fact(
            "least", "Lowest density that fits",
            f"{{throughput_used}}*{{hours}}*(1+{_RESERVE})/{{{key}}}",
            quantity="bulk density", width=10,
        ),
        fact(
            "regrind", "Highest regrind share that fits",
            f'IF({{share_basis}}="","",IF({{regrind_used}}>={least},1,'
            f'IF({{virgin_used}}<{least},"none",'
            f"({{virgin_used}}-{least})/({{virgin_used}}-{{regrind_used}})"
            f'*IF({{share_basis}}="mass",{{regrind_used}}/{least},1))))',
            show="share", width=10, align="right",
        ),
        fact(
            "price", "List price",
            f"HOPPER_CATALOG_ENTRY({{{key}}},catalog_volumes,catalog_prices)",
            show="money", width=11,
        ),
    )  # fmt: skip


_BELOW = _size(
    "below",
    "Size below",
    "IF(ISERROR({required}),{required},"
    'IF(ISNA(HOPPER_SIZE_BELOW({required},catalog_volumes,unit_system)),"none",'
    "HOPPER_SIZE_BELOW({required},catalog_volumes,unit_system)))",
)
_NEXT = _size("next", "Next size", "HOPPER_NEXT_SIZE({required},catalog_volumes,0,unit_system)")

_CHOICE = (
    Column(
        "price_step", "Next costs more by", show="money", width=11, group="Choice",
        formula=_live('IF({below}="none","",{price_next}-{price_below})'),
    ),
    Column(
        "policy_size", "Size by the policy", quantity="volume", width=10, group="Choice",
        formula=_live(
            "HOPPER_NEXT_SIZE({required},catalog_volumes,allowed_shortfall,unit_system)"
        ),
    ),
    Column(
        "policy_choice", "Policy says", width=8, align="center", group="Choice",
        # 1E-9: the tolerance within which the cell functions compare sizes.
        formula=_live('IF({policy_size}<{required}*0.999999999,"below","next")'),
    ),
    Column(
        "choice", "Choice\n(blank: policy)", "input", width=9, align="center", group="Choice",
        rule=one_of(
            "next", "below", "own",
            prompt="Blank: as the policy says. below and own need a reason; own needs a model.",
        ),
    ),
    Column(
        "own_model", "Own model", "input", width=14, group="Choice",
        rule=Rule(
            "list", "catalog_models", says="a model of the sheet Catalog",
            prompt="Only for own: any model of the Catalog. Add a special one there.",
        ),
    ),
    Column(
        "reason", "Reason (needed for below and own)", "input", width=34, group="Choice",
        rule=a_text(200, "Why this size. It stays with the quote."),
    ),
    Column(
        "choice_used", "Chosen", width=8, align="center", group="Choice",
        formula=_live('IF({choice}="",{policy_choice},{choice})'),
    ),
    Column(
        "reason_kept", "Reason on record", width=34, group="Choice",
        formula=_live(
            'IF({reason}<>"",{reason},IF({choice_used}="next","next size up",'
            'IF({choice}="","policy: up to "&ROUND(100*allowed_shortfall,1)&" % short",'
            "NA())))"
        ),
    ),
)  # fmt: skip

_HOPPER = (
    Column(
        "chosen", "Hopper size", quantity="volume", width=10, group="Hopper",
        formula=_live(
            "IF(ISERROR({reason_kept}),NA(),"
            'IF({choice_used}="next",{next},'
            'IF({choice_used}="below",IF({below}="none",NA(),{below}),'
            'IF({choice_used}="own",INDEX(catalog_volumes,MATCH({own_model},catalog_models,0)),'
            "NA()))))"
        ),
    ),
    Column(
        "model", "Model", width=14, group="Hopper",
        formula=_live(
            'IF({choice_used}="own",{own_model},'
            "HOPPER_CATALOG_ENTRY({chosen},catalog_volumes,catalog_models))"
        ),
    ),
    Column(
        "hours_held", "Hours held", show="hours", unit="h", width=8, group="Hopper",
        formula=_live("HOPPER_HELD_HOURS({chosen},{blend},{throughput_used},unit_system)"),
    ),
    Column(
        "holds", "Holds the drying time?", "check", width=11, align="center", group="Hopper",
        formula=_live(
            'IF({hours_held}>={hours}*0.999999999,"yes",'
            '"no, "&ROUND(100*(1-{hours_held}/{hours}),1)&" % short")'
        ),
    ),
    Column(
        "most", "Highest throughput", quantity="throughput", width=10, group="Hopper",
        formula=_live("HOPPER_MAX_THROUGHPUT({chosen},{blend},{hours},unit_system)"),
    ),
)  # fmt: skip

_LOAD = (
    Column(
        "load_density", "Density for load, typed", "input", "bulk density", width=10,
        group="Load (high density)",
        rule=quantity(
            "bulk density",
            "A high density, for the weight only. Blank: the higher of virgin and blend, plus "
            "the load allowance.",
        ),
    ),
    Column(
        "load_used", "Density for load", quantity="bulk density", width=9,
        group="Load (high density)",
        formula=_live(
            'IF({load_density}="",MAX({virgin_used},{blend})*(1+load_allowance),'
            "HOPPER_CONVERT({load_density},typed_bulk_density,unit_bulk_density))"
        ),
    ),
    Column(
        "loaded", "Loaded mass", quantity="mass", width=10, group="Load (high density)",
        formula=_live(
            "HOPPER_LOADED_MASS(INDEX(catalog_empty_masses,MATCH({model},catalog_models,0)),"
            "{chosen},{load_used},unit_system)"
        ),
    ),
)  # fmt: skip

_PRICE = (
    Column(
        "quantity", "Quantity", "input", width=8, group="Price",
        rule=a_whole(1, 1000, "How many of this hopper."),
    ),
    Column(
        "price", "Unit price", show="money", width=12, group="Price",
        formula=_live(
            'IF(INDEX(catalog_prices,MATCH({model},catalog_models,0))="",NA(),'
            "INDEX(catalog_prices,MATCH({model},catalog_models,0)))"
        ),
    ),
    Column(
        "discount", "Discount\n(blank: none)", "input", show="share", width=9, group="Price",
        rule=a_share(prompt="Off the unit price, 0 % to 100 %. Blank: none."),
    ),
    Column(
        "line_total", "Line total", show="money", width=13, group="Price",
        formula=_live(
            f'IF({{quantity}}="",NA(),ROUND({{quantity}}*{{price}}*(1-{_DISCOUNT}),2))'
        ),
    ),
)  # fmt: skip

#: Input that is needed -> its name in "to do"; a key with a condition where it is not always so.
_NEEDED = (
    ("job", '{job}=""'),
    ("resin", '{resin}=""'),
    ("virgin share", '{virgin_share}=""'),
    ("by volume or mass", 'AND({virgin_share}<>"",{virgin_share}<>1,{share_basis}="")'),
    ("virgin density", '{virgin_density}=""'),
    ("where the virgin density is from", '{virgin_basis}=""'),
    ("where the regrind density is from", 'AND({regrind_density}<>"",{regrind_basis}="")'),
    ("throughput", '{throughput}=""'),
    ("drying time", '{hours}=""'),
    ("own model", 'AND({choice}="own",{own_model}="")'),
    ("reason for the choice", 'AND(OR({choice}="below",{choice}="own"),{reason}="")'),
    ("quantity", '{quantity}=""'),
)
_TO_DO = "&".join(f'IF({condition},", {name}","")' for name, condition in _NEEDED)


def _why(steps: tuple[tuple[str, str], ...], otherwise: str) -> str:
    """The explanation of the first step in error, or ``otherwise``."""
    for key, explanation in reversed(steps):
        otherwise = f"IF(ISERROR({{{key}}}),{explanation},{otherwise})"
    return otherwise


_REQUIRED_WHY = (
    'HOPPER_EXPLAIN("HOPPER_REQUIRED_VOLUME",{throughput_used},{hours},{blend},'
    f"{_RESERVE},unit_system)"
)
_IN_WORDS = _why(
    (
        (
            "virgin_used",
            'HOPPER_EXPLAIN("HOPPER_CONVERT",{virgin_density},typed_bulk_density,'
            "unit_bulk_density)",
        ),
        (
            "regrind_used",
            'IF({regrind_density}="",'
            'HOPPER_EXPLAIN("HOPPER_REGRIND_DENSITY",{virgin_used},regrind_ratio,unit_system),'
            'HOPPER_EXPLAIN("HOPPER_CONVERT",{regrind_density},typed_bulk_density,'
            "unit_bulk_density))",
        ),
        (
            "blend",
            'HOPPER_EXPLAIN("HOPPER_BLEND_DENSITY",{virgin_share}:{regrind_share},'
            f"{{virgin_used}}:{{regrind_used}},{_BASIS},unit_system)",
        ),
        (
            "throughput_used",
            'HOPPER_EXPLAIN("HOPPER_CONVERT",{throughput},typed_throughput,unit_throughput)',
        ),
        ("required", _REQUIRED_WHY),
        (
            "next",
            'HOPPER_EXPLAIN("HOPPER_NEXT_SIZE",{required},catalog_volumes,0,unit_system)',
        ),
        ("chosen", '"there is no such size: see the choice and the sheet Catalog"'),
        ("model", '"the Catalog has no model beside this size"'),
        ("price", '"the Catalog has no price for this model"'),
        ("loaded", '"the Catalog has no empty mass for this model, or the load is impossible"'),
    ),
    _REQUIRED_WHY,
)

_PLAIN_BLEND = (
    'IF({share_basis}="mass",'
    "1/({virgin_share}/{virgin_used}+{regrind_share}/{regrind_used}),"
    "{virgin_share}*{virgin_used}+{regrind_share}*{regrind_used})"
)

_STATE = (
    Column(
        "agrees", "Agrees with plain arithmetic?", "check", width=11, align="center",
        group="State",
        # 1E-9 relative: far above the rounding of 15 digits, far below anything that matters.
        formula=_live(
            "IF(OR(ISERROR({required}),ISERROR({hours_held})),\"\","
            f"IF(AND(ABS({{blend}}/({_PLAIN_BLEND})-1)<0.000000001,"
            f"ABS({{required}}/({{throughput_used}}*{{hours}}*(1+{_RESERVE})/{{blend}})-1)"
            "<0.000000001,"
            "ABS({hours_held}/({chosen}*{blend}/{throughput_used})-1)<0.000000001),"
            '"yes","no"))'
        ),
    ),
    Column(
        "to_do", "Still to do", "check", width=24, group="State",
        formula=_live(f"MID({_TO_DO},3,200)"),
    ),
    Column(
        "state", "State", "check", width=16, group="State",
        formula=_live(
            'IF({to_do}<>"","to do: "&{to_do},'
            'IF(SUMPRODUCT(--ISERROR({virgin_share}:{line_total}))>0,"error","ok"))'
        ),
    ),
    Column(
        "in_words", "In words: the calculation, or what is wrong", "check", width=120,
        group="State", formula=_live(f'IF({{to_do}}<>"","",{_IN_WORDS})'),
    ),
)  # fmt: skip


def _with_line(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Fill in "line": a row counts as soon as anything at all is typed into it."""
    typed = ",".join(f"{{{column.key}}}" for column in columns if column.role == "input")
    first = Column(
        "line", "Line", show="whole", width=5, align="center", group="Job",
        formula=f'IF(COUNTA({typed})=0,"",ROWS({{line:down}}))',
    )  # fmt: skip
    return (first, *columns[1:])


#: From left to right.
COLUMNS = _with_line(
    _JOB + _MIX + _DENSITY + _DEMAND + _BELOW + _NEXT + _CHOICE + _HOPPER + _LOAD + _PRICE + _STATE
)
