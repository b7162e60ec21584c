"""The names of resins in a job list: each is looked up once, however many rows it stands in."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from ..cells.numbers_in_text import shown
from .hazards import must_stay_apart
from .resin_table import called, mentions_none, without_grade

__all__ = ["ResinName", "ResinNames"]

_MOST_UNKNOWN = 50
_MOST_REMEMBERED = 1024


class ResinName(NamedTuple):
    """What is known of a name as it stands in a cell.

    Attributes:
        known: whether it is one resin of the table.
        taken_for: the resin that it means with the number of a grade in it, else "".
        mark: what the column ``check`` says where nothing can be compared with it, else "".
        plain: without needless blanks.
        apart: whether it may mean a resin that must not meet some other one.
    """

    known: bool
    taken_for: str
    mark: str
    plain: str
    apart: bool


class ResinNames:
    """Looks names of resins up.

    Attributes:
        about: what is known of a name.
        unknown: the first names in sized rows that the table does not know.
    """

    def __init__(self) -> None:
        self.about = lru_cache(_MOST_REMEMBERED)(_look_up)
        self.unknown: dict[str, None] = {}

    def is_in_row(self, resin: ResinName) -> None:
        """A sized row has a resin of this name."""
        if resin.mark and len(self.unknown) < _MOST_UNKNOWN:
            self.unknown.setdefault(resin.plain)


def _look_up(name: str) -> ResinName:
    plain = " ".join(name.split())
    if not plain:
        return ResinName(False, "", "", "", False)
    compared = "nothing was compared with it"
    if mentions_none(plain):
        mark = f"{shown(name)} is not in the resin table: {compared}"
        return ResinName(False, "", mark, plain, False)
    resins, apart = called(name), must_stay_apart(plain)
    if len(resins) == 1:
        return ResinName(True, "", "", plain, apart)
    why = "can be several resins" if resins else "is not in the resin table"
    return ResinName(False, without_grade(name), f"{shown(name)} {why}: {compared}", plain, apart)
