"""One value from one unit to another, by the same closed table that the cells use."""

from __future__ import annotations

from math import isfinite

from ..call_values import number_of
from ..errors import OutOfRange, WrongKind
from ..registry import Argument, Example, Result, cell_function
from ..units import expression, factor

__all__ = ["ABSOLUTE_ZERO", "convert"]

#: pint's name of a temperature unit -> absolute zero in it
ABSOLUTE_ZERO = {"degC": -273.15, "degF": -459.67, "kelvin": 0.0, "degR": 0.0}


@cell_function(
    "HOPPER_CONVERT",
    question="What is this figure in another unit?",
    summary="One value converted from one unit to another.",
    arguments=(
        Argument("value", "The value, a number.", kind="cell"),
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
)
def convert(value: object, from_unit: str, to_unit: str) -> float:
    """``value`` in ``to_unit``.

    Raises:
        WrongKind: not a number, unknown unit, or units of different dimension.
        OutOfRange: a temperature below absolute zero, or a result too large for a number.
    """
    number = number_of(value, "value")
    for argument, unit in (("from_unit", from_unit), ("to_unit", to_unit)):
        try:
            expression(unit)
        except WrongKind as problem:
            raise WrongKind(problem.reason, argument) from None
    try:
        scale, offset = factor(from_unit, to_unit)
    except WrongKind as problem:
        raise WrongKind(problem.reason, "to_unit") from None
    lowest = ABSOLUTE_ZERO.get(expression(from_unit))
    if lowest is not None and number < lowest:
        raise OutOfRange(
            f"{number:g} {from_unit} is below absolute zero, {lowest:g} {from_unit}", "value"
        )
    result = number * scale + offset
    if not isfinite(result):
        raise OutOfRange(f"{number:g} {from_unit} is too large for a number in {to_unit}", "value")
    return float(f"{result:.15g}")
