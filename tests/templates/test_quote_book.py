"""The quote workbook: filled as a user would, computed by a real Calc, every cell worked out again.

``quote_model`` says what the cells must show. Dryer, Shared hopper and Resins have their own tests
in ``test_system_sheets``.
"""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet import call
from hoppersheet.cells.quantities import QUANTITIES
from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import quote
from hoppersheet.templates.layout import Table
from hoppersheet.templates.quote import (
    catalog,
    demo,
    other_items,
    quote_lines,
    quote_sheet,
    regrind,
    sizing,
)
from hoppersheet.templates.quote.unit_words import SWITCHING
from hoppersheet.templates.saving import save_workbook
from hoppersheet.templates.styles import WORDS
from templates.quote_model import Model, convert

SIZING, CATALOG = sizing.TABLE, catalog.TABLE
QUOTE, REGRIND = quote_sheet.TABLE, regrind.TABLE
CHECKS_ROW = 14  # of the first check
OURS = ("Quote", "Sizing", "Catalog", "What regrind does", "Checks", "About")

#: Three lines as somebody in a metric plant types them.
METRIC_LINES: tuple[dict[str, Any], ...] = (
    {
        "job": "A", "resin": "PA6", "virgin_share": 0.8, "share_basis": "mass",
        "virgin_density": 0.65, "virgin_basis": "measured", "throughput": 40, "hours": 4,
        "quantity": 3, "discount": 0.1,
    },
    {
        "job": "B", "resin": "PET", "virgin_share": 1, "virgin_density": 0.85,
        "virgin_basis": "data sheet", "throughput": 900, "hours": 5, "reserve": 0.05,
        "quantity": 1,
    },
    # Smaller than every size: there is no size below.
    {
        "job": "C", "resin": "PC", "virgin_share": 0.5, "share_basis": "volume",
        "virgin_density": 0.66, "virgin_basis": "estimated", "regrind_density": 0.4,
        "regrind_basis": "measured", "throughput": 1.2, "hours": 3, "quantity": 2,
    },
)  # fmt: skip


class Book:
    """A saved quote workbook and what Calc computed; ticks off each cell that was checked."""

    def __init__(self, book: Any, path: Path, office: Office) -> None:
        save_workbook(book, path)
        self.typed = openpyxl.load_workbook(path)
        self.computed = office.compute(path)
        self.checked: dict[str, set[str]] = {sheet: set() for sheet in self.computed}

    def where(self, name: str) -> tuple[str, str]:
        ((sheet, address),) = self.typed.defined_names[name].destinations
        return sheet.strip("'"), address.replace("$", "")

    def named(self, name: str) -> Any:
        """What the cell called ``name`` holds: computed, or typed."""
        sheet, address = self.where(name)
        return self.value(sheet, address)

    def value(self, sheet: str, address: str) -> Any:
        return self.computed[sheet].get(address, self.typed[sheet][address].value)

    def inputs(self, table: Table, row: int) -> dict[str, Any]:
        """What is typed into a row, by column key, without blanks."""
        cells = {c.key: self.typed[table.sheet][table.cell(c.key, row)].value for c in table.inputs}
        return {key: value for key, value in cells.items() if value is not None}

    def expect(self, sheet: str, address: str, expected: Any) -> None:
        value = self.computed[sheet][address]
        self.checked[sheet].add(address)
        if isinstance(expected, (int, float)) and not isinstance(expected, bool):
            expected = pytest.approx(expected, rel=1e-9, abs=1e-9)
        assert value == expected, f"{sheet}!{address} is {value!r}, not {expected!r}"

    def expect_name(self, name: str, expected: Any) -> None:
        self.expect(*self.where(name), expected)

    def expect_row(self, table: Table, row: int, expected: dict[str, Any]) -> None:
        for column in table.columns:
            if column.role != "input":
                self.expect(table.sheet, table.cell(column.key, row), expected[column.key])

    def unchecked(self) -> list[str]:
        return [
            f"{sheet}!{address}"
            for sheet in OURS
            for address in set(self.computed[sheet]) - self.checked[sheet]
        ]

    @property
    def model(self) -> Model:
        policy = self.named("size_policy")
        rows = [self.inputs(CATALOG, row) for row in range(CATALOG.first_row, CATALOG.last_row + 1)]
        return Model(
            typed=self.named("typed_units"),
            shown=self.named("unit_system"),
            policy_shortfall=0 if policy == "always next" else self.named("policy_shortfall"),
            regrind_ratio=self.named("regrind_ratio"),
            load_allowance=self.named("load_allowance"),
            catalog=[row for row in rows if row],
        )


