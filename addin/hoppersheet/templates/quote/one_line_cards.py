"""The cards of *One line*: the candidates side by side, each a column."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..styles import chosen, short
from .line_columns import ALMOST
from .one_line_figures import CARDS, IN, figure, filled
from .rows import highlight_errors, when

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

    from .grid import Pen

__all__ = ["CARD_SIZE", "write_cards"]

#: Room at the right of a card stands in the number formats: of neighbors with the same style, Calc
#: 7.4 and 25.2 indent only the first.
_PAD = "_)_)"
_TEXT = f"0{_PAD};-0{_PAD};0{_PAD};@{_PAD}"
_HOURS = f"0.00{_PAD}"
_SIZED = f"[<100]0.0{_PAD};#,##0{_PAD}"


def _or_text(figure: str) -> str:
    """A number format whose cell may say in words why there is no figure."""
    return f"{figure}{_PAD};-{figure}{_PAD};{figure}{_PAD};@{_PAD}"


CARD_SIZE = {"K": "below_size", "M": "next_size", "O": "second_size", "Q": "pair_size"}


def _card(letter: str, count: int) -> list[tuple[str, str]]:
    """(formula, number format) of the rows 6 to 17 of a card."""
    size = figure(CARD_SIZE[letter])
    volume, model = f"{letter}$7", f"{letter}$6"

    def sized(formula: str) -> str:
        return filled(f'IF(ISNUMBER({size}),{formula},"")')

    row = f"MATCH({model},catalog_models,0)"
    needed = f"({{rate}}*{IN['hours']}*(1+{{reserve}})/{volume})"  # density at which it just fits
    mass = (
        f"({volume}/({{rate}}*{IN['hours']}*(1+{{reserve}}))-1/{{virgin_used}})"
        "/(1/{ground_used}-1/{virgin_used})"
    )
    by_volume = f"({needed}-{{virgin_used}})/({{ground_used}}-{{virgin_used}})"
    share = f'IF({{basis}}="mass",{mass},{by_volume})'
    return [
        (filled(f'IF(ISNUMBER({size}),HOPPER_CATALOG_ENTRY({size},catalog_volumes,catalog_models,'
            f'unit_system),IF({{needs}}="","",{size}))'), _TEXT),
        (sized(f"{size}*{count}"), _SIZED),
        (sized(f'IF({volume}<{{needs}}*{ALMOST},"▼ "&ROUND(100*(1-{volume}/{{needs}}),1)&" % '
               f'short",'
               '"held")'), _TEXT),
        (sized(f"HOPPER_HELD_HOURS({volume},{{blend}},{{rate}},unit_system)"), _HOURS),
        (sized(f"HOPPER_HELD_HOURS({volume},{{blend}},{{likely}},unit_system)"), _HOURS),
        (sized(f'IF({{ranged}}=0,"no range",IF(AND({letter}$50>0.99,{volume}<{{worst}}*{ALMOST}),'
               f'"> 99 %",IF(AND({letter}$50<0.01,{volume}*{ALMOST}>{{best}}),"< 1 %",'
               f"{letter}$50)))"),
         _or_text("0 %")),
        (sized(f"HOPPER_MAX_THROUGHPUT({volume},{{blend}},{IN['hours']},unit_system)"),
         _SIZED),
        (sized(f'IF(OR({{virgin_used}}="",{{ground_used}}="",{{basis}}=""),"not known",'
               f'IF({{ground_used}}>={{virgin_used}},"not known",IF({share}>=1,"any",'
               f'IF({share}<0,"none",{share}))))'), _or_text("0 %")),
        (sized(f'IF(INDEX(catalog_empty_masses,{row})="","not known",HOPPER_LOADED_MASS(INDEX('
               f"catalog_empty_masses,{row}),INDEX(catalog_gross,{row}),{{heavy}},unit_system))"),
         _or_text("#,##0")),
        (sized(f'IF(INDEX(catalog_heights,{row})="","not known",INDEX(catalog_heights,'
               f'{row}))'), _or_text("0.0")),
        (sized(f'IF(INDEX(catalog_prices,{row})="","none",INDEX(catalog_prices,{row})*{count})'),
         _or_text("#,##0")),
        (filled(f'IF(ISNUMBER({size}),IF({{choice}}={letter}$5,"● chosen","○"),"")'), _TEXT),
    ]  # fmt: skip


_CARD_LABELS = (
    "", '="Usable volume, "&unit_volume', "Drying time is",
    filled('"Hours held, stated "&IF({rate}="","rate",ROUND({rate},1)&" "&unit_throughput)'),
    filled('"Hours held, likely "&IF({likely}="","rate",ROUND({likely},1)&" "&unit_throughput)'),
    "Chance held (stated ranges)", '="Highest rate, "&unit_throughput',
    "Regrind that still fits",
    filled('"Loaded, each, "&unit_mass&IF({heavy}="",""," (at "&ROUND({heavy},2)&")")'),
    filled('"Height, "&unit_length&IF({headroom}="",""," (headroom "&ROUND({headroom},1)&")")'),
    '="List price, "&currency', "Choice",
)  # fmt: skip


def write_cards(sheet: Worksheet, pen: Pen) -> None:
    """The labels and the four cards, rows 5 to 17."""
    pen.put("I5", "Candidates", "strong")
    for row, label in enumerate(_CARD_LABELS, 6):
        pen.put(f"I{row}", label or None, "label")
    for row in (9, 14, 17):
        pen.rule(f"I{row}", "top", "hair")
    for letter, role, count in CARDS:
        pen.put(f"{letter}5", role, "label", _TEXT, at="right")
        for row, (formula, fmt) in enumerate(_card(letter, count), 6):
            bold = row in (6, 8, 17)
            pen.put(f"{letter}{row}", formula, "strong" if bold else "plain", fmt, at="right",
                    size=10, shrink=row == 6)  # fmt: skip
        span = f"{letter}5:{letter}17"
        pen.rule(span, "left", "thin", "C3CDD4")
        pen.rule(span, "right", "thin", "C3CDD4")
        pen.rule(f"{letter}5", "top", "thin", "C3CDD4")
        pen.rule(f"{letter}17", "bottom", "thin", "C3CDD4")
        for row in (9, 14, 17):
            pen.rule(f"{letter}{row}", "top", "hair")
        for row in (9, 10):
            when(sheet, f"{letter}{row}", f"AND(ISNUMBER({letter}{row}),{letter}{row}<"
                                          f"{IN['hours']}*{ALMOST})",
                 short(_HOURS))  # fmt: skip
        when(sheet, f"{letter}8", f'LEFT({letter}8,1)="▼"', short())
        when(sheet, f"{letter}13", filled(f"AND(ISNUMBER({letter}13),{letter}13<{{share}}*"
                                      f"{ALMOST})")[1:],
             short(f"0 %{_PAD}"))  # fmt: skip
        when(sheet, f"{letter}15", filled(f"AND(ISNUMBER({letter}15),ISNUMBER({{headroom}}),"
                                          f"{letter}15>"
                                      "{headroom})")[1:], short(f"0.0{_PAD}"))  # fmt: skip
        when(sheet, span, f'LEFT({letter}$17,1)="●"', chosen())
        highlight_errors(sheet, f"{letter}6:{letter}16")
