"""One row of a job list: read, blended, sized, and told what was assumed or what is wrong.

The same code sizes a range in a worksheet (HOPPER_SIZE_JOBS) and a file on the command line.
A row with a problem never stops the others.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from operator import itemgetter
from typing import Any

from ..cells.numbers_in_text import shown
from ..cells.quantities import QUANTITIES
from ..cells.values import is_blank
from ..cells.wording import in_both, with_unit
from ..errors import CellError, NoAnswer, WrongKind
from ..sizing.catalog import hopper_count
from ..sizing.volume import held_hours, required_volume
from .catalog import CatalogSize, CatalogTable
from .hazards import Company
from .heading_words import plain_text
from .job_blends import Blend, Blender, looks, table_value
from .job_cells import typed
from .job_columns import JOB_COLUMNS, NOT_STATED, RESULT_COLUMNS, reason_of
from .job_numbers import column_reader, with_its_unit
from .jobreading.column_units import is_per_day, per_day_note
from .jobreading.heading_rows import find_headings
from .jobreading.reading import Reading
from .jobwords.recipes import RECIPE_IN_RESIN, RECIPE_IN_TEXT
from .jobwords.totals import is_total
from .jobwords.units import is_unit, same_unit, unit_in
from .resin_table import called, without_grade
from .sized_job import SizedJob

__all__ = [
    "JOB_COLUMNS",
    "NOT_STATED",
    "RESULT_COLUMNS",
    "JobSizer",
    "reason_of",
]

_MOST_UNKNOWN = 50
_COUNTED = ("cycle time", "shots per hour", "parts per hour", "cavities")
_RATE = ("throughput", "drying hours", "reserve")
_MAY_BE_BLANK = ("drying hours", "reserve", "runner mass")


#: Stated and worked out throughputs that differ by more are told, common practice, no source.
_SAME_RATE = 0.05
_EMPTY = SizedJob(not_job="empty")


def _refused(problem: CellError) -> SizedJob:
    return SizedJob(problem=problem, faults=((problem.argument, problem.reason),))


def _not_a_job(why: str) -> SizedJob:
    return SizedJob(check=f"not a job: {why}", not_job=why)


def _is_units_cell(text: str) -> bool:
    plain = text.strip().strip("[](){} ")
    return plain in ("", "-", "\u2013") or is_unit(plain)


def _picker(indexes: Sequence[int | None]) -> Callable[[Sequence[Any]], tuple[Any, ...]]:
    """A function that takes the cells at several indexes of a row; None where an index is None."""
    if None not in indexes and len(indexes) > 1:
        return itemgetter(*indexes)
    return lambda row: tuple([None if at is None else row[at] for at in indexes])


class JobSizer:
    """Sizes the rows of one job list, one after the other.

    Args:
        reading: how the list is read.
        catalog: the sizes to choose from.
        blank_is: what else a blank cell may be, as words for people; "" where a blank is a blank.
    """

    def __init__(self, reading: Reading, catalog: CatalogTable, blank_is: str = "") -> None:
        self.reading = reading
        self.columns = reading.columns
        self.catalog = catalog
        self.system = reading.system
        self._blank_is = blank_is
        self._at = {name: column.at for name, column in self.columns.items()}
        searched = reading.searched
        unit_indexes = [c.unit_at for c in self.columns.values() if c.unit_at is not None]
        self._wide = max((*self._at.values(), *searched, *unit_indexes), default=0) + 1
        self._united = [(c.at, c.unit_at) for c in self.columns.values() if c.unit_at is not None]
        self._rate_cells = _picker([self._at.get(name) for name in _RATE])
        self._readers = {
            name: column_reader(column, self.system, name in _MAY_BE_BLANK)
            for name, column in self.columns.items()
            if column.quantity and column.quantity != "share"
        }
        self._throughput_of = self._readers.get("throughput")
        self._has_parts = bool({"shot mass", "part mass"} & set(self.columns))
        self._hours_of = self._readers.get("drying hours", _always_blank)
        self._reserve_of = self._readers.get("reserve", _always_blank)
        self._blender = Blender(reading)
        self._blend_cells = _picker([self._at.get(name) for name in self._blender.names])
        self._job_at = self._at.get("job", 0)
        self._always = "; ".join(reading.assumed)
        self._resin_at = self._at.get("resin")
        self._typical = {
            name: QUANTITIES[name].typical or (0.0, 1e300)
            for name in ("throughput", "drying hours")
        }
        #: resins that the table does not know, so that nothing was compared
        self.unknown_resins: dict[str, None] = {}
        self._company = Company(reading.resins)
        self._sum = self._whole_sum = 0.0
        self._first_summed = self._first_job = self._summed = 0
        self._daily = reading.daily
        self._other_headings = 0
        #: what stands between the rows and contradicts the unit of a column
        self._other_unit: str | None = None
        self._row = 0
        self._last = 0

    # --- one row ---

    def size(self, row: Sequence[Any], number: int = 0) -> SizedJob:
        """Size one row of raw cells; never raises for what a cell holds.

        Args:
            row: the cells.
            number: the row's number in the list, for what is said of sums.
        """
        if len(row) < self._wide or self._united:
            row = self._prepared(row)
        assumed: list[str] = []
        check: list[str] = []
        if self._resin_at is not None:
            row = self._with_known_resin(row, assumed)
        try:
            throughput_cell, hours_cell, reserve_cell = self._rate_cells(row)
            if self._throughput_of is not None and not (
                self._has_parts and is_blank(throughput_cell)
            ):
                throughput = self._throughput_of(throughput_cell)
                if self._has_parts:
                    self._compare_with_parts(row, throughput, check)
                if self._daily and _counts_days(throughput_cell):
                    assumed.append(per_day_note(self._daily))
            else:
                throughput = self._throughput(row, assumed)
            hours = self._hours(hours_cell, row, assumed, check)
            reserve = self._reserve_of(reserve_cell) or 0.0
            blend = self._blender.blend(self._blend_cells(row))
        except CellError as problem:
            return self._without_size(row, problem, number)
        name = row[self._job_at]
        if type(name) is str and is_total(name):
            return self._total(name, throughput, number)
        if self._other_headings:
            return _refused(self._below_other_headings())
        if self._other_unit is not None:
            return _refused(WrongKind(self._other_unit, "row"))
        if self.reading.searched:
            nothing_stated = blend.all_virgin and bool(blend.assumed)
            spoken = self._speaks_of_a_recipe(row, nothing_stated, check)
            if spoken is not None:
                return _refused(spoken)
        if self._summed > 1 and self._is_sum(throughput):
            if "job" in self._at and is_blank(name):
                return self._total("", throughput, number)
            rows = f"rows {self._first_summed} to {self._last}"
            check.append(f"the throughput is the sum of {rows}: a total?")
        self._summed += 1
        self._sum += throughput
        self._whole_sum += throughput
        self._first_summed = self._first_summed or number
        self._first_job = self._first_job or number
        self._last = number
        low, high = self._typical["throughput"]
        if not low <= throughput <= high:
            check.append(f"throughput {in_both(throughput, 'throughput', self.system)} is unusual")
        if self._resin_at is not None:
            self._compare_with_table(row, hours_cell, hours, blend, check)
            check.extend(self._company.warnings(row[self._resin_at], number))
        if self._blank_is:
            check.extend(self._doubtful_blanks(row, blend))
        if assumed or self._always:
            text = "; ".join(
                (*assumed, *blend.assumed, self._always)
                if self._always
                else (*assumed, *blend.assumed)
            )
        else:
            text = "; ".join(blend.assumed)
        volume = required_volume(throughput, hours, blend.density, reserve)
        below, following = self.catalog.around(volume)
        check.extend(blend.check)
        if blend.others:
            check.extend(self._other_sizes(volume, blend, following))
        return self._answer(
            volume, blend.density, below, following, throughput, hours, text, "; ".join(check)
        )

    def _doubtful_blanks(self, row: Sequence[Any], blend: Blend) -> list[str]:
        """The blanks that something else stands for, in a file that hides why they are blank."""
        names = ["drying hours", "reserve"]
        if "recipe" not in self.columns:
            names += [name for name in self.columns if name.endswith(" share")]
        if "blend density" not in self.columns or is_blank(row[self._at["blend density"]]):
            names += [f"{name} density" for name, _, _ in blend.parts]
        blank = [
            shown(" ".join(self.columns[name].typed.split()))
            for name in names
            if name in self._at and is_blank(row[self._at[name]])
        ]
        if not blank:
            return []
        verb = "are blank, or hold" if len(blank) > 1 else "is blank, or holds"
        return [f"{' and '.join(blank)} {verb} {self._blank_is}"]

    def _prepared(self, row: Sequence[Any]) -> Sequence[Any]:
        """The row as wide as the list, with the units of a column of units behind its numbers."""
        cells = [*row, *[None] * (self._wide - len(row))]
        for at, unit_at in self._united:
            cells[at] = with_its_unit(cells[at], cells[unit_at])
        return cells

    def _with_known_resin(self, row: Sequence[Any], assumed: list[str]) -> Sequence[Any]:
        """The row with the resin that its resin's name means with the number of a grade."""
        at = self._resin_at
        resin = row[at] if at is not None else None
        taken = without_grade(resin) if type(resin) is str else ""
        if at is None or not taken:
            return row
        assumed.append(f"{shown(resin)} taken for {taken}, the number for a grade")
        return [*row[:at], taken, *row[at + 1 :]]

    def blend_of(self, row: Sequence[Any]) -> Blend:
        """The blend of a row that was sized.

        Raises:
            CellError: a cell that counts cannot be read.
        """
        row = self._with_known_resin(self._prepared(row), [])
        return self._blender.blend(self._blend_cells(row))

    def reserve_of(self, row: Sequence[Any]) -> float:
        """The reserve of a row that was sized, as a fraction."""
        return self._reserve_of(self._rate_cells(self._prepared(row))[2]) or 0.0

    def _throughput(self, row: Sequence[Any], assumed: list[str]) -> float:
        """Throughput worked out from shots or parts."""
        of = {
            name: self._readers[name](row[self._at[name]])
            for name in ("shot mass", "part mass", "runner mass", *_COUNTED)
            if name in self._at
        }
        mass = of.get("shot mass") or of["part mass"]
        grams = f"{mass * 1000:.6g} g"
        if "cavities" in of:
            runner = of.get("runner mass") or 0.0
            rate = (of["cavities"] * mass + runner) / of["cycle time"]
            how = f"{of['cavities']:.6g} parts of {grams}"
            how += f" and a runner of {runner * 1000:.6g} g" if runner else ""
            how += f" every {of['cycle time']:.6g} s"
        elif "cycle time" in of:
            rate = mass / of["cycle time"]
            how = f"{grams} every {of['cycle time']:.6g} s"
        else:
            count = "shots" if "shots per hour" in of else "parts"
            number = of[f"{count} per hour"]
            rate = number * mass / 3600.0
            how = f"{number:.6g} {count} of {grams} an hour"
        if "part mass" in of:
            how += ", without scrap" if of.get("runner mass") else ", without runners and scrap"
        measure = QUANTITIES["throughput"]
        if not measure.low <= rate <= measure.high:
            raise NoAnswer(f"{how} is not a possible throughput", "throughput")
        assumed.append(f"throughput {with_unit(rate, 'throughput', self.system)}: {how}")
        return rate

    def _compare_with_parts(self, row: Sequence[Any], throughput: float, check: list[str]) -> None:
        """Say where the shots or the parts of a row give another throughput than it states."""
        assumed: list[str] = []
        try:
            other = self._throughput(row, assumed)
        except CellError:
            return  # the throughput is stated, and counts
        if abs(other / throughput - 1.0) > _SAME_RATE:
            check.append(f"the shots or parts give another {assumed[0]}")

    def _hours(self, cell: Any, row: Sequence[Any], assumed: list[str], check: list[str]) -> float:
        hours = self._hours_of(cell)
        if hours is None:
            resin = row[self._resin_at] if self._resin_at is not None else None
            if is_blank(resin):
                raise WrongKind("the cell is blank", "drying hours")
            name = str(resin).strip()
            try:
                found = table_value(name, "drying hours")
            except CellError as problem:
                raise type(problem)(f"not given, and {problem.reason}", "drying hours") from None
            if found is None:
                raise NoAnswer(f"not given, and the resin table has none of {name}", "drying hours")
            hours, source = found
            text = with_unit(hours, "drying hours", self.system)
            assumed.append(f"drying hours {text} from the resin table ({source})")
            return hours
        low, high = self._typical["drying hours"]
        if not low <= hours <= high:
            check.append(f"drying hours {hours / 3600:.4g} h are unusual")
        return float(hours)

    def _compare_with_table(
        self, row: Sequence[Any], hours_cell: Any, hours: float, blend: Blend, check: list[str]
    ) -> None:
        """Say where the row's stated figures are not usual for its resin."""
        resin = row[self._resin_at] if self._resin_at is not None else None
        if not isinstance(resin, str) or is_blank(resin):
            return
        resins = called(resin)
        if len(resins) != 1:
            if len(self.unknown_resins) < _MOST_UNKNOWN:
                self.unknown_resins.setdefault(" ".join(resin.split()))
            why = "can be several resins" if resins else "is not in the resin table"
            check.append(f"{shown(resin)} {why}: nothing was compared with it")
            return
        stated = None if is_blank(hours_cell) else hours
        found = looks(resin, stated, blend.virgin, blend.regrind, blend.regrind_share, self.system)
        check.extend(found)

    def _speaks_of_a_recipe(
        self, row: Sequence[Any], nothing_stated: bool, check: list[str]
    ) -> CellError | None:
        """What an unread text says about regrind: a problem where the row states no share."""
        for at in self.reading.searched:
            cell = row[at]
            speaks = RECIPE_IN_RESIN if at == self._resin_at else RECIPE_IN_TEXT
            if not isinstance(cell, str) or not speaks.search(cell):
                continue
            heading = shown(self.reading.headings[at].strip())
            text = f"{heading} says {shown(cell.strip(), 60)}, which is not read"
            if nothing_stated:
                return WrongKind(
                    f"{text}; put the share into a column 'regrind share'", "regrind share"
                )
            check.append(text)
        return None

    # --- choosing ---

    def _other_sizes(self, volume: float, blend: Blend, following: CatalogSize | None) -> list[str]:
        """What the row's other readings would choose, where that is another catalog size."""
        text = []
        for reading, density in blend.others:
            _, other = self.catalog.around(volume * blend.density / density)
            if other is following:
                continue
            name = "larger than the largest catalog size"
            if other is not None:
                name = other.model or with_unit(other.volume, "volume", self.system)
            text.append(f"{reading} it would be {name}")
        return text

    def _answer(
        self,
        volume: float,
        density: float,
        below: CatalogSize | None,
        following: CatalogSize | None,
        throughput: float,
        hours: float,
        assumed: str,
        check: str,
    ) -> SizedJob:
        problem = None if following else self._too_large(volume)
        return SizedJob(
            density,
            volume,
            below.volume if below else None,
            held_hours(below.volume, density, throughput) if below else None,
            following.volume if following else None,
            held_hours(following.volume, density, throughput) if following else None,
            following.model if following else "",
            following.price if following else None,
            assumed,
            check,
            problem,
            "",
            throughput,
            hours,
            () if problem is None else ((problem.argument, problem.reason),),
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

    # --- what is no job, or has no size ---

    def _without_size(self, row: Sequence[Any], problem: CellError, number: int) -> SizedJob:
        filled = [(at, cell) for at, cell in enumerate(row) if not is_blank(cell)]
        if not filled:
            return _EMPTY
        no_job = self._no_job(filled, row, number)
        if no_job is not None:
            return no_job
        if self._other_headings:
            return _refused(self._below_other_headings())
        faults = self._faults(row, problem)
        problem.reason = "; ".join(
            reason if at == 0 or not column else f"{column}: {reason}"
            for at, (column, reason) in enumerate(faults)
        )
        return SizedJob(problem=problem, faults=faults)

    def _no_job(
        self, filled: Sequence[tuple[int, Any]], row: Sequence[Any], number: int
    ) -> SizedJob | None:
        texts = [(at, cell) for at, cell in filled if isinstance(cell, str)]
        cells = dict(filled)
        bare = not {self._at.get(n) for n in ("drying hours", "virgin density", "resin")} & set(
            cells
        )
        figures = {self._at[n] for n in self._at if JOB_COLUMNS.get(n, "x")}
        for at, text in texts[:3]:
            if is_total(text, bare, at in figures):
                return self._total(text, None, number)
        if len(texts) == len(filled) >= 2 and all(_is_units_cell(text) for _, text in texts):
            return _not_a_job("units")
        if len(texts) == len(filled) and len(filled) >= 2:
            if all(plain_text(c) == plain_text(self._heading(at)) for at, c in filled):
                return _not_a_job("the headings again")
            found = find_headings([[*row]])
            if found is not None and len(filled) >= 3:
                self._other_headings = number or 1
                return _not_a_job("headings of another list")
        if len(filled) == 1 and texts:
            at, text = texts[0]
            if at not in figures or not text[:1].isdigit():
                self._compare_units(text, number)
                return _not_a_job(f"{shown(text.strip())}, a title or a note")
        if not {at for at, _ in filled} & {*self._at.values(), *self.reading.searched}:
            return _not_a_job("cells in columns alone that are not read")
        return self._sum_without_a_word(filled, number)

    def _compare_units(self, text: str, number: int) -> None:
        """A title between the rows may name another unit than that of a column."""
        for name in ("throughput", "virgin density", "blend density"):
            column = self.columns.get(name)
            if column is None or not column.unit or column.unit_from.startswith("cells"):
                continue
            unit = unit_in(text, column.quantity)
            if not unit:
                continue
            self._other_unit = None
            if not same_unit(unit, column.unit, column.quantity):
                self._other_unit = (
                    f"row {number} says {shown(text.strip())}, but {shown(column.typed)} is read "
                    f"in {column.unit}; write the unit into each cell, such as '45 {unit}'"
                )

    def _heading(self, at: int) -> str:
        headings = self.reading.headings
        return headings[at] if at < len(headings) else ""

    def _sum_without_a_word(
        self, filled: Sequence[tuple[int, Any]], number: int
    ) -> SizedJob | None:
        """A row with nothing but the sum of the throughputs above it."""
        rate = self._at.get("throughput")
        cells = dict(filled)
        if (
            rate is None
            or rate not in cells
            or self._throughput_of is None
            or self._at.get("job") in cells
        ):
            return None
        others = {self._at.get("drying hours"), self._at.get("virgin density"), self._resin_at}
        if others & set(cells):
            return None
        try:
            value = self._throughput_of(cells[rate])
        except CellError:
            return None
        return self._total("", value, number) if self._is_sum(value) else None

    def _is_sum(self, value: float) -> bool:
        part, whole = self._sum, self._whole_sum
        return (part > 0.0 and abs(value / part - 1.0) < 5e-4) or (
            whole > 0.0 and abs(value / whole - 1.0) < 5e-4
        )

    def _total(self, word: str, value: float | None, number: int) -> SizedJob:
        """A row of totals; says whether it is the sum of the rows above."""
        text = shown(word.strip()) if word else ""
        first, last = self._first_summed, self._last
        if value is not None and self._whole_sum and abs(value / self._whole_sum - 1) < 5e-4:
            first = self._first_job
        if value is not None and self._is_sum(value) and first and last:
            text = f"{text}, the sum of rows {first} to {last}".lstrip(", ")
        elif not text:
            text = "the sum of the rows above"
        self._sum, self._first_summed, self._summed = 0.0, 0, 0
        return _not_a_job(text)

    def _below_other_headings(self) -> WrongKind:
        return WrongKind(
            f"it is below other headings, in row {self._other_headings}; put that part in a list "
            "of its own",
            "row",
        )

    def _faults(self, row: Sequence[Any], first: CellError) -> tuple[tuple[str, str], ...]:
        """The first problem of a row, followed by those of the other columns."""

        def words(si: float, quantity: str) -> str:
            return in_both(si, quantity, self.system)

        first.word(words)
        found = {first.argument: first.reason}
        _, hours_cell, reserve_cell = self._rate_cells(row)
        others: tuple[Callable[[], Any], ...] = (
            lambda: self._hours(hours_cell, row, [], []),
            lambda: self._reserve_of(reserve_cell),
            lambda: self._blender.blend(self._blend_cells(row)),
        )
        for read in others:
            try:
                read()
            except CellError as other:
                if other.argument not in found:
                    other.word(words)
                    found[other.argument] = other.reason
        return tuple(found.items())


def _counts_days(cell: Any) -> bool:
    """Whether a cell that was read as a throughput names one per day."""
    return isinstance(cell, str) and is_per_day(typed(cell).unit)


def _always_blank(cell: Any) -> None:
    return None
