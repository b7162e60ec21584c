"""Hoppers that divide the rate of a line, and hoppers that several lines share.

A size is looked up for a volume. Where that is a line's required volume over 2, 3 ..., so many
hoppers divide its rate. Where it is the largest required volume of several lines, or their sum, the
lines share a hopper: in turn, or at once. Whether the lookup really follows from another line is
tried: that line's volume is changed, and the volume that is looked up must move.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from ..sizing.catalog import TOLERANCE
from ..workbook.evaluator import FormulaError, SizingCall, Unknown, WhatIf
from ..workbook.formulas import Place
from .calls import Calls
from .lines import Line

__all__ = ["SharedHoppers"]

_LOOKUPS = ("HOPPER_NEXT_SIZE", "HOPPER_SIZE_BELOW")
_MOST_HOPPERS = 20
_MOST_LINES = 100  # that look up the same volume: each of them is tried


class SharedHoppers:
    """Which lines share a hopper.

    Args:
        context: the calls.
        lines: those with a required volume of their own; ``hoppers``, ``part``, ``with_others`` and
            ``looked_up`` of each are set.
        judged_by: the calls that judge the size of a line.
        counted: whether a cell says by how many hoppers the volume of a lookup is divided.
    """

    def __init__(
        self,
        context: Calls,
        lines: Sequence[Line],
        judged_by: Callable[[Line], Iterable[SizingCall]],
        counted: Callable[[SizingCall, int], bool],
    ) -> None:
        self.context = context
        self._counted = counted
        #: id of a line -> its lookup, and the volume that it is for
        self._asked: dict[int, tuple[SizingCall, float]] = {}
        for line in lines:
            found = [
                (call, inputs.values["required_volume"])
                for call in judged_by(line)
                if call.name in _LOOKUPS and (inputs := context.inputs(call)) is not None
            ]
            if found and all(_same(found[0][1], volume) for _, volume in found):
                self._asked[id(line)] = found[0]
        self._lines = [line for line in lines if id(line) in self._asked]
        self._largest = max((line.required for line in self._lines), default=0.0)
        self._affected: dict[Place, set[Place]] = {}
        for line in self._lines:
            self._note(line)

    def _note(self, line: Line) -> None:
        call, volume = self._asked[id(line)]
        if _same(volume * line.hoppers, line.required):  # whoever shares it needs no more
            line.looked_up = volume
            return
        others = self.others(line)
        needs = [line.required, *(other.required for other in others)]
        for hoppers in range(1, _MOST_HOPPERS + 1) if others else ():
            in_turn, at_once = (_same(volume * hoppers, of(needs)) for of in (max, sum))
            if (in_turn or at_once) and (hoppers == 1 or self._counted(call, hoppers)):
                line.hoppers, line.looked_up, line.with_others = hoppers, volume, others
                line.part = 1.0 if in_turn else line.required / sum(needs)
                return

    def others(self, line: Line) -> list[Line]:
        """The lines of the same hopper: its lookup is the same, and follows from theirs."""
        if line.with_others or id(line) not in self._asked:
            return line.with_others
        call, volume = self._asked[id(line)]
        alike = [
            other
            for other in self._lines
            if other is not line
            and (other.place[0], other.system) == (line.place[0], line.system)
            and _same(self._asked[id(other)][1], volume)
        ]
        if len(alike) > _MOST_LINES:
            return []
        return [other for other in alike if self._moves(call, other)]

    def _moves(self, call: SizingCall, other: Line) -> bool:
        """Whether what is looked up follows from the required volume of another line."""
        node = self.context.argument_node(call, "required_volume")
        value = self.context.value(other.place)
        if node is None or not isinstance(value, float):
            return False
        values = self.context.values
        if other.place not in self._affected:
            self._affected[other.place] = self.context.precedents.followers((other.place,))
        affected = self._affected[other.place]
        if not any(place in affected for place in self._taken(call)):
            return False
        instead = {other.place: value * 10 * self._largest / other.required}
        try:
            now = values.evaluate(node, call.place)
            moved = WhatIf(values, instead, affected - {other.place}).evaluate(node, call.place)
        except (Unknown, FormulaError, RecursionError):
            return False
        return isinstance(moved, float) and isinstance(now, float) and not _same(moved, now)

    def _taken(self, call: SizingCall) -> Iterator[Place]:
        """The cells that the formula of a call takes."""
        for area in self.context.values.areas_of(call.cell):
            for cell in self.context.values.cells_in(area):
                yield cell.place


def _same(a: float, b: float) -> bool:
    return abs(a - b) <= TOLERANCE * 10 * max(abs(a), abs(b))
