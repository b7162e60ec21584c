"""Dryer, Shared hopper and Resins of the quote workbook: computed by a real Calc, every cell.

Each computed cell is worked out again here from the cells that somebody typed, with the core and
plain Python, and compared. What *Sizing* computes is taken from Calc: its own tests check it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from hoppersheet import CellError, call
from hoppersheet.cells.quantities import QUANTITIES
from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import quote
from hoppersheet.templates.layout import Table
from hoppersheet.templates.quote import demo, dryer, resins, shared_hopper
from hoppersheet.templates.quote.sizing import TABLE as SIZING
from hoppersheet.templates.saving import save_workbook

Cells = dict[str, Any]


def answer(name: str, *cells: Any) -> Any:
    """The core's answer, an error as the cell shows it."""
    try:
        return call(name, *cells)
    except CellError as problem:
        return problem.code


def is_error(value: Any) -> bool:
    return isinstance(value, str) and value.startswith("#")


class Book:
    """A quote workbook, its typed cells and what Calc made of it."""

    def __init__(self, book: Any, path: Path, office: Office) -> None:
        save_workbook(book, path)
        self.book = book
        self.computed: dict[str, Cells] = office.compute(path)
        self.system = self.named("unit_system")
        self.typed_system = self.named("typed_units")

    def named(self, name: str) -> Any:
        """The value of a named cell: as Calc computed it, or as typed."""
        ((sheet, address),) = self.book.defined_names[name].destinations
        address = address.replace("$", "")
        return self.computed[sheet].get(address, self.book[sheet][address].value)

    def typed(self, table: Table, key: str, row: int) -> Any:
        return self.book[table.sheet][table.cell(key, row)].value

    def value(self, table: Table, key: str, row: int) -> Any:
        return self.computed[table.sheet][table.cell(key, row)]

    def shown(self, value: Any, quantity: str) -> Any:
        """A typed figure in the units that the book is shown in."""
        measure = QUANTITIES[quantity]
        units = measure.unit(self.typed_system), measure.unit(self.system)
        return answer("HOPPER_CONVERT", value, *units)

    def own_table(self) -> list[list[Any]]:
        """The own resin rows as HOPPER_RESIN is given them: headings, and the rows below."""
        table = resins.OWN
        head = [
            self.computed["Resins"].get(f"{table.letter(c.key)}8", c.heading) for c in table.columns
        ]
        rows = [
            [self.typed(table, c.key, row) for c in table.columns]
            for row in range(table.first_row, table.last_row + 1)
        ]
        return [head, *rows]

    def resin(self, name: Any, wanted: str) -> Any:
        value = answer("HOPPER_RESIN", name, wanted, self.own_table(), self.system)
        return "no value" if value == "#N/A" else value

    def sizing(self, key: str, row: int) -> Any:
        """What row ``row`` of Sizing holds, typed or computed; None where it is blank."""
        column = SIZING.column(key)
        return (self.typed if column.role == "input" else self.value)(SIZING, key, row)


def same(ours: Any, theirs: Any) -> bool:
    if isinstance(ours, float | int) and isinstance(theirs, float | int):
        return bool(theirs == pytest.approx(ours, rel=1e-9, abs=1e-12))
    return bool(ours == theirs)


def differing(table: Table, row: int, expected: Cells, book: Book) -> list[str]:
    """The computed cells of a row that are not as expected; every one must be expected."""
    columns = {c.key for c in table.columns if c.formula}
    assert set(expected) == columns
    found = {key: book.value(table, key, row) for key in columns}
    return [
        f"{table.sheet}!{table.cell(key, row)} {key}: {found[key]!r}, expected {expected[key]!r}"
        for key in columns
        if not same(expected[key], found[key])
    ]


# --- the sheets worked out again ----------------------------------------------------------


