"""Amounts of a quote beside its lines: freight, options, services; how often the total takes each.

An amount may be taxed and not added, be added twice with the sum of which it is a part, be typed
where its parts stand above it, or stand there and count nowhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from ..workbook.book import Cell
from ..workbook.formulas import Place
from .calls import in_area
from .currency_words import CURRENCY_CODES
from .line_cells import Worked
from .records import LineRecords
from .roles import OTHER_ITEM, role_of
from .total_parts import OtherAmount, TotalParts

__all__ = ["AmountsBeside", "Miscounted", "amounts_beside"]

_SAME = 1e-3  # relative
_LEAST = 10.0  # smaller figures are quantities
_OFTEN = (2, 3)  # times that an amount is counted by a slip
_IN_PART = 0.5
#: What a label calls an amount of money.
_MONEY = re.compile(
    rf"[$\u20ac\u00a3]|\b({CURRENCY_CODES}|price|cost|fees?|extras?|surcharge|"
    rf"packing|crates?|{OTHER_ITEM})\b",
    re.IGNORECASE,
)
_NO_AMOUNT = re.compile(
    r"\b(rate|percent|share|days?|weeks?|months?|hours?|valid|validity|number|no|date|lead|weight|"
    r"included|option|optional|alternativ\w*|deposit|paid|payment|budget|target|last|previous|list)\b|%",
    re.IGNORECASE,
)
_GAP = 1  # rows without a number between the parts of a sum


@dataclass(frozen=True)
class Miscounted:
    """An amount that the total takes in part, more than once, or typed instead of its parts.

    Attributes:
        times: how often the total takes it.
        meant: what it should add.
        sum_of: the amounts that it should add up, none where it is one itself.
    """

    amount: OtherAmount
    times: float
    meant: float
    sum_of: tuple[Cell, ...] = ()


@dataclass(frozen=True)
class AmountsBeside:
    """What is wrong with the amounts beside the lines.

    Attributes:
        miscounted: those that the total takes, and not once.
        nowhere: amounts above the total that no formula takes.
    """

    miscounted: tuple[Miscounted, ...] = ()
    nowhere: tuple[Cell, ...] = ()


def _is_amount(context: LineRecords, place: Place) -> bool:
    """Whether a label calls a figure an amount that is charged."""
    label = context.labels.left_label(place) or context.labels.label(place)
    if _NO_AMOUNT.search(label):
        return False
    return role_of(label) == "freight" or bool(_MONEY.search(label))


def _weights(parts: TotalParts) -> set[float]:
    """How often an amount may count: once, perhaps taxed, discounted or in another currency."""
    ratios = [factor.ratio for factor in parts.factors][:4]
    found = set()
    for count in range(len(ratios) + 1):
        for some in combinations(ratios, count):
            product = 1.0
            for ratio in some:
                product *= ratio
            found.add(product)
    return found


def _not_once(context: LineRecords, parts: TotalParts) -> Iterator[Miscounted]:
    """Amounts that the total takes in part, or more than once."""
    weights = _weights(parts)
    for amount in parts.amounts:
        if amount.product or abs(amount.value) < _LEAST or not _is_amount(context, amount.place):
            continue
        ratio = amount.counts / amount.value
        if any(abs(ratio - weight) <= _SAME * weight for weight in weights):
            continue
        often = next((n for n in _OFTEN for w in weights if abs(ratio - n * w) <= _SAME * n * w), 0)
        if often:
            yield Miscounted(amount, often, amount.counts / often)
        elif 0 <= ratio < _IN_PART:  # its tax is counted, or its share of something
            yield Miscounted(amount, ratio, amount.value + amount.counts)


def _nowhere(context: LineRecords, worked: list[Worked], total: Place) -> list[Cell]:
    """Amounts under the lines' prices, above the total, that no formula takes."""
    sheet, last, column = total
    nets = [one.net_place for one in worked if one.net_place is not None]
    own = {place for one in worked for place in one.record.cells.values()}
    below = max((p[1] for p in nets if (p[0], p[2]) == (sheet, column)), default=last)
    found = [
        cell
        for cell in context.book.sheets[sheet].columns.get(column, ())
        if below < cell.place[1] < last and not cell.percent and cell.place not in own
        if cell.typed or not (context.shown_line(cell) or cell.place in context.of_several)
        if isinstance(value := context.value(cell.place), float) and abs(value) >= _LEAST
        if _is_amount(context, cell.place)
    ]
    if not found:
        return []
    taken = {
        cell.place
        for formula in context.book.formulas()
        for area in context.values.areas_of(formula)
        if area[0] == sheet and area[2] <= column <= area[4]
        for cell in found
        if in_area(cell.place, area)
    }
    return [cell for cell in found if cell.place not in taken]


def _above(place: Place, left: dict[Place, Cell]) -> list[Cell]:
    """The amounts right above a cell that count nowhere."""
    sheet, row, column = place
    found: list[Cell] = []
    gap = 0
    while row > 1 and gap <= _GAP:
        row -= 1
        cell = left.get((sheet, row, column))
        if cell is None or not cell.typed:
            gap += 1
        else:
            found.append(cell)
            gap = 0
    return found


def amounts_beside(
    context: LineRecords, worked: list[Worked], total: Place, parts: TotalParts
) -> AmountsBeside:
    """The amounts beside the lines that the total does not take once."""
    left = {cell.place: cell for cell in _nowhere(context, worked, total)}
    found: list[Miscounted] = []
    if parts.known and parts.unnamed == 1:
        found += _not_once(context, parts)
    for amount in parts.amounts:
        above = _above(amount.place, left)
        if len(above) > 1:
            found.append(Miscounted(amount, 1, sum(cell.value for cell in above), tuple(above)))
            for cell in above:
                del left[cell.place]
    return AmountsBeside(tuple(found), tuple(left.values()))
