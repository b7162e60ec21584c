"""One value from one unit to another, by the same closed table that the cells use."""

from __future__ import annotations

from math import isfinite

from ..errors import OutOfRange, WrongKind
from ..registry import Argument, Example, Result, cell_function
from .numbers_in_text import shown, split_number
from .units import expression, factor
from .values import is_error, number_of

__all__ = ["ABSOLUTE_ZERO", "convert"]

#: pint's name of a temperature unit -> absolute zero in it
ABSOLUTE_ZERO = {"degC": -273.15, "degF": -459.67, "kelvin": 0.0, "degR": 0.0}


def _note(value: object, from_unit: str, to_unit: str) -> str:
    """For EXPLAIN: a text that brings its own unit."""
    unit = _read(value)[1]
    return f"the value's own unit {unit} is used" if unit else ""


@cell_function(
    "HOPPER_CONVERT",
    question="What is this figure in another unit?",
    summary="One value converted from one unit to another.",
    arguments=(
        Argument(
            "value",
            'The value: a number in from_unit, or text with its own unit, "45 kg/h", which is '
            "then used.",
            kind="cell",
        ),
        Argument(
            "from_unit", 'Unit of the value as text, such as "lb/ft3" or "degF".', kind="text"
        ),
        Argument("to_unit", 'Unit of the result as text, such as "kg/L" or "degC".', kind="text"),
    ),
    result=Result("the value in to_unit"),
    equation="value x (from_unit / to_unit)",
    assumptions="Btu is the International Table one, gal the US gallon, t the metric ton.",
    source="NIST SP 811 (2008), appendix B.8 and B.9",
    example=Example((1, "lb/ft3", "kg/m3"), 16.01846, "NIST SP 811 appendix B.8", 5e-7),
    units=False,
    note=_note,
    carried="HOPPERSHEET_CONVERTED({value},{from_unit},{to_unit})",
)
def convert(value: object, from_unit: str, to_unit: str) -> float:
    """``value`` in ``to_unit``; the unit of a text such as ``"45 kg/h"`` wins over ``from_unit``.

    Raises:
        WrongKind: not a number, unknown unit, or units of different dimension.
        OutOfRange: a temperature below absolute zero, or a result too large for a number.
    """
    number, own_unit = _read(value)
    for argument, unit in (("from_unit", from_unit), ("to_unit", to_unit)):
        try:
            expression(unit)
        except WrongKind as problem:
            raise WrongKind(problem.reason, argument) from None
    try:
        scale, offset = factor(from_unit, to_unit)
    except WrongKind as problem:
        raise WrongKind(problem.reason, "to_unit") from None
    if own_unit:
        try:
            scale, offset = factor(own_unit, to_unit)
        except WrongKind as problem:
            raise WrongKind(f"{shown(value)}: {problem.reason}", "value") from None
        from_unit = own_unit
    lowest = ABSOLUTE_ZERO.get(expression(from_unit))
    if lowest is not None and number < lowest:
        raise OutOfRange(
            f"{number:g} {from_unit} is below absolute zero, {lowest:g} {from_unit}", "value"
        )
    result = number * scale + offset
    if not isfinite(result):
        raise OutOfRange(f"{number:g} {from_unit} is too large for a number in {to_unit}", "value")
    return float(f"{result:.15g}")


def _read(value: object) -> tuple[float, str]:
    """(number, the unit that a text gives itself, else ``""``)."""
    if isinstance(value, str) and not is_error(value):
        try:
            number, unit = split_number(value)
        except (WrongKind, OutOfRange):
            unit = ""  # said below, with the name of the argument
        if unit:
            return number, unit
    return number_of(value, "value"), ""
