"""Sheet *Sizing*: one row per line of the quote, inputs first, the two sizes side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..styles import chosen, named, short
from .grid import landscape, letters_between, new_sheet, write_grid
from .line_checks import FIRST, LINES, SIZING, prepared
from .line_checks import TABLE as BEHIND
from .rows import highlight_errors, highlight_glyphs, when

if TYPE_CHECKING:
    from openpyxl import Workbook

    from ..layout import Table

__all__ = ["LINES", "TABLE", "write"]

TABLE = SIZING
#: Inches at the sides of the paper: its lines then print at 8 points on Letter.
_MARGIN = 0.2


#: What asks for something in a folded column -> that column, and what it is for.
_FOLDED = (
    (f'COUNTIF({BEHIND.range("no_basis")},"?*")', "basis", "by mass or volume"),
    (f'COUNTIF({SIZING.range("virgin_is")},"not stated")', "virgin_from", "origin, virgin"),
    (f'COUNTIF({SIZING.range("ground_is")},"not stated")', "ground_from", "origin, regrind"),
    (f'COUNTIF({BEHIND.range("bad_turn")},"?*")', "turn", "in turn or at once"),
)


def _folded(table: Table, nothing: str) -> str:
    """Where to type what is asked for in a column that does not show; else ``nothing``."""
    asked = "&".join(
        f'IF({count}=0,"",", {table.letter(column)} ({words})")' for count, column, words in _FOLDED
    )
    return f'IF({asked}="",{nothing},"Asked for in folded columns (+ above): "&MID({asked},3,200))'


def write(book: Workbook, units: str, rows: int, dryer_lines: Table) -> None:
    """Add the sheet; ``dryer_lines``: see :func:`.line_checks.prepared`."""
    table = prepared(TABLE, rows, dryer_lines)
    sheet, _ = new_sheet(book, table.sheet, "Sizing")
    # The first lines of all texts and figures stand side by side, and no text loses its beginning.
    pen = write_grid(sheet, table, row_px=29, up="top")
    pen.put(
        f"{table.letter('resin')}1:{table.letter('choice')}1",
        '=IF(lines_begun=0,"Type the first line: State says what is missing.",lines_ready&'
        '" ready, "&lines_look&" look, "&lines_stop&" stop, "&lines_unfinished&" unfinished")',
        "strong",
    )  # fmt: skip
    rules = (
        'unit_system&" units, "&IF(book_basis="","basis on each line","shares by "&book_basis)'
        '&", "&size_policy&": Settings"'
    )
    pen.put(
        f"{table.letter('reason')}1:{table.letter('net')}1",
        '=IF(demonstration="yes","DEMONSTRATION; ","")&' + _folded(table, rules),
        "label", at="right", shrink=True,
    )  # fmt: skip
    last = table.last_row
    cell = f"{table.letter('state')}{FIRST}"
    # Two lines of text: bold takes three.
    highlight_glyphs(sheet, f"{cell}:{table.letter('state')}{last}", bold=False)
    for side in ("below", "next"):
        model, held, likely = (table.letter(f"{side}{end}") for end in ("", "_held", "_likely"))
        hours = table.letter("hours")
        for letter in (held, likely):
            when(
                sheet, f"{letter}{FIRST}:{letter}{last}",
                f'AND(ISNUMBER({letter}{FIRST}),ISNUMBER(${hours}{FIRST}),'
                f"{letter}{FIRST}<${hours}{FIRST}*0.999999999)",
                short("0.00_)"),
            )  # fmt: skip
        when(sheet, f"{model}{FIRST}:{model}{last}", f'RIGHT({model}{FIRST},1)="●"', chosen())
        for letter in (held, likely):
            when(
                sheet, f"{letter}{FIRST}:{letter}{last}", f'RIGHT(${model}{FIRST},1)="●"', chosen()
            )
    net, also = table.letter("net"), table.letter("also")
    # What costs nothing because another line has the hopper is not free of charge.
    when(sheet, f"{net}{FIRST}:{net}{last}", f"${also}{FIRST}=1", named('"shared"_)'))
    height, room = table.letter("height"), table.letter("headroom_used")
    when(
        sheet, f"{height}{FIRST}:{height}{last}",
        f"AND(ISNUMBER({height}{FIRST}),ISNUMBER({room}{FIRST}),{height}{FIRST}>{room}{FIRST})",
        short("0.0_)"),
    )  # fmt: skip
    for key in ("blend", "needs", "below", "next", "net"):
        letter = table.letter(key)
        highlight_errors(sheet, f"{letter}{FIRST}:{letter}{last}")
    sheet.freeze_panes = f"{table.letter('resin')}{FIRST}"
    end = table.letter("net")
    landscape(sheet, f"A1:{end}{last}", letters_between("A", end), units, margin=_MARGIN)
    sheet.print_title_rows = f"1:{FIRST - 1}"
