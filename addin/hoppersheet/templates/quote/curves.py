"""The chart of *One line*: hours held against throughput, a curve for each candidate.

The curves stand on the sheet *Curves*, throughput as a share of the stated rate, so that the axis
fits every job. What is not drawn is -1, below the axis.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.label import DataLabel, DataLabelList
from openpyxl.chart.layout import Layout, ManualLayout
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

__all__ = ["POINTS", "SHEET", "write_chart"]

SHEET = "Curves"
#: Points of a curve, from 60 % to 140 % of the stated rate.
POINTS = 21
_LOW, _HIGH = 60, 140
_FIRST = 5
#: Letter of the card, letters of its curve where not chosen and where chosen, and where on the
#: curve its name stands: where the curves are farthest apart, and the lowest has room below.
_CURVES = (
    ("K", "B", "C", 19, "b"), ("M", "D", "E", 1, "t"), ("O", "F", "G", 1, "t"),
    ("Q", "H", "I", 1, "t"),
)  # fmt: skip
#: Where the name of the drying time stands, under its line.
_NAMED_AT = 69


def _text(size: float, color: str, bold: bool = False) -> RichText:
    face = CharacterProperties(
        sz=int(size * 100), b=bold, solidFill=color, latin=Face(typeface="Arial")
    )
    return RichText(
        bodyPr=RichTextProperties(wrap="none"),
        p=[Paragraph(pPr=ParagraphProperties(defRPr=face), endParaRPr=CharacterProperties())],
    )


def _write_points(book: Workbook, units: str) -> Worksheet:
    from .one_line_figures import IN, figure

    sheet, pen = new_sheet(
        book,
        SHEET,
        "Curves of the chart on One line",
        "Calculated; do not type here. Below 0: not shown.",
    )
    last = _FIRST + POINTS - 1
    pen.put(f"A{_FIRST - 1}", "rate, %", "unit")
    rate, blend, hours = figure("rate"), figure("blend"), IN["hours"]

    def there(cell: str) -> str:
        return f"'One line'!{cell}"

    for row in range(_FIRST, last + 1):
        share = _LOW + (_HIGH - _LOW) * (row - _FIRST) / (POINTS - 1)
        pen.put(f"A{row}", share, "plain", "0")
    for card, other, picked, *_ in _CURVES:
        volume = there(f"${card}$7")
        for letter, mark in ((other, "○"), (picked, "● chosen")):
            known = f'AND(ISNUMBER({volume}),{there(f"${card}$17")}="{mark}")'
            pen.put(
                f"{letter}{_FIRST - 1}",
                f'=IF({known},ROUND({volume},IF({volume}<100,1,0))&" "&unit_volume,"")', "unit",
            )  # fmt: skip
            for row in range(_FIRST, last + 1):
                pen.put(
                    f"{letter}{row}",
                    f"=IF({known},{volume}*{there(blend)}/({there(rate)}*$A{row}/100),-1)",
                    "plain", "0.00",
                )  # fmt: skip
    lines = (
        # Short: Calc breaks a longer name into two lines.
        ("K", "L", f'="asked "&{there(hours)}',
         tuple((x, there(hours)) for x in (_LOW, _NAMED_AT, _HIGH))),
        ("M", "N", f'="stated "&ROUND(N({there(rate)}),'
                   f'1)', ((100, "0"), (100, f"2*N({there(hours)})"))),
        ("O", "P", f'="likely "&ROUND(N({there(figure("likely"))}),1)',
         ((f"100*{there(figure('likely'))}/{there(rate)}", "0"),
          (f"100*{there(figure('likely'))}/{there(rate)}", f"2*N({there(hours)})"))),
        ("Q", "R", "realistic",
         ((f"100*{there(figure('low'))}/{there(rate)}", f"0.1*N({there(hours)})"),
          (f"100*{there(figure('high'))}/{there(rate)}", f"0.1*N({there(hours)})"))),
    )  # fmt: skip
    ready = f"ISNUMBER({there(figure('needs'))})"
    for x, y, name, points in lines:
        pen.put(f"{x}{_FIRST - 1}", "%", "unit")
        pen.put(f"{y}{_FIRST - 1}", name, "unit")
        for row, (across, up) in enumerate(points, _FIRST):
            pen.put(f"{x}{row}", f"=IF({ready},{across},-1)", "plain", "0.0")
            pen.put(f"{y}{row}", f"=IF({ready},{up},-1)", "plain", "0.00")
    landscape(sheet, f"A1:R{last}", letters_between("A", "R"), units, fit=True)
    return sheet


def write_chart(book: Workbook, sheet: Worksheet, units: str) -> None:
    """Draw the chart on ``sheet``, its figures on a sheet of their own."""
    data = _write_points(book, units)
    chart = ScatterChart()
    chart.style, chart.legend, chart.scatterStyle = 2, None, "lineMarker"
    last = _FIRST + POINTS - 1

    def series(
        x: str, y: str, end: int, color: str, width: float, dash: str = "",
        label: int | None = None, where: str = "l",
    ) -> None:  # fmt: skip
        from openpyxl.utils import column_index_from_string as column

        item = Series(
            Reference(data, min_col=column(y), min_row=_FIRST - 1, max_row=end),
            Reference(data, min_col=column(x), min_row=_FIRST, max_row=end), title_from_data=True,
        )  # fmt: skip
        item.smooth = False
        item.marker.symbol = "none"
        item.graphicalProperties = GraphicalProperties()
        item.graphicalProperties.line = LineProperties(
            solidFill=color, w=int(width * 12700), prstDash=dash or None
        )
        if label is not None:
            shown = DataLabel(
                idx=label, showSerName=True, showVal=False, showCatName=False, showLegendKey=False,
                showPercent=False, showBubbleSize=False, dLblPos=where,
            )  # fmt: skip
            shown.txPr = _text(9, color, bold=width > 2)
            item.dLbls = DataLabelList(
                dLbl=[shown], showSerName=False, showVal=False, showCatName=False,
                showLegendKey=False, showPercent=False, showBubbleSize=False,
            )  # fmt: skip
        chart.series.append(item)

    for _, other, picked, at, where in _CURVES:
        series("A", other, last, MUTED, 1.25, label=at, where=where)
        series("A", picked, last, PINE, 2.5, label=at, where=where)
    series("K", "L", _FIRST + 2, AMBER, 1.5, "dash", 1, "b")
    series("M", "N", _FIRST + 1, INK, 1.25, "", 1, "r")
    series("O", "P", _FIRST + 1, INK, 1, "sysDot", 1, "l")
    series("Q", "R", _FIRST + 1, TYPED, 4, "", 1, "r")
    for axis, title in (
        (chart.x_axis, "throughput, % of the stated rate"),
        (chart.y_axis, "hours held"),
    ):
        axis.delete = False
        axis.number_format, axis.majorTickMark = "0", "out"
        face = CharacterProperties(sz=900, b=False, solidFill=MUTED, latin=Face(typeface="Arial"))
        axis.title = title
        axis.title.tx.rich.p[0].pPr = ParagraphProperties(defRPr=face)
        for run in axis.title.tx.rich.p[0].r:
            run.rPr = face
        axis.txPr = _text(9, MUTED)
        axis.graphicalProperties = GraphicalProperties()
        axis.graphicalProperties.line = LineProperties(solidFill=RULE)
    chart.x_axis.scaling.min, chart.x_axis.scaling.max, chart.x_axis.majorUnit = _LOW, _HIGH, 10
    chart.y_axis.scaling.min = 0
    chart.x_axis.majorGridlines = None
    chart.y_axis.majorGridlines.spPr = GraphicalProperties()
    chart.y_axis.majorGridlines.spPr.line = LineProperties(solidFill="E4E9EC", w=6350)
    chart.graphical_properties = GraphicalProperties(solidFill=WHITE)
    chart.graphical_properties.line = LineProperties(solidFill=RULE)
    chart.layout = Layout(
        manualLayout=ManualLayout(
            layoutTarget="inner", xMode="edge", yMode="edge", x=0.068, y=0.05, w=0.90, h=0.70
        )
    )
    px = 9525
    chart.anchor = TwoCellAnchor(
        "twoCell", _from=AnchorMarker(8, 0, 18, 3 * px), to=AnchorMarker(17, 0, 29, 0)
    )
    sheet.add_chart(chart)
