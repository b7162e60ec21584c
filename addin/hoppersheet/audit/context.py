"""What every check looks at: the cells, their values, each call with its inputs, each line.

A *line* is one hopper to size: a call of HOPPER_REQUIRED_VOLUME, or a row of a job list, with what
follows from it in the sheet (next size, chosen size, price) and what it follows from.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cached_property
from typing import Any

from ..cells.wording import in_system
from ..errors import CellError
from ..tables.sized_job import SizedJob
from ..workbook.book import Cell
from ..workbook.evaluator import FormulaError, Unknown, WhatIf
from ..workbook.formulas import Place
from .blanks import BlankRead, blank_reads
from .calls import PlainCall, Use, cell_name, in_area, passed_through
from .feeding import feeding_of
from .line_cells import Worked
from .lines import Line
from .money import Money, money_of
from .records import LineRecords, Record
from .replay import MANY, CallAgain, Replay
from .requote import worked_out
from .unsized import Unsized
from .verdicts import check_sheets

__all__ = ["Context", "Line", "Use", "cell_name", "passed_through", "percent"]

_NOT_MOVED = 1e-9  # relative; the volume as it is, worked out again
_OFFERED = re.compile(r"\bprice\b|\bqty\b|\bquantity\b|\bpieces\b|\bpcs\b", re.IGNORECASE)


class Context(LineRecords):
    """A workbook under examination: its calls, its job lists and its lines.

    Args:
        book: the workbook.
        values: the values of its cells.
        tick: called once per sizing cell read.
    """

    # -- blanks

    @cached_property
    def blank_reads(self) -> list[BlankRead]:
        """Blank cells that an argument takes as 0."""
        return list(blank_reads(self))

    @cached_property
    def unlike_in_calc(self) -> set[Place]:
        """Cells that show a number in Calc and an error in Excel, because a blank is read as 0."""
        begin = {r.call.cell.place for r in self.blank_reads if not r.repeated}
        return self.precedents.followers(begin) if begin else set()

    # -- lines

    def worked_of(self, line: Line) -> Worked:
        """One line worked out again."""
        return next(worked for worked in self.worked if worked.line is line)

    @cached_property
    def worked(self) -> list[Worked]:
        """Each line worked out again, in the order of the lines."""
        return worked_out(self)

    @cached_property
    def money(self) -> Money:
        """How the lines' money reaches the grand total."""
        money = money_of(self, self.worked)
        if self.unsized and money.right is not None:
            first = self.unsized[0]
            name = f" {first.name!r}" if first.name else ""
            money.right, money.why = None, f"the line{name} is not sized: {first.why}"
        return money

    @cached_property
    def feeding(self) -> tuple[tuple[Record | None, str, Cell], ...]:
        """(line, role, cell) of all that a line or the total follows from, each cell once."""
        return tuple(feeding_of(self, self.money))

    @cached_property
    def quoted(self) -> list[Line]:
        """The lines that are offered: with a net price or a place for it, or in a job list.

        Where none has one, those with a price or a quantity; all where nothing is; the others only
        try something or serve another calculation.
        """
        priced = any("net price" in record.cells for record in self.records)
        offered = [
            record.line
            for record in self.records
            if record.line.job is not None
            or (self._is_priced_line(record) if priced else self._is_offered(record))
        ]
        return offered or self.lines

    @cached_property
    def _quoted(self) -> frozenset[int]:
        return frozenset(map(id, self.quoted))

    def is_quoted(self, line: Line) -> bool:
        """Whether a line is one of those that are offered."""
        return id(line) in self._quoted

    @cached_property
    def unsized(self) -> list[Unsized]:
        """Hoppers that are offered, or that no line is offered beside, and have no volume."""
        sheets = {line.place[0] for line in self.quoted}
        checks = check_sheets(self)
        return [
            one
            for one in self.without_volume
            if one.place[0] not in checks
            and (
                not sheets
                or one.place[0] in sheets
                or (self._is_priced(one.place) and not one.empty)
            )
        ]

    @staticmethod
    def _is_priced_line(record: Record) -> bool:
        """Whether a line has a net price, or no number where the others have theirs."""
        return "net price" in record.cells or "net price" in record.blank

    def _is_priced(self, place: Place) -> bool:
        """Whether a price or a quantity stands beside a volume."""
        return any(
            self.value(cell.place) not in (None, "")
            and self.labels.role(cell.place) in ("list price", "net price", "quantity")
            for cell in self.labels.beside(place)
        )

    def _is_offered(self, record: Record) -> bool:
        if not {"list price", "net price", "quantity"}.isdisjoint(record.cells):
            return True
        return any(
            _OFFERED.search(self.labels.label(place)) and self.value(place) not in (None, "")
            for place in record.places
        )

    # -- what a change does

    @cached_property
    def _calls_again(self) -> dict[Place, CallAgain]:
        """Cell -> its call, to be made again with other values."""
        return {}

    @cached_property
    def _replays(self) -> dict[tuple[int, frozenset[Place]], Replay]:
        """(line, cells that are changed) -> its required volume worked out again and again."""
        return {}

    @cached_property
    def _reached_by_line(self) -> dict[int, set[Place] | None]:
        """id of a line -> the cells that its volume comes from."""
        return {}

    def inputs_reached(self, line: Line) -> set[Place] | None:
        """The cells that a line's required volume comes from.

        None where that is not known, or where to ask takes as long as to try.
        """
        found = self._reached_by_line.get(id(line))
        if found is None and id(line) not in self._reached_by_line:
            many = line.job is None and len(line.calculated) > MANY
            again = self.what_if(line, {}) if many else None
            if again is not None and abs(again / line.required - 1) < _NOT_MOVED:
                found = self.reached.behind(line.call.cell.place)
            self._reached_by_line[id(line)] = found
        return found

    def what_if(self, line: Line, instead: Mapping[Place, Any]) -> float | None:
        """Required volume of a line in m3 with other values in some cells; None: no volume."""
        if line.job is not None:
            sized = self._job(line, instead)
            return None if sized is None else sized.required_volume
        if not _is_all(line) or line.place in instead:  # the call is only a part of the formula
            reader = WhatIf(self.values, instead, line.followers_of(self.precedents, instead))
            try:
                if line.place in instead:
                    return line.in_si(reader.cell_value(line.place))
                return line.in_si(reader.evaluate(line.call.node, line.call.place))
            except (Unknown, FormulaError, RecursionError):
                return None
        key = frozenset(instead)
        replay = self._replays.get((id(line), key))
        if replay is None:
            affected = line.followers_of(self.precedents, instead)
            replay = Replay(self, self._calls_again, line.place, instead, affected)
            self._replays[id(line), key] = replay
        return line.in_si(replay.value(instead))

    def _job(self, line: Line, instead: Mapping[Place, Any]) -> SizedJob | None:
        assert line.job is not None
        reader = WhatIf(self.values, instead, line.calculated)
        try:
            row = {name: reader.cell_value(place) for name, place in line.job.places.items()}
        except (Unknown, RecursionError):
            return None
        area = line.job.table.catalog_area
        if area is None or not any(in_area(place, area) for place in instead):
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
        # What only shows a line's volume again, or tries something out, says little.
        lines = [line for line in self.lines_from.get(place, []) if self.is_quoted(line)]
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
        where = f"the required volume{which} in {cell_name(line.place)}{more}"
        return f"{where} comes out {percent(change)} too {side}"


def percent(change: float) -> str:
    """``-0.125`` -> ``"12.5 %"``; ``27.3`` -> ``"2,730 %"``."""
    shown = abs(change) * 100
    return f"{float(f'{shown:.3g}'):,.0f} %" if shown >= 1000 else f"{shown:.3g} %"


def _is_all(line: Line) -> bool:
    """Whether the call is the whole formula of its cell."""
    return line.call.cell.tree is line.call.node or isinstance(line.call, PlainCall)
