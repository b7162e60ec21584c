"""Units that do not agree: headings against calls, and calls of the two systems with each other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...cells.numbers_in_text import split_number
from ...cells.quantities import QUANTITIES
from ...cells.units import expression, factor
from ...cells.values import is_error
from ...cells.wording import rounded
from ...errors import WrongKind
from ...functions import get
from ...workbook.addresses import row_column
from ...workbook.book import Cell
from ...workbook.evaluator import SizingCall
from ...workbook.formulas import Binary, Literal, Node, Place, Reference
from ..calls import PlainCall
from ..context import Context, cell_name
from ..findings import Finding, finding, in_ranges
from ..label_words import Unit

__all__ = ["check", "unit_gap"]

#: Functions that only compare volumes: without a unit system both may be in any unit.
_COMPARING = frozenset(("HOPPER_CATALOG_ENTRY", "HOPPER_SIZE_MARGIN"))


def _system(context: Context, call: SizingCall) -> str | None:
    """The unit system of a call's plain numbers, None where it does not matter.

    A plain formula has none: it is worked out again in the units that the headings state.
    """
    if isinstance(call, PlainCall):
        return None
    inputs = context.inputs(call)
    if inputs is None or not inputs.function.has_units:
        return None
    if call.name in _COMPARING and "units" in inputs.defaulted:
        return None
    return inputs.system


def unit_gap(stated: Unit, expected: str) -> tuple[str, float] | None:
    """("other dimension" or "other unit", factor) where a stated unit is not the expected one."""
    try:
        if expected != "1" and expression(stated.spelling) == expression(expected):
            return None  # one unit, however it is spelled
        scale, offset = factor(stated.spelling, expected)
    except WrongKind:
        return ("other dimension", 1.0) if stated.sure else None
    if abs(scale - 1) < 1e-6 and abs(offset) < 1e-6:
        return None
    return ("other unit", scale)


def _is_percentage(context: Context, place: Place, stated: Unit) -> bool:
    """Whether a cell in a column of percent really holds a fraction shown as a percentage."""
    cell = context.book.cell(place)
    return stated.spelling.strip() in ("%", "percent", "pct") and cell is not None and cell.percent


def _sources(context: Context, node: Node, call: SizingCall) -> Iterator[tuple[Place, Any]]:
    """Cells with plain numbers that an argument takes: the one, or the first of a range."""
    area = context.area_of(node, call.place)
    if area is not None and area[1:3] != area[3:]:
        for cell in context.values.cells_in(area):
            if isinstance(context.value(cell.place), float):
                yield cell.place, context.value(cell.place)
                return
        return
    place = context.source(node, call.place, converted=False)
    if place is not None and isinstance(context.value(place), float):
        yield place, context.value(place)


def _made_in(context: Context, place: Place) -> tuple[SizingCall, str] | None:
    """The call that gives a cell its number, and the unit of that number."""
    for at in context.trail(place):
        for call in context.own_calls(at):
            if call.name == "HOPPER_CONVERT" and len(call.values) == 3:
                return call, str(call.values[2])
            system = _system(context, call)
            record = get(call.name)
            if system is not None and record is not None and record.result.quantity:
                return call, QUANTITIES[record.result.quantity].unit(system)
    return None


def _arguments(context: Context) -> Iterator[Finding]:
    for call in context.all_calls():
        if isinstance(call, PlainCall):
            continue
        system = _system(context, call)
        for argument, node, _ in context.arguments(call):
            measure = argument.measure
            if measure is None or (system is None and measure.us != measure.metric):
                continue
            expected = measure.unit(system or "US")
            for place, value in _sources(context, node, call):
                made = _made_in(context, place)
                if made is not None:
                    compared = unit_gap(Unit(made[1], True), expected)
                    if compared is not None:
                        yield _mismatch(
                            context, call, argument.name, expected, place, value,
                            f"{made[0].name} in {cell_name(made[0].cell.place)} gives {made[1]}",
                            compared,
                        )  # fmt: skip
                        continue
                stated = context.labels.unit(place)
                if stated is None or (expected == "1" and argument.kind == "shares"):
                    continue
                compared = unit_gap(stated, expected)
                if compared is None or _is_percentage(context, place, stated):
                    continue
                yield _mismatch(
                    context, call, argument.name, expected, place, value,
                    f"{context.labels.label(place)!r} says {stated.spelling} for "
                    f"{cell_name(place)}",
                    compared, context.labels.heading_cell(place),
                )  # fmt: skip


def _mismatch(
    context: Context,
    call: SizingCall,
    argument: str,
    expected: str,
    place: Place,
    value: float,
    says: str,
    compared: tuple[str, float],
    heading: Place | None = None,
) -> Finding:
    unit = "a plain ratio" if expected == "1" else expected
    kind, scale = compared
    right = None
    if kind == "other dimension":
        effect = "the two do not even measure the same, so the result means nothing"
        advice = "refer to the right cell or correct the heading"
    else:
        right = value * scale
        effect = context.effect_on_volume(place, right) or (
            f"{rounded(value, 4)} is taken where {rounded(right, 4)} would be right"
        )
        advice = "state the unit system in the call, convert the value, or correct the heading"
    return finding(
        "unit mismatch",
        "error",
        call.cell.place,
        f"{says}, but {call.name} takes its {argument} in {unit}; {effect}; {advice}.",
        formula=call.cell.formula,
        value=value,
        expected=right,
        cells=(call.cell.place, *(() if heading is None else (place, heading))),
    )


def _results(context: Context) -> Iterator[Finding]:
    for place in context.calls:
        stated = context.labels.unit(place)
        value = context.value(place)
        if stated is None or not isinstance(value, float):
            continue
        made = next((m for m in [_made_in(context, place)] if m and m[0].cell.place == place), None)
        if made is None:
            continue
        compared = unit_gap(stated, made[1])
        if compared is None or _is_percentage(context, place, stated):
            continue
        kind, scale = compared
        right = value / scale if kind == "other unit" else None
        unit = "a plain ratio" if made[1] == "1" else made[1]
        effect = (
            f"{rounded(value, 4)} {stated.spelling} is read where {rounded(right, 4)} is meant"
            if right is not None
            else "whoever reads it takes it for something else"
        )
        yield finding(
            "unit mismatch",
            "error",
            place,
            f"{context.labels.label(place)!r} says {stated.spelling}, but {made[0].name} gives "
            f"{unit}; {effect}; correct the heading or state the unit system in the call.",
            formula=made[0].cell.formula,
            value=value,
            expected=right,
        )


def _mixed(context: Context) -> Iterator[Finding]:
    """One plain number read in US units by one call and in metric units by another."""
    for place, uses in context.uses.items():
        value = context.value(place)
        if not isinstance(value, float) or len(uses) < 2:
            continue
        units: dict[str, SizingCall] = {}
        for use in uses:
            system, measure = _system(context, use.call), use.argument.measure
            node = context.argument_node(use.call, use.argument.name)
            if context.source(node, use.call.place, converted=False) not in context.trail(place):
                continue  # converted on the way
            if system is not None and measure is not None:
                units.setdefault(measure.unit(system), use.call)
        if len(units) < 2:
            continue
        (first, one), (second, other) = list(units.items())[:2]
        yield finding(
            "unit mismatch",
            "error",
            place,
            f"{rounded(value, 6)} is read as {first} in {cell_name(one.cell.place)} and as "
            f"{second} in {cell_name(other.cell.place)}; one of the two is wrong; state one unit "
            "system for both.",
            value=value,
        )


def _formats(context: Context) -> Iterator[Finding]:
    """A number format that shows another unit than the heading says."""
    fed = (cell.place for record, _, cell in context.feeding if record is not None)
    for place in dict.fromkeys((*context.uses, *context.calls, *fed)):
        shown, stated = context.labels.shown_unit(place), context.labels.unit(place)
        if shown is None or stated is None or not isinstance(context.value(place), float):
            continue
        if unit_gap(shown, stated.spelling) is not None:
            cell = context.book.cell(place)
            yield finding(
                "unit mismatch",
                "error",
                place,
                f"{context.labels.label(place)!r} says {stated.spelling}, but the cell shows its "
                f"number in {shown.spelling}; one of the two is wrong, and it was read as "
                f"{stated.spelling}; correct the heading or the number format.",
                formula=cell.formula if cell is not None else None,
                value=context.value(place),
            )


def _texts(context: Context) -> Iterator[Finding]:
    """A text with another unit than its heading says: it is read by its own."""
    for place, uses in context.uses.items():
        value, stated = context.value(place), context.labels.unit(place)
        if any(use.call.name == "HOPPER_CONVERT" for use in uses):
            continue  # the sheet shows it in its own unit, too
        if stated is None or not isinstance(value, str) or is_error(value):
            continue
        try:
            unit = split_number(value)[1]
        except WrongKind:
            continue
        gap = unit_gap(Unit(unit, True), stated.spelling) if unit else None
        if gap is not None and gap[0] == "other unit":
            yield finding(
                "unit mismatch",
                "note",
                place,
                f"{value!r} stands where {context.labels.label(place)!r} says {stated.spelling}; "
                f"it was read by its own unit; type it in {stated.spelling}, so that nobody reads "
                "it otherwise.",
                value=value,
            )


_OFF = 0.01  # of a factor between two units: beyond rounding, such as 0.45 for 0.4536


def _typed_factor(tree: Node | None) -> tuple[Reference, float] | None:
    """(cell, factor) of a formula that multiplies or divides one cell by a typed number."""
    if not isinstance(tree, Binary) or tree.operator not in ("*", "/"):
        return None
    sides = (tree.left, tree.right)
    cell = next((side for side in sides if isinstance(side, Reference)), None)
    number = next((side.value for side in sides if isinstance(side, Literal)), None)
    if cell is None or not cell.single or not isinstance(number, float) or not number:
        return None
    if tree.operator == "*":
        return cell, number
    return (cell, 1 / number) if tree.left is cell else None


def _conversions(context: Context) -> Iterator[Finding]:
    """A cell in one unit worked out from a cell in another, by a factor that is not theirs."""
    groups: dict[tuple[str, str, str, float, float], list[Cell]] = {}
    for cell in context.book.formulas():
        found = _typed_factor(cell.tree)
        if found is None or cell.form is None:
            continue
        reference, number = found
        ours = context.labels.unit(cell.place)
        sheet, row, column, _, _ = reference.at(cell.place)
        theirs = context.labels.unit((sheet, row, column))
        if ours is None or theirs is None:
            continue
        try:
            right, offset = factor(theirs.spelling, ours.spelling)
        except WrongKind:
            continue
        if right == 1 or offset or abs(number / right - 1) <= _OFF:
            continue
        key = (cell.form, theirs.spelling, ours.spelling, number, right)
        groups.setdefault(key, []).append(cell)
    for (_, theirs_, ours_, number, right), cells in groups.items():
        places = [cell.place for cell in cells]
        value = context.value(places[0])
        expected = value / number * right if isinstance(value, float) else None
        yield finding(
            "unit mismatch",
            "error",
            places[0],
            f"{in_ranges(places)}: 1 {theirs_} is {right:.6g} {ours_}, the formula takes "
            f"{number:.6g}; what follows is {number / right:.3g} times what it should be; correct "
            "the factor, or the heading.",
            formula=cells[0].formula,
            value=value,
            expected=expected,
            cells=places if len(places) > 1 else (),
        )


def check(context: Context) -> Iterator[Finding]:
    """``unit mismatch``."""
    reported: set[Place] = set()
    for family in (_arguments, _results, _conversions, _mixed, _formats, _texts):
        for found in family(context):
            place = (found.sheet, *row_column(found.cell))
            if family is not _arguments and place in reported:
                continue
            reported.add(place)
            yield found