def resin_row(book: Book, row: int) -> Cells:
    table, line = resins.TABLE, row - resins.TABLE.first_row + 1
    sizing_row = SIZING.first_row + line - 1
    if book.sizing("line", sizing_row) == "":
        return {c.key: "" for c in table.columns}
    name = book.sizing("resin", sizing_row)
    cells = {
        "line": float(line),
        "resin": name or "",
        "density": book.resin(name, "bulk density"),
        "density_low": book.resin(name, "bulk density low"),
        "density_high": book.resin(name, "bulk density high"),
        "regrind": book.resin(name, "regrind density"),
        "regrind_low": book.resin(name, "regrind density low"),
        "regrind_high": book.resin(name, "regrind density high"),
        "temperature": book.resin(name, "drying temperature"),
        "hours": book.resin(name, "drying hours"),
        "hours_low": book.resin(name, "drying hours low"),
        "hours_high": book.resin(name, "drying hours high"),
        "moisture": book.resin(name, "moisture limit"),
        "specific_heat": book.resin(name, "specific heat"),
    }
    differences = []
    small, large = "the hopper may be too small", "the hopper may be larger than needed"
    mixed = (book.sizing("virgin_share", sizing_row) or 0) < 1
    estimated = book.sizing("regrind_is", sizing_row) == "estimated"
    for ours, key, what, below, above in (
        (book.sizing("hours", sizing_row), "hours", "drying time",
         "the resin may stay wet", "the resin may be over-dried"),
        (book.sizing("virgin_used", sizing_row), "density", "virgin density", large, small),
        (book.sizing("regrind_used", sizing_row), "regrind", "regrind density", large, small),
    ):  # fmt: skip
        value, low, high = (cells[f"{key}{end}"] for end in ("", "_low", "_high"))
        if not all(isinstance(x, float | int) for x in (ours, value)):
            continue
        low = low if isinstance(low, float | int) else value * 0.99
        high = high if isinstance(high, float | int) else value * 1.01
        if key == "regrind":
            high = value * 1.01 if estimated else high
            if not mixed:
                continue
        if ours < low * (1 - 1e-9):
            loud = "DRYING TIME" if key == "hours" else what
            differences.append(f"{loud} below Resins: {below}")
        elif ours > high * (1 + 1e-9):
            differences.append(f"{what} above Resins: {above}")
    source = answer("HOPPER_RESIN", name, "source", book.own_table(), book.system)
    figures = [cells[c.key] for c in table.columns if c.key in cells][2:]
    cells["agrees"] = (
        "not in the tables: nothing to compare with" if source == "#N/A"
        else "error: see In words" if any(map(is_error, [source, *figures]))
        else ", ".join(differences) if differences
        else "ok" if any(isinstance(cells[k], float | int) for k in ("density", "regrind", "hours"))
        else "no value to compare with"
    )  # fmt: skip
    if is_error(source):
        own = book.own_table()
        source = call("HOPPER_EXPLAIN", "HOPPER_RESIN", name, "source", own, book.system)
    cells["in_words"] = source
    return cells


