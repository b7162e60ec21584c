"""What can go wrong with a resin in a dryer or hopper, as data, and in the same words everywhere.

``data/resin_hazards.csv`` holds one hazard per row: the resins (``*`` for all), its kind, what it
applies to, the text for people and where it comes from. The job list, the quote workbook, the
audit and HOPPER_RESIN take their words from here; no resin is named in code.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from itertools import combinations
from types import MappingProxyType
from typing import NamedTuple

from ..cells.units import HOME_FACTORS
from ..cells.wording import in_both
from .resin_table import called, mentioned, one_resin, read_rows

__all__ = [
    "GOVERNS",
    "KINDS",
    "NONE_LISTED",
    "Company",
    "Hazard",
    "Together",
    "caution",
    "hazards",
    "hazards_of_any",
    "must_stay_apart",
    "never_together",
    "softens_at",
]

#: Kind of a hazard -> what it is about.
KINDS = {
    "never with": "must not meet another resin",
    "softens": "softens and sticks below the drying temperature of another form",
    "hydrolyzes": "loses strength where it is not dry",
    "over-dried": "yellows or degrades where it stays too long or too hot",
    "flow": "does not flow by itself",
    "dust": "burns or explodes as dust",
}
#: What stands where the table lists no hazard: not that there is none.
NONE_LISTED = "none listed"
_MOST_APART = 50  # names of such resins in one list that are compared
GOVERNS = "The resin maker's data sheet governs."


class Hazard(NamedTuple):
    """One hazard of a resin.

    Attributes:
        resin: the table's own name of the resin.
        kind: one of :data:`KINDS`.
        text: what people read, a sentence with US units first.
        others: the resins that it must not meet, by the table's own names.
        temperature: degC from which it softens, or None.
        only: ``"regrind"`` where it concerns regrind and amorphous material mixed in, ``""`` where
            it concerns the resin as such.
        customer: whether it belongs on the page that the customer reads.
        source: a citation, "common practice, no source" or "from memory".
        for_all: whether it concerns every resin.
        brief: the same in a few words, for a column of a list.
    """

    resin: str
    kind: str
    text: str
    others: tuple[str, ...] = ()
    temperature: float | None = None
    only: str = ""
    customer: bool = False
    source: str = ""
    for_all: bool = False
    brief: str = ""


def _listed(cell: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in cell.split(";") if name.strip())


@lru_cache(maxsize=1)
def _rows() -> list[tuple[tuple[str, ...], Hazard]]:
    """(resins, hazard) of every row of the file; the hazard's resin is filled in later."""
    rows = []
    for row in read_rows("resin_hazards.csv"):
        temperature = None
        if row["temperature"]:
            scale, offset = HOME_FACTORS[row["unit"]]
            temperature = float(row["temperature"]) * scale + offset
        hazard = Hazard(
            "", row["kind"], row["text"], _listed(row["others"]), temperature,
            row["only"], row["customer"] == "yes", row["source"], row["resins"] == "*",
            row["brief"],
        )  # fmt: skip
        rows.append((_listed(row["resins"]), hazard))
    return rows


@lru_cache(maxsize=1024)
def hazards(resin: str, units: str = "US") -> tuple[Hazard, ...]:
    """The hazards that the table lists for a resin, the gravest first.

    Args:
        resin: its name or a synonym.
        units: "US" or "metric": which figure comes first in the texts.

    Raises:
        NoAnswer: the resin is unknown or its name means several. Nothing is known then: say so.
    """
    own = one_resin(resin)
    found = []
    for resins, hazard in _rows():
        if own not in resins and "*" not in resins:
            continue
        at = hazard.temperature
        shown = "" if at is None else in_both(at, "temperature", units, 3)
        text, brief = (words.format(temperature=shown) for words in (hazard.text, hazard.brief))
        found.append(hazard._replace(resin=own, text=text, brief=brief))
    order = list(KINDS)
    return tuple(sorted(found, key=lambda hazard: order.index(hazard.kind)))


