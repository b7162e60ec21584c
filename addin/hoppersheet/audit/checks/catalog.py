"""The chosen size against what is required, and sizes and prices against the catalog."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from ...cells.wording import in_system, rounded, with_unit
from ...sizing.catalog import TOLERANCE
from ...workbook.evaluator import Area
from ...workbook.formulas import Place
from ..context import Context, Line, cell_name, percent
from ..findings import Finding, finding
from ..label_words import Reason
from ..roles import OTHER_ITEM
from .resins import hydrolyzes, resin_of

__all__ = ["PriceList", "check", "price_lists"]

_MUCH = 0.5  # so far above the required volume a size deserves a question


def _formula(context: Context, place: Place) -> str | None:
    cell = context.book.cell(place)
    return cell.formula if cell is not None else None


def _held_hours(context: Context, line: Line) -> str:
    inputs = context.inputs(line.call)
    if inputs is None or line.chosen_volume is None:
        return ""
    if line.job is not None:
        hours, reserve = line.job.number("drying hours") or 0.0, line.job.number("reserve") or 0.0
    else:
        hours, reserve = inputs.values["drying_hours"], inputs.values["reserve"]
    hours /= 3600
    held = hours * line.chosen_volume / line.required * (1 + reserve)
    return f"it holds {rounded(held, 3)} h of the {rounded(hours, 3)} h that are asked for"


def _sizes(context: Context) -> Iterator[Finding]:
    largest: dict[Place, float] = {}
    for line in context.lines:
        if line.chosen is not None:
            largest[line.chosen] = max(largest.get(line.chosen, 0.0), line.required)
    for line in context.lines:
        size, place, volume = line.chosen_size, line.chosen, line.chosen_volume
        if size is None or place is None or volume is None:
            continue
        margin = volume / line.required - 1
        shown, required = (with_unit(x, "volume", line.system) for x in (size, line.required))
        value = context.value(place)
        known = line.sizes
        listed = any(abs(s - size) <= TOLERANCE * 10 * size for s in known)
        if known and not listed:
            near = min(known, key=lambda s: abs(s - size))
            yield finding(
                "not in catalog",
                "error",
                place,
                f"{shown} is not a catalog size (nearest: "
                f"{with_unit(near, 'volume', line.system)}); "
                "the model and its price cannot be right; choose a catalog size.",
                formula=_formula(context, place),
                value=value,
                expected=in_system(near, "volume", line.system),
            )
        if margin < -TOLERANCE * 10:
            if _reported_before(context, line):
                continue
            yield _undersized(context, line, margin, shown, required)
        elif (
            line.required < largest[place]
            or _shared(context, line)
            or (line.with_others and not line.decides_the_size)
        ):
            pass  # one hopper for several jobs is as large as they need it
        elif known and listed:
            fits = bisect_left(
                known, (line.looked_up or line.required / line.hoppers) * (1 - TOLERANCE)
            )
            steps = bisect_left(known, size * (1 - TOLERANCE)) - fits
            if fits < len(known) and (steps >= 1 or margin > _MUCH):
                yield _oversized(context, line, margin, shown, required, steps, known[fits])
        elif not known and margin > _MUCH:
            yield _oversized(context, line, margin, shown, required, 0, None)


def _reported_before(context: Context, line: Line) -> bool:
    """Whether the size is right by the workbook's own volume, and that volume is told as wrong."""
    worked = context.worked_of(line)
    wrong = {difference.step for difference in worked.differences}
    book = line.in_si(context.value(line.place))
    return (
        not wrong.isdisjoint(("required volume", "density"))
        and book is not None
        and line.chosen_volume is not None
        and line.chosen_volume >= book * (1 - TOLERANCE * 10)
    )


def _shared(context: Context, line: Line) -> bool:
    """Whether several jobs take turns on the chosen hopper: the same is asked of it repeatedly."""
    assert line.chosen is not None
    if line.chosen[:2] == line.place[:2]:
        return False
    asked = Counter(use.call.name for use in context.uses.get(line.chosen, []))
    return asked["HOPPER_HELD_HOURS"] > 1


