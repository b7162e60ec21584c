"""Sizes of a catalog that break its order, and models that carry the size of another row."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import pairwise

from ...cells.wording import rounded
from ...workbook.formulas import Place
from ..catalogs import Catalog
from ..context import Context, cell_name
from ..findings import Finding, finding

__all__ = ["check", "odd_size"]

_LEAST = 5  # sizes that make an order, or models that make a habit
_MOST = 0.7  # of the models carry the size of their row, or of the next one
#: Factor by which a size is off -> what was typed.
_SLIPS = {
    10.0: "ten times as much", 0.1: "a tenth of it",
    28.316846592: "liters among ft3", 1 / 28.316846592: "ft3 among liters",
    7.480519: "gallons among ft3", 3.785412: "liters among gallons", 1000.0: "liters among m3",
    0.001: "m3 among liters",
}  # fmt: skip


def odd_size(context: Context, rows: Iterable[Place]) -> tuple[Place, float, float] | None:
    """(cell, size before, size after) of the one size without which a list is in order."""
    cells = [(place, context.value(place)) for place in rows]
    listed = [(place, value) for place, value in cells if isinstance(value, float)]
    for sizes in (listed, listed[::-1]):
        if len(sizes) < _LEAST or _ascending([value for _, value in sizes]):
            return None
        alone = [
            at
            for at in range(len(sizes))
            if _ascending([value for n, (_, value) in enumerate(sizes) if n != at])
        ]
        if len(alone) == 1:
            (at,) = alone
            before = sizes[at - 1][1] if at else 0.0
            after = sizes[at + 1][1] if at + 1 < len(sizes) else float("inf")
            return sizes[at][0], before, after
    return None


def _ascending(values: list[float]) -> bool:
    return all(one < other for one, other in pairwise(values))


def _out_of_order(context: Context) -> Iterator[Finding]:
    for listed in context.catalogs.all:
        found = odd_size(context, listed.rows)
        if found is None:
            continue
        place, before, after = found
        value = context.value(place)
        slip = next(
            ((value / factor, what) for factor, what in _SLIPS.items()
             if before < value / factor < after), None,
        )  # fmt: skip
        between = f"behind {before:g}" if after == float("inf") else f"before {after:g}"
        if before and after != float("inf"):
            between = f"between {before:g} and {after:g}"
        guess = f", where {rounded(slip[0], 4)} would fit ({slip[1]})" if slip else ""
        yield finding(
            "catalog entry",
            "error" if slip else "warning",
            place,
            f"The catalog size {value:g} in {cell_name(place)} stands {between}{guess}; lines "
            "that need this size get another one, at its price; compare it with the price list.",
            value=value,
            expected=slip[0] if slip else None,
        )


def _numbers(context: Context, listed: Catalog) -> list[tuple[Place, float, float]]:
    """(cell of the model, the last number in its name, size of its row)."""
    found = []
    for place in listed.rows:
        size, at = context.value(place), listed.beside(place, listed.models)
        named = re.findall(r"\d+(?:\.\d+)?", str(context.value(at) or ""))
        if named and isinstance(size, float):
            found.append((at, float(named[-1]), size))
    return found


def _carries(number: float, size: float) -> bool:
    """Whether a number in a name is a size, perhaps without its decimals."""
    return abs(number - size) < 1e-9 or number in (float(int(size)), float(round(size)))


def _models(context: Context) -> Iterator[Finding]:
    for listed in context.catalogs.all:
        rows = _numbers(context, listed) if listed.models else []
        if len(rows) < _LEAST:
            continue
        own = [at for at, (_, number, size) in enumerate(rows) if _carries(number, size)]
        if len(own) >= _MOST * len(rows):
            yield from _single(rows, own)
            continue
        for step in (1, -1):
            beside = [
                at
                for at in range(len(rows))
                if 0 <= at + step < len(rows) and _carries(rows[at][1], rows[at + step][2])
            ]
            if len(beside) >= _MOST * (len(rows) - 1):
                place, _, size = rows[beside[0]]
                yield finding(
                    "catalog entry",
                    "error",
                    place,
                    f"The models of the catalog are one row off: {context.value(place)!r} stands "
                    f"beside {size:g}, and {len(beside)} of {len(rows)} carry the size of the "
                    f"{'next' if step > 0 else 'last'} row; the customer would get another "
                    "hopper; compare the list with the price list.",
                    value=context.value(place),
                    cells=[rows[at][0] for at in beside],
                )


def _single(rows: list[tuple[Place, float, float]], own: list[int]) -> Iterator[Finding]:
    sizes = [size for _, _, size in rows]
    for at, (place, number, size) in enumerate(rows):
        if at not in own and any(_carries(number, other) for other in sizes):
            yield finding(
                "catalog entry",
                "warning",
                place,
                f"The model in {cell_name(place)} carries {number:g}, the size of another row of "
                f"the catalog, and stands beside {size:g}; the other models carry their own size; "
                "compare it with the price list.",
            )


def check(context: Context) -> Iterator[Finding]:
    """``catalog entry``."""
    yield from _out_of_order(context)
    yield from _models(context)
