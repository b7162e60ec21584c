"""Sheet *What regrind does*: density, volume and hours held for 0 to 100 % regrind of one line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.text import CharacterProperties, Paragraph, ParagraphProperties
from openpyxl.drawing.text import Font as Face

from ..labelled import Field, write_fields
from ..layout import Column, Table, put_across, realign
from ..styles import AMBER, PINE, PLUM, RULE
from ..validation import a_whole
from .grid import new_sheet, portrait, write_grid
from .line_checks import SIZING
from .rows import highlight_errors

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["SHEET", "TABLE", "write"]

SHEET = "What regrind does"


def _of_line(key: str) -> str:
    return f'=IF(regrind_line_ready=0,"",INDEX({SIZING.range(key)},regrind_line))'


_FIELDS = (
    Field(
        "Line of Sizing", "regrind_line", value=1,
        rule=a_whole(1, SIZING.reach, "The number of a line that is filled in on Sizing."),
        note='=IF(regrind_line_ready=0,"This line is not ready on Sizing: nothing is shown.",'
        '"Everything as on that line, only the regrind share changes.")',
    ),
    Field(
        "Line is ready", "regrind_line_ready", "check",
        f"=IF(AND(ISNUMBER(INDEX({SIZING.range('held')},regrind_line)),"
        f"ISNUMBER(INDEX({SIZING.range('virgin_used')},regrind_line))),1,0)", show="yes",
    ),
    Field("Job", "", "calc", _of_line("job")),
    Field("Resin", "", "calc", _of_line("resin")),
    Field("Virgin density", "regrind_virgin", "calc", _of_line("virgin_used"),
          show="bulk density", quantity="bulk density"),
    Field("Regrind density", "regrind_regrind", "calc",
          f'=IF(regrind_line_ready=0,"",IF(INDEX({SIZING.range("ground_used")},regrind_line)="",'
          "HOPPER_REGRIND_DENSITY(regrind_virgin,regrind_ratio,unit_system),"
          f'INDEX({SIZING.range("ground_used")},regrind_line)))',
          show="bulk density", quantity="bulk density"),
    Field("Regrind density from", "", "calc",
          f'=IF(regrind_line_ready=0,"",IF(INDEX({SIZING.range("ground_used")},regrind_line)="",'
          f'"rule of thumb",INDEX({SIZING.range("ground_is")},regrind_line)))'),
    Field("Throughput", "regrind_throughput", "calc", _of_line("through"),
          show="throughput", quantity="throughput"),
    Field("Drying time, h", "regrind_hours", "calc", _of_line("hours"), show="hours"),
    Field("Reserve", "regrind_reserve", "calc",
          f'=IF(regrind_line_ready=0,"",INDEX({SIZING.range("reserve_used")},regrind_line))',
          show="share"),
    Field("Usable hopper size", "regrind_hopper", "calc",
          f'=IF(regrind_line_ready=0,"",INDEX({SIZING.range("chosen_size")},regrind_line)*'
          f'INDEX({SIZING.range("split_used")},regrind_line))', show="volume",
          quantity="volume"),
    Field("Regrind share of the line", "", "calc", _of_line("regrind_share"), show="share"),
)  # fmt: skip

_FIRST_FIELD = 3
_DENSITIES = f"$C${_FIRST_FIELD + 4}:$C${_FIRST_FIELD + 5}"


def _ready(formula: str) -> str:
    return f'IF(regrind_line_ready=0,"",{formula})'


def _by(basis: str) -> tuple[Column, ...]:
    """Density, required volume and hours held where the shares are by ``basis``."""
    band = f"Shares by {basis}"
    density = f"{{density_{basis}}}"
    return (
        Column(
            f"density_{basis}", "blend\ndensity", quantity="bulk density", width=82, group=band,
            formula=_ready(
                f"HOPPER_BLEND_DENSITY({{virgin}}:{{regrind}},{_DENSITIES},"
                f'"{basis}",unit_system)'
            ),
        ),
        Column(
            f"volume_{basis}", "required\nvolume", quantity="volume", width=82, group=band,
            formula=_ready(
                f"HOPPER_REQUIRED_VOLUME(regrind_throughput,regrind_hours,{density},"
                "regrind_reserve,unit_system)"
            ),
        ),
        Column(
            f"held_{basis}", "hours\nheld", show="hours", unit="h", width=82, group=band,
            formula=_ready(
                f"HOPPER_HELD_HOURS(regrind_hopper,{density},regrind_throughput,unit_system)"
            ),
        ),
    )  # fmt: skip


TABLE = Table(
    SHEET,
    first_row=20,
    rows=11,
    columns=(
        Column("virgin", "virgin\nshare", show="share", width=70, group="Mix",
               formula=_ready("1-{regrind}")),
        Column("regrind", "regrind\nshare", show="share", width=70, group="Mix",
               formula="(ROWS({regrind:above})-1)/10"),
        *_by("volume"),
        *_by("mass"),
        Column("more", "more volume\nby mass", show="margin", width=86,
               group="Difference", formula=_ready("{volume_mass}/{volume_volume}-1")),
        Column("needed", "drying\ntime", show="hours", unit="h", width=72, group="Difference",
               formula=_ready("regrind_hours")),
    ),
)  # fmt: skip


def _small_text() -> RichText:
    size = CharacterProperties(sz=900, latin=Face(typeface="Arial"))
    return RichText(p=[Paragraph(pPr=ParagraphProperties(defRPr=size), endParaRPr=size)])


def _chart(sheet: Worksheet, lines: tuple[tuple[str, str, str], ...], width: float) -> ScatterChart:
    """One small chart over the regrind share; ``lines``: column key, series name, color."""
    chart = ScatterChart()
    chart.style = 2
    chart.scatterStyle = "lineMarker"
    chart.width, chart.height = width, 6.6
    first, last = TABLE.first_row, TABLE.last_row
    column = {c.key: index for index, c in enumerate(TABLE.columns, TABLE.first_column)}
    shares = Reference(sheet, min_col=column["regrind"], min_row=first, max_row=last)
    for key, name, color in lines:
        values = Reference(sheet, min_col=column[key], min_row=first, max_row=last)
        series = Series(values, shares, title=name)
        series.smooth = False
        series.marker.symbol = "none"
        series.graphicalProperties.line.solidFill = color
        series.graphicalProperties.line.width = 24000
        if color == AMBER:
            series.graphicalProperties.line.dashStyle = "dash"
        chart.series.append(series)
    chart.x_axis.number_format = "0%"
    chart.x_axis.scaling.min, chart.x_axis.scaling.max = 0, 1
    chart.x_axis.majorUnit = 0.2
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.y_axis.number_format = "General"
    for axis in (chart.x_axis, chart.y_axis):
        axis.majorGridlines.spPr = GraphicalProperties(ln=LineProperties(solidFill=RULE))
        axis.txPr = _small_text()
    chart.legend.position = "b"
    chart.legend.txPr = _small_text()
    return chart


def write(book: Workbook, units: str) -> None:
    """Add the sheet."""
    sheet, pen = new_sheet(
        book, SHEET, "What regrind does",
        "One line of Sizing with 0 to 100 % of regrind, by volume and by mass.",
    )  # fmt: skip
    columns = {"label": "A:B", "value": "C:D", "note": "E:J"}
    write_fields(book, sheet, _FIELDS, _FIRST_FIELD, columns)
    for row in (_FIRST_FIELD + 2, _FIRST_FIELD + 3):  # the texts of the line, however long
        realign(sheet[f"C{row}"], shrink_to_fit=True)
    write_grid(sheet, TABLE, row_px=20)
    last = TABLE.letter(TABLE.columns[-1].key)
    highlight_errors(sheet, f"A{TABLE.first_row}:{last}{TABLE.last_row}")
    row = TABLE.last_row + 2
    two = (("volume", "by volume", PINE), ("mass", "by mass", PLUM))
    for (letter, end), width, heading, key in (
        ("AC", 5.7, '="Blend density, "&unit_bulk_density&", by regrind"', "density"),
        ("DF", 6.3, '="Required volume, "&unit_volume&", by regrind share"', "volume"),
        ("GJ", 8.2, "Hours held in the hopper, by regrind share", "held"),
    ):
        lines = tuple((f"{key}_{basis}", name, color) for basis, name, color in two)
        if key == "held":
            lines = (*lines, ("needed", "drying time", AMBER))
        put_across(sheet, f"{letter}{row}:{end}{row}", heading, "section")
        sheet.add_chart(_chart(sheet, lines, width), f"{letter}{row + 1}")
    note = row + 16
    put_across(
        sheet, f"A{note}:{last}{note}",
        "The same percentages mean less density and more volume when they are by mass. A recipe "
        "from a weigh blender is by mass. Bulk volumes are taken to add up: measure the blend "
        "when it matters.", "note",
    )  # fmt: skip
    pen.heights(note, note, 40)
    portrait(sheet, f"A1:{last}{note}", units)