def dryer_row(book: Book, row: int) -> Cells:
    table, line = dryer.LINES, row - dryer.LINES.first_row + 1
    sizing_row, resin_at = SIZING.first_row + line - 1, resins.TABLE.first_row + line - 1
    if book.sizing("line", sizing_row) == "":
        return {c.key: "" for c in table.columns if c.formula}

    def typed(key: str) -> Any:
        return book.typed(table, key, row)

    def used(key: str, quantity: str, resin_key: str) -> tuple[Any, str]:
        given, table_value = typed(key), book.value(resins.TABLE, resin_key, resin_at)
        if given is not None:
            return (given if quantity == "moisture" else book.shown(given, quantity)), "typed"
        if table_value == "no value":
            return "not stated", "not stated"
        return table_value, table_value if is_error(table_value) else "Resins"

    quantity = book.sizing("quantity", sizing_row)
    hoppers = "#N/A" if quantity is None else quantity
    throughput = book.sizing("throughput_used", sizing_row)
    feed = (
        throughput if is_error(throughput) else "#N/A" if quantity is None
        else throughput * quantity
    )  # fmt: skip
    general = book.named("airflow_per_throughput")
    specific = typed("airflow") if typed("airflow") is not None else general
    airflow = (
        answer("HOPPER_CONVERT", 1, "cfm/(lb/h)", QUANTITIES["specific airflow"].unit(book.system))
        if specific is None
        else book.shown(specific, "specific airflow")
    )
    temperature, temperature_from = used("temperature", "temperature", "temperature")
    heat, heat_from = used("heat", "specific heat", "specific_heat")
    moisture, moisture_from = used("moisture", "moisture", "moisture")
    room, moist = book.named("room_temperature_used"), typed("moisture_in")
    air_call = ("HOPPER_AIRFLOW", feed, airflow, book.system)
    heat_call = ("HOPPER_HEAT", feed, heat, room, temperature, book.system)
    water_call = ("HOPPER_WATER_REMOVED", feed, moist, moisture, book.system)
    air = answer(*air_call)
    power = (
        temperature if is_error(temperature) else heat if is_error(heat)
        else "not stated" if "not stated" in (temperature, heat) or room == ""
        else answer(*heat_call)
    )  # fmt: skip
    water = (
        moisture if is_error(moisture)
        else "not stated" if moist is None or moisture == "not stated" else answer(*water_call)
    )  # fmt: skip
    missing = [
        what
        for what, is_missing in (
            ("room temperature", room == ""),
            ("drying temperature", temperature == "not stated"),
            ("specific heat", heat == "not stated"),
            ("moisture as fed", moist is None),
            ("moisture dried", moisture == "not stated"),
        )
        if is_missing
    ]
    wrong = next(
        (c for value, c in ((air, air_call), (power, heat_call), (water, water_call))
         if is_error(value)), None,
    )  # fmt: skip
    words = (
        "see the line on Sizing" if is_error(feed)
        else "a typed figure is not a number, or see In words on Resins"
        if any(map(is_error, (airflow, temperature, heat, moisture)))
        else call("HOPPER_EXPLAIN", *wrong) if wrong
        else "not stated: " + ", ".join(missing) if missing else "ok"
    )  # fmt: skip
    name = typed("dryer") or ""
    above = [book.typed(table, "dryer", r) for r in range(table.first_row, row)]
    distinct = list(dict.fromkeys(n for n in [*above, name] if n))
    held, hours = book.sizing("hours_held", sizing_row), book.sizing("hours", sizing_row)
    return {
        "line": float(line),
        "job": book.sizing("job", sizing_row) or "",
        "resin": book.sizing("resin", sizing_row) or "",
        "hoppers": hoppers,
        "feed": feed,
        "airflow_used": airflow,
        "air": air,
        "temperature_used": temperature,
        "temperature_from": temperature_from,
        "heat_used": heat,
        "heat_from": heat_from,
        "power": power,
        "moisture_used": moisture,
        "moisture_from": moisture_from,
        "water": water,
        "held": held,
        "hours": "" if hours is None else hours,
        "hand": held if is_error(held) else held - hours,
        "shared": name,
        "number": float(len(distinct)) if name and name not in above else "",
        "in_words": words,
    }


def totals_row(book: Book, row: int, lines: list[Cells]) -> Cells:
    names = list(dict.fromkeys(line["shared"] for line in lines if line["shared"]))
    place = row - dryer.TOTALS.first_row
    if place >= len(names):
        return {c.key: "" for c in dryer.TOTALS.columns}
    mine = [line for line in lines if line["shared"] == names[place]]

    def total(key: str) -> Any:
        values = [line[key] for line in mine]
        if any(is_error(v) for v in values):
            return "#N/A"
        return "not all stated" if "not stated" in values else sum(values)

    temperatures = [line["temperature_used"] for line in mine]
    numbers = all(isinstance(t, float | int) for t in temperatures)
    return {
        "name": names[place],
        "lines": float(len(mine)),
        **{key: total(key) for key in ("hoppers", "feed", "air", "power", "water")},
        "temperatures": (
            "not all stated" if not numbers else "one" if len(set(temperatures)) == 1 else "differ"
        ),
    }


