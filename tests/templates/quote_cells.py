"""The numbers that a filled quote book must show, cell by cell, and those that need no second path.

Each function gives ``(sheet, address) -> number``, worked out from what is typed by ``quote_model``
and plain arithmetic.
"""

from __future__ import annotations

from typing import Any

from hoppersheet.templates.layout import Table
from hoppersheet.templates.quote import catalog, curves, demo, dryer, page_shape, regrind, resins
from hoppersheet.templates.quote.line_checks import SIZING
from hoppersheet.templates.quote.line_checks import TABLE as BEHIND
from hoppersheet.templates.quote.one_line_figures import IN, figure
from templates.quote_book import Book
from templates.quote_model import DUTY_METRIC, FT3, Model, blend

Cells = dict[tuple[str, str], Any]

#: (sheet, column) -> why nobody works its numbers out a second time.
LISTED: dict[tuple[str, str], str] = {
    ("Sizing", "line"): "the row's number",
    ("Sizing", "begun"): "1 or 0: whether something is typed; the lines that show prove it",
    ("Sizing", "chance"): "by a grid of quantiles in test_the_chance_of_a_line...",
    ("Quote", "*"): "positions of the page: test_quote_print; figures: test_the_page_shows...",
    ("Page plan", "*"): "positions of the page: test_quote_print",
    ("Revision", "*"): "the row's number where filled: the last one stands on the page",
    ("Checks", "*"): "cases of each check: test_a_slip..., test_checks_name_the_lines...",
    ("Services", "E"): "1 or 0: whether something is typed",
    ("Dryer", "D"): "room air and dew point: the functions' own vectors stand for them",
    ("Dryer", "carries"): "to 2 % in test_the_air_returns_at_what_the_energy_balance_says",
    ("Dryer", "returns"): "test_the_air_returns_at_what_the_energy_balance_says",
    ("Dryer", "air_number"): "0 on blank rows; the others are worked out",
    ("Dryer", "power_number"): "0 on blank rows; the others are worked out",
    ("Dryer", "air_counts"): "0 on blank rows; the others are worked out",
    ("Dryer", "power_counts"): "0 on blank rows; the others are worked out",
    ("Dryer", "hot"): "-999 on blank rows; the others are worked out",
    ("What regrind does", "C"): "fields copied from the line, which the table below rests on",
    ("Catalog", "*slips"): "rows out of order, none here: the catalog's states",
    ("Line checks", "*"): "positions and 1 or 0; its table values are worked out below",
    ("Resins", "*"): "the row's number: how a name is found, see test_own_resins...",
    ("Measured density", "*"): "test_weighed_cups_feed_their_line...",
    ("Shared hopper", "*"): "test_shared_hopper_shows_the_lines_of_sizing_in_turn",
    ("One line", "*"): "cards, ranges and swings: test_the_cards_of_one_line...",
}  # fmt: skip


def table_cells(book: Book, table: Table, row: int, values: dict[str, Any]) -> Cells:
    return {(table.sheet, table.cell(key, row)): value for key, value in values.items()}


def sizing(book: Book, model: Model, lines: list[dict[str, Any]]) -> Cells:
    cells: Cells = {}
    for number, line in enumerate(lines, 1):
        cells |= table_cells(
            book, SIZING, SIZING.first_row + number - 1, model.line(line, number, lines)
        )
        known = {
            key: value
            for key, wanted in resins.VALUES.items()
            if (value := model.table(line["resin"], wanted)) is not None
        }
        cells |= table_cells(book, BEHIND, BEHIND.first_row + number - 1, known)
    return cells


