"""Sheet *Services*: what is sold beside the hoppers and dryers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..layout import Column, Table, define_name
from ..validation import a_text, amount
from .grid import landscape, letters_between, new_sheet, write_grid

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["SERVICES", "write"]

SERVICES = Table(
    "Services", first_row=6, rows=12,
    columns=(
        Column("text", "what", "input", width=260, group="Sold beside hoppers and dryers",
               unit="such as start-up, freight", rule=a_text(40)),
        Column("note", "note", "input", width=300, group="", unit="printed under it",
               rule=a_text(200)),
        Column("quantity", "quantity", "input", show="typed", width=70, align="right", group="",
               unit="or 1", rule=amount(0.01, 100_000, "How many.")),
        Column("price", "price", "input", show="money", width=110, group="",
               rule=amount(-1e8, 1e8, "In the currency of the quote; a rebate is below 0.")),
        Column("begun", "begun", show="whole", width=50, group="Worked out", fold=True,
               formula='IF(LEN({text}&{note}&{quantity}&{price})>0,1,0)'),
        Column(
            "total", "total", show="money", width=110, group="Worked out", align="right",
            formula='IF({begun}=0,"",IF(AND(LEN(TRIM({text}))>0,ISNUMBER({price}),'
            'OR({quantity}="",ISNUMBER({quantity}))),'
            'ROUND(IF({quantity}="",1,{quantity})*{price},2),NA()))',
        ),
    ),
)  # fmt: skip


def write(book: Workbook, units: str) -> None:
    """Add the sheet."""
    sheet, _ = new_sheet(
        book, SERVICES.sheet, "Services and other items",
        "What is sold beside the hoppers and dryers. Each needs a price.",
    )  # fmt: skip
    write_grid(sheet, SERVICES)
    for key in ("begun", "total"):
        letter = SERVICES.letter(key)
        define_name(
            book, f"services_{key}",
            f"Services!${letter}${SERVICES.first_row}:${letter}${SERVICES.last_row}",
        )  # fmt: skip
    last = SERVICES.letter("total")
    landscape(sheet, f"A1:{last}{SERVICES.last_row}", letters_between("A", last), units)
