"""Which one line each formula of a workbook follows from."""

from __future__ import annotations

from collections.abc import Iterable

from ..workbook.evaluator import Area
from ..workbook.formulas import Place
from .sized_lines import SizedLines

__all__ = ["SEVERAL", "owners_of"]

#: Stands for the owner of what follows from more than one line.
SEVERAL = -1
_ROUNDS = 5  # until nothing changes; more would be a circle that matters, which is told


def owners_of(context: SizedLines) -> dict[Place, int]:
    """Formula cell -> the one line that it follows from, or that there are several."""
    owners: dict[Place, int | None] = {}
    for at, line in enumerate(context.lines):
        for place in (line.place, line.chosen):
            if place is not None:
                owners[place] = at if owners.get(place, at) == at else SEVERAL
    areas: dict[Area, int | None] = {}

    def joined(found: Iterable[int | None]) -> int | None:
        known = {owner for owner in found if owner is not None}
        return None if not known else known.pop() if len(known) == 1 else SEVERAL

    def of_area(area: Area) -> int | None:
        if area[1:3] == area[3:]:
            return owners.get(area[:3])
        if area not in areas:
            areas[area] = joined(owners.get(c.place) for c in context.values.cells_in(area))
        return areas[area]

    begun: set[Place] = set()
    in_circle = False
    for wanted in context.book.formulas():
        waiting = [wanted]
        while waiting:
            cell = waiting[-1]
            if cell.place in owners:
                waiting.pop()
                continue
            if cell.place not in begun:
                begun.add(cell.place)
                needed_by = context.values.needed_by(cell)
                unknown = [c for c in needed_by if c.place not in owners]
                needed = [c for c in unknown if c.place not in begun]
                in_circle = in_circle or len(needed) < len(unknown)
                if needed:
                    waiting.extend(needed)
                    continue
            waiting.pop()
            owners[cell.place] = joined(of_area(area) for area in context.values.areas_of(cell))
    # Formulas may refer to each other in a circle that their conditions never take: once more,
    # with all of them known.
    anchors = {p for line in context.lines for p in (line.place, line.chosen) if p is not None}
    for _ in range(_ROUNDS if in_circle else 0):
        areas.clear()
        changed = False
        for cell in context.book.formulas():
            if cell.place not in anchors:
                owner = joined(of_area(area) for area in context.values.areas_of(cell))
                changed |= owner != owners[cell.place]
                owners[cell.place] = owner
        if not changed:
            break
    return {place: owner for place, owner in owners.items() if owner is not None}
