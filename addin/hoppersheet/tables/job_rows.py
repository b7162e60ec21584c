"""One row of a job list: read, blended, sized, and told what was assumed or what is wrong.

The same code sizes a range in a worksheet (HOPPER_SIZE_JOBS) and a file on the command line.
A row with a problem never stops the others.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import lru_cache
from operator import itemgetter
from typing import Any, NamedTuple, TypeVar

from ..cells.numbers_in_text import shown
from ..cells.reading import choice_reader, fractions, number_reader
from ..cells.units import did_you_mean
from ..cells.values import is_blank
from ..cells.wording import in_both, rounded, with_unit
from ..errors import CellError, NoAnswer, OutOfRange, WrongKind
from ..registry import Argument
from ..sizing.catalog import hopper_count
from ..sizing.density import BASIS, blend_density
from ..sizing.density import regrind_density as estimated_density
from ..sizing.volume import held_hours, required_volume
from .catalog import CatalogSize, CatalogTable
from .headings import Heading, plain_name, read_headings, refuse_lookalikes

__all__ = [
    "JOB_COLUMNS",
    "NOT_STATED",
    "OTHER_WORDS",
    "RESULT_COLUMNS",
    "JobSizer",
    "SizedJob",
    "reason_of",
]

#: Column of a job list -> quantity of its numbers, "" for text.
JOB_COLUMNS = {
    "job": "",
    "resin": "",
    "virgin share": "share",
    "regrind share": "share",
    "share basis": "",
    "virgin density": "bulk density",
    "regrind density": "bulk density",
    "throughput": "throughput",
    "drying hours": "drying hours",
    "reserve": "reserve",
}
#: Other words for the columns, as customers' lists have them.
OTHER_WORDS = {
    "job": ("job name", "part", "part name"),
    "resin": ("material", "polymer"),
    "virgin share": ("virgin", "virgin content"),
    "regrind share": ("regrind", "regrind content"),
    "share basis": ("basis",),
    # Not "density" alone: on a data sheet that is the density of the solid, not of pellets.
    "virgin density": ("bulk density", "virgin bulk density"),
    "regrind density": ("regrind bulk density",),
    "throughput": ("rate", "material rate", "throughput rate"),
    "drying hours": ("drying time", "dry time"),
}
#: A word in a heading that is not read -> the column that it may have been meant for.
_LOOKS_LIKE = {
    "virgin": "virgin share",
    "regrind": "regrind share",
    "share": "regrind share",
    "basis": "share basis",
    "reserve": "reserve",
    "safety": "reserve",
}
_NEEDED = ("throughput", "drying hours", "virgin density")
_RATE_COLUMNS = ("throughput", "drying hours", "reserve")
_BLEND_COLUMNS = (
    "virgin share",
    "regrind share",
    "share basis",
    "virgin density",
    "regrind density",
)
_VIRGIN_SHARE = Argument("virgin share", "")
NOT_STATED = "not stated"
_RATIO_OF_REGRIND = 0.5  # common practice, no source: as HOPPER_REGRIND_DENSITY

#: Result columns: heading -> quantity of its numbers, "" for text.
RESULT_COLUMNS = {
    "blend density": "bulk density",
    "required volume": "volume",
    "size below": "volume",
    "hours at size below": "residence time",
    "next size": "volume",
    "hours at next size": "residence time",
    "model": "",
    "assumed": "",
    "problem": "",
}


class SizedJob(NamedTuple):
    """The answer for one row, in SI; None where there is no answer.

    ``problem`` is None where the next size was found. With a ``problem`` the other fields hold
    as much as could be worked out.
    """

    blend_density: float | None = None
    required_volume: float | None = None
    size_below: float | None = None
    hours_at_size_below: float | None = None
    next_size: float | None = None
    hours_at_next_size: float | None = None
    model: str = ""
    assumed: str = ""
    problem: CellError | None = None

    @property
    def is_job(self) -> bool:
        """Whether the row holds a job, sized or not."""
        return self is not NO_JOB and self is not TOTALS


#: What a row without any job in it gives.
NO_JOB = SizedJob()
#: What a row of totals under the list gives.
TOTALS = SizedJob(assumed="a row of totals: not a job")
_TOTALS = re.compile(r"\s*(?:(?:grand|sub)[\s-]?)?(?:totals?|sum)\b.*", re.IGNORECASE | re.DOTALL)


_PERCENT = ("%", "percent", "pct")
_MOST_REMEMBERED = 10_000  # blends
_Read = TypeVar("_Read")


def _or_blank(read: Callable[[Any], _Read]) -> Callable[[Any], _Read | None]:
    """``read`` for a cell that may be left blank, which gives None."""

    def read_or_blank(cell: Any) -> _Read | None:
        if cell is None or cell == "":
            return None
        try:
            return read(cell)
        except CellError:
            if is_blank(cell):  # a blank of spaces, too rare to look for in every cell
                return None
            raise

    return read_or_blank


def _picker(places: Sequence[int | None]) -> Callable[[Sequence[Any]], tuple[Any, ...]]:
    """A function that takes the cells at several places of a row; None where a place is None."""
    if None not in places:
        return itemgetter(*places)
    return lambda row: tuple([None if at is None else row[at] for at in places])


def _whole_percent(read: Callable[[Any], float], heading: Heading) -> Callable[[Any], float]:
    """Refuse 0.25 under a heading in %: a cell that shows 25 % holds it, 0.25 % is never meant."""

    def checked(cell: Any) -> float:
        if type(cell) in (int, float) and 0 < cell <= 1:
            raise WrongKind(
                f"{shown(cell)} under the heading {shown(heading.typed)} is ambiguous: "
                f"{rounded(cell)} % or {rounded(cell * 100)} %? Take the unit off the heading, or "
                f"type {rounded(cell * 100)}",
                heading.name,
            )
        return read(cell)

    return checked


class JobSizer:
    """Sizes the rows of one job list.

    Args:
        headings: the heading row, raw cells.
        catalog: the sizes to choose from.
        system: unit system of plain numbers and of the texts, "US" or "metric".
        share_basis: what a row without a basis is taken for: "volume", "mass", or "not stated"
            (by volume, and each such row says so).
        decimal_comma: the list writes numbers with a decimal comma, so that 1.250 is ambiguous.

    Raises:
        WrongKind: a needed heading is missing (names near misses), stands twice, or has a unit
            of something else.
    """

    def __init__(
        self,
        headings: Sequence[Any],
        catalog: CatalogTable,
        system: str,
        share_basis: str = NOT_STATED,
        decimal_comma: bool = False,
    ) -> None:
        self.columns = read_headings(headings, JOB_COLUMNS, OTHER_WORDS)
        self._require(headings)
        self.catalog = catalog
        self.system = system
        self._decimal_comma = decimal_comma
        self._basis = share_basis
        self._at = {name: heading.place for name, heading in self.columns.items()}
        self._wide = max(self._at.values()) + 1
        self._rate_cells = _picker([self._at.get(name) for name in _RATE_COLUMNS])
        self._throughput = self._reader("throughput")
        self._hours = self._reader("drying hours")
        self._reserve = _or_blank(self._reader("reserve"))
        self._blend_cells = _picker([self._at.get(name) for name in _BLEND_COLUMNS])
        self._virgin_share = _or_blank(self._reader("virgin share"))
        self._regrind_share = _or_blank(self._reader("regrind share"))
        self._share_basis = _or_blank(
            choice_reader(Argument("share basis", "", kind="choice", choices=BASIS))
        )
        self._virgin_density = self._reader("virgin density")
        self._regrind_density = _or_blank(self._reader("regrind density"))
        self._has_shares = "virgin share" in self._at or "regrind share" in self._at
        # A plant runs few blends. Types count, because TRUE is no 1.
        self._remembered_blend = lru_cache(_MOST_REMEMBERED, typed=True)(self._new_blend)

    def _reader(self, name: str) -> Callable[[Any], float]:
        heading: Heading | None = self.columns.get(name)
        argument = Argument(name, "", JOB_COLUMNS[name])
        unit = heading.unit if heading else ""
        read = number_reader(argument, self.system, unit, self._decimal_comma)
        if heading and heading.unit.lower() in _PERCENT:
            read = _whole_percent(read, heading)
        return read

    def _require(self, headings: Sequence[Any]) -> None:
        missing = [name for name in _NEEDED if name not in self.columns]
        if missing:
            read = {heading.place for heading in self.columns.values()}
            others = [
                plain_name(h)
                for index, h in enumerate(headings)
                if isinstance(h, str) and index not in read
            ]
            raise WrongKind(
                f"no column {' and no column '.join(map(repr, missing))} among the headings "
                f"(a job list needs {', '.join(_NEEDED)}){did_you_mean(missing[0], others)}"
            )
        refuse_lookalikes(headings, self.columns, _LOOKS_LIKE)
        if "regrind density" in self.columns and not {"virgin share", "regrind share"} & set(
            self.columns
        ):
            raise WrongKind(
                "there is a column 'regrind density' but none that says how much regrind: "
                "'regrind share' or 'virgin share'"
            )

    def size(self, row: Sequence[Any]) -> SizedJob:
        """Size one row of raw cells; never raises for what a cell holds."""
        if len(row) < self._wide:
            row = [*row, *[None] * (self._wide - len(row))]
        throughput_cell, hours_cell, reserve_cell = self._rate_cells(row)
        try:
            throughput = self._throughput(throughput_cell)
            hours = self._hours(hours_cell)
            reserve = self._reserve(reserve_cell) or 0.0
            density, assumed = self._blend(self._blend_cells(row))
        except CellError as problem:
            if all(is_blank(row[i]) for i in self._at.values()):
                return NO_JOB
            if self._is_totals(row):
                return TOTALS
            return SizedJob(problem=self._all_of(row, problem))
        volume = required_volume(throughput, hours, density, reserve)
        return self._choose(volume, density, throughput, assumed)

    def _all_of(self, row: Sequence[Any], first: CellError) -> CellError:
        """The first problem of a row, its reason followed by those of the other columns."""

        def words(si: float, quantity: str) -> str:
            return in_both(si, quantity, self.system)

        first.word(words)
        named = {first.argument}
        _, hours_cell, reserve_cell = self._rate_cells(row)
        others: tuple[tuple[Callable[[Any], Any], Any], ...] = (
            (self._hours, hours_cell),
            (self._reserve, reserve_cell),
            (self._blend, self._blend_cells(row)),
        )
        for read, given in others:
            try:
                read(given)
            except CellError as other:
                if other.argument not in named:
                    named.add(other.argument)
                    other.word(words)
                    first.reason += f"; {reason_of(other)}"
        return first

    def _is_totals(self, row: Sequence[Any]) -> bool:
        """Whether a row without hours and density calls itself a total."""
        needed = (row[self._at[name]] for name in ("drying hours", "virgin density"))
        return all(map(is_blank, needed)) and any(
            isinstance(cell, str) and _TOTALS.fullmatch(cell) for cell in row
        )

    def _blend(self, cells: tuple[Any, ...]) -> tuple[float, str]:
        """Bulk density of a blend, and every choice it took to get there.

        Args:
            cells: those of ``_BLEND_COLUMNS``.
        """
        try:
            return self._remembered_blend(*cells)
        except TypeError:  # a range in a cell cannot be looked up
            return self._new_blend(*cells)

    def _choose(self, volume: float, density: float, throughput: float, assumed: str) -> SizedJob:
        below, following = self.catalog.around(volume)
        problem = None if following else self._too_large(volume)
        return SizedJob(
            density,
            volume,
            below.volume if below else None,
            held_hours(below.volume, density, throughput) if below else None,
            following.volume if following else None,
            held_hours(following.volume, density, throughput) if following else None,
            following.model if following else "",
            assumed,
            problem,
        )

    def _too_large(self, volume: float) -> NoAnswer:
        largest: CatalogSize = self.catalog.largest
        count = hopper_count(volume, [largest.volume])
        required, size = (in_both(v, "volume", self.system) for v in (volume, largest.volume))
        return NoAnswer(
            f"{required} is larger than the largest catalog size {size}; {count:.0f} hoppers of "
            "that size would hold it",
            "required volume",
        )

    def _new_blend(self, *cells: Any) -> tuple[float, str]:
        assumed: list[str] = []
        return self._blend_density(assumed, *cells), "; ".join(assumed)

    def _blend_density(
        self,
        assumed: list[str],
        virgin_share: Any,
        regrind_share: Any,
        share_basis: Any,
        virgin_density: Any,
        regrind_density: Any,
    ) -> float:
        virgin, regrind = self._shares(assumed, virgin_share, regrind_share)
        if regrind == 0.0:
            return self._virgin_density(virgin_density)
        loose = self._regrind_density(regrind_density)
        if loose is None:
            loose = estimated_density(self._virgin_density(virgin_density), _RATIO_OF_REGRIND)
            said = with_unit(loose, "bulk density", self.system)
            assumed.append(f"regrind density {said}: half of virgin (common practice)")
        if virgin == 0.0:
            return loose
        shares, densities = [virgin, regrind], [self._virgin_density(virgin_density), loose]
        basis = self._share_basis(share_basis) or self._basis
        if basis == NOT_STATED:
            by_volume = blend_density(shares, densities, "volume")
            by_mass = blend_density(shares, densities, "mass")
            larger = rounded((by_volume / by_mass - 1) * 100, 3)
            assumed.append(f"shares by volume: by mass the volume would be {larger} % larger")
            return by_volume
        return blend_density(shares, densities, basis)

    def _shares(
        self, assumed: list[str], virgin_share: Any, regrind_share: Any
    ) -> tuple[float, float]:
        """(virgin, regrind) as fractions; a share that is left blank is the rest, and says so."""
        virgin = self._virgin_share(virgin_share)
        regrind = self._regrind_share(regrind_share)
        if virgin is not None:
            # A lone virgin share must be all of it: what else is in the blend is not ours to guess.
            virgin, regrind = fractions([virgin, regrind or 0.0], _VIRGIN_SHARE)
            return virgin, regrind
        if regrind is None:
            if self._has_shares:
                assumed.append("virgin only: no shares given")
            return 1.0, 0.0
        if regrind > 1.0:
            regrind /= 100.0
        if regrind > 1.0 + 1e-3:
            raise OutOfRange(f"{rounded(regrind * 100)} % is above 100 %", "regrind share")
        return max(0.0, 1.0 - regrind), min(1.0, regrind)


def reason_of(problem: CellError) -> str:
    """``"drying hours: ... is below the lowest possible, 0.75 h"``."""
    return f"{problem.argument}: {problem.reason}" if problem.argument else problem.reason