def dryers(book: Book, model: Model, lines: list[dict[str, Any]]) -> Cells:
    """Air, heat and water of each line, and of each dryer; heat by m c (T - T0)."""
    us = model.system == "US"
    room, altitude, cells = book.named("room_temperature"), book.named("plant_altitude"), {}
    mine: dict[str, list[Any]] = {}
    for number, line in enumerate(lines, 1):
        worked, table = model.line(line, number, lines), dryer.LINES
        feed = worked["rate_used"] * worked["quantity_used"]
        hot, heat = worked["temperature_used"], model.table(line["resin"], "specific heat")
        limit = model.table(line["resin"], "moisture limit")
        values = {"line": number, "feed": feed, "air": worked["air"], "air_number": worked["air"],
                  "temperature": hot, "hot": hot}  # fmt: skip
        if heat is not None:
            power = feed * heat * (hot - room) / (1 if us else 3600)
            values |= {"heat": heat, "power": power, "power_number": power}
        else:
            values["power_number"] = 0.0
        if limit is not None:
            values["moisture"] = limit
            if "moisture_in" in line:  # per wet mass, the dry mass stays
                wet = line["moisture_in"]
                values["water"] = feed * (wet - limit) / (1 - limit)
        cells |= table_cells(book, table, table.first_row + number - 1, values)
        mine.setdefault(worked["dryer_used"], []).append((number, worked, values))
    flows = [(r["stated"] * (1 if us else FT3 * 60), r["price"]) for r in catalog.demo_dryers()]
    for place, (_, of_dryer) in enumerate(sorted(mine.items())):
        group = [values for *_, values in of_dryer]
        for what in ("air", "power"):
            # In turn on one hopper: the greatest, at the line that has the hopper.
            counted: dict[int, float] = {}
            for number, worked, values in of_dryer:
                owner = number if worked["at_once"] else worked["hopper_line"]
                counted[owner] = max(counted.get(owner, 0.0), values[f"{what}_number"])
            for number, *_ in of_dryer:
                there = dryer.LINES.cell(f"{what}_counts", dryer.LINES.first_row + number - 1)
                cells[dryer.SHEET, there] = counted.get(number, 0.0)
            if what == "air":
                needs = sum(counted.values())
            total = sum(counted.values())
        row, (gives, price) = next(
            (n, flow) for n, flow in enumerate(flows, 1) if flow[0] >= needs * (1 - 1e-9)
        )
        values = {"lines": len(group), "needs": needs, "each": needs, "gives": gives, "row": row,
                  "count": 1, "price": price, "net": price,
                  "hottest": max(v["temperature"] for v in group),
                  "coolest": min(v["temperature"] for v in group)}  # fmt: skip
        hotter = [0.0]
        for number, _, own in of_dryer:
            # Not beside it: the jobs that run in turn in its own hopper.
            name = lines[number - 1].get("shared")
            beside = max(
                own["temperature"],
                *(v["temperature"] for n, _, v in of_dryer
                  if name is None or lines[n - 1].get("shared") != name),
            )  # fmt: skip
            high = model.table(lines[number - 1]["resin"], "drying temperature high") or 0
            by = beside - own["temperature"]
            hotter.append(by if by > (9 if us else 5) and beside > high else 0.0)
            there = BEHIND.cell("hotter_by", BEHIND.first_row + number - 1)
            cells[BEHIND.sheet, there] = hotter[-1]
        values |= {"apart": max(hotter), "told": int(max(hotter) > 0)}
        if all("power" in v for v in group):
            values["power"] = total
        cells |= table_cells(book, dryer.TABLE, dryer.TABLE.first_row + place, values)
    for row in range(dryer.TABLE.first_row + len(mine), dryer.TABLE.last_row + 1):
        cells[dryer.SHEET, dryer.TABLE.cell("lines", row)] = 0
    cells[book.where("room_temperature_used")] = room
    cells[book.where("altitude_used")] = altitude
    return cells


def catalogs(book: Book, model: Model) -> Cells:
    cells: Cells = {}
    for row, typed in enumerate(model.catalog, catalog.TABLE.first_row):
        cells |= table_cells(book, catalog.TABLE, row, {
            "gross": typed["gross"], "volume": typed["volume"], "empty_used": typed["empty"],
        })  # fmt: skip
    scale = 1 if model.system == "US" else FT3 * 60
    for row, each in enumerate(catalog.demo_dryers(), catalog.DRYERS.first_row):
        cells |= table_cells(book, catalog.DRYERS, row, {"airflow": each["stated"] * scale})
    return cells


def mixes(book: Book, model: Model, line: dict[str, Any]) -> Cells:
    """What regrind does: the chosen line with 0 to 100 % of regrind, by volume and by mass."""
    worked, cells, table = model.line(line), {}, regrind.TABLE
    rate, hours, size = worked["rate_used"], line["hours"], worked["chosen_size"]
    for row in range(table.first_row, table.last_row + 1):
        share = (row - table.first_row) / 10
        values = {"virgin": 1 - share, "regrind": share, "needed": hours}
        for basis in ("volume", "mass"):
            density = blend(share, worked["virgin_used"], worked["ground_used"], basis)
            values |= {f"density_{basis}": density, f"volume_{basis}": rate * hours / density,
                       f"held_{basis}": size * density / rate}  # fmt: skip
        values["more"] = values["volume_mass"] / values["volume_volume"] - 1
        cells |= table_cells(book, table, row, values)
    return cells


