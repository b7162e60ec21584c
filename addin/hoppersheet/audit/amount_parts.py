"""An amount of a line taken apart: what a price is multiplied by on its way, and what is added.

Where a net price is more than price x quantity less a discount (a dryer beside the hopper, an
exchange rate, a margin), each typed figure that it follows from is tried out, as for a total.
"""

from __future__ import annotations

import re
from functools import cached_property
from typing import Any

from ..workbook.book import Cell
from ..workbook.formulas import Place
from .calls import cell_name
from .currency_words import CURRENCY_CODES
from .followed_cell import FollowedCell, Trial
from .records import LineRecords
from .roles import role_of
from .total_parts import Factor, TotalParts, Tried, parts_of

__all__ = ["FollowedAmount", "name_of", "why_not_explained"]

_STEP = 1000.0
_RAISES = re.compile(r"\b(mark-?up|margin|surcharge|increase|tax|vat|duty)\b", re.IGNORECASE)
_RATE = re.compile(
    rf"\b({CURRENCY_CODES})\b\W*(?:per|/|for 1|for one)\W*"
    rf"\b({CURRENCY_CODES})\b",
    re.IGNORECASE,
)


def name_of(context: LineRecords, place: Place, line: Place) -> str:
    """What a figure is called; in the row of a line only its heading says it."""
    if place[0] == line[0] and place[1] == line[1] and not context.labels.sideways(place[0]):
        return context.labels.heading(place)
    return context.labels.label(place)


class FollowedAmount(FollowedCell):
    """An amount that follows from a price.

    Args:
        place: the amount.
        source: the price that it follows from.
        count: how many there are.
    """

    context: LineRecords

    def __init__(self, context: LineRecords, place: Place, source: Place, count: float) -> None:
        super().__init__(context, place)
        self.source, self.count = source, count

    @cached_property
    def own(self) -> set[Place]:
        """The price, and what it follows from."""
        cell = self.context.book.cell(self.source)
        follows = self.context.behind(cell) if cell is not None else None
        behind = {t.place for t in follows[0]} | follows[1] if follows is not None else set()
        return {self.source} | behind

    def parts(self, figures: list[Cell]) -> TotalParts:
        """What the price is multiplied by on its way, and what is added to it."""
        price = self.context.value(self.source)
        if not isinstance(price, float) or not self.count:
            return TotalParts(known=False)

        def weight(trial: Trial, value: float) -> float | None:
            more = trial.changed({self.source: price + _STEP}).result
            return None if more is None else round((more - value) / (_STEP * self.count), 9)

        def attempt(instead: dict[Place, Any]) -> Tried | None:
            trial = self.as_it_is.changed(instead)
            value = trial.result
            return None if value is None else Tried(value, lambda: weight(trial, value))

        labels = self.context.labels
        discounts = {f.place for f in figures if role_of(labels.label(f.place)) == "discount"}
        found = attempt({})
        if found is None or not found.weight:
            return TotalParts(known=False)
        return parts_of(figures, price * self.count, 1, attempt, discounts)


def why_not_explained(
    context: LineRecords, parts: TotalParts, line: Place, currencies: tuple[str, str] = ("", "")
) -> str:
    """What an amount is multiplied by, or holds, that no figure with a name explains; ``""``.

    Args:
        line: a cell of the line.
        currencies: of the price and of the amount, as far as they are stated.
    """
    for factor in parts.factors:
        name, at = name_of(context, factor.place, line), cell_name(factor.place)
        if not name:
            return (
                f"it is multiplied by {factor.ratio:.6g} for {factor.value:g} in {at}, a figure "
                "without a name"
            )
        if not factor.once or (_RAISES.search(name) and factor.ratio < 1):
            return (
                f"it is multiplied by {factor.ratio:.6g} for {name!r} {factor.value:g} in {at}, "
                "which is not what that says"
            )
        if _is_upside_down(name, factor, currencies):
            return (
                f"it is multiplied by {factor.ratio:.6g}: {name!r} {factor.value:g} in {at} is "
                "taken the wrong way round"
            )
    if parts.unnamed != 1:
        return f"it is {parts.unnamed:.6g} times that, by a number that is typed inside a formula"
    if parts.constant:
        return f"it holds {parts.constant:.9g} that is typed inside a formula"
    return ""


def _is_upside_down(name: str, factor: Factor, currencies: tuple[str, str]) -> bool:
    """Whether a rate such as "USD per EUR" turns the price into the other currency."""
    found = _RATE.search(name)
    if found is None or not all(currencies) or currencies[0] == currencies[1]:
        return False
    stated = (found[2].upper(), found[1].upper())
    multiplied = abs(factor.ratio - factor.value) <= abs(factor.ratio - 1 / factor.value)
    if stated == currencies:
        return not multiplied and factor.value != 1
    return stated == (currencies[1], currencies[0]) and multiplied and factor.value != 1
