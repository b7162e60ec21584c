"""Quotes as people build them: one set of invented jobs, laid out in many styles.

Every style has the same roles (``rate``, ``required``, ``price`` ...), so a fault is planted by
role and told at the cell where that style keeps it. All names and figures are invented; densities
and drying hours lie within what hoppersheet's resin table says.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.table import Table

__all__ = ["STYLES", "Quote", "build"]

#: name, resin, virgin share, lb/h, kg/h, hours, quantity, discount
_JOBS = (
    ("Bezel", "ABS", 0.7, 220.0, 100.0, 3.5, 2, 0.05),
    ("Cover", "PC", 0.8, 150.0, 68.0, 4.0, 1, 0.0),
    ("Gear", "PA66", 0.9, 90.0, 41.0, 4.0, 3, 0.08),
    ("Lens", "PMMA", 0.95, 130.0, 59.0, 4.0, 1, 0.0),
    ("Tray", "SAN", 0.75, 310.0, 140.0, 4.0, 2, 0.05),
    ("Housing", "PC/ABS", 0.85, 260.0, 118.0, 4.0, 1, 0.0),
)
#: resin -> kg/L of virgin and of regrind
_DENSITIES = {
    "ABS": (0.62, 0.42), "PC": (0.67, 0.425), "PA66": (0.65, 0.41), "PMMA": (0.68, 0.44),
    "SAN": (0.64, 0.415), "PC/ABS": (0.645, 0.43),
}  # fmt: skip
_SIZES = {
    "US": (5, 7.5, 10, 14, 18, 24, 30, 38, 48, 60),
    "metric": (140, 210, 280, 400, 510, 680, 850, 1080, 1360, 1700),
}
_LB_FT3 = 62.428  # of 1 kg/L

#: role -> heading; {density} and the like are the units of the system
_HEADINGS = {
    "job": "Job",
    "resin": "Resin",
    "virgin_share": "Virgin share",
    "regrind_share": "Regrind share",
    "basis": "Share basis",
    "virgin": "Virgin density [{density}]",
    "regrind": "Regrind density [{density}]",
    "source": "Density source",
    "blend": "Blend density [{density}]",
    "rate": "Throughput [{rate}]",
    "hours": "Drying hours",
    "required": "Required volume [{volume}]",
    "next": "Next size [{volume}]",
    "chosen": "Chosen size [{volume}]",
    "held": "Hours held",
    "reason": "Reason",
    "model": "Model",
    "price": "List price",
    "quantity": "Quantity",
    "discount": "Discount",
    "net": "Net price",
}
_UNITS = {
    "US": {"density": "lb/ft3", "rate": "lb/h", "volume": "ft3"},
    "metric": {"density": "kg/L", "rate": "kg/h", "volume": "L"},
}
_CALCULATED = ("regrind_share", "blend", "required", "next", "chosen", "held", "model", "price",
               "net")  # fmt: skip

_M = "{m}"  # the metric argument, or nothing
_OURS = {
    "regrind_share": "=1-{virgin_share}",
    "blend": "=HOPPER_BLEND_DENSITY({virgin_share}:{regrind_share},{virgin}:{regrind},{basis}{m})",
    "required": "=HOPPER_REQUIRED_VOLUME({rate},{hours},{blend},{mo})",
    "next": "=HOPPER_NEXT_SIZE({required},{sizes},{mo})",
    "chosen": "={next}",
    "held": "=HOPPER_HELD_HOURS({chosen},{blend},{rate}{m})",
    "model": "=HOPPER_CATALOG_ENTRY({chosen},{sizes},{models})",
    "price": "=HOPPER_CATALOG_ENTRY({chosen},{sizes},{prices})",
    "net": "={price}*{quantity}*(1-{discount})",
}
_LOOKUP = {
    **_OURS,
    "model": "=INDEX({models},MATCH({chosen},{sizes},0))",
    "price": "=INDEX({prices},MATCH({chosen},{sizes},0))",
}
_PLAIN = {
    **_LOOKUP,
    "blend": "={virgin_share}*{virgin}+{regrind_share}*{regrind}",
    "required": "={rate}*{hours}/{blend}",
    "next": '=SMALL({sizes},1+COUNTIF({sizes},"<"&{required}))',
    "held": "={chosen}*{blend}/{rate}",
}
_LET = {
    **_OURS,
    "required": "=_xlfn.LET(_xlpm.m,{rate}*{hours},_xlpm.m/{blend})",
    "next": "=HOPPER_NEXT_SIZE({required},{sizes},{mo})",
    "model": "=_xlfn.XLOOKUP({chosen},{sizes},{models})",
    "price": "=_xlfn.XLOOKUP({chosen},{sizes},{prices})",
}


@dataclass
class Quote:
    """A workbook and where its roles are.

    Attributes:
        cells: (line, role) -> (sheet, cell); line "sum", "order" or "total" for the last lines.
        sizes, models, prices: the catalog's ranges as formulas write them.
        twins: (sheet, cell) -> a formula of the same value for programs without the function.
    """

    book: openpyxl.Workbook
    system: str
    formulas: dict[str, str]
    lines: int
    cells: dict[tuple[Any, str], tuple[str, str]] = field(default_factory=dict)
    sizes: str = ""
    models: str = ""
    prices: str = ""
    table: str = ""
    first_size: tuple[str, str] = ("", "")
    texts: bool = False
    headings: dict[str, str] = field(default_factory=lambda: dict(_HEADINGS))
    twins: dict[tuple[str, str], Any] = field(default_factory=dict)

    def at(self, line: Any, role: str = "") -> tuple[str, str]:
        """Where a role of a line stands."""
        return self.cells[line, role or "net"]

    def cell(self, line: Any, role: str = "") -> Any:
        """Its cell."""
        sheet, ref = self.at(line, role)
        return self.book[sheet][ref]

    def put(self, line: Any, role: str, value: Any, twin: Any = None) -> tuple[str, str]:
        """Put a value there; where it stands.

        ``twin``: what gives the value that a program would have stored, where ``value`` cannot be
        worked out (a link to another workbook, a circle).
        """
        self.cell(line, role).value = value
        if twin is not None:
            self.twins[self.at(line, role)] = twin
        return self.at(line, role)

    def column(self, role: str) -> list[tuple[str, str]]:
        """The role's cells in all lines."""
        return [self.at(line, role) for line in range(self.lines)]

    def refs(self, line: int, sheet: str) -> dict[str, str]:
        """role -> how a formula on ``sheet`` names the line's cell."""
        found = {}
        for (at, role), (where, ref) in self.cells.items():
            if at == line:
                found[role] = ref if where == sheet else f"'{where}'!{ref}"
        return found

    def formula(self, line: int, role: str, template: str | None = None, **other: str) -> str:
        """The formula of a role in a line, perhaps after another template."""
        metric = self.system == "metric"
        words = {
            "sizes": self.sizes, "models": self.models, "prices": self.prices, "table": self.table,
            "m": ',"metric"' if metric else "", "mo": ',"metric"' if metric else "",
        }  # fmt: skip
        words |= self.refs(line, self.at(line, role)[0])
        text = (template or self.formulas[role]).format(**{**words, **other})
        return text.replace(",)", ")")

    def write(self, line: int, role: str, template: str | None = None, **other: str) -> None:
        """Write that formula into the cell, with its twin for programs of 2010."""
        text = self.formula(line, role, template, **other)
        self.cell(line, role).value = text
        if "_xlfn" in text:
            old = {"required": "={rate}*{hours}/{blend}", **{r: _LOOKUP[r] for r in
                   ("model", "price")}}  # fmt: skip
            plain = old[role]
            if template and "{blend}" not in template and role == "required":
                plain = "={rate}*{hours}/{virgin}"
            self.twins[self.at(line, role)] = self.formula(line, role, plain, **other)

    def rewrite(self, role: str, template: str, **other: str) -> list[tuple[str, str]]:
        """The same other formula in all lines."""
        for line in range(self.lines):
            self.write(line, role, template, **other)
        return self.column(role)


