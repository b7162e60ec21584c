"""Cells of the sheets that lists are written to, made with openpyxl."""

from __future__ import annotations

from typing import Any

from ...workbook.safe_xml import NOT_IN_XML

__all__ = ["TableSheet"]

_HEADING_FILL = "FFE3E9EF"


class TableSheet:
    """Makes cells of one worksheet."""

    def __init__(self, sheet: Any) -> None:
        from openpyxl.cell import WriteOnlyCell

        self.sheet = sheet
        self._cell = WriteOnlyCell
        self._styles: dict[str, int] = {}

    def text(self, value: str) -> Any:
        """A text cell: a leading ``=`` makes no formula, a control sign no broken file."""
        cell = self._cell(self.sheet, value=NOT_IN_XML.sub("\ufffd", value))
        if cell.data_type != "s":
            cell.data_type, cell.quotePrefix = "s", True
        return cell

    def plain(self, value: Any) -> Any:
        """Any value; only text that needs care becomes a cell object, for speed."""
        if isinstance(value, str) and (value[:1] in "=#" or not value.isprintable()):
            return self.text(value)
        return value

    def any(self, value: Any) -> Any:
        """A cell with any value that a worksheet can hold; texts as :meth:`text`."""
        return self.text(value) if type(value) is str else self._cell(self.sheet, value=value)

    def style_of(self, number_format: str) -> int:
        """Index of the format of a cell with this number format."""
        if number_format not in self._styles:
            cell = self._cell(self.sheet)
            cell.number_format = number_format
            self._styles[number_format] = int(cell.style_id)
        return self._styles[number_format]

    def heading(self, value: Any, fill: str = _HEADING_FILL) -> Any:
        """A heading cell."""
        from openpyxl.styles import Alignment, Font, PatternFill

        cell = self.text("" if value is None else str(value))
        cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
        cell.fill = PatternFill("solid", fgColor=fill)
        return cell

    def bold(self, value: Any) -> Any:
        """A cell in bold."""
        from openpyxl.styles import Font

        cell = self.text(str(value))
        cell.font = Font(bold=True)
        return cell
