"""Conditional formats that several sheets use: states, errors, results, figures that fall short."""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.formatting.rule import Rule

from ..layout import Table
from ..styles import failed, noticed, passed, quiet

if TYPE_CHECKING:
    from openpyxl.styles.differential import DifferentialStyle
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = [
    "highlight_errors",
    "highlight_glyphs",
    "highlight_results",
    "highlight_states",
    "when",
]


def when(sheet: Worksheet, span: str, formula: str, look: DifferentialStyle) -> None:
    """Show the cells of ``span`` in ``look`` where ``formula`` (for its first cell) is true."""
    rule = Rule(type="expression", dxf=look, formula=[formula], stopIfTrue=True)
    sheet.conditional_formatting.add(span, rule)


def highlight_errors(sheet: Worksheet, span: str) -> None:
    """Error values stand out."""
    when(sheet, span, f"ISERROR({span.partition(':')[0].replace('$', '')})", failed())


def highlight_states(sheet: Worksheet, table: Table, key: str) -> None:
    """A state column: "ok" is quiet, everything else stands out; and so do errors in the table."""
    letter = table.letter(key)
    span = f"{letter}{table.first_row}:{letter}{table.last_row}"
    cell = f"{letter}{table.first_row}"
    when(sheet, span, f'AND({cell}<>"",{cell}<>"ok")', failed())


def highlight_glyphs(sheet: Worksheet, span: str, *, bold: bool = True) -> None:
    """Cells whose text begins with the glyph of a state."""
    first = span.partition(":")[0]
    when(sheet, span, f"ISERROR({first})", failed())
    for glyph, look in (("■", failed()), ("▲", noticed()), ("○", quiet()), ("●", passed())):
        if not bold:
            look.font.b = False
        when(sheet, span, f'LEFT({first},1)="{glyph}"', look)


def highlight_results(sheet: Worksheet, span: str) -> None:
    """Cells that say pass, look or fail."""
    first = span.partition(":")[0]
    when(sheet, span, f'LEFT({first},4)="fail"', failed())
    when(sheet, span, f'LEFT({first},4)="look"', noticed())
    when(sheet, span, f'LEFT({first},4)="pass"', passed())