def air_of_the_room(book: Book) -> Cells:
    """The calculated settings of the sheet Dryer, by name."""
    temperature, humidity = book.named("room_temperature"), book.named("room_humidity")
    dew, altitude = book.named("drying_dew_point"), book.named("plant_altitude")
    system = book.system
    shown = "" if temperature is None else book.shown(temperature, "room temperature")
    height = 0.0 if altitude is None else book.shown(altitude, "altitude")
    known = temperature is not None and humidity is not None
    room = answer("HOPPER_AIR_MOISTURE", shown, humidity, height, system) if known else ""
    drying = (
        "" if dew is None
        else answer("HOPPER_AIR_MOISTURE", book.shown(dew, "room temperature"), 1, height, system)
    )  # fmt: skip
    return {
        "room_temperature_used": shown,
        "room_dew_point": answer("HOPPER_DEW_POINT", shown, humidity, system) if known else "",
        "room_moisture": room,
        "drying_moisture": drying,
        "room_over_drying": "" if "" in (room, drying) else room / drying,
        "altitude_used": height,
    }


def catalog(book: Book, key: str) -> list[Any]:
    from hoppersheet.templates.quote.catalog import TABLE

    column = TABLE.column(key)
    read = book.typed if column.role == "input" else book.value
    return [read(TABLE, key, row) for row in range(TABLE.first_row, TABLE.last_row + 1)]


def shared_row(book: Book, row: int, size: Any, governing: Any) -> Cells:
    table = shared_hopper.TABLE

    def typed(key: str) -> Any:
        return book.typed(table, key, row)

    if all(typed(c.key) is None for c in table.inputs):
        return {c.key: "" for c in table.columns if c.formula}
    line = typed("line")
    at = SIZING.first_row + int(line) - 1 if line else 0

    def of(sizing: str, key: str, quantity: str) -> Any:
        if line:
            value = book.sizing(sizing, at)
            return "#N/A" if value is None else value
        given = typed(key)
        return "#N/A" if given is None else book.shown(given, quantity) if quantity else given

    resin = (book.sizing("resin", at) if line else typed("resin")) or ""
    density = of("blend", "density", "bulk density")
    feed = of("throughput_used", "throughput", "throughput")
    hours = of("hours", "hours", "")
    reserve = (book.sizing("reserve", at) if line else typed("reserve")) or 0
    upper = (
        typed("upper") if typed("upper") is not None
        else book.resin(resin, "drying hours high") if resin else "no value"
    )  # fmt: skip
    volume = (feed, hours, density, reserve, book.system)
    required = answer("HOPPER_REQUIRED_VOLUME", *volume)
    held = answer("HOPPER_HELD_HOURS", size, density, feed, book.system)

    def unless(*values: Any, then: Any) -> Any:
        return next((v for v in values if is_error(v)), None) or then()

    def enough() -> str:
        short = round((1 - held / hours) * 100, 1)
        return "yes" if held >= hours * (1 - 1e-9) else f"no, {short:g} % short"

    def over() -> str:
        if upper == "no value":
            return "not known"
        if upper < hours:
            return "upper below drying time"
        return "no" if held <= upper * (1 + 1e-9) else f"yes, {round(held - upper, 1):g} h too long"

    def most_fill() -> Any:
        if upper == "no value":
            return upper
        most = answer("HOPPER_REQUIRED_VOLUME", feed, upper, density, 0, book.system)
        return most if is_error(most) else min(1, most / size)

    to_do = [
        what
        for key, what in (
            ("density", "bulk density"), ("throughput", "throughput"), ("hours", "drying time"),
        )
        if typed(key) is None
    ]  # fmt: skip
    return {
        "number": float(row - table.first_row + 1),
        "job_used": (book.sizing("job", at) if line else typed("job")) or "",
        "resin_used": resin,
        "density_used": density,
        "feed": feed,
        "hours_used": hours,
        "upper_used": upper,
        "reserve_used": float(reserve),
        "required": required,
        "governs": (
            "#N/A" if is_error(governing) else "governs" if required == governing else ""
        ),
        "held": held,
        "enough": unless(held, hours, then=enough),
        "over": unless(size, upper, hours, held, then=over) if upper != "no value"
        else unless(size, then=over),
        "least_fill": unless(required, size, then=lambda: required / size),
        "most_fill": unless(upper, size, then=most_fill),
        "least": (
            upper if upper == "no value" and not is_error(size)
            else answer("HOPPER_MAX_THROUGHPUT", size, density, upper, book.system)
        ),
        "most": answer("HOPPER_MAX_THROUGHPUT", size, density, hours, book.system),
        "in_words": (
            call("HOPPER_EXPLAIN", "HOPPER_RESIN", resin, "drying hours high", book.own_table(),
                 book.system)
            if is_error(upper) and not is_error(required)
            else call("HOPPER_EXPLAIN", "HOPPER_REQUIRED_VOLUME", *volume)
            if not is_error(required) else "see the line on Sizing" if line
            else "to do: " + ", ".join(to_do) if to_do
            else "a typed figure is not a number" if any(map(is_error, (density, feed, hours)))
            else call("HOPPER_EXPLAIN", "HOPPER_REQUIRED_VOLUME", *volume)
        ),
    }  # fmt: skip


