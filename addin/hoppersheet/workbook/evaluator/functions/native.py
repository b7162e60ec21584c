"""How a function of the spreadsheet takes its arguments."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ..values import number, scalar, text, truth

__all__ = ["CONVERT", "RANGE", "RANGE_WORKED_OUT", "Native", "native"]

#: A range as rows of raw cells, blanks and errors among them; one cell is a range of one.
RANGE = "r"
#: A range too; a formula in its place is worked through cell by cell, in any cell.
RANGE_WORKED_OUT = "a"
#: What becomes of a single value. An array in its place is worked through cell by cell.
CONVERT: dict[str, Callable[[Any], Any]] = {
    "n": number,
    "t": text,
    "b": truth,
    "v": scalar,  # as it is, but an error goes on to the result
    "e": lambda value: value,  # an error too
}


@dataclass(frozen=True)
class Native:
    """A function.

    Attributes:
        work: gets the converted arguments.
        kinds: a letter per argument.
        least: how many arguments are needed.
        again: how many of the last kinds repeat.
        arrays: calculates the formulas in its arguments cell by cell.
    """

    work: Callable[..., Any]
    kinds: str
    least: int
    again: int = 0
    arrays: bool = False

    def kind(self, at: int) -> str:
        """The kind of an argument, "" where there may be none."""
        if at < len(self.kinds):
            return self.kinds[at]
        if not self.again:
            return ""
        return self.kinds[len(self.kinds) - self.again + (at - len(self.kinds)) % self.again]


def native(kinds: str, work: Callable[..., Any], arrays: bool = False) -> Native:
    """A function by its kinds: ``"rn?n"`` may leave out the last, ``"t|r"`` repeats the range."""
    before, _, again = kinds.partition("|")
    needed, _, may = before.partition("?")
    least = len(needed) + (len(again) if not may else 0)
    return Native(work, needed + may + again, least, len(again), arrays)
