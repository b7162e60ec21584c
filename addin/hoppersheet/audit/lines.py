"""The hoppers that a workbook sizes: what is required, what was chosen, from which catalog."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from ..cells.quantities import SYSTEMS
from ..cells.reading import number_reader
from ..cells.values import is_error
from ..errors import CellError
from ..registry import Argument
from ..workbook.book import Cell
from ..workbook.evaluator import Area, SizingCall
from ..workbook.formulas import Place
from ..workbook.precedents import Precedents
from .calls import Calls, PlainCall
from .catalogs import Catalog, Catalogs
from .chosen_size import Candidate, chosen_of
from .jobs import JobRow, JobTable
from .plain_formulas import is_volume, typed_over

__all__ = ["Line", "LineFinder", "size_in_si"]


@dataclass
class Line:
    """One hopper to size.

    Attributes:
        call: the call of HOPPER_REQUIRED_VOLUME, or of the HOPPER_SIZE_JOBS that sizes its row.
        place: its cell, in a job list the cell of the row's required volume.
        system: unit system of the call.
        required: required volume, m3.
        chosen: the cell with the chosen size, None where none is found.
        chosen_size: m3, None where the cell holds no size.
        hoppers: how many of the chosen size share the throughput, side by side.
        sizes: catalog sizes, m3, ascending; empty where no catalog is found.
        catalog: where these are.
        below: the chosen cell may knowingly be smaller: the shortfall allowed in the formula.
        typed: typed cells that the required volume follows from.
        calculated: cells with formulas that it follows from, its own included.
        job: the row of a job list, None for a line of its own.
        listed: the catalog, None where none is found.
        names_catalog: whether a text in the line says which of several catalogs it is from.
        unit: of the line's plain volumes, "" for that of its unit system.
        systems: cells whose size is in another system.
        part: of these hoppers that is for this line, less than 1 where others draw at once.
        with_others: the other lines of the same hopper, where it is for more than this one needs;
            ``SizedLines.others_of_its_hopper`` asks for all.
        looked_up: the volume that the size was looked up for, m3; 0 where nothing is known of it.
    """

    call: SizingCall
    place: Place
    system: str
    required: float
    chosen: Place | None = None
    chosen_size: float | None = None
    hoppers: int = 1
    sizes: list[float] = field(default_factory=list)
    catalog: Area | None = None
    below: float = 0.0
    typed: list[Cell] = field(default_factory=list)
    calculated: set[Place] = field(default_factory=set)
    job: JobRow | None = None
    listed: Catalog | None = None
    names_catalog: bool = False
    unit: str = ""
    systems: dict[Place, str] = field(default_factory=dict)
    part: float = 1.0
    with_others: list[Line] = field(default_factory=list)
    looked_up: float = 0.0

    @property
    def chosen_volume(self) -> float | None:
        """What the hoppers hold that is for this line, m3; None where no size is chosen."""
        return None if self.chosen_size is None else self.chosen_size * self.hoppers * self.part

    @property
    def decides_the_size(self) -> bool:
        """Whether its hopper, if others share it, is as large as this line needs it."""
        if self.part < 1:
            return all(self.place < other.place for other in self.with_others)
        return self.required >= self.looked_up * self.hoppers * (1 - 1e-9)

    def followers_of(self, precedents: Precedents, changed: Iterable[Place]) -> set[Place]:
        """Those of the line's formulas that follow from some cells."""
        return precedents.followers(changed, self.calculated) & self.calculated

    def in_si(self, value: Any) -> float | None:
        """A volume as the line's cells hold it in m3, None where it is none."""
        if not self.unit:
            return size_in_si(value, self.system)
        if value in (None, "") or is_error(value) or isinstance(value, bool):
            return None
        try:
            return float(number_reader(_VOLUME, self.system, self.unit)(value))
        except CellError:
            return None


_VOLUME = Argument("volume", "", "volume")


_VOLUME_READERS = {s: number_reader(_VOLUME, s) for s in SYSTEMS}

_MOST_INPUTS = 5_000  # cells that a volume may follow from, such as a whole resin table
#: Function -> the argument that is a hopper's size.
_SIZE_ARGUMENTS = {
    "HOPPER_CATALOG_ENTRY": "size",
    "HOPPER_SIZE_MARGIN": "size",
    "HOPPER_LOADED_MASS": "volume",
    "HOPPER_HELD_MASS": "volume",
    "HOPPER_MAX_THROUGHPUT": "volume",
    "HOPPER_HELD_HOURS": "volume",
}
#: Headings of cells that follow from the size that is offered.
_READ_THE_SIZE = frozenset(("model", "list price", "held hours"))