def shared_summary(book: Book) -> Cells:
    """The calculated cells above the shared jobs, by name."""
    table = shared_hopper.TABLE
    rows = range(table.first_row, table.last_row + 1)
    begun = [r for r in rows if any(book.typed(table, c.key, r) is not None for c in table.inputs)]
    if not begun:
        names = ("required", "size", "model_used", "short", "over", "unknown")
        return {"shared_jobs": 0.0, **{f"shared_{name}": "" for name in names}}
    required = [book.value(table, "required", row) for row in begun]
    governing = "#N/A" if any(is_error(v) for v in required) else max(required)
    volumes = [[v or None] for v in catalog(book, "volume")]
    models = catalog(book, "model")
    model = book.named("shared_model")
    if model:
        size = volumes[models.index(model)][0]
    else:
        size = answer(
            "HOPPER_NEXT_SIZE", governing, volumes, book.named("allowed_shortfall"), book.system
        )
    over = [book.value(table, "over", row) for row in begun]
    enough = [book.value(table, "enough", row) for row in begun]
    return {
        "shared_jobs": float(len(begun)),
        "shared_required": governing,
        "shared_size": size,
        "shared_model_used": model
        or answer("HOPPER_CATALOG_ENTRY", size, volumes, [[m] for m in models], book.system),
        "shared_short": float(sum(word.startswith("no,") for word in enough)),
        "shared_over": float(sum(word.startswith("yes") for word in over)),
        "shared_unknown": float(sum(word.startswith(("not", "upper")) for word in over)),
    }


def assert_every_cell(book: Book) -> None:
    """All computed cells of the three sheets, and that there are no others."""
    wrong: list[str] = []
    covered = 0
    lines: list[Cells] = []
    summary = shared_summary(book)
    for table, work_out in (
        (resins.TABLE, lambda row: resin_row(book, row)),
        (dryer.LINES, lambda row: dryer_row(book, row)),
        (dryer.TOTALS, lambda row: totals_row(book, row, lines)),
        (
            shared_hopper.TABLE,
            lambda row: shared_row(book, row, summary["shared_size"], summary["shared_required"]),
        ),
    ):
        for row in range(table.first_row, table.last_row + 1):
            expected = work_out(row)
            if table is dryer.LINES and expected["line"] != "":
                lines.append(expected)
            wrong += differing(table, row, expected, book)
            covered += len(expected)
    for name, expected in {**air_of_the_room(book), **summary}.items():
        if not same(expected, book.named(name)):
            wrong.append(f"{name}: {book.named(name)!r}, expected {expected!r}")
        covered += 1
    assert not wrong
    words = sum(len(book.computed[s]) for s in ("Dryer", "Shared hopper", "Resins")) - covered
    assert words == len(headings_and_words(book))


