"""Inputs that are unusual for their quantity, and shares that do not fit together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from ...cells.quantities import Quantity
from ...cells.values import as_rows
from ...cells.wording import with_unit
from ...errors import ErrorIn
from ...registry import Argument
from ...workbook.evaluator import FormulaError, SizingCall, Unknown
from ...workbook.formulas import Binary, Call, Literal, Node, Place, Reference, Unparsed, Word, walk
from ..calls import PlainCall, result_with
from ..context import Context, cell_name, percent
from ..findings import Finding, finding
from ..share_basis import BasisStated

__all__ = ["check", "unusual"]


def _cell_of(context: Context, call: SizingCall, node: Node, at: int) -> Place:
    """The cell that holds the ``at``-th value of an argument, or the calling cell."""
    area = context.area_of(node, call.place)
    if area is not None:
        width = area[4] - area[2] + 1
        return (area[0], area[1] + at // width, area[2] + at % width)
    return context.source(node, call.place) or call.cell.place


def _filled_places(value: object) -> list[int]:
    """Places of a range's cells that are not blank, as the function counts them."""
    cells = [cell for row in as_rows(value) for cell in row]
    return [i for i, cell in enumerate(cells) if cell not in (None, "")]


def _effect(context: Context, call: SizingCall, argument: Argument, si: float, edge: float) -> str:
    """What it does to the answer when the usual value is meant."""
    inputs = context.inputs(call)
    if inputs is None or not isinstance(inputs.values.get(argument.name), float):
        return "everything that depends on it changes with it"
    now, usual = result_with(inputs), result_with(inputs, argument.name, edge)
    if not isinstance(now, float) or not isinstance(usual, float) or not usual:
        return "everything that depends on it changes with it"
    change = now / usual - 1
    side = "less" if change < 0 else "more"
    limit = with_unit(edge, argument.quantity, inputs.system)
    return f"the {inputs.function.result.text} is {percent(change)} {side} than with {limit}"


def _on_purpose(function: str, argument: str, values: dict[str, Any], above: bool) -> bool:
    """An unusual value that the calculation asks for."""
    if function == "HOPPER_CATALOG_ENTRY":
        return True  # it only looks a size up, in whatever unit
    if function == "HOPPER_LOADED_MASS" and argument == "bulk_density":
        return above  # a load wants a high density
    # Saturated air: the temperature is a dew point, and that of drying air is far below usual.
    return function == "HOPPER_AIR_MOISTURE" and values.get("relative_humidity") == 1.0


def _follows(context: Context, place: Place, reported: set[Place]) -> bool:
    """Whether a value is worked out from one that has been reported."""
    cell = context.book.cell(place)
    if cell is None or cell.formula is None or not reported:
        return False
    follows = context.precedents.inputs_of(cell, limit=3_000)
    return follows is not None and any(typed.place in reported for typed in follows[0])


def _unusual(context: Context) -> Iterator[Finding]:
    reported: set[tuple[Place, str]] = set()
    for call in context.all_calls():
        inputs = context.inputs(call)
        if inputs is None:
            continue
        for argument, node, value in context.arguments(call):
            measure = argument.measure
            if measure is None or measure.typical is None:
                continue
            read = inputs.values[argument.name]
            several = isinstance(read, list)
            places = _filled_places(value) if several else [0]
            for at, si in zip(places, read if several else [read], strict=False):
                if si is None:  # a gap in the range
                    continue
                low, high = measure.typical
                if _on_purpose(call.name, argument.name, inputs.values, si > high):
                    continue
                # A workbook may keep six digits of it.
                if low * (1 - 1e-5) <= si <= high * (1 + 1e-5) or si == 0.0 >= low:
                    continue
                place = context.trail(_cell_of(context, call, node, at))[-1]
                if (place, measure.name) in reported:
                    continue
                if _follows(context, place, {p for p, name in reported if name == measure.name}):
                    continue
                reported.add((place, measure.name))
                edge = low if si < low else high
                effect = "" if several else _effect(context, call, argument, si, edge)
                yield unusual(
                    # one of several: "the bulk density 68", not "the densities 68"
                    context, place, measure.name if several else argument.name, measure, si,
                    inputs.system,
                    effect or "everything that depends on it changes with it",
                )  # fmt: skip


def unusual(
    context: Context,
    place: Place,
    name: str,
    measure: Quantity,
    si: float,
    system: str,
    effect: str,
) -> Finding:
    """The finding about a value outside the usual range of its quantity."""
    assert measure.typical is not None
    shown, usual_low, usual_high = (
        with_unit(x, measure.name, system) for x in (si, *measure.typical)
    )
    hint = f"; often it is {measure.hint}" if measure.hint else ""
    return finding(
        "outside typical range",
        "warning",
        place,
        f"The {name.replace('_', ' ')} {shown} is outside the usual {usual_low} to {usual_high}"
        f"{hint}; {effect}; check it against its source.",
        formula=_formula(context, place),
        value=context.value(place),
    )


def _formula(context: Context, place: Place) -> str | None:
    cell = context.book.cell(place)
    return cell.formula if cell is not None else None


