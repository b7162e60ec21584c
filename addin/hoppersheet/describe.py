"""What a cell function is, in words: for the function guide, ``functions NAME`` and EXPLAIN."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from .cells.quantities import QUANTITIES, SYSTEMS, Quantity
from .cells.wording import in_system, rounded
from .registry import REQUIRED, Argument, CellFunction

__all__ = ["ArgumentWords", "argument_words", "equations", "facts", "units_of"]

_NO_CAUTIONS: Mapping[str, str] = MappingProxyType({})
_KINDS = {"text": "a text", "cell": "a number or a text"}


class ArgumentWords(NamedTuple):
    """One argument in words; ``""`` where there is nothing to say.

    Attributes:
        name, text: as in the record.
        unit: unit of plain numbers, ``"ft3 (metric L)"``.
        allowed: the options, or the hard limits in both unit systems.
        usual: the usual range, outside which a value is computed and remarked on.
        left_out: ``"required"``, or the default.
    """

    name: str
    text: str
    unit: str
    allowed: str
    usual: str
    left_out: str


def argument_words(argument: Argument) -> ArgumentWords:
    """An argument in words."""
    measure = argument.measure
    if argument.kind == "rest":
        left_out = "may be none"
    else:
        left_out = "required" if argument.default is REQUIRED else str(argument.default)
    return ArgumentWords(
        argument.name,
        argument.text,
        units_of(measure) if measure else "",
        _allowed(argument),
        _span(measure.typical, measure) if measure and measure.typical else "",
        left_out,
    )


def equations(function: CellFunction) -> dict[str, str]:
    """Option -> equation; the option is ``""`` where no choice changes it."""
    equation = function.equation
    if isinstance(equation, Mapping):
        return dict(equation)
    return {"": equation} if equation else {}


def facts(
    function: CellFunction, cautions: Mapping[str, str] = _NO_CAUTIONS
) -> list[tuple[str, str]]:
    """(title, sentence without its point): result, equation, assumptions, cautions, source.

    Args:
        function: the record.
        cautions: name of an argument -> the caution that belongs to it.
    """
    result = function.result
    unit = units_of(QUANTITIES[result.quantity]) if result.quantity else ""
    kind = _KINDS.get(result.kind, "")
    result_text = f"{result.text}, {unit}" if unit else result.text
    items = [("Result", f"{result_text} ({kind})" if kind else result_text)]
    items += [
        (f"Computed as ({option})" if option else "Computed as", text)
        for option, text in equations(function).items()
    ]
    items.append(("Assumes", function.assumptions))
    about = dict.fromkeys(cautions[a.name] for a in function.arguments if a.name in cautions)
    items.append(("Caution", " ".join(about)))
    items.append(("Source", function.source))
    return [(title, text.rstrip(".")) for title, text in items if text]


def units_of(measure: Quantity) -> str:
    """``"ft3 (metric L)"``; nothing for a plain ratio."""
    us, metric = (_unit(measure, system) for system in SYSTEMS)
    return us if us == metric else f"{us} (metric {metric})"


def _unit(measure: Quantity, system: str) -> str:
    unit = measure.unit(system)
    return "" if unit == "1" else unit


def _allowed(argument: Argument) -> str:
    if argument.choices:
        options = []
        for option, others in argument.choices.items():
            also = f" (also {', '.join(others)})" if others else ""
            options.append(f'"{option}"{also}')
        return " or ".join(options)
    measure, limits = argument.measure, argument.limits
    if measure is None or limits is None:
        return ""
    if argument.kind == "shares":
        return "0 to 1, or 0 to 100 as percentages"
    return _span(limits, measure)


def _span(limits: tuple[float, float], measure: Quantity) -> str:
    """``"0.0353 to 353 ft3 (1 to 10000 L)"``."""
    spans = []
    for system in SYSTEMS:
        low, high = (_decimal(in_system(x, measure.name, system)) for x in limits)
        spans.append(f"{low} to {high} {_unit(measure, system)}".strip())
    return spans[0] if spans[0] == spans[1] else f"{spans[0]} ({spans[1]})"


def _decimal(number: float) -> str:
    """Like :func:`rounded`, but small numbers without an exponent, as people read them."""
    return f"{number:.8f}".rstrip("0") if 1e-6 <= abs(number) < 1e-3 else rounded(number)