def headings_and_words(book: Book) -> list[str]:
    """Computed headings, labels and notes; none is in error, each names the right unit."""
    found = []
    for sheet, tables in (
        ("Dryer", (dryer.LINES, dryer.TOTALS)),
        ("Shared hopper", (shared_hopper.TABLE,)),
        ("Resins", (resins.TABLE, resins.OWN)),
    ):
        heads = {}
        for table in tables:
            row = table.heading_row + (sheet == "Resins")
            heads.update({f"{table.letter(c.key)}{row}": c for c in table.columns})
        inside = {
            table.cell(c.key, row)
            for table in tables for c in table.columns if c.formula
            for row in range(table.first_row, table.last_row + 1)
        }  # fmt: skip
        named = {
            address.replace("$", "")
            for name in book.book.defined_names.values()
            for owner, address in name.destinations
            if owner == sheet
        }
        for address, value in book.computed[sheet].items():
            if address in inside or address in named:
                continue
            assert not is_error(value), (sheet, address, value)
            if address in heads:
                column = heads[address]
                system = book.typed_system if column.role == "input" else book.system
                assert QUANTITIES[column.quantity].unit(system) in value, (sheet, address)
            found.append(address)
    return found


# --- the tests ----------------------------------------------------------------------------


@pytest.mark.calc
@pytest.mark.parametrize("system", ["US", "metric"])
def test_every_cell_of_the_demo(system: str, tmp_path: Path, office: Office) -> None:
    book = Book(quote.build(system, demo=True), tmp_path / "quote.xlsx", office)
    assert_every_cell(book)
    # The demo shows each kind of answer.
    assert book.value(dryer.TOTALS, "air", dryer.TOTALS.first_row) > 0
    assert book.named("shared_over") >= 1 and book.named("shared_unknown") >= 1
    assert "own table" in book.value(resins.TABLE, "in_words", resins.TABLE.first_row + 2)


@pytest.mark.calc
def test_an_untouched_book_shows_nothing(tmp_path: Path, office: Office) -> None:
    book = Book(quote.build(), tmp_path / "quote.xlsx", office)
    assert_every_cell(book)
    for table in (resins.TABLE, dryer.LINES, dryer.TOTALS, shared_hopper.TABLE):
        shown = {book.value(table, c.key, table.first_row) for c in table.columns if c.formula}
        assert shown == {""}
    # The checks of these sheets do not stop a quote that does not use them.
    results = [v for k, v in book.computed["Checks"].items() if k.startswith("D")]
    where = {k: book.book["Checks"][f"E{k[1:]}"].value for k in book.computed["Checks"]}
    assert results
    assert not [
        k for k, v in book.computed["Checks"].items()
        if k.startswith("D") and v == "fail" and where[k] in ("Dryer", "Shared hopper", "Resins")
    ]  # fmt: skip


def typed_badly() -> Any:
    """The demo with what goes wrong in practice."""
    book = quote.build("US", demo=True)
    lines = book["Dryer"]
    first = dryer.LINES.first_row
    lines[dryer.LINES.cell("moisture", first)] = 0.005  # above the moisture as fed
    lines[dryer.LINES.cell("temperature", first + 3)] = 60  # below the room
    lines[dryer.LINES.cell("airflow", first + 4)] = 3.7  # a metric figure in a US sheet
    sizing = book["Sizing"]
    sizing[SIZING.cell("quantity", SIZING.first_row + 6)] = None
    sizing[SIZING.cell("resin", SIZING.first_row + 5)] = "PBX"
    jobs = book["Shared hopper"]
    row = shared_hopper.TABLE.first_row
    jobs[shared_hopper.TABLE.cell("upper", row + 1)] = 2  # below the drying time
    jobs[shared_hopper.TABLE.cell("hours", row + 2)] = None
    return book


@pytest.mark.calc
def test_what_goes_wrong_is_said_and_never_left_out_of_a_total(
    tmp_path: Path, office: Office
) -> None:
    book = Book(typed_badly(), tmp_path / "quote.xlsx", office)
    assert_every_cell(book)
    first, total = dryer.LINES.first_row, dryer.TOTALS.first_row
    assert book.value(dryer.LINES, "water", first) == "#NUM!"
    assert "swapped" in book.value(dryer.LINES, "in_words", first)
    assert book.value(dryer.LINES, "air", first + 4) == "#NUM!"
    assert book.value(dryer.TOTALS, "water", total) == "#N/A"
    assert book.value(dryer.TOTALS, "power", total + 1) == "#N/A"
    assert book.value(dryer.TOTALS, "air", total + 2) == "#N/A"
    assert book.value(resins.TABLE, "agrees", resins.TABLE.first_row + 5).startswith(
        "not in the tables"
    )
    assert "did you mean" in book.value(resins.TABLE, "in_words", resins.TABLE.first_row + 5)
    assert book.named("shared_required") == "#N/A"
    words = book.value(shared_hopper.TABLE, "in_words", shared_hopper.TABLE.first_row + 2)
    assert words == "to do: drying time"
    assert book.named("checks_flag").startswith("NOT READY")


