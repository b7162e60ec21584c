"""Sheet *Revision*: each revision of the quote with its date and what changed, typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..layout import Column, Table
from ..validation import a_date, a_text
from .grid import landscape, letters_between, new_sheet, write_grid

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["SHEET", "TABLE", "write"]

SHEET = "Revision"

TABLE = Table(
    SHEET, first_row=9, rows=20,
    columns=(
        Column("revision", "revision", "input", width=84, align="center", group="Revision",
               unit="A, B, ...", rule=a_text(8, "A, B, C, or a number.")),
        Column("date", "date", "input", width=90, group="", show="date",
               rule=a_date("Date of the revision.")),
        Column("by", "by", "input", width=130, group="", rule=a_text(40)),
        Column("changed", "what changed", "input", width=520, group="",
               unit="the customer reads it", rule=a_text(160)),
        Column("row", "filled", show="whole", width=50, group="Worked out", fold=True,
               formula='IF(LEN(TRIM({revision}))=0,0,ROWS({revision:down}))'),
    ),
)  # fmt: skip


def write(book: Workbook, units: str) -> None:
    """Add the sheet."""
    sheet, _ = new_sheet(
        book, SHEET, "Revisions of this quote",
        "The last filled row is the revision on the page. hoppersheet audit OLD NEW --changes "
        "writes what changed between two saved books.",
    )  # fmt: skip
    pen = write_grid(sheet, TABLE)
    rows = TABLE.range("row")
    for row, label, name, formula in (
        (3, "Revision on the page", "revision",
         f'=IF(MAX({rows})=0,"",INDEX({TABLE.range("revision")},MAX({rows}))&"")'),
        (4, "What changed, on the page", "revision_says",
         f'=IF(MAX({rows})=0,"",INDEX({TABLE.range("changed")},MAX({rows}))&"")'),
    ):  # fmt: skip
        pen.put(f"A{row}:B{row}", label, "label")
        pen.put(f"C{row}:D{row}", formula, "calc")
        pen.name(f"C{row}", name)
    last = TABLE.letter("changed")
    landscape(sheet, f"A1:{last}{TABLE.last_row}", letters_between("A", last), units)