def _job(at: int, quote: Quote) -> dict[str, Any]:
    """The typed figures of a job; from the seventh on, jobs repeat with other names and rates."""
    name, resin, share, us, metric, hours, quantity, discount = _JOBS[at % len(_JOBS)]
    turn = at // len(_JOBS)
    rate = (us if quote.system == "US" else metric) + 3 * (turn % 7)
    factor = _LB_FT3 if quote.system == "US" else 1.0
    virgin, regrind = (round(d * factor, 2 if factor > 1 else 3) for d in _DENSITIES[resin])
    units = _UNITS[quote.system]
    values: dict[str, Any] = {
        "job": name if not turn else f"{name} {turn + 1}", "resin": resin, "virgin_share": share,
        "basis": "volume", "virgin": virgin, "regrind": regrind, "source": "measured",
        "rate": rate, "hours": hours, "quantity": quantity, "discount": discount,
    }  # fmt: skip
    if quote.texts:
        values["rate"] = f"{rate:g} {units['rate']}"
        values["virgin"] = f"{virgin:g} {units['density']}"
        values["regrind"] = f"{regrind:g} {units['density']}"
        values["hours"] = f"{hours:g} h"
    return values


def _heading(role: str, quote: Quote) -> str:
    return quote.headings[role].format(**_UNITS[quote.system])


