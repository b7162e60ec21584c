"""Read what one cell holds, as an SI number within limits, a text or a choice.

A reader is made once per argument and unit system, from the argument's record, and then reads raw
cells: number, text with or without a unit, TRUE/FALSE, blank, an error. What it cannot read it
refuses with a :class:`CellError` that says the value and the limit. Ranges are in :mod:`.ranges`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import inf, isfinite
from typing import Any, NamedTuple

from ..errors import SHEET_ERRORS, CellError, ErrorIn, NotThisQuantity, OutOfRange, WrongKind
from ..registry import Argument
from .numbers_in_text import shown, split_number
from .units import HOME_FACTORS, STANDARD_FLOWS, canonical, did_you_mean, factor
from .values import is_blank, is_error, number_of
from .wording import in_both, in_system, rounded, with_unit

__all__ = [
    "Reader",
    "StandardFlow",
    "choice_reader",
    "flow_reader",
    "fractions",
    "number_reader",
    "refuse",
    "single_cell",
    "text_of",
]

Reader = Callable[[Any], Any]

_LARGE = 10**15  # integers up to here are floats without a loss


def single_cell(cell: Any, argument: Argument) -> Any:
    """The one cell of an argument that takes one; a range of several is refused."""
    if not isinstance(cell, (list, tuple)):
        return cell
    cells = [value for row in cell for value in (row if isinstance(row, (list, tuple)) else (row,))]
    if len(cells) != 1:
        raise WrongKind(f"a range of {len(cells)} cells where one cell is expected", argument.name)
    return cells[0]


def text_of(cell: Any, argument: Argument) -> str:
    """The text in one cell, without outer blanks; anything else is refused."""
    cell = single_cell(cell, argument)
    if is_error(cell):
        raise ErrorIn(cell, argument.name)
    if is_blank(cell):
        raise WrongKind("the cell is blank", argument.name)
    if not isinstance(cell, str):
        raise WrongKind(f"{shown(cell)} is not text", argument.name)
    return cell.strip()


def choice_reader(argument: Argument) -> Reader:
    """A function that reads one cell as one of the argument's options."""
    known = {
        spelling.casefold(): option
        for option, others in argument.choices.items()
        for spelling in (option, *others)
    }
    options = " or ".join(f'"{option}"' for option in argument.choices)

    def read(cell: Any) -> str:
        if type(cell) is str and cell in argument.choices:
            return cell
        text = text_of(cell, argument)
        try:
            return known[" ".join(text.casefold().split())]
        except KeyError:
            hint = did_you_mean(text.casefold(), known)
            raise WrongKind(f"{shown(text)} is not {options}{hint}", argument.name) from None

    return read


def refuse(si: float, argument: Argument, system: str, typed: str = "") -> OutOfRange:
    """The error for a value outside the hard limits; says the value, the limit, the likely slip.

    ``typed`` is the text of the cell where that had a unit of its own.
    """
    measure, limits = argument.measure, argument.limits
    assert measure is not None and limits is not None
    below = si < limits[0]
    limit = limits[0] if below else limits[1]
    for digits in (4, 6, 9, 15):  # until the two numbers differ to the eye as they do in fact
        value, bound = (
            rounded(in_system(x, measure.name, system), n)
            for x, n in ((si, max(6, digits)), (limit, digits))
        )
        if float(value) < float(bound) if below else float(value) > float(bound):
            break
    amount = with_unit(si, measure.name, system, max(6, digits))
    if typed:
        amount = f"{shown(typed)} ({amount})"
    side = "below the lowest" if below else "above the highest"
    hint = measure.hint
    if below and si <= 0.0 <= limit:
        # Calc hands over 0 for an empty cell; a negative number needs no guess.
        hint = "an empty cell" if si == 0.0 else ""
    return OutOfRange(
        f"{measure.called} {amount} is {side} possible, "
        f"{in_both(limit, measure.name, system, digits)}"
        + (f"; often it is {hint}" if hint else ""),
        argument.name,
    )


def _a(name: str) -> str:
    """``"a volume"``, ``"an airflow"``."""
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"


