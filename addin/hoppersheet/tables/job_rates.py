"""A job's throughput: as its cell states it, or worked out from shots or parts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from ..cells.quantities import QUANTITIES
from ..cells.values import is_blank
from ..cells.wording import with_unit
from ..errors import CellError, NoAnswer
from .job_cells import typed
from .job_numbers import Reader
from .jobreading.column_units import is_per_day, per_day_note
from .jobreading.reading import Reading

__all__ = ["rate_reader"]

_PARTS = (
    "shot mass", "part mass", "runner mass", "cycle time", "shots per hour", "shots per minute",
    "parts per hour", "parts per minute", "cavities",
)  # fmt: skip
_COUNTS = ("shots per hour", "shots per minute", "parts per hour", "parts per minute")
#: Stated and worked out throughputs that differ by more are told, common practice, no source.
_SAME_RATE = 0.05

#: Reads the throughput of a row; adds what had to be assumed, and what to look at, to two lists.
RateReader = Callable[[Sequence[Any], list[str], list[str]], float]


def rate_reader(reading: Reading, readers: Mapping[str, Reader]) -> RateReader:
    """A function that gives the throughput of a row in kg/s.

    Args:
        reading: how the list is read.
        readers: column -> what reads its cells.
    """
    parts = _from_parts(reading, readers) if readers.keys() & {"shot mass", "part mass"} else None
    if "throughput" not in readers:
        assert parts is not None, "a list without either is not read"
        return parts
    read, at, daily = readers["throughput"], reading.columns["throughput"].at, reading.daily

    def stated(row: Sequence[Any], assumed: list[str], check: list[str]) -> float:
        cell = row[at]
        if parts is not None and is_blank(cell):
            return parts(row, assumed, check)
        rate: float = read(cell)
        if parts is not None:
            check += _other_rate(parts, row, rate)
        if daily and isinstance(cell, str) and is_per_day(typed(cell).unit):
            assumed.append(per_day_note(daily))
        return rate

    return stated


def _other_rate(parts: RateReader, row: Sequence[Any], stated: float) -> list[str]:
    """Where the shots or the parts of a row give another throughput than it states."""
    assumed: list[str] = []
    try:
        other = parts(row, assumed, [])
    except CellError:
        return []  # the throughput is stated, and counts
    if abs(other / stated - 1.0) <= _SAME_RATE:
        return []
    return [f"the shots or parts give another {assumed[0]}"]


def _from_parts(reading: Reading, readers: Mapping[str, Reader]) -> RateReader:
    taken = [(name, readers[name], reading.columns[name].at) for name in _PARTS if name in readers]
    measure, system = QUANTITIES["throughput"], reading.system

    def worked_out(row: Sequence[Any], assumed: list[str], check: list[str]) -> float:
        rate, how = _rate_and_words({name: read(row[at]) for name, read, at in taken})
        if not measure.low <= rate <= measure.high:
            raise NoAnswer(f"{how} is not a possible throughput", "throughput")
        assumed.append(f"throughput {with_unit(rate, 'throughput', system)}: {how}")
        return rate

    return worked_out


def _rate_and_words(of: Mapping[str, Any]) -> tuple[float, str]:
    """(kg/s, how it was worked out) of the parts in SI."""
    mass = of.get("shot mass") or of["part mass"]
    what = f"{mass * 1000:.6g} g"
    if "cavities" in of:
        runner = of.get("runner mass") or 0.0
        what = f"{of['cavities']:.6g} parts of {what}"
        what += f" and a runner of {runner * 1000:.6g} g" if runner else ""
        mass = of["cavities"] * mass + runner
    if "cycle time" in of:
        rate = mass / of["cycle time"]
        how = f"{what} every {of['cycle time']:.6g} s"
    else:
        name = next(name for name in _COUNTS if name in of)
        counted, _, time = name.split()
        rate = of[name] * mass / (60.0 if time == "minute" else 3600.0)
        how = f"{of[name]:.6g} {counted} of {what} {'a' if time == 'minute' else 'an'} {time}"
    if "part mass" in of:
        how += ", without scrap" if of.get("runner mass") else ", without runners and scrap"
    return rate, how