def _catalog(quote: Quote, sheet: Any, row: int, column: int, title: str) -> None:
    """The catalog, with its heading in ``row``."""
    headings = (f"Size [{_UNITS[quote.system]['volume']}]", "Model", "List price")
    for offset, heading in enumerate(headings):
        sheet.cell(row, column + offset, heading)
    sizes = _SIZES[quote.system]
    for at, size in enumerate(sizes, 1):
        base = size if quote.system == "US" else size / 28.3
        sheet.cell(row + at, column, size)
        sheet.cell(row + at, column + 1, f"EXAMPLE-{size:g}")
        sheet.cell(row + at, column + 2, round(1500 * base**0.45, -1))
    name = f"'{title}'" if " " in title else title
    first, last = row + 1, row + len(sizes)
    letters = [get_column_letter(column + offset) for offset in range(3)]
    quote.sizes, quote.models, quote.prices = (f"{name}!${c}${first}:${c}${last}" for c in letters)
    quote.first_size = (title, f"{letters[0]}{first}")


def _totals(quote: Quote, sheet: Any, row: int, label: int, amount: int, of: str) -> None:
    """Subtotal, order discount and total below each other."""
    letter = get_column_letter(amount)
    title = sheet.title
    for at, (key, text, value) in enumerate(
        (
            ("sum", "Subtotal", of),
            ("order", "Order discount", 0.03),
            ("total", "Total", f"={letter}{row}*(1-{letter}{row + 1})"),
        )
    ):
        sheet.cell(row + at, label, text)
        cell = sheet.cell(row + at, amount, value)
        quote.cells[key, "net"] = (title, cell.coordinate)
        cell.number_format = "0%" if key == "order" else "#,##0.00"


def _fill(quote: Quote, skip: tuple[str, ...] = ()) -> None:
    """Typed figures and formulas of every line."""
    for line in range(quote.lines):
        values = _job(line, quote)
        for at, role in [key for key in quote.cells if key[0] == line]:
            cell = quote.cell(at, role)
            if role in quote.formulas and role not in skip:
                quote.write(line, role)
            else:
                cell.value = values.get(role)
            if role in ("discount", "virgin_share", "regrind_share"):
                cell.number_format = "0%"
            elif role in ("price", "net"):
                cell.number_format = "#,##0.00"


def _new(system: str, formulas: dict[str, str], lines: int, title: str) -> tuple[Quote, Any]:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    return Quote(book, system, formulas, lines), sheet


def _rows(
    system: str = "US", formulas: dict[str, str] = _OURS, lines: int = 6, texts: bool = False,
    first: int = 4, roles: tuple[str, ...] = tuple(_HEADINGS),
) -> Quote:  # fmt: skip
    """A line per job, headings above."""
    quote, sheet = _new(system, formulas, lines, "Quote")
    quote.texts = texts
    sheet["A1"] = "Quote for an invented customer"
    _catalog(quote, quote.book.create_sheet("Catalog"), 1, 1, "Catalog")
    for column, role in enumerate(roles, 1):
        sheet.cell(first - 1, column, _heading(role, quote))
        for line in range(lines):
            quote.cells[line, role] = ("Quote", f"{get_column_letter(column)}{first + line}")
    _fill(quote)
    net = roles.index("net") + 1
    letter = get_column_letter(net)
    last = first + lines - 1
    _totals(quote, sheet, last + 2, net - 1, net, f"=SUM({letter}{first}:{letter}{last})")
    return quote