def _from_text(
    text: str, argument: Argument, plain: tuple[float, float], decimal_sign: str
) -> tuple[float, str]:
    """(SI value, the text if it has a unit of its own, else ``""``) of a cell that holds text."""
    measure, limits = argument.measure, argument.limits
    assert measure is not None and limits is not None
    si_unit, (low, high) = measure.si, _widened(limits)
    if text in SHEET_ERRORS:
        raise ErrorIn(text, argument.name)

    def in_si(number: float, unit: str) -> float:
        scale, offset = factor(unit, si_unit) if unit else plain
        return number * scale + offset

    def fits(number: float, unit: str) -> bool:
        return low <= in_si(number, unit) <= high

    try:
        number, unit = split_number(text, fits, decimal_sign)
        return in_si(number, unit), text.strip() if unit else ""
    except NotThisQuantity:
        units = " or ".join(dict.fromkeys((measure.us, measure.metric)))
        wanted = "a plain number or a percentage" if units == "1" else f"a unit such as {units}"
        raise WrongKind(
            f"{shown(text)} is not {_a(measure.called)}; type {wanted}", argument.name
        ) from None
    except (WrongKind, OutOfRange) as problem:
        problem.argument = argument.name
        raise


def _widened(limits: tuple[float, float]) -> tuple[float, float]:
    """The limits with room for rounding: a value on a limit is legal in either unit system.

    A value in that room counts as the limit, so that no function sees one beyond it.
    """
    low, high = limits
    return low - 1e-12 * abs(low), high + 1e-12 * abs(high)


def number_reader(
    argument: Argument,
    system: str,
    unit: str = "",
    decimal_sign: str = "",
) -> Reader:
    """A function that reads one cell as an SI float within the hard limits.

    Args:
        argument: names the quantity and the limits.
        system: unit system of plain numbers, and of the messages.
        unit: unit of plain numbers where a heading states one; a spelling of :mod:`units`.
        decimal_sign: the sign that the list proves, so that 1.250 can be read.

    Raises:
        WrongKind: ``unit`` is unknown or measures something else. The returned function raises
            a :class:`CellError` for a cell it must refuse.
    """
    measure, limits = argument.measure, argument.limits
    assert measure is not None and limits is not None, argument
    plain = factor(unit, measure.si) if unit else HOME_FACTORS[measure.unit(system)]
    scale, offset = plain
    low, high = limits
    lowest, highest = _widened(limits)

    def read(cell: Any) -> float:
        typed = ""
        if type(cell) is float or (type(cell) is int and -_LARGE < cell < _LARGE):
            si = cell * scale + offset
            if low <= si <= high:
                return si
        cell = single_cell(cell, argument)
        if isinstance(cell, str) and not is_blank(cell):
            si, typed = _from_text(cell, argument, plain, decimal_sign)
        else:
            si = number_of(cell, argument.name) * scale + offset
        if not isfinite(si):
            raise OutOfRange(f"{shown(cell)} is too large for a number", argument.name)
        if not lowest <= si <= highest:
            raise refuse(si, argument, system, typed)
        return min(max(si, low), high)

    return read


class StandardFlow(NamedTuple):
    """A standard or normal flow as typed: the actual flow depends on other arguments."""

    flow: float  # m3/s at its own reference state
    reference: float  # degC
    typed: str

    def actual(self, argument: Argument, values: Mapping[str, Any], system: str) -> float:
        """The actual flow in m3/s, within the limits of ``argument``."""
        assert argument.actual_flow is not None
        si = argument.actual_flow(self.flow, self.reference, values)
        low, high = argument.limits or (-inf, inf)
        if not low <= si <= high:
            raise refuse(si, argument, system, self.typed)
        return si


def flow_reader(argument: Argument, system: str) -> Reader:
    """An actual flow in m3/s, or a :class:`StandardFlow` where the text names one."""
    read_actual = number_reader(argument, system)

    def read(cell: Any) -> float | StandardFlow:
        cell = single_cell(cell, argument)
        if isinstance(cell, str) and not is_blank(cell) and not is_error(cell):
            try:
                number, unit = split_number(cell)
            except CellError:
                unit = ""  # refused below, with the name of the argument
            if canonical(unit) in STANDARD_FLOWS:
                volume_flow, reference = STANDARD_FLOWS[canonical(unit)]
                return StandardFlow(number * factor(volume_flow, "m3/s")[0], reference, cell)
        return float(read_actual(cell))

    return read


def fractions(shares: list[float], argument: Argument) -> list[float]:
    """Shares as fractions that sum to 1 exactly; given as fractions or percentages."""
    total = sum(shares)
    whole = 1.0 if total < 10.0 else 100.0
    if abs(total - whole) <= 1e-3 * whole * (1 + 1e-9):
        return [share / total for share in shares]
    listed = ", ".join(rounded(share) for share in shares[:6]) + ("..." if shares[6:] else "")
    raise OutOfRange(
        f"the shares {listed} sum to {rounded(total, 6)}; they must sum to 1, or to 100 as "
        "percentages, within 0.1 %",
        argument.name,
    )