@pytest.mark.calc
def test_a_chosen_hopper_that_is_too_small_or_a_job_too_large(
    tmp_path: Path, office: Office
) -> None:
    source = quote.build("metric", demo=True)
    ((sheet, address),) = source.defined_names["shared_model"].destinations
    model = catalog_model(source, 2)
    source[sheet][address.replace("$", "")] = model
    book = Book(source, tmp_path / "quote.xlsx", office)
    assert_every_cell(book)
    assert book.named("shared_model_used") == model
    assert book.named("shared_short") >= 1
    source[sheet][address.replace("$", "")] = None
    row = shared_hopper.TABLE.first_row + 1
    source[sheet][shared_hopper.TABLE.cell("throughput", row)] = 200_000
    book = Book(source, tmp_path / "quote.xlsx", office)
    assert book.named("shared_size") == "#N/A"
    assert book.named("shared_model_used") == "#N/A"
    assert book.value(shared_hopper.TABLE, "enough", row) == "#N/A"


def catalog_model(book: Any, place: int) -> str:
    from hoppersheet.templates.quote.catalog import TABLE

    name: str = book["Catalog"][TABLE.cell("model", TABLE.first_row + place)].value
    return name


@pytest.mark.calc
def test_own_rows_win_and_a_broken_own_table_is_explained(tmp_path: Path, office: Office) -> None:
    source = quote.build("US", demo=True)
    own, row = resins.OWN, resins.OWN.first_row + 1
    sheet = source["Resins"]
    demo.fill_table(source, own, (*demo.RESINS, {"resin": "polycarbonate", "specific_heat": 0.3}))
    book = Book(source, tmp_path / "quote.xlsx", office)
    assert_every_cell(book)
    # PC is asked for, its synonym stands in the own row: 0.3, not Crawford's 1.2 kJ/(kg K).
    assert book.value(resins.TABLE, "specific_heat", resins.TABLE.first_row) == 0.3
    sheet[own.cell("specific_heat", row)] = "plenty"
    book = Book(source, tmp_path / "quote.xlsx", office)
    assert book.value(resins.TABLE, "specific_heat", resins.TABLE.first_row) == "#VALUE!"
    assert book.value(dryer.LINES, "power", dryer.LINES.first_row) == "#VALUE!"
    assert book.value(dryer.TOTALS, "power", dryer.TOTALS.first_row) == "#N/A"
    assert book.named("checks_flag").startswith("NOT READY")


@pytest.mark.calc
def test_the_humid_room_against_published_figures(tmp_path: Path, office: Office) -> None:
    source = quote.build("metric")
    for name, value in (
        ("room_temperature", 25), ("room_humidity", 1), ("drying_dew_point", -40),
    ):  # fmt: skip
        ((sheet, address),) = source.defined_names[name].destinations
        source[sheet][address.replace("$", "")] = value
    book = Book(source, tmp_path / "quote.xlsx", office)
    # ASHRAE Handbook Fundamentals 2017, chapter 1, table 2: saturated air at 25 degC holds
    # 0.020173 kg/kg, at -40 degC (over ice) 0.0000793 kg/kg (the latter from memory).
    assert book.named("room_moisture") == pytest.approx(0.020173, rel=5e-3)
    assert book.named("drying_moisture") == pytest.approx(0.0000793, rel=1e-2)
    assert book.named("room_dew_point") == pytest.approx(25, abs=1e-2)
    assert book.named("room_over_drying") == pytest.approx(0.020173 / 0.0000793, rel=2e-2)