def _columns(system: str = "US", formulas: dict[str, str] = _OURS) -> Quote:
    """A column per job, labels to the left."""
    quote, sheet = _new(system, formulas, 6, "Sizing")
    sheet["A1"] = "Sizing, one column per press"
    _catalog(quote, quote.book.create_sheet("Catalog"), 1, 1, "Catalog")
    for row, role in enumerate(_HEADINGS, 3):
        sheet.cell(row, 1, _heading(role, quote))
        for line in range(6):
            quote.cells[line, role] = ("Sizing", f"{get_column_letter(2 + line)}{row}")
    _fill(quote)
    net = 3 + len(_HEADINGS) - 1
    _totals(quote, sheet, net + 2, 1, 2, f"=SUM(B{net}:G{net})")
    return quote


def _sheets(system: str = "US", formulas: dict[str, str] = _OURS) -> Quote:
    """A sheet per job, the same cell on each, and a summary."""
    quote, summary = _new(system, formulas, 6, "Summary")
    _catalog(quote, quote.book.create_sheet("Price list"), 2, 2, "Price list")
    units = _UNITS[system]
    beside = {"virgin": "density", "regrind": "density", "blend": "density", "rate": "rate",
              "required": "volume", "next": "volume", "chosen": "volume"}  # fmt: skip
    for line in range(6):
        name = _JOBS[line][0]
        sheet = quote.book.create_sheet(name)
        for row, role in enumerate(_HEADINGS, 2):
            sheet.cell(row, 1, _HEADINGS[role].partition(" [")[0])
            sheet.cell(row, 3, units[beside[role]] if role in beside else None)
            quote.cells[line, role] = (name, f"B{row}")
    _fill(quote)
    for column, text in enumerate(("Job", "Model", "Net price"), 1):
        summary.cell(3, column, text)
    for line in range(6):
        name = _JOBS[line][0]
        for column, role in enumerate(("job", "model", "net"), 1):
            summary.cell(4 + line, column, f"={name}!{quote.at(line, role)[1]}")
    for line in range(6):
        quote.cells[line, "summary"] = ("Summary", f"C{4 + line}")
    _totals(quote, summary, 11, 2, 3, "=SUM(C4:C9)")
    return quote


def _names(system: str = "US") -> Quote:
    """One hopper as a form of named cells."""
    quote, sheet = _new(system, _OURS, 1, "Hopper")
    _catalog(quote, quote.book.create_sheet("Catalog"), 1, 1, "Catalog")
    for name, area in (("CatSize", quote.sizes), ("CatModel", quote.models),
                       ("CatPrice", quote.prices)):  # fmt: skip
        quote.book.defined_names[name] = DefinedName(name, attr_text=area)
    sheet["A1"] = "One hopper"
    for row, role in enumerate(_HEADINGS, 3):
        sheet.cell(row, 1, _heading(role, quote))
        quote.cells[0, role] = ("Hopper", f"B{row}")
        name = f"in_{role}"
        quote.book.defined_names[name] = DefinedName(name, attr_text=f"Hopper!$B${row}")
    quote.sizes, quote.models, quote.prices = "CatSize", "CatModel", "CatPrice"
    named = {role: f"in_{role}" for role in _HEADINGS}
    _fill(quote)
    for role in quote.formulas:
        if role != "blend":  # its ranges are cells side by side
            quote.write(0, role, None, **named)
    net = quote.at(0, "net")[1]
    _totals(quote, sheet, int(net[1:]) + 2, 1, 2, "=in_net")
    return quote


def _tables() -> Quote:
    """A table of jobs and one of sizes, with references by heading."""
    quote = _rows("US", _OURS)
    sheet = quote.book["Quote"]
    last = get_column_letter(len(_HEADINGS))
    sheet.add_table(Table(displayName="Jobs", ref=f"A3:{last}9"))
    quote.book["Catalog"].add_table(Table(displayName="Hoppers", ref="A1:C11"))
    escaped = {r: _heading(r, quote).replace("[", "'[").replace("]", "']") for r in _HEADINGS}
    named = {role: f"Jobs[[#This Row],[{text}]]" for role, text in escaped.items()}
    quote.sizes, quote.models, quote.prices = (
        "Hoppers['Size [ft3']]".replace("'S", "S").replace("[ft3", "'[ft3"), "Hoppers[Model]",
        "Hoppers[List price]",
    )  # fmt: skip
    for line in range(quote.lines):
        for role in quote.formulas:
            if role not in ("blend",):
                quote.write(line, role, None, **named)
    quote.put("sum", "net", "=SUM(Jobs[Net price])")
    return quote


