"""How the sheets of the quote workbook are drawn: widths in pixels, rules instead of boxes.

A *grid* is a :class:`~hoppersheet.templates.layout.Table` with three rows of headings: the group,
the name, and the unit or what a blank means. Columns that are seldom used are folded away.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from openpyxl.styles import Border, Side
from openpyxl.utils import get_column_letter

from ..layout import Table, define_name, has_unit, unit_name
from ..styles import INK, RULE, style_name

if TYPE_CHECKING:
    from collections.abc import Iterable

    from openpyxl import Workbook
    from openpyxl.cell import Cell
    from openpyxl.cell.cell import MergedCell
    from openpyxl.worksheet.worksheet import Worksheet

    from ..layout import Column
    from ..validation import Rule

__all__ = [
    "PIXELS",
    "Pen",
    "landscape",
    "letters_between",
    "new_sheet",
    "portrait",
    "portrait_height",
    "portrait_scale",
    "print_scale",
    "quoted",
    "write_grid",
]

#: Pixels of a column per unit of its width in the file, for Arial 10 (measured in Calc).
PIXELS = 7.16
#: Calc prints columns so much wider than it shows them.
_PRINTED_WIDER = 1.035
#: Columns wider than this, in pixels, have room for an indent.
_ROOMY = 72
#: Signs of a title that the programs show.
_TITLE_LENGTH = 32
_LANDSCAPE_SIDE = 0.25  # inches
_SIDE, _TOP_AND_BOTTOM = 0.45, (0.5, 0.6)  # margins of a portrait page, inches
_PAPER = {"US": (11.0, 8.5), "metric": (11.69, 8.27)}  # inches, long side first


def _is_figure(number_format: str) -> bool:
    """Whether it shows a number: one that is too wide is shown smaller, never as ###."""
    shows = any(part in number_format for part in ("0", "#", "General"))
    return shows and "yy" not in number_format and number_format != "General"


@dataclass(frozen=True)
class _Look:
    """How a cell looks: a named style, and what differs from it."""

    kind: str
    fmt: str = ""
    at: str = ""
    up: str = ""
    wrap: bool | None = None
    shrink: bool = False
    indent: int | None = None
    font: tuple[tuple[str, Any], ...] = ()

    def put_on(self, cell: Cell | MergedCell) -> None:
        """Dress one cell."""
        cell.style = style_name(self.kind)
        if self.fmt:
            cell.number_format = self.fmt
        alignment = copy(cell.alignment)
        for name, change in (
            # Without a side, a text would not be indented.
            ("horizontal", self.at or ("left" if self.indent else None)),
            ("vertical", self.up or None),
            ("wrap_text", self.wrap),
            ("shrink_to_fit", self.shrink or _is_figure(self.fmt) or None),
            ("indent", self.indent),
        ):  # fmt: skip
            if change is not None:
                setattr(alignment, name, change)
        cell.alignment = alignment
        if self.font:
            changed = copy(cell.font)
            for name, change in self.font:
                setattr(changed, name, change)
            cell.font = changed


