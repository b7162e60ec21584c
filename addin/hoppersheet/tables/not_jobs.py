"""Rows of a job list that hold no job: totals, titles, units, the headings again."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from ..cells.numbers_in_text import shown
from ..errors import CellError, WrongKind
from .heading_words import plain_text
from .job_columns import JOB_COLUMNS
from .job_numbers import Reader
from .jobreading.heading_rows import find_headings
from .jobreading.reading import Reading
from .jobwords.totals import is_total
from .jobwords.units import is_unit, same_unit, unit_in
from .sized_job import SizedJob

__all__ = ["EMPTY", "NotJobs", "Sums", "not_a_job"]

EMPTY = SizedJob(not_job="empty")
_SUM_WITHIN = 5e-4
_SAYS_SOMETHING = re.compile(r"\w|[?%]")


def not_a_job(why: str) -> SizedJob:
    """The answer for a row that is no job."""
    return SizedJob(check=f"not a job: {why}", not_job=why)


def _is_units_cell(text: str) -> bool:
    plain = text.strip().strip("[](){} ")
    return plain in ("", "-", "\u2013") or is_unit(plain)


def _is_a_rule(texts: Sequence[tuple[int, str]]) -> bool:
    """Whether cells hold nothing but signs, such as "-----"."""
    plain = [text.strip() for _, text in texts]
    return any(len(text) > 1 for text in plain) and not any(map(_SAYS_SOMETHING.search, plain))


class Sums:
    """The throughputs so far, since the last total and of all: a total is told by its sum too."""

    def __init__(self) -> None:
        self._part = self._whole = 0.0
        #: rows of the first job of all, of the first and the last one since the last total
        self._first_of_all = self.first = self.last = 0
        self.count = 0

    def add(self, throughput: float, row: int) -> None:
        """One more job."""
        self.count += 1
        self._part += throughput
        self._whole += throughput
        if not self.first:
            self.first = row
            self._first_of_all = self._first_of_all or row
        self.last = row

    def has(self, value: float) -> bool:
        """Whether a value is one of the two sums."""
        part, whole = self._part, self._whole
        if value < part * 0.99:  # nearly always
            return False
        return (part > 0.0 and abs(value / part - 1.0) < _SUM_WITHIN) or (
            whole > 0.0 and abs(value / whole - 1.0) < _SUM_WITHIN
        )

    def total(self, word: str, value: float | None) -> SizedJob:
        """A row of totals; says whether it is the sum of the rows above, and starts anew."""
        text = shown(word.strip()) if word else ""
        first = self.first
        if value is not None and self._whole and abs(value / self._whole - 1) < _SUM_WITHIN:
            first = self._first_of_all
        if value is not None and self.has(value) and first and self.last:
            text = f"{text}, the sum of rows {first} to {self.last}".lstrip(", ")
        elif not text:
            text = "the sum of the rows above"
        self._part, self.first, self.count = 0.0, 0, 0
        return not_a_job(text)


class NotJobs:
    """Tells the rows that are no jobs among those that could not be sized.

    Args:
        reading: how the list is read.
        sums: the throughputs so far.
        throughput_of: reads a throughput; None where it is worked out.

    Attributes:
        other_headings: row of the headings of another list below this one, 0 for none.
        other_unit: what stands between the rows and contradicts the unit of a column, in words.
    """

    def __init__(self, reading: Reading, sums: Sums, throughput_of: Reader | None) -> None:
        self._reading = reading
        self._columns: Mapping[str, Any] = reading.columns
        self._at = {name: column.at for name, column in reading.columns.items()}
        self._sums = sums
        self._throughput_of = throughput_of
        self.other_headings = 0
        self.other_unit: str | None = None

    def refusal(self) -> WrongKind | None:
        """Why no row from here on is sized, None where there is no reason."""
        if self.other_headings:
            return WrongKind(
                f"it is below other headings, in row {self.other_headings}; put that part in a "
                "list of its own",
                "row",
            )
        return None if self.other_unit is None else WrongKind(self.other_unit, "row")

    def look_at(
        self, filled: Sequence[tuple[int, Any]], row: Sequence[Any], number: int
    ) -> SizedJob | None:
        """The answer for a row that is no job; None where it may be one.

        Args:
            filled: index and content of the cells that are not blank.
            row: all cells.
            number: the row's number in the list.
        """
        texts = [(at, cell) for at, cell in filled if isinstance(cell, str)]
        cells = dict(filled)
        bare = not {self._at.get(n) for n in ("drying hours", "virgin density", "resin")} & set(
            cells
        )
        figures = {self._at[n] for n in self._at if JOB_COLUMNS.get(n, "x")}
        for at, text in texts[:3]:
            if is_total(text, bare, at in figures):
                return self._sums.total(text, None)
        if len(texts) == len(filled) and _is_a_rule(texts):
            return not_a_job("a line drawn with signs")
        if len(texts) == len(filled) >= 2 and all(_is_units_cell(text) for _, text in texts):
            return not_a_job("units")
        if len(texts) == len(filled) and len(filled) >= 2:
            if all(plain_text(c) == plain_text(self._heading(at)) for at, c in filled):
                return not_a_job("the headings again")
            found = find_headings([[*row]])
            if found is not None and len(filled) >= 3:
                self.other_headings = number or 1
                return not_a_job("headings of another list")
        if len(filled) == 1 and texts:
            at, text = texts[0]
            if at not in figures or not text[:1].isdigit():
                self._compare_units(text, number)
                return not_a_job(f"{shown(text.strip())}, a title or a note")
        if not {at for at, _ in filled} & {*self._at.values(), *self._reading.searched}:
            return not_a_job("cells in columns alone that are not read")
        return self._sum_without_a_word(cells)

    def _compare_units(self, text: str, number: int) -> None:
        """A title between the rows may name another unit than that of a column."""
        for name in ("throughput", "virgin density", "blend density"):
            column = self._columns.get(name)
            if column is None or not column.unit or column.unit_from.startswith("cells"):
                continue
            unit = unit_in(text, column.quantity)
            if not unit:
                continue
            self.other_unit = None
            if not same_unit(unit, column.unit, column.quantity):
                self.other_unit = (
                    f"row {number} says {shown(text.strip())}, but {shown(column.typed)} is read "
                    f"in {column.unit}; write the unit into each cell, such as '45 {unit}'"
                )

    def _heading(self, at: int) -> str:
        headings = self._reading.headings
        return headings[at] if at < len(headings) else ""

    def _sum_without_a_word(self, cells: Mapping[int, Any]) -> SizedJob | None:
        """A row with nothing but the sum of the throughputs above it."""
        rate = self._at.get("throughput")
        if (
            rate is None
            or rate not in cells
            or self._throughput_of is None
            or self._at.get("job") in cells
        ):
            return None
        others = {self._at.get(name) for name in ("drying hours", "virgin density", "resin")}
        if others & set(cells):
            return None
        try:
            value = self._throughput_of(cells[rate])
        except CellError:
            return None
        return self._sums.total("", value) if self._sums.has(value) else None
