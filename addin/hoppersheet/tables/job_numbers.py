"""Readers of one column's cells, made from how the list is read."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from ..cells.numbers_in_text import shown
from ..cells.quantities import QUANTITIES
from ..cells.reading import number_reader, refuse
from ..cells.units import HOME_FACTORS, factor
from ..cells.values import is_blank, number_of
from ..errors import CellError, OutOfRange, WrongKind
from ..registry import Argument
from .heading_words import plain_text
from .job_cells import ClockTime, Percent, ShownWithUnit, ambiguous, typed
from .jobreading.reading import Column
from .jobwords.recipes import NONE, is_ratio_of_shares

__all__ = ["Reader", "column_reader", "share_reader", "with_its_unit"]

#: Reads a cell; None for a blank where the column may have some.
Reader = Callable[[Any], Any]
_LARGE = 10**15  # integers up to here are floats without a loss
_TIMES = ("drying hours", "cycle time")
#: Nobody means 3/4 of an hour or of a pound per hour by "3/4" under these.
_NO_FRACTIONS = ("drying hours", "throughput")
#: A cell shown as 0:30 holds half an hour; who types a cycle into it means half a minute.
_LONGEST_CYCLE = 300.0


def with_its_unit(cell: Any, unit: Any) -> Any:
    """A cell with the unit that stands in the column of units beside it."""
    if is_blank(cell):
        return cell
    if isinstance(cell, ShownWithUnit):
        return cell.text
    if isinstance(cell, str):
        try:
            if typed(cell).unit:
                return cell
        except CellError:
            return cell
        number = cell.strip()
    else:
        number = f"{cell:.15g}" if isinstance(cell, (int, float)) else str(cell)
    return f"{number} {unit}" if not is_blank(unit) else f"{number} (no unit)"


def refuse_date(cell: Any, argument: str) -> None:
    """Refuse a cell that shows a date: its number counts days and is nobody's figure."""
    if isinstance(cell, date):
        raise WrongKind(f"the cell shows a date, {cell}", argument)


#: A rate "up to 220" and hours "at least 4" are what the hopper is for; other limits are asked for.
_TAKEN_ROUGHLY = {
    "throughput": ("", "about", "at most"),
    "drying hours": ("", "about", "at least"),
}


def _minutes_or_hours(text: str) -> WrongKind:
    return WrongKind(
        f"{shown(text)} as a cycle: minutes and seconds, or hours and minutes? Type the seconds",
        "cycle time",
    )


def _may_be_thousands(text: str) -> bool:
    """Whether digits with one point could be thousands: ``1.250``."""
    at = text.find(".")
    return 0 < at <= 3 and len(text) - at == 4 and text[0] != "0"


def _of_sign(text: str, sign: str, fits: Callable[[float], bool]) -> tuple[float, str]:
    """(number, unit) of a text under the list's decimal sign."""
    found = typed(text)
    if found.value is not None:
        return found.value, found.unit
    if sign:
        return (found.if_comma if sign == "," else found.if_point), found.unit
    possible = [value for value in (found.if_comma, found.if_point) if fits(value)]
    if len(possible) == 1:
        return possible[0], found.unit
    raise ambiguous(text)


def _first_as_plain(
    read: Reader, scale: float, low: float, high: float, blank_is_none: bool
) -> Reader:
    """Reads a cell of a column whose cells are all plain; what lies out of limits is left to read.

    The survey has looked at every cell, so what :class:`~.jobreading.reading.Column` calls plain
    need not be looked at again, cell by cell.
    """

    def read_plain(cell: Any) -> Any:
        if type(cell) is str:
            if cell:
                si = float(cell) * scale
                if low <= si <= high:
                    return si
            elif blank_is_none:
                return None
        return read(cell)

    return read_plain


