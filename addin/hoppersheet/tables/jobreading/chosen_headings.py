"""Which heading is which column of a job list, before its cells were looked at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ...cells.numbers_in_text import shown
from ...cells.units import did_you_mean
from ...errors import WrongKind
from ..heading_words import plain_text
from ..headings import plain_name
from ..job_columns import (
    JOB_COLUMNS,
    RATE_WAYS,
    RESULT_COLUMNS,
    RUNNER_WAYS,
    Question,
    quantity_of,
)
from ..jobwords.meanings import DENSITY, Meaning, meaning, says_virgin
from ..jobwords.near_misses import may_be, meant_by_unit
from ..jobwords.units import speaks_of_shifts, unit_measures, what_is_wrong

__all__ = ["ChosenHeadings", "earlier_results"]

_COUNTS = ("parts per hour", "count")
_NEEDED = ("throughput", "drying hours", "virgin density")


def earlier_results(headings: Sequence[str]) -> frozenset[int]:
    """Indexes of the columns of a sized list that sizing itself has added.

    They follow each other in their order. What a user then changes in the list must not be
    answered from them: a blend density that an earlier sizing worked out is no statement.
    """
    names = {at: plain_name(heading.partition("[")[0]) for at, heading in enumerate(headings)}
    order = {name: rank for rank, name in enumerate(RESULT_COLUMNS)}
    runs: list[list[int]] = []
    for at in range(len(headings)):
        here = order.get(names[at], -1)
        if here < 0:
            continue
        before = runs[-1][-1] if runs else -2
        if before == at - 1 and order[names[before]] < here:
            runs[-1].append(at)
        else:
            runs.append([at])
    return frozenset(
        at
        for run in runs
        if {"required volume", "next size"} <= {names[each] for each in run}
        for at in run
    )


class ChosenHeadings:
    """Settles which heading is which column.

    Args:
        headings: the heading cells.
        own_words: column -> heading, as the user says.
        ignore: headings that the user lets pass unread.

    Attributes:
        headings: the heading cells, "" where there is no text.
        results: indexes of columns that an earlier sizing has added, which are not read.
        meanings: what each heading means.
        found_at: column -> its index.
        components: names of the components beside virgin and regrind.
        by_unit: indexes of headings that were taken by their unit, no other being left.

    Raises:
        WrongKind: a needed column is missing (names near misses), stands twice, or has a unit of
            something else.
        Question: a heading that is not read may change the answer.
    """

    def __init__(
        self, headings: Sequence[Any], own_words: Mapping[str, str], ignore: Iterable[str]
    ) -> None:
        self.headings = [cell if isinstance(cell, str) else "" for cell in headings]
        self._own = tuple(own_words.items())
        self._ignored = {plain_text(text) for text in ignore}
        self.results = earlier_results(self.headings)
        self.meanings = self._read_headings()
        self.found_at: dict[str, int] = {}
        self.components: list[str] = []
        self.by_unit: list[int] = []
        self._pick()

    def is_ignored(self, at: int) -> bool:
        """Whether a heading passes unread: the user says so, or it is over earlier results."""
        return at in self.results or plain_text(self.headings[at]) in self._ignored

    def unit(self, at: int) -> str:
        """The unit that a heading names, "" for none."""
        m = self.meanings[at]
        return m.title.unit if m is not None else ""

    def has_shares(self) -> bool:
        """Whether any column says what share of a job is regrind or another component."""
        shares = {"virgin share", "regrind share", "recipe"} & set(self.found_at)
        return bool(shares or self.components)

    def _read_headings(self) -> list[Meaning | None]:
        found: list[Meaning | None] = []
        for at, cell in enumerate(self.headings):
            try:
                is_read = cell.strip() and at not in self.results
                found.append(meaning(cell, self._own) if is_read else None)
            except WrongKind as problem:
                raise WrongKind(f"heading {shown(cell)}: {problem.reason}") from None
        for name, heading in self._own:
            if not any(plain_text(cell) == plain_text(heading) for cell in self.headings):
                near = did_you_mean(heading, [c for c in self.headings if c])
                raise WrongKind(f"there is no heading {shown(heading)} for {name!r}{near}")
        return found

    def _candidates(self, name: str) -> list[int]:
        """Indexes of the headings that could be a column, the best ones only."""
        ranks = [
            (m.rank, at)
            for at, m in enumerate(self.meanings)
            if m is not None and m.column == name and not self.is_ignored(at)
        ]
        best = min(ranks, default=(0, 0))[0]
        return [at for rank, at in ranks if rank == best]

    def _pick(self) -> None:
        """Settle which heading is which column."""
        for name in (*JOB_COLUMNS, DENSITY):
            found = self._candidates(name)
            if len(found) > 1 and name not in ("job", "resin", "recipe"):
                first, second = found[:2]
                meant = self.meanings[first]
                same = plain_text(self.headings[first]) == plain_text(self.headings[second])
                if meant is not None and meant.rank == 0 and same:
                    raise WrongKind(
                        f"the heading {shown(self.headings[first].strip())} appears twice, in "
                        f"columns {first + 1} and {second + 1}; give the one that does not count "
                        "another name, or put two tables side by side below each other"
                    )
                self._ask_which(name, first, second)
            if found:
                self.found_at[name] = found[0]
        self._take_bulk_density_of_the_blend()
        self._refuse_second_columns()
        if DENSITY in self.found_at and {"virgin density", "blend density"} & set(self.found_at):
            del self.found_at[DENSITY]
        way = next((w for w in RATE_WAYS if set(w) <= set(self.found_at)), ())
        united = (self.unit(self.found_at[n]) or quantity_of(n) in _COUNTS for n in way)
        if "throughput" in self.found_at and not all(united):
            way = ()  # not needed, so not worth a question about its units
        self._rate_parts = [n for names in RATE_WAYS for n in names if n in self.found_at]
        for name in {*self._rate_parts} - {*way}:
            del self.found_at[name]
        if way not in RUNNER_WAYS:
            self.found_at.pop("runner mass", None)
        self._rate_way = way
        self._pick_components()
        self._take_by_unit()
        self._require()

    def _take_bulk_density_of_the_blend(self) -> None:
        """A "bulk density" beside a virgin density and shares can only be that of the blend."""
        first = self.found_at.get("virgin density")
        m = None if first is None else self.meanings[first]
        shares = {"virgin share", "regrind share", "recipe"} & set(self.found_at)
        if m is None or not says_virgin(m.title) or not shares or "blend density" in self.found_at:
            return
        for at, other in enumerate(self.meanings):
            if other is None or at == first or self.is_ignored(at):
                continue
            if other.column == "virgin density" and not says_virgin(other.title):
                self.found_at["blend density"] = at
                return

    def _refuse_second_columns(self) -> None:
        """Ask where a column that counts stands twice in other words, as in two tables abreast."""
        seconds: list[tuple[str, int, int]] = []
        for name in _NEEDED:
            first = self.found_at.get(name)
            others = [
                at
                for at, m in enumerate(self.meanings)
                if m is not None
                and m.column == name
                and at not in self.found_at.values()
                and not self.is_ignored(at)
            ]
            if first is not None and others:
                seconds.append((name, first, others[0]))
        if not seconds:
            return
        if len(seconds) > 1:
            name, first, second = seconds[0]
            raise Question(
                f"are these two tables side by side? The headings {shown(self.headings[first])} "
                f"and {shown(self.headings[second])} could both be {name!r}, and so on; put the "
                "tables below each other, or in files of their own"
            )
        ((name, first, second),) = seconds
        m = self.meanings[first]
        if m is not None and m.rank > 0:
            self._ask_which(name, first, second)

    def _ask_which(self, name: str, first: int, second: int) -> None:
        one, other = self.headings[first].strip(), self.headings[second].strip()
        raise Question(
            f"the headings {shown(one)} and {shown(other)} could both be {name!r}; call one of "
            f'them that, or use --column "{name}={one}" or --ignore "{other}"'
        )

    def _pick_components(self) -> None:
        """Components are the names that have both a share and a density."""
        shares: dict[str, int] = {}
        densities: dict[str, int] = {}
        for at, m in enumerate(self.meanings):
            if m is not None and m.component and not m.column:
                (densities if m.component_density else shares).setdefault(m.component, at)
        for name, at in shares.items():
            if (
                name in densities
                and self._fits(at, "share")
                and self._fits(densities[name], "bulk density")
            ):
                self.components.append(name)
                self.found_at[f"{name} share"], self.found_at[f"{name} density"] = (
                    at,
                    densities[name],
                )

    def _fits(self, at: int, quantity: str) -> bool:
        m = self.meanings[at]
        return m is not None and (not m.title.unit or unit_measures(m.title.unit, quantity))

    def _take_by_unit(self) -> None:
        """Take the only heading that may be a needed column, where its unit leaves no doubt."""
        for name in _NEEDED:
            densities = {"virgin density", "blend density", DENSITY}
            have = self.found_at.keys() & (densities if name == "virgin density" else {name})
            looks = self._looks_like(name)
            if have or len(looks) != 1 or (name == "throughput" and self._rate_way):
                continue
            m = self.meanings[looks[0]]
            meant = meant_by_unit(m, name) if m is not None else ""
            if meant:
                self.found_at[meant] = looks[0]
                self.by_unit.append(looks[0])

    def _missing(self) -> list[str]:
        have = self.found_at
        missing = []
        if "throughput" not in have and not self._rate_way:
            missing.append("throughput")
        if "drying hours" not in have and "resin" not in have:
            missing.append("drying hours")
        if not {"virgin density", "blend density", DENSITY, "resin"} & set(have):
            missing.append("virgin density")
        return missing

    def _looks_like(self, name: str) -> list[int]:
        read = set(self.found_at.values())
        return [
            at
            for at, m in enumerate(self.meanings)
            if m is not None
            and not m.column
            and (name in m.missed or may_be(self.headings[at], m.title, name))
            and at not in read
            and not self.is_ignored(at)
        ]

    def _require(self) -> None:
        missing = self._missing()
        absent = [
            name
            for name in (*_NEEDED, "reserve", "share basis")
            if name not in self.found_at
            and not (name == "virgin density" and {DENSITY, "blend density"} & set(self.found_at))
        ]
        if "throughput" in absent and "throughput" not in missing:
            absent.remove("throughput")
        if "regrind density" not in self.found_at and {"regrind share", "recipe"} & {
            *self.found_at
        }:
            absent.append("regrind density")
        for name in absent:
            for at in self._looks_like(name):
                heading = self.headings[at].strip()
                m = self.meanings[at]
                why = ""
                if m is not None and m.title.unit and quantity_of(name):
                    if not unit_measures(m.title.unit, quantity_of(name)):
                        why = what_is_wrong(m.title.unit, quantity_of(name))
                elif m is not None and speaks_of_shifts(heading):
                    why = what_is_wrong(heading, "throughput")
                elif m is not None and m.title.brackets:
                    why = f", and {shown(m.title.brackets)} is no unit that can be converted"
                raise Question(
                    f"the heading {shown(heading)} is not known, though it looks like "
                    f'{name!r}{why}; rename it, or use --column "{name}={heading}", or --ignore '
                    f'"{heading}" if it is something else'
                )
        if missing:
            read = set(self.found_at.values())
            more = ""
            if "throughput" in missing and self._rate_parts:
                have = " and ".join(map(repr, dict.fromkeys(self._rate_parts)))
                ways = "; ".join(", ".join(names) for names in RATE_WAYS)
                more = f"; {have} alone give no throughput, these would: {ways}"
            others = [
                plain_name(h) for at, h in enumerate(self.headings) if h.strip() and at not in read
            ]
            raise WrongKind(
                f"no column {' and no column '.join(map(repr, missing))} among the headings "
                f"(a job list needs {', '.join(_NEEDED)}; a column 'resin' can replace the last "
                f"two){more or did_you_mean(missing[0], others)}"
            )
