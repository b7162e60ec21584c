"""The figures behind *One line*: what is typed where, and how each figure comes about.

They stand below the screen, one a row with its label; the cards, the answer and the chart refer to
them.
"""

from __future__ import annotations

from ..styles import FORMATS
from . import resins
from .line_check_list import FAR_LONGER
from .line_checks import SIZING
from .line_columns import ALMOST, DUTY, number
from .measured import measured

__all__ = [
    "CARDS",
    "CHOICES",
    "FIGURES",
    "FIRST_FIGURE",
    "FIRST_FOR_SIZING",
    "IN",
    "ROW_FOR_SIZING",
    "SHEET",
    "figure",
    "filled",
    "format_of",
    "mixed",
]

SHEET = "One line"
#: Column of each card, its role, hoppers of it.
CARDS = (("K", "size below", 1), ("M", "next size", 1), ("O", "next but one", 1),
         ("Q", "two smaller", 2))  # fmt: skip
CHOICES = tuple(role for _, role, _ in CARDS)
ROW_FOR_SIZING = 41
#: Number of the column where that row begins, to the right of all else.
FIRST_FOR_SIZING = 22
FIRST_FIGURE = 46

#: What is typed -> its cell.
IN = {
    "job": "$C$6", "resin": "$C$7", "form": "$C$8", "regrind": "$C$9", "basis": "$G$9",
    "virgin": "$C$11", "virgin_from": "$G$11", "ground": "$C$12", "ground_from": "$G$12",
    "stated": "$C$15", "low": "$D$15", "likely": "$E$15", "high": "$F$15", "rate_from": "$G$15",
    "hours": "$C$16", "hours_low": "$D$16", "hours_likely": "$E$16", "hours_high": "$F$16",
    "hours_from": "$G$16", "shot": "$C$17", "cycle": "$D$17", "presses": "$E$17",
    "headroom": "$C$18", "reserve": "$F$18", "choice": "$C$23", "quantity": "$C$24",
    "discount": "$D$24", "reason": "$C$25", "line": "$C$26",
}  # fmt: skip


def mixed(virgin: str, ground: str) -> str:
    """A blend of two densities by the book's own arithmetic, for the ends of the ranges."""
    return (
        f'IF({{share}}=0,{virgin},IF({{share}}=1,{ground},IF({{basis}}="mass",'
        f"1/((1-{{share}})/{virgin}+{{share}}/{ground}),(1-{{share}})*{virgin}+{{share}}*{ground})))"
    )


def _table(key: str) -> str:
    return resins.value_of(key, "{own_row}", "{table_row}")


def _weighed(what: str) -> str:
    # No line of Sizing yet: only what is measured for the resin counts.
    return measured("density", what, '"-"', "{key}")


def _end(value: str, table: str, origin: str, which: str) -> str:
    """The low or high end of a density: as the table says, unless it was measured."""
    return (
        f'IF({value}="","",IF(OR({origin}="measured",{table}=""),{value},{which}({value},{table})))'
    )


_OK = "ISNUMBER({needs})"
_BARE = resins.bare_formulas(IN["resin"])


def _if_sized(formula: str) -> str:
    return f'IF({_OK},{formula},"")'