def _beside() -> Quote:
    """Plain formulas, and ours beside them as a check."""
    roles = list(_HEADINGS)
    at = roles.index("required") + 1
    quote = _rows("US", _PLAIN)
    sheet = quote.book["Quote"]
    del at
    column = len(_HEADINGS) + 2
    sheet.cell(3, column, "Volume by the add-in [ft3]")
    for line in range(quote.lines):
        cell = sheet.cell(4 + line, column)
        quote.cells[line, "check"] = ("Quote", cell.coordinate)
        cell.value = quote.formula(line, "check", _OURS["required"])
    return quote


#: The words of somebody who estimates with one measured density per job.
_SHORT_HEADINGS = {
    "job": "Press", "resin": "Material", "rate": "lbs/hr", "hours": "Dry hrs",
    "blend": "Bulk dens. lb/cuft", "required": "Needed ft\u00b3", "chosen": "Hopper ft\u00b3",
    "held": "Holds h", "model": "Model no.", "price": "Price each", "quantity": "Qty",
    "net": "Total",
}  # fmt: skip


def _short() -> Quote:
    """Few columns in other words, plain formulas, no discount; the total is called Sum."""
    quote, sheet = _new("US", {}, 6, "Est")
    quote.headings = dict(_SHORT_HEADINGS)
    quote.formulas = {
        "required": "={rate}*{hours}/{blend}",
        "chosen": '=SMALL({sizes},1+COUNTIF({sizes},"<"&{required}))',
        "held": "={chosen}*{blend}/{rate}",
        "model": "=VLOOKUP({chosen},{table},2,FALSE)",
        "price": "=VLOOKUP({chosen},{table},3,FALSE)",
        "net": "={quantity}*{price}",
    }
    _catalog(quote, quote.book.create_sheet("Sizes"), 1, 1, "Sizes")
    quote.table = f"{quote.sizes.partition(':')[0]}:{quote.prices.partition(':')[2]}"
    for column, role in enumerate(_SHORT_HEADINGS, 1):
        sheet.cell(1, column, quote.headings[role])
        for line in range(6):
            quote.cells[line, role] = ("Est", f"{get_column_letter(column)}{2 + line}")
    _fill(quote)
    for line in range(6):
        virgin, share = _job(line, quote)["virgin"], _job(line, quote)["virgin_share"]
        quote.put(line, "blend", round(virgin * (0.65 + 0.35 * share), 1))
    sheet["K9"] = "Sum"
    sheet["L9"] = "=SUM(L2:L7)"
    quote.cells["sum", "net"] = quote.cells["total", "net"] = ("Est", "L9")
    return quote


def _units() -> Quote:
    """A column per job, the unit in a column of its own, a safety factor, options in the price."""
    quote, sheet = _new("metric", dict(_OURS), 4, "Presses")
    quote.formulas["required"] = "=HOPPER_REQUIRED_VOLUME({rate},{hours},{blend},{factor}-1{mo})"
    quote.formulas["net"] = "=({price}+{options})*{quantity}*(1-{discount})"
    quote.headings |= {"factor": "Safety factor", "options": "Options"}
    _catalog(quote, quote.book.create_sheet("List"), 1, 1, "List")
    roles = [*_HEADINGS]
    roles[roles.index("required") : roles.index("required")] = ["factor"]
    roles[roles.index("quantity") : roles.index("quantity")] = ["options"]
    units = {"virgin": "kg/L", "regrind": "kg/L", "blend": "kg/L", "rate": "kg/h", "hours": "h",
             "required": "L", "next": "L", "chosen": "L", "held": "h"}  # fmt: skip
    for row, role in enumerate(roles, 2):
        sheet.cell(row, 1, quote.headings[role].partition(" [")[0])
        sheet.cell(row, 2, units.get(role))
        for line in range(4):
            quote.cells[line, role] = ("Presses", f"{get_column_letter(3 + line)}{row}")
    _fill(quote)
    for line in range(4):
        quote.put(line, "factor", 1.1)
        quote.put(line, "options", 250.0 + 50 * line)
    net = 2 + roles.index("net")
    _totals(quote, sheet, net + 2, 1, 3, f"=SUM(C{net}:F{net})")
    return quote


def _long() -> Quote:
    return _rows(lines=300)


