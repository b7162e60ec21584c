"""HOPPER_RESIN: values of common resins, each with its own source, and the user's own rows.

The built-in table is ``data/resins.csv``: one value per row, with unit and source, where a source
is a citation, "common practice, no source" or "from memory". ``data/resin_names.csv`` holds what
else a resin is called. Both are read when a cell first asks for a resin.

A user's own table is a range with a heading row: a column ``resin``, and one per property under
the property's name, with a unit in square brackets where it is not that of the unit system
(``bulk density [kg/L]``). A property filled in there wins together with its low and high; what
is left blank comes from the built-in table. A text under ``caution`` is said before the built-in
ones.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from ..cells.numbers_in_text import shown
from ..cells.reading import number_reader
from ..cells.units import did_you_mean
from ..cells.values import is_blank, is_error
from ..cells.wording import in_both, in_system
from ..errors import CellError, ErrorIn, NoAnswer, WrongKind
from ..registry import Argument, Example, Result, cell_function
from .hazards import GOVERNS, KINDS, NONE_LISTED, caution, hazards_of_any, softens_at
from .headings import plain_name, read_headings
from .resin_table import (
    ENDS,
    PROPERTIES,
    RATIO,
    STORED,
    TABLE_VERSION,
    ResinValue,
    called,
    full_name,
    name_key,
    one_resin,
    resin_names,
    stored_value,
    synonyms,
)

__all__ = ["OwnTable", "read_own_table", "regrind_ratio", "resin_value"]

_SOURCE = "source"
_OWN, _NO_TABLE = "own_table", "none"
_CAUTION = "caution"
_SOFTENS_AT = "softening temperature"


# --- the user's own table -----------------------------------------------------------------


class OwnTable:
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
            self._headings = read_headings(
                rows[0], {"resin": "", _SOURCE: "", _CAUTION: "", **PROPERTIES}
            )
        except WrongKind as problem:
            raise WrongKind(problem.reason, _OWN) from None
        if "resin" not in self._headings:
            raise WrongKind(
                "the table has no column 'resin'; its first row must hold the headings", _OWN
            )
        known = {heading.at for heading in self._headings.values()}
        for index, cell in enumerate(rows[0]):
            # Other headings are the user's own notes, but one with a unit is meant as a property.
            if index not in known and isinstance(cell, str) and "[" in cell:
                hint = did_you_mean(plain_name(cell.partition("[")[0]), PROPERTIES)
                raise WrongKind(f"unknown heading {shown(cell)}{hint}", _OWN)

    def _cell(self, index: int, name: str) -> Any:
        heading, row = self._headings.get(name), self._rows[index]
        return None if heading is None or heading.at >= len(row) else row[heading.at]

    def find(self, keys: frozenset[str]) -> int | None:
        """Index of the one row whose resin has one of these keys, or None."""
        found = [
            index
            for index in range(1, len(self._rows))
            if isinstance(cell := self._cell(index, "resin"), str) and name_key(cell) in keys
        ]
        if len(found) > 1:
            listed = " and ".join(str(index + 1) for index in found)
            raise WrongKind(f"the same resin stands in rows {listed} of the table", _OWN)
        return found[0] if found else None

    def name(self, index: int) -> str:
        """The resin's name as the row has it."""
        return str(self._cell(index, "resin")).strip()

    def caution(self, index: int) -> str:
        """The row's own caution, "" where it has none."""
        cell = self._cell(index, _CAUTION)
        if is_error(cell):
            raise ErrorIn(cell, _OWN)
        return "" if is_blank(cell) else " ".join(str(cell).split())

    def value(self, index: int, wanted: str) -> ResinValue | None:
        """The row's value; None where it leaves the property, its low and its high blank."""
        where = f"row {index + 1} of your own table"
        cell = self._cell(index, wanted)
        if is_blank(cell):
            family = re.sub(r" (low|high)$", "", wanted)
            filled = [family + end for end in ENDS if not is_blank(self._cell(index, family + end))]
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
        stated = self._cell(index, _SOURCE)
        source = where if is_blank(stated) else f"{where}: {stated}"
        return ResinValue(self.name(index), wanted, si, source)


def read_own_table(rows: list[list[Any]], system: str) -> OwnTable | None:
    """The own table; None where none is given."""
    cells = [cell for row in rows for cell in row]
    if len(cells) == 1 and isinstance(cells[0], str) and cells[0].strip().casefold() == _NO_TABLE:
        return None
    return OwnTable(rows, system)


