"""The last columns of *Sizing*: do two ways of computing agree, what is missing, what is wrong.

Also the two pieces of a formula that all columns of that sheet share.
"""

from __future__ import annotations

from ..layout import Column

__all__ = ["RESERVE", "STATE", "live"]

#: The reserve of a row; a blank one is none.
RESERVE = 'IF({reserve}="",0,{reserve})'
_BASIS = 'IF({share_basis}="","volume",{share_basis})'


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
    f"{RESERVE},unit_system)"
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
        "to_do", "Still to do", "check", width=25, group="State",
        formula=live(f"MID({_TO_DO},3,200)"),
    ),
    Column(
        "state", "State", "check", width=8, group="State",
        formula=live(
            'IF({to_do}<>"","to do",'
            'IF(SUMPRODUCT(--ISERROR({virgin_share}:{line_total}))>0,"error","ok"))'
        ),
    ),
    Column(
        "in_words", "In words: the calculation, or what is wrong", "check", width=178,
        group="State", formula=live(f'IF({{to_do}}<>"","",{_IN_WORDS})'),
    ),
)  # fmt: skip
