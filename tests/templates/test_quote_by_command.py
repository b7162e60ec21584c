"""The quote template from the command line alone, as a salesperson goes through it.

Three lines typed with openpyxl, computed by a real Calc, totals read with openpyxl. The sizes come
from the core's functions, prices and totals from plain arithmetic.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet import call

#: Heading of *Sizing* -> what is typed below it.
LINES: tuple[dict[str, Any], ...] = (
    {
        "Job": "first", "Resin": "ABS", "Virgin share": 1, "Virgin density, typed": 42,
        "Virgin density from": "data sheet", "Throughput, typed": 100, "Drying time": 4,
        "Quantity": 2,
    },
    {
        "Job": "second", "Resin": "PET", "Virgin share": 0.5, "Share by volume or mass": "mass",
        "Virgin density, typed": 40, "Virgin density from": "measured",
        "Regrind density, typed": 20, "Regrind density from": "measured",
        "Throughput, typed": 200, "Drying time": 3, "Reserve": 0.1, "Quantity": 1,
        "Discount": 0.05,
    },
    {
        "Job": "third", "Resin": "PA6", "Virgin share": 0.7, "Share by volume or mass": "volume",
        "Virgin density, typed": 38, "Virgin density from": "data sheet",
        "Throughput, typed": 60, "Drying time": 5, "Quantity": 3,
    },
)  # fmt: skip
TAX_RATE = 0.08
SIZING_HEADINGS, CATALOG_HEADINGS = 13, 9  # rows


def run(*words: object) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "hoppersheet", *map(str, words)],
        capture_output=True, text=True, timeout=180, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def headings(sheet: Any, row: int) -> dict[str, int]:
    """First line of a heading -> its first column; a heading with its unit is a formula."""
    found: dict[str, int] = {}
    for cell in sheet[row]:
        text = str(cell.value or "").removeprefix('="').partition('"')[0].partition("\n")[0]
        found.setdefault(text, cell.column)
    return found


def expected_line(line: dict[str, Any], catalog: list[tuple[Any, ...]]) -> tuple[str, float]:
    """(model, line total) by the functions of the core; a catalog row is model, size, price."""
    virgin, share = line["Virgin density, typed"], line["Virgin share"]
    regrind = line.get("Regrind density, typed") or call("HOPPER_REGRIND_DENSITY", virgin)
    blend = call(
        "HOPPER_BLEND_DENSITY", [[share, 1 - share]], [[virgin, regrind]],
        line.get("Share by volume or mass", "volume"),
    )  # fmt: skip
    required = call(
        "HOPPER_REQUIRED_VOLUME", line["Throughput, typed"], line["Drying time"], blend,
        line.get("Reserve", 0),
    )  # fmt: skip
    sizes, models, prices = ([[row[i]] for row in catalog] for i in (1, 0, 2))
    size = call("HOPPER_NEXT_SIZE", required, sizes)
    price = call("HOPPER_CATALOG_ENTRY", size, sizes, prices)
    total = round(line["Quantity"] * price * (1 - line.get("Discount", 0)), 2)
    return call("HOPPER_CATALOG_ENTRY", size, sizes, models), total


def catalog_of(sheet: Any) -> list[tuple[Any, ...]]:
    """Model, size as a text with its unit, list price of each row of *Catalog*."""
    at = {name: column - 1 for name, column in headings(sheet, CATALOG_HEADINGS).items()}
    found = []
    for row in sheet.iter_rows(min_row=CATALOG_HEADINGS + 2, values_only=True):
        model, size, unit = (row[at[name]] for name in ("Model", "Stated size", "Unit of size"))
        if model is None:
            break
        if unit == "lb":  # a mass at a density
            size, unit = call("HOPPER_RATED_VOLUME", size, row[at["At density"]]), "ft3"
        found.append((model, f"{size} {unit}", row[at["List price"]]))
    return found


@pytest.mark.calc
def test_three_lines_typed_into_a_fresh_template(tmp_path: Path) -> None:
    fresh, computed = tmp_path / "quote.xlsx", tmp_path / "computed.xlsx"
    run("template", "quote", "--out", fresh)
    book = openpyxl.load_workbook(fresh)
    sizing, catalog = book["Sizing"], catalog_of(book["Catalog"])
    assert len(catalog) == 13
    columns = headings(sizing, SIZING_HEADINGS)
    first = SIZING_HEADINGS + 2  # below the row that says what is to be typed
    for row, line in enumerate(LINES, first):
        for heading, value in line.items():
            sizing.cell(row, columns[heading]).value = value
    named = {name: next(iter(n.destinations)) for name, n in book.defined_names.items()}
    sheet, address = named["tax_rate"]
    book[sheet][address] = TAX_RATE
    book.save(fresh)
    before = fresh.read_bytes()

    said = run("compute", fresh, "--out", computed, "--engine", "calc")
    assert "keep their stored value" not in said
    assert fresh.read_bytes() == before

    shown = openpyxl.load_workbook(computed, data_only=True)
    lines = [expected_line(line, catalog) for line in LINES]
    for row, (model, total) in enumerate(lines, first):
        assert shown["Sizing"].cell(row, columns["Model"]).value == model
        assert shown["Sizing"].cell(row, columns["Line total"]).value == pytest.approx(total)
    subtotal = sum(total for _, total in lines)
    tax = round(subtotal * TAX_RATE, 2)
    for name, expected in (
        ("quote_subtotal", subtotal),
        ("quote_tax", tax),
        ("quote_total", subtotal + tax),
    ):
        sheet, address = named[name]
        assert shown[sheet][address].value == pytest.approx(expected, abs=1e-9), name
