"""Plain arithmetic that sizes a hopper: ``=B2*C2/D2`` where our function could stand.

A formula is recognized by its own heading and by the headings of the cells that it follows from: a
required volume from a throughput, drying hours and a density; a density from shares and densities;
hours held from a size, a density and a throughput. The same calculation is then made by our
function, in the units that the headings state, and examined like any other call. Whether the
formula gives the same is another check's business (:mod:`.requote`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ..call import call as compute
from ..cells.numbers_in_text import split_number
from ..cells.quantities import QUANTITIES
from ..cells.units import factor
from ..errors import CellError
from ..workbook.formulas import Call, Corner, Literal, Node, Omitted, Place, Reference, Unparsed
from .calls import Calls, PlainCall
from .label_words import stated_basis
from .roles import DENSITIES, role_of

if TYPE_CHECKING:
    from ..workbook.book import Cell

__all__ = ["called_for", "is_volume", "plain_calls", "sized_anew", "system_of", "typed_over"]

_SAME = 1e-6  # relative
_DEEP = 4  # cells without a heading of their own between a formula and what it follows from
_FOLLOWED = 400  # cells looked at for one formula
_MOST = 24  # cells that such a formula may follow from; a total has more
_SIZES = ("chosen size", "next size", "size", "size below")
#: Role -> quantity of its numbers.
_QUANTITY = {
    "throughput": "throughput", "hours": "drying hours", "density": "bulk density",
    "virgin density": "bulk density", "regrind density": "bulk density",
    "load density": "bulk density", "required volume": "volume", "chosen size": "volume",
    "next size": "volume", "size": "volume", "size below": "volume", "reserve": "reserve",
    "virgin share": "share", "regrind share": "share", "held hours": "residence time",
}  # fmt: skip


def _same(unit: str, other: str) -> bool:
    try:
        scale, offset = factor(unit, other)
    except CellError:
        return False
    return abs(scale - 1) < 1e-6 and abs(offset) < 1e-6


def system_of(units: dict[str, str], density: Any = None) -> str:
    """The unit system that headings speak: role -> unit; by the size of a density if they do not.

    A density below 3 is one in kg/L; above, one in lb/ft3 or kg/m3, which headings must tell apart.
    """
    for role, unit in units.items():
        measure = QUANTITIES.get(_QUANTITY.get(role, ""))
        if measure is not None and measure.us != measure.metric:
            if _same(unit, measure.us):
                return "US"
            try:
                factor(unit, measure.metric)
            except CellError:
                continue
            return "metric"
    return "metric" if isinstance(density, float) and density < 3 else "US"


class _Formula:
    """One formula of a book and the cells that it follows from, by role."""

    def __init__(self, calls: Calls, cell: Cell, by_heading: bool = False) -> None:
        self.calls, self.cell = calls, cell
        self._by_heading = by_heading  # not by which of our functions takes a cell
        self.found: dict[str, list[Place]] = {}
        self._seen: set[Place] = {cell.place}
        self.complete = self._collect(cell, 0)
        #: the blend that a volume's formula works out on its way
        self.inner: PlainCall | None = None

    def _collect(self, cell: Cell, depth: int) -> bool:
        for area in self.calls.values.areas_of(cell):
            size = (area[3] - area[1] + 1) * (area[4] - area[2] + 1)
            if size > _MOST:
                continue
            for row in range(area[1], area[3] + 1):
                for column in range(area[2], area[4] + 1):
                    if not self._place((area[0], row, column), depth):
                        return False
        return sum(map(len, self.found.values())) <= _MOST

    def _place(self, place: Place, depth: int) -> bool:
        if place in self._seen:
            return True
        self._seen.add(place)
        if len(self._seen) > _FOLLOWED:
            return False
        labels = self.calls.labels
        role = role_of(labels.label(place)) if self._by_heading else labels.role(place)
        if role in _QUANTITY or role == "share basis":
            if place not in self.found.setdefault(role, []):
                self.found[role].append(place)
            return True
        cell = self.calls.book.cell(place)
        if cell is None or cell.tree is None or depth >= _DEEP:
            return True
        return self._collect(cell, depth + 1)

    def one(self, *roles: str) -> Place | None:
        """The only cell of the first of these roles that has any."""
        for role in roles:
            if role in self.found:
                return self.found[role][0] if len(self.found[role]) == 1 else None
        return None


def _unit(calls: Calls, place: Place, quantity: str) -> str:
    """The unit that a heading states for a cell, "" where it states none that fits."""
    stated = calls.labels.unit(place)
    if stated is None:
        return ""
    try:
        factor(stated.spelling, QUANTITIES[quantity].si)
    except CellError:
        return ""
    return stated.spelling


def _value(calls: Calls, place: Place, quantity: str, system: str) -> Any:
    """A cell's value as our function can read it, with the unit that its heading states."""
    value = calls.value(place)
    unit = _unit(calls, place, quantity)
    home = QUANTITIES[quantity].unit(system)
    if not isinstance(value, float) or not unit or home == "1" or _same(unit, home):
        return value
    return f"{value!r} {unit}"


