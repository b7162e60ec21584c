"""Writing what ``layout`` describes: tables under bands and words, and blocks of labelled cells."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from openpyxl.utils import get_column_letter

from .cell_words import WORDS
from .layout import Table, define_name, has_unit, put, put_across, realign, unit_name
from .styles import FORMATS, style_name
from .validation import Rule

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["Field", "write_fields", "write_table"]


def _write_bands(sheet: Worksheet, table: Table) -> None:
    """The band over each group of columns."""
    row = table.first_row - 3
    start = 0
    while start < len(table.columns):
        end = start
        while (
            end + 1 < len(table.columns)
            and table.columns[end + 1].group == table.columns[start].group
        ):
            end += 1
        letters = [get_column_letter(table.first_column + i) for i in (start, end)]
        for cell in sheet[f"{letters[0]}{row}:{letters[1]}{row}"][0]:
            cell.style = style_name("group")
        # Not merged: a merged band hides its text when its left end is scrolled away.
        sheet[f"{letters[0]}{row}"] = table.columns[start].group
        start = end + 1


def write_table(
    sheet: Worksheet,
    table: Table,
    heading_height: float = 42,
    row_height: float = 17,
    calc_style: str = "calc",
) -> None:
    """Bands, headings, words, and the prepared rows with formulas, styles and validation."""
    for row in range(table.first_row, table.last_row + 1):
        sheet.row_dimensions[row].height = row_height
    grouped = any(column.group for column in table.columns)
    if grouped:
        _write_bands(sheet, table)
    sheet.row_dimensions[table.heading_row].height = heading_height
    for column in table.columns:
        letter = table.letter(column.key)
        sheet.column_dimensions[letter].width = column.width
        put(sheet, f"{letter}{table.heading_row}", column.heading_value, "heading")
        put(sheet, f"{letter}{table.first_row - 1}", WORDS[column.role], "word")
        for row in range(table.first_row, table.last_row + 1):
            value = table.formula(column.formula, row) if column.formula else None
            cell = put(
                sheet, f"{letter}{row}", value,
                calc_style if column.role == "calc" else column.role, column.number_format,
                align=column.alignment,
            )  # fmt: skip
            if column.wrap:
                realign(cell, wrap_text=True)
        if column.rule is not None:
            validation = column.rule.validation(column.heading, f"{letter}{table.first_row}")
            validation.add(f"{letter}{table.first_row}:{letter}{table.last_row}")
            sheet.add_data_validation(validation)


@dataclass(frozen=True)
class Field:
    """One labelled cell outside a table.

    Attributes:
        label: what it is.
        name: the book-wide name of the cell, or "".
        role: "input", "calc" or "check".
        value: typed value, or a formula with "=".
        rule: what may be typed; every input has one.
        show: key of styles.FORMATS.
        note: one line beside it, text or formula.
        quantity: gives the label its unit.
        style: another style than that of the role.
    """

    label: str
    name: str = ""
    role: str = "input"
    value: Any = None
    rule: Rule | None = None
    show: str = "text"
    note: str = ""
    quantity: str = ""
    style: str = ""

    def __post_init__(self) -> None:
        if (self.role == "input") != (self.rule is not None):
            raise ValueError(f"field {self.label}: an input has a rule, all others have none")

    @property
    def label_value(self) -> str:
        """Text or formula of the label."""
        if has_unit(self.quantity):
            return f'="{self.label}, "&{unit_name(self.quantity)}'
        return self.label


def write_fields(
    book: Workbook,
    sheet: Worksheet,
    fields: Iterable[Field],
    first_row: int,
    columns: Mapping[str, str],
    *,
    align: str = "left",
) -> None:
    """Write fields one below the other.

    Args:
        book, sheet: where.
        fields: from top to bottom.
        first_row: row of the first one.
        columns: column letters of "label", "value", and optionally "word" and "note"; a value
            like ``"C:F"`` is merged across these columns.
        align: of the values.
    """
    for row, field in enumerate(fields, first_row):
        spans = {
            part: "{}{row}:{}{row}".format(*letters.split(":"), row=row)
            if ":" in letters
            else f"{letters}{row}"
            for part, letters in columns.items()
        }

        def write(part: str, *content: Any, _spans: Mapping[str, str] = spans, **look: Any) -> None:
            span = _spans.get(part)
            if span is not None:
                (put_across if ":" in span else put)(sheet, span, *content, **look)

        write("label", field.label_value, "label")
        write("value", field.value, field.style or field.role, FORMATS[field.show], align=align)
        write("word", WORDS[field.role], "word")
        if field.note:
            write("note", field.note, "note")
        first = spans["value"].partition(":")[0]
        if field.name:
            letter = columns["value"].partition(":")[0]
            quoted = f"'{sheet.title}'" if " " in sheet.title else sheet.title
            define_name(book, field.name, f"{quoted}!${letter}${row}")
        if field.rule is not None:
            validation = field.rule.validation(field.label, first)
            validation.add(first)
            sheet.add_data_validation(validation)
