"""Sheets described as data: tables of columns, and blocks of labelled cells.

A sheet's file says *what* is on it (:class:`Table` of :class:`Column`, or ``labelled.Field``) and
calls ``labelled.write_table`` and ``write_fields``, or ``quote.grid.write_grid``; how it looks is
decided there and in ``styles``.

Formulas name cells by the key of their column::

    Column("required", "Required volume", "calc", "volume",
           formula='IF({line}="","",HOPPER_REQUIRED_VOLUME({throughput},{hours},{blend}))')

============== ======================================= =====================================
placeholder    stands for                              used for
============== ======================================= =====================================
``{hours}``    ``$Q12``, the cell of the same row      nearly everything
``{hours:down}`` ``$Q$12:$Q12``, from the first row    counting and running sums
``{hours:above}`` ``$Q$11:$Q11``, up to the row above  ROWS of it is the number of the row
``{hours:prev}`` ``$Q11``, the row above               running texts
``{hours:below}`` ``$Q13:$Q$212``, the rows below      the last of its kind
``{hours:all}``  ``$Q$12:$Q$211``, the whole reach     comparing with the other rows
``{other.hours}`` ``Other!$Q12``, the same line there   sheets that belong together
``{hours:letter}`` ``Q``, the letter alone             telling people where a column is
``{hours:bare}`` ``$Q12`` without its sheet            the second end of such a range
============== ======================================= =====================================

Headings that carry a unit are formulas and follow the unit system of the book, ``unit_system``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import copy
from dataclasses import dataclass
from dataclasses import field as dataclass_field
from functools import cached_property
from math import ceil
from typing import TYPE_CHECKING, Any

from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName

from ..cells.quantities import QUANTITIES
from .styles import FORMATS, style_name
from .validation import Rule

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = [
    "Column",
    "Table",
    "define_name",
    "has_unit",
    "put",
    "put_across",
    "realign",
    "start_sheet",
    "text_height",
    "unit_name",
]


def has_unit(quantity: str) -> bool:
    """Whether the unit of ``quantity`` differs between the two unit systems."""
    known = QUANTITIES.get(quantity)
    return known is not None and known.us != known.metric


def unit_name(quantity: str) -> str:
    """Name of the cell that holds the unit of ``quantity`` in the unit system of the book."""
    return "unit_" + quantity.replace(" ", "_")


@dataclass(frozen=True)
class Column:
    """One column of a table; every row has the same formula or the same validation.

    Attributes:
        key: short name, unique in the table; formulas use it.
        heading: what stands above the column, without the unit.
        role: "input", "calc" or "check": style and word.
        quantity: key of QUANTITIES; gives the heading its unit.
        formula: without "=", with placeholders as in the module's text; inputs have none.
        rule: what may be typed; every input has one.
        show: key of styles.FORMATS; the quantity, or "text", when left out.
        width: in characters.
        group: columns of the same group, side by side, stand under one band.
        unit: a fixed unit word ("h"), where the quantity gives none.
        align: "left", "center", "right" or "" for the program's own choice.
        wrap: long text goes on in a second line; the rows must be high enough.
        fold: seldom used: the column is grouped and folded away.
        shrink: a text that is too long is shown smaller.
        bold: what the eye shall find first.
    """

    key: str
    heading: str
    role: str = "calc"
    quantity: str = ""
    formula: str = ""
    rule: Rule | None = None
    show: str = ""
    width: float = 10
    group: str = ""
    unit: str = ""
    align: str = ""
    wrap: bool = False
    fold: bool = False
    shrink: bool = False
    bold: bool = False

    def __post_init__(self) -> None:
        if (self.role == "input") != (self.rule is not None) or bool(self.formula) == (
            self.role == "input"
        ):
            raise ValueError(f"column {self.key}: an input has a rule, all others a formula")

    @property
    def alignment(self) -> str:
        """Text to the left, figures to the right, unless the column says otherwise."""
        if self.align:
            return self.align
        return "right" if self.quantity or self.show not in ("", "text") else "left"

    @property
    def number_format(self) -> str:
        """The number format of the cells."""
        if self.show:
            return FORMATS[self.show]
        if self.role == "input":
            return FORMATS["typed" if self.quantity else "text"]
        return FORMATS[self.quantity or "text"]

    @property
    def heading_value(self) -> str:
        """Text or formula of the heading cell."""
        if has_unit(self.quantity):
            return f'="{self.heading}"&CHAR(10)&{unit_name(self.quantity)}'
        return f"{self.heading}\n{self.unit}" if self.unit else self.heading


class _ColumnRow:
    """A column as seen from one row: what a placeholder becomes."""

    def __init__(self, letter: str, row: int, first: int, last: int, sheet: str = "") -> None:
        self.letter, self.row, self.first, self.last, self.sheet = letter, row, first, last, sheet

    def __format__(self, spec: str) -> str:
        if spec == "down":
            return f"{self.sheet}${self.letter}${self.first}:${self.letter}{self.row}"
        if spec == "above":
            return f"{self.sheet}${self.letter}${self.first - 1}:${self.letter}{self.row - 1}"
        if spec == "prev":
            return f"{self.sheet}${self.letter}{self.row - 1}"
        if spec == "below":
            return f"{self.sheet}${self.letter}{self.row + 1}:${self.letter}${self.last + 1}"
        if spec == "letter":
            return self.letter
        if spec == "bare":
            return f"${self.letter}{self.row}"
        if spec == "all":
            return f"{self.sheet}${self.letter}${self.first}:${self.letter}${self.last}"
        if spec:
            raise ValueError(f"unknown placeholder :{spec}")
        return f"{self.sheet}${self.letter}{self.row}"


class _Linked:
    """The row of another table that belongs to a row of this one."""

    def __init__(self, table: Table, number: int) -> None:
        self._table, self._number = table, number

    def __getattr__(self, key: str) -> _ColumnRow:
        table = self._table
        return _ColumnRow(
            table.letter(key), table.first_row + self._number, table.first_row, table.reach_row,
            f"{table.quoted_sheet}!",
        )  # fmt: skip


@dataclass(frozen=True)
class Table:
    """A table on a sheet; addresses follow from its description, before it is written.

    Attributes:
        sheet: name of the sheet.
        columns: from left to right.
        first_row: row of the first line of data; above it stand the word row, the heading row
            and the row of group bands.
        rows: rows prepared with formulas, styles and validation.
        reach: rows that other formulas look at, so that rows made by copying down count.
        first_column: number of the leftmost column.
        links: name -> another table whose row k belongs to row k of this one: ``{name.hours}``.
    """

    sheet: str
    columns: tuple[Column, ...]
    first_row: int
    rows: int
    reach: int = 0
    first_column: int = 1
    links: Mapping[str, Callable[[], Table]] = dataclass_field(default_factory=dict)

    def __post_init__(self) -> None:
        keys = [column.key for column in self.columns]
        if len(set(keys)) < len(keys):
            raise ValueError(f"{self.sheet}: two columns have the same key")

    @property
    def last_row(self) -> int:
        """Last prepared row."""
        return self.first_row + self.rows - 1

    @property
    def reach_row(self) -> int:
        """Last row that other formulas look at."""
        return self.first_row + (self.reach or self.rows) - 1

    @property
    def heading_row(self) -> int:
        """Row of the headings."""
        return self.first_row - 2

    @property
    def quoted_sheet(self) -> str:
        """The sheet's name as formulas write it."""
        return f"'{self.sheet}'" if " " in self.sheet else self.sheet

    @cached_property
    def _indexes(self) -> dict[str, int]:
        return {column.key: index for index, column in enumerate(self.columns)}

    @cached_property
    def _letters(self) -> dict[str, str]:
        return {
            key: get_column_letter(self.first_column + index)
            for key, index in self._indexes.items()
        }

    def column(self, key: str) -> Column:
        """The column ``key``."""
        return self.columns[self._indexes[key]]

    def letter(self, key: str) -> str:
        """Letter of the column ``key``.

        Raises:
            KeyError: the table has no such column.
        """
        return self._letters[key]

    def cell(self, key: str, row: int) -> str:
        """Address of one cell on the table's own sheet, e.g. ``Q12``."""
        return f"{self.letter(key)}{row}"

    def range(self, key: str, prepared_only: bool = False) -> str:
        """The whole column from another sheet: ``Sizing!$Q$12:$Q$211``."""
        last = self.last_row if prepared_only else self.reach_row
        letter = self.letter(key)
        return f"{self.quoted_sheet}!${letter}${self.first_row}:${letter}${last}"

    def formula(self, text: str, row: int) -> str:
        """``text`` with its placeholders filled in for ``row``, with the leading ``=``."""
        cells = {
            column.key: _ColumnRow(self.letter(column.key), row, self.first_row, self.reach_row)
            for column in self.columns
        }
        linked = {
            name: _Linked(table(), row - self.first_row) for name, table in self.links.items()
        }
        return "=" + text.format_map({**cells, **linked})

    @property
    def inputs(self) -> tuple[Column, ...]:
        """The columns that somebody types into."""
        return tuple(column for column in self.columns if column.role == "input")