def _node(place: Place) -> Reference:
    corner = Corner(place[1], place[2], True, True)
    return Reference(place[0], corner, corner, True)


def _range(places: list[Place]) -> Node:
    """The range that these cells are, in this order; no reference where they lie apart."""
    (sheet, row, column), last = places[0], places[-1]
    side = [(sheet, row, column + at) for at in range(len(places))]
    below = [(sheet, row + at, column) for at in range(len(places))]
    if places not in (side, below):
        return Unparsed("cells that lie apart")
    return Reference(
        sheet, Corner(row, column, True, True), Corner(last[1], last[2], True, True), False
    )


def called_for(
    calls: Calls, cell: Cell, name: str, given: list[tuple[Node, Any]], system: str
) -> PlainCall:
    """The call of our function ``name`` that says what a plain formula says."""
    nodes = [node for node, _ in given]
    values = [value for _, value in given]
    if system == "metric":
        nodes.append(Literal("metric"))
        values.append("metric")
    result, error = None, None
    try:
        result = compute(name, *values)
    except CellError as problem:
        error = problem
    return PlainCall(cell, Call(name, "", tuple(nodes)), cell.place, tuple(values), result, error)


def _blend(calls: Calls, cell: Cell, formula: _Formula) -> PlainCall | None:
    virgin, regrind = formula.one("virgin share"), formula.one("regrind share")
    densities = [formula.one("virgin density"), formula.one("regrind density")]
    if None in densities or (virgin is None and regrind is None):
        return None
    places = [place for place in densities if place is not None]
    units = {"density": _unit(calls, places[0], "bulk density")}
    system = system_of(units, calls.value(places[0]))
    given = [calls.value(place) if place is not None else None for place in (virgin, regrind)]
    whole = 100.0 if any(isinstance(x, float) and x > 1 for x in given) else 1.0
    shares = [
        whole - other if own is None and isinstance(other, float) else own
        for own, other in (given, given[::-1])
    ]
    known = [place for place in (virgin, regrind) if place is not None]
    share_node = _range(known) if len(known) == 2 else _node(known[0])
    values = [[_value(calls, place, "bulk density", system) for place in places]]
    basis = formula.one("share basis")
    at: list[tuple[Node, Any]] = [(share_node, [shares]), (_range(places), values)]
    text = calls.value(basis) if basis is not None else _basis_of(calls, cell, at, system, known[0])
    at.append((_node(basis) if basis is not None else Literal(text), text))
    return called_for(calls, cell, "HOPPER_BLEND_DENSITY", at, system)


def _basis_of(
    calls: Calls, cell: Cell, given: list[tuple[Node, Any]], system: str, shares: Place
) -> str:
    """By which basis a plain formula blends: the one that gives its value, else as stated."""
    value = calls.value(cell.place)
    unit, home = _unit(calls, cell.place, "bulk density"), QUANTITIES["bulk density"].unit(system)
    value = value * factor(unit or home, home)[0] if isinstance(value, float) else None
    for basis in ("mass", "volume"):
        blend = called_for(
            calls, cell, "HOPPER_BLEND_DENSITY", [*given, (Literal(basis), basis)], system
        ).result
        if value and isinstance(blend, float) and abs(blend - value) < 1e-6 * abs(value):
            return basis
    return stated_basis(calls.labels.label(shares)) or "volume"


def _density_place(formula: _Formula) -> Place | None:
    if "density" in formula.found:
        return formula.one("density")
    found = [place for role in DENSITIES for place in formula.found.get(role, ())]
    return found[0] if len(found) == 1 else None


def _given(
    calls: Calls, places: list[tuple[Place, str]], density: Place
) -> tuple[list[tuple[Node, Any]], str]:
    units = {role: _unit(calls, place, _QUANTITY[role]) for place, role in places}
    system = system_of({r: u for r, u in units.items() if u}, _number(calls.value(density)))
    return [
        (_node(place), _value(calls, place, _QUANTITY[role], system)) for place, role in places
    ], system


def _number(value: Any) -> Any:
    if isinstance(value, str):
        try:
            return split_number(value)[0]
        except CellError:
            return None
    return value


def _required(calls: Calls, cell: Cell, formula: _Formula) -> PlainCall | None:
    if formula.found and {"required volume", *_SIZES}.isdisjoint(formula.found):
        _fill_in(calls, cell, formula)
    rate, hours = formula.one("throughput"), formula.one("hours")
    density = _density_place(formula)
    if rate is None or hours is None:
        return None
    if density is None:
        return _required_of_blend(calls, cell, formula, rate, hours)
    places = [(rate, "throughput"), (hours, "hours"), (density, "density")]
    reserve = formula.one("reserve")
    if reserve is not None and calls.value(reserve) not in (None, ""):
        places.append((reserve, "reserve"))
    given, system = _given(calls, places, density)
    if len(given) == 3 and system == "metric":
        given.append((Omitted(), 0.0))
    return called_for(calls, cell, "HOPPER_REQUIRED_VOLUME", given, system)