def _undersized(context: Context, line: Line, margin: float, shown: str, required: str) -> Finding:
    assert line.chosen is not None
    reason = context.reason_for(line)
    allowed = line.below > 0 and margin >= -line.below - 1e-9
    moist = hydrolyzes(resin_of(context, context.record(line)))
    mild = "warning" if moist else "note"
    danger = ", and the resin loses strength where it is not dry" if moist else ""
    if reason and (reason.typed or allowed):
        why, severity = reason.clause + danger, mild if reason.stated else "warning"
        advice = reason.advice
    elif allowed:
        why, severity = f"the formula allows a shortfall of {percent(line.below)}{danger}", mild
        advice = "make sure the customer knows"
    elif reason:
        why, severity = f"a formula calls it {reason.text!r}, which is no reason", "error"
        advice = "take the next size or state the reason"
    else:
        why, severity = "no reason is stated", "error"
        advice = "take the next size or state the reason"
    sizes = [s for s in line.sizes if s * line.hoppers >= line.required * (1 - TOLERANCE)]
    return finding(
        "undersized",
        severity,
        line.chosen,
        f"The chosen size {shown} is {percent(margin)} too small for the required {required} in "
        f"{context.where(line)}: {_held_hours(context, line)}; {why}; {advice}.",
        formula=_formula(context, line.chosen),
        value=context.value(line.chosen),
        expected=in_system(sizes[0], "volume", line.system) if sizes else None,
        hours=_hours_short(context, line),
    )


def _hours_short(context: Context, line: Line) -> float:
    """Hours that a chosen size is short of what is asked."""
    assert line.chosen_volume is not None
    inputs = context.inputs(line.call)
    if inputs is None or line.job is not None:
        hours = (line.job.number("drying hours") or 0.0) if line.job is not None else 0.0
    else:
        hours = inputs.values["drying_hours"]
    return float(hours) / 3600 * max(0.0, 1 - line.chosen_volume / line.required)


def _oversized(
    context: Context,
    line: Line,
    margin: float,
    shown: str,
    required: str,
    steps: int,
    enough: float | None,
) -> Finding:
    assert line.chosen is not None
    if steps >= 1 and enough is not None:
        above = f"{steps} catalog size{'s' * (steps > 1)} above"
        more = f"{above} {with_unit(enough, 'volume', line.system)}, which is enough"
        advice = "take the smaller one or state the reason"
    elif enough is not None and enough <= min(line.sizes):
        more = "the smallest of the catalog"
        advice = "nothing smaller is in the catalog"
    else:
        more = "the next catalog size, but far above" if enough is not None else "far above"
        advice = "compare the size below before you quote"
    reason = context.reason_for(line)
    reason = reason if reason.typed else Reason("", False)  # a rule is none for a size too large
    stated = f"; {reason.clause}" if reason else ""
    advice = reason.advice if reason else advice
    return finding(
        "oversized",
        "note" if reason.stated or steps < 1 else "warning",
        line.chosen,
        f"The chosen size {shown} is {percent(margin)} larger than the required {required} "
        f"in {context.where(line)} ({more}): the resin stays {percent(margin)} longer than asked "
        f"for and the customer pays for it{stated}; {advice}.",
        formula=_formula(context, line.chosen),
        value=context.value(line.chosen),
        expected=in_system(enough, "volume", line.system) if enough is not None else None,
    )


# --- prices ---------------------------------------------------------------------------------

_PRICE = re.compile(r"\b(unit |list |catalog )?price\b", re.IGNORECASE)
_NOT_UNIT_PRICE = re.compile(r"total|net|discount|extended|line|amount|sum|%|basis|list of", re.I)
#: Another item than the hopper, with a price of its own in the line.
_OTHER_ITEM = re.compile(rf"^(?!.*\bhopper).*\b{OTHER_ITEM}\b", re.IGNORECASE)
_MODEL = re.compile(r"\b(model|type|item|part|article|code|number|no\.?)\b", re.IGNORECASE)


@dataclass(frozen=True)
class PriceList:
    """Models of a catalog with their prices."""

    prices: dict[str, Place]
    column: Area
    area: Area
    models: int


def price_lists(context: Context) -> list[PriceList]:
    """Every catalog with models and prices beside its sizes."""
    found = []
    for catalog in context.catalogs.all:
        if not catalog.models or not catalog.prices:
            continue
        prices: dict[str, Place] = {}
        for place in catalog.rows:
            model = context.value(catalog.beside(place, catalog.models))
            if isinstance(model, str) and model.strip():
                price = catalog.beside(place, catalog.prices)
                prices.setdefault(model.strip().lower(), price)
        column = catalog.area(catalog.prices)
        models = 0 if catalog.across else catalog.models
        found.append(PriceList(prices, column, catalog.sizes, models))
    return found


