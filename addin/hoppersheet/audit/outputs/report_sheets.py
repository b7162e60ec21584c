"""What the sheets of the audit's report share: their looks, and how a value and a link are put."""

from __future__ import annotations

import math
import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from ...workbook.formulas import quoted_sheet
from ...workbook.safe_xml import NOT_IN_XML

__all__ = ["HEADINGS_IN", "ReportBook"]

#: The row of a list's headings, under its title and a note.
HEADINGS_IN = 4


def _text(value: Any) -> Any:
    """A value for a report cell; in a text, signs that no XML allows are made visible."""
    if value is None or isinstance(value, (int, float, bool)):
        return value
    return NOT_IN_XML.sub("\N{REPLACEMENT CHARACTER}", str(value))


def _number_format(value: Any) -> str:
    """As many digits as say something; the cell holds all of them."""
    if not isinstance(value, (int, float)) or isinstance(value, bool) or not math.isfinite(value):
        return "General"
    if value == int(value) or abs(value) >= 1e5:
        return "#,##0"
    digits = max(0, min(9, 3 - math.floor(math.log10(abs(value)))))
    return "0.0" + "#" * (digits - 1) if digits else "#,##0"


class ReportBook:
    """A workbook for a report: its sheets look alike, its values and links are put safely."""

    def __init__(self, audited: Path, out: Path) -> None:
        import openpyxl
        from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

        from ...templates import styles

        self.book = openpyxl.Workbook()
        self.target = os.path.relpath(audited.resolve(), out.resolve().parent)
        ink, font = styles.INK, "Arial"
        self.plain = Font(name=font, size=10, color=ink)
        self.bold = Font(name=font, size=10, bold=True, color=ink)
        self.verdict = Font(name=font, size=11, bold=True, color=ink)
        self.link = Font(name=font, size=10, color=styles.PINE, underline="single")
        self.quiet = Font(name=font, size=9, color="5B6B7A")
        self.head = Font(name=font, size=10, bold=True, color=styles.WHITE)
        self.title = Font(name=font, size=16, bold=True, color=styles.WHITE)
        self.band = PatternFill("solid", fgColor=styles.PINE)
        self.under = Border(bottom=Side(style="hair", color=styles.RULE))
        self.above = Border(top=Side(style="thin", color=styles.PINE))
        # A text set off from the number that ends at the right edge of the column before.
        self.text = Alignment(wrap_text=True, horizontal="left", vertical="top", indent=1)
        self.one_line = Alignment(horizontal="left", vertical="top", indent=1)
        self.top = Alignment(vertical="top")
        self.right = Alignment(horizontal="right", vertical="top")
        self.middle = Alignment(horizontal="left", vertical="center", indent=1)
        #: sheet -> last column that is printed
        self.printed: dict[str, str] = {}
        self.fills = {
            "error": PatternFill("solid", fgColor=styles.ROSE),
            "warning": PatternFill("solid", fgColor=styles.STRAW),
            "note": PatternFill("solid", fgColor=styles.MIST),
        }

    def sheet(self, name: str, title: str, widths: Sequence[float], printed: int) -> Any:
        """A new sheet with its title; ``printed``: number of columns that are printed."""
        from openpyxl.utils import get_column_letter

        sheet = self.book.create_sheet(name)
        sheet.sheet_view.showGridLines = False
        for column, width in enumerate(widths, 1):
            sheet.column_dimensions[get_column_letter(column)].width = width
            sheet.cell(1, column).fill = self.band
        sheet["A1"] = title
        sheet["A1"].font, sheet["A1"].alignment = self.title, self.middle
        sheet.row_dimensions[1].height = 30
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        self.printed[name] = get_column_letter(printed)
        sheet.oddFooter.left.text = "&F, &A"
        sheet.oddFooter.right.text = "Page &P of &N"
        for margin in ("left", "right", "top"):
            setattr(sheet.page_margins, margin, 0.5)
        return sheet

    def headings(self, sheet: Any, row: int, texts: Sequence[str]) -> None:
        """The headings of a list, in the color of the title."""
        for column, text in enumerate(texts, 1):
            cell = sheet.cell(row, column, text)
            cell.font, cell.fill, cell.alignment = self.head, self.band, self.text

    def place(self, cell: Any, where: tuple[str, str]) -> None:
        """Name a cell of the audited workbook and lead to it."""
        from openpyxl.worksheet.hyperlink import Hyperlink

        name, ref = where
        cell.value = _text(f"{name}!{ref}" if name else ref or "the workbook")
        cell.font = self.plain
        if name:
            location = f"{quoted_sheet(name)}!{ref}"
            cell.hyperlink = Hyperlink(ref=cell.coordinate, target=self.target, location=location)
            cell.font = self.link

    def put(self, cell: Any, value: Any) -> None:
        """A value as it is; what looks like a formula or an error is text."""
        cell.value = _text(value)
        cell.font = self.plain
        cell.number_format = _number_format(value)
        if isinstance(value, str) and cell.data_type in ("f", "e"):
            cell.data_type = "s"
        if isinstance(value, str) and value in self.fills:
            cell.fill, cell.font = self.fills[value], self.bold

    def height(self, sheet: Any, row: int, texts: Iterable[tuple[Any, float]]) -> None:
        """Make a row as high as its wrapped texts (text, width) need it."""
        from ...templates.layout import text_height

        lines = [text_height(str(text), width) for text, width in texts if text is not None]
        sheet.row_dimensions[row].height = max(lines, default=15) + 2

    def rows(
        self, sheet: Any, rows: Iterable[Sequence[Any]], link: int, wrapped: Sequence[int]
    ) -> None:
        """Append rows below the headings; column ``link`` holds (sheet, cell) and leads there."""
        from openpyxl.utils import get_column_letter

        first = HEADINGS_IN + 1
        widths = {c: sheet.column_dimensions[get_column_letter(c)].width for c in wrapped}
        row = first - 1
        for row, values in enumerate(rows, first):
            for column, value in enumerate(values, 1):
                cell = sheet.cell(row, column)
                cell.border = self.under
                if isinstance(value, (str, tuple)):
                    cell.alignment = self.text if column in wrapped else self.one_line
                else:
                    cell.alignment = self.top
                if column == link:
                    self.place(cell, value)
                elif value is not None:
                    self.put(cell, value)
            self.height(sheet, row, ((values[c - 1], widths[c]) for c in wrapped))
        sheet.freeze_panes = f"A{first}"
        sheet.print_title_rows = f"{first - 1}:{first - 1}"
        if row >= first:
            last = get_column_letter(sheet.max_column)
            sheet.auto_filter.ref = f"A{first - 1}:{last}{row}"

    def note(self, sheet: Any, text: str) -> None:
        """What a list says of itself, under its title."""
        sheet["A2"] = text
        sheet["A2"].font, sheet["A2"].alignment = self.quiet, self.one_line
