"""Where a cell function is defined exactly once.

A topic file, most of them in :mod:`hoppersheet.sizing`, decorates a pure function with
:func:`cell_function`. The record that results is the single source of everything a surface needs:
the worksheet functions of Excel and Calc, the command line's help, the function guide, EXPLAIN's
text and the first test vector. Nothing is parsed from prose.

The decorated function works on SI floats (lists of them for ranges) and knows nothing of cells,
units or hosts; :mod:`hoppersheet.call` does all of that from the record.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from .cells.quantities import QUANTITIES, SYSTEMS, Quantity

__all__ = [
    "CATEGORY",
    "FUNCTIONS",
    "REQUIRED",
    "UNITS",
    "Argument",
    "CellFunction",
    "Example",
    "Result",
    "cell_function",
]

#: The category under which the hosts list the functions.
CATEGORY = "Drying hopper"


class _Required:
    """Marks an argument that has no default."""

    def __repr__(self) -> str:
        return "REQUIRED"

    def __bool__(self) -> bool:
        return False


REQUIRED = _Required()
_NO_CHOICES: Mapping[str, tuple[str, ...]] = MappingProxyType({})


class Argument(NamedTuple):
    """One argument of a cell function.

    Attributes:
        name: lower case with underscores; frozen once released.
        text: for the function wizards, at most 200 characters, begins with the quantity.
        quantity: key of :data:`~hoppersheet.cells.quantities.QUANTITIES`, or ``""`` where the value
            is text or a raw cell.
        kind: what the sizing function receives:

            ``"number"``   one float in SI
            ``"numbers"``  a range as a flat list of floats in SI, blanks dropped
            ``"estimate"`` three adjacent cells low, likely, high, or one cell for a fixed value:
                           a list of three floats in SI that do not fall
            ``"positions"``   like numbers, but a blank is kept as None so that positions count
            ``"pairs"``    like numbers; belongs to the function's other "pairs" ranges cell by
                           cell: blank in all is dropped, blank in one is ``#VALUE!``
            ``"shares"``   like pairs, as fractions that sum to 1
            ``"choice"``   one of ``choices``, lower case
            ``"text"``     the text as typed, without outer blanks
            ``"cell"``     one raw cell value
            ``"cells"``    a range as a list of rows of raw cell values
            ``"rest"``     all further arguments, raw (always the last one)
        default: value taken when the argument is omitted, as the user would type it.
        choices: canonical option -> other spellings of it.
        low, high: hard limits in SI that replace those of the quantity.
        known: for an argument of kind text or cells, gives the words that are understood in it
            (names, headings), each with the quantity of its numbers, ``""`` for text.
        actual_flow: for an airflow that may be typed as a standard or normal flow, which is a
            mass of air: (that flow in m3/s, its reference temperature in degC, the other values
            by name) -> the actual flow in m3/s. Without it such a flow is refused.
    """

    name: str
    text: str
    quantity: str = ""
    kind: str = "number"
    default: Any = REQUIRED
    choices: Mapping[str, tuple[str, ...]] = _NO_CHOICES
    low: float | None = None
    high: float | None = None
    known: Callable[[], Mapping[str, str]] | None = None
    actual_flow: Callable[[float, float, Mapping[str, Any]], float] | None = None

    @property
    def required(self) -> bool:
        """Whether the argument must be given."""
        return self.default is REQUIRED and self.kind != "rest"

    @property
    def is_range(self) -> bool:
        """Whether more than one cell is accepted."""
        return self.kind in ("numbers", "estimate", "positions", "pairs", "shares", "cells")

    @property
    def measure(self) -> Quantity | None:
        """The quantity, or None for text and raw cells."""
        return QUANTITIES[self.quantity] if self.quantity else None

    @property
    def limits(self) -> tuple[float, float] | None:
        """Hard limits in SI, or None where there are none."""
        if not self.quantity:
            return None
        measure = QUANTITIES[self.quantity]
        return (
            measure.low if self.low is None else self.low,
            measure.high if self.high is None else self.high,
        )


#: The argument that every function with units has, always last.
UNITS = Argument(
    "units",
    'Unit system of plain numbers and of the result: "US" (default) or "metric".',
    kind="choice",
    default=SYSTEMS[0],
    choices=dict.fromkeys(SYSTEMS, ()),
)


class Result(NamedTuple):
    """What a cell function returns.

    Attributes:
        text: what it is, one phrase.
        quantity: key of QUANTITIES for a number with a unit, else ``""``.
        kind: ``"number"``, ``"text"``, ``"cell"`` (number or text) or ``"table"``.
        limited: refuse a result outside the quantity's hard limits (``#NUM!``).
    """

    text: str
    quantity: str = ""
    kind: str = "number"
    limited: bool = False


class Example(NamedTuple):
    """One worked example: cell values in, value out; also the first test vector."""

    arguments: tuple[Any, ...]
    value: Any
    source: str
    tolerance: float = 1e-6


class CellFunction(NamedTuple):
    """Everything there is to know about one cell function."""

    name: str
    function: Callable[..., Any]
    #: What a user wants to know who needs this function, as they would ask.
    question: str
    summary: str
    arguments: tuple[Argument, ...]
    result: Result
    #: In terms of the argument names; one per option where a choice changes the equation.
    equation: str | Mapping[str, str]
    assumptions: str
    source: str
    example: Example
    topic: str
    #: Called with the function's own inputs: what EXPLAIN adds about this very call, or "".
    note: Callable[..., str] | None = None
    #: The same as a formula of spreadsheet functions alone, see
    #: :mod:`hoppersheet.handoff.translator`; one per option where a choice changes it; "" where
    #: there is none.
    plain: str | Mapping[str, str] = ""
    #: The same with functions of Microsoft 365, for the LAMBDA that a workbook carries
    #: (:mod:`hoppersheet.carried`); "" where ``plain`` does.
    carried: str = ""
    #: Names of functions that give what this one takes, take what it gives, or answer nearly
    #: the same question.
    see_also: tuple[str, ...] = ()

    @property
    def has_units(self) -> bool:
        """Whether the last argument is the unit system."""
        return bool(self.arguments) and self.arguments[-1] is UNITS

    @property
    def only_numbers(self) -> bool:
        """Whether it takes only numbers, ranges of numbers and choices, and gives a number.

        What a host has its own form for, such as the large negative integer that is an error in
        Excel or the NaN that is one in Calc, is refused by the limits of every such argument.
        """
        numbers = ("number", "numbers", "estimate", "positions", "pairs", "shares", "choice")
        return bool(self.result.quantity) and all(a.kind in numbers for a in self.arguments)

    @property
    def takes_units(self) -> bool:
        """Whether the Python function itself wants to know the unit system."""
        code = self.function.__code__
        return self.has_units and UNITS.name in code.co_varnames[: code.co_argcount]

    @property
    def signature(self) -> str:
        """For people: ``HOPPER_X(volume, [reserve], [units])``."""
        names = (
            f"{a.name}..." if a.kind == "rest" else a.name if a.required else f"[{a.name}]"
            for a in self.arguments
        )
        return f"{self.name}({', '.join(names)})"

    def argument(self, name: str) -> Argument:
        """The argument called ``name``; KeyError if there is none."""
        for argument in self.arguments:
            if argument.name == name:
                return argument
        raise KeyError(name)


#: Name -> record of every function whose module has been imported. Filled by the decorator alone;
#: :mod:`hoppersheet.functions` imports them all and knows their order.
FUNCTIONS: dict[str, CellFunction] = {}


def cell_function(
    name: str,
    *,
    question: str,
    summary: str,
    result: Result,
    equation: str | Mapping[str, str],
    source: str,
    example: Example,
    arguments: tuple[Argument, ...] = (),
    assumptions: str = "",
    units: bool = True,
    note: Callable[..., str] | None = None,
    plain: str | Mapping[str, str] = "",
    carried: str = "",
    see_also: tuple[str, ...] = (),
    topic: str = "",
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Register the decorated pure function as the cell function ``name``.

    The decorated function takes one parameter per argument, by position and under the same
    names, without ``units`` (unless it asks for it by having a parameter of that name).
    ``units=False``: the function has no unit system, its numbers mean the same in both.
    ``note``: takes the same parameters and says what EXPLAIN is to add about a call.
    ``plain``: the same in functions of Excel 2010 and Calc 7.4, for inputs within their limits;
    ``{name}`` is an argument, ``[2.2|1]`` a number that is 2.2 in US and 1 in metric units.
    ``topic``: the heading under which the guide has it, where that is not its file's name.
    ``carried``: the same in functions of Microsoft 365 and the hidden names of
    :mod:`hoppersheet.carried`, where there is no ``plain``.
    """

    def register(function: Callable[..., Any]) -> Callable[..., Any]:
        if name in FUNCTIONS:
            raise ValueError(f"{name} is registered twice")
        FUNCTIONS[name] = CellFunction(
            name=name,
            function=function,
            question=question,
            summary=summary,
            arguments=(*arguments, UNITS) if units else arguments,
            result=result,
            equation=equation,
            assumptions=assumptions,
            source=source,
            example=example,
            topic=topic or function.__module__.rpartition(".")[2],
            note=note,
            plain=plain,
            carried=carried,
            see_also=see_also,
        )
        return function

    return register