def size_in_si(value: Any, system: str) -> float | None:
    """A cell value as a hopper size in m3, None where it is none."""
    if value in (None, "") or is_error(value) or isinstance(value, bool):
        return None
    try:
        return float(_VOLUME_READERS[system](value))
    except CellError:
        return None


class LineFinder:
    """Finds the lines of a workbook and the size chosen for each."""

    def __init__(self, context: Calls, job_tables: Sequence[JobTable]) -> None:
        self.context = context
        self.job_tables = job_tables
        self.catalogs = Catalogs(context)
        #: place of a required volume -> the same volume in the other unit system, in its row
        self.twins: dict[Place, Place] = {}

    def find(self) -> list[Line]:
        """Every hopper that the workbook sizes."""
        lines = self._without_twins(list(self._own_lines()))
        lines += self._typed_lines(lines)
        for line in lines:
            self._find_size(line)
            follows = self.context.precedents.inputs_of(line.call.cell, _MOST_INPUTS)
            if follows is not None:
                line.typed, line.calculated = follows
        for table in self.job_tables:
            lines += filter(None, map(self._line_of_job, table.rows))
        return lines

    # -- lines of their own

    def _own_lines(self) -> Iterator[Line]:
        for call in self.context.all_calls():
            if call.name == "HOPPER_REQUIRED_VOLUME":
                line = self._line_of_call(call)
                if line is not None:
                    yield line

    def _line_of_call(self, call: SizingCall) -> Line | None:
        inputs = self.context.inputs(call) if call.error is None else None
        if inputs is None or is_error(self.context.value(call.cell.place)):
            return None
        try:
            required = float(inputs.function.function(*inputs.values.values()))
        except (CellError, TypeError, ValueError):
            return None
        line = Line(call, call.cell.place, inputs.system, required)
        cell = call.cell
        if cell.tree is not call.node and self._is_part_of_volume(call):
            # more is worked out in the cell, such as what of the hopper is filled
            line.required = size_in_si(self.context.value(cell.place), line.system) or required
        if isinstance(call, PlainCall):
            stated = self.context.labels.unit(line.place)
            if stated is not None and is_volume(stated.spelling):
                line.unit = stated.spelling
        return line

    def _is_part_of_volume(self, call: SizingCall) -> bool:
        """Whether a cell goes on from our volume to the one with what of a hopper is filled."""
        labels = self.context.labels
        return (
            not isinstance(call, PlainCall)
            and labels.role(call.cell.place) == "required volume"
            and any(
                area[1:3] == area[3:] and labels.role(area[:3]) == "filled share"
                for area in self.context.values.areas_of(call.cell)
            )
        )

    def _typed_lines(self, lines: list[Line]) -> list[Line]:
        """Lines whose required volume somebody typed over, found by those beside it."""
        context = self.context
        known = {line.place for line in lines} | set(self.twins.values())
        found: list[Line] = []
        lists = {
            (name, row if context.labels.sideways(name) else column)
            for name, row, column in (line.place for line in lines)
        }
        for name, number in sorted(lists):
            sheet = context.book.sheets[name]
            others = (sheet.rows if context.labels.sideways(name) else sheet.columns)[number]
            for cell in others:
                if cell.place in known or not cell.typed or not isinstance(cell.value, float):
                    continue
                if context.labels.role(cell.place) == "required volume":
                    known.add(cell.place)
                    made = typed_over(context, cell)
                    other = self._line_of_call(made) if made is not None else None
                    if other is not None:
                        found.append(other)
        return found

    def _without_twins(self, lines: list[Line]) -> list[Line]:
        """Without the volumes that only say once more what stands in their row or column.

        In the other unit system, or by a plain formula beside ours.
        """
        by_row: dict[tuple[str, int, int], list[Line]] = {}
        for line in lines:
            by_row.setdefault(self._row(line.place), []).append(line)
        dropped: set[int] = set()
        for row in by_row.values():
            # The one that something is sized by stays, else the first.
            ranked = sorted(row, key=lambda line: -self._followed(line.place))
            for at, line in enumerate(ranked):
                for other in ranked[at + 1 :]:
                    same = abs(other.required - line.required) <= 1e-6 * line.required
                    # A plain formula beside ours is about the same hopper, whatever it gives.
                    plain = isinstance(line.call, PlainCall) != isinstance(other.call, PlainCall)
                    again = plain or (same and other.system != line.system)
                    if again and id(line) not in dropped:
                        dropped.add(id(other))
                        self.twins[line.place] = other.place
        return [line for line in lines if id(line) not in dropped]

    def _followed(self, place: Place) -> int:
        return len(self.context.uses.get(place, [])) + len(self._followers.get(place, ()))

    @cached_property
    def _followers(self) -> dict[Place, set[str]]:
        """Cell -> headings of the formulas that take it alone, not as one of a range."""
        found: dict[Place, set[str]] = {}
        for cell in self.context.book.formulas():
            role = self.context.labels.role(cell.place)
            if role:
                for area in self.context.values.areas_of(cell):
                    if area[1:3] == area[3:]:
                        found.setdefault(area[:3], set()).add(role)
        return found

    # -- the chosen size

    def in_catalog(self, place: Place) -> bool:
        """Whether a cell is one of a catalog: none of them is a choice."""
        return self.catalogs.holds(place)

    @cached_property
    def _calls_by_row(self) -> dict[tuple[str, int, int], list[SizingCall]]:
        found: dict[tuple[str, int, int], list[SizingCall]] = {}
        for call in self.context.all_calls():
            found.setdefault(self._row(call.cell.place), []).append(call)
        return found

    def _row(self, place: Place) -> tuple[str, int, int]:
        """The row of a line; its column on a sheet with labels to the left."""
        return self.context.labels.line_of(place)

    @cached_property
    def rows_with_several(self) -> set[Place]:
        """Required volumes that share a row with another one: a row says nothing there."""
        seconds = set(self.twins.values())
        by_row: dict[tuple[str, int, int], set[Place]] = {}
        for call in self.context.all_calls():
            if call.name == "HOPPER_REQUIRED_VOLUME" and call.cell.place not in seconds:
                by_row.setdefault(self._row(call.cell.place), set()).add(call.cell.place)
        return {place for places in by_row.values() if len(places) > 1 for place in places}

    def judged_by(self, line: Line) -> Iterator[SizingCall]:
        """Calls that judge the line's size: they take its required volume or stand in its row."""
        for place in (line.place, self.twins.get(line.place)):
            for use in self.context.uses.get(place, []) if place else ():
                yield use.call
        if line.place not in self.rows_with_several:
            yield from self._calls_by_row.get(self._row(line.place), [])

    def _candidates(self, line: Line) -> dict[Place, Candidate]:
        """Every cell that may hold the size chosen for a line."""
        context = self.context
        found: dict[Place, Candidate] = {}
        seen: set[int] = set()
        for call in self.judged_by(line):
            if id(call) in seen:
                continue
            seen.add(id(call))
            if call.name in ("HOPPER_NEXT_SIZE", "HOPPER_SIZE_BELOW"):
                place = call.cell.place
                found.setdefault(place, Candidate(place)).given_by = call.name
                inputs = context.inputs(call)
                if call.name == "HOPPER_NEXT_SIZE" and inputs is not None:
                    line.systems[place] = inputs.system
                    line.below = max(line.below, inputs.values["allowed_shortfall"])
            elif call.name in _SIZE_ARGUMENTS:
                node = context.argument_node(call, _SIZE_ARGUMENTS[call.name])
                source = context.source(node, call.place)
                if source is not None and not self.in_catalog(source):
                    reader = context.labels.role(call.cell.place)
                    if call.name != "HOPPER_CATALOG_ENTRY" and reader != "held hours":
                        reader = call.name
                    elif call.name == "HOPPER_CATALOG_ENTRY":
                        reader = reader if reader in _READ_THE_SIZE else "model"
                    found.setdefault(source, Candidate(source)).readers.add(reader)
        if line.place not in self.rows_with_several:
            for cell in context.labels.beside(line.place):
                if cell.place != line.place and not self.in_catalog(cell.place):
                    self._by_heading(cell, found)
        for place, candidate in found.items():
            cell_of = context.book.cell(place)
            candidate.role = candidate.role or context.labels.role(place)
            candidate.typed = cell_of is not None and cell_of.typed
            candidate.readers |= self._followers.get(place, set()) & _READ_THE_SIZE
        return found

    def _by_heading(self, cell: Cell, found: dict[Place, Candidate]) -> None:
        role = self.context.labels.role(cell.place)
        if role in ("chosen size", "size", "next size") and cell.place not in found:
            found[cell.place] = Candidate(cell.place, role)

    def _find_size(self, line: Line) -> None:
        candidates = self._candidates(line)
        self._find_catalog(line, candidates)
        known = {
            place: candidate
            for place, candidate in candidates.items()
            if self._size(line, place) is not None
        }
        chosen = chosen_of(list(known.values()))
        if chosen is not None:
            line.chosen, line.chosen_size = chosen.place, self._size(line, chosen.place)
            line.hoppers = self._side_by_side(line)

    def _side_by_side(self, line: Line) -> int:
        """By how many, as some cell says, the volume was divided before its next size was taken."""
        context = self.context
        for call in self.judged_by(line):
            inputs = context.inputs(call) if call.name == "HOPPER_NEXT_SIZE" else None
            if inputs is None or call.cell.place not in context.trail(line.chosen or line.place):
                continue
            ratio = line.required / inputs.values["required_volume"]
            count = round(ratio)
            if count < 2 or abs(ratio - count) > 1e-6 * count:
                continue
            if self.counted(call, count):
                return count
        return 1

    def counted(self, call: SizingCall, count: int) -> bool:
        """Whether a cell says so many hoppers, where what a size is looked up for is divided."""
        context = self.context
        source = context.source(context.argument_node(call, "required_volume"), call.place)
        cells = [call.cell, context.book.cell(source) if source is not None else None]
        return any(
            area[1:3] == area[3:] and context.value(area[:3]) == count
            for cell in filter(None, cells)
            for area in context.values.areas_of(cell)
        )

    def _size(self, line: Line, place: Place) -> float | None:
        value = self.context.value(place)
        if place in line.systems:
            return size_in_si(value, line.systems[place])
        return line.in_si(value)

    def _find_catalog(self, line: Line, candidates: dict[Place, Candidate]) -> None:
        """The list that the line's size is from: what its formulas take sizes from."""
        taken: list[Area] = []
        for call in self.judged_by(line):
            if call.name != "HOPPER_SIZE_JOBS":
                node = self.context.argument_node(call, "catalog_sizes")
                area = self.context.area_of(node, call.place)
                if area is not None:
                    taken.append(area)
        cells = [*self.context.labels.beside(line.place)]
        cells += filter(None, map(self.context.book.cell, candidates))
        for cell in cells:
            if cell.formula is not None:
                taken += self.context.values.areas_of(cell)
        known = [self.catalogs.of_area[area] for area in taken if area in self.catalogs.of_area]
        # A line with nothing but typed figures is from the only list there is.
        known = known or (self.catalogs.all if len(self.catalogs.all) == 1 else [])
        if len(self.catalogs.all) > 1:
            named = self.catalogs.named_beside(line.place)
            line.names_catalog = named is not None
            known = [named] if named is not None else self._taken_now(cells) or known
        if known:
            line.listed, line.catalog = known[0], known[0].sizes
            sizes = {line.in_si(self.context.value(place)) for place in known[0].rows}
            line.sizes = sorted(size for size in sizes if size is not None)

    def _taken_now(self, cells: Iterable[Cell]) -> list[Catalog]:
        """The lists that formulas take as their conditions stand."""
        context, found = self.context, []
        for cell in cells:
            if cell.tree is not None:
                for node in context.nodes_taken(cell.tree, cell.place):
                    area = context.area_of(node, cell.place)
                    if area in self.catalogs.of_area:
                        found.append(self.catalogs.of_area[area])
        return found

    # -- rows of job lists

    def _line_of_job(self, row: JobRow) -> Line | None:
        table = row.table
        if row.sized.required_volume is None:
            return None
        line = Line(
            table.call, row.result_place("required volume"), table.system,
            row.sized.required_volume, sizes=[s.volume for s in table.sizer.catalog.sizes],
            catalog=table.catalog_area, job=row,
        )  # fmt: skip
        for place in row.places.values():
            cell = self.context.book.cell(place)
            follows = self.context.precedents.inputs_of(cell) if cell is not None else None
            if follows is not None:
                line.typed += [c for c in follows[0] if c not in line.typed]
                line.calculated |= follows[1]
        line.calculated.add(line.place)
        line.chosen_size = row.sized.next_size
        if row.is_shown:
            line.chosen = row.result_place("next size")
        found: dict[Place, Candidate] = {}
        for place in (line.place, row.first):
            for cell in self.context.book.sheets[place[0]].rows.get(place[1], []):
                role = self.context.labels.role(cell.place)
                typed = cell.typed and role == "size"
                if (role == "chosen size" or typed) and not self.in_catalog(cell.place):
                    found[cell.place] = Candidate(cell.place, role, typed=cell.typed)
        chosen = chosen_of([c for c in found.values() if line.in_si(self.context.value(c.place))])
        if chosen is not None:
            line.chosen = chosen.place
            line.chosen_size = line.in_si(self.context.value(chosen.place))
        return line
