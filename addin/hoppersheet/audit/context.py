"""What every check looks at: the cells, their values, each call with its inputs, each line.

A *line* is one hopper to size: a call of HOPPER_REQUIRED_VOLUME, or a row of a job list, with what
follows from it in the sheet (next size, chosen size, price) and what it follows from.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from ..call import Inputs, read_inputs
from ..cells.wording import in_system
from ..errors import CellError
from ..functions import get
from ..registry import Argument
from ..tables.job_rows import SizedJob
from ..workbook.evaluator import Area, Evaluator, FormulaError, SizingCall, Unknown, WhatIf
from ..workbook.formulas import Call, Node, Place, Reference, Word, address, quoted_sheet
from .blanks import BlankRead, blank_reads
from .book import Book
from .jobs import JobTable, job_tables
from .labels import Labels, Reason, without_unit
from .lines import Line, LineFinder, size_in_si

__all__ = ["Context", "Line", "Use", "passed_through", "percent", "spot"]


def spot(place: Place) -> str:
    """``"Sizing!B3"``, as it stands in a formula."""
    return f"{quoted_sheet(place[0])}!{address(*place[1:])}"


@dataclass(frozen=True)
class Use:
    """One cell taken by one argument of one call."""

    call: SizingCall
    argument: Argument


def _in_area(place: Place, area: Area) -> bool:
    sheet, r1, c1, r2, c2 = area
    return place[0] == sheet and r1 <= place[1] <= r2 and c1 <= place[2] <= c2


def passed_through(node: Node | None) -> Iterator[Call]:
    """Calls of our functions whose result is the formula's result, perhaps unless an IF decides."""
    if not isinstance(node, Call):
        return
    if node.sizes:
        yield node
    elif node.name in ("IF", "IFERROR", "IFNA", "CHOOSE"):
        for argument in node.arguments[1 if node.name in ("IF", "CHOOSE") else 0 :]:
            yield from passed_through(argument)


_OFFERED = re.compile(r"\bprice\b|\bqty\b|\bquantity\b|\bpieces\b|\bpcs\b", re.IGNORECASE)

#: Functions that give a value on, perhaps in another unit.
_REPEATS = frozenset(("IF", "IFERROR", "IFNA", "N", "VALUE", "TRIM", "HOPPER_CONVERT"))


