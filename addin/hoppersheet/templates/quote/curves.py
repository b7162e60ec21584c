"""The chart of *One line*: hours held against throughput, a curve for each candidate.

The curves stand on the sheet *Curves*, throughput as a share of the stated rate, so that the axis
fits every job. What is not drawn is -1, below the axis. The names of the curves stand in a column
of their own, left of where the curves begin; those that would touch are moved up, one over the
other. The names of the vertical lines stand at their upper ends, above the curves.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.data_source import StrRef
from openpyxl.chart.label import DataLabel, DataLabelList
from openpyxl.chart.layout import Layout, ManualLayout
from openpyxl.chart.series import SeriesLabel
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, TwoCellAnchor
from openpyxl.drawing.text import (
    CharacterProperties,
    Paragraph,
    ParagraphProperties,
    RichTextProperties,
)
from openpyxl.drawing.text import Font as Face

from ..styles import AMBER, INK, MUTED, PINE, RULE, TYPED, WHITE
from .grid import landscape, letters_between, new_sheet

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

    from .grid import Pen

__all__ = ["POINTS", "SHEET", "write_chart"]

SHEET = "Curves"
#: Points of a curve, from 60 % to 140 % of the stated rate.
POINTS = 21
_LOW, _HIGH = 60, 140
#: Where the axis begins: the names of the curves stand left of them.
_AXIS = 50
_FIRST = 5
_LAST = _FIRST + POINTS - 1
#: Letter of the card, letters of its curve where not chosen and where chosen.
_CURVES = (("K", "B", "C"), ("M", "D", "E"), ("O", "F", "G"), ("Q", "H", "I"))
#: First row of the names: name, where it stands, how high its curve begins, its place among them
#: from below, the heights in that order, and the same moved apart.
_NAMES = 30
#: How far apart two names stand, as a share of the highest curve: a line of text.
_APART = 0.1
#: From here on a name has room at the left of its line, and up to there at the right.
_ROOM_LEFT, _ROOM_RIGHT = 80, 122


def _text(size: float, color: str, bold: bool = False) -> RichText:
    face = CharacterProperties(
        sz=int(size * 100), b=bold, solidFill=color, latin=Face(typeface="Arial")
    )
    return RichText(
        bodyPr=RichTextProperties(wrap="none"),
        p=[Paragraph(pPr=ParagraphProperties(defRPr=face), endParaRPr=CharacterProperties())],
    )


def _there(cell: str) -> str:
    return f"'One line'!{cell}"


def _write_points(book: Workbook, units: str) -> Worksheet:
    from .one_line_figures import figure

    sheet, pen = new_sheet(
        book,
        SHEET,
        "Curves of the chart on One line",
        "Calculated; do not type here. Below 0: not shown.",
    )
    pen.widths(**dict.fromkeys("BCDEFGHIKLMNOPQRST", 56), A=74, J=14)
    pen.put(f"A{_FIRST - 1}", "rate, %", "unit")
    rate, blend = _there(figure("rate")), _there(figure("blend"))
    for row in range(_FIRST, _LAST + 1):
        share = _LOW + (_HIGH - _LOW) * (row - _FIRST) / (POINTS - 1)
        pen.put(f"A{row}", share, "plain", "0")
    for card, other, picked in _CURVES:
        volume = _there(f"${card}$7")
        for letter, mark in ((other, "○"), (picked, "● chosen")):
            known = f'AND(ISNUMBER({volume}),{_there(f"${card}$17")}="{mark}")'
            pen.put(
                f"{letter}{_FIRST - 1}",
                f'=IF({known},ROUND({volume},IF({volume}<100,1,0))&" "&unit_volume,"")', "unit",
            )  # fmt: skip
            for row in range(_FIRST, _LAST + 1):
                pen.put(
                    f"{letter}{row}", f"=IF({known},{volume}*{blend}/({rate}*$A{row}/100),-1)",
                    "plain", "0.00",
                )  # fmt: skip
    _write_lines(pen)
    _write_names(pen)
    landscape(sheet, f"A1:T{_NAMES + 10}", letters_between("A", "T"), units, fit=True)
    sheet.page_setup.fitToHeight = 1
    return sheet


def _write_lines(pen: Pen) -> None:
    """The drying time, the rates, the realistic range, and the highest rate of each size."""
    from .one_line_figures import IN, figure

    rate, hours, needs, likely, low, high = (
        _there(cell) for cell in (figure("rate"), IN["hours"],
                                  *map(figure, ("needs", "likely", "low", "high")))
    )  # fmt: skip
    top = f"MAX($B${_FIRST}:$I${_FIRST},2*N({hours}))"
    # A line that would stand on another, or off the chart, is not drawn.
    drawn = {"M": "TRUE", "O": f"AND(100*{likely}/{rate}>={_LOW},100*{likely}/{rate}<={_HIGH},"
             f"ABS({likely}/{rate}-1)>0.002)", "Q": f"{low}<{high}", "K": "TRUE"}  # fmt: skip
    across = f"100*{likely}/{rate}"
    lines = (
        ("K", "L", "asked", ((_LOW, hours), (_HIGH, hours))),
        ("M", "N", "stated", ((100, "0"), (100, top))),
        ("O", "P", "likely", ((across, "0"), (across, top))),
        ("Q", "R", "realistic", tuple(
            (f"MIN(MAX(100*{end}/{rate},{_AXIS}),{_HIGH})", f"0.1*N({hours})")
            for end in (low, high))),
    )  # fmt: skip
    ready = f"ISNUMBER({needs})"
    for x, y, name, points in lines:
        pen.put(f"{x}{_FIRST - 1}", "%", "unit")
        pen.put(f"{y}{_FIRST - 1}", name, "unit")
        for row, (right, up) in enumerate(points, _FIRST):
            for letter, formula in ((x, right), (y, up)):
                # A line without length: not drawn, but a blank chart has an axis of whole hours.
                nothing = {"M": 100, "N": 8}.get(letter, -1)
                pen.put(f"{letter}{row}", f"=IF({ready},IF({drawn[x]},{formula},-1),{nothing})",
                        "plain", "0.0" if letter == x else "0.00")  # fmt: skip
    pen.put(f"S{_FIRST - 1}", "%", "unit")
    pen.put(f"T{_FIRST - 1}", "dot", "unit")
    for row, (card, *_) in enumerate(_CURVES, _FIRST):
        most = f"100*{_there(f'${card}$7')}/{needs}"
        known = f"AND({ready},ISNUMBER({_there(f'${card}$7')}))"
        within = f"AND({most}>={_LOW},{most}<={_HIGH})"
        for letter, value, fmt in (("S", most, "0.0"), ("T", hours, "0.00")):
            pen.put(f"{letter}{row}", f"=IF({known},IF({within},{value},-1),-1)", "plain", fmt)


def _write_names(pen: Pen) -> None:
    """What the lines are called, and where each name stands."""
    from .one_line_figures import IN, figure

    first, last = _NAMES, _NAMES + len(_CURVES)
    heads = ("name", "%", "begins at", "from below", "in order", "moved apart")
    for letter, head in zip("ABCDEF", heads, strict=True):
        pen.put(f"{letter}{first - 1}", head, "unit")
    wanted = f"$C${first}:$C${last}"
    for row, (_, other, picked) in enumerate(_CURVES, first):
        named = (f"{other}{_FIRST - 1}", f"{picked}{_FIRST - 1}")
        pen.put(f"A{row}", f'=IF({named[1]}<>"","● "&{named[1]},{named[0]})', "plain")
        pen.put(f"C{row}", f"=MAX({other}{_FIRST},{picked}{_FIRST})", "plain", "0.00")
    hours, rate, likely = _there(IN["hours"]), _there(figure("rate")), _there(figure("likely"))
    ready = f"ISNUMBER({_there(figure('needs'))})"
    pen.put(f"A{last}", f'=IF(L{_FIRST}<0,"","asked "&{hours})', "plain")
    pen.put(f"C{last}", f"=L{_FIRST}", "plain", "0.00")
    for row in range(first, last + 1):
        shown = f"C{row}<0"
        # The same height twice: the one that stands first is the lower one.
        lower = f"SUMPRODUCT(--({wanted}<C{row}))"
        pen.put(f"D{row}", f"={lower}+SUMPRODUCT(--($C${first}:C{row}=C{row}))", "plain", "0")
        pen.put(f"E{row}", f"=SMALL({wanted},{row - first + 1})", "plain", "0.00")
        below = f"IF(F{row - 1}<0,E{row},MAX(E{row},F{row - 1}+{_APART}*MAX({wanted})))"
        pen.put(f"F{row}", f"=IF(E{row}<0,-1,{below if row > first else f'E{row}'})", "plain",
                "0.00")  # fmt: skip
        pen.put(f"B{row}", f"=IF({shown},-1,{_LOW})", "plain", "0.0")
        pen.put(f"G{row}", f"=IF({shown},-1,INDEX($F${first}:$F${last},D{row}))", "plain", "0.00")
    pen.put(f"G{first - 1}", "stands at", "unit")
    left = f"AND(O{_FIRST}>={_ROOM_LEFT},O{_FIRST}<100)"
    at_rate, at_likely = (f'"{word} "&ROUND(N({cell}),1)'
                     for word, cell in (("stated", rate), ("likely", likely)))  # fmt: skip
    bar_right = f"Q{_FIRST + 1}<={_ROOM_RIGHT}"
    # (name, where it may stand, x, y): each at the left and at the right of its line.
    for row, (name, here, x, y) in enumerate((
        (at_rate, f"AND(N{_FIRST}>=0,O{_FIRST}>100)", f"M{_FIRST}", f"N{_FIRST + 1}"),
        (at_rate, f"AND(N{_FIRST}>=0,O{_FIRST}<=100)", f"M{_FIRST}", f"N{_FIRST + 1}"),
        (at_likely, f"AND(O{_FIRST}>=0,{left})", f"O{_FIRST}", f"P{_FIRST + 1}"),
        (at_likely, f"AND(O{_FIRST}>=0,NOT({left}))", f"O{_FIRST}", f"P{_FIRST + 1}"),
        ('"realistic"', f"AND(Q{_FIRST}>=0,NOT({bar_right}))", f"Q{_FIRST}", f"R{_FIRST}"),
        ('"realistic"', f"AND(Q{_FIRST}>=0,{bar_right})", f"Q{_FIRST + 1}", f"R{_FIRST + 1}"),
    ), last + 1):  # fmt: skip
        for letter, shown, nothing, fmt in (("A", name, '""', ""), ("B", x, "-1", "0.0"),
                                            ("G", y, "-1", "0.00")):  # fmt: skip
            pen.put(f"{letter}{row}", f"=IF({ready},IF({here},{shown},{nothing}),{nothing})",
                    "plain", fmt)  # fmt: skip


def write_chart(book: Workbook, sheet: Worksheet, units: str) -> None:
    """Draw the chart on ``sheet``, its figures on a sheet of their own."""
    data = _write_points(book, units)
    chart = ScatterChart()
    chart.style, chart.legend, chart.scatterStyle = 2, None, "lineMarker"

    def series(x: str, y: str, first: int, last: int, color: str) -> Series:
        from openpyxl.utils import column_index_from_string as column

        item = Series(
            Reference(data, min_col=column(y), min_row=first, max_row=last),
            Reference(data, min_col=column(x), min_row=first, max_row=last),
        )  # fmt: skip
        item.smooth = False
        item.marker.symbol = "none"
        item.graphicalProperties = GraphicalProperties()
        item.graphicalProperties.line = LineProperties(solidFill=color)
        chart.series.append(item)
        return item

    def line(x: str, y: str, last: int, color: str, width: float, dash: str = "") -> None:
        item = series(x, y, _FIRST, last, color)
        item.tx = SeriesLabel(strRef=StrRef(f"'{SHEET}'!${y}${_FIRST - 1}"))
        item.graphicalProperties.line.w = int(width * 12700)
        item.graphicalProperties.line.prstDash = dash or None

    def name(row: int, color: str, where: str) -> None:
        item = series("B", "G", row, row, color)
        item.tx = SeriesLabel(strRef=StrRef(f"'{SHEET}'!$A${row}"))
        item.graphicalProperties.line = LineProperties(noFill=True)
        shown = DataLabel(
            idx=0, showSerName=True, showVal=False, showCatName=False, showLegendKey=False,
            showPercent=False, showBubbleSize=False, dLblPos=where,
        )  # fmt: skip
        shown.txPr = _text(9, color)
        item.dLbls = DataLabelList(
            dLbl=[shown], showSerName=False, showVal=False, showCatName=False,
            showLegendKey=False, showPercent=False, showBubbleSize=False,
        )  # fmt: skip

    for _, other, picked in _CURVES:
        line("A", other, _LAST, MUTED, 1.25)
        line("A", picked, _LAST, PINE, 2.5)
    line("K", "L", _FIRST + 1, AMBER, 1.5, "dash")
    line("M", "N", _FIRST + 1, INK, 1.25)
    line("O", "P", _FIRST + 1, INK, 1, "sysDot")
    line("Q", "R", _FIRST + 1, TYPED, 4)
    dots = series("S", "T", _FIRST, _FIRST + len(_CURVES) - 1, AMBER)
    dots.tx = SeriesLabel(strRef=StrRef(f"'{SHEET}'!$T${_FIRST - 1}"))
    dots.graphicalProperties.line = LineProperties(noFill=True)
    dots.marker.symbol, dots.marker.size = "circle", 6
    dots.marker.graphicalProperties = GraphicalProperties(solidFill=AMBER)
    dots.marker.graphicalProperties.line = LineProperties(solidFill=AMBER)
    colors = (*[INK] * len(_CURVES), AMBER, *[INK] * 4, TYPED, TYPED)
    sides = (*["l"] * (len(_CURVES) + 1), *["l", "r"] * 3)
    for row, (color, where) in enumerate(zip(colors, sides, strict=True), _NAMES):
        name(row, color, where)
    for axis, title in (
        (chart.x_axis, "throughput, % of the stated rate"),
        (chart.y_axis, "hours held"),
    ):
        axis.delete = False
        axis.number_format, axis.majorTickMark = "General", "out"
        face = CharacterProperties(sz=900, b=False, solidFill=MUTED, latin=Face(typeface="Arial"))
        axis.title = title
        axis.title.tx.rich.p[0].pPr = ParagraphProperties(defRPr=face)
        for run in axis.title.tx.rich.p[0].r:
            run.rPr = face
        axis.txPr = _text(9, MUTED)
        axis.graphicalProperties = GraphicalProperties()
        axis.graphicalProperties.line = LineProperties(solidFill=RULE)
    chart.x_axis.scaling.min, chart.x_axis.scaling.max, chart.x_axis.majorUnit = _AXIS, _HIGH, 10
    chart.y_axis.scaling.min = 0
    chart.x_axis.majorGridlines = None
    chart.y_axis.majorGridlines.spPr = GraphicalProperties()
    chart.y_axis.majorGridlines.spPr.line = LineProperties(solidFill="E4E9EC", w=6350)
    chart.graphical_properties = GraphicalProperties(solidFill=WHITE)
    chart.graphical_properties.line = LineProperties(solidFill=RULE)
    chart.layout = Layout(
        manualLayout=ManualLayout(
            layoutTarget="inner", xMode="edge", yMode="edge", x=0.068, y=0.04, w=0.90, h=0.74
        )
    )
    px = 9525
    chart.anchor = TwoCellAnchor(
        "twoCell", _from=AnchorMarker(8, 0, 18, 3 * px), to=AnchorMarker(17, 0, 30, 0)
    )
    sheet.add_chart(chart)