def hazards_of_any(resin: str, units: str = "US") -> tuple[Hazard, ...]:
    """The hazards of every resin that a name may mean: a warning errs on the side of warning.

    Raises:
        NoAnswer: no resin is called so. Nothing is known then: say so.
    """
    resins = called(resin) or (one_resin(resin),)
    found = {hazard.text: hazard for each in resins for hazard in hazards(each, units)}
    return tuple(sorted(found.values(), key=lambda hazard: list(KINDS).index(hazard.kind)))


def caution(resin: str, kind: str = "", units: str = "US") -> str:
    """The hazards of a resin as one text, of one kind or all; "none listed" where there are none.

    A name that means several resins has the hazards of all of them, and says so.

    Raises:
        NoAnswer: no resin is called so.
    """
    listed = hazards_of_any(resin, units)
    texts = [hazard.text for hazard in listed if kind in ("", hazard.kind)]
    if not texts:
        return NONE_LISTED
    if len(called(resin)) > 1:
        texts.insert(0, f"{' or '.join(called(resin))}, so some of this may apply:")
    return " ".join(texts if kind else [*texts, GOVERNS])


def softens_at(resin: str) -> Hazard | None:
    """The "softens" hazard of a resin with the lowest temperature, None where none is listed."""
    found = [hazard for hazard in hazards(resin) if hazard.temperature is not None]
    return min(found, key=lambda hazard: hazard.temperature or 0.0, default=None)


class Together(NamedTuple):
    """What is known about resins that share a dryer, hopper or conveying line.

    Attributes:
        meetings: (first name, second name, hazard) of every pair that must never meet, as typed.
        unknown: the names that no resin of the table is recognized in: nobody has looked at them.
    """

    meetings: list[tuple[str, str, Hazard]]
    unknown: list[str]


def never_together(names: Iterable[str]) -> Together:
    """The pairs among resins that must never meet.

    A warning errs on the side of warning: a name that may mean several resins, and one with more
    words than the table knows ("POM black"), counts as each resin that it may be.
    """
    meant = {name: mentioned(name) for name in dict.fromkeys(names)}
    # What must not meet says so on both sides (a test holds it), so few names make pairs.
    apart = [
        name for name, resins in meant.items() if any(h.others for r in resins for h in hazards(r))
    ]
    meetings = []
    for first, second in combinations(apart, 2):
        hazard = next(
            (
                hazard
                for resin in meant[first]
                for hazard in hazards(resin)
                if set(hazard.others) & set(meant[second])
            ),
            None,
        )
        if hazard is not None:
            meetings.append((first, second, hazard))
    return Together(meetings, [name for name, resins in meant.items() if not resins])


class Company:
    """The resins of a list that must not meet another one.

    Args:
        names: resins of the list -> their first rows, so that the first row of a pair is told too.
            A list with more of them than anybody looked at is told of the rows above.
    """

    def __init__(self, names: Mapping[str, int] = MappingProxyType({})) -> None:
        #: name of each resin that must not meet some other -> (what it may be, its first row)
        self._apart: dict[str, tuple[tuple[str, ...], int]] = {}
        for name, row in names.items():
            resins, enemies = _enemies(" ".join(name.split()))
            if enemies and len(self._apart) < _MOST_APART:
                self._apart.setdefault(" ".join(name.split()), (resins, row))

    def warnings(self, name: object, row: int) -> list[str]:
        """The resins of the list that must not share a dryer or hopper with this one, in words."""
        if not isinstance(name, str):
            return []
        name = " ".join(name.split())
        resins, enemies = _enemies(name)
        if not enemies:
            return []
        found = [
            f"never in one dryer or hopper with {other}" + (f" of row {first}" if first else "")
            for other, (others, first) in self._apart.items()
            if other != name and enemies & set(others)
        ]
        if len(self._apart) < _MOST_APART:
            self._apart.setdefault(name, (resins, row))
        return found[:2]


def must_stay_apart(name: str) -> bool:
    """Whether a text may mean a resin that must not meet some other one."""
    return bool(_enemies(" ".join(name.split()))[1])


@lru_cache(maxsize=1024)
def _enemies(name: str) -> tuple[tuple[str, ...], frozenset[str]]:
    """The resins that a text may mean, and those that they must not meet."""
    resins = mentioned(name)
    return resins, frozenset(o for r in resins for h in hazards(r) for o in h.others)