class Context:
    """A workbook under examination.

    Args:
        book: the workbook.
        values: the values of its cells.
        tick: called once per sizing cell read.
    """

    def __init__(
        self, book: Book, values: Evaluator, tick: Callable[[], None] = lambda: None
    ) -> None:
        self.book = book
        self.values = values
        self.labels = Labels(book, values.cell_value)
        #: place -> the calls its formula really makes, inner ones first
        self.calls: dict[Place, list[SizingCall]] = {}
        #: place -> why its calls could not be followed
        self.unread: dict[Place, str] = {}
        #: place -> calls that take this cell's value
        self.uses: dict[Place, list[Use]] = {}
        #: place -> calls that take this cell as one of a range
        self.range_uses: dict[Place, list[Use]] = {}
        self._inputs: dict[int, Inputs | None] = {}
        for cell in book.sizing_cells:
            try:
                self.calls[cell.place] = values.calls_in(cell)
            except (Unknown, RecursionError) as problem:
                self.unread[cell.place] = str(problem)
            tick()
        self._note_uses()

    # -- calls

    def all_calls(self) -> Iterator[SizingCall]:
        """Every call that is really made, in the order of the sheets."""
        for calls in self.calls.values():
            yield from calls

    def value(self, place: Place) -> Any:
        """The fresh value of a cell."""
        return self.values.cell_value(place)

    def inputs(self, call: SizingCall) -> Inputs | None:
        """What the function was given in SI; None where it refuses its inputs."""
        key = id(call)
        if key not in self._inputs:
            try:
                self._inputs[key] = read_inputs(call.name, call.values)
            except CellError:
                self._inputs[key] = None
        return self._inputs[key]

    def arguments(self, call: SizingCall) -> Iterator[tuple[Argument, Node, Any]]:
        """(argument, its tree, its value) of a call, as far as given."""
        record = get(call.name)
        if record is None:
            return
        # fewer may be given
        yield from zip(record.arguments, call.node.arguments, call.values, strict=False)

    def argument_node(self, call: SizingCall, name: str) -> Node | None:
        """The tree of one argument, None where it is left out."""
        return next((n for a, n, _ in self.arguments(call) if a.name == name), None)

    def area_of(self, node: Node | None, place: Place) -> Area | None:
        """The range that a tree names (directly, or by a defined name), else None."""
        while isinstance(node, Word):
            key = node.text.lower()
            names = self.book.names
            named = names.get(f"{place[0].lower()}!{key}", names.get(key))
            if named is None:
                return self.values.table_area(node.text, place)
            node = named
        if not isinstance(node, Reference):
            return None
        area = node.at(place)
        sheet = self.book.sheet_of(area[0])
        return None if sheet is None else (sheet, *area[1:])

    def source(self, node: Node | None, place: Place, converted: bool = True) -> Place | None:
        """The one cell that a tree takes its value from, else None.

        ``IF(B2="","",B2)`` counts too, and with ``converted`` a mere change of units.
        """
        area = self.area_of(node, place)
        if area is not None:
            return area[:3] if area[1:3] == area[3:] else None
        if isinstance(node, Call) and node.name in _REPEATS and node.arguments:
            if node.sizes and not converted:
                return None
            try:
                if node.name == "IF":
                    test = self.values.evaluate(node.arguments[0], place)
                    return self.source(node.arguments[1 if test else 2], place, converted)
                return self.source(node.arguments[0], place, converted)
            except (Unknown, FormulaError, IndexError):
                return None
        return None

    def _note_uses(self) -> None:
        for call in self.all_calls():
            for argument, node, _ in self.arguments(call):
                area = self.area_of(node, call.place)
                if area is None:
                    place = self.source(node, call.place)
                    if place is not None:
                        self.uses.setdefault(place, []).append(Use(call, argument))
                elif area[1:3] == area[3:]:
                    self.uses.setdefault(area[:3], []).append(Use(call, argument))
                elif argument.kind in ("pairs", "shares", "numbers"):
                    for cell in self.values.cells_in(area):
                        self.range_uses.setdefault(cell.place, []).append(Use(call, argument))
        for table in self.job_tables:
            columns = {
                name: Use(table.call, table.argument(name))
                for name in table.sizer.columns
                if name not in ("job", "resin")
            }
            for row in table.rows:
                for name, use in columns.items():
                    if name in row.places and row.cell(name) not in (None, ""):
                        self.uses.setdefault(row.places[name], []).append(use)

    def own_calls(self, place: Place) -> list[SizingCall]:
        """The calls whose result is the cell's result."""
        cell = self.book.cell(place)
        if cell is None:
            return []
        direct = {id(node) for node in passed_through(cell.tree)}
        return [c for c in self.calls.get(place, []) if id(c.node) in direct and not c.hidden]

    def trail(self, place: Place, limit: int = 12) -> list[Place]:
        """The cell and those it only repeats: ``=B2``, ``=IF(B2="","",B2)``."""
        found = [place]
        while len(found) < limit:
            cell = self.book.cell(found[-1])
            if cell is None or cell.tree is None:
                break
            before = self.source(cell.tree, cell.place)
            if before is None or before in found:
                break
            found.append(before)
        return found

    # -- blanks

    @cached_property
    def blank_reads(self) -> list[BlankRead]:
        """Blank cells that an argument takes as 0."""
        return list(blank_reads(self))

    @cached_property
    def unlike_in_calc(self) -> set[Place]:
        """Cells that show a number in Calc and an error in Excel, because a blank is read as 0."""
        begin = {r.call.cell.place for r in self.blank_reads if not r.repeated}
        return self.followers(begin) if begin else set()

    def followers(self, begin: set[Place]) -> set[Place]:
        """These cells and all with formulas that follow from them."""
        found = set(begin)
        grown = bool(found)
        while grown:
            grown = False
            for cell in self.book.formulas():
                if cell.place in found:
                    continue
                areas = self.values.areas_of(cell)
                if any(_in_area(place, area) for area in areas for place in found):
                    found.add(cell.place)
                    grown = True
        return found

    # -- lines

    @cached_property
    def job_tables(self) -> list[JobTable]:
        """Every job list that is sized in one call."""
        return list(job_tables(self))

    @cached_property
    def _finder(self) -> LineFinder:
        return LineFinder(self)

    @cached_property
    def lines(self) -> list[Line]:
        """Every hopper that the workbook sizes."""
        return self._finder.find()

    @cached_property
    def quoted(self) -> list[Line]:
        """The lines that are offered: with a price or a quantity in their row, or in a job list.

        All where nothing is; the others only try something or serve another calculation.
        """
        offered = [line for line in self.lines if line.job is not None or self._is_offered(line)]
        return offered or self.lines

    def _is_offered(self, line: Line) -> bool:
        row = self.book.sheets[line.place[0]].rows.get(line.place[1], [])
        return any(
            _OFFERED.search(self.labels.heading(cell.place))
            and self.value(cell.place) not in (None, "")
            for cell in row
        )

    @cached_property
    def lines_from(self) -> dict[Place, list[Line]]:
        """Cell -> the lines that follow from it."""
        found: dict[Place, list[Line]] = {}
        for line in self.lines:
            for place in (*(cell.place for cell in line.typed), *line.calculated):
                found.setdefault(place, []).append(line)
        return found

    def reason_for(self, line: Line) -> Reason:
        """A reason or remark written beside a line."""
        beside = self.labels.reason_in_row(line.place)
        if not beside and line.job is not None:
            beside = self.labels.reason_in_row(line.job.first)
        return beside

    def where(self, line: Line) -> str:
        """Where a line stands, for a message; a job with the row that somebody filled in."""
        if line.job is None:
            return spot(line.place)
        name = f"job {line.job.name!r}" if line.job.name else "the job"
        return f"{spot(line.place)} ({name} in {spot(line.job.first)})"

    def name_of(self, line: Line) -> str:
        """What a line is called, ``""`` where nothing says so."""
        if line.job is not None:
            return line.job.name
        name = self.labels.line_name(line.place)
        if line.place in self._finder.rows_with_several:
            # Hoppers side by side, or several volumes in a line: only both names tell them apart.
            heading = without_unit(self.labels.heading(line.place))
            name = ", ".join(dict.fromkeys(filter(None, (name, heading))))
        return name

    # -- what a change does

    def what_if(self, line: Line, instead: Mapping[Place, Any]) -> float | None:
        """Required volume of a line in m3 with other values in some cells; None: no volume."""
        if line.job is not None:
            sized = self._job(line, instead)
            return None if sized is None else sized.required_volume
        reader = WhatIf(self.values, instead, self._affected(line, instead))
        try:
            if line.call.cell.tree is line.call.node or line.place in instead:
                value = reader.cell_value(line.place)
            else:  # the call is only a part of the formula
                value = reader.evaluate(line.call.node, line.call.place)
        except (Unknown, FormulaError, RecursionError):
            return None
        return size_in_si(value, line.system)

    def _affected(self, line: Line, changed: Iterable[Place]) -> set[Place]:
        """Those of a line's formulas that follow from cells; all others keep their value."""
        if not line.refers_to:
            for place in line.calculated:
                cell = self.book.cell(place)
                areas = self.values.areas_of(cell) if cell is not None else ()
                line.refers_to[place] = {
                    found.place for area in areas for found in self.values.cells_in(area)
                }
        found = {place for place in changed if place in line.refers_to}
        reached = set(changed)
        grown = True
        while grown:
            grown = False
            for place, inputs in line.refers_to.items():
                if place not in reached and not reached.isdisjoint(inputs):
                    reached.add(place)
                    found.add(place)
                    grown = True
        return found

    def _job(self, line: Line, instead: Mapping[Place, Any]) -> SizedJob | None:
        assert line.job is not None
        reader = WhatIf(self.values, instead, line.calculated)
        try:
            row = {name: reader.cell_value(place) for name, place in line.job.places.items()}
        except (Unknown, RecursionError):
            return None
        area = line.job.table.catalog_area
        if area is None or not any(_in_area(place, area) for place in instead):
            return line.job.sized_with(row)
        try:
            return line.job.sized_with(row, reader.area_values(area))
        except (CellError, Unknown, RecursionError):
            return None

    def job_value(self, line: Line, place: Place, instead: Mapping[Place, Any]) -> float | None:
        """What a job's required volume or next size would show with other values in some cells."""
        sized = self._job(line, instead)
        if sized is None:
            return None
        si = sized.required_volume if place == line.place else sized.next_size
        return None if si is None else in_system(si, "volume", line.system)

    def effect_on_volume(self, place: Place, right: Any) -> str:
        """``"the hopper of line 'X' comes out 12 % too small"`` if ``right`` were right, or ""."""
        worst: tuple[float, Line] | None = None
        lines = self.lines_from.get(place, [])
        for line in lines:
            volume = self.what_if(line, {place: right})
            if volume:
                now = line.required
                change = now / volume - 1.0
                if worst is None or abs(change) > abs(worst[0]):
                    worst = (change, line)
        if worst is None or abs(worst[0]) < 5e-5:
            return ""
        change, line = worst
        side = "small" if change < 0 else "large"
        name = self.name_of(line)
        which = f" of {name!r}" if name else ""
        more = f" (and {len(lines) - 1} more)" if len(lines) > 1 else ""
        where = f"the required volume{which} in {spot(line.place)}{more}"
        return f"{where} comes out {percent(change)} too {side}"


def percent(change: float) -> str:
    """``-0.125`` -> ``"12.5 %"``."""
    return f"{abs(change) * 100:.3g} %"
