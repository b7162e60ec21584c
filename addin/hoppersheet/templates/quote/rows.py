"""Conditional formats that several sheets use: states, errors, pass and fail."""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.formatting.rule import Rule
from openpyxl.utils import column_index_from_string
from openpyxl.worksheet.pagebreak import Break

from ..layout import Table
from ..styles import failed, noticed, passed

if TYPE_CHECKING:
    from openpyxl.styles.differential import DifferentialStyle
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = [
    "highlight_errors",
    "highlight_results",
    "highlight_states",
    "print_in_parts",
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
    first = table.letter(table.columns[0].key)
    highlight_errors(sheet, f"{first}{table.first_row}:{letter}{table.last_row}")


def highlight_results(sheet: Worksheet, span: str) -> None:
    """Cells that say pass, look, warn or fail."""
    first = span.partition(":")[0]
    when(sheet, span, f'LEFT({first},4)="warn"', failed())
    when(sheet, span, f'LEFT({first},4)="fail"', failed())
    when(sheet, span, f'LEFT({first},4)="look"', noticed())
    when(sheet, span, f'LEFT({first},4)="pass"', passed())


def print_in_parts(sheet: Worksheet, repeated: str, *last_columns: str, scale: int = 58) -> None:
    """Print landscape, with a new page after each of ``last_columns``.

    ``repeated`` are the columns that every page shows at its left (``"A:B"``), or ""; ``scale`` is
    in percent.
    """
    sheet.page_setup.orientation = "landscape"
    sheet.sheet_properties.pageSetUpPr.fitToPage = False
    sheet.page_setup.scale = scale
    if repeated:
        sheet.print_title_cols = repeated
    for letter in last_columns:
        sheet.col_breaks.append(Break(id=column_index_from_string(letter)))
