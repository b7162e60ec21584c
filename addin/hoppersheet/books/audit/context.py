"""What every check looks at: the cells, their values, each call with its inputs, each line.

A *line* is one hopper to size: a call of HOPPER_REQUIRED_VOLUME with what follows from it in the
sheet (next size, chosen size, price) and what it follows from.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from ...call import Inputs, number_reader, read_inputs
from ...call_values import is_error
from ...errors import CellError
from ...quantities import SYSTEMS
from ...registry import Argument, get
from ...wording import in_system
from .book import Book, Cell
from .evaluate import Area, Evaluator, SizingCall, WhatIf
from .formulas import (
    Call,
    Node,
    Place,
    Reference,
    Word,
    address,
    quoted_sheet,
)
from .labels import Labels
from .natives import FormulaError, Unknown

__all__ = ["Context", "Line", "Use", "passed_through", "percent", "spot"]


def spot(place: Place) -> str:
    """``"Sizing!B3"``, as it stands in a formula."""
    return f"{quoted_sheet(place[0])}!{address(*place[1:])}"


@dataclass(frozen=True)
class Use:
    """One cell taken by one argument of one call."""

    call: SizingCall
    argument: Argument


@dataclass
class Line:
    """One hopper to size.

    Attributes:
        call: the call of HOPPER_REQUIRED_VOLUME.
        place: its cell.
        system: unit system of the call.
        required: required volume, m3.
        chosen: the cell with the chosen size, None where none is found.
        chosen_size: m3, None where the cell holds no size.
        sizes: catalog sizes, m3, ascending; empty where no catalog is found.
        catalog: where these are.
        below: the chosen cell may knowingly be smaller: the shortfall allowed in the formula.
        typed: typed cells that the required volume follows from.
        calculated: cells with formulas that it follows from, its own included.
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


def passed_through(node: Node | None) -> Iterator[Call]:
    """Calls of our functions whose result is the formula's result, perhaps unless an IF decides."""
    if not isinstance(node, Call):
        return
    if node.sizes:
        yield node
    elif node.name in ("IF", "IFERROR", "IFNA", "CHOOSE"):
        for argument in node.arguments[1 if node.name in ("IF", "CHOOSE") else 0 :]:
            yield from passed_through(argument)


_VOLUME_READERS = {s: number_reader(Argument("volume", "", "volume"), s) for s in SYSTEMS}

