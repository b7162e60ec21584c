"""A saved quote workbook and what Calc computed of it, for the tests of the quote workbook."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates.layout import Table
from hoppersheet.templates.quote import catalog, checks, demo
from hoppersheet.templates.quote.line_checks import SIZING
from hoppersheet.templates.quote.line_checks import TABLE as BEHIND
from hoppersheet.templates.quote.line_columns import TYPED
from hoppersheet.templates.quote.page_shape import FIRST
from hoppersheet.templates.saving import save_workbook
from templates.quote_model import Model


class Book:
    """A saved quote workbook with its computed values."""

    def __init__(self, book: Any, path: Path, office: Office) -> None:
        save_workbook(book, path)
        self.path = path
        self.typed = openpyxl.load_workbook(path)
        self.computed = office.compute(path)

    def where(self, name: str) -> tuple[str, str]:
        ((sheet, address),) = self.typed.defined_names[name].destinations
        return sheet.strip("'"), address.replace("$", "")

    def named(self, name: str) -> Any:
        """What the cell called ``name`` holds: computed, or typed."""
        return self.value(*self.where(name))

    def value(self, sheet: str, address: str) -> Any:
        address = address.replace("$", "")
        found = self.computed[sheet].get(address)
        return self.typed[sheet][address].value if found is None else found

    def cell(self, table: Table, key: str, row: int) -> Any:
        return self.value(table.sheet, table.cell(key, row))

    def line(self, number: int) -> dict[str, Any]:
        """A line of Sizing by the keys of its columns."""
        return {c.key: self.cell(SIZING, c.key, SIZING.first_row + number - 1)
                for c in SIZING.columns}  # fmt: skip

    def state(self, number: int) -> str:
        """The state of a line in full, from *Line checks*; Sizing has its beginning in brief."""
        return str(self.cell(BEHIND, "state", BEHIND.first_row + number - 1))

    def results(self) -> dict[str, tuple[Any, str, str]]:
        """Text of each check -> (cases, result, lines named)."""
        sheet = self.typed["Checks"]
        found = {}
        for row in range(checks.FIRST, checks.FIRST + len(checks.all_checks())):
            found[sheet[f"B{row}"].value] = tuple(
                self.value("Checks", f"{letter}{row}") for letter in "CDE"
            )
        return found

    def failing(self) -> set[str]:
        return {text for text, (_, result, _) in self.results().items() if result == "fail"}

    def page(self) -> list[tuple[Any, ...]]:
        """The units of the page: number, title, figures D to L, text; without the blank end."""
        units = []
        row = FIRST
        while (place := self.computed["Quote"].get(f"S{row}")) not in ("", None):
            assert place, row
            if self.value("Quote", f"T{row}") == 0:  # the foot of a sheet of paper, left blank
                row += 2
                continue
            figures = [self.value("Quote", f"{letter}{row}") for letter in "ABDEFGHIJKL"]
            units.append((*figures, self.value("Quote", f"B{row + 1}")))
            row += 2
        return units

    def model(self, **settings: Any) -> Model:
        """The independent model of this book, its catalog as it is typed."""
        system = self.named("unit_system")
        table, rows = catalog.TABLE, []
        for row in range(table.first_row, table.last_row + 1):
            typed = {
                c.key: self.typed["Catalog"][table.cell(c.key, row)].value for c in table.inputs
            }
            if typed["model"] is None:
                continue
            gross = float(typed["stated"])
            if typed["stated_unit"] in ("lb", "kg"):
                gross /= typed["rated_density"]
            us = typed["stated_unit"] in ("ft3", "lb")
            if us != (system == "US"):
                gross = gross * 28.316846592 if us else gross / 28.316846592
            empty = typed["empty"]
            if (typed["empty_unit"] == "lb") != (system == "US"):
                empty = empty * 0.45359237 if typed["empty_unit"] == "lb" else empty / 0.45359237
            share = typed["usable"]
            if share is None:
                usable = self.named("catalog_sizes_are") == "usable"
                share = 1.0 if usable else self.named("catalog_usable_share")
            rows.append({**typed, "gross": gross, "volume": gross * share, "empty": empty})
        given = {
            "basis": self.named("book_basis") or "", "policy": self.named("size_policy"),
            "shortfall": self.named("policy_shortfall"), "ratio": self.named("regrind_ratio"),
            "allowance": self.named("load_allowance"),
        }  # fmt: skip
        return Model(system, rows, **{**given, **settings})


def near(expected: Any) -> Any:
    """Equal to nine digits; texts as they are."""
    if isinstance(expected, (int, float)) and not isinstance(expected, bool):
        return pytest.approx(expected, rel=1e-9, abs=1e-9)
    return expected


def typed_lines(book: Book) -> list[dict[str, Any]]:
    """The lines as they were typed; a text with a unit as the number that it means."""
    rate = 30.0 if book.named("unit_system") == "metric" else 30 / 0.45359237
    lines = []
    for number in range(1, len(demo.LINES) + 1):
        line = {c.key: book.line(number)[c.key] for c in TYPED}
        line = {k: v for k, v in line.items() if v is not None}
        if line.get("stated") == "30 kg/h":
            line["stated"] = rate
        lines.append(line)
    return lines


def weighed(book: Book) -> list[tuple[int, list[float], float]]:
    """(line, net masses, volume) of each weighed sample."""
    return [
        (row["line"], [row[f"cup_{n}"] for n in range(1, 7) if f"cup_{n}" in row], row["volume"])
        for row in demo.MEASURED_ROWS
    ]
