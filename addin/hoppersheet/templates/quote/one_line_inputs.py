"""What is typed on *One line*: job and resin, densities, demand, choice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..layout import unit_name
from ..validation import Rule, a_share, a_text, a_whole, one_of, quantity
from .line_checks import SIZING
from .line_columns import BASES, FORMS, TYPED
from .one_line_figures import CHOICES, IN, filled, format_of

if TYPE_CHECKING:
    from .grid import Pen

__all__ = ["write_inputs"]

_RULES = {column.key: column.rule for column in TYPED}


def _rule(key: str) -> Rule:
    found = _RULES.get(key)
    if found is not None:
        return found
    return {
        "rate_from": a_text(40, "Who says so."), "hours_from": a_text(40, "Who says so."),
        "hours_low": quantity("drying hours"), "hours_likely": quantity("drying hours"),
        "hours_high": quantity("drying hours"),
        "line": a_whole(1, SIZING.reach, "The line of Sizing that it was pasted into."),
    }[key]  # fmt: skip


def write_inputs(pen: Pen) -> None:
    """Columns B to G, rows 5 to 27."""

    def label(row: int, text: str, needed: bool = False, measure: str = "") -> None:
        value = f'="{text}, "&{unit_name(measure)}' if measure else text
        pen.put(f"B{row}", value, "strong" if needed else "label")

    def typed(key: str, where: str, title: str, fmt: str = "", **look: Any) -> None:
        rule = look.pop("rule", None) or _rule(key)
        pen.typed(where, rule, title, None, fmt, **look)

    def heads(row: int, *texts: str) -> None:
        pen.put(f"B{row}", texts[0], "section")
        for letter, text in zip("CDEFG", texts[1:], strict=True):
            last = letter == "G"
            pen.put(f"{letter}{row}", text or None, "label", at="left" if last else "right",
                    indent=1 if last else None)  # fmt: skip
        pen.rule(f"C{row}:G{row}", "bottom")

    text: dict[str, Any] = {"at": "left", "indent": 1}
    for row in (5, 19, 22):
        for letter in "BCDEFG":
            pen.put(f"{letter}{row}", None, "section")
    pen.put("B5", "Job and resin", "section")
    label(6, "Job")
    typed("job", "C6:G6", "Job", **text)
    label(7, "Resin", True)
    typed("resin", "C7:D7", "Resin", needed=True, **text)
    pen.put("E7:G7", "list: your resins first, then table", "label")
    label(8, "Form")
    typed("form", "C8:E8", "Form", rule=one_of(*FORMS), **text)
    label(9, "Regrind share", True)
    typed("regrind", "C9", "Regrind share", "0 %_)", needed=True)
    pen.put("D9:E9", filled('IF(ISNUMBER({share}),"virgin "&ROUND(100*(1-{share}),1)&" %",'
                        '"")'), "label",
            indent=1)  # fmt: skip
    pen.put("F9", "by", "label", at="right")
    typed("basis", "G9", "Shares by", needed=True, **text)
    heads(10, "Bulk density", "taken", "low", "table", "high", "taken from")
    pen.put("B10", '="Bulk density, "&unit_bulk_density', "section")
    pen.put("F8:G8", filled('IF({temperature}="","","dried at "&ROUND({temperature},0)&" "&'
                        'unit_temperature)'), "label", indent=1)  # fmt: skip
    density = format_of("blend")
    for row, name, key, low, table, high, origin in (
        (11, "Virgin", "virgin", "density_low", "density", "density_high", "virgin_from"),
        (12, "Regrind", "ground", "ground_low", "ground", "ground_high", "ground_from"),
    ):  # fmt: skip
        # What is taken where nobody typed a density.
        used = f"{{{key}_used}}"
        taken = f'"{name}: "&ROUND({used},IF(unit_system="US",1,3))&" taken"'
        blank = f'AND({IN[key]}="",ISNUMBER({used}))'
        pen.put(f"B{row}", filled(f'IF({blank},{taken},"{name}")'), "label")
        typed(key, f"C{row}", f"{name} density", density)
        for letter, part in zip("DEF", (low, table, high), strict=True):
            pen.put(f"{letter}{row}", filled("{" + part + "}"), "label", density, at="right")
        typed(origin, f"G{row}", f"{name} density from", rule=one_of(*BASES), **text)
    label(13, "Blend")
    pen.put("C13", filled("{blend}"), "strong", density, at="right")
    pen.put("D13", filled("{d_low}"), "label", density, at="right")
    pen.put("F13", filled("{d_high}"), "label", density, at="right")
    # The origins of both stand under Rests on.
    pen.put("G13", filled('IF({virgin_is}&{ground_is}="","worked out",IF({share}=1,{ground_is},'
                      'IF(AND({share}>0,{share}<1),"worked out",{virgin_is})))'), "label",
            indent=1)  # fmt: skip
    heads(14, "Demand", "stated", "low", "likely", "high", "says who")
    for row, name, measure, keys, fmt in (
        (15, "Rate", "throughput", ("stated", "low", "likely", "high", "rate_from"), "General_)"),
        (16, "Drying time, "
             "h", "", ("hours", "hours_low", "hours_likely", "hours_high", "hours_from"),
         "0.0#_)"),
    ):  # fmt: skip
        label(row, name, True, measure)
        for letter, key, heading in zip(
            "CDEF", keys, ("stated", "low", "likely", "high"), strict=False
        ):
            typed(
                key,
                f"{letter}{row}",
                f"{name.partition(',')[0]} {heading}",
                fmt,
                needed=letter == "C",
            )
        typed(keys[4], f"G{row}", "Says who", **text)
    label(17, "Or shot, cycle, presses")
    typed("shot", "C17", "Shot mass", 'General" g"')
    typed("cycle", "D17", "Cycle time", 'General" s"')
    typed("presses", "E17", "Presses", "0_)")
    pen.put(
        "F17:G17",
        filled(f'IF({{rate_shot}}="","",IF({IN["stated"]}="","gives "&ROUND({{rate_shot}},1),IF('
               f'ABS('
           '{rate_shot}/{rate}-1)<=0.02,"agrees: "&ROUND({rate_shot},1),"▲ gives "&'
           'ROUND({rate_shot},1))))'),
        "label", indent=1,
    )  # fmt: skip
    label(18, "Headroom", measure="length")
    typed("headroom", "C18", "Headroom", "0.0_)")
    pen.put("D18:E18", "Reserve", "label", at="right")
    typed("reserve", "F18", "Reserve", "0 %_)")
    pen.put("G18", "blank: none", "label", indent=1)
    pen.put("B19", "Dryer for this line", "section")
    label(20, "Air needed", measure="airflow")
    pen.put("C20", filled("{air}"), "strong", "#,##0_)", at="right")
    pen.put(
        "D20:G20",
        filled('IF({air}="","",ROUND({duty},2)&" "&unit_specific_airflow&IF({temperature}="","",";'
               ' at '
           '"&'
           'ROUND({temperature},0)&" "&unit_temperature)&IF({moisture}="","","; to "&'
           'ROUND(100*{moisture},3)&" %"))'),
        "label", indent=1, shrink=True,
    )  # fmt: skip
    label(21, "Next dryer up")
    pen.put("C21:E21", filled('IF(ISNUMBER({dryer_row}),INDEX(dryer_models,{dryer_row}),'
                              '{dryer_row}&'
                          '"")'),
            "plain", indent=1)  # fmt: skip
    pen.put("F21:G21", filled('IF(ISNUMBER({dryer_row}),"● gives "&ROUND(INDEX(dryer_airflows,'
                          '{dryer_row}),0)'
                          '&" "&unit_airflow,IF({dryer_row}="none","■ larger than catalog",'
                          '""))'),
            "plain", indent=1, shrink=True)  # fmt: skip
    pen.put("B22", "Your choice", "section")
    label(23, "Hopper", True)
    typed("choice", "C23:E23", "Hopper", needed=True, rule=one_of(
        *CHOICES, prompt="Blank: the policy in Settings, most often the next "
                         "size."), **text)  # fmt: skip
    pen.put("F23:G23", filled('{model}&IF({count}=2," x 2","")'), "strong", indent=1)
    label(24, "Quantity, discount")
    typed("quantity", "C24", "Quantity", "0_)", rule=a_whole(
        1, 1000, "How often the whole line is needed: 2 doubles rate, hoppers, air and price. "
        "Blank: 1."))  # fmt: skip
    typed("discount", "D24", "Discount", "0 %_)", rule=a_share(prompt="Blank: none."))
    pen.put("E24", "Net", "label", at="right")
    pen.put("F24:G24", filled("{net}"), "strong", "#,##0.00_)", at="left", indent=1)
    label(25, "Reason, if short")
    typed("reason", "C25:G25", "Reason, if short", **text)
    label(26, "Goes to line")
    typed("line", "C26", "Line of Sizing", "0_)")
    pen.put(
        "D26:G26",
        filled(f'IF({{begun}}<=0,"",IF(ISNUMBER({IN["line"]}),IF({{same}}=1,"● same figures there",'
           '"▲ copy row_for_sizing there"),"of Sizing: copy row_for_sizing there"))'),
        "plain", indent=1, shrink=True,
    )  # fmt: skip
    pen.put(
        "B27:G27", "Bold: needed. Straw: you type. Grey: table or worked out.", "note", wrap=False
    )
