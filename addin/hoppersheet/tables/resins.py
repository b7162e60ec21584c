"""HOPPER_RESIN: values of common resins, each with its own source, and the user's own rows.

The built-in table is ``data/resins.csv``: one value per row, with unit and source, where a source
is a citation, "common practice, no source" or "from memory". ``data/resin_names.csv`` holds what
else a resin is called. Both are read when a cell first asks for a resin.

A user's own table is a range with a heading row: a column ``resin``, and one per property under
the property's name, with a unit in square brackets where it is not that of the unit system
(``bulk density [kg/L]``). A property filled in there wins together with its low and high; what
is left blank comes from the built-in table.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Any, NamedTuple

from ..cells.numbers_in_text import shown
from ..cells.reading import number_reader
from ..cells.units import HOME_FACTORS, did_you_mean, nearest
from ..cells.values import is_blank, is_error
from ..cells.wording import in_both, in_system
from ..errors import CellError, ErrorIn, NoAnswer, WrongKind
from ..registry import Argument, Example, Result, cell_function
from .headings import plain_name, read_headings

__all__ = ["PROPERTIES", "TABLE_VERSION", "ResinValue", "resin_names", "resin_value"]

#: Goes up with every change of the two files; a test pins them to it.
TABLE_VERSION = "2026.1"

#: Property -> its quantity. The first four also come as "... low" and "... high".
_QUANTITIES = {
    "bulk density": "bulk density",
    "regrind density": "bulk density",
    "drying temperature": "temperature",
    "drying hours": "drying hours",
    "moisture limit": "moisture",
    "specific heat": "specific heat",
}
_RANGED = ("bulk density", "regrind density", "drying temperature", "drying hours")
_ENDS = ("", " low", " high")

#: Every property of a value -> its quantity, in the order of the table.
PROPERTIES: dict[str, str] = {
    name + end: quantity
    for name, quantity in _QUANTITIES.items()
    for end in (_ENDS if name in _RANGED else _ENDS[:1])
}
_SOURCE = "source"
_OWN, _NO_TABLE = "own_table", "none"


class ResinValue(NamedTuple):
    """One value in SI with where it comes from."""

    resin: str
    property: str
    si: float
    source: str


# --- names --------------------------------------------------------------------------------


@lru_cache(maxsize=4096)
def _key(name: str) -> str:
    """A name without case, spaces, hyphens and other signs: "PA 6.6" and "pa66" are one."""
    text = unicodedata.normalize("NFKC", name).casefold()
    return "".join(sign for sign in text if sign.isalnum() or sign == "%")


def _rows(file_name: str) -> list[dict[str, str]]:
    # Here, and not at the top: offices import this module at every start.
    import csv
    from pathlib import Path

    path = Path(__file__).parents[1] / "data" / file_name
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@lru_cache(maxsize=1)
def _names() -> dict[str, tuple[str, ...]]:
    """Key of a name -> the resins that are called so."""
    rows = _rows("resin_names.csv")
    known: dict[str, tuple[str, ...]] = {}
    for row in rows:
        for name in (row["full name"], *row["also called"].split(";")):
            others = known.get(_key(name), ())
            if name.strip() and row["resin"] not in others:
                known[_key(name)] = (*others, row["resin"])
    # The table's own name is never ambiguous.
    known.update({_key(row["resin"]): (row["resin"],) for row in rows})
    return known


@lru_cache(maxsize=256)
def _synonyms(resin: str) -> frozenset[str]:
    """Keys of all names that mean this resin and no other."""
    return frozenset(key for key, resins in _names().items() if resins == (resin,))


def resin_names() -> list[str]:
    """The resins of the built-in table, in its order."""
    return [row["resin"] for row in _rows("resin_names.csv")]


# --- the built-in table -------------------------------------------------------------------


@lru_cache(maxsize=1)
def _table() -> dict[tuple[str, str], ResinValue]:
    table = {}
    for row in _rows("resins.csv"):
        scale, offset = HOME_FACTORS[row["unit"]]
        value = ResinValue(
            row["resin"], row["property"], float(row["value"]) * scale + offset, row["source"]
        )
        table[value.resin, value.property] = value
    return table


# --- the user's own table -----------------------------------------------------------------


class _OwnTable:
    """The user's own rows: a range with a heading row.

    Raises:
        WrongKind: no column "resin", a heading twice, an unknown unit, or a heading with a unit
            that names no property.
    """

    def __init__(self, rows: list[list[Any]], system: str) -> None:
        self._rows = rows
        self._system = system
        for cell in rows[0]:
            if is_error(cell):
                raise ErrorIn(cell, _OWN)
        try:
            self._headings = read_headings(rows[0], {"resin": "", _SOURCE: "", **PROPERTIES})
        except WrongKind as problem:
            raise WrongKind(problem.reason, _OWN) from None
        if "resin" not in self._headings:
            raise WrongKind(
                "the table has no column 'resin'; its first row must hold the headings", _OWN
            )
        known = {heading.place for heading in self._headings.values()}
        for index, cell in enumerate(rows[0]):
            # Other headings are the user's own notes, but one with a unit is meant as a property.
            if index not in known and isinstance(cell, str) and "[" in cell:
                hint = did_you_mean(plain_name(cell.partition("[")[0]), PROPERTIES)
                raise WrongKind(f"unknown heading {shown(cell)}{hint}", _OWN)

    def _cell(self, place: int, name: str) -> Any:
        heading, row = self._headings.get(name), self._rows[place]
        return None if heading is None or heading.place >= len(row) else row[heading.place]

    def find(self, keys: frozenset[str]) -> int | None:
        """Place of the one row whose resin has one of these keys, or None."""
        found = [
            place
            for place in range(1, len(self._rows))
            if isinstance(cell := self._cell(place, "resin"), str) and _key(cell) in keys
        ]
        if len(found) > 1:
            listed = " and ".join(str(place + 1) for place in found)
            raise WrongKind(f"the same resin stands in rows {listed} of the table", _OWN)
        return found[0] if found else None

    def value(self, place: int, wanted: str) -> ResinValue | None:
        """The row's value; None where it leaves the property, its low and its high blank."""
        where = f"row {place + 1} of the own table"
        cell = self._cell(place, wanted)
        if is_blank(cell):
            family = re.sub(r" (low|high)$", "", wanted)
            filled = [
                family + end for end in _ENDS if not is_blank(self._cell(place, family + end))
            ]
            if filled:
                raise NoAnswer(f"{where} gives {' and '.join(filled)}, but no {wanted}", _OWN)
            return None
        argument = Argument(_OWN, "", PROPERTIES[wanted])
        try:
            si = number_reader(argument, self._system, self._headings[wanted].unit)(cell)
        except ErrorIn:
            raise
        except CellError as problem:
            problem.reason += f" ({where}, column {wanted!r})"
            raise
        stated = self._cell(place, _SOURCE)
        source = where if is_blank(stated) else f"{where}: {stated}"
        return ResinValue(str(self._cell(place, "resin")).strip(), wanted, si, source)


