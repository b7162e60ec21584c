"""The only door: from raw cell values to a value or an error.

:func:`call` takes what a cell holds (number, text, TRUE/FALSE, blank, an error, a range as a
list of rows), reads it by the function's record in the registry, runs the pure function on SI
floats, and gives the answer in the unit system of the sheet. Every surface goes through here.

Order of reading: number of arguments, unit system, each argument by its kind, ranges that
belong together, and only then the calculation. An error among the inputs wins over any other
problem, as in the spreadsheet's own functions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import isfinite
from sys import float_info
from typing import Any, NamedTuple

from .cells.numbers_in_text import shown
from .cells.quantities import SYSTEMS
from .cells.ranges import align, positions_in_step, reader
from .cells.reading import StandardFlow, choice_reader, refuse
from .cells.units import did_you_mean
from .cells.values import OMITTED, as_rows, cell_out, is_error
from .cells.wording import in_both, number_writer
from .errors import CellError, ErrorIn, OutOfRange, WrongKind
from .registry import FUNCTIONS, UNITS, Argument, CellFunction, Result

__all__ = ["OMITTED", "Again", "Inputs", "call", "find", "read_inputs"]

_SYSTEM_WORDS = frozenset(system.casefold() for system in SYSTEMS)


class Inputs(NamedTuple):
    """What a function was really given: for EXPLAIN and the audit."""

    function: CellFunction
    system: str
    #: argument name -> value as the sizing function receives it (SI)
    values: dict[str, Any]
    #: names of the arguments that were left out and took their default
    defaulted: tuple[str, ...]


class _Plan:
    """The readers and the writer of one function, made once."""

    def __init__(self, function: CellFunction) -> None:
        self.function = function
        arguments = function.arguments
        self.most = len(arguments)
        self.units_at = self.most - 1 if function.has_units else None
        self.read_units = choice_reader(UNITS)
        self.takes_units = function.takes_units
        self.takes_rest = bool(arguments) and arguments[-1].kind == "rest"
        self.arguments = tuple(a for a in arguments if a is not UNITS and a.kind != "rest")
        self.in_step = positions_in_step(self.arguments)
        self.flows = [i for i, a in enumerate(self.arguments) if a.actual_flow is not None]
        self.readers = {s: tuple((a, reader(a, s)) for a in self.arguments) for s in SYSTEMS}
        self.defaults = {
            system: {a.name: read(a.default) for a, read in readers if not a.required}
            for system, readers in self.readers.items()
        }
        self.writers = {system: _writer(function.result, system) for system in SYSTEMS}

    def system(self, cells: tuple[Any, ...]) -> str:
        at = self.units_at
        if at is None or len(cells) <= at or cells[at] is OMITTED:
            return SYSTEMS[0]
        return self.read_units(cells[at])

    def default(self, argument: Argument, system: str) -> Any:
        if argument.required:
            raise WrongKind(
                f"the argument is missing; type {self.function.signature}", argument.name
            )
        return self.defaults[system][argument.name]

    def read(self, cells: tuple[Any, ...], system: str) -> list[Any]:
        given = len(cells)
        if given > self.most and not self.takes_rest:
            raise WrongKind(
                f"{given} arguments are too many; {self.function.signature} takes {self.most}"
            )
        padded = cells + (OMITTED,) * (len(self.arguments) - given)
        values = [
            read(cell) if cell is not OMITTED else self.default(argument, system)
            for (argument, read), cell in zip(self.readers[system], padded)  # noqa: B905 units, rest
        ]
        if self.in_step:
            align(self.arguments, self.in_step, values, cells)
        for i in self.flows:
            if isinstance(values[i], StandardFlow):
                known = dict(zip((a.name for a in self.arguments), values))  # noqa: B905 as many
                values[i] = values[i].actual(self.arguments[i], known, system)
        return values

    def run(self, cells: tuple[Any, ...]) -> Any:
        system = SYSTEMS[0]
        try:
            system = self.system(cells)
            values = self.read(cells, system)
            if self.takes_units:
                values.append(system)
            if self.takes_rest:
                values.extend(cells[len(self.arguments) :])
            return self.writers[system](self.function.function(*values))
        except CellError as problem:
            better = self.first_error(cells) or self.misplaced_units(cells)
            if better is not None:
                raise better from None
            problem.word(lambda si, quantity: in_both(si, quantity, system))
            raise

    def first_error(self, cells: tuple[Any, ...]) -> ErrorIn | None:
        """The first error value among the inputs; raw ranges are the function's own business."""
        for argument, cell in zip(self.function.arguments, cells):  # noqa: B905 fewer may be given
            if argument.kind in ("cells", "rest"):
                continue
            for row in as_rows(cell):
                for value in row:
                    if is_error(value):
                        return ErrorIn(value, argument.name)
        return None

    def misplaced_units(self, cells: tuple[Any, ...]) -> WrongKind | None:
        """The error for a unit system typed one argument too early, which is easily done.

        It is the cause of whatever else is wrong: metric numbers were read as US ones.
        """
        if self.units_at is None:
            return None
        for argument, cell in zip(self.arguments, cells):  # noqa: B905 fewer may be given
            if isinstance(cell, str) and cell.strip().casefold() in _SYSTEM_WORDS:
                return WrongKind(
                    f"{shown(cell)} is a unit system and belongs in the last argument, units; an "
                    "argument left out before it still needs its separator",
                    argument.name,
                )
        return None


