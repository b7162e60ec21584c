"""The look of every workbook: named styles, their colours, and how numbers are shown.

Whatever a cell is (an input, a calculation, a check), it says so twice: by its named style and by
the word of :mod:`.cell_words` beside or above it. Change a style here and every sheet follows; a
user changes it in the program under the style's name.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side
from openpyxl.styles.differential import DifferentialStyle

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = [
    "AMBER",
    "BRICK",
    "FORMATS",
    "INK",
    "MIST",
    "MUTED",
    "PANEL",
    "PEACH",
    "PINE",
    "PLUM",
    "ROSE",
    "RULE",
    "SAND",
    "STATES",
    "STRAW",
    "TYPED",
    "WHITE",
    "add_styles",
    "chosen",
    "failed",
    "named",
    "noticed",
    "passed",
    "quiet",
    "ruled",
    "short",
    "style_name",
]

INK = "1C2A33"  # headings, figures
MUTED = "55636E"  # labels, units, values of a table
RULE = "C3CDD4"  # between rows
PANEL = "F3F6F7"  # cards, quiet areas
TYPED, STRAW, SAND = "1D4E89", "FFF9E6", "D8BE73"  # what somebody types: text, fill, edge
PINE, MIST = "0E5A5E", "E3F0EF"  # ready, chosen
AMBER, PEACH = "9C4A0B", "FCEFE3"  # look, short
BRICK, ROSE = "8C1C3B", "F9E6EB"  # stop, draft
PLUM = "6B4A78"  # a second curve in a chart
WHITE = "FFFFFF"

_FONT = "Arial"  # on every machine, or a font of the same widths is

#: How a quantity is shown; the digits follow the size of the number, so one format serves both
#: unit systems. "_)" leaves room to the right, which Calc does not always do for an indent.
FORMATS = {
    "bulk density": "[<1.87]0.000_);[<100]0.0_);#,##0_)",
    "volume": "[<100]0.0_);#,##0_)",
    "throughput": "[<100]0.0_);#,##0_)",
    "mass": "[<100]0.0_);#,##0_)",
    "hours": "0.00_)",
    "share": "0.0 %_)",
    "temperature": "0.0_)",
    "airflow": "[<100]0.0_);#,##0_)",
    "specific airflow": "0.00_)",
    "heat": "[<100]0.00_);#,##0_)",
    "specific heat": "0.000_)",
    "water": "0.000_)",
    "moisture": "0.000%_)",
    "humidity ratio": "0.000000_)",
    "factor": "[<10]0.0_);#,##0_)",
    "hours apart": "+0.00_);-0.00_);0.00_)",
    "margin": "+0.0%_);-0.0%_);0.0%_)",
    "hours held": "0.00_)",
    "hours typed": "0.0#_)",
    "whole share": "0 %_)",
    "height": "0.0_)",
    "round money": "#,##0_)",
    "rate": "#,##0_)",
    "money": "#,##0.00_)",
    "whole": "0",
    "count": "0_);-0_);",
    "counted": "[=0];[<100]0.0_);#,##0_)",  # nothing where there is nothing
    "yes": '"yes";"no";"no"',
    "date": "yyyy-mm-dd",
    "text": "General",
    "typed": "General_)",
}


def style_name(kind: str) -> str:
    """Name of the style of a ``kind`` of cell, as the user sees it in the program's list."""
    return f"Hopper {kind}"


def _side(color: str, kind: str = "thin") -> Side:
    return Side(style=kind, color=color)


def _fill(color: str) -> PatternFill:
    return PatternFill("solid", start_color=color, end_color=color)


def _style(
    kind: str,
    *,
    size: float = 10,
    bold: bool = False,
    italic: bool = False,
    color: str = INK,
    fill: str = "",
    border: Border | None = None,
    horizontal: str | None = None,
    vertical: str = "center",
    wrap: bool = False,
    indent: int = 0,
) -> NamedStyle:
    style = NamedStyle(style_name(kind))
    style.font = Font(name=_FONT, size=size, bold=bold, italic=italic, color=color)
    if fill:
        style.fill = _fill(fill)
    if border is not None:
        style.border = border
    style.alignment = Alignment(
        horizontal=horizontal, vertical=vertical, wrap_text=wrap, indent=indent
    )
    return style


