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
from .sizing_state import GIVEN, RESERVE, STATE, live

__all__ = ["COLUMNS", "LONGEST_JOB", "LONGEST_RESIN"]

BASES = ("measured", "data sheet", "estimated")

#: What two lines of text hold on Quote, in characters.
LONGEST_JOB, LONGEST_RESIN = 45, 36
#: What two lines of text hold on Sizing.
_LONGEST_REASON = 130


def _as_shown(key: str, quantity_name: str) -> str:
    """A typed figure in the units that the book is shown in; #N/A while it is missing."""
    words = quantity_name.replace(" ", "_")
    return f'IF({{{key}}}="",NA(),HOPPER_CONVERT({{{key}}},typed_{words},unit_{words}))'


_DISCOUNT = 'IF({discount}="",0,{discount})'

_JOB = (
    Column(
        "job", "Job", "input", width=24, group="Job", wrap=True,
        rule=a_text(LONGEST_JOB, "What the customer calls it; one row per hopper and job."),
    ),
    Column(
        "resin", "Resin", "input", width=18, group="Job", wrap=True,
        rule=a_text(
            LONGEST_RESIN,
            "Its name, such as PC. Resins compares this line with what its tables say of it.",
        ),
    ),
)  # fmt: skip

_MIX = (
    Column(
        "virgin_share", "Virgin share", "input", show="share", width=9, group="Mix",
        rule=a_share(prompt="Share of virgin resin, 0 % to 100 %; the rest is regrind."),
    ),
    Column(
        "regrind_share", "Regrind share", show="share", width=9, group="Mix",
        formula=live('IF({virgin_share}="",NA(),1-{virgin_share})'),
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
        rule=quantity("bulk density", "Bulk density of the virgin resin, as on the heading."),
    ),
    Column(
        "virgin_basis", "Virgin density from", "input", width=11, align="center",
        group="Bulk density",
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
        "regrind_basis", "Regrind density from", "input", width=11, align="center",
        group="Bulk density",
        rule=one_of(*BASES, prompt="Where the typed regrind density comes from."),
    ),
    Column(
        "virgin_used", "Virgin density", quantity="bulk density", width=9, group="Bulk density",
        formula=live(_as_shown("virgin_density", "bulk density")),
    ),
    Column(
        "regrind_used", "Regrind density", quantity="bulk density", width=9, group="Bulk density",
        formula=live(
            'IF({regrind_density}="",'
            "HOPPER_REGRIND_DENSITY({virgin_used},regrind_ratio,unit_system),"
            "HOPPER_CONVERT({regrind_density},typed_bulk_density,unit_bulk_density))"
        ),
    ),
    Column(
        "regrind_is", "Regrind density is", width=11, align="center", group="Bulk density",
        formula=live(
            'IF({regrind_density}="","estimated",'
            'IF({regrind_basis}="","not stated",{regrind_basis}))'
        ),
    ),
    Column(
        "blend", "Blend density", quantity="bulk density", width=9, group="Bulk density",
        formula=live(
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
        formula=live(_as_shown("throughput", "throughput")),
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
        formula=live(
            'IF({hours}="",NA(),HOPPER_REQUIRED_VOLUME({throughput_used},{hours},{blend},'
            f"{RESERVE},unit_system))"
        ),
    ),
)  # fmt: skip


def _size(key: str, heading: str, formula: str) -> tuple[Column, ...]:
    """A size with the facts to judge it by; the same for the size below and for the next one."""
    there = f'IF({{{key}}}="none","",'

    def fact(name: str, heading: str, formula: str, **more: Any) -> Column:
        begun = live(f"{there}{formula})")
        return Column(f"{name}_{key}", heading, formula=begun, group=band, **more)

    band = heading
    least = f"{{least_{key}}}"
    return (
        Column(key, heading, quantity="volume", width=10, group=band, formula=live(formula)),
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
            f"{{throughput_used}}*{{hours}}*(1+{RESERVE})/{{{key}}}",
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
        formula=live('IF({below}="none","",{price_next}-{price_below})'),
    ),
    Column(
        "policy_size", "Size by the policy", quantity="volume", width=10, group="Choice",
        formula=live(
            "HOPPER_NEXT_SIZE({required},catalog_volumes,allowed_shortfall,unit_system)"
        ),
    ),
    Column(
        "policy_choice", "Policy says", width=8, align="center", group="Choice",
        # 1E-9: the tolerance within which the cell functions compare sizes.
        formula=live('IF({policy_size}<{required}*0.999999999,"below","next")'),
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
        "reason", "Reason (needed for below and own)", "input", width=60, group="Choice",
        wrap=True,
        rule=a_text(
            _LONGEST_REASON,
            "Why this size, in three characters or more. It stays on this sheet and is not "
            "printed on Quote: what the customer should read goes into Conditions there.",
        ),
    ),
    Column(
        "choice_used", "Chosen", width=8, align="center", group="Choice",
        formula=live('IF({choice}="",{policy_choice},{choice})'),
    ),
    Column(
        "reason_kept", "Reason on record", width=60, group="Choice", wrap=True,
        formula=live(
            f'IF({GIVEN},TRIM({{reason}}),IF({{choice_used}}="next","next size up",'
            'IF({choice}="","policy: up to "&ROUND(100*allowed_shortfall,1)&" % short",'
            "NA())))"
        ),
    ),
)  # fmt: skip

