"""Sheet *Revision*: each revision of the quote with its date and what changed, typed.

A revision is valid for as many days as the first quote, unless it says its own last day.
"""

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
    SHEET, first_row=11, rows=20,
    columns=(
        Column("revision", "revision", "input", width=84, align="center", group="Revision",
               unit="A, B, ...", rule=a_text(8, "A, B, C, or a number.")),
        Column("date", "date", "input", width=90, group="", show="date",
               rule=a_date("Date of the revision.")),
        Column("valid", "valid until", "input", width=100, group="", show="date",
               unit="or as long", rule=a_date("The last day of this revision's offer. Blank: as "
                                             "many days as Settings gives the first quote.")),
        Column("by", "by", "input", width=130, group="", rule=a_text(40)),
        Column("changed", "what changed", "input", width=520, group="",
               unit="the customer reads it", rule=a_text(160)),
        Column("row", "filled", show="whole", width=50, group="Worked out", fold=True, align="left",
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

    def latest(key: str) -> str:
        return f"INDEX({TABLE.range(key)},MAX({rows}))"

    days = "valid_until-quote_date"
    for row, label, name, formula, fmt in (
        (3, "Revision on the page", "revision",
         f'=IF(MAX({rows})=0,"",{latest("revision")}&"")', "General"),
        (4, "What changed, on the page", "revision_says",
         f'=IF(MAX({rows})=0,"",{latest("changed")}&"")', "General"),
        # A revision has its own date, or none: never that of the first quote.
        (5, "Date, on the page", "date_on_page",
         f'=IF(MAX({rows})=0,IF(quote_date="","",quote_date),IF({latest("date")}="","",'
         f'{latest("date")}))', "yyyy-mm-dd"),
        (6, "Valid until, on the page", "valid_on_page",
         f'=IF(valid_until="","",IF(MAX({rows})=0,valid_until,IF({latest("valid")}<>"",'
         f'{latest("valid")},IF(OR(date_on_page="",quote_date=""),"",date_on_page+{days}))))',
         "yyyy-mm-dd"),
    ):  # fmt: skip
        pen.put(f"A{row}:B{row}", label, "label")
        pen.put(f"C{row}:E{row}", formula, "calc", fmt, at="left")
        pen.name(f"C{row}", name)
    last = TABLE.letter("changed")
    landscape(sheet, f"A1:{last}{TABLE.last_row}", letters_between("A", last), units)