def _named_styles() -> tuple[NamedStyle, ...]:
    under = Border(bottom=_side(RULE))
    typed = Border(bottom=_side(SAND))
    needed = Border(bottom=_side(SAND, "medium"))
    ink = Border(bottom=_side(INK))
    return (
        _style("title", size=13, bold=True, horizontal="left"),
        _style("subtitle", color=MUTED, horizontal="right"),
        _style("answer", size=16, bold=True),
        _style("section", size=9, bold=True, border=ink),
        _style("group", size=9, bold=True, border=Border(bottom=_side(MUTED, "hair"))),
        _style(
            "heading", size=9, bold=True, border=Border(bottom=_side(INK, "medium")),
            horizontal="center", vertical="bottom", wrap=True,
        ),
        _style("unit", size=9, color=MUTED, border=Border(bottom=_side(INK, "medium"))),
        _style("word", size=8, italic=True, color=MUTED, horizontal="center"),
        _style("label", size=9, color=MUTED),
        _style("strong", size=9, bold=True),
        _style("plain", size=9),
        _style("text", size=9, wrap=True, vertical="top"),
        _style("note", size=9, italic=True, color=MUTED, wrap=True, vertical="top"),
        _style("input", size=9, color=TYPED, fill=STRAW, border=typed),
        _style("needed", size=9, color=TYPED, fill=STRAW, border=needed),
        _style("calc", size=9, border=under),
        _style("printed", size=9),
        _style("detail", size=8.5, color=MUTED),
        _style("check", size=9, border=under),
        _style("total", size=11, bold=True, border=Border(top=_side(INK, "medium"))),
        _style("alarm", size=9, bold=True, color=BRICK, wrap=True),
        _style("caution", size=9, wrap=True, vertical="top"),
    )  # fmt: skip


def add_styles(book: Workbook) -> None:
    """Give ``book`` the named styles, and make its default text ours."""
    for style in _named_styles():
        book.add_named_style(style)
    normal = book._named_styles["Normal"]
    normal.font = Font(name=_FONT, size=10, color=INK)


def ruled() -> DifferentialStyle:
    """A thin line under the cell: for rows that hold something."""
    return DifferentialStyle(border=Border(bottom=_side(RULE)))


#: State -> its glyph; color only repeats what glyph and word say.
STATES = {"ready": "●", "look": "▲", "stop": "■", "unfinished": "○"}


def failed() -> DifferentialStyle:
    """How a cell looks that is in error or says "fail"."""
    return DifferentialStyle(font=Font(bold=True, color=BRICK), fill=_fill_of(ROSE))


def noticed() -> DifferentialStyle:
    """How a cell looks that asks for a second look."""
    return DifferentialStyle(font=Font(color=AMBER), fill=_fill_of(PEACH))


def passed() -> DifferentialStyle:
    """How a cell looks that says "pass"."""
    return DifferentialStyle(font=Font(bold=True, color=PINE), fill=_fill_of(MIST))


def quiet() -> DifferentialStyle:
    """How a cell looks that says "unfinished"."""
    return DifferentialStyle(font=Font(color=MUTED), fill=_fill_of(PANEL))


def named(number_format: str) -> DifferentialStyle:
    """A figure that is shown as a word."""
    from openpyxl.styles.numbers import NumberFormat

    return DifferentialStyle(
        font=Font(color=MUTED), numFmt=NumberFormat(numFmtId=200, formatCode=number_format)
    )


def short(number_format: str = "") -> DifferentialStyle:
    """A figure below what is asked, or above the headroom: marked by a glyph in its format."""
    from openpyxl.styles.numbers import NumberFormat

    marked = (
        NumberFormat(numFmtId=200, formatCode=f'"▼ "{number_format}') if number_format else None
    )
    return DifferentialStyle(font=Font(bold=True, color=AMBER), numFmt=marked)


def chosen() -> DifferentialStyle:
    """The size that is chosen."""
    return DifferentialStyle(font=Font(bold=True, color=PINE), fill=_fill_of(MIST))


def _fill_of(color: str) -> PatternFill:
    # In a conditional format the colour shown is the background one.
    return PatternFill(bgColor=color, fill_type="solid", start_color=color)