_CHOSEN = re.compile(
    r"\b(chosen|selected|choice|quoted|offered|ordered|our|proposed)\b.*\b(size|volume|hopper)\b"
    r"|\b(size|volume|hopper)\b.*\b(chosen|selected|quoted|offered|ordered|proposed)\b",
    re.IGNORECASE,
)
#: Functions that give a value on, perhaps in another unit.
_REPEATS = frozenset(("IF", "IFERROR", "IFNA", "N", "VALUE", "TRIM", "HOPPER_CONVERT"))
_SIZE_ARGUMENTS = {
    "HOPPER_CATALOG_ENTRY": ("size", 5),
    "HOPPER_SIZE_MARGIN": ("size", 2),
    "HOPPER_LOADED_MASS": ("volume", 3),
    "HOPPER_HELD_MASS": ("volume", 2),
    "HOPPER_MAX_THROUGHPUT": ("volume", 2),
    "HOPPER_HELD_HOURS": ("volume", 2),
}


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

    # -- lines

    @cached_property
    def lines(self) -> list[Line]:
        """Every hopper that the workbook sizes."""
        lines = []
        for call in self.all_calls():
            if call.name != "HOPPER_REQUIRED_VOLUME" or call.error is not None:
                continue
            inputs = self.inputs(call)
            if inputs is None:
                continue
            try:
                required = float(inputs.function.function(*inputs.values.values()))
            except (CellError, TypeError, ValueError):
                continue
            line = Line(call, call.cell.place, inputs.system, required)
            self._find_size(line)
            follows = self.values.inputs_of(call.cell)
            if follows is not None:
                line.typed, line.calculated = follows
            lines.append(line)
        return lines

    @cached_property
    def line_at(self) -> dict[Place, Line]:
        """Cell of the required volume -> its line."""
        return {line.place: line for line in self.lines}

    @cached_property
    def lines_from(self) -> dict[Place, list[Line]]:
        """Cell -> the lines that follow from it."""
        found: dict[Place, list[Line]] = {}
        for line in self.lines:
            for place in (*(cell.place for cell in line.typed), *line.calculated):
                found.setdefault(place, []).append(line)
        return found

    def size_in_si(self, value: Any, system: str) -> float | None:
        """A cell value as a hopper size in m3, None where it is none."""
        if value in (None, "") or is_error(value) or isinstance(value, bool):
            return None
        try:
            return float(_VOLUME_READERS[system](value))
        except CellError:
            return None

    def _related(self, line: Line) -> Iterator[SizingCall]:
        """Calls that judge the line's size: they take its required volume or stand in its row."""
        for use in self.uses.get(line.place, []):
            yield use.call
        if line.place not in self._rows_with_several:
            yield from self._calls_by_row.get(line.place[:2], [])

    @cached_property
    def _calls_by_row(self) -> dict[tuple[str, int], list[SizingCall]]:
        found: dict[tuple[str, int], list[SizingCall]] = {}
        for call in self.all_calls():
            found.setdefault(call.cell.place[:2], []).append(call)
        return found

    @cached_property
    def _rows_with_several(self) -> set[Place]:
        """Required volumes that share a row with another one: a row says nothing there."""
        by_row: dict[tuple[str, int], set[Place]] = {}
        for call in self.all_calls():
            if call.name == "HOPPER_REQUIRED_VOLUME":
                by_row.setdefault(call.cell.place[:2], set()).add(call.cell.place)
        return {place for places in by_row.values() if len(places) > 1 for place in places}

    def _find_size(self, line: Line) -> None:
        scores: dict[Place, float] = {}
        seen: set[int] = set()
        next_cells: set[Place] = set()
        below_cells: set[Place] = set()
        for call in self._related(line):
            if id(call) in seen:
                continue
            seen.add(id(call))
            area = self.area_of(self.argument_node(call, "catalog_sizes"), call.place)
            if area is not None and call.name != "HOPPER_SIZE_JOBS" and not line.sizes:
                inputs = self.inputs(call)
                if inputs is not None:
                    known = [s for s in inputs.values["catalog_sizes"] if s is not None]
                    line.sizes, line.catalog = sorted(set(known)), area
            if call.name == "HOPPER_NEXT_SIZE":
                next_cells.add(call.cell.place)
                inputs = self.inputs(call)
                if inputs is not None:
                    line.below = max(line.below, inputs.values["allowed_shortfall"])
            elif call.name == "HOPPER_SIZE_BELOW":
                below_cells.add(call.cell.place)
            elif call.name in _SIZE_ARGUMENTS:
                name, score = _SIZE_ARGUMENTS[call.name]
                place = self.source(self.argument_node(call, name), call.place)
                if place is not None:
                    scores[place] = scores.get(place, 0) + score
        for place in scores:
            cell = self.book.cell(place)
            scores[place] += 10 * bool(_CHOSEN.search(self.labels.label(place)))
            scores[place] += 3 * bool(cell is not None and cell.typed)
            scores[place] -= 8 * (place in next_cells) + 30 * (place in below_cells)
        self._chosen_by_heading(line, scores)
        for place in next_cells:
            scores.setdefault(place, -5)
        ranked = sorted(scores, key=lambda p: (-scores[p], p))
        for place in ranked:
            size = self.size_in_si(self.value(place), line.system)
            if size is not None and place not in below_cells:
                line.chosen, line.chosen_size = place, size
                return

    def _chosen_by_heading(self, line: Line, scores: dict[Place, float]) -> None:
        """A size that somebody typed into the line, found by its heading alone."""
        if line.place in self._rows_with_several:
            return
        name, row, _ = line.place
        for cell in self.book.sheets[name].rows.get(row, []):
            if cell.place not in scores and cell.place != line.place:
                heading = self.labels.heading(cell.place)
                if _CHOSEN.search(heading) or (
                    cell.typed and re.match(r"\s*(hopper )?(size|model size)\b", heading, re.I)
                ):
                    scores[cell.place] = 9.0

    # -- what a change does

    def what_if(self, line: Line, instead: Mapping[Place, Any]) -> float | None:
        """Required volume of a line in m3 with other values in some cells; None: no volume."""
        try:
            value = WhatIf(self.values, instead, line.calculated).cell_value(line.place)
        except (Unknown, RecursionError):
            return None
        if line.call.cell.tree is not line.call.node:
            value = self._nested_volume(line, instead)
        return self.size_in_si(value, line.system)

    def _nested_volume(self, line: Line, instead: Mapping[Place, Any]) -> Any:
        """The required volume where its call is only a part of the formula."""
        reader = WhatIf(self.values, instead, line.calculated)
        try:
            return reader.evaluate(line.call.node, line.call.place)
        except (Unknown, FormulaError, RecursionError):
            return None

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
        name = self.labels.line_name(line.place)
        which = f" of {name!r}" if name else ""
        more = f" (and {len(lines) - 1} more)" if len(lines) > 1 else ""
        where = f"the required volume{which} in {spot(line.place)}{more}"
        return f"{where} comes out {percent(change)} too {side}"

    def shown(self, si: float, quantity: str, system: str) -> float:
        """An SI value as the sheet's plain number."""
        return in_system(si, quantity, system)


def percent(change: float) -> str:
    """``-0.125`` -> ``"12.5 %"``."""
    return f"{abs(change) * 100:.3g} %"