def _shares(context: Context) -> Iterator[Finding]:
    for call in context.all_calls():
        if call.name != "HOPPER_BLEND_DENSITY" or isinstance(call.error, ErrorIn):
            continue
        node = context.argument_node(call, "shares")
        if node is None:
            continue
        if call.error is not None:
            plain = isinstance(call, PlainCall)  # told as an impossible input
            if call.error.argument == "shares" and call.error.code == "#NUM!" and not plain:
                yield finding(
                    "shares",
                    "error",
                    _cell_of(context, call, node, 0),
                    f"For {call.name} in {cell_name(call.cell.place)}, {call.error.reason}; there "
                    "is no blend density and nothing to quote until they do.",
                    formula=_formula(context, _cell_of(context, call, node, 0)),
                    value=call.values[0] if not isinstance(call.values[0], list) else None,
                    cells=(_cell_of(context, call, node, 0), call.cell.place),
                )
            continue
        inputs = context.inputs(call)
        if inputs is None:
            continue
        count = sum(map(len, as_rows(call.values[0])))
        shares = [_cell_of(context, call, node, at) for at in range(count)]
        basis = context.argument_node(call, "share_basis")
        stated = context.stated_bases.by_heading(shares)
        if stated is None and shares and (basis is None or isinstance(basis, Literal)):
            stated = context.stated_bases.of(shares[0], call.cell.place)
        if stated is not None and stated.basis != inputs.values["share_basis"]:
            yield from _other_basis_than_stated(context, call, stated)


def _other_basis_than_stated(
    context: Context, call: SizingCall, stated: BasisStated
) -> Iterator[Finding]:
    """A blend by another basis than the sheet says."""
    inputs = context.inputs(call)
    assert inputs is not None
    now = inputs.function.function(*inputs.values.values())
    other = inputs.function.function(*{**inputs.values, "share_basis": stated.basis}.values())
    change = other / now - 1
    if abs(change) < 5e-5:
        return
    lower = change < 0
    yield finding(
        "shares",
        "error",
        call.cell.place,
        f"{stated.says[0].upper()}{stated.says[1:]} says shares by {stated.basis}, the formula "
        f"blends them by {inputs.values['share_basis']}; by {stated.basis} the density is "
        f"{percent(change)} {'lower' if lower else 'higher'}, so the hopper comes out "
        f"{percent(change)} too {'small' if lower else 'large'}; state the basis of the recipe in "
        "the formula.",
        formula=call.cell.formula,
        value=context.value(call.cell.place),
    )


_PADDED = ("throughput", "hours", "density", "virgin density", "regrind density", "quantity")
_LEAST_FACTOR, _MOST_FACTOR = 0.5, 1.5  # between them a factor pads or cuts; beyond, it converts


def _factor(context: Context, place: Place) -> float | None:
    """A factor near 1 by which a typed input is multiplied or divided inside its own cell."""
    cell = context.book.cell(place)
    if cell is None or cell.tree is None:
        return None
    nodes = list(walk(cell.tree))
    if any(isinstance(node, (Reference, Word, Call, Unparsed)) for node in nodes):
        return None
    for node in nodes:
        if not isinstance(node, Binary) or node.operator not in ("*", "/"):
            continue
        for side in (node.left, node.right):
            try:
                factor = context.values.evaluate(side, place)
            except (FormulaError, Unknown):
                continue
            near = isinstance(factor, float) and _LEAST_FACTOR <= factor <= _MOST_FACTOR
            if near and factor != 1.0:
                return float(factor)
    return None


def _padded(context: Context) -> Iterator[Finding]:
    """Inputs that were made larger or smaller inside their cell: ``=160*0.8``."""
    reported: set[Place] = set()
    for record in context.records:
        listed = record.line.job.places if record.line.job is not None else {}
        for role in _PADDED:
            at = record.cells.get(role) or listed.get("drying hours" if role == "hours" else role)
            place = context.trail(at)[-1] if at is not None else None
            factor = _factor(context, place) if place is not None else None
            if place is None or factor is None or place in reported:
                continue
            reported.add(place)
            formula = _formula(context, place) or ""
            yield finding(
                "number in formula",
                "warning",
                place,
                f"The {role} is worked out inside its cell, {formula.lstrip('=')}: {factor:g} "
                f"times a figure, and nobody who reads the sheet can see that; "
                f"{context.where(record.line)} follows from it; put the factor into a cell of its "
                "own with its reason, or type the figure that is meant.",
                formula=formula,
                value=context.value(place),
            )


def _other_basis(context: Context) -> Iterator[Finding]:
    """Lines whose shares are by another basis than those of most lines."""
    stated: dict[Place, str] = {}
    for record in context.records:
        place = record.cells.get("share basis")
        value = context.value(place) if place is not None else None
        cell = context.book.cell(place) if place is not None else None
        if place is not None and cell is not None and cell.typed and isinstance(value, str):
            stated[place] = value.strip().lower()
    counts = Counter(stated.values())
    if len(counts) != 2 or sum(counts.values()) < 4:
        return
    (usual, most), (other, few) = counts.most_common()
    if few * 3 > most:
        return
    for place, basis in stated.items():
        effect = context.effect_on_volume(place, usual) if basis == other else ""
        if effect:
            yield finding(
                "shares",
                "note",
                place,
                f"The shares are by {other} here and by {usual} in {most} other lines; if {usual} "
                f"is meant, {effect}; ask for the basis of this recipe.",
                value=context.value(place),
                expected=usual,
            )


def check(context: Context) -> Iterator[Finding]:
    """``outside typical range``, ``shares``, ``number in formula`` of an input."""
    yield from _unusual(context)
    yield from _shares(context)
    yield from _padded(context)
    yield from _other_basis(context)