def column_reader(column: Column, system: str, blank_is_none: bool = False) -> Reader:
    """A function that reads one cell of a numeric column as an SI float within the hard limits.

    Args:
        column: how the column is read.
        system: unit system of the messages.
        blank_is_none: a blank gives None instead of a refusal.
    """
    quantity, sign = column.quantity, column.sign
    argument = Argument(column.name, "", quantity)
    measure = QUANTITIES[quantity]
    plain = factor(column.unit, measure.si) if column.unit else HOME_FACTORS[measure.unit(system)]
    scale, offset = plain
    low, high = measure.low, measure.high
    refusing = number_reader(argument, system, column.unit)
    point = sign == "."
    percent = column.mode == "percent"
    if percent:
        scale = 0.01

    def in_limits(si: float, cell: str) -> float:
        if low * (1 - 1e-12) <= si <= high * (1 + 1e-12):
            return min(max(si, low), high)
        raise refuse(si, argument, system, cell)

    def from_text(text: str) -> float:
        try:
            found = typed(text)
            if found.roughly not in _TAKEN_ROUGHLY.get(quantity, ("", "about")):
                raise WrongKind(f"{shown(text)} is a limit; type one number", column.name)
            if found.how == "clock":
                if quantity not in _TIMES:
                    raise WrongKind(f"{shown(text)} is a clock time", column.name)
                if quantity == "cycle time" and text.count(":") == 1:
                    raise _minutes_or_hours(text)
                return in_limits((found.value or 0.0) * 3600.0, text)
            if found.how == "fraction" and quantity in _NO_FRACTIONS and (found.value or 0) < 1:
                raise WrongKind(
                    f"{shown(text)}: a fraction, or from one to the other?", column.name
                )
            number, unit = _of_sign(
                text, sign, lambda v: low <= v * scale + offset <= high if not found.unit else True
            )
        except CellError as problem:
            problem.argument = problem.argument or column.name
            raise
        if not unit:
            if found.how == "fraction" and measure.us == "1":
                return in_limits(number, text)
            return in_limits(number * scale + offset, text)
        try:
            its_scale, its_offset = factor(unit, measure.si)
        except WrongKind:
            return float(
                refusing(f"{number:.15g} {unit}")
            )  # which says what is wrong with the unit
        return in_limits(number * its_scale + its_offset, text)

    def small_percent(value: float) -> WrongKind:
        return WrongKind(
            f"{value:.6g} among percentages is ambiguous: {value:.6g} % or {value * 100:.6g} %? "
            "Type it with its percent sign",
            column.name,
        )

    def read(cell: Any) -> float | None:
        kind = type(cell)
        if kind is float or (kind is int and -_LARGE < cell < _LARGE):
            if percent and 0 < cell <= 1:
                raise small_percent(cell)
            si = cell * scale + offset
            if low <= si <= high:
                return float(si)
            if percent and si > high:
                raise refuse(si, argument, system)
        elif kind is str:
            plain = cell.isascii() and cell.replace(".", "", 1).isdigit()
            if plain and (point or not _may_be_thousands(cell)):
                si = float(cell) * scale + offset
                if percent and 0 < si <= 0.01:
                    raise small_percent(si * 100)
                if low <= si <= high:
                    return si
            if cell and not cell.isspace():
                return from_text(cell)
            if blank_is_none:
                return None
        elif kind is ClockTime:
            if quantity == "cycle time" and cell * 86400.0 >= _LONGEST_CYCLE:
                raise _minutes_or_hours(f"{cell * 1440:.6g} min")
            if quantity in _TIMES:
                return in_limits(cell * 86400.0, f"{cell * 24:.6g} h")
            raise WrongKind(f"the cell shows a time, {cell * 24:.6g} h", column.name)
        elif kind is Percent:
            if measure.us == "1":
                return in_limits(float(cell), "")
            raise WrongKind(f"{cell * 100:.6g} % is not a {measure.called}", column.name)
        elif kind is ShownWithUnit:
            return from_text(cell.text)
        elif cell is None and blank_is_none:
            return None
        refuse_date(cell, column.name)
        return float(refusing(cell))

    if column.plain and not percent and not offset:
        return _first_as_plain(read, scale, low, high, blank_is_none)
    return read


def share_reader(column: Column) -> Reader:
    """A function that reads one cell of a column of shares.

    A plain number comes as it stands, because the whole row tells percent from fraction; one that
    says itself that it is a fraction of 1, as a :class:`~.job_cells.Percent`; None for a blank.
    """
    sign = column.sign
    point = sign == "."

    def read(cell: Any) -> float | None:
        kind = type(cell)
        if kind is Percent:
            return Percent(cell)
        if kind is ShownWithUnit:
            return read(cell.text)
        if cell is None:
            return None
        if kind is str:
            if not cell or cell.isspace():
                return None
            plain = cell.isascii() and cell.replace(".", "", 1).isdigit()
            if plain and (point or not _may_be_thousands(cell)):
                number = float(cell)
                if number <= 100.1:
                    return number
            if plain_text(cell) in NONE:
                return Percent(0.0) if column.name != "virgin share" else None
            try:
                found = typed(cell)
                if found.roughly not in ("", "about"):
                    raise WrongKind(f"{shown(cell)} is a limit; type one number")
                number, unit = _of_sign(cell, sign, lambda v: 0.0 <= v <= 100.0)
                if unit.casefold() in ("%", "percent", "pct", "prozent"):
                    return Percent(_checked(number / 100, cell, 1.001))
                if unit or found.how == "clock":
                    raise WrongKind(f"{shown(cell)} is not a share; type a percentage")
                if found.how == "fraction":
                    if is_ratio_of_shares(cell):
                        raise WrongKind(
                            f"{shown(cell)} is two shares, and the heading does not say which is "
                            "which; type one percentage"
                        )
                    return Percent(number)
            except CellError as problem:
                problem.argument = problem.argument or column.name
                raise
            return _checked(number, cell, 100.1)
        refuse_date(cell, column.name)
        number = number_of(cell, column.name)
        return _checked(number, f"{number:.15g}", 100.1)

    def _checked(number: float, text: str, high: float) -> float:
        if 0.0 <= number <= high:
            return number
        if number < 0.0:
            raise OutOfRange(f"{text.strip()} is below 0", column.name)
        raise OutOfRange(f"{text.strip()}{'' if '%' in text else ' %'} is above 100 %", column.name)

    return _first_as_plain(read, 1.0, 0.0, 100.1, True) if column.plain else read
