"""One row of a job list: read, blended, sized, and told what was assumed or what is wrong.

The same code sizes a range in a worksheet (HOPPER_SIZE_JOBS) and a file on the command line.
A row with a problem never stops the others.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
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
from .job_blends import Blend, Blender, basis_by_line, looks, table_value
from .job_cells import typed
from .job_columns import JOB_COLUMNS, NOT_STATED, RESULT_COLUMNS, reason_of
from .job_numbers import column_reader, with_its_unit
from .job_rates import rate_reader
from .job_resins import ResinName, ResinNames
from .jobreading.reading import Reading
from .jobwords.recipes import NONE, RECIPE_IN_RESIN, RECIPE_IN_TEXT, none_words
from .jobwords.totals import is_total
from .not_jobs import EMPTY, NotJobs, Sums
from .sized_job import SizedJob

__all__ = [
    "JOB_COLUMNS",
    "NOT_STATED",
    "RESULT_COLUMNS",
    "JobSizer",
    "reason_of",
]

_MAY_BE_BLANK = ("drying hours", "reserve", "runner mass")


def _refused(problem: CellError) -> SizedJob:
    return SizedJob(problem=problem, faults=((problem.argument, problem.reason),))


def _picker(indexes: Sequence[int]) -> Callable[[Sequence[Any]], tuple[Any, ...]]:
    """A function that takes the cells at several indexes of a row."""
    if len(indexes) > 1:
        return itemgetter(*indexes)
    return lambda row: tuple([row[at] for at in indexes])


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
        self._rough = [(name, c.at) for name, c in self.columns.items() if c.rough]
        #: the line that states the basis of the shares, "" where a heading or a cell does
        self._by_line = reading.basis_from if basis_by_line(reading) else ""
        self._at = {name: column.at for name, column in self.columns.items()}
        united = [(c.at, c.unit_at) for c in self.columns.values() if c.unit_at is not None]
        used = (*self._at.values(), *reading.searched, *(unit_at for _, unit_at in united))
        self._wide = max(used, default=0) + 1
        self._united = united
        readers = {
            name: column_reader(column, self.system, name in _MAY_BE_BLANK)
            for name, column in self.columns.items()
            if column.quantity and column.quantity != "share"
        }
        self._throughput = rate_reader(reading, readers)
        self._hours_at, self._reserve_at = self._at.get("drying hours"), self._at.get("reserve")
        self._hours_of, self._reserve_of = readers.get("drying hours"), readers.get("reserve")
        self._reserve_in_words = "reserve" in self.columns and not self.columns["reserve"].plain
        self._blender = Blender(reading)
        self._blend_cells = _picker([self._at[name] for name in self._blender.names])
        self._job_at, self._resin_at = self._at.get("job"), self._at.get("resin")
        self._always = "; ".join(reading.assumed)
        self._usual_rate, self._usual_hours = (
            QUANTITIES[name].typical or (0.0, 1e300) for name in ("throughput", "drying hours")
        )
        self._resins = ResinNames()
        self._company = Company(reading.resins)
        self._sums = Sums()
        self._not_jobs = NotJobs(reading, self._sums, readers.get("throughput"))

    @property
    def unknown_resins(self) -> Iterable[str]:
        """Resins that the table does not know, so that nothing was compared; the first ones."""
        return self._resins.unknown

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
        resin = None
        if self._resin_at is not None and type(row[self._resin_at]) is str:
            resin = self._resins.about(row[self._resin_at])
            if resin.taken_for:
                row, resin = self._with_known_resin(row, resin.taken_for, assumed)
        try:
            throughput = self._throughput(row, assumed, check)
            hours = self._hours(row, assumed, check)
            reserve = self._reserve(row, assumed)
            blend = self._blender.blend(self._blend_cells(row))
        except CellError as problem:
            return self._without_size(row, problem, number)
        name = row[0 if self._job_at is None else self._job_at]
        sums = self._sums
        if type(name) is str and is_total(name):
            return sums.total(name, throughput)
        refusal = self._not_jobs.refusal()
        if refusal is not None:
            return _refused(refusal)
        if self.reading.searched:
            nothing_stated = blend.all_virgin and bool(blend.assumed)
            spoken = self._speaks_of_a_recipe(row, nothing_stated, check)
            if spoken is not None:
                return _refused(spoken)
        if sums.count > 1 and sums.has(throughput):
            if self._job_at is not None and is_blank(name):
                return sums.total("", throughput)
            rows = f"rows {sums.first} to {sums.last}"
            check.append(f"the throughput is the sum of {rows}: a total?")
        sums.add(throughput, number)
        low, high = self._usual_rate
        if not low <= throughput <= high:
            check.append(f"throughput {in_both(throughput, 'throughput', self.system)} is unusual")
        if resin is not None:
            check += self._compared_with_table(resin, row, hours, blend)
            if resin.apart:
                check += self._company.warnings(resin.plain, number)
        for name, at in self._rough:
            check += _roughly(name, row[at])
        beside_cells: list[str] = []
        if self._by_line:
            beside_cells = [mark for mark in blend.assumed if self._by_line in mark]
        if self._blank_is:
            blanks = self._doubtful_blanks(row, blend)
            check += blanks
            beside_cells += blanks
        assumed += blend.assumed
        if self._always:
            assumed.append(self._always)
        volume = required_volume(throughput, hours, blend.density, reserve)
        below, following = self.catalog.around(volume)
        check += blend.check
        if blend.others:
            check += self._other_sizes(volume, blend, following)
        too_large = None if following else self._too_large(volume)
        return SizedJob(
            blend.density,
            volume,
            below.volume if below else None,
            held_hours(below.volume, blend.density, throughput) if below else None,
            following.volume if following else None,
            held_hours(following.volume, blend.density, throughput) if following else None,
            following.model if following else "",
            following.price if following else None,
            "; ".join(assumed),
            "; ".join(check),
            too_large,
            "",
            throughput,
            hours,
            () if too_large is None else ((too_large.argument, too_large.reason),),
            tuple(beside_cells),
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

    def blend_of(self, row: Sequence[Any]) -> Blend:
        """The blend of a row that was sized.

        Raises:
            CellError: a cell that counts cannot be read.
        """
        row = self._prepared(row)
        resin = row[self._resin_at] if self._resin_at is not None else None
        taken = self._resins.about(resin).taken_for if type(resin) is str else ""
        if taken:
            row, _ = self._with_known_resin(row, taken, [])
        return self._blender.blend(self._blend_cells(row))

    def reserve_of(self, row: Sequence[Any]) -> float:
        """The reserve of a row that was sized, as a fraction."""
        return self._reserve(self._prepared(row), [])

    def _reserve(self, row: Sequence[Any], assumed: list[str]) -> float:
        if self._reserve_of is None or self._reserve_at is None:
            return 0.0
        cell = row[self._reserve_at]
        if self._reserve_in_words and type(cell) is str and plain_text(cell) in NONE:
            assumed.append(none_words("reserve", cell))
            return 0.0
        return self._reserve_of(cell) or 0.0

    def _hours(self, row: Sequence[Any], assumed: list[str], check: list[str]) -> float:
        """The drying hours in seconds, by the resin table where the row states none."""
        hours: float | None = None
        if self._hours_of is not None and self._hours_at is not None:
            hours = self._hours_of(row[self._hours_at])
        if hours is None:
            return self._hours_by_table(row, assumed)
        low, high = self._usual_hours
        if not low <= hours <= high:
            check.append(f"drying hours {hours / 3600:.4g} h are unusual")
        return hours

    def _hours_by_table(self, row: Sequence[Any], assumed: list[str]) -> float:
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

    def _with_known_resin(
        self, row: Sequence[Any], taken: str, assumed: list[str]
    ) -> tuple[Sequence[Any], ResinName]:
        """The row with the resin that its resin's name means with the number of a grade."""
        at = self._at["resin"]
        assumed.append(f"{shown(row[at])} taken for {taken}, the number for a grade")
        return [*row[:at], taken, *row[at + 1 :]], self._resins.about(taken)

    def _compared_with_table(
        self, resin: ResinName, row: Sequence[Any], hours: float, blend: Blend
    ) -> Sequence[str]:
        """Where the row's stated figures are not usual for its resin, in words."""
        if not resin.known:
            self._resins.is_in_row(resin)
            return (resin.mark,) if resin.mark else ()
        by_table = self._hours_at is None or is_blank(row[self._hours_at])
        stated = None if by_table else hours
        figures = (stated, blend.virgin, blend.regrind, blend.regrind_share)
        return looks(row[self._at["resin"]], *figures, self.system)

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
            return EMPTY
        no_job = self._not_jobs.look_at(filled, row, number)
        if no_job is not None:
            return no_job
        refusal = self._not_jobs.refusal() if self._not_jobs.other_headings else None
        if refusal is not None:
            return _refused(refusal)
        faults = self._faults(row, problem)
        problem.reason = "; ".join(
            reason if at == 0 or not column else f"{column}: {reason}"
            for at, (column, reason) in enumerate(faults)
        )
        return SizedJob(problem=problem, faults=faults)

    def _faults(self, row: Sequence[Any], first: CellError) -> tuple[tuple[str, str], ...]:
        """The first problem of a row, followed by those of the other columns."""

        def words(si: float, quantity: str) -> str:
            return in_both(si, quantity, self.system)

        first.word(words)
        found = {first.argument: first.reason}
        others: tuple[Callable[[], Any], ...] = (
            lambda: self._hours(row, [], []),
            lambda: self._reserve(row, []),
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


def _roughly(name: str, cell: Any) -> list[str]:
    """What to say of a figure that the list itself gives roughly."""
    if not isinstance(cell, str) or is_blank(cell):
        return []
    try:
        rough = typed(cell).roughly
    except CellError:
        return []
    return (
        [f"{name} {shown(cell.strip())} is a rough figure: its number was taken"] if rough else []
    )