_HOPPER = (
    Column(
        "chosen", "Hopper size", quantity="volume", width=10, group="Hopper",
        formula=live(
            "IF(ISERROR({reason_kept}),NA(),"
            'IF({choice_used}="next",{next},'
            'IF({choice_used}="below",IF({below}="none",NA(),{below}),'
            'IF({choice_used}="own",INDEX(catalog_volumes,MATCH({own_model},catalog_models,0)),'
            "NA()))))"
        ),
    ),
    Column(
        "model", "Model", width=14, group="Hopper",
        formula=live(
            'IF({choice_used}="own",{own_model}&"",'
            "HOPPER_CATALOG_ENTRY({chosen},catalog_volumes,catalog_models))"
        ),
    ),
    Column(
        "hours_held", "Hours held", show="hours", unit="h", width=8, group="Hopper",
        formula=live("HOPPER_HELD_HOURS({chosen},{blend},{throughput_used},unit_system)"),
    ),
    Column(
        "holds", "Holds the drying time?", "check", width=16, align="center", group="Hopper",
        formula=live(
            'IF({hours_held}>={hours}*0.999999999,"yes",'
            '"no, "&ROUND(100*(1-{hours_held}/{hours}),1)&" % short")'
        ),
    ),
    Column(
        "most", "Highest throughput", quantity="throughput", width=10, group="Hopper",
        formula=live("HOPPER_MAX_THROUGHPUT({chosen},{blend},{hours},unit_system)"),
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
        formula=live(
            'IF({load_density}="",MAX({virgin_used},{blend})*(1+IF(load_allowance="",NA(),load_allowance)),'
            "HOPPER_CONVERT({load_density},typed_bulk_density,unit_bulk_density))"
        ),
    ),
    Column(
        "loaded", "Loaded mass", quantity="mass", width=10, group="Load (high density)",
        formula=live(
            "HOPPER_LOADED_MASS(INDEX(catalog_empty_masses,MATCH({model},catalog_models,0)),"
            "{chosen},{load_used},unit_system)"
        ),
    ),
)  # fmt: skip

_PRICE = (
    Column(
        "quantity", "Quantity", "input", show="whole", width=9, group="Price",
        rule=a_whole(1, 1000, "How many of this hopper."),
    ),
    Column(
        "price", "Unit price", show="money", width=12, group="Price",
        formula=live(
            "IF(ISNUMBER(INDEX(catalog_prices,MATCH({model},catalog_models,0))),"
            "INDEX(catalog_prices,MATCH({model},catalog_models,0)),NA())"
        ),
    ),
    Column(
        "discount", "Discount\n(blank: none)", "input", show="share", width=9, group="Price",
        rule=a_share(prompt="Off the unit price, 0 % to 100 %. Blank: none."),
    ),
    Column(
        "line_total", "Line total", show="money", width=13, group="Price",
        formula=live(
            f'IF({{quantity}}="",NA(),ROUND({{quantity}}*{{price}}*(1-{_DISCOUNT}),2))'
        ),
    ),
)  # fmt: skip


def _line(columns: tuple[Column, ...]) -> Column:
    """The line's number; a row counts as soon as anything at all is typed into it."""
    typed = ",".join(f"{{{column.key}}}" for column in columns if column.role == "input")
    return Column(
        "line", "Line", show="whole", width=9, align="center", group="Job",
        formula=f'IF(COUNTA({typed})=0,"",ROWS({{line:above}}))',
    )  # fmt: skip


_AFTER_LINE = (
    _JOB + _MIX + _DENSITY + _DEMAND + _BELOW + _NEXT + _CHOICE + _HOPPER + _LOAD + _PRICE
    + STATE
)  # fmt: skip

#: From left to right.
COLUMNS = (_line(_AFTER_LINE), *_AFTER_LINE)
