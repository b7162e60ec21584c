"""The audit as a workbook: Summary, Findings, Assumptions, Cells; each row leads to its cell."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Sequence
from math import ceil, floor, log10
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...call_values import is_error
from ..saving import save_workbook
from .findings import KINDS, SEVERITIES
from .formulas import address, quoted_sheet

if TYPE_CHECKING:
    from . import Audit

__all__ = ["write_report"]

_INK, _QUIET, _RULE = "FF203040", "FF5B6B7A", "FFB8C2CC"
_FONT = "Arial"  # on every machine, or a font of the same widths is
_ROW = 13.5  # points, one line of text
_MARKS = {"error": "FFF6D5D0", "warning": "FFFBEBC8", "note": "FFE3ECF4"}
_CAUTIONS = (
    "An audit shows what the workbook assumes and where it does not follow; it does not make it "
    "right.",
    "Drying times and temperatures: the resin maker's data sheet governs. Densities: measure when "
    "it matters.",
    "Loads on stands, machines and floors: a licensed engineer and the local code.",
)


def _text(value: Any) -> Any:
    """A value for a report cell; a text that looks like a formula stays text."""
    return value if value is None or isinstance(value, (int, float, bool)) else str(value)


def _lines(text: Any, width: float) -> int:
    """How many lines a text takes in a column so wide, in characters; rather one too many."""
    return max(1, ceil(len(str(text or "")) * 1.1 / width))


def _four_digits(value: Any) -> str:
    """A number format that shows four digits of the value; the cell keeps all of them."""
    if not isinstance(value, (int, float)) or not value:
        return "General"
    return f"0.{'0' * max(0, 3 - floor(log10(abs(value))))}".rstrip(".")


class _Writer:
    """Writes the sheets of one report."""

    def __init__(self, audit: Audit, out: Path) -> None:
        import openpyxl
        from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

        self.audit = audit
        self.book = openpyxl.Workbook()
        self.target = os.path.relpath(audit.path.resolve(), out.resolve().parent)
        self.plain = Font(name=_FONT, size=10)
        self.bold = Font(name=_FONT, size=10, bold=True, color=_INK)
        self.link = Font(name=_FONT, size=10, color=_INK, underline="single")
        self.title = Font(name=_FONT, bold=True, size=16, color=_INK)
        self.quiet = Font(name=_FONT, size=10, color=_QUIET)
        self.under = Border(bottom=Side(style="thin", color=_RULE))
        self.wrap = Alignment(wrap_text=True, horizontal="left", vertical="top", indent=1)
        self.head = Alignment(wrap_text=True, horizontal="left", vertical="bottom", indent=1)
        self.top = Alignment(vertical="top")
        # Set off from a number that ends at the right edge of the column before.
        self.text = Alignment(horizontal="left", vertical="top", indent=1)
        self.fills = {s: PatternFill("solid", fgColor=color) for s, color in _MARKS.items()}

    def dress(self, cell: Any) -> None:
        """Font and place of a cell with a value."""
        cell.font = self.plain
        cell.alignment = self.text if isinstance(cell.value, str) else self.top

    def sheet(self, name: str, headings: Sequence[str], widths: Sequence[float]) -> Any:
        """A new sheet with a heading row that stays in sight and filters."""
        from openpyxl.utils import get_column_letter

        sheet = self.book.create_sheet(name)
        sheet.append(list(headings))
        for cell in sheet[1]:
            cell.font, cell.border, cell.alignment = self.bold, self.under, self.head
        for column, width in enumerate(widths, 1):
            sheet.column_dimensions[get_column_letter(column)].width = width
        sheet.row_dimensions[1].height = _ROW * max(map(_lines, headings, widths))
        sheet.freeze_panes = "A2"
        sheet.print_title_rows = "1:1"
        self.print_on_pages(sheet)
        return sheet

    def print_on_pages(self, sheet: Any) -> None:
        """As wide as a page, as many pages high as it takes, each with its name and number."""
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        sheet.oddFooter.left.text = "&F, &A"
        sheet.oddFooter.right.text = "Page &P of &N"

    def rows(
        self, sheet: Any, rows: Iterable[Sequence[Any]], link: int, wide: Sequence[int] = ()
    ) -> None:
        """Append rows; column ``link`` holds (sheet, cell) and leads there.

        The columns ``wide`` hold long texts: these are wrapped, and the row is made high enough,
        because not every program does that when it opens the file.
        """
        from openpyxl.utils import get_column_letter
        from openpyxl.worksheet.hyperlink import Hyperlink

        widths = {c: sheet.column_dimensions[get_column_letter(c)].width for c in wide}
        for row, values in enumerate(rows, 2):
            high = max((_lines(values[c - 1], width) for c, width in widths.items()), default=1)
            if high > 1:
                sheet.row_dimensions[row].height = _ROW * high
            for column, value in enumerate(values, 1):
                if column == link:
                    name, cell_name = value
                    cell = sheet.cell(row, column, f"{name}!{cell_name}" if name else cell_name)
                    if name:
                        location = f"{quoted_sheet(name)}!{cell_name}"
                        cell.hyperlink = Hyperlink(
                            ref=cell.coordinate, target=self.target, location=location
                        )
                        cell.font = self.link
                    cell.alignment = self.text
                elif value is not None:
                    cell = sheet.cell(row, column)
                    cell.value = _text(value)
                    if isinstance(value, str) and cell.data_type in ("f", "e"):
                        cell.data_type = "s"
                    self.dress(cell)
                    if column in wide:
                        cell.alignment = self.wrap
                    if isinstance(value, str) and value in self.fills:
                        cell.fill = self.fills[value]
        sheet.auto_filter.ref = sheet.dimensions

    def summary(self) -> None:
        sheet = self.book.active
        sheet.title = "Summary"
        sheet.column_dimensions["A"].width = 26
        sheet.column_dimensions["B"].width = 16
        sheet.column_dimensions["C"].width = 70
        sheet["A1"] = "Audit of a hopper workbook"
        sheet["A1"].font, sheet["A1"].alignment = self.title, self.text
        audit = self.audit
        severities = Counter(found.severity for found in audit.findings)
        facts = [
            ("Workbook", audit.path.name),
            ("Calculated by", audit.engine),
            ("Sizing cells", audit.cells),
            ("Hoppers sized", audit.lines),
            ("Not followed", len(audit.not_followed)),
            ("Never calculated", audit.never_calculated),
            *((f"{s.capitalize()}s", severities[s]) for s in SEVERITIES),
        ]  # fmt: skip
        for row, (name, value) in enumerate(facts, 3):
            for column, content in enumerate((name, value), 1):
                self.dress(sheet.cell(row, column, content))
            sheet.cell(row, 1).font = self.bold
        row = len(facts) + 4
        for column, heading in enumerate(("Kind", "Findings", "Meaning"), 1):
            cell = sheet.cell(row, column, heading)
            cell.font, cell.border, cell.alignment = self.bold, self.under, self.head
        counts = Counter(found.kind for found in audit.findings)
        for kind, meaning in KINDS.items():
            row += 1
            for column, value in enumerate((kind, counts[kind], meaning), 1):
                self.dress(sheet.cell(row, column, value))
        for text in _CAUTIONS:
            row += 1
            cell = sheet.cell(row + 1, 1, text)
            cell.font, cell.alignment = self.quiet, self.text
        self.print_on_pages(sheet)

    def findings(self) -> None:
        sheet = self.sheet(
            "Findings",
            ("Severity", "Kind", "Cell", "What, what it does, what to do", "Value", "Expected",
             "Formula"),
            (10, 18, 14, 70, 10, 10, 50),
        )  # fmt: skip
        rows = (
            (
                f.severity, f.kind, (f.sheet, f.cell), f.message, f.value, f.expected,
                f.formula or None,
            )
            for f in self.audit.findings
        )  # fmt: skip
        self.rows(sheet, rows, 3, (4, 7))

    def assumptions(self) -> None:
        sheet = self.sheet(
            "Assumptions",
            ("Line", "Required volume in", "Input", "Cell", "Value", "Unit", "Origin",
             "Volume per 10 % more [%]", "Size holds until", "Drift until then [%]", "Note"),
            (20, 18, 30, 14, 10, 9, 17, 13, 13, 13, 30),
        )  # fmt: skip
        rows = (
            (
                a.line, f"{a.line_sheet}!{a.line_cell}", a.input, (a.sheet, a.cell), a.value,
                a.unit, a.origin, a.per_10_percent, a.holds_until, a.holds_until_percent,
                a.note or None,
            )
            for a in self.audit.assumptions
        )  # fmt: skip
        self.rows(sheet, rows, 4)
        for line in sheet.iter_rows(min_row=2, min_col=8, max_col=10):
            for cell in line:
                cell.number_format = (
                    _four_digits(cell.value) if cell.column == 9 else "+0.00;-0.00;0.00"
                )

    def cells(self) -> None:
        sheet = self.sheet(
            "Cells",
            ("Cell", "Label", "Function", "Stored", "Fresh", "Formula"),
            (18, 30, 28, 16, 16, 90),
        )
        context = self.audit.context
        if context is None:
            return

        def rows() -> Iterable[Sequence[Any]]:
            for cell in context.book.sizing_cells:
                calls = context.calls.get(cell.place, [])
                names = ", ".join(dict.fromkeys(made.name for made in calls))
                fresh = context.value(cell.place)
                yield (
                    (cell.place[0], address(*cell.place[1:])),
                    context.labels.label(cell.place) or None,
                    names or None,
                    cell.value,
                    f"{fresh}" if is_error(fresh) else fresh,
                    cell.formula,
                )

        self.rows(sheet, rows(), 1)


def write_report(audit: Audit, out: Path) -> None:
    """Write what an audit found as a workbook.

    Raises:
        InputFileError: ``out`` cannot be written.
    """
    writer = _Writer(audit, out)
    writer.summary()
    writer.findings()
    writer.assumptions()
    writer.cells()
    save_workbook(writer.book, out, live=False)