def _own_table(rows: list[list[Any]], system: str) -> _OwnTable | None:
    """The own table; None where none is given."""
    cells = [cell for row in rows for cell in row]
    if len(cells) == 1 and isinstance(cells[0], str) and cells[0].strip().casefold() == _NO_TABLE:
        return None
    return _OwnTable(rows, system)


# --- looking up ---------------------------------------------------------------------------


def _property(text: str) -> tuple[str, bool]:
    """(property, whether its source is wanted) from what the user typed."""
    name = plain_name(text)
    if name == _SOURCE:
        return _SOURCE, True
    for wanted, of_source in ((name, False), (re.sub(r" source$", "", name), True)):
        if wanted in PROPERTIES:
            return wanted, of_source
    hint = did_you_mean(name, [*PROPERTIES, _SOURCE])
    raise WrongKind(
        f"unknown property {shown(text)}{hint}; known are {', '.join(_QUANTITIES)}, {_SOURCE}, the "
        "first four also with low or high behind, and each with source behind",
        "property",
    )


def _unknown(resin: str) -> NoAnswer:
    near = nearest(_key(resin), _names())
    hint = f"; did you mean {' or '.join(_names()[near])}?" if near else ""
    return NoAnswer(f"{shown(resin)} is not in the resin table{hint}", "resin")


