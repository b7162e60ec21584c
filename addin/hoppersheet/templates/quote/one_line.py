"""Sheet *One line*: half of all quotes are one line.

The answer stands on top, what is typed on the left (``one_line_inputs``), the candidates in the
middle (``one_line_cards``), doubts and what the answer rests on at the right. The name
row_for_sizing is the line as Sizing takes it, to be copied and pasted there as values. Below
stands how each figure came about (``one_line_figures``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..layout import define_name
from ..styles import FORMATS, STATES
from .grid import Pen, landscape, letters_between
from .line_columns import ALMOST, TYPED
from .one_line_cards import CARD_SIZE, write_cards
from .one_line_figures import (
    CARDS,
    FIGURES,
    FIRST_FIGURE,
    FIRST_FOR_SIZING,
    IN,
    ROW_FOR_SIZING,
    SHEET,
    figure,
    filled,
    format_of,
    mixed,
)
from .one_line_inputs import write_inputs
from .rows import highlight_errors, highlight_glyphs

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["write"]


# --- answer, doubts, what it rests on -----------------------------------------------------


#: First row with what the answer says of a card.
_WORDS = 60


def _in_words(letter: str, count: int) -> str:
    """What the answer says of a card: what it holds, or by how much it is short."""
    model = f'{letter}6&" "' if count == 1 else f'"{count} x "&{letter}6&" "'
    held = f'ROUND({letter}9,2)&" h"'
    short, holds = ("is", "holds") if count == 1 else ("are", "hold")
    return filled(
        f'IF(ISNUMBER({letter}9),{model}&IF({letter}7<{{needs}}*{ALMOST},"{short} "&'
        f'ROUND(100*(1-{letter}7/{{needs}}),1)&" % short ("&{held}&")","{holds} "&{held}&'
        f'" of "&{IN["hours"]}&" h"),"")'
    )


def _volume(cell: str) -> str:
    """A volume in a sentence, with the digits that its figure has."""
    return f"ROUND({cell},IF({cell}<100,1,0))"


def _density(cell: str) -> str:
    return f'ROUND({cell},IF(unit_system="US",1,3))&" "&unit_bulk_density'


#: The table gives a ratio to the virgin density, and ends within which its product is kept.
_GROUND_IS = (
    'IF({ground_is}<>"table",{ground_is},IF({virgin_used}="","table",IF(ABS({ground_used}/'
    '{estimate}-1)<0.000000001,"ratio of the table","ratio, end of the table")))'
)
_OK = "ISNUMBER({needs})"
_SWINGS = (
    ("Rate", "{low}*" + IN["hours"] + "/{blend}", "{high}*" + IN["hours"] + "/{blend}",
     '"no range"'),
    ("Drying time", "{rate}*{h_low}/{blend}", "{rate}*{h_high}/{blend}", '"no range"'),
    ("Regrind density", "{rate}*" + IN["hours"] + "/" + mixed("{virgin_used}", "{g_high}"),
     "{rate}*" + IN["hours"] + "/" + mixed("{virgin_used}", "{g_low}"),
     'IF({share}=0,"not in it",IF({ground_is}="measured","measured","no range"))'),
    ("Virgin density", "{rate}*" + IN["hours"] + "/" + mixed("{v_high}", "{ground_used}"),
     "{rate}*" + IN["hours"] + "/" + mixed("{v_low}", "{ground_used}"),
     'IF({share}=1,"not in it",IF({virgin_is}="measured","measured","no range"))'),
)  # fmt: skip
_SWING_ROW = 54  # columns I (name), K (low), M (high), O (width), Q (in words)


def _write_answer(sheet: Worksheet, pen: Pen) -> None:
    words = [f"K{row}" for row in range(_WORDS, _WORDS + len(CARDS))]
    pen.put(f"I{_WORDS - 1}", "The cards in words", "label")
    for row, (letter, role, count) in enumerate(CARDS, _WORDS):
        pen.put(f"I{row}", role, "label")
        pen.put(f"K{row}", _in_words(letter, count), "plain")
    chosen = '""'
    for number, cell in reversed(list(enumerate(words, 1))):
        chosen = f"IF({{card}}={number},{cell},{chosen})"
    # Beside the next size stands the one below; beside any other the next size.
    other = f"IF({{card}}=2,{words[0]},{words[1]})"
    pen.put("B1:E1", "One line: which hopper?", "label", bold=True, size=10)
    pen.put("I1:Q1", '=IF(demonstration="yes","Demonstration: models, prices, heights and masses '
                     'are '
            'invented","")', "note", wrap=False, up="center")  # fmt: skip
    pen.put(
        "F1:G1",
        filled(f'IF({{begun}}<=0,"",IF({{stop}}<>"","{STATES["stop"]} "&{{stop}},IF({{missing}}<>'
               f'"",'
           f'"{STATES["unfinished"]} unfinished",IF({{look}}<>"","{STATES["look"]} look",'
           f'"{STATES["ready"]} ready"))))'),
        "strong", at="center", shrink=True,
    )  # fmt: skip
    highlight_glyphs(sheet, "F1:G1")
    pen.put(
        "B2:T2",
        filled(
            'IF({begun}<=0,"Type resin, rate and hours.",IF(ISERROR({needs}),'
            '"A typed figure is in error: see the cells below row 45.",IF({needs}="",'
            f'"Still missing: "&{{missing}},"Needs "&{_volume("{needs}")}&" "&unit_volume&": "&'
            f'IF({chosen}="",IF(ISNUMBER({{next_size}}),"no such size",'
            f'"larger than the catalog"),{chosen})&IF({other}="","","; "&'
            f"{other}))))"
        ),
        "answer", shrink=True,
    )  # fmt: skip
    tall = "&".join(
        f'IF(AND(ISNUMBER({letter}15),ISNUMBER({{headroom}})),IF({letter}15>{{headroom}}," "&'
        f"{letter}6&"
        f'" is "&ROUND({letter}15-{{headroom}},1)&" "&unit_length&" taller than the headroom.",'
        f'""),"")'
        for letter, _, _ in CARDS
    )
    pen.put(
        "B3:T3",
        filled('IF({needs}="","",IF({missing}<>"","Still missing: "&{missing}&". ","")&IF(AND('
           'ISNUMBER({below_size}),{ranged}>0),K6&" would hold "&ROUND(K10,2)&" h at the likely "&'
           'ROUND({likely},1)&" "&unit_throughput&"; its chance over the stated ranges is "&'
           f'IF(ISNUMBER(K11),ROUND(100*K11,0)&" %",K11)&".","")&{tall}&'
           'IF({look}<>""," Look: "&{look}&".",""))'),
        "label", size=10, shrink=True,
    )  # fmt: skip
    pen.rule("B4:T4", "top", "medium")


def _write_doubts(pen: Pen) -> None:
    for row, (name, low, high, none) in enumerate(_SWINGS, _SWING_ROW):
        pen.put(f"I{row}", name, "label")
        for letter, formula in (("K", low), ("M", high)):
            pen.put(f"{letter}{row}", filled(f'IF({_OK},{formula}*(1+{{reserve}}),"")'), "plain",
                    FORMATS["volume"], at="right")  # fmt: skip
        # The row keeps equal widths apart.
        pen.put(f"O{row}", f'=IF(ISNUMBER(K{row}),M{row}-K{row}+ROW()/1000000000,"")', "plain",
                FORMATS["volume"], at="right")  # fmt: skip
        words = f'{_volume(f"K{row}")}&" to "&{_volume(f"M{row}")}'
        pen.put(f"Q{row}", filled(f'IF(ISNUMBER(O{row}),IF(M{row}<=K{row}*1.000001,{none},{words}),'
                                  '"")'), "plain", at="right")  # fmt: skip
    span = f"$O${_SWING_ROW}:$O${_SWING_ROW + 3}"
    for where, col, rows in (("S", "T", (16, 17)), ("I", "K", (31, 32))):
        pen.put(f"{where}{rows[0]}", "Still estimated", "section")
        last = f"{col}{rows[0]}" if col == "T" else f"K{rows[0]}:M{rows[0]}"
        pen.put(last, '="needs, "&unit_volume', "section", at="right")
        for n in range(1, 5):
            row = rows[1] + n - 1
            position = f"MATCH(LARGE({span},{n}),{span},0)"
            at = f"INDEX($I${_SWING_ROW}:$I${_SWING_ROW + 3},{position})"
            pen.put(f"{where}{row}", f'=IF(COUNT({span})<4,"",{at})', "plain")
            words = f"INDEX($Q${_SWING_ROW}:$Q${_SWING_ROW + 3},{position})"
            cell = f"{col}{row}" if col == "T" else f"K{row}:M{row}"
            pen.put(cell, f'=IF(COUNT({span})<4,"",{words})', "plain", at="right")
    sums = filled(
        f'IF({_OK},IF({{worst}}<={{best}}*1.000001,"No range is stated: type low and high.",'
        f'"Worst: "&{_volume("{worst}")}&" "&unit_volume&", best: "&{_volume("{best}")}&". '
        'Ask first for what stands on top."),"")'
    )
    pen.put("S21:T22", sums, "text", color="55636E")
    pen.put("I36:M36", sums, "label", shrink=True)
    look_out = filled(f'IF({IN["resin"]}="","Look out",{IN["resin"]}&": look out")')
    caution = filled('IF(ISNUMBER({caution}),"▲ "&INDEX(caution_texts,{caution}),"")')
    pen.put("B28:G29", filled(
        'IF({needs}="","",IF(ISNUMBER({held}),"▲ Full, it is heavy: a throat, stand or mezzanine '
        'is for a licensed engineer.",""))'
    ), "text")  # fmt: skip
    for head, body in (("S5:T5", "S6:T15"), ("B31:G31", "B32:G36")):
        pen.put(head, look_out, "section")
        pen.put(body, caution, "text")
    rests = (
        filled('IF({share}=0,"Virgin only",IF({share}=1,"Regrind only",IF({basis}="mass","By '
               'mass: 1 / '
           'sum(share / density)",IF({basis}="volume","By volume: sum(share x density)",""))))'),
        '="Catalog sizes are "&IF(catalog_sizes_are="","not stated as usable",catalog_sizes_are)',
        '=unit_system&" units; all resin at one pace"',
        filled(f'IF({{heavy}}="","","Load: at "&{_density("{heavy}")})'),
        filled(f'IF({{virgin_is}}<>"","Virgin: "&{_density("{virgin_used}")}&", "&{{virgin_is}},'
               f'IF({{ground_is}}="","","Regrind: "&{_density("{ground_used}")}&", "&'
               f"{_GROUND_IS}))"),
        filled('IF(OR({share}=0,{virgin_is}="",{ground_is}=""),"","Regrind: "&'
               f'{_density("{ground_used}")}&", "&{_GROUND_IS})'),
    )  # fmt: skip
    for head, a, b, first in (("S23:T23", "S", "T", 24), ("O31:Q31", "O", "Q", 32)):
        apart = 1 if a == "O" else None  # from the figures beside it
        pen.put(head, "Rests on", "section", indent=apart)
        for row, text in enumerate(rests, first):
            pen.put(f"{a}{row}:{b}{row}", text, "label", shrink=True, indent=apart)


def _write_figures(book: Workbook, sheet: Worksheet, pen: Pen) -> None:
    """The line as Sizing takes it, and how each figure came about."""
    row = ROW_FOR_SIZING
    ends = [_letter(FIRST_FOR_SIZING + n) for n in (0, len(TYPED) - 1)]
    define_name(book, "row_for_sizing", f"'{SHEET}'!${ends[0]}${row}:${ends[1]}${row}")
    pen.put(
        f"B{row - 2}",
        f'="For Sizing: choose row_for_sizing in the Name Box ({ends[0]}{row} to {ends[1]}{row}), '
        'copy it, and paste the values into the row of the line, from column C on."', "strong",
    )  # fmt: skip
    for offset, column in enumerate(TYPED):
        letter = _letter(FIRST_FOR_SIZING + offset)
        pen.widths(**{letter: 76})
        pen.put(f"{letter}{row - 1}", column.heading, "unit", shrink=True)
        pen.put(f"{letter}{row}", _for_sizing(column.key), "calc", shrink=True)
    pen.put(f"B{FIRST_FIGURE - 2}", "How each figure comes about", "section")
    for key, (label, formula, shown) in FIGURES.items():
        cell = figure(key).replace("$", "")
        pen.put(f"B{cell[1:]}", label, "label", shrink=True)
        where = f"{cell}:D{cell[1:]}" if shown == "price" else cell
        pen.put(where, filled(formula), "calc", format_of(key), at="right", shrink=True)
    for n, (_, role, _) in enumerate(CARDS):
        pen.put(f"E{FIRST_FIGURE + n}", role, "label")
    pen.put("I50", "chance held, as worked out", "label")
    for letter, _, _ in CARDS:
        size = figure(CARD_SIZE[letter])
        pen.put(
            f"{letter}50",
            filled(f'IF(ISNUMBER({size}),HOPPER_CHANCE_HELD({letter}$7/(1+{{reserve}}),{{low}}:{{high}},'
               '{h_low}:{h_high},{d_low}:{d_high},unit_system),"")'),
            "plain", "0.000_)", at="right",
        )  # fmt: skip
    pen.put("I51", "on Sizing, or nothing typed", "label")
    pen.put("K51", filled("IF({begun}<=0,0,IF({same}=1,0,1))"), "plain", "0", at="right")
    pen.name("K51", "one_line_open")
    pen.put("I53", "Needed volume, each range alone: low, high, width", "label")


def _letter(column: int) -> str:
    from openpyxl.utils import get_column_letter

    return get_column_letter(column)


def _for_sizing(key: str) -> str:
    if key == "choice":
        return filled(
            'IF({needs}="","",IF({card}=1,"size below",IF({card}=3,{model},"next size")))'
        )
    if key == "split":
        return filled('IF({count}=2,2,"")')
    source = IN.get(key)
    return f'=IF({source}="","",{source})' if source else '=""'


def write(book: Workbook, units: str) -> None:
    """Add the sheet, and the sheet of its chart's curves."""
    from .curves import write_chart

    sheet = book.create_sheet(SHEET)
    sheet.sheet_view.showGridLines = False
    pen = Pen(sheet)
    pen.widths(A=6, B=130, C=50, D=52, E=48, F=48, G=100, H=14, I=162, J=6, K=100, L=6, M=100, N=6,
               O=100, P=6, Q=100, R=14, S=120, T=76, U=14)  # fmt: skip
    for first, last, px in ((1, 1, 22), (2, 2, 28), (3, 3, 20), (4, 4, 10), (5, 37, 17)):
        pen.heights(first, last, px)
    write_inputs(pen)
    write_cards(sheet, pen)
    _write_answer(sheet, pen)
    _write_doubts(pen)
    _write_figures(book, sheet, pen)
    highlight_glyphs(sheet, "F21:G21")
    highlight_glyphs(sheet, "D26:G26")
    highlight_errors(sheet, f"C{FIRST_FIGURE}:C{FIRST_FIGURE + len(FIGURES) - 1}")
    pen.put("I18:Q18", "Hours held against throughput; a dot is a size's highest rate", "section")
    write_chart(book, sheet, units)
    landscape(sheet, "A1:R37", letters_between("A", "R"), units)
