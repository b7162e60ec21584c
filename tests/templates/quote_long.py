"""A quote of many lines with the longest names that may be typed; all of it is invented."""

from __future__ import annotations

from typing import Any

from hoppersheet.templates import quote
from hoppersheet.templates.quote import catalog, demo, dryer, services, typing_in
from hoppersheet.templates.quote.line_columns import LONGEST

LINES = 36
_SHOUT = "HOPPER WITH MAGNET, SIGHT GLASS AND SLIDE GATE, INSULATED, STAINLESS"
JOB = "Press {}, control housing upper half with insert, 4 cavities, 2 K"
REASON = (
    "the press log of March shows that this press has never used more than nine tenths of the rate "
    "that was stated, and the plant manager has said so in writing on 24 February of this year, "
    "see letter"
)
CUSTOMER = "Invented Precision Injection Molding and Extrusion Company of Nowhere, Plant 2"
_RESINS = ("PC/ABS", "ABS", "PBT", "PA66", "PC", "PLA", "PET", "PMMA", "ASA", "PETG", "TPU", "PPS")


def model(name: str) -> str:
    """A model's name of 60 signs."""
    return f"{name} {_SHOUT}"[:60]


def lines() -> list[dict[str, Any]]:
    """36 lines, nine on each of four dryers; figures in metric units."""
    made = []
    for n in range(LINES):
        line: dict[str, Any] = {
            "job": JOB.format(n + 1)[: LONGEST["job"]], "resin": _RESINS[n % len(_RESINS)],
            "regrind": (0, 0.15, 0.3)[n % 3], "basis": "mass", "virgin": 0.64,
            "virgin_from": "data sheet", "ground": 0.45, "ground_from": "measured",
            "stated": 20 + 37 * n % 260, "hours": 4, "dryer": "ABCD"[n // 9],
        }  # fmt: skip
        if n % 9 == 4:
            line |= {"choice": "size below", "reason": REASON, "likely": line["stated"] * 0.9}
        if n == 7:
            line |= {"resin": "Own blend of recycled resins, 30 % GF", "quantity": 5,
                     "discount": 0.125}  # fmt: skip
        made.append(line)
    return made


def long_book() -> Any:
    """The workbook, ready for its customer, with the sizing basis."""
    book = quote.build("metric", rows=LINES)
    for table in (catalog.TABLE, catalog.DRYERS):
        sheet = book[table.sheet]
        for row in range(table.first_row, table.last_row + 1):
            name = sheet[table.cell("model", row)]
            if name.value:
                name.value = model(name.value)
                sheet[table.cell("invented", row)] = None
                sheet[table.cell("price", row)] = 12345678.9
    header = {k: v for k, v in demo.HEADER.items() if not k.startswith(("room", "plant", "drying"))}
    typing_in.type_in(book, **{
        **header, "demonstration": "no", "customer": CUSTOMER, "basis_page": "yes",
        "project": "Drying of all resins of halls 7, 8 and 9 with new hoppers over the presses",
        "inquiry": "24 February 2026, by phone, and by letter of 27 February",
        "prepared_by": "A. Very-Long-Name Estimator (invented), Sales, Region North",
        "seller": "INVENTED Dryer Sales and Service Company of Nowhere and Else",
        "seller_contact": "Long Street of Nowhere 1234, 99999 Nowhere; quotes@example.invalid",
    })  # fmt: skip
    typing_in.fill(book, lines())
    for n in range(4):
        book["Dryer"][dryer.TABLE.cell("quantity", dryer.TABLE.first_row + n)] = 4
        if n < 3:  # their lines ask for different temperatures
            book["Dryer"][dryer.TABLE.cell("reason", dryer.TABLE.first_row + n)] = REASON
    demo.fill_table(book, services.SERVICES, (
        {"text": "Start-up and training by two engineers", "note": "days on site", "quantity": 2,
         "price": 1150},
        {"text": "Freight", "note": "to Plant 2", "price": 12345678.9},
    ), "metric")  # fmt: skip
    return book