def one_line(book: Book, model: Model) -> Cells:
    """The figures behind One line, of the line that is typed there, and the chart's curves."""
    typed = {key: book.value("One line", cell) for key, cell in IN.items()}
    keys = ("resin", "regrind", "basis", "virgin", "ground", "stated", "hours", "low", "likely",
            "high")  # fmt: skip
    line = {key: typed[key] for key in keys}
    worked = model.line(line)
    table = {k: model.table(line["resin"], w) for k, w in resins.VALUES.items()}
    duty = 1.0 if model.system == "US" else DUTY_METRIC
    values = {
        "share": line["regrind"], "virgin_share": 1 - line["regrind"], "rate": line["stated"],
        "low": line["low"], "likely": line["likely"], "high": line["high"],
        "h_low": typed["hours_low"], "h_likely": typed["hours_likely"],
        "h_high": typed["hours_high"], "blend": worked["blend"], "d_blend": worked["blend"],
        "needs": worked["needs"], "half": worked["needs"] / 2, "below_size": worked["below_size"],
        "next_size": worked["next_size"], "heavy": worked["heavy"], "size": worked["next_size"],
        "held": worked["next_held"], "ranged": 1, "price": worked["price"], "net": worked["price"],
        "row": worked["row"], "duty": duty, "air": line["stated"] * duty, "count": 1, "reserve": 0,
        "virgin_used": line["virgin"], "ground_used": line["ground"], "g_low": line["ground"],
        "g_high": line["ground"], "there_needs": worked["needs"], "headroom": typed["headroom"],
        **{k: table[k] for k in ("density_low", "density", "density_high", "ground_low", "ground",
                                 "ground_high", "hours_low", "hours_high", "temperature",
                                 "moisture")},
    }  # fmt: skip
    cells: Cells = {
        ("One line", figure(key).replace("$", "")): value
        for key, value in values.items()
        if value is not None
    }
    return cells | _curves(book, worked, line)


def _curves(book: Book, worked: dict[str, Any], line: dict[str, Any]) -> Cells:
    """The chart of One line: its curves, its lines, and where their names stand."""
    cells: Cells = {}
    rate, density, hours = line["stated"], worked["blend"], line["hours"]
    begins, dots = [], []
    for card, other, picked in (("K", "B", "C"), ("M", "D", "E"), ("O", "F", "G"), ("Q", "H", "I")):
        volume = book.value("One line", f"{card}7")  # a card's own test has it
        for n in range(curves.POINTS):
            there = volume * density / (rate * (60 + 80 * n / (curves.POINTS - 1)) / 100)
            cells["Curves", f"{other}{5 + n}"] = -1 if card == "M" else there
            cells["Curves", f"{picked}{5 + n}"] = there if card == "M" else -1
        begins.append(volume * density / (rate * 0.6))
        most = 100 * volume / worked["needs"]
        dots.append((most, hours) if 60 <= most <= 140 else (-1, -1))
    top = max(*begins, 2 * hours)
    likely, low, high = (100 * line[key] / rate for key in ("likely", "low", "high"))
    for x, y, points in (
        ("K", "L", ((60, hours), (140, hours))), ("M", "N", ((100, 0), (100, top))),
        ("O", "P", ((likely, 0), (likely, top))),
        ("Q", "R", ((low, hours / 10), (high, hours / 10))), ("S", "T", dots),
    ):  # fmt: skip
        for row, (across, up) in enumerate(points, 5):
            cells["Curves", f"{x}{row}"], cells["Curves", f"{y}{row}"] = across, up
    # The names: from below, each a tenth of the highest above the one before, or more.
    begins.append(hours)
    order = sorted(range(5), key=lambda n: begins[n])
    moved: list[float] = []
    for n in order:
        moved.append(max(begins[n], moved[-1] + max(begins) / 10) if moved else begins[n])
    for n, begin in enumerate(begins):
        place = order.index(n)
        for letter, value in zip("BCDEFG", (60, begin, place + 1, begins[order[n]], moved[n],
                                            moved[place]), strict=True):  # fmt: skip
            cells["Curves", f"{letter}{30 + n}"] = value
    # Stated at the right, likely at the left of its line, realistic at the right of its bar.
    for row, where in enumerate((None, (100, top), (likely, top), None, None, (high, hours / 10)),
                                35):  # fmt: skip
        cells["Curves", f"B{row}"], cells["Curves", f"G{row}"] = where or (-1, -1)
    return cells


def page(book: Book, lines: int) -> Cells:
    """Figures of the lines on the page, in its order, as Sizing has them."""
    keys = dict(zip("DEFHIJKL", ("blend", "rate_used", "needs", "hours", "held", "pieces", "price",
                                 "net"), strict=True))  # fmt: skip
    rows = [
        row
        for row in range(page_shape.FIRST, page_shape.FIRST + 300, 2)
        if book.value("Quote", f"P{row}") == "line" and book.value("Quote", f"O{row}") == 1
    ]
    assert len(rows) == lines
    return {
        ("Quote", f"{letter}{row}"): book.line(number)[key]
        for number, row in enumerate(rows, 1)
        for letter, key in keys.items()
        if not (letter in "JKL" and book.line(number)["also"])
    }


def services(book: Book) -> Cells:
    from hoppersheet.templates.quote.services import SERVICES

    return {
        ("Services", SERVICES.cell("total", row)): line.get("quantity", 1) * line["price"]
        for row, line in enumerate(demo.SERVICE_ROWS, SERVICES.first_row)
    }
