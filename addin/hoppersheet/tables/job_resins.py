"""The names of resins in a job list: each is looked up once, however many rows it stands in."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from ..cells.numbers_in_text import shown
from .resin_table import called, without_grade

__all__ = ["ResinNames"]

_MOST_UNKNOWN = 50
_MOST_REMEMBERED = 4096


class _Name(NamedTuple):
    """A name as it stands in a cell.

    Attributes:
        taken_for: the resin that it means with the number of a grade in it, else "".
        mark: what the column ``check`` says where nothing can be compared with it, else "".
        plain: without needless blanks.
    """

    taken_for: str
    mark: str
    plain: str


class ResinNames:
    """Looks names of resins up.

    Attributes:
        unknown: the first names in sized rows that the table does not know.
        about: what is known of a name.
    """

    def __init__(self) -> None:
        self.unknown: dict[str, None] = {}
        self.about = lru_cache(_MOST_REMEMBERED)(_look_up)

    def mark_of_unknown(self, name: str) -> str:
        """What is said of a sized row whose resin the table does not know, "" for one it knows."""
        found = self.about(name)
        if found.mark and len(self.unknown) < _MOST_UNKNOWN:
            self.unknown.setdefault(found.plain)
        return found.mark


def _look_up(name: str) -> _Name:
    resins = called(name)
    if len(resins) == 1:
        return _Name("", "", name)
    why = "can be several resins" if resins else "is not in the resin table"
    mark = f"{shown(name)} {why}: nothing was compared with it"
    return _Name(without_grade(name), mark, " ".join(name.split()))