class Pen:
    """Writes single cells of one sheet."""

    def __init__(self, sheet: Worksheet) -> None:
        self.sheet = sheet
        self._looks: dict[Any, Any] = {}

    def widths(self, **pixels: float) -> None:
        """Widths of columns by their letters."""
        for letter, px in pixels.items():
            self.sheet.column_dimensions[letter].width = px / PIXELS

    def heights(self, first: int, last: int, px: float) -> None:
        """Height of the rows from ``first`` to ``last``."""
        for row in range(first, last + 1):
            self.sheet.row_dimensions[row].height = px * 0.75

    def put(
        self,
        where: str,
        value: Any,
        kind: str = "plain",
        fmt: str = "",
        *,
        at: str = "",
        up: str = "",
        wrap: bool | None = None,
        shrink: bool = False,
        indent: int | None = None,
        **font: Any,
    ) -> Cell:
        """Write ``where`` (``"A1"``, or ``"A1:C1"``, which is merged) in the style ``kind``."""
        first, _, last = where.partition(":")
        look = _Look(kind, fmt, at, up, wrap, shrink, indent, tuple(sorted(font.items())))
        if last:
            for row in self.sheet[where]:
                for cell in row:
                    self._dress(cell, look)
            self.sheet.merge_cells(where)
        cell = self.sheet[first]
        cell.value = value
        self._dress(cell, look)
        return cell

    def _dress(self, cell: Cell | MergedCell, look: _Look) -> None:
        """Give a cell its look; each look is put together once, for openpyxl takes long for it."""
        known = self._looks.get(look)
        if known is None:
            look.put_on(cell)
            self._looks[look] = copy(cell._style)
        else:
            cell._style = copy(known)

    def typed(
        self, where: str, rule: Rule, title: str, value: Any = None, fmt: str = "",
        *, name: str = "", needed: bool = False, at: str = "right", **look: Any,
    ) -> Cell:  # fmt: skip
        """A cell that somebody types into, with its validation and its book-wide name, if any."""
        cell = self.put(where, value, "needed" if needed else "input", fmt, at=at, **look)
        first = where.partition(":")[0]
        validation = rule.validation(title, first)
        validation.add(first)
        self.sheet.add_data_validation(validation)
        self.name(first, name)
        return cell

    def name(self, address: str, name: str) -> None:
        """Give a cell a book-wide name."""
        if name:
            book: Workbook = self.sheet.parent
            letter = "".join(filter(str.isalpha, address))
            row = "".join(filter(str.isdigit, address))
            define_name(book, name, f"{quoted(self.sheet.title)}!${letter}${row}")

    def rule(self, span: str, edge: str, kind: str = "thin", color: str = INK) -> None:
        """A line along one edge (``"top"``, ``"bottom"``, ``"left"``, ``"right"``) of each cell."""
        for row in self.sheet[span if ":" in span else f"{span}:{span}"]:
            for cell in row:
                key = (*(cell._style or ()), edge, kind, color)
                known = self._looks.get(key)
                if known is None:
                    sides = {s: getattr(cell.border, s) for s in ("top", "bottom", "left", "right")}
                    cell.border = Border(**{**sides, edge: Side(kind, color)})
                    self._looks[key] = copy(cell._style)
                else:
                    cell._style = copy(known)


def quoted(title: str) -> str:
    """A sheet's name as formulas write it."""
    return f"'{title}'" if not title.isidentifier() else title


def new_sheet(book: Workbook, name: str, title: str, subtitle: str = "") -> tuple[Worksheet, Pen]:
    """A sheet with its title in row 1, without grid lines."""
    sheet = book.create_sheet(name)
    sheet.sheet_view.showGridLines = False
    pen = Pen(sheet)
    pen.heights(1, 1, 24)
    pen.put("A1", title, "title")
    if subtitle:
        pen.put("A2", subtitle, "note", wrap=False, up="center")
    return sheet, pen


def _unit_value(column: Column) -> str | None:
    if has_unit(column.quantity):
        return f"={unit_name(column.quantity)}"
    return column.unit or None


def _title(column: Column) -> str:
    """Title of the message of a typed cell: its group and name, or its name alone, never cut."""
    heading = column.heading.replace("\n", " ").strip()
    group = column.group.partition(":")[0]
    whole = f"{group} {heading}".strip() if group.lower() != heading.lower() else heading
    return (whole if len(whole) <= _TITLE_LENGTH else heading) or "Free column"