def _messy() -> Quote:
    """Titles, notes, blank rows, merged cells and subtotals by phase."""
    quote, sheet = _new("US", _LOOKUP, 6, "Angebot 7")
    sheet["B1"] = "Dryer hoppers, second round"
    sheet.merge_cells("B1:H1")
    sheet["B2"] = "Customer wants delivery in spring; prices hold for 30 days."
    sheet["B4"] = "Note: densities were weighed with a cup, see lab book."
    _catalog(quote, sheet, 6, 30, "Angebot 7")
    roles = tuple(_HEADINGS)
    for column, role in enumerate(roles, 2):
        sheet.cell(6, column, _heading(role, quote))
    net = get_column_letter(1 + len(roles))
    for phase, rows in enumerate(((8, 9, 10), (14, 15, 16))):
        sheet.cell(rows[0] - 1, 2, f"Phase {phase + 1}")
        for at, row in enumerate(rows):
            for column, role in enumerate(roles, 2):
                quote.cells[3 * phase + at, role] = (
                    sheet.title, f"{get_column_letter(column)}{row}",
                )  # fmt: skip
    _fill(quote)
    label = len(roles)
    for phase, (first, last) in enumerate(((8, 10), (14, 16)), 1):
        sheet.cell(last + 1, label, f"Subtotal phase {phase}")
        cell = sheet.cell(last + 1, label + 1, f"=SUM({net}{first}:{net}{last})")
        quote.cells[f"phase {phase}", "net"] = (sheet.title, cell.coordinate)
    _totals(quote, sheet, 19, label, label + 1, f"={net}11+{net}17")
    return quote


def _pages() -> Quote:
    """Sizing on one sheet, money on another."""
    money = ("model", "price", "quantity", "discount", "net")
    quote, sheet = _new("metric", _OURS, 6, "Sizing")
    offer = quote.book.create_sheet("Offer")
    _catalog(quote, quote.book.create_sheet("Catalog"), 1, 1, "Catalog")
    sheet["A1"] = "Sizing"
    offer["A1"] = "Offer to an invented customer"
    sized = [role for role in _HEADINGS if role not in money]
    for column, role in enumerate(sized, 1):
        sheet.cell(3, column, _heading(role, quote))
        for line in range(6):
            quote.cells[line, role] = ("Sizing", f"{get_column_letter(column)}{4 + line}")
    offer["A5"] = "Item"
    for column, role in enumerate(money, 2):
        offer.cell(5, column, _heading(role, quote))
        for line in range(6):
            quote.cells[line, role] = ("Offer", f"{get_column_letter(column)}{6 + line}")
    _fill(quote)
    for line in range(6):
        offer.cell(6 + line, 1, f"=Sizing!A{4 + line}")
    _totals(quote, offer, 13, 5, 6, "=SUM(F6:F11)")
    return quote


#: name -> how the book is built
STYLES: dict[str, Callable[[], Quote]] = {
    "rows": _rows,
    "rows metric": lambda: _rows("metric"),
    "columns": _columns,
    "columns metric plain": lambda: _columns("metric", _PLAIN),
    "sheets": _sheets,
    "names": _names,
    "tables": _tables,
    "texts": lambda: _rows(texts=True),
    "plain": lambda: _rows("US", _PLAIN),
    "plain metric": lambda: _rows("metric", _PLAIN),
    "beside": _beside,
    "lookup": lambda: _rows("metric", _LOOKUP),
    "let": lambda: _rows("US", _LET),
    "short": _short,
    "units": _units,
    "long": _long,
    "messy": _messy,
    "pages": _pages,
}


def build(style: str) -> Quote:
    """A clean quote in that style."""
    return STYLES[style]()


def save(quote: Quote, path: Path) -> Path:
    """Save it with the values that a program would have stored."""
    from audit.audit_books import ErrorText, Package, is_error, stored

    real = {}
    for (sheet, ref), twin in quote.twins.items():
        cell = quote.book[sheet][ref]
        real[sheet, ref] = cell.value
        cell.value = twin
    stored(quote.book, path)
    if not real:
        return path
    package = Package(path)
    values = {sheet: package.values(sheet) for sheet in quote.book.sheetnames}
    for (sheet, ref), formula in real.items():
        quote.book[sheet][ref].value = formula
    quote.book.save(path)
    package = Package(path)
    for sheet, found in values.items():
        formulas = {
            c.coordinate: found.get(c.coordinate)
            for row in quote.book[sheet].iter_rows() for c in row if c.data_type == "f"
        }  # fmt: skip
        package.set_values(
            sheet, {k: ErrorText(v) if is_error(v) else v for k, v in formulas.items()}
        )
    package.save(path)
    return path
