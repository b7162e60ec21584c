"""The last columns of *Sizing*: do two ways of computing agree, what is missing, what is wrong.

Also the two pieces of a formula that all columns of that sheet share.
"""

from __future__ import annotations

from ..layout import Column

__all__ = ["GIVEN", "RESERVE", "STATE", "UNREADABLE", "live"]

#: The reserve of a row; a blank one is none.
RESERVE = 'IF({reserve}="",0,{reserve})'
_BASIS = 'IF({share_basis}="","volume",{share_basis})'
#: Whether there is a reason; a space or a dash is none.
GIVEN = "LEN(TRIM({reason}))>2"
#: What the Catalog has for a size that it cannot read: a text, never a gap that nobody sees.
UNREADABLE = "see State"


def live(formula: str) -> str:
    """Nothing in a row that nobody has begun."""
    return f'IF({{line}}="","",{formula})'


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
    (
        "one of the choices next, below, own",
        'AND({choice}<>"",{choice}<>"next",{choice}<>"below",{choice}<>"own")',
    ),
    ("own model", 'AND({choice}="own",{own_model}="")'),
    (
        "reason for the choice",
        f'AND(OR({{choice}}="below",{{choice}}="own"),NOT({GIVEN}))',
    ),
    ("quantity", '{quantity}=""'),
)
_TO_DO = "&".join(f'IF({condition},", {name}","")' for name, condition in _NEEDED)


def _explain(name: str, arguments: str) -> str:
    return f'HOPPER_EXPLAIN("HOPPER_{name}",{arguments})'


def _about(label: str, call: str, argument: str, advice: str = '""') -> tuple[str, str]:
    """(whether ``call`` is wrong in ``argument``, what is wrong in the words of the column)."""
    mark = f'"{argument}: "'
    return (
        f"ISNUMBER(FIND({mark},{call}))",
        f'"{label}: "&MID({call},FIND({mark},{call})+{len(argument) + 2},300)&{advice}',
    )


def _typed(label: str, key: str, call: str, argument: str, quantity: str) -> tuple[str, str]:
    """The same for a cell that takes a figure with a unit; ``call`` is given the typed figure."""
    unit = f"typed_{quantity}"
    example = {"bulk_density": "0.55 g/cm3", "throughput": "45 kg/h"}[quantity]
    advice = (
        f'IF(ISTEXT({{{key}}}),". Type the number in "&{unit}&", or with its unit: {example}","")'
    )
    return _about(label, call, argument, advice)


def _density(label: str, key: str) -> tuple[str, str]:
    call = _explain("HELD_MASS", f"1,{{{key}}},typed_units")
    return _typed(label, key, call, "bulk_density", "bulk_density")


def _without_name(name: str, call: str) -> str:
    """The explanation of an error without the name of a function that nobody typed."""
    return f'SUBSTITUTE({call},"HOPPER_{name}: ","")'


_REQUIRED_WHY = _explain(
    "REQUIRED_VOLUME", f"{{throughput_used}},{{hours}},{{blend}},{RESERVE},unit_system"
)
_BLEND_WHY = _explain(
    "BLEND_DENSITY",
    f"{{virgin_share}}:{{regrind_share}},{{virgin_used}}:{{regrind_used}},{_BASIS},unit_system",
)
_REGRIND_WHY = _explain("REGRIND_DENSITY", "{virgin_density},regrind_ratio,typed_units")
_NEXT_WHY = _explain("NEXT_SIZE", "{required},catalog_volumes,0,unit_system")
_SHARE = "type it as a percentage, such as 75 %"
_TYPED = (
    "virgin_share", "virgin_density", "regrind_density", "throughput", "hours", "reserve",
    "load_density", "quantity", "discount",
)  # fmt: skip

