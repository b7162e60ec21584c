"""What a grand total is made of besides its lines: amounts, factors, and numbers nobody named.

Found by trying it out, so that it makes no difference how the total is written. Each typed figure
that the total follows from is changed: one that moves the total but not the weight of the lines is
an *amount* (freight); one that moves their weight is a *factor* (a discount, a tax, an exchange
rate). What is left when all of them are taken away was typed inside a formula.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Set
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from ..workbook.formulas import Place

if TYPE_CHECKING:
    from ..workbook.book import Cell

__all__ = ["Factor", "OtherAmount", "TotalParts", "Tried", "name_typed_shares", "parts_of"]

#: The total with other values in some cells; None where there is none.
Try = Callable[[dict[Place, Any]], "Tried | None"]

_SAME = 1e-5  # relative; totals are rounded to cents
_MOST = 2000  # typed figures that are tried
_MOST_MARGIN = 0.6
_PERCENTAGE = 2.0  # larger figures are amounts or rates
_STATED = re.compile(r"(\d+(?:[.,]\d+)?) ?%")
_CENT = 0.01
_ROUNDED = 2 * _CENT  # per line


class Tried:
    """A total with other values in some cells.

    Args:
        value: what it comes to.
        weigh: finds the weight that the lines then have in it; asked where it is needed.
    """

    def __init__(self, value: float, weigh: Callable[[], float | None]) -> None:
        self.value, self._weigh = value, weigh

    @cached_property
    def weight(self) -> float | None:
        """The weight of the lines; None where it is not known."""
        return self._weigh()


@dataclass(frozen=True)
class OtherAmount:
    """A typed amount in the total that is of no line.

    Attributes:
        counts: what it adds.
        product: another typed figure is multiplied with it, such as its quantity.
    """

    place: Place
    value: float
    counts: float
    product: bool = False


@dataclass(frozen=True)
class Factor:
    """A typed figure by which the total multiplies the lines.

    Attributes:
        ratio: by how much it does.
        once: whether that is what the figure says: ``1 - value`` for a discount, ``1 + value`` for
            a tax, the figure itself or its inverse for a rate.
        typed: it is typed inside the formula beside whose label it stands.
    """

    place: Place
    value: float
    ratio: float
    once: bool
    discount: bool = False
    typed: bool = False

    @property
    def meant(self) -> float:
        """By how much it should, as far as that is known."""
        if self.once:
            return self.ratio
        share = _as_share(self.value)
        return 1 - share if self.discount or self.ratio < 1 else 1 + share


@dataclass
class TotalParts:
    """A total, taken apart.

    Attributes:
        amounts, factors: typed figures that it follows from.
        constant: an amount typed inside a formula.
        unnamed: a factor typed inside a formula; 2.0 where each line counts twice.
        known: whether the total could be taken apart at all.
    """

    amounts: list[OtherAmount] = field(default_factory=list)
    factors: list[Factor] = field(default_factory=list)
    constant: float = 0.0
    unnamed: float = 1.0
    known: bool = True

    @property
    def added(self) -> float:
        """What the named amounts add."""
        return sum(amount.counts for amount in self.amounts)

    @property
    def weight(self) -> float:
        """With which weight the lines should count, by the named factors alone."""
        product = 1.0
        for factor in self.factors:
            product *= factor.meant
        return product


def parts_of(
    figures: list[Cell],
    lines: float,
    count: int,
    attempt: Try,
    discounts: Set[Place] = frozenset(),
) -> TotalParts:
    """Take a total apart.

    Args:
        figures: typed numbers that the total follows from, none of them a line's own.
        lines: what the lines come to before the total does anything with them.
        count: how many lines there are.
        attempt: the total and the lines' weight with other values in some cells.
        discounts: the figures that a label calls a discount: these must not raise the total.
    """
    parts = TotalParts()
    before = attempt({})
    if before is None or before.weight is None or len(figures) > _MOST:
        parts.known = False
        return parts
    total, weight = before.value, before.weight
    for cell in _moving([c for c in figures if c.value], before, attempt):
        value = float(cell.value)
        half, twice = attempt({cell.place: 1.5 * value}), attempt({cell.place: 2 * value})
        if half is None or twice is None or half.weight is None or twice.weight is None:
            continue
        added = twice.value - total
        if not _is_same(half.weight, weight):
            parts.factors.append(
                _factor(cell, half.weight / weight, twice.weight / weight, cell.place in discounts)
            )
        elif abs(added - 2 * (half.value - total)) <= 3 * _CENT and added:
            # in step with it: no limit, and nothing that only chooses
            parts.amounts.append(OtherAmount(cell.place, value, added))
    _without_products(parts, total, attempt)
    for factor in parts.factors:
        weight /= factor.ratio
    if not _is_same(weight, 1.0):
        parts.unnamed = weight
    rest = total - before.weight * lines - parts.added
    if abs(rest) > max(_ROUNDED * count, 1e-6 * abs(total)):
        parts.constant = rest
    return parts


def name_typed_shares(parts: TotalParts, labels: list[tuple[Place, str]]) -> None:
    """Take a factor that is typed inside a formula for the percentage that a label states.

    Args:
        labels: formulas on the way to the total with their labels, such as ``"VAT 20 %"``.
    """
    for place, label in labels:
        stated = _STATED.search(label)
        if stated is None or parts.unnamed == 1:
            continue
        share = float(stated[1].replace(",", ".")) / 100
        for ratio in (1 + share, 1 - share):
            if share and _is_same(parts.unnamed, ratio):
                parts.factors.append(Factor(place, share, ratio, True, typed=True))
                parts.unnamed = 1.0
                break


def _moving(figures: list[Cell], before: Tried, attempt: Try) -> list[Cell]:
    """The figures that move the total, found by halves: most only serve a choice or a text."""
    if not figures:
        return []
    # each by another part, so that two do not cancel
    changed = attempt(
        {
            cell.place: cell.value * (1.4 + 0.2 * at / len(figures))
            for at, cell in enumerate(figures)
        }
    )
    if changed is not None and changed.value == before.value and changed.weight == before.weight:
        return []
    if len(figures) == 1:
        return figures
    half = len(figures) // 2
    return _moving(figures[:half], before, attempt) + _moving(figures[half:], before, attempt)


def _without_products(parts: TotalParts, total: float, attempt: Try) -> None:
    """Count a quantity and its price once: together they add what each seems to add."""
    kept: list[OtherAmount] = []
    for amount in parts.amounts:
        for at, other in enumerate(kept):
            if abs(amount.counts - other.counts) > 5 * _CENT:
                continue
            both = attempt({amount.place: 2 * amount.value, other.place: 2 * other.value})
            if both is not None and abs(both.value - total - 3 * amount.counts) < 5 * _CENT:
                kept[at] = replace(other, product=True)
                break
        else:
            kept.append(amount)
    parts.amounts = kept


def _factor(cell: Cell, half: float, twice: float, discount: bool) -> Factor:
    """What a figure does to the lines.

    Args:
        half, twice: by how much their weight grows when it is half as much again, and doubled.
        discount: it is called one.
    """
    place, value = cell.place, float(cell.value)
    share = _as_share(value)
    forms = [(1 - share, 1 - 1.5 * share), (1 + share, 1 + 1.5 * share), (value, 1.5 * value)]
    if 0 < share < _MOST_MARGIN:  # a margin on the price that is asked
        forms.append((1 / (1 - share), 1 / (1 - 1.5 * share)))
    for now, then in forms[:1] if discount else forms:
        if now and _is_same(half, then / now):
            return Factor(place, value, now, True)
    if not discount and _is_same(half, 1 / 1.5):
        return Factor(place, value, 1 / value, True)
    if abs((twice - 1) - 2 * (half - 1)) <= _SAME:  # in step: what is left at 0 is without it
        without = 1 - 2 * (half - 1)
        return Factor(place, value, 1 / without if without else value, False, discount)
    now, then = forms[0] if half < 1 else forms[1]
    often = math.log(half) / math.log(then / now) if half > 0 and then / now > 0 else 0.0
    return Factor(place, value, now**often, False, discount)


def _as_share(value: float) -> float:
    return value / 100 if abs(value) > _PERCENTAGE else value


def _is_same(one: float, other: float) -> bool:
    return abs(one - other) <= _SAME * max(abs(one), abs(other), 1.0)