# --- looking up ---------------------------------------------------------------------------


@lru_cache(maxsize=256)
def _property(text: str) -> tuple[str, bool]:
    """(property, whether its source is wanted) from what the user typed."""
    name = plain_name(text)
    for wanted, of_source in ((name, False), (re.sub(r" source$", "", name), True)):
        if wanted in PROPERTIES or wanted in (RATIO, _SOFTENS_AT):
            return wanted, of_source
    texts = {plain_name(word): word for word in (*_texts(), _SOURCE)}
    if name in texts:
        return texts[name], False
    hint = did_you_mean(name, _known_properties())
    raise WrongKind(
        f"unknown property {shown(text)}{hint}; known are {', '.join(STORED)}, the first four also "
        f"with low or high behind, {RATIO}, {_SOFTENS_AT}, each with source behind; "
        f"{_SOURCE}, {', '.join(_texts())}",
        "property",
    )


def _own_row(resin: str, own: OwnTable | None) -> int | None:
    """Index of the row of your own table that gives this resin, None where none does."""
    if own is None:
        return None
    # The own table may list the resin as it is asked for, or under another of its names.
    resins = called(resin)
    return own.find(synonyms(resins[0]) if len(resins) == 1 else frozenset((name_key(resin),)))


def resin_value(resin: str, wanted: str, own: OwnTable | None = None) -> ResinValue:
    """One value of a resin.

    Args:
        resin: its name or a synonym.
        wanted: one of :data:`PROPERTIES`.
        own: the user's own table; a property that it gives wins.

    Raises:
        NoAnswer: the resin is unknown, its name ambiguous, or no table has that value.
        WrongKind, OutOfRange, ErrorIn: the own table's cell cannot be read.
    """
    index = _own_row(resin, own)
    if own is not None and index is not None:
        value = own.value(index, wanted)
        if value is not None:
            return value
        if not called(resin):
            raise NoAnswer(f"your own table has no {wanted} for {shown(resin)}", _OWN)
    name = one_resin(resin)
    value = stored_value(name, wanted)
    if value is None:
        raise NoAnswer(
            f"the resin table has no sourced value for the {wanted} of {name}"
            f"{_instead(name, wanted)}",
            "property",
        )
    return value


def _instead(name: str, wanted: str) -> str:
    """What to know or do where the table has no value."""
    if wanted.startswith("regrind density"):
        return "; HOPPER_REGRIND_DENSITY estimates it"
    # A form without a drying temperature has none for a reason: say it.
    softens = softens_at(name)
    if wanted.startswith("drying") and softens is not None:
        return f". {softens.text}"
    return ""


def regrind_ratio(resin: str, own: OwnTable | None = None) -> ResinValue:
    """Regrind density over virgin density of a resin, as the tables have them.

    Raises:
        NoAnswer: the resin is unknown, its name ambiguous, or a table lacks one of the two.
    """
    virgin = resin_value(resin, "bulk density", own)
    regrind = resin_value(resin, "regrind density", own)
    source = (
        f"regrind density over bulk density of {regrind.resin}; {regrind.source}; {virgin.source}"
    )
    return ResinValue(regrind.resin, RATIO, regrind.si / virgin.si, source)


def _softening(resin: str) -> ResinValue:
    hazard = softens_at(resin)
    if hazard is None or hazard.temperature is None:
        raise NoAnswer(f"the resin table lists no {_SOFTENS_AT} of {one_resin(resin)}", "property")
    return ResinValue(hazard.resin, _SOFTENS_AT, hazard.temperature, hazard.source)


def _number(resin: str, wanted: str, own: OwnTable | None) -> tuple[ResinValue, str]:
    """(value, quantity) of any property that is a number."""
    if wanted == RATIO:
        return regrind_ratio(resin, own), "density ratio"
    if wanted == _SOFTENS_AT:
        return _softening(resin), "temperature"
    return resin_value(resin, wanted, own), PROPERTIES[wanted]


# --- texts --------------------------------------------------------------------------------


def _never_with(resin: str, _units: str) -> str:
    """The resins that this one must not meet, by the table's own names."""
    others = dict.fromkeys(name for hazard in hazards_of_any(resin) for name in hazard.others)
    return ", ".join(others) or NONE_LISTED