#: (condition, what is wrong) in the order of the columns: the first that holds is said. Figures
#: are checked as they were typed, in the units in which they were typed.
_REASONS = (
    (
        "ISERROR(" + "&".join(f"{{{key}}}" for key in _TYPED) + ")",
        '"a formula in one of the input cells of this line is in error"',
    ),
    ("NOT(ISNUMBER({virgin_share}))", f'"Virgin share: {_SHARE}"'),
    (
        "OR({virgin_share}<0,{virgin_share}>1)",
        f'"Virgin share: "&{{virgin_share}}*100&" % is not between 0 % and 100 %; {_SHARE}"',
    ),
    _density("Virgin density", "virgin_density"),
    ('AND({regrind_density}="",ISERROR({regrind_used}))',
     f'"Regrind density, estimated: "&{_without_name("REGRIND_DENSITY", _REGRIND_WHY)}'),
    tuple(
        part if n else f'IF({{regrind_density}}="",FALSE,{part})'
        for n, part in enumerate(_density("Regrind density", "regrind_density"))
    ),
    ("ISERROR({blend})", f'"Blend density: "&{_without_name("BLEND_DENSITY", _BLEND_WHY)}'),
    _typed(
        "Throughput", "throughput", _explain("AIRFLOW", "{throughput},2,typed_units"),
        "throughput", "throughput",
    ),
    _about("Drying time", _REQUIRED_WHY, "drying_hours"),
    _about("Reserve", _REQUIRED_WHY, "reserve"),
    (
        "ISERROR({required})",
        f'"Required volume: "&{_without_name("REQUIRED_VOLUME", _REQUIRED_WHY)}',
    ),
    (
        f'COUNTIF(catalog_volumes,"{UNREADABLE}")>0',
        '"Catalog: the size of a row cannot be read; its State says which"',
    ),
    ("ISERROR({next})", f'"Next size: "&{_without_name("NEXT_SIZE", _NEXT_WHY)}'),
    ('AND({choice_used}="below",{below}="none")', '"Choice: there is no size below"'),
    (
        'AND({choice_used}="own",ISERROR({chosen}))',
        '"Own model: the Catalog has no model "&{own_model}',
    ),
    ("ISERROR({chosen})", '"there is no such size: see the choice and the sheet Catalog"'),
    ("ISERROR({model})", '"the Catalog has no model beside this size"'),
    ("ISERROR({price})", '"List price: the Catalog has no price for "&{model}'),
    tuple(
        part if n else f'IF({{load_density}}="",FALSE,{part})'
        for n, part in enumerate(_density("Density for load", "load_density"))
    ),
    ("NOT(ISNUMBER(load_allowance))", '"Load allowance: it is blank or not a number"'),
    ("ISERROR({loaded})", '"Empty mass: the Catalog has none for "&{model}'),
    ("ISERROR({line_total})", '"Quantity or discount: not a number"'),
)  # fmt: skip


def _first_reason() -> str:
    formula = '"see the cells of this line that are in error"'
    for condition, reason in reversed(_REASONS):
        formula = f"IF({condition},{reason},{formula})"
    return formula


_WRONG = "SUMPRODUCT(--ISERROR({virgin_share}:{line_total}))>0"
_IN_WORDS = f"IF({_WRONG},{_first_reason()},{_REQUIRED_WHY})"

_PLAIN_BLEND = (
    'IF({share_basis}="mass",'
    "1/({virgin_share}/{virgin_used}+{regrind_share}/{regrind_used}),"
    "{virgin_share}*{virgin_used}+{regrind_share}*{regrind_used})"
)

STATE = (
    Column(
        "agrees", "Agrees with plain arithmetic?", "check", width=11, align="center",
        group="State",
        # 1E-9 relative: far above the rounding of 15 digits, far below anything that matters.
        formula=live(
            "IF(OR(ISERROR({required}),ISERROR({hours_held})),\"\","
            f"IF(AND(ABS({{blend}}/({_PLAIN_BLEND})-1)<0.000000001,"
            f"ABS({{required}}/({{throughput_used}}*{{hours}}*(1+{RESERVE})/{{blend}})-1)"
            "<0.000000001,"
            "ABS({hours_held}/({chosen}*{blend}/{throughput_used})-1)<0.000000001),"
            '"yes","no"))'
        ),
    ),
    Column(
        "to_do", "Still to do", "check", width=40, group="State", wrap=True,
        formula=live(f"MID({_TO_DO},3,200)"),
    ),
    Column(
        "state", "State", "check", width=8, group="State",
        formula=live(
            'IF({to_do}<>"","to do",'
            f'IF({_WRONG},"error","ok"))'
        ),
    ),
    Column(
        "in_words", "In words: the calculation, or what is wrong", "check", width=120,
        group="State", wrap=True, formula=live(f'IF({{to_do}}<>"","",{_IN_WORDS})'),
    ),
)  # fmt: skip
