"""The invented scenario of ``workbooks/demo_quote.xlsx``; nobody and nothing in it exists.

Densities and drying hours lie within the ranges of the resin table, which a test looks at.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from ...cells.quantities import QUANTITIES
from ...cells.wording import in_system, rounded, to_si
from .dryer import TABLE as DRYERS
from .line_columns import TYPED
from .measured import TABLE as MEASURED
from .revision import TABLE as REVISION
from .services import SERVICES
from .typing_in import fill as fill_lines
from .typing_in import type_in

if TYPE_CHECKING:
    from collections.abc import Iterable

    from openpyxl import Workbook

    from ..layout import Table

__all__ = ["DRYER_ROWS", "HEADER", "LINES", "MEASURED_ROWS", "SERVICE_ROWS", "fill", "fill_table"]

HEADER: dict[str, Any] = {
    "demonstration": "yes",
    "customer": "INVENTED Customer, Plant 2",
    "project": "Dry eight jobs on two floors",
    "inquiry": "24 February 2026, by phone",
    "prepared_by": "A. Estimator (invented)",
    "seller": "INVENTED Dryer Sales, Nowhere",
    "seller_contact": "quotes@example.invalid",
    "quote_number": "EX-0147",
    "quote_date": date(2026, 3, 2),
    "valid_until": date(2026, 4, 30),
    "tax_rate": 0.07,
    "catalog_date": date(2026, 1, 2),
    "catalog_sizes_are": "usable",
    "book_basis": "mass",
    "printed_1": "lead time",
    "conditions_1": "Payment within 30 days. Stands and ducts are not included.",
    "room_temperature": 86,
    "room_humidity": 0.6,
    "plant_altitude": 650,
    "drying_dew_point": -40,
}

#: One dictionary per line, by the keys of the typed columns; US units.
LINES: tuple[dict[str, Any], ...] = (
    {
        "job": "Press 4, control housing", "resin": "PC/ABS", "regrind": 0.3, "virgin": 40,
        "virgin_from": "data sheet", "ground": 28, "ground_from": "measured", "stated": 220,
        "low": 170, "likely": 190, "high": 220, "hours": 3.5,
    },
    {
        "job": "Press 5, bezel", "resin": "ABS", "regrind": 0.15, "virgin": 39,
        "virgin_from": "data sheet", "stated": 100, "likely": 88, "hours": 3,
        "choice": "size below", "reason": "the press log of March shows 88 lb/h",
    },
    {
        "job": "Press 6, connector", "resin": "PBT", "virgin": 48, "virgin_from": "data sheet",
        "stated": 62, "hours": 4, "shared": "H1",
    },
    {
        "job": "Press 9, gear", "resin": "PA66", "regrind": 0.2, "virgin": 42,
        "virgin_from": "data sheet", "stated": 140, "likely": 120, "hours": 4,
        "moisture_in": 0.003,
    },
    {
        "job": "Press 11, tray, reground parts", "resin": "PC", "regrind": 1, "shot": 420,
        "cycle": 36, "hours": 4,
    },
    {
        "job": "Press 14, cap", "resin": "POM", "regrind": 0.1, "basis": "volume", "virgin": 51,
        "virgin_from": "data sheet", "ground": 30, "ground_from": "measured", "stated": 75,
        "hours": 2, "quantity": 2,
    },
    {
        "job": "Press 15, cutlery", "resin": "PLA", "stated": "30 kg/h", "hours": 4,
        "temperature": 175, "dryer": "B",
    },
    {
        "job": "Press 6, night shift", "resin": "PA6", "virgin": 41, "virgin_from": "measured",
        "stated": 60, "hours": 4, "shared": "H1",
    },
)  # fmt: skip

#: The first line once more, as it was tried on One line.
ONE_LINE: dict[str, Any] = {
    **LINES[0], "form": "pellets, ground parts", "basis": "mass", "rate_from": "press log",
    "hours_low": 3, "hours_likely": 3.5, "hours_high": 4, "hours_from": "resin maker",
    "headroom": 8, "choice": "next size", "quantity": 1, "line": 1,
}  # fmt: skip

MEASURED_ROWS: tuple[dict[str, Any], ...] = (
    {
        "resin": "PC", "what": "regrind", "line": 5, "lot": "tray, 2 March (invented)",
        "method": "ASTM D1895 B", "volume": 400, "cup_1": 172.4, "cup_2": 174.9, "cup_3": 171.2,
        "cup_4": 173.6,
    },
)  # fmt: skip

#: Of dryer A, whose lines ask for air of different temperatures.
DRYER_ROWS: tuple[dict[str, Any], ...] = ({"reason": "a heater stands before each hopper"},)

SERVICE_ROWS: tuple[dict[str, Any], ...] = (
    {"text": "Start-up and training", "note": "days on site", "quantity": 2, "price": 1150},
    {"text": "Freight", "note": "to Plant 2", "price": 980.5},
)  # fmt: skip

_REVISIONS: tuple[dict[str, Any], ...] = (
    {"revision": "A", "date": date(2026, 2, 26), "by": "A. Estimator", "changed": "first quote"},
    {
        "revision": "B", "date": date(2026, 3, 2), "by": "A. Estimator",
        "changed": "line 2 one size smaller; dryer B added",
    },
)  # fmt: skip


def fill(book: Workbook, units: str = "US") -> None:
    """Type the whole invented scenario into ``book``, figures in the book's unit system."""
    header = dict(HEADER)
    for name, measure in (
        ("room_temperature", "room temperature"), ("plant_altitude", "altitude"),
        ("drying_dew_point", "room temperature"),
    ):  # fmt: skip
        header[name] = _in(units, header[name], measure)
    type_in(book, **header, shared_pick="H1")
    quantities = {column.key: column.quantity for column in TYPED}
    fill_lines(book, ({k: _in(units, v, quantities[k]) for k, v in line.items()} for line in LINES))
    fill_one_line(book, ONE_LINE, units)
    fill_table(book, MEASURED, MEASURED_ROWS, units)
    fill_table(book, DRYERS, DRYER_ROWS, units)
    fill_table(book, SERVICES, SERVICE_ROWS, units)
    fill_table(book, REVISION, _REVISIONS, units)


def fill_one_line(book: Workbook, cells: dict[str, Any], units: str = "US") -> None:
    """Type into *One line*, by the keys of ``one_line.IN``; US figures in ``units``."""
    from .one_line_figures import IN, SHEET

    quantities = {column.key: column.quantity for column in TYPED}
    for key, value in cells.items():
        book[SHEET][IN[key].replace("$", "")] = _in(units, value, quantities.get(key, ""))


def _in(units: str, value: Any, quantity: str) -> Any:
    """A US figure in ``units``, to the digits that somebody would type."""
    if units == "US" or quantity not in QUANTITIES or not isinstance(value, int | float):
        return value
    return float(rounded(in_system(to_si(value, quantity, "US"), quantity, units), 3))


def fill_table(
    book: Workbook, table: Table, rows: Iterable[dict[str, Any]], units: str = "US"
) -> None:
    """Type rows into a table, by the keys of its columns; US figures in ``units``."""
    quantities = {column.key: column.quantity for column in table.columns}
    for row, cells in enumerate(rows, table.first_row):
        for key, value in cells.items():
            book[table.sheet][table.cell(key, row)] = _in(units, value, quantities[key])