def put(
    sheet: Worksheet,
    address: str,
    value: Any,
    kind: str,
    number_format: str = "",
    *,
    align: str = "",
) -> Cell:
    """Write one cell in the named style ``kind``."""
    cell = sheet[address]
    cell.value = value
    cell.style = style_name(kind)
    if number_format:
        cell.number_format = number_format
    if align:
        # A figure has the room to its right in its number format.
        near_edge = align == "left" or (align == "right" and not number_format.endswith("_)"))
        realign(cell, horizontal=align, indent=int(near_edge))
    return cell


def realign(cell: Cell, **changes: Any) -> None:
    """Change some of the alignment that the cell has from its style."""
    alignment = copy(cell.alignment)
    for name, value in changes.items():
        setattr(alignment, name, value)
    cell.alignment = alignment


def put_across(
    sheet: Worksheet,
    span: str,
    value: Any,
    kind: str,
    number_format: str = "",
    *,
    align: str = "",
) -> Cell:
    """Write one cell that is merged over ``span`` (``"C4:F4"``), styled all over."""
    for row in sheet[span]:
        for cell in row:
            cell.style = style_name(kind)
    sheet.merge_cells(span)
    return put(sheet, span.partition(":")[0], value, kind, number_format, align=align)


def text_height(text: str, width: float, size: float = 10) -> float:
    """Row height in points for wrapped text of ``size`` points over columns ``width`` wide."""
    # Running text takes about 0.82 of the digits of 10 points that column widths are counted in.
    return size * 1.3 * max(1, ceil(len(text) * 0.082 * size / width)) + 2.5


def define_name(book: Workbook, name: str, target: str) -> None:
    """Give ``target`` (``Sizing!$B$4``) the name ``name`` in the whole book."""
    book.defined_names[name] = DefinedName(name, attr_text=target)


def start_sheet(
    book: Workbook, name: str, title: str, last_column: str, subtitle: str = ""
) -> Worksheet:
    """A new sheet with its title band in row 1, without grid lines."""
    sheet = book.create_sheet(name)
    sheet.sheet_view.showGridLines = False
    sheet.row_dimensions[1].height = 34
    for row in sheet[f"A1:{last_column}1"]:
        for cell in row:
            cell.style = style_name("title")
    put(sheet, "A1", title, "title")
    if subtitle:
        put(sheet, "A2", subtitle, "note", align="left")
        realign(sheet["A2"], wrap_text=False, vertical="center")
    sheet.oddFooter.left.text = "&8&F, &A"
    sheet.oddFooter.right.text = "&8Page &P of &N"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_LETTER
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_setup.fitToHeight = 0
    sheet.page_margins.left = sheet.page_margins.right = 0.5
    sheet.page_margins.top = 0.5
    sheet.page_margins.bottom = 0.6
    return sheet
