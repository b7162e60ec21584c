"""Faults that a manager fears, planted one at a time; each with the cells where it must be told.

A fault is written by role (``required``, ``price`` ...), so that one text serves every style that
has the role. ``at`` holds the cells of which one must be named; ``says`` is a word that the
sentence must hold, so that another finding at the same cell does not count.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from openpyxl.comments import Comment
from openpyxl.formatting.rule import Rule
from openpyxl.styles import Font
from openpyxl.styles.differential import DifferentialStyle

from .styles import Quote

__all__ = ["FAULTS", "Fault", "Planted"]

Spot = tuple[str, str]
_IN_ROWS = ("rows", "rows metric", "pages")
_WITH_CALLS = ("rows", "columns", "sheets", "texts")


@dataclass
class Planted:
    """What was planted.

    Attributes:
        at: of these cells one must be told.
        after: done to the saved file, such as falsifying a stored value.
    """

    at: list[Spot]
    after: Callable[[Path], None] | None = None


@dataclass(frozen=True)
class Fault:
    """One kind of fault.

    Attributes:
        plant: spoils a clean quote.
        says: pattern of a word that the finding must hold.
        styles: books it is planted in.
        severities: how grave the finding may be.
    """

    plant: Callable[[Quote], Planted | list[Spot]]
    says: str
    styles: tuple[str, ...]
    severities: tuple[str, ...] = ("error", "warning")


FAULTS: dict[str, Fault] = {}


def fault(
    name: str, says: str, styles: Iterable[str], severities: tuple[str, ...] = ("error", "warning")
) -> Callable[[Callable[[Quote], Any]], Callable[[Quote], Any]]:
    """Register a fault."""

    def keep(plant: Callable[[Quote], Any]) -> Callable[[Quote], Any]:
        assert name not in FAULTS, name
        FAULTS[name] = Fault(plant, says, tuple(styles), severities)
        return plant

    return keep


def _shifted(area: str, rows: int) -> str:
    """A catalog range some rows further down."""
    import re

    return re.sub(r"\$(\d+)", lambda m: f"${int(m[1]) + rows}", area)


def _shortened(area: str, rows: int) -> str:
    """A catalog range that begins some rows later."""
    head, _, tail = area.partition(":")
    return f"{_shifted(head, rows)}:{tail}"


# --- whole columns --------------------------------------------------------------------------


@fault("prices one row off everywhere", "price", ("rows", "columns", "lookup", "plain", "messy"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("price", q.formulas["price"], prices=_shifted(q.prices, 1))


@fault("models one row off everywhere", "model", ("rows", "plain metric", "let"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("model", q.formulas["model"], models=_shifted(q.models, 1))


@fault("catalog range slides down the column", "catalog|range", ("rows", "lookup", "plain"))
def _(q: Quote) -> list[Spot]:
    for line in range(q.lines):
        q.write(line, "next", None, sizes=_shifted(q.sizes, line))
    return q.column("next")


@fault("catalog range leaves the smaller sizes out", "catalog|size|smaller", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("next", q.formulas["next"], sizes=_shortened(q.sizes, 6)) + q.column("chosen")


@fault("volumes on the virgin density", "virgin|blend|required", ("rows", "columns", "plain", "let",
       "sheets", "beside"))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    template = q.formulas["required"].replace("{blend}", "{virgin}")
    return q.rewrite("required", template) + (q.column("check") if (0, "check") in q.cells else [])


@fault("catalog in liters read as ft3", r"\bL\b|unit", ("rows", "columns", "plain", "messy"))
def _(q: Quote) -> list[Spot]:
    sheet, ref = q.first_size
    heading = q.book[sheet][ref].offset(-1, 0)
    heading.value = "Size [L]"
    return [(sheet, heading.coordinate), (sheet, ref), *q.column("next"), *q.column("chosen")]


@fault("rates in kg/h read as lb/h", "kg/h", ("rows", "columns", "plain"))
def _(q: Quote) -> list[Spot]:
    for cell in q.book[q.at(0, "rate")[0]]["A"] + q.book[q.at(0, "rate")[0]][3]:
        if str(cell.value).startswith("Throughput"):
            cell.value = "Throughput [kg/h]"
            return [(cell.parent.title, cell.coordinate), *q.column("rate"), *q.column("required")]
    raise AssertionError


@fault("a factor of 0.9 in every volume", "0.9|required", ("rows", "columns", "plain", "sheets"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("required", q.formulas["required"] + "*0.9")


@fault("every size is the one below", "short|small|below", ("rows", "columns", "pages"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("next", q.formulas["next"].replace("NEXT_SIZE", "SIZE_BELOW")) + q.column(
        "chosen"
    )


@fault("discount ignored in every net price", "discount", ("rows", "plain", "sheets", "pages"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("net", "={price}*{quantity}")


@fault("quantity ignored in every net price", "quantity", ("rows metric", "columns", "lookup"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("net", "={price}*(1-{discount})")


@fault("a tenth taken off every list price", "list|price|catalog", ("rows", "lookup", "columns"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("price", q.formulas["price"] + "*0.9")


@fault("mass shares blended by volume", "mass|basis", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    for role, text in (("virgin_share", "Virgin share by mass"), ("regrind_share",
                       "Regrind share by mass")):  # fmt: skip
        for row in q.book[q.at(0, role)[0]].iter_rows(max_row=30):
            for cell in row:
                if cell.value == text.removesuffix(" by mass"):
                    cell.value = text
    return q.column("blend") + q.column("virgin_share")


# --- one line: density, hours, volume --------------------------------------------------------


@fault("blend density typed over", "typed", ("rows", "columns", "sheets", "plain", "tables"))
def _(q: Quote) -> list[Spot]:
    value = 44.0 if q.system == "US" else 0.7
    return [q.put(2, "blend", value)]


@fault("required volume typed over", "typed", ("rows", "columns", "sheets", "plain metric",
       "messy"))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    return [q.put(3, "required", 9.0 if q.system == "US" else 300.0)]


@fault("chosen size typed too small", "short|small", ("rows", "columns", "sheets", "plain",
       "texts", "names"))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    line = min(4, q.lines - 1)
    return [q.put(line, "chosen", (30 if line else 18) if q.system == "US" else 850)]


@fault("chosen size two steps too large", "larger|above", ("rows", "columns", "plain metric"))
def _(q: Quote) -> list[Spot]:
    return [q.put(1, "chosen", 30 if q.system == "US" else 850)]


@fault("chosen size is in no catalog", "catalog", ("rows", "columns", "plain"))
def _(q: Quote) -> list[Spot]:
    return [q.put(1, "chosen", 17 if q.system == "US" else 500)]


@fault("hours of the line above", "unlike|hours", ("rows", "plain", "pages", "texts"))
def _(q: Quote) -> list[Spot]:
    other = q.at(0, "hours")[1]
    q.write(1, "required", q.formulas["required"].replace("{hours}", other))
    return [q.at(1, "required")]


@fault("hours of the column before", "unlike|hours", ("columns",))
def _(q: Quote) -> list[Spot]:
    q.write(1, "required", q.formulas["required"].replace("{hours}", q.at(0, "hours")[1]))
    return [q.at(1, "required")]


@fault("one sheet's volume has a factor", "unlike|required", ("sheets",))
def _(q: Quote) -> list[Spot]:
    q.write(3, "required", q.formulas["required"] + "*0.85")
    return [q.at(3, "required")]


@fault("density against the resin", "resin|table", ("rows", "columns", "plain", "sheets"))
def _(q: Quote) -> list[Spot]:
    return [q.put(1, "virgin", 55.0 if q.system == "US" else 0.88)]


@fault("regrind denser than virgin", "regrind", ("rows", "columns", "plain metric", "pages"))
def _(q: Quote) -> list[Spot]:
    virgin, regrind = q.cell(2, "virgin").value, q.cell(2, "regrind").value
    q.put(2, "virgin", regrind)
    return [q.put(2, "regrind", virgin), q.at(2, "virgin")]


@fault("regrind exactly half of virgin", "half", ("rows", "columns", "plain"),
       ("error", "warning", "note"))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    return [q.put(1, "regrind", q.cell(1, "virgin").value / 2)]


@fault("hours shorter than the resin's", "hours", ("rows", "columns", "plain", "sheets"))
def _(q: Quote) -> list[Spot]:
    return [q.put(1, "hours", 1.5)]


@fault("one heading says percent by mass", "mass", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    for row in q.book[q.at(0, "blend")[0]].iter_rows():
        for cell in row:
            if cell.value == "Regrind share":
                cell.value = "Regrind, % by mass"
    return q.column("blend")


@fault("a resin that no table knows", "compared with nothing", ("rows", "columns", "pages"),
       ("note",))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "resin", "Inventomer 9")]


@fault("too short for a resin on the sheet of inputs", "shorter", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    jobs = q.book.create_sheet("Jobs")
    for column, role in enumerate(("job", "resin", "rate", "hours"), 1):
        heading = q.cell(0, role).offset(-1, 0)
        jobs.cell(1, column, heading.value)
        for line in range(q.lines):
            typed = jobs.cell(2 + line, column, q.cell(line, role).value)
            takes = f"=Jobs!{typed.coordinate}"
            q.put(line, role, None if role == "resin" else takes)
        if role == "resin":
            heading.value = None
    jobs["D3"] = 1.0
    return [("Jobs", "D3")]


@fault("shares of 0.9", "share", ("rows", "columns", "plain"))
def _(q: Quote) -> list[Spot]:
    q.put(0, "regrind_share", 0.2)
    return [q.at(0, "virgin_share"), q.at(0, "regrind_share"), q.at(0, "blend")]


@fault("a metric density in a US book", "density|lb/ft3", ("rows", "columns", "plain"))
def _(q: Quote) -> list[Spot]:
    return [q.put(0, "virgin", 0.62), q.at(0, "blend"), q.at(0, "required")]


@fault("a clock time for hours", "hours", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    return [q.put(4, "hours", 4 / 24), q.at(4, "required")]


@fault("throughput per day", "throughput|typical|usual", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    return [q.put(4, "rate", 310.0 * 24 * 2), q.at(4, "required"), q.at(4, "next")]


@fault("blank hours", "hours|blank", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    return [q.put(4, "hours", None), q.at(4, "required")]


@fault("number stored as text", "text", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    rate = q.cell(2, "rate")
    rate.value, rate.data_type = "90", "s"
    return [q.at(2, "rate")]


@fault("basis not stated", "basis|by volume or by mass", ("rows", "columns", "sheets"))
def _(q: Quote) -> list[Spot]:
    template = q.formulas["blend"].replace(",{basis}", "," if q.system == "metric" else "")
    return q.rewrite("blend", template)


@fault("one call in the other unit system", "metric|unit", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    q.write(2, "held", '=HOPPER_HELD_HOURS({chosen},{blend}&" lb/ft3",{rate},"metric")')
    return [q.at(2, "held")]


@fault("hours held typed over", "typed", ("rows", "columns", "plain"))
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "held", 6.5)]


@fault("name points to the wrong cell", "hours|name|label", ("names",))
def _(q: Quote) -> list[Spot]:
    row = q.at(0, "held")[1][1:]
    q.book.defined_names["in_hours"].attr_text = f"Hopper!$B${row}"
    q.put(0, "held", 2.0)
    return [q.at(0, "required"), q.at(0, "held"), q.at(0, "hours")]


# --- money ----------------------------------------------------------------------------------


@fault("price typed over", "price", ("rows", "columns", "sheets", "plain", "tables", "messy"))
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "price", 3999.0)]


@fault("model typed over, size and price differ", "model", ("rows", "columns", "plain", "pages"))
def _(q: Quote) -> list[Spot]:
    size = 7.5 if q.system == "US" else 210
    return [q.put(1, "model", f"EXAMPLE-{size:g}")]


@fault("model typed over, no list of models", "typed", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    for row in range(1, 12):
        q.book["Catalog"].cell(row, 2).value = None
    q.rewrite("model", '="EXAMPLE-"&{chosen}')
    return [q.put(1, "model", "EXAMPLE-7.5")]


@fault("quantity blank", "quantity", ("rows", "columns", "plain", "pages", "sheets"))
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "quantity", None)]


@fault("quantity 0", "quantity", ("rows", "columns", "lookup", "messy"))
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "quantity", 0)]


@fault("a lone discount of 50 %", "discount", ("rows", "columns", "plain", "sheets"))
def _(q: Quote) -> list[Spot]:
    return [q.put(1, "discount", 0.5)]


@fault("net price typed over", "typed", ("rows", "columns", "plain", "sheets"))
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "net", 2000.0)]


@fault("a markup drifts off its cell", "markup", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    q.book["Catalog"]["H2"], q.book["Catalog"]["I2"] = "Markup", 0.2
    for line in range(q.lines):
        marked_up = f"{q.formulas['price']}*(1+Catalog!I{2 + line})"
        q.write(line, "price", marked_up)
    return [q.at(line, "price") for line in range(1, q.lines)]


@fault("net price takes another line's price", "unlike|price", ("rows", "columns", "plain"))
def _(q: Quote) -> list[Spot]:
    q.write(4, "net", q.formulas["net"].replace("{price}", q.at(3, "price")[1]))
    return [q.at(4, "net")]


@fault("grand total ignores the order discount", "discount", ("rows", "columns", "sheets", "plain"))
def _(q: Quote) -> list[Spot]:
    return [q.put("total", "net", f"={q.at('sum')[1]}"), q.at("order")]


@fault("grand total takes the discount twice", "total", ("rows", "pages"))
def _(q: Quote) -> list[Spot]:
    s, o = q.at("sum")[1], q.at("order")[1]
    return [q.put("total", "net", f"={s}*(1-{o})*(1-{o})")]


@fault("total ignores the last line", "total|sum", ("rows", "columns", "plain", "sheets", "long"))
def _(q: Quote) -> list[Spot]:
    ref = q.cell("sum").value
    a, _, b = ref[5:-1].partition(":")
    cell = q.book[q.at("sum")[0]][b]
    before = cell.offset(0, -1) if b[-1] == a[-1] and b[:1] != a[:1] else cell.offset(-1, 0)
    return [q.put("sum", "net", f"=SUM({a}:{before.coordinate})"), q.at("total")]


@fault("total ignores the first line", "total|sum", ("rows", "pages", "messy"))
def _(q: Quote) -> list[Spot]:
    where = "phase 1" if ("phase 1", "net") in q.cells else "sum"
    first, second = q.at(0, "net")[1], q.at(1, "net")[1]
    text = q.cell(where).value.replace(f"({first}:", f"({second}:")
    return [q.put(where, "net", text), q.at("total"), q.at("sum")]


@fault("total counts a line twice", "twice|total", ("rows", "sheets"))
def _(q: Quote) -> list[Spot]:
    line = q.at(5, "summary" if (5, "summary") in q.cells else "net")[1]
    return [q.put("sum", "net", f"{q.cell('sum').value}+{line}"), q.at("total")]


@fault("total counts a subtotal too", "twice|total", ("messy",))
def _(q: Quote) -> list[Spot]:
    last = q.at(5, "net")[1]
    first = q.at(0, "net")[1]
    return [q.put("sum", "net", f"=SUM({first}:{last})"), q.at("total")]


@fault("SUMPRODUCT is one line short", "total|SUMPRODUCT|sum", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    p, n, d = (q.at(0, r)[1] for r in ("price", "quantity", "discount"))
    e = int(q.at(q.lines - 2, "price")[1].lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
    letters = [ref.rstrip("0123456789") for ref in (p, n, d)]
    a, b, c = (f"{ref}:{x}{e}" for ref, x in zip((p, n, d), letters, strict=True))
    return [q.put("sum", "net", f"=SUMPRODUCT({a},{b},1-{c})"), q.at("total")]


@fault("SUMPRODUCT is one line off", "total|SUMPRODUCT|sum|row", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    p, n = q.at(0, "price")[1], q.at(0, "quantity")[1]
    x, y = p.rstrip("0123456789"), n.rstrip("0123456789")
    first, last = int(p[len(x) :]), int(p[len(x) :]) + q.lines - 1
    d = q.at(0, "discount")[1].rstrip("0123456789")
    text = f"=SUMPRODUCT({x}{first}:{x}{last},{y}{first + 1}:{y}{last + 1},1-{d}{first}:{d}{last})"
    return [q.put("sum", "net", text), q.at("total")]


@fault("SUMIFS is one line short", "total|SUMIF|sum", ("rows", "lookup"))
def _(q: Quote) -> list[Spot]:
    a, b = q.at(0, "net")[1], q.at(q.lines - 2, "net")[1]
    text = f'=SUMIFS({a}:{b},{a}:{b},">0")'
    return [q.put("sum", "net", text), q.at("total")]


@fault("grand total typed", "typed", ("rows", "columns", "plain", "sheets"))
def _(q: Quote) -> list[Spot]:
    return [q.put("total", "net", 30000.0)]


@fault("grand total typed under prepared rows", "typed", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    sheet, net = q.at(0, "net")
    page, letter = q.book[sheet], net.rstrip("0123456789")
    for key in ("sum", "order", "total"):
        q.cell(key).value = q.cell(key).offset(0, -1).value = None
    for row in range(4, 30):
        sum_of_line = q.formula(0, "net")[1:].replace("4", str(row))
        page[f"{letter}{row}"] = f'=IF($A{row}="","",{sum_of_line})'
    page["A31"], page[f"{letter}31"] = "Total", 30000.0
    return [(sheet, f"{letter}31")]


@fault("a negative amount hidden in the total", "hidden|negative", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    sheet, ref = q.at(5, "net")
    below = q.book[sheet][ref].offset(1, 0)
    below.value = -1500.0
    q.book[sheet].row_dimensions[below.row].hidden = True
    a = q.at(0, "net")[1]
    q.put("sum", "net", f"=SUM({a}:{below.coordinate})")
    return [(sheet, below.coordinate), q.at("sum")]


@fault("a negative amount in the total, in a row as low as a line", "in a hidden row",
       ("rows", "plain"))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    sheet, ref = q.at(5, "net")
    below = q.book[sheet][ref].offset(1, 0)
    below.value = -1500.0
    q.book[sheet].row_dimensions[below.row].height = 0.5
    a = q.at(0, "net")[1]
    q.put("sum", "net", f"=SUM({a}:{below.coordinate})")
    return [(sheet, below.coordinate), q.at("sum")]


@fault("a hidden line in the total", "hidden", ("rows", "pages"))
def _(q: Quote) -> list[Spot]:
    sheet, ref = q.at(4, "net")
    q.book[sheet].row_dimensions[q.book[sheet][ref].row].hidden = True
    return [(sheet, ref), *(q.at(4, r) for r in ("rate", "price", "quantity")), q.at("sum")]


@fault("catalog in dollars, quote in euros", "currenc|EUR|€", ("rows", "plain", "columns"),
       ("error", "warning"))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    sheet, ref = q.first_size
    top = q.book[sheet][ref].offset(0, 2)
    for row in range(10):
        top.offset(row, 0).number_format = '"$"#,##0.00'
    for line in range(q.lines):
        q.cell(line, "price").number_format = '#,##0.00 "€"'
        q.cell(line, "net").number_format = '#,##0.00 "€"'
    return [*q.column("price"), *q.column("net"), (sheet, top.coordinate), q.at("total")]


@fault("one catalog price far off", "price", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    sheet, ref = q.first_size
    cell = q.book[sheet][ref].offset(5, 2)
    cell.value = round(cell.value * 0.7)
    return [(sheet, cell.coordinate)]


@fault("an error turned into 0", "0|hides|IFERROR", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    q.rewrite("net", "=IFERROR({price}*{quantity}*(1-{discount}),0)")
    q.put(3, "price", "on request")
    return [q.at(3, "net"), q.at(3, "price"), q.at("sum")]


@fault("net price takes another line's price and no more", "unlike|price", ("rows", "sheets"))
def _(q: Quote) -> list[Spot]:
    sheet = q.at(4, "price")[0]
    other = q.at(3, "price")[1] if sheet == q.at(3, "price")[0] else f"Lens!{q.at(3, 'price')[1]}"
    q.write(4, "net", "=" + other + "*2")
    return [q.at(4, "net")]


@fault("a catalog price is missing", "price|entry", ("rows", "plain", "columns", "let"))
def _(q: Quote) -> list[Spot]:
    sheet, ref = q.first_size
    cell = q.book[sheet][ref].offset(5, 2)  # 24 ft3
    cell.value = None
    return [(sheet, cell.coordinate), q.at(0, "price"), q.at(0, "net")]


@fault("hours typed in every formula", "3|hours", ("plain", "columns metric plain", "short"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("required", "={rate}*3/{blend}")


@fault("hours forgotten in every formula", "hours|read", ("plain", "beside", "short"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("required", "={rate}/{blend}")


@fault("density typed in every formula", "40|density|read", ("plain", "short"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("required", "={rate}*{hours}/45")


@fault("a discount of 5 for 5 %", "500 %", ("rows", "columns", "sheets", "pages"))
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "discount", 5)]


@fault("a negative discount", "-5 %", ("rows", "columns", "lookup"))
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "discount", -0.05)]


@fault("the total in another currency", "EUR", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    for line in range(q.lines):
        q.cell(line, "net").number_format = "[$$-409]#,##0.00"
    q.cell("total").number_format = "[$€-407] #,##0.00"
    return [q.at("total")]


@fault("one net price in another currency", "EUR", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    for line in range(q.lines):
        q.cell(line, "price").number_format = q.cell(line, "net").number_format = '"$"#,##0.00'
    q.cell(2, "net").number_format = "[$\u20ac-407]#,##0.00"
    return [q.at(2, "net")]


@fault("one and a half hoppers", "1.5", ("rows", "columns", "sheets", "short"))
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "quantity", 1.5)]


@fault("price per two hoppers", "unlike|price", ("rows", "columns", "names"))
def _(q: Quote) -> list[Spot]:
    line = min(2, q.lines - 1)
    q.write(line, "net", "={price}/2*{quantity}*(1-{discount})")
    return [q.at(line, "net")]


@fault("discount taken twice in one line", "discount|unlike|net price", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    q.write(2, "net", "={price}*{quantity}*(1-{discount})*(1-{discount})")
    return [q.at(2, "net")]


@fault("discount taken twice in every line", "net price", ("rows", "columns", "plain", "sheets"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("net", "={price}*{quantity}*(1-{discount})^2")


@fault("quantity counted twice", "net price", ("rows", "tables", "pages"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("net", "={price}*{quantity}*{quantity}*(1-{discount})")


@fault("approximate match picks another price", "price", ("plain", "lookup", "short"))
def _(q: Quote) -> list[Spot]:
    # without the last argument MATCH takes the size below whatever is not listed exactly
    prices = q.formulas["price"]
    if "VLOOKUP" in prices:
        return q.rewrite("price", "=VLOOKUP({required},{table},3)")
    return q.rewrite("price", "=INDEX({prices},MATCH({required},{sizes}))")


@fault("model by the required volume", "model", ("plain", "lookup"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("model", "=INDEX({models},MATCH({required},{sizes}))")


@fault("quantity of the line above", "unlike|net price|quantity", ("rows", "plain", "messy"))
def _(q: Quote) -> list[Spot]:
    q.write(2, "net", q.formulas["net"].replace("{quantity}", q.at(1, "quantity")[1]))
    return [q.at(2, "net")]


@fault("hours held from the virgin density", "hours held", ("rows", "columns", "plain"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("held", q.formulas["held"].replace("{blend}", "{virgin}"))


@fault("shares crossed", "share|density|blend", ("plain", "columns metric plain", "beside"))
def _(q: Quote) -> list[Spot]:
    return q.rewrite("blend", "={regrind_share}*{virgin}+{virgin_share}*{regrind}")


# --- stored values, circles, settings, looks ---------------------------------------------------


def _set(q: Quote, where: Spot, value: float) -> Planted:
    from audit.audit_books import set_stored

    return Planted([where], lambda path: set_stored(path, where[0], where[1], value))


@fault("stale required volume", "stored|out of date", ("rows", "columns", "plain"))
def _(q: Quote) -> Planted:
    return _set(q, q.at(0, "required"), 12.0)


@fault("stale grand total", "stored|out of date", ("rows", "plain", "sheets"))
def _(q: Quote) -> Planted:
    return _set(q, q.at("total"), 20000.0)


@fault("a circle", "circl|itself", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    before = q.cell("sum").value
    q.put("sum", "net", f"{before}+{q.at('total')[1]}", twin=before)
    return [q.at("sum"), q.at("total")]


@fault("manual calculation", "manual", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    q.book.calculation.calcMode = "manual"
    return [("", ""), ("", "workbook")]


@fault("precision as displayed", "precision|displayed", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    q.book.calculation.fullPrecision = False
    return [("", ""), ("", "workbook")]


@fault("iteration is on", "iterat|circul", ("rows", "plain"), ("error", "warning", "note"))
def _(q: Quote) -> list[Spot]:
    q.book.calculation.iterate = True
    return [("", ""), ("", "workbook")]


@fault("white text", "white|seen|visible", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    q.cell(2, "hours").font = Font(color="FFFFFFFF")
    return [q.at(2, "hours")]


@fault("a format that shows nothing", "seen|shows nothing|visible", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    q.cell(2, "discount").number_format = ";;;"
    return [q.at(2, "discount")]


@fault("a conditional format in white", "conditional format", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    cell = q.cell(2, "discount")
    white = DifferentialStyle(font=Font(color="FFFFFFFF"))
    rule = Rule(type="expression", dxf=white, formula=[f"{cell.coordinate}>0"])
    cell.parent.conditional_formatting.add(cell.coordinate, rule)
    return [q.at(2, "discount")]


@fault("print of one point", "1 points", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    q.cell(2, "discount").font = Font(size=1)
    return [q.at(2, "discount")]


@fault("a format that shows a number of its own", "shows '4,500.00'", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    q.cell(2, "net").number_format = '"4,500.00"'
    return [q.at(2, "net")]


@fault("a factor inside an input", "put the factor into a cell", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    rate = q.cell(2, "rate").value
    return [q.put(2, "rate", f"={rate}*0.8", twin=rate * 0.8)]


@fault("a total shown in thousands", "divides by 1,000", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    q.cell("total", "net").number_format = "#,##0,"
    return [q.at("total", "net")]


@fault("a row as low as a line", "is hidden", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    cell = q.cell(2, "discount")
    cell.parent.row_dimensions[cell.row].height = 0.5
    return [(cell.parent.title, c.coordinate) for c in cell.parent[cell.row]]


@fault("a line that is crossed out and still counts", "crossed out",
       ("rows", "plain", "columns", "pages"))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    cells = [q.cell(3, role) for role in ("rate", "hours", "quantity")]
    for cell in cells:
        cell.font = Font(strike=True)
    return [(cell.parent.title, cell.coordinate) for cell in cells]


@fault("a comment with another quantity", "4 pieces", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    q.cell(2, "quantity").comment = Comment("customer wants 4 pieces", "invented")
    return [q.at(2, "quantity")]


@fault("1.6 shown as 2", "shown as|shows|display", ("rows", "plain", "columns"),
       ("error", "warning", "note"))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    cell = q.cell(0, "hours")
    cell.number_format = "0"
    return [q.at(0, "hours")]


@fault("a comment that contradicts its cell", "comment", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    q.cell(0, "rate").comment = Comment("customer says 280 lb/h", "invented")
    return [q.at(0, "rate")]


@fault("a job twice", "twice|same|duplicate", ("rows", "plain", "columns"))
def _(q: Quote) -> list[Spot]:
    for role in ("job", "resin", "virgin_share", "virgin", "regrind", "rate", "hours", "quantity",
                 "discount"):  # fmt: skip
        value = q.cell(4, role).value
        q.put(5, role, f"{value.upper()} " if role == "job" else value)
    return [q.at(r, role) for r in (4, 5) for role in ("job", "required", "net")]


@fault("a link to another workbook", "another workbook", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    return [q.put(2, "discount", "=[1]Rates!B2", twin=0.08)]


@fault("hidden column feeds the sizing", "hidden", ("rows", "plain"))
def _(q: Quote) -> list[Spot]:
    sheet, ref = q.at(0, "regrind")
    q.book[sheet].column_dimensions[ref.rstrip("0123456789")].hidden = True
    return q.column("regrind")


@fault("an own check fails", "check", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    sheet = q.book["Catalog"]
    sheet["H2"], sheet["I2"] = "Every price is below 1,000", '=IF(MAX(C2:C9)<1000,"pass","fail")'
    return [("Catalog", "I2")]


@fault("made with an older version", "version|calculated with", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    sheet = q.book["Catalog"]
    sheet["H2"] = "Made with hoppersheet 0.0.1"
    return [("Catalog", "H2")]


@fault("a load on the low density", "load|density", ("rows", "columns"))
def _(q: Quote) -> list[Spot]:
    sheet = q.book["Catalog"]
    where, ref = q.at(0, "chosen")
    blend = q.at(0, "blend")[1]
    sheet["H2"] = "Loaded mass [lb]"
    sheet["H3"] = f"=HOPPER_LOADED_MASS(300,'{where}'!{ref},'{where}'!{blend})"
    return [("Catalog", "H3")]


@fault("short, and the resin hydrolyzes", "short|small", ("rows", "columns", "plain"),
       ("warning",))  # fmt: skip
def _(q: Quote) -> list[Spot]:
    q.put(1, "reason", "3 % less than asked is fine, the customer agreed")
    return [q.put(1, "chosen", 14 if q.system == "US" else 400)]


@fault("short with a reason", "short|small", ("rows", "columns", "plain"), ("note",))
def _(q: Quote) -> list[Spot]:
    q.put(4, "reason", "3 % less than asked is fine, the customer agreed")
    return [q.put(4, "chosen", 30 if q.system == "US" else 850)]
