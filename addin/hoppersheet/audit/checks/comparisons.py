"""Inputs that are unlike what else the workbook or the resin table says.

Drying hours shorter than the table's, one discount far above the others, a catalog price out of
step with the sizes beside it. The limits are judgments (common practice, no source).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from statistics import median
from typing import Any

from ...call import call as compute
from ...cells.wording import rounded
from ...errors import CellError
from ...workbook.formulas import Place
from ..context import Context, Line, percent, spot
from ..findings import Finding, finding
from .catalog import PriceList, price_lists

_FAR_ABOVE = 0.2  # of a discount above the next highest one
_OUT_OF_STEP = 0.1  # of a price against the two sizes beside it
_TIMES_USUAL = 3  # and so many times as far as other prices are
_FEWEST = 3  # discounts or lines, below which nothing is usual

_RESIN = re.compile(r"\b(resin|material|polymer|plastic)\b", re.IGNORECASE)
_DISCOUNT = re.compile(r"\b(discount|disc\.|rebate)", re.IGNORECASE)


# --- drying hours ---------------------------------------------------------------------------


def _own_table(context: Context) -> tuple[Any, str]:
    """The workbook's own resin table and its units, as some call of HOPPER_RESIN takes it."""
    for made in context.all_calls():
        inputs = context.inputs(made) if made.name == "HOPPER_RESIN" else None
        if inputs is not None and "own_table" not in inputs.defaulted:
            return made.values[2], inputs.system
    return "none", "US"


def _resin_of(context: Context, line: Line) -> str:
    """The resin that a line names, ``""`` where none is found."""
    if line.job is not None:
        return str(line.job.cell("resin") or "")
    for cell in context.book.sheets[line.place[0]].rows.get(line.place[1], []):
        value = context.value(cell.place)
        if isinstance(value, str) and value and _RESIN.search(context.labels.heading(cell.place)):
            return value
    return ""


def _hours(context: Context) -> Iterator[Finding]:
    own, system = _own_table(context)
    known: dict[str, float | None] = {}

    def least(resin: str) -> float | None:
        for wanted in ("drying hours low", "drying hours"):
            try:
                hours = compute("HOPPER_RESIN", resin, wanted, own, system)
            except CellError:
                continue
            return float(hours)
        return None

    reported: set[Place] = set()
    for line in context.lines:
        resin = _resin_of(context, line)
        if not resin:
            continue
        if resin not in known:
            known[resin] = least(resin)
        usual = known[resin]
        place, seconds = _drying_hours(context, line)
        if usual is None or place is None or seconds is None or place in reported:
            continue
        hours = seconds / 3600
        if hours >= usual * (1 - 1e-9):
            continue
        reported.add(place)
        yield finding(
            "outside typical range",
            "warning",
            place,
            f"The drying hours {rounded(hours, 3)} of {resin!r} are shorter than the resin table's "
            f"{rounded(usual, 3)}; with these {context.where(line)} would be "
            f"{percent(usual / hours - 1)} larger, and the resin may stay wet; check them "
            "against the resin maker's data sheet.",
            value=context.value(place),
            expected=usual,
        )


def _drying_hours(context: Context, line: Line) -> tuple[Place | None, float | None]:
    if line.job is not None:
        return line.job.places.get("drying hours"), line.job.number("drying hours")
    inputs = context.inputs(line.call)
    node = context.argument_node(line.call, "drying_hours")
    place = context.source(node, line.call.place)
    if place is None or inputs is None:
        return None, None
    return context.trail(place)[-1], inputs.values["drying_hours"]


# --- discounts ------------------------------------------------------------------------------


def _discounts(context: Context) -> Iterator[Finding]:
    rows_of_lines: dict[str, set[int]] = {}
    for line in context.quoted:
        rows_of_lines.setdefault(line.place[0], set()).add(line.place[1])
    for sheet in context.book.sheets.values():
        for column, cells in sheet.columns.items():
            values = {
                cell.place[1]: abs(value) if cell.percent or abs(value) <= 1 else abs(value) / 100
                for cell in cells
                if isinstance(value := context.value(cell.place), float)
                and _DISCOUNT.search(context.labels.heading(cell.place))
            }
            if not values:
                continue
            given = {**dict.fromkeys(rows_of_lines.get(sheet.name, ()), 0.0), **values}
            if len(given) < _FEWEST:
                continue
            row = max(values, key=lambda r: values[r])
            others = max(v for r, v in given.items() if r != row)
            cell = sheet.cells[row, column]
            if cell.typed and values[row] <= 1 and values[row] - others >= _FAR_ABOVE - 1e-9:
                yield _discount(cell.place, values[row], others, cell.value)


def _discount(place: Place, discount: float, others: float, value: Any) -> Finding:
    other = f"is at most {percent(others)}" if others else "is nothing"
    return finding(
        "outside typical range",
        "warning",
        place,
        f"The discount of {percent(discount)} is far above the others, where it {other}; the "
        f"customer pays {percent(1 - discount)} of the price for this line; see who allowed it.",
        value=value,
    )


# --- catalog prices -------------------------------------------------------------------------


def _steps(context: Context, listed: PriceList) -> list[tuple[float, float, Place]]:
    """(size, price, cell of the price), ascending; one per size."""
    sheet, first, size_column, last, _ = listed.area
    found: dict[float, tuple[float, float, Place]] = {}
    for row in range(first, min(last, context.book.sheets[sheet].max_row) + 1):
        place = (sheet, row, listed.column[2])
        size, price = context.value((sheet, row, size_column)), context.value(place)
        if isinstance(size, float) and isinstance(price, float) and size > 0 and price > 0:
            found.setdefault(size, (size, price, place))
    return sorted(found.values())


def _between(one: tuple[float, float], other: tuple[float, float], size: float) -> float:
    """The price between two sizes; prices go with a power of the size."""
    share = math.log(size / one[0]) / math.log(other[0] / one[0])
    return one[1] * (other[1] / one[1]) ** share


def _out_of_step(context: Context) -> Iterator[Finding]:
    for listed in price_lists(context):
        steps = _steps(context, listed)
        usual = [
            _between(steps[at - 1][:2], steps[at + 1][:2], steps[at][0])
            for at in range(1, len(steps) - 1)
        ]
        off = [abs(math.log(steps[at][1] / price)) for at, price in enumerate(usual, 1)]
        for at, price in enumerate(usual):
            near = off[max(0, at - 1) : at + 2]
            rest = [o for n, o in enumerate(off) if abs(n - at) > 1]
            if off[at] < _OUT_OF_STEP or off[at] < max(near) or not rest:
                continue
            if off[at] < _TIMES_USUAL * median(rest):
                continue
            before, (_, is_now, place), after = steps[at : at + 3]
            side = "below" if is_now < price else "above"
            yield finding(
                "outside typical range",
                "warning",
                place,
                f"The catalog price {rounded(is_now, 9)} is {percent(is_now / price - 1)} {side} "
                f"what the sizes beside it say, about {rounded(price, 3)} between "
                f"{rounded(before[1], 9)} in {spot(before[2])} and {rounded(after[1], 9)} in "
                f"{spot(after[2])}; every line with this size is quoted at it; compare it with "
                "the price list.",
                value=is_now,
                expected=price,
            )


def check(context: Context) -> Iterator[Finding]:
    """``outside typical range``, by comparison."""
    yield from _hours(context)
    yield from _discounts(context)
    yield from _out_of_step(context)
