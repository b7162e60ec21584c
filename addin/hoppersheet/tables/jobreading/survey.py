"""What the cells of each column look like, gathered before any row of a job list is sized."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from itertools import islice
from typing import Any

from ...cells.values import is_blank, number_of
from ...errors import CellError
from ..job_cells import Answer, ClockTime, Percent, ShownWithUnit, typed
from ..jobwords.recipes import RECIPE_IN_RESIN, RECIPE_IN_TEXT, may_speak_of_recipe
from ..jobwords.share_basis import bases_in
from ..jobwords.totals import is_total, may_hold_total
from ..jobwords.units import is_unit, speaks_metric

__all__ = ["Facts", "Survey"]

_KEPT = 200  # samples of a column
_NOTHING = ("0", "0.0", "0 %", "0%", "-")
_NAMED = 5  # rows that a sentence names
# A block of cells, each followed by \0, that are blank or digits with at most one point.
_PLAIN_BLOCK = re.compile(r"(?:(?:[0-9]{1,15}(?:\.[0-9]{1,15})?)?\0)*")
_PROVES_POINT = re.compile(r"\0(?:[0-9]{4,}|0[0-9]*)\.[0-9]|[0-9]\.(?:[0-9]{1,2}|[0-9]{4,})\0")
_LONE_POINT = re.compile(r"\0([1-9][0-9]{0,2}\.[0-9]{3})(?=\0)")


class Facts:
    """What one column's cells look like.

    Attributes:
        bare: numbers without a unit; ``sample`` holds the first of them.
        small, ones, large: of the bare numbers of a ratio how many lie between 0 and 1, are 1, are
            above 1; ``small_rows`` names the first of those up to 1.
        percents: numbers that say percent themselves.
        units: unit in cells -> how many.
        proofs: decimal sign -> (row, text) of the first cell that proves it.
        doubtful: text that can be read two ways -> (row, unit).
        clocks, fractions, rough: how many were written so.
        texts: other texts -> row.
        plain: whether every cell is a text that is blank or digits with at most one point.
    """

    __slots__ = (
        "_ratio", "bare", "clocks", "doubtful", "filled", "fractions", "large", "ones",
        "percents", "plain", "proofs", "rough", "sample", "shown_percent", "small", "small_rows",
        "speaks", "texts", "units",
    )  # fmt: skip

    def __init__(self, ratio: bool = False) -> None:
        self._ratio = ratio
        self.filled = self.bare = self.small = self.ones = self.large = 0
        self.percents = self.shown_percent = self.clocks = self.fractions = self.rough = 0
        self.sample: list[float] = []
        self.small_rows: list[int] = []
        self.units: dict[str, int] = {}
        self.proofs: dict[str, tuple[int, str]] = {}
        self.doubtful: dict[str, tuple[int, str]] = {}
        self.texts: dict[str, int] = {}
        self.speaks, self.plain = False, True

    def number(self, value: float, row: int) -> None:
        """One number without a unit."""
        self.bare += 1
        if len(self.sample) < _KEPT:
            self.sample.append(value)
        if value > 1.0:
            self.large += 1
        elif value > 0.0:
            if value == 1.0:
                self.ones += 1
            else:
                self.small += 1
            if len(self.small_rows) < _NAMED:
                self.small_rows.append(row)

    def cell(self, cell: Any, row: int) -> None:
        """One cell that is not blank."""
        self.filled += 1
        if isinstance(cell, str):
            self._text(cell, row)
        elif isinstance(cell, ShownWithUnit):
            self._text(cell.text, row)
        elif isinstance(cell, Percent):
            self.percents += 1
            self.shown_percent += 1
        elif isinstance(cell, ClockTime):
            self.clocks += 1
        else:
            try:
                self.number(number_of(cell, ""), row)
            except CellError:
                self._keep(str(cell), row)

    def _keep(self, text: str, row: int) -> None:
        if len(self.texts) < _KEPT:
            self.texts.setdefault(text, row)

    def _text(self, text: str, row: int) -> None:
        try:
            found = typed(text)
        except CellError:
            self._keep(text, row)
            return
        if found.unit and not is_unit(found.unit):
            self._keep(text, row)
            return
        self.rough += bool(found.roughly)
        if found.how == "clock":
            self.clocks += 1
            return
        if found.how == "fraction":
            self.fractions += 1
        if found.sign and type(text) is not Answer:
            self.proofs.setdefault(found.sign, (row, text))
        if found.value is None and len(self.doubtful) < _KEPT:
            self.doubtful.setdefault(text, (row, found.unit))
        if found.unit in ("%", "percent", "pct"):
            self.percents += 1
        elif found.unit:
            self.units[found.unit] = self.units.get(found.unit, 0) + 1
        elif found.value is None:
            self.bare += 1
        elif found.how == "fraction":
            pass  # 1/3 is a third, whatever the others are
        else:
            self.number(found.value, row)

    def column(self, cells: Sequence[Any], first: int) -> None:
        """Many cells of the column, the first of them in row ``first``."""
        if set(map(type, cells)) == {str}:
            block = "\0".join(cells) + "\0"
            # A cell with a NUL of its own is no plain number.
            if _PLAIN_BLOCK.fullmatch(block) and block.count("\0") == len(cells):
                self._plain(cells, "\0" + block, first)
                return
        self.plain = False
        for row, cell in enumerate(cells, first):
            if type(cell) is float:
                self.filled += 1
                self.number(cell, row)
            elif not is_blank(cell):
                self.cell(cell, row)

    def _plain(self, cells: Sequence[str], block: str, first: int) -> None:
        """Cells that are blank or digits with at most one point, of which there may be millions."""
        filled = len(cells) - cells.count("")
        if not filled:
            return
        self.filled += filled
        self.bare += filled
        if "." in block:
            self._points(block, first)
        if len(self.sample) < _KEPT:
            values = map(float, filter(None, cells))
            self.sample.extend(islice(values, _KEPT - len(self.sample)))
        if self._ratio:
            self._up_to_one(cells, first)

    def _points(self, block: str, first: int) -> None:
        """What the points in a block of plain numbers prove, and which of them may be thousands."""
        if "." not in self.proofs and (match := _PROVES_POINT.search(block)):
            start = block.rfind("\0", 0, match.end() - 1)
            text = block[start + 1 :].partition("\0")[0]
            self.proofs["."] = (first + block.count("\0", 0, start), text)
        if len(self.doubtful) < _KEPT:
            found = dict.fromkeys(_LONE_POINT.findall(block))
            for text in islice(found, _KEPT - len(self.doubtful)):
                if text not in self.doubtful:
                    start = block.index(f"\0{text}\0")
                    self.doubtful[text] = (first + block.count("\0", 0, start), "")

    def _up_to_one(self, cells: Sequence[str], first: int) -> None:
        """Count the plain numbers above 1, 1 itself and those below."""
        values = [float(cell or -1.0) for cell in cells]
        large = sum(map((1.0).__lt__, values))
        self.large += large
        if large == len(values):
            return
        for row, value in enumerate(values, first):
            if 0.0 < value <= 1.0:
                self.ones += value == 1.0
                self.small += value < 1.0
                if len(self.small_rows) < _NAMED:
                    self.small_rows.append(row)


class Survey:
    """Gathers the facts of a list's columns, a block of rows at a time.

    Args:
        numeric: indexes of the columns with numbers.
        ratios: those of them that may be fractions or percentages.
        words: indexes of the columns of which the different texts are wanted.
        others: indexes of columns that are not read; whether they speak of a recipe is kept.
        resin: index of the resin among them, which speaks of one without a number too.
    """

    def __init__(
        self,
        numeric: Sequence[int],
        ratios: Collection[int],
        words: Sequence[int],
        others: Sequence[int],
        resin: int | None = None,
    ) -> None:
        self.facts = {at: Facts(at in ratios) for at in (*numeric, *words, *others)}
        self._numeric, self._words, self._others = numeric, words, others
        self._resin = None if resin is None else self.facts[resin]
        self.rows = 0
        #: (row, text) of rows with nothing but a text that says a basis of shares or a metric unit
        self.notes: list[tuple[int, str]] = []

    def add(self, rows: Sequence[Sequence[Any]], first: int) -> None:
        """A block of rows; totals do not count."""
        self.rows += len(rows)
        columns = self._columns(rows)
        starts = [cell for cells in columns[:3] for cell in cells if isinstance(cell, str)]
        joined = "\0" + "\0".join(starts)
        if may_hold_total(joined):
            numeric = set(self._numeric)
            columns = self._columns(
                [
                    []
                    if any(is_total(c, sums_only=at in numeric) for at, c in enumerate(row[:3]))
                    else row
                    for row in rows
                ]
            )
            for at in numeric:
                self.facts[at].plain = False  # a row that does not count may hold anything
        if (bases_in(joined) or speaks_metric(joined)) and len(self.notes) < _KEPT:
            self._notes(rows, first)
        for at in self._numeric:
            self.facts[at].column(columns[at], first)
        for at in self._words:
            facts = self.facts[at]
            for number, cell in enumerate(columns[at], first):
                if not is_blank(cell):
                    facts.filled += 1
                    facts._keep(str(cell), number)
        for at in self._others:
            self._other(self.facts[at], columns[at], first)

    def _columns(self, rows: Sequence[Sequence[Any]]) -> list[tuple[Any, ...]]:
        """The cells by columns; what stands beyond the last wanted column is not."""
        widest = max(self.facts, default=0)
        if min(map(len, rows), default=0) <= widest:
            rows = [[*row, *[""] * (widest + 1 - len(row))] for row in rows]
        return list(zip(*rows))  # noqa: B905

    def _notes(self, rows: Sequence[Sequence[Any]], first: int) -> None:
        for number, row in enumerate(rows, first):
            filled = [cell for cell in row if not is_blank(cell)]
            if len(filled) != 1 or not isinstance(filled[0], str):
                continue
            if bases_in(filled[0]) or speaks_metric(filled[0]):
                self.notes.append((number, filled[0]))

    def _other(self, facts: Facts, cells: Sequence[Any], first: int) -> None:
        """Cells of a column that is not read: do they speak of a recipe, and the first ones."""
        texts = {cell for cell in cells if type(cell) is str}
        if not facts.speaks:
            text = "\n".join(texts)
            speaks = RECIPE_IN_RESIN if facts is self._resin else RECIPE_IN_TEXT
            facts.speaks = may_speak_of_recipe(text) and speaks.search(text) is not None
        if len(facts.texts) >= _KEPT:
            return
        all_texts = set(map(type, cells)) == {str}
        if all_texts and not texts.difference(facts.texts, _NOTHING, ("",)):
            return  # all known, as in a column of machines
        for number, cell in enumerate(cells, first):
            if not is_blank(cell) and str(cell).strip() not in _NOTHING:
                facts._keep(str(cell), number)