def _required_of_blend(
    calls: Calls, cell: Cell, formula: _Formula, rate: Place, hours: Place
) -> PlainCall | None:
    """A required volume whose formula blends the densities itself."""
    if formula.one("reserve") is not None or (blends := _blends(calls, cell, formula)) is None:
        return None
    system, by_basis = blends
    given = [
        (_node(place), _value(calls, place, _QUANTITY[role], system))
        for place, role in ((rate, "throughput"), (hours, "hours"))
    ]
    value = calls.value(cell.place)
    unit, home = _unit(calls, cell.place, "volume"), QUANTITIES["volume"].unit(system)
    value = value * factor(unit or home, home)[0] if isinstance(value, float) else None
    made = []
    for blend in by_basis:
        density: list[tuple[Node, Any]] = [(blend.node, blend.result)]
        if system == "metric":
            density.append((Omitted(), 0.0))
        one = called_for(calls, cell, "HOPPER_REQUIRED_VOLUME", [*given, *density], system)
        if blend.error is not None:
            one = replace(one, result=None, error=blend.error)
        made.append((blend, one))
    fits = (
        pair
        for pair in made
        if value and isinstance(pair[1].result, float) and abs(pair[1].result / value - 1) < _SAME
    )
    formula.inner, volume = next(fits, made[0])
    return volume


def _blends(calls: Calls, cell: Cell, formula: _Formula) -> tuple[str, list[PlainCall]] | None:
    """(unit system, the blend that a formula works out on its way, by each basis it may be)."""
    first = _blend(calls, cell, formula)
    if first is None:
        return None
    system = "metric" if "metric" in first.values[3:] else "US"
    if formula.one("share basis") is not None:
        return system, [first]
    shares, densities = zip(first.node.arguments[:2], first.values[:2], strict=True)
    found = [
        called_for(
            calls, cell, "HOPPER_BLEND_DENSITY", [shares, densities, (Literal(basis), basis)],
            system,
        )
        for basis in ("volume", "mass")
    ]  # fmt: skip
    return system, found


def _held(calls: Calls, cell: Cell, formula: _Formula) -> PlainCall | None:
    size, rate, density = formula.one(*_SIZES), formula.one("throughput"), _density_place(formula)
    if size is None or rate is None or density is None:
        return None
    places = [(size, "size"), (density, "density"), (rate, "throughput")]
    given, system = _given(calls, places, density)
    return called_for(calls, cell, "HOPPER_HELD_HOURS", given, system)


def is_volume(unit: str) -> bool:
    """Whether a unit is one of volume."""
    try:
        factor(unit, "m3")
    except CellError:
        return False
    return True


def _fill_in(calls: Calls, cell: Cell, formula: _Formula) -> None:
    """Take what a formula leaves out from beside it: a number may be typed in its place."""
    dense = not DENSITIES.isdisjoint(formula.found)
    beside: dict[str, list[Place]] = {}
    for other in calls.labels.beside(cell.place):
        role = calls.labels.role(other.place)
        filled = calls.value(other.place) not in (None, "")
        if role in ("throughput", "hours", "density") and filled and other.place != cell.place:
            beside.setdefault(role, []).append(other.place)
    for role, places in beside.items():
        if role not in formula.found and not (role == "density" and dense):
            formula.found[role] = places


def typed_over(calls: Calls, cell: Cell) -> PlainCall | None:
    """The call for a required volume that was typed: from what stands beside it."""
    formula = _Formula(calls, cell)
    for other in calls.labels.beside(cell.place):
        role = calls.labels.role(other.place)
        if role in ("throughput", "hours", "density", "reserve"):
            formula.found.setdefault(role, []).append(other.place)
    return _required(calls, cell, formula)


_READ = {"required volume": _required, "density": _blend, "held hours": _held}


def sized_anew(calls: Calls, cell: Cell) -> PlainCall | None:
    """The call for a volume that a formula without a known heading may work out once more."""
    formula = _Formula(calls, cell, by_heading=True)
    return _required(calls, cell, formula) if formula.complete else None


def plain_calls(calls: Calls) -> Iterator[PlainCall]:
    """Every plain formula that sizes a hopper, as the call of our function that it stands for."""
    for cell in calls.book.formulas():
        if cell.place in calls.calls or cell.place in calls.unread or cell.array:
            continue
        role = calls.labels.role(cell.place)
        if role not in _READ or not isinstance(_number(calls.value(cell.place)), float):
            continue  # a text in which a number stands cannot be compared with one
        formula = _Formula(calls, cell)
        made = _READ[role](calls, cell, formula) if formula.complete else None
        if formula.inner is not None:
            yield formula.inner
        if made is not None:
            yield made
