"""The hoppers that a workbook sizes: what is required, what was chosen, from which catalog."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
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
from .calls import Calls
from .jobs import JobRow, JobTable

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
        sizes: catalog sizes, m3, ascending; empty where no catalog is found.
        catalog: where these are.
        below: the chosen cell may knowingly be smaller: the shortfall allowed in the formula.
        typed: typed cells that the required volume follows from.
        calculated: cells with formulas that it follows from, its own included.
        job: the row of a job list, None for a line of its own.
    """

    call: SizingCall
    place: Place
    system: str
    required: float
    chosen: Place | None = None
    chosen_size: float | None = None
    sizes: list[float] = field(default_factory=list)
    catalog: Area | None = None
    below: float = 0.0
    typed: list[Cell] = field(default_factory=list)
    calculated: set[Place] = field(default_factory=set)
    job: JobRow | None = None
    #: cell with a formula -> the cells it refers to, filled as they are asked for
    refers_to: dict[Place, set[Place]] = field(default_factory=dict)


_VOLUME_READERS = {s: number_reader(Argument("volume", "", "volume"), s) for s in SYSTEMS}

_CHOSEN = re.compile(
    r"\b(chosen|selected|choice|quoted|offered|ordered|our|proposed)\b.*\b(size|volume|hopper)\b"
    r"|\b(size|volume|hopper)\b.*\b(chosen|selected|quoted|offered|ordered|proposed)\b",
    re.IGNORECASE,
)
_SIZE_ARGUMENTS = {
    "HOPPER_CATALOG_ENTRY": ("size", 5),
    "HOPPER_SIZE_MARGIN": ("size", 2),
    "HOPPER_LOADED_MASS": ("volume", 3),
    "HOPPER_HELD_MASS": ("volume", 2),
    "HOPPER_MAX_THROUGHPUT": ("volume", 2),
    "HOPPER_HELD_HOURS": ("volume", 2),
}


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
        #: place of a required volume -> the same volume in the other unit system, in its row
        self.twins: dict[Place, Place] = {}

    def find(self) -> list[Line]:
        """Every hopper that the workbook sizes."""
        lines = self._without_twins(list(self._own_lines()))
        for line in lines:
            self._find_size(line)
            follows = self.context.values.inputs_of(line.call.cell)
            if follows is not None:
                line.typed, line.calculated = follows
        for table in self.job_tables:
            lines += filter(None, map(self._line_of_job, table.rows))
        return lines

    # -- lines of their own

    def _own_lines(self) -> Iterator[Line]:
        for call in self.context.all_calls():
            if call.name != "HOPPER_REQUIRED_VOLUME" or call.error is not None:
                continue
            inputs = self.context.inputs(call)
            if inputs is None:
                continue
            try:
                required = float(inputs.function.function(*inputs.values.values()))
            except (CellError, TypeError, ValueError):
                continue
            yield Line(call, call.cell.place, inputs.system, required)

    def _without_twins(self, lines: list[Line]) -> list[Line]:
        """Without the volumes that only say in the other unit system what stands in their row."""
        by_row: dict[tuple[str, int], list[Line]] = {}
        for line in lines:
            by_row.setdefault(line.place[:2], []).append(line)
        dropped: set[int] = set()
        for row in by_row.values():
            # The one that something is sized by stays, else the first.
            ranked = sorted(row, key=lambda line: -len(self.context.uses.get(line.place, [])))
            for at, line in enumerate(ranked):
                for other in ranked[at + 1 :]:
                    same = abs(other.required - line.required) <= 1e-6 * line.required
                    if same and other.system != line.system and id(line) not in dropped:
                        dropped.add(id(other))
                        self.twins[line.place] = other.place
        return [line for line in lines if id(line) not in dropped]

    # -- the chosen size

    @cached_property
    def _catalogs(self) -> set[Area]:
        """Every range that some call takes as a catalog: none of its cells is a choice."""
        found = set()
        for call in self.context.all_calls():
            for name in ("catalog_sizes", "catalog_column"):
                area = self.context.area_of(self.context.argument_node(call, name), call.place)
                if area is not None:
                    found.add(area)
        return found

    def _in_catalog(self, place: Place) -> bool:
        sheet, row, column = place
        return any(
            sheet == a[0] and a[1] <= row <= a[3] and a[2] <= column <= a[4] for a in self._catalogs
        )

    @cached_property
    def _calls_by_row(self) -> dict[tuple[str, int], list[SizingCall]]:
        found: dict[tuple[str, int], list[SizingCall]] = {}
        for call in self.context.all_calls():
            found.setdefault(call.cell.place[:2], []).append(call)
        return found

    @cached_property
    def rows_with_several(self) -> set[Place]:
        """Required volumes that share a row with another one: a row says nothing there."""
        seconds = set(self.twins.values())
        by_row: dict[tuple[str, int], set[Place]] = {}
        for call in self.context.all_calls():
            if call.name == "HOPPER_REQUIRED_VOLUME" and call.cell.place not in seconds:
                by_row.setdefault(call.cell.place[:2], set()).add(call.cell.place)
        return {place for places in by_row.values() if len(places) > 1 for place in places}

    def _related(self, line: Line) -> Iterator[SizingCall]:
        """Calls that judge the line's size: they take its required volume or stand in its row."""
        for place in (line.place, self.twins.get(line.place)):
            for use in self.context.uses.get(place, []) if place else ():
                yield use.call
        if line.place not in self.rows_with_several:
            yield from self._calls_by_row.get(line.place[:2], [])

    def _find_size(self, line: Line) -> None:
        context = self.context
        scores: dict[Place, float] = {}
        seen: set[int] = set()
        next_cells: set[Place] = set()
        below_cells: set[Place] = set()
        systems: dict[Place, str] = {}
        for call in self._related(line):
            if id(call) in seen:
                continue
            seen.add(id(call))
            inputs = context.inputs(call)
            area = context.area_of(context.argument_node(call, "catalog_sizes"), call.place)
            if area is None or inputs is None or call.name == "HOPPER_SIZE_JOBS":
                pass
            elif not line.sizes:
                known = [s for s in inputs.values["catalog_sizes"] if s is not None]
                line.sizes, line.catalog = sorted(set(known)), area
            if call.name == "HOPPER_NEXT_SIZE":
                next_cells.add(call.cell.place)
                if inputs is not None:
                    systems[call.cell.place] = inputs.system
                    line.below = max(line.below, inputs.values["allowed_shortfall"])
            elif call.name == "HOPPER_SIZE_BELOW":
                below_cells.add(call.cell.place)
            elif call.name in _SIZE_ARGUMENTS:
                name, score = _SIZE_ARGUMENTS[call.name]
                place = context.source(context.argument_node(call, name), call.place)
                if place is not None and not self._in_catalog(place):
                    scores[place] = scores.get(place, 0) + score
        for place in scores:
            cell = context.book.cell(place)
            scores[place] += 10 * bool(_CHOSEN.search(context.labels.label(place)))
            scores[place] += 3 * bool(cell is not None and cell.typed)
            scores[place] -= 8 * (place in next_cells) + 30 * (place in below_cells)
        if line.place not in self.rows_with_several:
            self._chosen_by_heading(line, line.place[:2], scores)
        for place in next_cells:
            scores.setdefault(place, -5)
        ranked = sorted(scores, key=lambda p: (-scores[p], p))
        for place in ranked:
            size = size_in_si(context.value(place), systems.get(place, line.system))
            if size is not None and place not in below_cells:
                line.chosen, line.chosen_size = place, size
                return

    def _chosen_by_heading(
        self, line: Line, row: tuple[str, int], scores: dict[Place, float]
    ) -> None:
        """A size that somebody typed into the line, found by its heading alone."""
        for cell in self.context.book.sheets[row[0]].rows.get(row[1], []):
            if cell.place in scores or cell.place == line.place:
                continue
            if not self._in_catalog(cell.place):
                heading = self.context.labels.heading(cell.place)
                if _CHOSEN.search(heading) or (
                    cell.typed and re.match(r"\s*(hopper )?(size|model size)\b", heading, re.I)
                ):
                    scores[cell.place] = 9.0

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
            follows = self.context.values.inputs_of(cell) if cell is not None else None
            if follows is not None:
                line.typed += [c for c in follows[0] if c not in line.typed]
                line.calculated |= follows[1]
        line.calculated.add(line.place)
        line.chosen_size = row.sized.next_size
        if row.is_shown:
            line.chosen = row.result_place("next size")
        scores: dict[Place, float] = {}
        for sheet_row in {line.place[:2], row.first[:2]}:
            self._chosen_by_heading(line, sheet_row, scores)
        for place in scores:
            size = size_in_si(self.context.value(place), table.system)
            if size is not None:
                line.chosen, line.chosen_size = place, size
        return line
