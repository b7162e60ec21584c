"""One cell taken for the total: which weight each line has in it, and what else it is made of.

Followed by trying it out: each line's amount is changed a little, and the total says with which
weight it took it. So it makes no difference how the total adds up: SUM, SUMPRODUCT, SUMIFS, by
phases, or through another sheet.
"""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from typing import TYPE_CHECKING, Any

from ..workbook.formulas import Literal, Place, walk
from .followed_cell import FollowedCell, Trial
from .line_cells import Worked
from .records import LineRecords
from .roles import role_of
from .total_parts import TotalParts, Tried, name_typed_shares, parts_of

if TYPE_CHECKING:
    from ..workbook.book import Cell

__all__ = ["FollowedTotal", "usual_weight"]

_STEP = 100.0  # a change of an amount; rounding to cents does not hide it
_EACH = 400  # so many lines are tried one by one


class FollowedTotal(FollowedCell):
    """A cell that takes the lines' money.

    Attributes:
        base: what it comes to where nothing is rounded on the way; 0.0 where that is no number.
        amounts: per line the cell to change, and how much a change there is worth; None where
            nothing of the line reaches the total.
    """

    def __init__(self, context: LineRecords, worked: list[Worked], place: Place) -> None:
        super().__init__(context, place)
        self.worked = worked
        self.base = 0.0
        self.amounts: list[tuple[Place, float] | None] = [None] * len(worked)
        if self.calculated:
            self._find_amounts()
            value = self.as_it_is.result if self.rounding else context.value(place)
            self.base = value if isinstance(value, float) else 0.0

    def _find_amounts(self) -> None:
        """The net prices of the lines; their list prices where the total multiplies itself."""
        behind = self.typed | self.calculated
        nets = [one.net_place for one in self.worked if one.net_place is not None]
        by_net = bool(nets) and 2 * sum(place in behind for place in nets) >= len(nets)
        for at, one in enumerate(self.worked):
            place = one.net_place
            if by_net:
                self.amounts[at] = (place, 1.0) if place is not None else None
            else:
                price = one.record.cells.get("list price")
                weight = one.quantity * (1 - one.discount)
                self.amounts[at] = (price, weight) if price is not None and weight else None

    # -- weights

    def weight(self, lines: list[int], trial: Trial | None = None) -> float | None:
        """With which weight the total takes a change in all of these lines.

        Args:
            trial: other values that are tried besides.
        """
        base = self.base if trial is None else trial.result
        instead: dict[Place, Any] = {}
        change = 0.0
        for order, at in enumerate(lines):
            amount = self.amounts[at]
            assert amount is not None
            before = self.context.value(amount[0])
            # another step for each, so that slips do not cancel
            step = _STEP * (1 + 0.618 * ((order * 0.754877) % 1)) if len(lines) > 1 else _STEP
            instead[amount[0]] = (before if isinstance(before, float) else 0.0) + step
            change += step * amount[1]
        value = (trial or self.as_it_is).changed(instead).result
        if value is None or base is None or not change:
            return None
        return round((value - base) / change, 6)

    # -- what it is made of besides the lines

    def heart(self) -> Place:
        """Where the total is worked out, if it is only shown where it stands."""
        value, best = self.context.value(self.place), self.place
        fewest = len(self.calculated)
        for place in self.calculated:
            cell = self.context.book.cell(place)
            if self.context.value(place) != value or cell is None or place == self.place:
                continue
            follows = self.context.precedents.inputs_of(cell, fewest)
            if follows is not None and len(follows[1]) < fewest:
                best, fewest = place, len(follows[1])
        return best

    def parts(self) -> TotalParts:
        """The total taken apart; unknown where the weight of a line is."""
        weights = self.weights
        usual = usual_weight(weights)
        known = [at for at, weight in enumerate(weights) if weight == usual and self.amounts[at]]
        if not known or any(
            amount is not None and weights[at] is None for at, amount in enumerate(self.amounts)
        ):
            return TotalParts(known=False)
        own = self.own
        figures = [
            cell
            for place in sorted(self.typed - own)
            if (cell := self.context.book.cell(place)) is not None and isinstance(cell.value, float)
        ]
        lines = 0.0
        for at, amount in enumerate(self.amounts):
            value = self.context.value(amount[0]) if amount is not None else None
            if amount is not None and isinstance(value, float):
                lines += (weights[at] or 0.0) / usual * value * amount[1]

        def attempt(instead: dict[Place, Any]) -> Tried | None:
            if not instead:
                return Tried(self.base, lambda: self.weight(known[:1]))
            trial = self.as_it_is.changed(instead)
            if trial.result is None:
                return None
            return Tried(trial.result, lambda: self.weight(known[:1], trial))

        labels = self.context.labels
        discounts = {
            cell.place for cell in figures if role_of(labels.left_label(cell.place)) == "discount"
        }
        parts = parts_of(figures, lines, len(self.worked), attempt, discounts)
        if parts.known and parts.unnamed != 1:
            name_typed_shares(
                parts,
                [(place, self._stated(place)) for place in sorted(self.calculated - own)],
            )
        if len({weight for weight in weights if weight}) > 1:
            parts.constant = 0.0  # told as what the total takes of single lines
        return parts

    def _stated(self, place: Place) -> str:
        """What a formula is called; a tax without a percentage with the one typed in it."""
        label, cell = self.context.labels.left_label(place), self.context.book.cell(place)
        if role_of(label) != "tax" or "%" in label or cell is None or cell.tree is None:
            return label
        typed = (node.value for node in walk(cell.tree) if isinstance(node, Literal))
        shares = [share for share in typed if isinstance(share, float) and 0 < share < 1]
        return f"{label} {100 * shares[0]:g} %" if len(shares) == 1 else label

    @cached_property
    def own(self) -> set[Place]:
        """The cells of lines, and all that their amounts follow from."""
        amounts = {amount[0] for amount in self.amounts if amount is not None}
        own = amounts | {place for one in self.worked for place in one.record.cells.values()}
        for place in amounts:
            cell = self.context.book.cell(place)
            follows = self.context.behind(cell) if cell is not None else None
            if follows is not None:
                own |= {typed.place for typed in follows[0]} | follows[1]
        return own

    @cached_property
    def weights(self) -> list[float | None]:
        """Per line its weight in the total; None where it is not known."""
        found: list[float | None] = [None] * len(self.worked)
        known = [at for at, amount in enumerate(self.amounts) if amount is not None]
        waiting = [known] if len(known) > _EACH else [[at] for at in known]
        usual = self.weight(known[:1]) if known else None
        while waiting:
            lines = waiting.pop()
            weight = self.weight(lines)
            if len(lines) == 1 or weight == usual:
                for at in lines:
                    found[at] = weight
            else:
                middle = len(lines) // 2
                waiting += [lines[:middle], lines[middle:]]
        return found

    def adding(self) -> list[Cell]:
        """Formulas on the way to the total that take the amounts of several lines."""
        amounts = {amount[0] for amount in self.amounts if amount is not None}
        found = []
        for place in sorted(self.calculated):
            cell = self.context.book.cell(place)
            if cell is None or cell.formula is None or place in amounts:
                continue
            taken = {
                c.place for area in self.context.values.areas_of(cell)
                for c in self.context.values.cells_in(area)
            }  # fmt: skip
            if len(taken & amounts) > 1 or (len(amounts) == 1 and taken & amounts):
                found.append(cell)
        return found


def usual_weight(weights: list[float | None]) -> float:
    """The weight of most lines."""
    known = Counter(weight for weight in weights if weight)
    return known.most_common(1)[0][0] if known else 1.0
