"""Where densities are from, on which basis they are blended, and one density for two jobs."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...cells.values import is_blank
from ...cells.wording import in_system, with_unit
from ...errors import CellError
from ...workbook.evaluator import SizingCall
from ...workbook.formulas import Binary, Literal, Node, Place, Reference, Word, walk
from ..context import Context, Line, cell_name, percent
from ..findings import Finding, finding
from ..label_words import without_unit
from ..share_basis import BasisStated

_FACTOR = (0.2, 0.95)  # a density times such a number is an estimate by rule

__all__ = ["check", "origin_of"]


def by_rule(node: Node | None) -> float | None:
    """The factor of a hand-made rule of thumb: ``=C5*0.5``, ``=C5/2``; None where it is none."""
    if not isinstance(node, Binary) or node.operator not in "*/":
        return None
    left, right = node.left, node.right
    if node.operator == "*" and isinstance(left, Literal):
        left, right = right, left
    if not isinstance(left, (Reference, Word)) or not isinstance(right, Literal):
        return None
    value = right.value
    if not isinstance(value, float) or not value:
        return None
    ratio = value if node.operator == "*" else 1 / value
    return ratio if _FACTOR[0] <= ratio <= _FACTOR[1] else None


def origin_of(context: Context, place: Place) -> str:
    """Where a density is from: the function that gives it, or what the sheet says of it.

    Returns "measured", "data sheet", "stated", "estimated", "resin table", "calculated",
    "typed", or "" for an empty cell.
    """
    for at in context.trail(place):
        cell = context.book.cell(at)
        if cell is None:
            return ""
        for call in context.own_calls(at):
            if call.name == "HOPPER_SAMPLE_DENSITY":
                return "measured"
            if call.name == "HOPPER_REGRIND_DENSITY":
                return "estimated"
            if call.name == "HOPPER_RESIN":
                return "resin table"
        if by_rule(cell.tree) is not None:
            return "estimated"
        stated = context.labels.stated_origin(at)
        if stated:
            return stated
    last = context.book.cell(context.trail(place)[-1])
    return "" if last is None else "typed" if last.typed else "calculated"


def _densities(context: Context) -> dict[Place, list[SizingCall]]:
    """Cells taken as a bulk density -> the calls that take them; estimates inside calls too."""
    found: dict[Place, list[SizingCall]] = {}
    for uses in (context.uses, context.range_uses):
        for place, taken in uses.items():
            for use in taken:
                if use.argument.quantity == "bulk density" and use.argument.name != "rated_density":
                    found.setdefault(context.trail(place)[-1], []).append(use.call)
    return found


def _needed(context: Context, place: Place, calls: list[SizingCall]) -> bool:
    """Whether a density takes part: in a blend its share is more than zero."""
    for call in calls:
        if call.name == "HOPPER_SIZE_JOBS":
            if _needed_by_a_job(context, place):
                return True
            continue
        if call.name != "HOPPER_BLEND_DENSITY":
            return True
        if context.inputs(call) is None:
            continue
        area = context.area_of(context.argument_node(call, "densities"), call.place)
        if area is None:
            return True
        cells = list(_places(area))
        shares = [
            s
            for row in (call.values[0] if isinstance(call.values[0], list) else [[1.0]])
            for s in row
        ]
        for at, cell in enumerate(cells):
            if (
                place in context.trail(cell)
                and at < len(shares)
                and shares[at] not in (None, "", 0.0)
            ):
                return True
    return False


def _needed_by_a_job(context: Context, place: Place) -> bool:
    """Whether 10 % less of a density would change the volume of a job."""
    value = context.value(place)
    if not isinstance(value, float):
        return True
    for line in context.lines_from.get(place, []):
        volume = context.what_if(line, {place: value * 0.9})
        if volume is None or abs(volume / line.required - 1) > 1e-9:
            return True
    return False


def _places(area: tuple[str, int, int, int, int]) -> Iterator[Place]:
    sheet, r1, c1, r2, c2 = area
    for row in range(r1, r2 + 1):
        for column in range(c1, c2 + 1):
            yield (sheet, row, column)


def _effect_of_lower(context: Context, place: Place) -> str:
    """What 10 % less of a density does to the line that feels it most."""
    value = context.value(place)
    if not isinstance(value, float):
        return "the hopper is too small if the true density is lower"
    worst: tuple[float, Line] | None = None
    for line in context.lines_from.get(place, []):
        volume = context.what_if(line, {place: value * 0.9})
        if volume and (worst is None or volume / line.required > worst[0]):
            worst = (volume / line.required, line)
    if worst is None:
        return "the hopper is too small if the true density is lower"
    more = worst[0] - 1
    effect = (
        f"if it is really 10 % lower, {context.where(worst[1])} needs {percent(more)} more volume"
    )
    line = worst[1]
    if line.chosen_volume is not None and line.required > 0:
        spare = line.chosen_volume / line.required - 1
        effect += (
            f" (the chosen size has {percent(spare)} to spare)"
            if spare >= 0
            else " (the chosen size is too small already)"
        )
    return effect


def _estimated(context: Context) -> Iterator[Finding]:
    reported: set[Place] = set()
    for place, calls in _densities(context).items():
        origin = origin_of(context, place)
        if origin not in ("estimated", "resin table") or place in reported:
            continue
        if not _needed(context, place, calls):
            continue
        lines = context.lines_from.get(place, [])
        if lines and not any(map(context.is_quoted, lines)):
            continue  # a sheet that tries something out
        reported.add(place)
        yield _estimate(context, place, origin)
    for (
        call
    ) in context.all_calls():  # nested: HOPPER_BLEND_DENSITY(..., HOPPER_REGRIND_DENSITY(...))
        if call.name != "HOPPER_REGRIND_DENSITY" or call.error is not None:
            continue
        if call.cell.place not in reported and not context.own_calls(call.cell.place):
            reported.add(call.cell.place)
            yield _estimate(context, call.cell.place, "estimated")


def _estimate(context: Context, place: Place, origin: str) -> Finding:
    cell = context.book.cell(place)
    value = context.value(place)
    label = without_unit(context.labels.label(place)) or "density"
    how = "a typical value of the resin table" if origin == "resin table" else "an estimate"
    return finding(
        "estimated density",
        "note",
        place,
        f"{label!r} is {how}, not measured; {_effect_of_lower(context, place)}; weigh a cup "
        "sample before the order.",
        formula=cell.formula if cell is not None else None,
        value=value,
    )


def _basis(context: Context) -> Iterator[Finding]:
    for call in context.all_calls():
        inputs = context.inputs(call)
        if call.name != "HOPPER_BLEND_DENSITY" or inputs is None:
            continue
        node = context.argument_node(call, "share_basis")
        if "share_basis" not in inputs.defaulted and not _from_blank(context, node, call.place):
            continue
        stated = _stated_beside(context, call)
        if stated is not None and not stated.for_formulas:
            continue
        values = inputs.values
        other = "mass" if values["share_basis"] == "volume" else "volume"
        try:
            now = inputs.function.function(*values.values())
            then = inputs.function.function(*{**values, "share_basis": other}.values())
        except (CellError, ZeroDivisionError):
            continue
        if abs(then / now - 1) < 5e-4:
            continue  # one component, or equal densities: the basis does not matter
        change = now / then - 1
        side = "larger" if change > 0 else "smaller"
        says = "Nobody stated whether the shares are by volume or by mass, and they were taken by "
        says += f"{values['share_basis']}"
        if stated is not None:
            says = f"{stated.says} says that the shares are by {stated.basis}, and the formula does"
            says += " not take that"
        advice = (
            "let the formula take the basis"
            if stated is not None
            else "ask for the basis of the recipe (weigh blenders work by mass) and state it"
        )
        yield finding(
            "basis not stated",
            "warning",
            call.cell.place,
            f"{says}; by {other} the hopper would have to be {percent(change)} {side}; {advice}.",
            formula=call.cell.formula,
            value=context.value(call.cell.place),
            expected=in_system(then, "bulk density", inputs.system),
        )


def _stated_beside(context: Context, call: SizingCall) -> BasisStated | None:
    """The basis that the sheet states beside a formula that takes none."""
    area = context.area_of(context.argument_node(call, "shares"), call.place)
    if area is None or context.argument_node(call, "share_basis") is not None:
        return None
    return context.stated_bases.of(area[:3], call.cell.place)


def _from_blank(context: Context, node: Node | None, place: Place) -> bool:
    """Whether a basis is worked out from a cell that is blank: ``IF(E5="","volume",E5)``."""
    if node is None or isinstance(node, (Literal, Reference)):
        return False
    places = (
        context.source(part, place) for part in walk(node) if isinstance(part, (Reference, Word))
    )
    return any(p is not None and is_blank(context.value(p)) for p in places)


_LOAD = re.compile(r"\b(load|loaded|weight|floor|stand|support|mezzanine|structure)", re.IGNORECASE)


def _same_for_load(context: Context) -> Iterator[Finding]:
    volume_from: dict[Place, Line] = {}
    for line in context.lines:
        place = context.source(context.argument_node(line.call, "bulk_density"), line.call.place)
        if place is not None:
            volume_from.setdefault(context.trail(place)[-1], line)
    for call in context.all_calls():
        for_load = call.name == "HOPPER_LOADED_MASS" or (
            call.name == "HOPPER_HELD_MASS"
            and _LOAD.search(context.labels.label(call.cell.place)) is not None
        )
        inputs = context.inputs(call)
        if not for_load or inputs is None:
            continue
        place = context.source(context.argument_node(call, "bulk_density"), call.place)
        if place is None:
            continue
        origin = context.trail(place)[-1]
        if origin not in volume_from:
            continue
        mass = inputs.values["volume"] * inputs.values["bulk_density"] * 0.1
        yield finding(
            "load from low density",
            "warning",
            call.cell.place,
            f"The density of {cell_name(origin)} serves for the volume, where a low one is safe, "
            "and here for the load, where a high one is; if the resin packs 10 % denser the hopper "
            f"carries {with_unit(mass, 'mass', inputs.system, 3)} more than shown; take a high "
            "density for the load.",
            formula=call.cell.formula,
            value=context.value(call.cell.place),
        )


def check(context: Context) -> Iterator[Finding]:
    """``estimated density``, ``basis not stated``, ``load from low density``."""
    yield from _estimated(context)
    yield from _basis(context)
    yield from _same_for_load(context)