def _follows(context: Context, place: Place, column: Area) -> bool:
    """Whether a formula takes its price from the catalog."""
    cell = context.book.cell(place)
    if cell is None or cell.formula is None:
        return False
    seen, waiting = {place}, [cell]
    while waiting and len(seen) < 200:
        for area in context.values.areas_of(waiting.pop()):
            if area[0] == column[0] and area[2] <= column[2] <= area[4] and area[3] >= column[1]:
                return True
            for found in context.values.cells_in(area):
                if found.formula is not None and found.place not in seen:
                    seen.add(found.place)
                    waiting.append(found)
    return False


def _prices(context: Context) -> Iterator[Finding]:
    lists = price_lists(context)
    if not lists:
        return
    compared = {
        worked.record.cells.get("list price")
        for worked in context.worked
        if worked.listed_price is not None
    }
    for sheet in context.book.sheets.values():
        for column, cells in sheet.columns.items():
            for cell in cells:
                value = context.value(cell.place)
                if not isinstance(value, float) or cell.place in compared:
                    continue
                heading = context.labels.heading(cell.place)
                if not _PRICE.search(heading) or _NOT_UNIT_PRICE.search(heading):
                    continue
                if _OTHER_ITEM.search(heading):
                    continue
                for listed in lists:
                    yield from _price(context, listed, cell.place, value)
            del column


def _price(context: Context, listed: PriceList, place: Place, value: float) -> Iterator[Finding]:
    sheet, row, _ = place
    area = listed.area
    beside = sheet == area[0] and area[1] <= row <= area[3]  # jobs and catalog side by side
    if beside and place[2] == listed.column[2]:
        return
    for cell in context.book.sheets[sheet].rows.get(row, []):
        if beside and cell.place[2] == listed.models:
            continue
        model = context.value(cell.place)
        at = listed.prices.get(model.strip().lower()) if isinstance(model, str) else None
        if at is None:
            continue
        price = context.value(at)
        if not isinstance(price, float) or abs(price - value) <= 1e-9 * abs(price):
            return
        if _follows(context, place, listed.column):
            return
        change = f" ({percent(value / price - 1)})" if price else ""
        side = "below" if value < price else "above"
        yield finding(
            "price differs",
            "error",
            place,
            f"The price {rounded(value, 9)} of {model!r} is not the catalog's {rounded(price, 9)} "
            f"in {cell_name(at)}; each hopper is {rounded(abs(value - price), 9)}{change} {side} "
            "list, and so are the totals; take the catalog price and show a discount as a "
            "discount.",
            formula=_formula(context, place),
            value=value,
            expected=price,
        )
        return


def _entries(context: Context) -> Iterator[Finding]:
    """Prices below zero, and one size that stands twice with two prices."""
    for catalog in context.catalogs.all:
        if not catalog.prices:
            continue
        known: dict[tuple[object, ...], tuple[Place, float]] = {}
        for place in catalog.rows:
            at = catalog.beside(place, catalog.prices)
            size, price = context.value(place), context.value(at)
            if not isinstance(price, float):
                continue
            if price < 0:
                yield finding(
                    "catalog entry",
                    "error",
                    at,
                    f"The price {rounded(price, 9)} is below zero: a line with this size lowers "
                    "the total; type the right price.",
                    formula=_formula(context, at),
                    value=price,
                )
            if not isinstance(size, float):
                continue
            # of two kinds, such as two materials, a size may stand twice
            texts = (context.value(catalog.beside(place, c)) for c in catalog.columns)
            models = context.value(catalog.beside(place, catalog.models or catalog.prices))
            kind = tuple(text for text in texts if isinstance(text, str) and text != models)
            first, other = known.setdefault((size, *kind), (at, price))
            if other != price:
                yield finding(
                    "catalog entry",
                    "warning",
                    at,
                    f"The size {rounded(size, 6)} stands twice, at {rounded(other, 9)} in "
                    f"{cell_name(first)} and at {rounded(price, 9)} here; a formula takes the "
                    "first one it finds; correct the size or take one row out.",
                    value=price,
                    expected=other,
                )


def check(context: Context) -> Iterator[Finding]:
    """``undersized``, ``oversized``, ``not in catalog``, ``price differs``, ``catalog entry``."""
    yield from _sizes(context)
    yield from _prices(context)
    yield from _entries(context)
