"""The invented scenario of ``workbooks/demo_quote.xlsx``; nobody and nothing in it exists."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from .dryer import LINES as DRYER
from .other_items import ROWS as ITEM_ROWS
from .quote_lines import TABLE as QUOTE
from .resins import OWN as OWN_RESINS
from .shared_hopper import TABLE as SHARED
from .sizing import TABLE as SIZING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from openpyxl import Workbook

    from ..layout import Table

__all__ = [
    "DRYER_LINES",
    "HEADER",
    "LINES",
    "OTHER_ITEMS",
    "RESINS",
    "SHARED_JOBS",
    "fill",
    "fill_items",
    "fill_lines",
    "fill_table",
]

HEADER: dict[str, Any] = {
    "customer": "INVENTED Customer, Plant 2",
    "project": "Dry seven jobs on two floors (invented)",
    "prepared_by": "A. Estimator (invented)",
    "seller": "INVENTED Dryer Sales",
    "seller_address": "1 Invented Street, Nowhere",
    "seller_contact": "quotes@example.invalid",
    "quote_conditions": "Delivery eight weeks after the order, payment within 30 days (invented). "
    "Line 6 was chosen for 85 lb/h, the throughput that the customer stated.",
    "quote_number": "DEMO-001",
    "quote_date": date(2026, 3, 2),
    "valid_until": date(2026, 4, 30),
    "tax_rate": 0.07,
    "catalog_date": date(2026, 1, 15),
    "size_policy": "below allowed",
    "policy_shortfall": 0.03,
    "regrind_line": 1,
    "room_temperature": 86,
    "room_humidity": 0.6,
    "plant_altitude": 650,
    "drying_dew_point": -40,
    "airflow_is": "actual",
}

#: One dictionary per line, by the keys of the Sizing columns; US units.
LINES: tuple[dict[str, Any], ...] = (
    {
        "job": "Press 1, housing", "resin": "PC", "virgin_share": 0.5, "share_basis": "volume",
        "virgin_density": 34, "virgin_basis": "data sheet", "throughput": 100, "hours": 4,
        "quantity": 1,
    },
    {
        "job": "Press 2, lens of a rear lamp, left and right", "resin": "PC", "virgin_share": 1,
        "virgin_density": 41, "virgin_basis": "measured", "throughput": 62, "hours": 4,
        "reserve": 0.1, "quantity": 2, "discount": 0.05,
    },
    {
        "job": "Press 3, bracket", "resin": "PA66 GF30", "virgin_share": 0.7,
        "share_basis": "mass", "virgin_density": 43, "virgin_basis": "data sheet",
        "regrind_density": 26, "regrind_basis": "measured", "throughput": 148, "hours": 4,
        "load_density": 52, "quantity": 1,
    },
    {
        "job": "Press 4, bezel", "resin": "ABS", "virgin_share": 0.8, "share_basis": "mass",
        "virgin_density": 39, "virgin_basis": "estimated", "throughput": 230, "hours": 3,
        "reserve": 0.1, "quantity": 1,
    },
    {
        "job": "Line 5, preform", "resin": "PET", "virgin_share": 0.75, "share_basis": "mass",
        "virgin_density": 53, "virgin_basis": "measured", "regrind_density": 22,
        "regrind_basis": "measured", "throughput": 640, "hours": 5, "quantity": 1,
        "discount": 0.08,
    },
    {
        "job": "Press 6, gear", "resin": "PBT", "virgin_share": 1, "virgin_density": 50,
        "virgin_basis": "data sheet", "throughput": 105, "hours": 4, "choice": "below",
        "reason": "Runs at 85 lb/h at most, says the customer (invented)", "quantity": 1,
    },
    {
        "job": "Press 7, cover", "resin": "ABS", "virgin_share": 0.6, "share_basis": "volume",
        "virgin_density": 39, "virgin_basis": "estimated", "throughput": 120, "hours": 3,
        "choice": "own", "own_model": "EXAMPLE-30",
        "reason": "Throughput doubles next year (invented)", "quantity": 1,
    },
)  # fmt: skip

#: Description, quantity and unit price of what is sold beside the hoppers.
OTHER_ITEMS: tuple[tuple[str, float, float], ...] = (
    ("Dryer A, 400 cfm (invented)", 1, 14_200),
    ("Start-up and training, days (invented)", 2, 1_150),
    ("Freight (invented)", 1, 980.50),
)

#: Beside the lines, in their order, by the keys of the Dryer columns; US units.
DRYER_LINES: tuple[dict[str, Any], ...] = (
    {"dryer": "Dryer A", "moisture_in": 0.002},
    {"dryer": "Dryer A", "moisture_in": 0.002},
    {"moisture_in": 0.004, "moisture": 0.001, "airflow": 0.8},
    {"dryer": "Dryer B", "moisture_in": 0.003},
    {"dryer": "Dryer C", "moisture_in": 0.003, "airflow": 0.9},
    {"dryer": "Dryer A"},
    {"dryer": "Dryer B", "moisture_in": 0.003},
)

#: Jobs that take turns on the hopper of line 4, by the keys of the Shared hopper columns.
SHARED_JOBS: tuple[dict[str, Any], ...] = (
    {"line": 4},
    {
        "job": "Press 4, trim strip", "resin": "ABS", "density": 35, "throughput": 180, "hours": 3,
        "upper": 6,
    },
    {"job": "Press 4, samples", "resin": "ABS", "density": 39, "throughput": 44, "hours": 3},
    {
        "job": "Press 4, clear cover", "resin": "House blend 7", "density": 41, "throughput": 150,
        "hours": 4,
    },
)  # fmt: skip

#: Own rows, by the keys of the Resins columns; US units.
RESINS: tuple[dict[str, Any], ...] = (
    {
        "resin": "PA66 GF30", "drying_temperature": 176, "drying_temperature_low": 170,
        "drying_temperature_high": 180, "drying_hours": 4, "drying_hours_low": 4,
        "drying_hours_high": 6, "specific_heat": 0.36,
        "source": "INVENTED data sheet, Jan 2026",
    },
)  # fmt: skip


def fill_table(book: Workbook, table: Table, lines: tuple[dict[str, Any], ...]) -> None:
    """Type ``lines`` into the rows of ``table``, from the first one on."""
    sheet = book[table.sheet]
    for row, line in enumerate(lines, table.first_row):
        for key, value in line.items():
            sheet[table.cell(key, row)] = value


def fill_lines(book: Workbook, lines: tuple[dict[str, Any], ...]) -> None:
    """Type ``lines`` into the rows of Sizing, from the first one on."""
    fill_table(book, SIZING, lines)


def fill_items(book: Workbook, items: Iterable[tuple[Any, Any, Any]]) -> None:
    """Type description, quantity and unit price of other items into *Quote*."""
    letters = ("A", QUOTE.letter("quantity"), QUOTE.letter("price"))
    for row, item in zip(ITEM_ROWS, items, strict=False):
        for letter, value in zip(letters, item, strict=True):
            book[QUOTE.sheet][f"{letter}{row}"] = value


def fill(book: Workbook) -> None:
    """Type the whole invented scenario into ``book``."""
    for name, value in HEADER.items():
        ((sheet, address),) = book.defined_names[name].destinations
        book[sheet][address.replace("$", "")] = value
    fill_lines(book, LINES)
    fill_items(book, OTHER_ITEMS)
    fill_table(book, DRYER, DRYER_LINES)
    fill_table(book, SHARED, SHARED_JOBS)
    fill_table(book, OWN_RESINS, RESINS)