def write_grid(sheet: Worksheet, table: Table, row_px: float = 17, up: str = "") -> Pen:
    """Headings, typed and calculated cells of a table; widths are in pixels, ``up``: "top"."""
    pen = Pen(sheet)
    group_row, name_row, unit_row = (table.first_row - n for n in (3, 2, 1))
    pen.heights(group_row, group_row, 17)
    pen.heights(
        name_row, name_row, 17 * max(1, *(c.heading.count("\n") + 1 for c in table.columns))
    )
    pen.heights(unit_row, unit_row, 17)
    pen.heights(table.first_row, table.last_row, row_px)
    before: Column | None = None
    shown: Column | None = None  # the last one that is not folded
    for column in table.columns:
        letter = table.letter(column.key)
        dimension = sheet.column_dimensions[letter]
        dimension.width = column.width / PIXELS
        if column.fold:
            dimension.outlineLevel, dimension.hidden = 1, True
        elif before is not None and before.fold:
            dimension.collapsed = True
        starts = before is None or column.group != before.group
        at = column.alignment
        head = at if at != "right" else "right"
        fmt = "@_)" if head == "right" else ""
        # A text beside a figure keeps its distance, where there is room for it.
        beside = shown is not None and shown.alignment == "right" and column.width > _ROOMY
        indent = 1 if at == "left" and beside else None
        pen.put(f"{letter}{group_row}", column.group if starts else None, "group")
        pen.put(
            f"{letter}{name_row}", column.heading, "label", fmt, at=head, up="bottom",
            wrap="\n" in column.heading or None, color=INK, indent=indent,
        )  # fmt: skip
        pen.put(f"{letter}{unit_row}", _unit_value(column), "unit", fmt, at=head, indent=indent)
        apart = starts and before is not None
        for row in range(table.first_row, table.last_row + 1):
            value = table.formula(column.formula, row) if column.formula else None
            pen.put(
                f"{letter}{row}", value, column.role, column.number_format, at=at, up=up,
                wrap=column.wrap or None, shrink=column.shrink, bold=column.bold or None,
                indent=indent,
            )  # fmt: skip
        if apart:
            pen.rule(f"{letter}{name_row}:{letter}{table.last_row}", "left", "thin", RULE)
        if column.rule is not None:
            validation = column.rule.validation(_title(column), f"{letter}{table.first_row}")
            validation.add(f"{letter}{table.first_row}:{letter}{table.last_row}")
            sheet.add_data_validation(validation)
        if up == "top":  # a thick rule would touch the text under it
            pen.rule(f"{letter}{unit_row}", "bottom", "thin")
        before = column
        shown = shown if column.fold else column
    if table.columns[-1].fold:
        after = get_column_letter(table.first_column + len(table.columns))
        sheet.column_dimensions[after].collapsed = True
    sheet.sheet_properties.outlinePr.summaryRight = True
    return pen


def print_scale(sheet: Worksheet, letters: Iterable[str], units: str, margin: float) -> int:
    """Percent at which the columns fill the width of a landscape page; never above 100."""
    wide = sum(
        sheet.column_dimensions[letter].width * PIXELS
        for letter in letters
        if not sheet.column_dimensions[letter].hidden
    )
    room = (_PAPER[units][0] - 2 * margin) * 96
    return min(100, int(100 * room / (wide * _PRINTED_WIDER)))


def _paper(sheet: Worksheet, units: str) -> None:
    sheet.page_setup.paperSize = sheet.PAPERSIZE_LETTER if units == "US" else sheet.PAPERSIZE_A4


def landscape(
    sheet: Worksheet, area: str, letters: Iterable[str], units: str, *, fit: bool = False,
    margin: float = _LANDSCAPE_SIDE,
) -> None:  # fmt: skip
    """Print ``area`` landscape, at the scale at which its columns fill the page."""
    sheet.print_area = area
    sheet.page_setup.orientation = "landscape"
    _paper(sheet, units)
    margins = sheet.page_margins
    margins.left = margins.right = margin
    margins.top, margins.bottom, margins.header, margins.footer = 0.4, 0.5, 0.2, 0.2
    if fit:
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    else:
        sheet.page_setup.scale = print_scale(sheet, letters, units, margin)
    sheet.oddFooter.left.text = "&9Internal: &A"
    sheet.oddFooter.right.text = "&9&P of &N"


def portrait_scale(wide: float, units: str) -> int:
    """Percent at which columns of so many pixels fill the width of a portrait page."""
    return min(100, int(100 * (_PAPER[units][1] - 2 * _SIDE) * 96 / (wide * _PRINTED_WIDER)))


def portrait_height(units: str) -> float:
    """Inches between the margins of a portrait page."""
    return _PAPER[units][0] - sum(_TOP_AND_BOTTOM)


def portrait(sheet: Worksheet, area: str, units: str, *, internal: bool = True) -> None:
    """Print ``area`` portrait, one page wide."""
    sheet.print_area = area
    sheet.page_setup.orientation = "portrait"
    _paper(sheet, units)
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    margins = sheet.page_margins
    margins.left = margins.right = _SIDE
    margins.top, margins.bottom = _TOP_AND_BOTTOM
    margins.header = margins.footer = 0.3
    if internal:
        sheet.oddFooter.left.text = "&9Internal: &A"
    sheet.oddFooter.right.text = "&9Page &P of &N"


def letters_between(first: str, last: str) -> list[str]:
    """The letters of the columns from ``first`` to ``last``."""
    from openpyxl.utils import column_index_from_string

    a, b = column_index_from_string(first), column_index_from_string(last)
    return [get_column_letter(n) for n in range(a, b + 1)]