def _writer(result: Result, system: str) -> Callable[[Any], Any]:
    """A function that makes what a cell shows of what the sizing function gave."""
    if not result.quantity:
        return cell_out if result.kind in ("number", "cell") else _as_it_is
    write = number_writer(result.quantity, system)
    limited = Argument("", "", result.quantity)
    low, high = -float_info.max, float_info.max
    if result.limited and limited.limits:
        low, high = limited.limits

    def number(si: float) -> float:
        if low <= si <= high:
            return write(si)
        if not isfinite(si):
            raise OutOfRange("the result is too large for a number")
        reason = refuse(si, limited, system).reason.partition(";")[0]
        raise OutOfRange(f"the result cannot be right: {reason}")

    return number


def _as_it_is(result: Any) -> Any:
    return result


_PLANS: dict[str, _Plan] = {}


def find(name: str) -> CellFunction:
    """The record of the function ``name`` (any case).

    Raises:
        WrongKind: there is no such function; names the nearest one.
    """
    wanted = name.strip().upper()
    found = FUNCTIONS.get(wanted)
    if found is None:
        # Every name begins alike: compare what follows, so that a near name is really near.
        prefix = "HOPPER_"
        near = did_you_mean(wanted.replace(prefix, "", 1), {n[len(prefix) :] for n in FUNCTIONS})
        hint = near.replace("mean '", f"mean '{prefix}")
        raise WrongKind(f"there is no function {shown(name)}{hint}", "function_name")
    return found


def _plan(name: str) -> _Plan:
    function = find(name)
    plan = _PLANS.get(function.name)
    if plan is None:
        plan = _PLANS[function.name] = _Plan(function)
    return plan


def call(name: str, *cells: Any) -> Any:
    """Compute the cell function ``name`` on raw cell values.

    Args:
        name: e.g. ``"HOPPER_REQUIRED_VOLUME"``, in any case.
        cells: one value per argument, as cells hold them: number, text, bool, ``None`` for a
            blank, an error as its text (``"#N/A"``), a range as a list of rows; :data:`OMITTED`
            or nothing for an optional argument that is left out.

    Returns:
        A float or text, or a list of rows of these. In a list an error is its text.

    Raises:
        CellError: the cell shows ``.code``; ``.argument`` and ``.reason`` say why.
    """
    return (_PLANS.get(name) or _plan(name)).run(cells)


def read_inputs(name: str, cells: Iterable[Any]) -> Inputs:
    """Read the arguments of a call without computing it.

    Raises:
        CellError: as :func:`call` would for these inputs.
    """
    plan, given = _plan(name), tuple(cells)
    system = plan.system(given)
    values = plan.read(given, system)
    names = [a.name for a in plan.arguments]
    defaulted = tuple(
        a.name
        for i, a in enumerate(plan.function.arguments)
        if a.kind != "rest" and (i >= len(given) or given[i] is OMITTED)
    )
    return Inputs(plan.function, system, dict(zip(names, values)), defaulted)  # noqa: B905


class Again:
    """One call to be made many times with other cells in some arguments; the rest is read once.

    Args:
        name: name of the function.
        cells: the raw cells of the call as it is, which must be readable.

    Raises:
        CellError: as :func:`call` would for these inputs.
    """

    def __init__(self, name: str, cells: Iterable[Any]) -> None:
        self._plan, self._cells = _plan(name), tuple(cells)
        self._system = self._plan.system(self._cells)
        self._values = self._plan.read(self._cells, self._system)
        self._each_anew = self._plan.takes_rest or bool(self._plan.flows)

    def call(self, other: dict[int, Any]) -> Any:
        """What the function gives with other raw cells: position of an argument -> cell.

        Raises:
            CellError: as :func:`call` would.
        """
        plan, values = self._plan, list(self._values)
        cells = list(self._cells)
        for at, cell in other.items():
            cells[at] = cell
        given = tuple(cells)
        if self._each_anew or plan.units_at in other:
            return plan.run(given)
        readers = plan.readers[self._system]
        try:
            for at, cell in other.items():
                values[at] = readers[at][1](cell)
            if not other.keys().isdisjoint(plan.in_step):
                align(plan.arguments, plan.in_step, values, given)
            if plan.takes_units:
                values.append(self._system)
            return plan.writers[self._system](plan.function.function(*values))
        except CellError:
            return plan.run(given)  # says what is wrong