def resin_value(resin: str, wanted: str, own: _OwnTable | None = None) -> ResinValue:
    """One value of a resin.

    Args:
        resin: its name or a synonym.
        wanted: one of :data:`PROPERTIES`.
        own: the user's own table; a property that it gives wins.

    Raises:
        NoAnswer: the resin is unknown, its name ambiguous, or no table has that value.
        WrongKind, OutOfRange, ErrorIn: the own table's cell cannot be read.
    """
    called = _names().get(_key(resin), ())
    if own is not None:
        # The own table may list the resin as it is asked for, or under another of its names.
        place = own.find(_synonyms(called[0]) if len(called) == 1 else frozenset((_key(resin),)))
        value = None if place is None else own.value(place, wanted)
        if value is not None:
            return value
        if place is not None and not called:
            raise NoAnswer(f"the own table gives no {wanted} of {shown(resin)}", _OWN)
    if len(called) > 1:
        raise NoAnswer(
            f"several resins are called {shown(resin)}: {', '.join(called)}; name one", "resin"
        )
    if not called:
        raise _unknown(resin)
    try:
        return _table()[called[0], wanted]
    except KeyError:
        hint = "; HOPPER_REGRIND_DENSITY estimates it" if wanted == "regrind density" else ""
        raise NoAnswer(
            f"the resin table has no sourced value for the {wanted} of {called[0]}{hint}",
            "property",
        ) from None


def _all_sources(resin: str, own: _OwnTable | None) -> str:
    """What each property of a resin rests on, in one line."""
    parts: dict[str, list[str]] = {}
    missing: NoAnswer | None = None
    for name in _QUANTITIES:
        try:
            parts.setdefault(resin_value(resin, name, own).source, []).append(name)
        except NoAnswer as problem:
            missing = problem
    if not parts and missing is not None:
        raise missing
    return "; ".join(f"{', '.join(names)}: {source}" for source, names in parts.items())


def _note(resin: str, property: str, own_table: list[list[Any]], units: str) -> str:
    """For EXPLAIN: whose value it is, in which unit, and from where."""
    wanted, of_source = _property(property)
    if of_source:
        return ""
    value = resin_value(resin, wanted, _own_table(own_table, units))
    amount = in_both(value.si, PROPERTIES[wanted], units)
    return f"{wanted} of {value.resin} {amount}, {value.source}"


@cell_function(
    "HOPPER_RESIN",
    question="What figures are usual for this resin, and where do they come from?",
    summary="A value from the resin table, or from your own table; each has its source.",
    arguments=(
        Argument(
            "resin",
            "Resin such as PC, PA66 or nylon 6/6; case, spaces and hyphens do not matter.",
            kind="text",
            known=lambda: dict.fromkeys(resin_names(), ""),
        ),
        Argument(
            "property",
            "Name of a value: bulk density, regrind density, drying temperature, drying hours "
            "(also with low or high), moisture limit, specific heat; source, or a name and source.",
            kind="text",
            known=lambda: {**PROPERTIES, _SOURCE: ""},
        ),
        Argument(
            "own_table",
            "Your own rows under headings: resin and names of properties, units in square "
            "brackets. They win over the built-in table.",
            kind="cells",
            default=_NO_TABLE,
            known=lambda: {"resin": "", **PROPERTIES, _SOURCE: ""},
        ),
    ),
    result=Result("the value, or its source as text", kind="cell"),
    equation="own_table, else the built-in table, where resin and property meet",
    assumptions=(
        "Values to start from: measure the density; the resin maker's data sheet governs drying. "
        "Low density for volume, high for load. Moisture limit as a fraction of wet mass."
    ),
    source=f"resin table {TABLE_VERSION}; the source of each value: property with source behind",
    example=Example(
        ("PC", "specific heat", "none", "metric"),
        1.2,
        "Crawford, Plastics Engineering, Table 1.8",
    ),
    note=_note,
    see_also=("HOPPER_SAMPLE_DENSITY", "HOPPER_REQUIRED_VOLUME", "HOPPER_HEAT"),
)
def resin(resin: str, property: str, own_table: list[list[Any]], units: str) -> Any:
    """A resin's value as the plain number of ``units``, or a source as text."""
    wanted, of_source = _property(property)
    own = _own_table(own_table, units)
    if wanted == _SOURCE:
        return _all_sources(resin, own)
    value = resin_value(resin, wanted, own)
    return value.source if of_source else in_system(value.si, PROPERTIES[wanted], units)
