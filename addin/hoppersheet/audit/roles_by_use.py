"""What a cell is for, where its heading does not say so: by the formulas that take it.

Our functions name what they are given: the first argument of HOPPER_REQUIRED_VOLUME is a
throughput whatever stands above it. And of two volumes in a row the one whose model or price is
looked up is a size of the catalog, though both are called volume.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..workbook.formulas import Place

if TYPE_CHECKING:
    from .calls import Calls
    from .catalogs import Catalogs

__all__ = ["COMPONENT_DENSITY", "COMPONENT_SHARE", "roles_by_use"]

COMPONENT_SHARE, COMPONENT_DENSITY = "component share", "component density"

#: Function -> what its result is.
_RESULTS = {
    "HOPPER_REQUIRED_VOLUME": "required volume",
    "HOPPER_BLEND_DENSITY": "density",
    "HOPPER_NEXT_SIZE": "next size",
    "HOPPER_SIZE_BELOW": "size below",
    "HOPPER_HELD_HOURS": "held hours",
    "HOPPER_COUNT": "quantity",
    "HOPPER_MOLDING_RATE": "throughput",
    "HOPPER_EXTRUSION_RATE": "throughput",
}
#: (function, argument) -> what the cells are that it takes.
_ARGUMENTS = {
    ("HOPPER_REQUIRED_VOLUME", "throughput"): "throughput",
    ("HOPPER_REQUIRED_VOLUME", "drying_hours"): "hours",
    ("HOPPER_REQUIRED_VOLUME", "bulk_density"): "density",
    ("HOPPER_REQUIRED_VOLUME", "reserve"): "reserve",
    ("HOPPER_BLEND_DENSITY", "shares"): COMPONENT_SHARE,
    ("HOPPER_BLEND_DENSITY", "densities"): COMPONENT_DENSITY,
    ("HOPPER_BLEND_DENSITY", "share_basis"): "share basis",
}
#: Headings of cells that follow from the size that was chosen.
_OF_THE_SIZE = frozenset(("model", "list price", "held hours"))


def roles_by_use(calls: Calls, catalogs: Catalogs) -> dict[Place, str]:
    """Cell -> its role, for cells whose heading says nothing or too little."""
    found: dict[Place, str] = {}
    for place, role in _by_our_functions(calls):
        if not calls.labels.role(place):
            found.setdefault(place, role)
    found.update(dict.fromkeys(_sizes_called_volume(calls, catalogs), "size"))
    return found


def _by_our_functions(calls: Calls) -> Iterator[tuple[Place, str]]:
    for call in calls.all_calls():
        role = _RESULTS.get(call.name)
        if role is not None and any(own is call for own in calls.own_calls(call.cell.place)):
            yield call.cell.place, role
    for uses in (calls.uses, calls.range_uses):
        for place, taken in uses.items():
            if calls.labels.role(place):
                continue
            roles = (_ARGUMENTS.get((use.call.name, use.argument.name)) for use in taken)
            role = next(filter(None, roles), None)
            if role is not None:
                for repeated in calls.trail(place):
                    yield repeated, role


def _sizes_called_volume(calls: Calls, catalogs: Catalogs) -> Iterator[Place]:
    """Cells called volume that are a size: one found in the catalog, or one that has a model."""
    found: set[Place] = set()
    for cell in calls.book.formulas():
        areas = calls.values.areas_of(cell)
        if any(area in catalogs.of_area for area in areas):
            found.add(cell.place)
        if calls.labels.role(cell.place) in _OF_THE_SIZE:
            found.update(area[:3] for area in areas if area[1:3] == area[3:])
    for place in found:
        if _is_called_volume(calls, catalogs, place) and any(
            _is_called_volume(calls, catalogs, other.place)
            for other in calls.labels.beside(place)
            if other.place not in found
        ):
            yield place


def _is_called_volume(calls: Calls, catalogs: Catalogs, place: Place) -> bool:
    """Whether a filled cell, and no call of ours, has a heading that says required volume."""
    return (
        calls.labels.role(place) == "required volume"
        and isinstance(calls.value(place), float)
        and not catalogs.holds(place)
    )