def type_in(book: Any, **cells: Any) -> Any:
    """Type values into named cells."""
    for name, value in cells.items():
        ((sheet, address),) = book.defined_names[name].destinations
        book[sheet.strip("'")][address.replace("$", "")] = value
    return book


@pytest.fixture(scope="module")
def demo_us(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    return Book(quote.build(demo=True), tmp_path_factory.mktemp("us") / "q.xlsx", office)


@pytest.fixture(scope="module")
def demo_metric(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    book = type_in(quote.build(demo=True), unit_system="metric")
    return Book(book, tmp_path_factory.mktemp("metric") / "q.xlsx", office)


@pytest.fixture(scope="module")
def typed_metric(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The template, three lines typed into it."""
    book = quote.build("metric")
    demo.fill_lines(book, METRIC_LINES)
    type_in(book, regrind_line=3, tax_rate=0.2)
    return Book(book, tmp_path_factory.mktemp("typed") / "q.xlsx", office)


@pytest.fixture(scope="module")
def blank(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    return Book(quote.build(), tmp_path_factory.mktemp("blank") / "q.xlsx", office)


# --- every cell ---------------------------------------------------------------------------


def expect_sizing(book: Book) -> list[dict[str, Any]]:
    """Check the sheet; returns the lines, typed and calculated cells together."""
    lines = []
    for number, row in enumerate(range(SIZING.first_row, SIZING.last_row + 1), 1):
        given = book.inputs(SIZING, row)
        if not given:
            book.expect_row(SIZING, row, {c.key: "" for c in SIZING.columns})
            continue
        line = {**given, **book.model.line(given), "line": number}
        shown = [line[key] for key in ("throughput_used", "hours", "blend")]
        explained = call(
            "HOPPER_EXPLAIN", "HOPPER_REQUIRED_VOLUME", *shown, given.get("reserve", 0),
            book.model.shown,
        )  # fmt: skip
        book.expect_row(SIZING, row, {**line, "in_words": explained})
        lines.append(line)
    policy = book.named("size_policy")
    book.expect_name(
        "allowed_shortfall", book.named("policy_shortfall") if policy == "below allowed" else 0
    )
    units = {"US": ("lb/ft3", "lb/h"), "metric": ("kg/L", "kg/h")}[book.model.typed]
    book.expect(
        "Sizing", "J3",
        f"Plain numbers are densities in {units[0]}, throughputs in {units[1]}; 45 kg/h, typed "
        f"with its unit, is converted. The book shows {book.model.shown} (sheet Quote).",
    )  # fmt: skip
    return lines


def mix(line: dict[str, Any]) -> str:
    if line["regrind_share"] == 0:
        return f"{line['resin']}, virgin"
    share = round(100 * line["regrind_share"], 1)
    return f"{line['resin']}, {share:g} % regrind by {line['share_basis']}"


def expect_quote(book: Book, lines: list[dict[str, Any]]) -> None:
    short = [line["line"] for line in lines if line["holds"] != "yes"]
    for row in range(QUOTE.first_row, QUOTE.last_row + 1):
        place = row - QUOTE.first_row
        line = lines[place] if place < len(lines) else None
        expected = dict.fromkeys((c.key for c in QUOTE.columns), "")
        if line is not None:
            expected = {
                "line": line["line"], "job": line["job"], "mix": mix(line),
                "throughput": line["throughput_used"], "hours": line["hours"],
                "model": line["model"], "size": line["chosen"], "held": line["hours_held"],
                "quantity": line["quantity"], "price": line["price"],
                "discount": line.get("discount", ""), "total": line["line_total"],
                "enough": "yes" if line["holds"] == "yes" else "SHORT",
            }  # fmt: skip
        is_short = line is not None and line["line"] in short
        said = {
            "number": short.index(line["line"]) + 1 if is_short else "",
            "words": short_words(line) if is_short else "",
        }
        book.expect_row(quote_lines.SHORT, row, said)
        book.expect_row(QUOTE, row, expected)
    subtotal = sum(line["line_total"] for line in lines)
    items = expect_items(book)
    subtotal += sum(items)
    tax = round(subtotal * book.named("tax_rate") + 1e-9, 2)
    book.expect_name("quote_subtotal", subtotal if lines else "")
    book.expect_name("quote_tax", tax if lines else "")
    book.expect_name("quote_total", subtotal + tax if lines else "")
    flag = book.named("checks_flag")
    book.expect("Quote", quote_sheet.NO_TOTAL_CELL, "" if lines else NO_LINE)
    book.expect("Quote", quote_sheet.NOT_READY_CELL, flag if flag.startswith("NOT") else "")
    book.expect("Quote", quote_sheet.FLAG_CELL, flag)
    names = [book.named(name) or "" for name in ("seller", "quote_number")]
    book.expect("Quote", "G1", names[0] + (f"  |  {names[1]}" if names[1] else ""))
    book.expect("Quote", f"H{quote_sheet.BASIS_ROW}", f"Price in {book.named('currency')}")
    foot = re.findall(r"[0-9]+$", book.typed["Quote"].print_area)[0]
    book.expect("Quote", f"A{foot}", f"Quote {names[1]}." if names[1] else "")
    book.expect_name("items_begun", len(items))
    book.expect_name("items_not_priced", 0)
    expect_basis(book, lines)


def expect_items(book: Book) -> list[float]:
    """Check the totals of the other items; returns those that there are."""
    totals = []
    for row in other_items.ROWS:
        cells = [book.typed["Quote"][QUOTE.cell(key, row)].value for key in ("quantity", "price")]
        if cells[0] is not None:
            totals.append(round(cells[0] * cells[1] + 1e-9, 2))
        book.expect("Quote", QUOTE.cell("total", row), "" if cells[0] is None else totals[-1])
    return totals


NO_LINE = "No line is filled in on Sizing."


def short_words(line: dict[str, Any]) -> str:
    return (
        f"line {line['line']:g} holds {round(line['hours_held'], 2):g} h of {line['hours']:g} h, "
        + line["holds"].removeprefix("no, ")
    )


def expect_basis(book: Book, lines: list[dict[str, Any]]) -> None:
    """The text that tells the customer how the hoppers were sized."""
    shortfall = book.model.policy_shortfall
    size = "the next catalog size up"
    if shortfall:
        size = (
            f"the catalog size below where it is short by no more than {100 * shortfall:g} %, "
            "else the next size up"
        )
    own = sum("choice" in line for line in lines)
    size += f"; {own} line{'s' * (own > 1)} chosen individually." if own else "."
    basis = [line["virgin_basis"] for line in lines]
    guessed = sum(1 for x in lines if x["regrind_is"] == "estimated" and x["regrind_share"] > 0)
    short = [short_words(line) for line in lines if line["holds"] != "yes"]
    assert len(short) <= 3, "more are tested by themselves"
    origins = [
        f"{basis.count(kind)} {words}"
        for kind, words in (("measured", "measured"), ("data sheet", "from data sheets"),
                            ("estimated", "estimated"))
        if basis.count(kind)
    ]  # fmt: skip
    date = book.named("catalog_date")
    texts = (
        "Volume = throughput x drying time / bulk density, plus the reserve stated for the line.",
        f"Size: {size}",
        f"Virgin densities: {', '.join(origins)}."
        + (f" Regrind densities: {guessed} estimated." if guessed else ""),
        f"Shorter than the drying time: {'; '.join(short)}."
        if short
        else "Every hopper holds its drying time at the throughput stated.",
        f"Hoppers and prices: {book.named('catalog_name')}"
        + (f", of {date:%Y-%m-%d}." if isinstance(date, datetime) else "."),
    )
    if not lines:
        texts = (*texts[:2], "", "", texts[4])
    for row, text in enumerate(texts, quote_sheet.BASIS_ROW + 1):
        book.expect("Quote", f"A{row}", text)


def expect_catalog(book: Book) -> None:
    shown = book.model.shown
    for row in range(CATALOG.first_row, CATALOG.last_row + 1):
        given = book.inputs(CATALOG, row)
        expected: dict[str, Any] = dict.fromkeys((c.key for c in CATALOG.columns), "")
        if given:
            system = "US" if given["empty_unit"] == "lb" else "metric"
            expected = {
                "volume": book.model.show(book.model.volume(given), "volume"),
                "empty_used": convert(given["empty"], "mass", system, shown),
                "state": "ok", "price_slips": 0, "mass_slips": 0, "slips": "no",
            }  # fmt: skip
        book.expect_row(CATALOG, row, expected)


def expect_regrind(book: Book, lines: list[dict[str, Any]]) -> None:
    number = book.named("regrind_line")
    line = lines[number - 1] if number <= len(lines) else None
    system = book.model.shown
    fields = [
        "job", "resin", "virgin_used", "regrind_used", "regrind_is", "throughput_used", "hours",
        "reserve", "chosen", "regrind_share",
    ]  # fmt: skip
    book.expect_name("regrind_line_ready", 1 if line else 0)
    for row, key in enumerate(fields, 5):
        empty = 0 if key == "reserve" else ""
        book.expect(regrind.SHEET, f"C{row}", line.get(key, empty) if line else "")
    book.expect(
        regrind.SHEET, "F3",
        "Everything as on that line, only the regrind share changes." if line
        else "This line is not ready on Sizing: nothing is shown.",
    )  # fmt: skip
    for row in range(REGRIND.first_row, REGRIND.last_row + 1):
        share = (row - REGRIND.first_row) / 10
        expected = dict.fromkeys((c.key for c in REGRIND.columns), "")
        expected["regrind"] = share  # type: ignore[assignment]
        if line is not None:
            facts: dict[str, Any] = {}
            for basis in ("volume", "mass"):
                densities = [[line["virgin_used"], line["regrind_used"]]]
                shares = [[1 - share, share]]
                density = call("HOPPER_BLEND_DENSITY", shares, densities, basis, system)
                flow = line["throughput_used"]
                facts[f"density_{basis}"] = density
                facts[f"volume_{basis}"] = call(
                    "HOPPER_REQUIRED_VOLUME", flow, line["hours"], density,
                    line.get("reserve", 0), system,
                )  # fmt: skip
                facts[f"held_{basis}"] = call(
                    "HOPPER_HELD_HOURS", line["chosen"], density, flow, system
                )
            facts["more"] = facts["volume_mass"] / facts["volume_volume"] - 1
            expected = {**facts, "virgin": 1 - share, "regrind": share, "needed": line["hours"]}
        book.expect_row(REGRIND, row, expected)
    units = {"US": ("lb/ft3", "ft3"), "metric": ("kg/L", "L")}[system]
    below = REGRIND.last_row + 2
    book.expect(regrind.SHEET, f"A{below}", f"Blend density, {units[0]}, by regrind share")
    book.expect(regrind.SHEET, f"D{below}", f"Required volume, {units[1]}, by regrind share")


def expect_checks(book: Book, cases: dict[str, int]) -> None:
    """Every check has 0 cases and passes, but for ``cases``."""
    sheet, rows = book.typed["Checks"], range(CHECKS_ROW, CHECKS_ROW + 50)
    texts = {sheet[f"B{row}"].value: row for row in rows if isinstance(sheet[f"A{row}"].value, int)}
    assert len(texts) > 20
    assert set(cases) <= set(texts)
    results = []
    for text, row in texts.items():
        severity = re.findall(r'"(fail|warn|look)"\)\)$', sheet[f"D{row}"].value)[0]
        results.append(severity if cases.get(text) else "pass")
        book.expect("Checks", f"C{row}", cases.get(text, 0))
        book.expect("Checks", f"D{row}", results[-1])
    count = {
        severity: int(
            sum(n for text, n in cases.items() if results[list(texts).index(text)] == severity)
        )
        for severity in ("warn", "look")
    }
    failing, warned, looking = results.count("fail"), count["warn"], count["look"]
    book.expect_name("checks_failed", failing)
    book.expect_name("checks_warned", warned)
    book.expect_name("checks_to_look_at", looking)
    flag = (
        f"No check fails, but {warned} WARNING{'S' * (warned > 1)}"
        if warned
        else ("All checks pass")
    )
    flag += f", {looking} case{'s' * (looking > 1)} to look at" if looking else ""
    flag += ": see sheet Checks" if warned or looking else ""
    if failing:
        flag = f"NOT READY: {failing} of {len(texts)} checks fail, see sheet Checks"
    book.expect_name("checks_flag", flag)


def expect_headings(book: Book) -> None:
    """Every heading with a unit: as shown for what is calculated, as typed for what is typed."""
    tables = (SIZING, CATALOG, QUOTE, REGRIND)
    for table in tables:
        for column in table.columns:
            cell = table.cell(column.key, table.heading_row)
            if cell in book.computed[table.sheet]:
                system = book.model.typed if column.role == "input" else book.model.shown
                unit = QUANTITIES[column.quantity].unit(system)
                book.expect(table.sheet, cell, f"{column.heading}\n{unit}")
    for row, cell in ((7, "Virgin density"), (8, "Regrind density"), (10, "Throughput"),
                      (13, "Hopper size")):  # fmt: skip
        quantity = {10: "throughput", 13: "volume"}.get(row, "bulk density")
        unit = QUANTITIES[quantity].unit(book.model.shown)
        book.expect(regrind.SHEET, f"A{row}", f"{cell}, {unit}")
    for name in SWITCHING:
        for prefix, system in (("unit", book.model.shown), ("typed", book.model.typed)):
            book.expect_name(
                f"{prefix}_{name.replace(' ', '_')}", QUANTITIES[name].unit(system)
            )  # fmt: skip
    book.expect("About", "B3", call("HOPPER_VERSION"))


def expect_all(book: Book, cases: dict[str, int]) -> list[dict[str, Any]]:
    lines = expect_sizing(book)
    expect_quote(book, lines)
    expect_catalog(book)
    expect_regrind(book, lines)
    book.expect_name("lines_begun", len(lines))
    book.expect_name("lines_not_priced", 0)
    expect_checks(book, cases)
    expect_headings(book)
    assert book.unchecked() == []
    return lines


DEMO_CASES = {
    "Lines whose hopper holds less than the drying time": 1,
    "Lines with an estimated virgin density": 2,
    "Lines with regrind of estimated density": 3,
    "Catalog rows that are marked as invented": 13,
}


def extra(book: Book, cases: dict[str, int]) -> dict[str, int]:
    """``cases``, with those of the drying sheets as computed; their own tests check them."""
    sheet = book.typed["Checks"]
    for row in range(CHECKS_ROW, CHECKS_ROW + 50):
        if (
            sheet[f"E{row}"].value in ("Dryer", "Shared hopper", "Resins")
            and (book.computed["Checks"][f"C{row}"])
        ):
            cases = {**cases, sheet[f"B{row}"].value: book.computed["Checks"][f"C{row}"]}
    return cases


@pytest.mark.calc
def test_every_cell_of_the_demo_in_us_units(demo_us: Book) -> None:
    lines = expect_all(demo_us, extra(demo_us, DEMO_CASES))
    assert {line["choice_used"] for line in lines} == {"next", "below", "own"}


@pytest.mark.calc
def test_every_cell_of_the_demo_switched_to_metric(demo_metric: Book) -> None:
    expect_all(demo_metric, extra(demo_metric, DEMO_CASES))


@pytest.mark.calc
def test_every_cell_of_three_lines_typed_into_the_metric_template(typed_metric: Book) -> None:
    cases = {
        "Customer, prepared by, date and currency are filled in": 3,
        "The quote is valid until its date or later": 1,
        "Lines with an estimated virgin density": 1,
        "Lines with regrind of estimated density": 1,
        "Catalog rows that are marked as invented": 13,
    }
    lines = expect_all(typed_metric, extra(typed_metric, cases))
    assert lines[2]["below"] == "none"


@pytest.mark.calc
def test_every_cell_of_the_blank_template_and_its_blank_rows(blank: Book) -> None:
    cases = {
        "At least one line is filled in": 1,
        "Customer, prepared by, date and currency are filled in": 3,
        "The quote is valid until its date or later": 1,
        "Catalog rows that are marked as invented": 13,
    }
    assert expect_all(blank, extra(blank, cases)) == []


@pytest.mark.calc
def test_the_switch_changes_units_and_nothing_else(demo_us: Book, demo_metric: Book) -> None:
    for key in ("model", "choice_used", "holds", "line_total", "hours_held"):
        for row in range(SIZING.first_row, SIZING.last_row + 1):
            cell = SIZING.cell(key, row)
            us, metric = (book.computed["Sizing"][cell] for book in (demo_us, demo_metric))
            assert metric == (pytest.approx(us) if isinstance(us, float) else us), cell
    assert demo_us.named("quote_total") == demo_metric.named("quote_total")
    litres = demo_metric.computed["Sizing"][SIZING.cell("required", SIZING.first_row)]
    cubic_feet = demo_us.computed["Sizing"][SIZING.cell("required", SIZING.first_row)]
    # NIST SP 811 (2008), appendix B.9: 1 ft3 = 0.02831685 m3.
    assert litres / cubic_feet == pytest.approx(28.31685, rel=2e-7)


# --- lines that have no answer ------------------------------------------------------------

GOOD = demo.LINES[0]
#: What is wrong -> the line, its state, a word of its explanation.
BAD_LINES: dict[str, tuple[dict[str, Any], str, str]] = {
    "larger than every size": ({**GOOD, "throughput": 90000}, "error", "larger than the largest"),
    "no basis": (
        {k: v for k, v in GOOD.items() if k != "share_basis"}, "to do: by volume or mass", "",
    ),
    "below without a reason": (
        {**GOOD, "choice": "below"}, "to do: reason for the choice", "",
    ),
    "metric density in a US sheet": ({**GOOD, "virgin_density": 0.55}, "error", "below the lowest"),
    "clock time": ({**GOOD, "hours": 0.1667}, "error", "clock time"),
    "own model that is not in the catalog": (
        {**GOOD, "choice": "own", "own_model": "X", "reason": "as asked"}, "error", "Catalog",
    ),
    "only a throughput": ({"throughput": 50}, "to do: job, resin, virgin share", ""),
    "no quantity": ({k: v for k, v in GOOD.items() if k != "quantity"}, "to do: quantity", ""),
    "text for a number": ({**GOOD, "throughput": "many"}, "error", "many"),
}  # fmt: skip


@pytest.fixture(scope="module")
def faulty(office: Office, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """A good line, then every bad one, with a gap between them."""
    book = quote.build()
    demo.fill_lines(book, (GOOD, {}, *(line for line, _, _ in BAD_LINES.values())))
    return Book(book, tmp_path_factory.mktemp("faulty") / "q.xlsx", office)


@pytest.mark.calc
@pytest.mark.parametrize("what", BAD_LINES)
def test_a_line_without_an_answer_says_why_and_has_a_real_error(faulty: Book, what: str) -> None:
    row = SIZING.first_row + 2 + list(BAD_LINES).index(what)
    _, state, word = BAD_LINES[what]
    cells = {c.key: faulty.value("Sizing", SIZING.cell(c.key, row)) for c in SIZING.columns}
    assert str(cells["line_total"]).startswith("#")
    said = f"{cells['state']}: {cells['to_do']}" if cells["to_do"] else cells["state"]
    assert said.startswith(state)
    assert word in str(cells["in_words"])


@pytest.mark.calc
def test_one_line_without_a_price_makes_the_total_loud(faulty: Book) -> None:
    bad = len(BAD_LINES)
    assert faulty.named("lines_begun") == bad + 1
    assert faulty.named("lines_not_priced") == bad
    for name in ("quote_subtotal", "quote_tax", "quote_total"):
        assert faulty.named(name) == "#N/A"
    no_total = faulty.value("Quote", quote_sheet.NO_TOTAL_CELL)
    assert f"{bad} of {bad + 1} lines not priced" in no_total
    assert faulty.value("Quote", quote_sheet.NOT_READY_CELL).startswith("NOT READY")
    # Nothing is claimed of hoppers that are not there.
    basis = faulty.value("Quote", f"A{quote_sheet.BASIS_ROW + 4}")
    assert basis == "Not every line has a hopper yet."
    # The good line is there all the same, and none is left out.
    assert faulty.value("Quote", QUOTE.cell("total", QUOTE.first_row)) == 5890
    numbers = [
        faulty.value("Quote", QUOTE.cell("line", QUOTE.first_row + i)) for i in range(bad + 1)
    ]
    assert numbers == [1, *range(3, bad + 3)]


@pytest.mark.calc
def test_settings_left_blank_and_lines_beyond_the_quote_are_loud(
    office: Office, tmp_path: Path
) -> None:
    """A blank setting is never a zero; a 21st line, copied down, is never left out silently."""
    book = quote.build()
    demo.fill_lines(book, (GOOD,) * 21)
    last, more = SIZING.last_row, SIZING.last_row + 1
    for column in SIZING.columns:
        if column.formula:
            cell = book["Sizing"][SIZING.cell(column.key, more)]
            cell.value = SIZING.formula(column.formula, more)
    assert book["Sizing"][SIZING.cell("line", last)].value
    type_in(book, tax_rate=None, load_allowance=None)
    seen = Book(book, tmp_path / "q.xlsx", office)
    assert seen.named("lines_begun") == 21
    assert seen.named("lines_not_priced") == 1
    assert seen.named("quote_total") == "#N/A"
    assert seen.named("quote_tax") == "#N/A"
    assert seen.value("Sizing", SIZING.cell("loaded", SIZING.first_row)) == "#N/A"
    assert seen.value("Sizing", SIZING.cell("state", SIZING.first_row)) == "error"


# --- what the file holds ------------------------------------------------------------------


@pytest.fixture(scope="module")
def template() -> Any:
    return quote.build()


def test_every_input_has_a_validation_with_a_message(template: Any) -> None:
    inputs = 0
    for sheet in template:
        validated = [
            (v, cell) for v in sheet.data_validations.dataValidation for cell in v.sqref.ranges
        ]
        for row in sheet.iter_rows():
            for cell in row:
                if cell.style != "Hopper input" or type(cell).__name__ == "MergedCell":
                    continue
                if sheet.title == "About":
                    assert cell.value == WORDS["input"], "the legend is no input"
                    continue
                (rule,) = [
                    v for v, span in validated if cell.coordinate in openpyxl_cells(span)
                ]  # fmt: skip
                assert rule.showErrorMessage, f"{sheet.title}!{cell.coordinate}"
                assert 0 < len(rule.error) <= 255
                assert 0 < len(rule.prompt) <= 255
                assert 0 < len(rule.errorTitle) <= 32
                inputs += 1
    assert inputs > 1000, "no cell has the style of an input any more"


def openpyxl_cells(span: Any) -> set[str]:
    from openpyxl.utils import get_column_letter

    return {
        f"{get_column_letter(column)}{row}"
        for row in range(span.min_row, span.max_row + 1)
        for column in range(span.min_col, span.max_col + 1)
    }


#: Functions of Excel 2010 and LibreOffice 7.4 (both programs' function lists); nothing newer.
KNOWN = {
    "ABS", "AND", "CHAR", "COUNT", "COUNTA", "COUNTIF", "COUNTIFS", "DAY", "FIND", "IF", "INDEX",
    "ISBLANK", "ISERROR", "ISNA", "ISNUMBER", "ISTEXT", "LARGE", "LEFT", "LEN", "MATCH", "MAX",
    "MID", "MIN", "MONTH", "N", "NA", "NOT", "OR", "RIGHT", "ROUND", "ROWS", "SMALL",
    "SUBSTITUTE", "SUM", "SUMIF", "SUMPRODUCT", "TRIM", "YEAR",
}  # fmt: skip


def test_no_function_is_newer_than_excel_2010_and_ours_are_registered(template: Any) -> None:
    from hoppersheet.functions import all_functions

    used = set()
    for sheet in template:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    bare = re.sub(r'"[^"]*"', "", str(cell.value))
                    used |= set(re.findall(r"([A-Z][A-Z0-9_.]*)\(", bare))
    assert {name for name in used if name.startswith("HOPPER_")} <= set(all_functions())
    assert {name for name in used if not name.startswith("HOPPER_")} <= KNOWN
    assert "HOPPER_LOADED_MASS" in used


def test_each_column_has_one_formula_copied_down(template: Any) -> None:
    for table in (SIZING, QUOTE, CATALOG, REGRIND):
        sheet = template[table.sheet]
        for column in table.columns:
            assert sheet[table.cell(column.key, table.first_row - 1)].value in (
                WORDS[column.role],
                None if table is QUOTE else WORDS[column.role],
            )
            if not column.formula:
                continue
            for row in range(table.first_row, table.last_row + 1):
                assert sheet[table.cell(column.key, row)].value == table.formula(
                    column.formula, row
                )


def test_the_quote_is_one_page_with_the_cautions_and_no_macro(template: Any) -> None:
    from hoppersheet.templates.cautions import CAUTIONS

    sheet = template["Quote"]
    assert template.sheetnames[0] == "Quote"
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 1)
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    printed = {str(cell.value) for row in sheet[sheet.print_area.partition("!")[2]] for cell in row}
    assert set(CAUTIONS) <= printed
    about = {str(cell.value) for row in template["About"].iter_rows() for cell in row}
    assert set(CAUTIONS) <= about
    assert template.vba_archive is None


@pytest.mark.calc
def test_both_engines_agree_on_the_template(typed_metric: Book, tmp_path: Path) -> None:
    """hoppersheet alone computes what Calc does, cell by cell, on all sheets."""
    from hoppersheet.workbook.compute import fresh_values

    path = tmp_path / "q.xlsx"
    book = quote.build("metric")
    demo.fill_lines(book, METRIC_LINES)
    save_workbook(type_in(book, regrind_line=3, tax_rate=0.2), path)
    core = fresh_values(path, engine="core")
    differ = []
    for sheet, cells in typed_metric.computed.items():
        for address, value in cells.items():
            other = core[sheet].get(address)
            if isinstance(value, float) and isinstance(other, (int, float)):
                same = other == pytest.approx(value, rel=1e-9, abs=1e-9)
            else:
                same = (value or "") == (other or "")
            if not same:
                differ.append(f"{sheet}!{address}: Calc {value!r}, core {other!r}")
    assert differ == []
