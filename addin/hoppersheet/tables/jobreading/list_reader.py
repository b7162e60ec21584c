"""Reads a job list: takes the headings, then all rows once, and gives a :class:`Reading`.

For each column its unit and where that comes from, the decimal sign and what proves it, percent or
fraction; what is not used; what was assumed. A choice that only the writer of the list can make is
a :class:`Question`. The same code reads a range in a worksheet and a file of any kind.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any

from ...cells.values import is_blank
from ..heading_words import plain_text
from ..job_columns import AS_LISTED, BY_UNIT, NOT_STATED, quantity_of
from ..jobwords.units import is_unit_heading, speaks_metric, tidy_unit, unit_measures
from .chosen_headings import ChosenHeadings
from .column_units import ColumnUnits
from .decimal_sign import settle_sign
from .doubtful_headings import (
    density_or_not,
    recipe_or_not,
    refuse_recipes,
    unread_numbers,
    why_unused,
)
from .evidence import Evidence
from .heading_rows import HEADING_WITHIN, Headings, find_headings
from .reading import Reading
from .shares import RATIOS, list_basis, maybe_blend, maybe_blend_note, virgin_only, with_mode
from .survey import Survey

__all__ = ["ListReader", "read_rows"]

_BLOCK = 256  # rows looked at in one go; more do not fit the processor's caches
# What stands in a row of units under a column that has none.
_NO_UNITS = (
    "text", "name", "-", "no", "\u00b0c", "\u00b0f", "usd", "eur", "$", "\u20ac", "string", "nr",
)  # fmt: skip


class ListReader:
    """Decides how a list is read.

    Args:
        headings: the heading cells.
        units: "US", "metric" or :data:`AS_LISTED`: what the user states.
        own_words: column -> heading, as the user says.
        ignore: headings that the user lets pass unread.
        basis: share basis of rows that state none.
        above: texts above the headings, which may name a unit.

    Raises:
        WrongKind: a needed column is missing (names near misses), stands twice, or has a unit of
            something else.
        Question: a heading that is not read may change the answer.
    """

    def __init__(
        self,
        headings: Sequence[Any],
        units: str = AS_LISTED,
        own_words: Mapping[str, str] | None = None,
        ignore: Iterable[str] = (),
        basis: str = NOT_STATED,
        above: Iterable[str] = (),
    ) -> None:
        self._chosen = ChosenHeadings(headings, own_words or {}, ignore)
        self._basis = basis
        found_at, cells = self._chosen.found_at, self._chosen.headings
        if "regrind share" in found_at:
            found_at.pop("recipe", None)
        numeric = [at for name, at in found_at.items() if quantity_of(name)]
        unit_columns = [at for at, cell in enumerate(cells) if is_unit_heading(cell)]
        words = [*unit_columns, *(found_at[name] for name in ("recipe",) if name in found_at)]
        read = {*found_at.values(), *unit_columns}
        named = {found_at.get("job"), found_at.get("resin")}
        others = [at for at in range(len(cells)) if at not in read or at in named]
        ratios = {at for name, at in found_at.items() if quantity_of(name) in RATIOS}
        survey = Survey(numeric, ratios, words, others, found_at.get("resin"))
        lines = [text for text in above if isinstance(text, str)]
        self._evidence = Evidence(self._chosen, survey, units, lines, unit_columns)
        self._units_index: int | None = None
        self._first = 2

    @property
    def found_at(self) -> dict[str, int]:
        """Column -> its index."""
        return self._chosen.found_at

    def take(self, rows: Iterable[Sequence[Any]], first: int) -> Reading:
        """Look at every row once and decide.

        Args:
            rows: the rows below the headings.
            first: number of the first of them, for messages.

        Raises:
            Question: see the class.
        """
        self._first = first
        left = iter(rows)
        block = [*self._to_first_row(left), *islice(left, _BLOCK - 1)]
        while block:
            self._evidence.survey.add(block, first)
            first += len(block)
            block = list(islice(left, _BLOCK))
        return self._decide()

    def _to_first_row(self, rows: Iterator[Sequence[Any]]) -> list[Sequence[Any]]:
        """The rows up to the first with something in it; one of units is told, and is left out."""
        top: list[Sequence[Any]] = []
        for row in rows:
            blank = all(is_blank(cell) for cell in row)
            if not blank and self._is_units_row(row):
                self._units_index = len(top)
                self._evidence.units_row = self._first + len(top)
                row = ()
            top.append(() if blank else row)
            if not blank:
                break
        return top

    def _is_units_row(self, row: Sequence[Any]) -> bool:
        """Whether the first row below the headings holds units and nothing else."""
        units: dict[int, str] = {}
        name_at = {at: name for name, at in self._chosen.found_at.items()}
        for at, cell in enumerate(row):
            if is_blank(cell):
                continue
            if not isinstance(cell, str):
                return False
            text = tidy_unit(cell.strip().strip("[](){}").strip())
            quantity = quantity_of(name_at[at]) if at in name_at else ""
            if quantity and text not in ("-", "\u2013", "1", "") and unit_measures(text, quantity):
                units[at] = text
            elif (
                text in ("-", "\u2013", "")
                or plain_text(text) in _NO_UNITS
                or (at not in name_at and speaks_metric(text))
            ):
                continue
            elif (
                (at in name_at and quantity)
                or any(sign.isdigit() for sign in text)
                or len(text) > 8
            ):
                return False
        self._evidence.row_units = units
        return bool(units)

    def _decide(self) -> Reading:
        evidence, chosen, facts = self._evidence, self._chosen, self._evidence.survey.facts
        recipe_or_not(evidence)
        density_note = density_or_not(evidence)
        refuse_recipes(evidence)
        units = ColumnUnits(evidence)
        columns, sign, sign_proof = settle_sign(units.columns(density_note), evidence.survey)
        columns = {
            name: with_mode(column, columns, facts[column.at]) if column.quantity else column
            for name, column in columns.items()
        }
        basis, basis_from = list_basis(evidence, self._basis)
        assumed = (*units.assumed, *unread_numbers(evidence))
        for name, column in columns.items():
            if column.quantity and facts[column.at].rough:
                columns[name] = column = column._replace(rough=facts[column.at].rough)
            if column.at in chosen.by_unit:
                note = "; ".join(filter(None, (column.note, BY_UNIT)))
                columns[name] = column._replace(note=note)
        blend_heading = maybe_blend(chosen, columns)
        ground = columns.get("regrind density")
        if blend_heading and (ground is None or not facts[ground.at].filled):
            virgin = columns["virgin density"]
            note = "; ".join(filter(None, (virgin.note, maybe_blend_note(virgin.typed))))
            columns["virgin density"] = virgin._replace(note=note)
        indexes = {column.at for column in columns.values()} | set(units.unit_indexes.values())
        not_used = tuple(
            (heading.strip(), why_unused(evidence, at))
            for at, heading in enumerate(chosen.headings)
            if at not in indexes and heading.strip()
        )
        # The job's name and the resin may speak of a recipe too.
        named = {chosen.found_at[name] for name in ("job", "resin") if name in chosen.found_at}
        searched = tuple(
            at
            for at, its in facts.items()
            if its.speaks and (at not in indexes or at in named) and not chosen.is_ignored(at)
        )
        resin = columns.get("resin")
        resins = dict(facts[resin.at].texts) if resin is not None else {}
        return Reading(
            columns, tuple(chosen.components), units.result_system(columns), sign, sign_proof,
            basis, basis_from, assumed, virgin_only(chosen, columns), units.daily,
            blend_heading, not_used, searched, self._first, self._units_index,
            tuple(chosen.headings), resins,
        )  # fmt: skip


def read_rows(
    rows: Sequence[Sequence[Any]],
    units: str = AS_LISTED,
    basis: str = NOT_STATED,
) -> Reading:
    """Read a list that is held in memory; a title may stand above its headings.

    Raises:
        WrongKind, Question: as :class:`ListReader`.
    """
    found = find_headings(rows[:HEADING_WITHIN]) or Headings(0, 1, [])
    last = found.at + found.height
    headings: Sequence[Any] = found.cells if found.height > 1 else rows[found.at]
    above = [cell for row in rows[: found.at] for cell in row if isinstance(cell, str)]
    reader = ListReader(headings, units, basis=basis, above=above)
    return reader.take(rows[last:], last + 1)
