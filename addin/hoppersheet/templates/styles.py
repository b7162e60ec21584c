"""The look of every workbook: named styles, their colours, and how numbers are shown.

Whatever a cell is (an input, a calculation, a check), it says so twice: by its named style and by
the word in :data:`WORDS` beside or above it. Change a style here and every sheet follows; a user
changes it in the program under the style's name.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side
from openpyxl.styles.differential import DifferentialStyle

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = [
    "AMBER",
    "FORMATS",
    "PINE",
    "PLUM",
    "RULE",
    "WORDS",
    "add_styles",
    "failed",
    "noticed",
    "passed",
    "ruled",
    "style_name",
]

INK = "22313F"  # text
PINE = "14504A"  # bands and headings
SAGE = "DCE9E3"  # group headings
MIST = "F3F7F5"  # quiet areas
STRAW = "FDF3DC"  # where somebody types
AMBER = "B9770E"
PLUM = "56306B"  # checks
LILAC = "F1EAF5"
BRICK = "A4262C"  # something is wrong
ROSE = "FBE5E4"
RULE = "C9D5CF"
SAND = "E6D2A3"  # between input cells
WHITE = "FFFFFF"

#: The word beside each kind of cell. The style alone would be lost in print and on a phone.
WORDS = {"input": "input", "calc": "calculated", "check": "check"}

_FONT = "Arial"  # on every machine, or a font of the same widths is

#: How a quantity is shown; the digits follow the size of the number, so one format serves both
#: unit systems. "_)" leaves room to the right, which Calc does not always do for an indent.
FORMATS = {
    "bulk density": "[<5]0.000_);[<100]0.0_);#,##0_)",
    "volume": "[<100]0.0_);#,##0_)",
    "throughput": "[<100]0.0_);#,##0_)",
    "mass": "[<100]0.0_);#,##0_)",
    "hours": "0.00_)",
    "share": "0.0%_)",
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
    "money": "#,##0.00_)",
    "whole": "0",
    "yes": '"yes";"no";"no"',
    "date": "yyyy-mm-dd",
    "text": "General",
    "typed": "General",
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
    under = Border(bottom=_side(RULE, "hair"))
    boxed = Border(
        left=_side(SAND), right=_side(SAND), top=_side(SAND), bottom=_side(SAND),
    )  # fmt: skip
    marked = Border(left=_side(PLUM, "medium"), bottom=_side(RULE, "hair"))
    return (
        _style("title", size=20, bold=True, color=WHITE, fill=PINE, horizontal="left", indent=1),
        _style("subtitle", size=10, color=WHITE, fill=PINE, horizontal="right", indent=1),
        _style("section", size=11, bold=True, color=PINE, border=Border(bottom=_side(PINE))),
        _style("group", size=10, bold=True, color=PINE, fill=SAGE, horizontal="left", indent=1),
        _style(
            "heading", size=9, bold=True, color=WHITE, fill=PINE, horizontal="center", wrap=True
        ),
        _style("word", size=8, italic=True, color="5C6B66", horizontal="center", fill=MIST),
        _style("label", color="46545F"),
        _style("text", wrap=True, vertical="top"),
        _style("note", size=9, italic=True, color="5C6B66", wrap=True, vertical="top"),
        _style("input", fill=STRAW, border=boxed),
        _style("calc", border=under),
        _style("printed"),
        _style("check", color=PLUM, fill=LILAC, border=marked),
        _style("total", size=14, bold=True, color=PINE, border=Border(top=_side(PINE, "medium"))),
        _style("alarm", bold=True, color=BRICK, wrap=True),
        _style("caution", size=9, color=INK, wrap=True, vertical="top"),
    )


def add_styles(book: Workbook) -> None:
    """Give ``book`` the named styles, and make its default text ours."""
    for style in _named_styles():
        book.add_named_style(style)
    normal = book._named_styles["Normal"]
    normal.font = Font(name=_FONT, size=10, color=INK)


def ruled() -> DifferentialStyle:
    """A thin line under the cell: for rows that hold something."""
    return DifferentialStyle(border=Border(bottom=_side(RULE)))


def failed() -> DifferentialStyle:
    """How a cell looks that is in error or says "fail"."""
    return DifferentialStyle(font=Font(bold=True, color=BRICK), fill=_fill_of(ROSE))


def noticed() -> DifferentialStyle:
    """How a cell looks that asks for a second look."""
    return DifferentialStyle(font=Font(bold=True, color=AMBER), fill=_fill_of(STRAW))


def passed() -> DifferentialStyle:
    """How a cell looks that says "pass"."""
    return DifferentialStyle(font=Font(bold=True, color=PINE), fill=_fill_of("DDEEE6"))


def _fill_of(color: str) -> PatternFill:
    # In a conditional format the colour shown is the background one.
    return PatternFill(bgColor=color, fill_type="solid", start_color=color)
