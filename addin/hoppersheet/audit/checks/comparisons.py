"""Inputs that are unlike what else the workbook or the resin table says.

One discount far above the others, a catalog price out of
step with the sizes beside it. The limits are judgments (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from statistics import median
from typing import Any

from ...cells.wording import rounded
from ...workbook.formulas import Place
from ..calls import places_of
from ..context import Context, cell_name, percent
from ..findings import Finding, finding
from .catalog import PriceList, price_lists
from .catalog_order import odd_size

_HIGH = 0.4  # of a discount where there are too few to compare
_FAR_ABOVE = 0.2  # of a discount above the next highest one
_OUT_OF_STEP = 0.1  # of a price against the two sizes beside it
_TIMES_USUAL = 3  # and so many times as far as other prices are
_FEWEST = 3  # discounts or lines, below which nothing is usual


# --- discounts ------------------------------------------------------------------------------


def _discounts(context: Context) -> Iterator[Finding]:
    """One discount far above the others, or a very high one where there is nothing to compare."""
    given = {
        worked.record.cells["discount"]: worked
        for worked in context.worked
        if "discount" in worked.record.cells
    }
    all_ = sorted(
        [worked.discount for worked in context.worked if worked.price is not None], reverse=True
    )
    for place, worked in given.items():
        cell = context.book.cell(place)
        others = list(all_)
        if worked.discount not in others or cell is None or not cell.typed:
            continue
        others.remove(worked.discount)
        highest = max(others, default=0.0)
        few = len(others) < _FEWEST - 1
        if worked.discount - highest >= (_HIGH if few else _FAR_ABOVE) - 1e-9:
            yield _discount(place, worked.discount, highest, cell.value, worked.price or 0.0)


def _discount(place: Place, discount: float, others: float, value: Any, price: float) -> Finding:
    other = f"is at most {percent(others)}" if others else "is nothing"
    return finding(
        "outside typical range",
        "warning",
        place,
        f"The discount of {percent(discount)} is far above the others, where it {other}; the "
        f"customer pays {percent(1 - discount)} of the price for this line; see who allowed it.",
        value=value,
        money=price * discount,
    )


# --- catalog prices -------------------------------------------------------------------------


def _steps(context: Context, listed: PriceList) -> list[tuple[float, float, Place]]:
    """(size, price, cell of the price), ascending; one per size."""
    found: dict[float, tuple[float, float, Place]] = {}
    odd = odd_size(context, places_of(listed.area))  # told as such; its price may be right
    for at, place in zip(places_of(listed.area), places_of(listed.column), strict=True):
        size, price = context.value(at), context.value(place)
        right = odd is None or odd[0] != at
        if isinstance(size, float) and isinstance(price, float) and min(size, price) > 0 and right:
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
                f"{rounded(before[1], 9)} in {cell_name(before[2])} and {rounded(after[1], 9)} in "
                f"{cell_name(after[2])}; every line with this size is quoted at it; compare it "
                "with the price list.",
                value=is_now,
                expected=price,
            )


def check(context: Context) -> Iterator[Finding]:
    """``outside typical range``, by comparison."""
    yield from _discounts(context)
    yield from _out_of_step(context)
