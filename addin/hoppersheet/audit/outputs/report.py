"""The audit as a workbook: Sign-off, Findings, Assumptions, Cells; each row leads to its cell."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...cells.values import is_error
from ...cells.wording import counted
from ...templates.saving import save_workbook
from ...workbook.formulas import address
from ..assumption_groups import grouped
from ..findings import KINDS, Finding
from ..label_words import without_unit
from ..register import six_digits
from .report_sheets import HEADINGS_IN, ReportBook
from .words import CAUTIONS, fingerprint, stake_of

if TYPE_CHECKING:
    from .. import Audit

__all__ = ["write_report"]

_FIRST = 15  # findings that the first sheet shows itself
_WIDTHS = (24, 19, 20, 10, 9, 9, 12, 6, 8, 13, 36)  # of the first sheet
_SIGNED_FORMATS = {
    4: "#,##0.0#", 5: "0.0#", 6: "0.0#", 7: "#,##0.00", 8: "0", 9: "0.0 %", 10: "#,##0.00",
}  # fmt: skip


def _accepted(found: Finding) -> tuple[str | None, str | None, str | None]:
    """By whom, why and when a finding was accepted, for the columns that ask for it."""
    if not found.accepted:
        return None, None, None
    by, _, rest = found.accepted.removeprefix("accepted by ").partition(" on ")
    when, _, why = rest.partition(": ")
    return by, why, when


class _Report(ReportBook):
    """The sheets of one report."""

    def __init__(self, audit: Audit, out: Path) -> None:
        super().__init__(audit.path, out)
        self.audit = audit

    def signed(self) -> None:
        """What whoever signs reads: the verdict, the lines, the findings, what was looked at."""
        audit = self.audit
        sheet = self.sheet("Sign-off", "Audit of a hopper workbook", _WIDTHS, len(_WIDTHS))
        row = self._lines(sheet, 3, [audit.verdict], self.verdict) + 1
        row = self._signed_lines(sheet, row)
        if audit.findings:
            row = self._first_findings(sheet, row + 1)
        row = self._heading(sheet, row + 1, "What was looked at")
        row = self._lines(sheet, row, audit.coverage.sentences(), self.plain)
        if audit.gone:
            row = self._heading(sheet, row + 1, "Accepted earlier, no longer found")
            texts = [f"{one.kind}, {one.cell}: {one.note}" for one in audit.gone]
            row = self._lines(sheet, row, texts, self.plain)
        row = self._facts(sheet, row + 1)
        self._lines(sheet, row + 1, CAUTIONS, self.quiet)

    def _heading(self, sheet: Any, row: int, text: str) -> int:
        sheet.cell(row, 1, text).font = self.bold
        sheet.cell(row, 1).alignment = self.one_line
        return row + 1

    def _signed_lines(self, sheet: Any, row: int) -> int:
        lines = self.audit.sign_off.lines
        if not lines:
            return row
        unit = lines[0].unit
        self.headings(
            sheet, row,
            ("Job", "Chosen", "Cell", f"Needs {unit}", "Asked h", "Holds h", "List", "Qty",
             "Disc.", "Net", "Verdict"),
        )  # fmt: skip
        for line in lines:
            row += 1
            values = (
                line.job or line.where, line.model or line.chosen, None, line.needs, line.asked,
                line.holds, line.price, line.quantity, line.discount or None, line.net,
                line.verdict,
            )  # fmt: skip
            for column, value in enumerate(values, 1):
                cell = sheet.cell(row, column)
                cell.border = self.under
                if value is not None:
                    self.put(cell, value)
                cell.number_format = _SIGNED_FORMATS.get(column, "General")
                cell.alignment = self.text if column in (1, 2, 3, 11) else self.right
            if line.unit != unit:
                sheet.cell(row, 4).number_format = f'#,##0.0# "{line.unit}"'
            name, _, ref = line.where.rpartition("!")
            self.place(sheet.cell(row, 3), (name.strip("'"), ref))
            self.height(sheet, row, [(line.job, _WIDTHS[0]), (line.verdict, _WIDTHS[10])])
        return row + 1

    def _facts(self, sheet: Any, row: int) -> int:
        audit = self.audit
        facts = (
            ("Workbook", audit.path.name),
            ("Fingerprint (SHA-256)", fingerprint(audit.path)),
            ("Calculated by", audit.engine),
            ("Audited on", f"{datetime.date.today():%Y-%m-%d}"),
            ("Checked by", "______________________________   date ____________"),
        )
        for name, value in facts:
            sheet.cell(row, 1, name).font = self.quiet
            self.put(sheet.cell(row, 2), value)
            sheet.cell(row, 1).alignment = sheet.cell(row, 2).alignment = self.one_line
            row += 1
        return row

    def _lines(self, sheet: Any, row: int, texts: Iterable[str], font: Any) -> int:
        """Texts over the whole width, one below the other; the next free row."""
        last = len(_WIDTHS)
        for text in texts:
            sheet.merge_cells(start_row=row, start_column=1, end_row=row, end_column=last)
            cell = sheet.cell(row, 1, text)
            cell.font, cell.alignment = font, self.text
            self.height(sheet, row, [(text, sum(_WIDTHS) - 6)])
            row += 1
        return row

    def _first_findings(self, sheet: Any, row: int) -> int:
        """The findings, by what is at stake."""
        findings = [f for f in self.audit.findings if not f.accepted]
        self.headings(sheet, row, ("Severity", "Kind", "Cell", "What to look at first", *[""] * 7))
        sheet.merge_cells(start_row=row, start_column=4, end_row=row, end_column=11)
        wide = sum(_WIDTHS[3:])
        shown = findings[:_FIRST]
        for found in shown:
            row += 1
            self.put(sheet.cell(row, 1), found.severity)
            self.put(sheet.cell(row, 2), found.kind)
            self.place(sheet.cell(row, 3), (found.sheet, found.cell))
            sheet.merge_cells(start_row=row, start_column=4, end_row=row, end_column=11)
            stake = f"{stake_of(found)} at stake. " if stake_of(found) else ""
            self.put(sheet.cell(row, 4), stake + found.message)
            for column in range(1, 12):
                sheet.cell(row, column).alignment = self.text
                sheet.cell(row, column).border = self.under
            self.height(
                sheet, row,
                [(stake + found.message, wide - 4), (f"{found.sheet}!{found.cell}", _WIDTHS[2])],
            )  # fmt: skip
        row += 1
        if len(findings) > len(shown):
            more = f"{counted(len(findings) - len(shown), 'more finding')} on the sheet Findings."
            row = self._lines(sheet, row, [more], self.quiet)
        counts = Counter(found.kind for found in self.audit.findings)
        others = ", ".join(kind for kind in KINDS if not counts[kind])
        return self._lines(sheet, row, [f"Looked for and not found: {others}."], self.quiet)

    def findings(self) -> None:
        sheet = self.sheet(
            "Findings", f"Findings in {self.audit.path.name}",
            (10, 19, 18, 88, 13, 13, 13, 50, 16, 30, 12), 7,
        )  # fmt: skip
        self.note(
            sheet,
            "Accept a finding with your name, a reason and a date in the last three columns; the "
            "next audit reads them: hoppersheet audit BOOK --accepted THIS_FILE.",
        )
        self.headings(
            sheet,
            HEADINGS_IN,
            ("Severity", "Kind", "Cell", "What is wrong, what it does, what to do", "At stake",
             "Value", "Expected", "Formula", "Accepted by", "Why", "When"),
        )  # fmt: skip

        def row(f: Finding) -> tuple[Any, ...]:
            where = (f.sheet, f.cell)
            stake = stake_of(f) or None
            return (
                f.severity, f.kind, where, f.message, stake, f.value, f.expected, f.formula or None,
                *_accepted(f),
            )  # fmt: skip

        self.rows(sheet, map(row, self.audit.findings), 3, (3, 4, 5, 6, 7))

    def assumptions(self) -> None:
        """A row per column of inputs: what leaves least room first."""
        widths = (28, 26, 9, 9, 24, 9, 17, 30, 13, 13, 22, 36)
        sheet = self.sheet(
            "Assumptions", f"What {self.audit.path.name} assumes, what leaves least room first",
            widths, 12,
        )  # fmt: skip
        self.note(
            sheet,
            "Volume moves: the largest change of a required volume for the step. Full at: the "
            "smallest drift of the input at which a chosen size is just full, and of which line.",
        )
        self.headings(
            sheet,
            HEADINGS_IN,
            ("Input", "First cell", "Cells", "Lines", "Values", "Unit", "Origin", "Step",
             "Volume moves [%]", "Full at [%]", "Line", "All cells, note"),
        )  # fmt: skip
        sheet.row_dimensions[HEADINGS_IN].height = 30
        groups = grouped(self.audit.assumptions)
        rows = (
            (
                g.input, (g.first.sheet, g.first.cell), g.count, g.lines, g.values, g.unit,
                g.origin, g.step or None, six_digits(g.swing_percent), six_digits(g.drift_percent),
                g.drift_line or None, g.cells + (f"; {g.note}" if g.note else ""),
            )
            for g in groups
        )  # fmt: skip
        self.rows(sheet, rows, 2, (1, 5, 8, 11, 12))
        for row in range(HEADINGS_IN + 1, HEADINGS_IN + 1 + len(groups)):
            for column in (9, 10):
                sheet.cell(row, column).number_format = "+0.00;-0.00;0.00"

    def inputs(self) -> None:
        """Every input of every line."""
        widths = (22, 20, 28, 20, 11, 9, 17, 30, 13, 13, 13, 40)
        sheet = self.sheet(
            "Inputs by line", f"Every input of every hopper in {self.audit.path.name}", widths, 12
        )
        note = (
            "Volume moves: how much the required volume moves for the step. Size holds until: the "
            "value of the input at which the chosen size is just full."
        )
        self.note(sheet, note)
        self.headings(
            sheet,
            HEADINGS_IN,
            ("Line", "Required volume in", "Input", "Cell", "Value", "Unit", "Origin", "Step",
             "Volume moves [%]", "Size holds until", "Drift until then [%]", "Note"),
        )  # fmt: skip
        sheet.row_dimensions[HEADINGS_IN].height = 30
        taken = self.audit.assumptions
        rows = (
            (
                a.line, f"{a.line_sheet}!{a.line_cell}", a.input, (a.sheet, a.cell), a.value,
                a.unit, a.origin, a.step or None, *map(six_digits, (
                    a.swing_percent, a.holds_until, a.holds_until_percent)), a.note or None,
            )
            for a in taken
        )  # fmt: skip
        self.rows(sheet, rows, 4, (1, 3, 5, 8, 12))
        before = ""
        for row, a in enumerate(taken, HEADINGS_IN + 1):
            for column in (9, 11):
                sheet.cell(row, column).number_format = "+0.00;-0.00;0.00"
            where = f"{a.line_sheet}!{a.line_cell}"
            if where == before:
                sheet.cell(row, 1).font = sheet.cell(row, 2).font = self.quiet
            else:  # a new line begins
                sheet.cell(row, 1).font = self.bold
                for column in range(1, 13):
                    sheet.cell(row, column).border = self.above
            before = where

    def cells(self) -> None:
        sheet = self.sheet(
            "Cells", f"Sizing cells of {self.audit.path.name}", (20, 34, 34, 16, 16, 90), 5
        )
        headings = ("Cell", "Label", "Function", "Stored", "Calculated now", "Formula")
        self.headings(sheet, HEADINGS_IN, headings)
        context = self.audit.context
        if context is None:
            return

        def rows() -> Iterable[Sequence[Any]]:
            places = sorted((*context.calls, *context.unread))
            for cell in filter(None, map(context.book.cell, places)):
                calls = context.calls.get(cell.place, [])
                names = ", ".join(dict.fromkeys(made.name for made in calls))
                fresh = context.value(cell.place)
                yield (
                    (cell.place[0], address(*cell.place[1:])),
                    without_unit(context.labels.label(cell.place)) or None,
                    names or None,
                    cell.value,
                    f"{fresh}" if is_error(fresh) else fresh,
                    cell.formula,
                )

        self.rows(sheet, rows(), 1, ())


def write_report(audit: Audit, out: Path) -> None:
    """Write what an audit found as a workbook.

    Raises:
        InputFileError: ``out`` cannot be written.
    """
    writer = _Report(audit, out)
    writer.book.remove(writer.book.active)
    writer.signed()
    writer.findings()
    writer.assumptions()
    writer.inputs()
    writer.cells()
    for name, column in writer.printed.items():
        writer.book[name].print_area = f"A1:{column}{max(5, writer.book[name].max_row)}"
    save_workbook(writer.book, out, live=False)