def _own_text(resin: str, wanted: str, own: OwnTable | None, units: str) -> str | None:
    """The name or the caution that the own table gives, None where the built-in one is to tell.

    Raises:
        NoAnswer: the own table alone knows the resin, and says nothing.
    """
    index = _own_row(resin, own)
    if own is None or index is None:
        return None
    if wanted == _CAUTION and own.caution(index):
        try:
            return f"{own.caution(index)} {caution(resin, units=units)}"
        except NoAnswer:
            return f"{own.caution(index)} {GOVERNS}"
    if called(resin):
        return None
    if wanted == "name":
        return own.name(index)
    raise NoAnswer(
        f"{shown(own.name(index))} is only in your own table: its {wanted} is not known", _OWN
    )


@lru_cache(maxsize=1)
def _texts() -> dict[str, Callable[[str, str], str]]:
    """What HOPPER_RESIN tells as text, other than sources -> how."""
    about = {
        f"{_CAUTION} {kind}": lambda resin, units, kind=kind: caution(resin, kind, units)
        for kind in KINDS
    }
    return {
        "name": lambda resin, _units: one_resin(resin),
        "full name": lambda resin, _units: full_name(one_resin(resin)),
        _CAUTION: lambda resin, units: caution(resin, units=units),
        **about,
        "never with": _never_with,
    }


def _known_properties() -> dict[str, str]:
    """Every word that HOPPER_RESIN knows as a property -> its quantity, "" for a text."""
    return {
        **PROPERTIES,
        RATIO: "density ratio",
        _SOFTENS_AT: "temperature",
        **dict.fromkeys(_texts(), ""),
        _SOURCE: "",
    }


def _all_sources(resin: str, own: OwnTable | None) -> str:
    """What each property of a resin rests on, in one line."""
    parts: dict[str, list[str]] = {}
    missing: NoAnswer | None = None
    for name in STORED:
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
    if of_source or wanted == _SOURCE or wanted in _texts():
        return ""
    value, quantity = _number(resin, wanted, read_own_table(own_table, units))
    return f"{wanted} of {value.resin} {in_both(value.si, quantity, units)}, {value.source}"


@cell_function(
    "HOPPER_RESIN",
    question="What figures are usual for this resin, and where do they come from?",
    summary="A value or a caution from the resin table, or from your own table; each has a source.",
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
            "(also with low or high), moisture limit, specific heat, caution; source, or a name "
            "and source.",
            kind="text",
            known=_known_properties,
        ),
        Argument(
            "own_table",
            "Your own rows under headings: resin and names of properties, units in square "
            "brackets. They win over the built-in table.",
            kind="cells",
            default=_NO_TABLE,
            known=lambda: {"resin": "", **PROPERTIES, _CAUTION: "", _SOURCE: ""},
        ),
    ),
    result=Result("the value, or its caution or source as text", kind="cell"),
    equation="own_table, else the built-in table, where resin and property meet",
    assumptions=(
        "Values to start from: measure the density; the resin maker's data sheet governs drying. "
        "A range is what is usually stated; it does not prove safety or harm outside it. "
        "Low density for volume, high for load. Moisture limit as a fraction of wet mass."
    ),
    source=f"resin table {TABLE_VERSION}; the source of each value: property with source behind",
    example=Example(
        ("PP", "specific heat", "none", "metric"),
        2.0,
        "Crawford, Plastics Engineering, Table 1.8",
    ),
    note=_note,
    carried="HOPPERSHEET_RESIN({resin},{property},{own_table},metric)",
    see_also=("HOPPER_SAMPLE_DENSITY", "HOPPER_REQUIRED_VOLUME", "HOPPER_HEAT"),
)
def resin(resin: str, property: str, own_table: list[list[Any]], units: str) -> Any:
    """A resin's value as the plain number of ``units``, or a caution or source as text."""
    wanted, of_source = _property(property)
    own = read_own_table(own_table, units)
    if wanted in _texts():
        text = _own_text(resin, wanted, own, units)
        return _texts()[wanted](resin, units) if text is None else text
    if wanted == _SOURCE:
        return _all_sources(resin, own)
    value, quantity = _number(resin, wanted, own)
    return value.source if of_source else in_system(value.si, quantity, units)