#: key -> (label, formula, number format): how each figure comes about, from top to bottom.
FIGURES: dict[str, tuple[str, str, str]] = {
    "begun": ("signs typed", "+".join(f"LEN({cell})" for cell in IN.values()), "0"),
    "key": ("resin without signs", f'IF({IN["resin"]}="","",{resins.key_of(IN["resin"])})', ""),
    "words": ("resin in words", _BARE[0], ""),
    "one_color_less": ("without one color", _BARE[1], ""),
    "bare": ("resin without color", _BARE[2], ""),
    "lookup": ("resin as looked up", resins.lookup_of("{key}", "{bare}"), ""),
    "own_row": ("row of your own resin", resins.row_of("{lookup}", own=True), "0"),
    "table_row": ("row of the built-in resin", resins.row_of("{lookup}", own=False), "0"),
    "density_low": ("virgin density, low", _table("density_low"), "density"),
    "density": ("virgin density, table", _table("density"), "density"),
    "density_high": ("virgin density, high", _table("density_high"), "density"),
    "ground_low": ("regrind density, low", _table("ground_low"), "density"),
    "ground": ("regrind density, table", _table("ground"), "density"),
    "ground_high": ("regrind density, high", _table("ground_high"), "density"),
    "hours_low": ("usual hours, low", _table("hours_low"), "hours"),
    "hours_high": ("usual hours, high", _table("hours_high"), "hours"),
    "temperature": ("dried at", _table("temperature"), "temperature"),
    "moisture": ("dried to", _table("moisture"), "moisture"),
    "wet": ("hydrolyzes", _table("wet"), ""),
    "suffers": ("suffers if held long", _table("suffers"), ""),
    "softens": ("softens from", _table("softens"), "temperature"),
    "softens_what": ("what of it", _table("softens_what"), ""),
    "caution": ("caution no.", _table("caution"), "0"),
    "basis": ("shares by", f'IF({IN["basis"]}<>"",{IN["basis"]},IF(book_basis="","",'
                           f'book_basis))', ""),
    "virgin_share": ("virgin share", "1-{share}", "share"),
    "share": ("regrind share",
              f'IF({IN["regrind"]}="",0,IF(ISNUMBER({IN["regrind"]}),{IN["regrind"]},NA('
              f')))', "share"),
    "virgin_used": ("virgin density", f'IF({{share}}>=1,"",IF({IN["virgin"]}<>"",'
                    + number(IN["virgin"], "bulk density")
                    + f',IF({_weighed("virgin")}<>"",{_weighed("virgin")},'
                      f'{{density}})))', "density"),
    "ground_used": ("regrind density", f'IF({IN["ground"]}<>'
                                       f'"",' + number(IN["ground"], "bulk density")
                    + f',IF({_weighed("regrind")}<>"",{_weighed("regrind")},IF({{virgin_used}}="",'
                    '{ground},IF({ground}="",{estimate},MAX(MIN({estimate},IF({ground_high}="",'
                    '{estimate},{ground_high})),IF({ground_low}="",{estimate},{ground_low}))))))',
                    "density"),
    "virgin_is": ("virgin density from", 'IF({virgin_used}="","",IF(' + IN["virgin"] + '="",IF('
                  + _weighed("virgin") + '<>"","measured","table"),IF(' + IN["virgin_from"]
                  + '="","not stated",' + IN["virgin_from"] + ")))", ""),
    "ground_is": ("regrind density from", 'IF({ground_used}="","",IF(' + IN["ground"] + '<>"",IF('
                  + IN["ground_from"] + '="","not stated",' + IN["ground_from"] + "),IF("
                  + _weighed("regrind") + '<>"","measured",IF({ground}="","rule of thumb",'
                                          '"table"))))',
                  ""),
    "estimate": ("regrind density, from virgin", 'IF({virgin_used}="","",HOPPER_REGRIND_DENSITY('
                 "{virgin_used},IF(AND(ISNUMBER({ground}),ISNUMBER({density})),{ground}/{density},"
                 "regrind_ratio),unit_system))", "density"),
    "rate_shot": ("rate from shot and cycle", f'IF(OR({IN["shot"]}="",{IN["cycle"]}=""),"",'
                  f'HOPPER_MOLDING_RATE({IN["shot"]},{IN["cycle"]},IF({IN["presses"]}="",1,'
                  f'{IN["presses"]}),unit_system))', "rate"),
    "rate": ("rate", f'IF({IN["stated"]}<>'
                     f'"",' + number(IN["stated"], "throughput") + ",{rate_shot})",
             "rate"),
    "low": ("rate, low", f'IF({{rate}}="","",IF({IN["low"]}<>"",' + number(IN["low"], "throughput")
            + ",{likely}))", "rate"),
    "likely": ("rate, likely", f'IF({{rate}}="","",IF({IN["likely"]}<>"",'
               + number(IN["likely"], "throughput") + ",{rate}))", "rate"),
    "high": ("rate, high", f'IF({{rate}}="","",IF({IN["high"]}<>'
                           f'"",' + number(IN["high"], "throughput")
             + ",MAX({rate},{likely})))", "rate"),
    "h_low": ("hours, low", f'IF({IN["hours_low"]}="",{{h_likely}},{IN["hours_low"]})', "hours"),
    "h_likely": ("hours, likely", f'IF({IN["hours_likely"]}="",IF({IN["hours"]}="","",'
                 f'{IN["hours"]}),{IN["hours_likely"]})', "hours"),
    "h_high": ("hours, high", f'IF({IN["hours_high"]}="",MAX({IN["hours"]},{{h_likely}}),'
               f'{IN["hours_high"]})', "hours"),
    "reserve": ("reserve", f'IF({IN["reserve"]}="",0,{IN["reserve"]})', "share"),
    "blend": ("bulk density of the blend", "IF({share}=0,{virgin_used},IF({share}=1,{ground_used},"
              'IF(OR({virgin_used}="",{ground_used}="",{basis}=""),"",HOPPER_BLEND_DENSITY('
              "{virgin_share}:{share},{virgin_used}:{ground_used},{basis},"
              "unit_system))))", "density"),
    "d_low": ("blend, low", 'IF({blend}="","",' + mixed("{v_low}", "{g_low}") + ")", "density"),
    "d_blend": ("blend, likely", "{blend}", "density"),
    "d_high": ("blend, high", 'IF({blend}="",'
                              '"",' + mixed("{v_high}", "{g_high}") + ")", "density"),
    "v_low": ("virgin density, low", _end("{virgin_used}", "{density_low}", "{virgin_is}", "MIN"),
              "density"),
    "v_high": ("virgin density, "
               "high", _end("{virgin_used}", "{density_high}", "{virgin_is}", "MAX"),
               "density"),
    "g_low": ("regrind density, low", _end("{ground_used}", "{ground_low}", "{ground_is}", "MIN"),
              "density"),
    "g_high": ("regrind density, "
               "high", _end("{ground_used}", "{ground_high}", "{ground_is}", "MAX"),
               "density"),
    "needs": ("needed volume", f'IF(OR({{rate}}="",{IN["hours"]}="",{{blend}}=""),"",'
              f'HOPPER_REQUIRED_VOLUME({{rate}},{IN["hours"]},{{blend}},{{reserve}},unit_system))',
              "volume"),
    "worst": ("needed volume, all at worst", _if_sized("{high}*{h_high}/{d_low}*(1+{reserve})"),
              "volume"),
    "best": ("needed volume, all at best", _if_sized("{low}*{h_low}/{d_high}*(1+"
                                                     "{reserve})"), "volume"),
    "ranged": ("1: a range of rate or hours is stated", 'IF({needs}="","",IF(OR({low}<{high},'
               '{h_low}<{h_high}),1,0))', "0"),
    "below_size": ("catalog size below", _if_sized(
        f'IF(MIN(catalog_volumes)>={{needs}}*{ALMOST},"none",'
        "HOPPER_SIZE_BELOW({needs},catalog_volumes,unit_system))"), "volume"),
    "next_size": ("next catalog size", _if_sized(
        f'IF(MAX(catalog_volumes)<{{needs}}*{ALMOST},"none",'
        "HOPPER_NEXT_SIZE({needs},catalog_volumes,0,unit_system))"), "volume"),
    "second_size": ("next catalog size but one", _if_sized(
        'IF(ISNUMBER({next_size}),IF(MAX(catalog_volumes)<={just_above},"none",'
        'HOPPER_NEXT_SIZE({just_above},catalog_volumes,0,unit_system)),"none")'), "volume"),
    "just_above": ("just above the next size", 'IF(ISNUMBER({next_size}),{next_size}*1.000001,"")',
                   "volume"),
    "half": ("needed volume of each of two", _if_sized("{needs}/2"), "volume"),
    "pair_size": ("catalog size of which two are enough", _if_sized(
        f'IF(MAX(catalog_volumes)<{{half}}*{ALMOST},"none",'
        "HOPPER_NEXT_SIZE({half},catalog_volumes,0,unit_system))"), "volume"),
    "heavy": ("density for load", 'IF({blend}="","",IF(ISNUMBER(IF({share}=1,{ground_high},'
              "{density_high})),MAX(IF({share}=1,{ground_high},{density_high}),{virgin_used},{blend}),"
              "MAX({virgin_used},{blend})*(1+load_allowance)))", "density"),
    "headroom": ("headroom", f'IF({IN["headroom"]}<>"",' + number(IN["headroom"], "length")
                 + ',IF(book_headroom="","",' + number("book_headroom", "length") + "))", "height"),
    "air": ("air", '=IF({rate}="","",HOPPER_AIRFLOW({rate}*IF(' + IN["quantity"] + '="",1,'
            + IN["quantity"] + "),{duty},unit_system))", "rate"),
    "duty": ("air per rate", 'IF(book_airflow<>"",' + number("book_airflow", "specific airflow")
             + f",{DUTY})", "duty"),
    "dryer_row": ("row of the dryer", 'IF({air}="","",IF(SUMPRODUCT((dryer_airflows<>"")*'
                  f"(dryer_airflows<{{air}}*{ALMOST}))>=COUNT(dryer_airflows),\"none\",MATCH(SMALL("
                  "dryer_airflows,SUMPRODUCT((dryer_airflows<>\"\")*(dryer_airflows<{air}*"
                  f"{ALMOST}))+1),dryer_airflows,0)))", "0"),
    "choice": ("choice", f'IF({IN["choice"]}<>"",{IN["choice"]},'
               'IF(size_policy="size below allowed",IF('
               "ISNUMBER({below_size}),IF({below_size}>={needs}*(1-policy_shortfall)*"
               f'{ALMOST},"size below","next size"),"next size"),"next size"))', ""),
    "card": ("card chosen", "IF(ISNA(MATCH({choice},{roles},0)),0,MATCH({choice},{roles},0))", "0"),
    "size": ("chosen size", 'IF({needs}="","",IF({card}=1,{below_size},IF({card}=2,{next_size},'
             "IF({card}=3,{second_size},IF({card}=4,{pair_size},NA())))))", "volume"),
    "count": ("hoppers that share the rate", "IF({card}=4,2,1)", "0"),
    "held": ("hours held", 'IF(ISNUMBER({size}),HOPPER_HELD_HOURS({size}*{count},{blend},{rate},'
             'unit_system),"")', "hours"),
    "missing": ("missing", f'MID(IF({IN["resin"]}="",", resin","")&IF({{rate}}="",", rate","")&IF('
                f'{IN["hours"]}="",", hours","")&IF(AND({{share}}>0,{{share}}<1,{{basis}}=""),", '
                f'by mass '
                'or volume","")&IF(AND({blend}="",' + IN["resin"] + '<>"",{basis}<>""),", '
                                                                    'density",""),'
                "3,99)", ""),
    "same": ("on Sizing already", "IF(ISNUMBER(" + IN["line"] + "),IF(AND({needs}<>\"\",ISNUMBER("
                                                                "{needs}),"
             "ISNUMBER({there_needs})),IF(AND(ABS({there_needs}/{needs}-1)<0.000000001,"
             "{there_model}={model}),1,0),0),0)", "0"),
    "there_needs": ("needed volume on that line", f'IF(ISNUMBER({IN["line"]}),INDEX('
                    f"{SIZING.range('needs')},{IN['line']}),\"\")", "volume"),
    "there_model": ("model on that line", f'IF(ISNUMBER({IN["line"]}),INDEX('
                    f"{SIZING.range('model')},{IN['line']}),\"\")", ""),
    "model": ("model", 'IF(ISNUMBER({size}),HOPPER_CATALOG_ENTRY({size},catalog_volumes,'
              'catalog_models,unit_system),"")', ""),
    "row": ("row of Catalog", 'IF({model}="","",MATCH({model},catalog_models,0))', "0"),
    "price": ("list price", 'IF({row}="","",IF(INDEX(catalog_prices,{row})="","",'
              "INDEX(catalog_prices,{row})))", "price"),
    "net": ("net", f'IF(ISNUMBER({{price}}),ROUND(IF({IN["quantity"]}="",1,{IN["quantity"]})*'
            f'{{count}}*{{price}}*(1-IF({IN["discount"]}="",0,{IN["discount"]})),2),"")', "price"),
    "stop": ("what stops", 'MID(IF(ISERROR({needs}),", a figure is in error",IF({needs}="","",'
             'IF(ISNUMBER({size}),"",", no such size")&'
             'IF(AND({row}<>"",demonstration<>"yes"),IF(AND(INDEX(catalog_invented,MAX(1,N({row})))<>"",'
             'INDEX(catalog_invented,MAX(1,N({row})))<>"no"),", invented model",""),"")&'
             f'IF(AND(ISNUMBER({{held}}),LEN(TRIM({IN["reason"]}))=0),IF({{held}}<{IN["hours"]}*{ALMOST},'
             '", short, no reason",""),""))),3,99)', ""),
    "look": ("to look at", 'IF(ISERROR({needs}),"",IF({needs}="","",MID(IF(ISNUMBER({held}),IF('
                           '{held}<'
             + IN["hours"] + f'*{ALMOST},", short, reason given",""),"")&IF(AND({{hours_low}}<>"",'
             f'{IN["hours"]}<{{hours_low}}*{ALMOST}),", dried shorter than usual","")&IF(AND('
             f'{{hours_high}}<>"",{IN["hours"]}*{ALMOST}>{{hours_high}}),", dried longer than '
             f'usual","")&'
             'IF({virgin_is}="table",", density from table","")&IF({share}=0,"",'
             'IF({ground_is}="table",", regrind density from table",'
             'IF({ground_is}="rule of thumb",", regrind density by a rule","")))&'
             'IF(AND({suffers}="yes",ISNUMBER({held})),IF(N({held})*{rate}/{low}*'
             f'{ALMOST}>MAX({FAR_LONGER}*{IN["hours"]},N({{hours_high}})),'
             '", may be over-dried: "&ROUND({held}*{rate}/{low},1)&" h held at the lowest rate",'
             '""),"")&IF(AND({softens}<>"",'
             'OR({softens_what}="all",{share}>0)),IF({temperature}>={softens},", softens",""),"")&'
             'IF({own_row}+{table_row}=0,", resin not in the list",'
             f'IF(LEN({{lookup}})<LEN({resins.key_of("{bare}")}),", grade not known","")),3,250)))',
             ""),
}  # fmt: skip

_FORMATS = {
    "density": FORMATS["bulk density"], "volume": FORMATS["volume"], "hours": "0.00_)",
    "rate": "[<100]0.0_);#,##0_)", "share": "0.0 %_)", "temperature": "0_)", "price": "#,##0.00_)",
    "height": "0.0_)", "moisture": FORMATS["moisture"], "duty": "0.00_)", "0": "0_)", "": "General",
}  # fmt: skip

_POSITIONS = {key: f"$C${row}" for row, key in enumerate(FIGURES, FIRST_FIGURE)}
_ROLES = f"$E${FIRST_FIGURE}:$E${FIRST_FIGURE + len(CARDS) - 1}"


def format_of(key: str) -> str:
    """Number format of a figure."""
    return _FORMATS[FIGURES[key][2]]


def figure(key: str) -> str:
    """The cell of a figure."""
    return _POSITIONS[key]


def filled(formula: str) -> str:
    """A formula with the figures' cells filled in."""
    return "=" + formula.removeprefix("=").format_map({**_POSITIONS, "roles": _ROLES})
