"""Which cells belong to which line, and what each of them is for.

A line may stand in a row, in a column, on a sheet of its own, or in several places at once (sizing
on one sheet, money on another). Its own cells are those of its row, column or sheet; elsewhere a
row or column belongs to the line that its formulas follow from, if it is one line only. What a
cell is for, its heading or label says (:mod:`.roles`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from ..cells.values import is_error
from ..workbook.formulas import Place
from .calls import overlap
from .item_lists import ItemList, item_lists
from .label_words import is_label
from .owners import SEVERAL, owners_of
from .roles import role_of
from .share_basis import StatedBases
from .sized_lines import SizedLines
from .unsized import Unsized, unsized_lines
from .verdicts import judges

if TYPE_CHECKING:
    from ..workbook.book import Cell
    from .lines import Line

__all__ = ["LineRecords", "Record"]

_FEW = 12  # cells of a range whose parts are looked at
_BESIDE_INPUTS = frozenset(
    ("resin", "virgin density", "regrind density", "virgin share", "regrind share", "share basis")
)
_CHECKS = 5  # cells that say pass or fail; a sheet with so many holds checks
#: Headings that say a line's amount where each line has one, and the quote's where only one has.
_TOTALS = frozenset(("grand total", "subtotal"))
#: Roles of what stands below a list: of no line, even where there is only one.
_OF_ALL = frozenset(("grand total", "subtotal", "tax", "freight"))
#: Roles whose cells hold text.
_TEXTS = frozenset(("job", "resin", "reason", "source", "share basis", "model"))
#: Where a role stands: sheet, "row" or "column" or "cell", number.
_Position = tuple[str, str, Any]


@dataclass
class Record:
    """The cells of one line.

    Attributes:
        cells: role -> its cell; only where one cell alone has it.
        blank: role -> the empty cell in which other lines have it.
        several: roles that more than one cell has, so that none can be taken.
        places: every cell of the line.
    """

    line: Line
    cells: dict[str, Place] = field(default_factory=dict)
    blank: dict[str, Place] = field(default_factory=dict)
    several: set[str] = field(default_factory=set)
    places: set[Place] = field(default_factory=set)


class _Collector:
    def __init__(self, context: LineRecords) -> None:
        self.context = context
        self.owners = owners_of(context)
        #: line -> role -> cells with where they stand
        self.found: list[dict[str, dict[Place, _Position]]] = [{} for _ in context.lines]
        #: the same, of cells in a line's row whose formula takes another line's cells
        self.stray: list[dict[str, dict[Place, _Position]]] = [{} for _ in context.lines]
        self.places: list[set[Place]] = [set() for _ in context.lines]
        #: rows, or columns, of hoppers without a volume: what they show is of no other line
        self.unsized = {
            (one.place[0], one.place[2 if context.labels.sideways(one.place[0]) else 1])
            for one in context.without_volume
        }

    def collect(self) -> None:
        by_sheet: dict[str, list[int]] = {}
        for at, line in enumerate(self.context.lines):
            by_sheet.setdefault(line.place[0], []).append(at)
        for name in self.context.book.sheets:
            if name in by_sheet or not self._is_of_checks(name):
                self._sheet(name, by_sheet.get(name, []))

    def _is_of_checks(self, name: str) -> bool:
        """Whether a sheet holds checks of the quote: it counts lines and is no part of any."""
        cells = self.context.book.sheets[name].cells.values()
        return sum(judges(cell) for cell in cells) >= _CHECKS

    def _sheet(self, name: str, here: list[int]) -> None:
        sheet = self.context.book.sheets[name]
        lines = self.context.lines
        sideways = self.context.labels.sideways(name)
        if sideways and self.context.labels.forms(name):
            self._forms(name, here)
            return
        if sideways and len(here) == 1:
            for cell in sheet.cells.values():
                if cell.place[2] > 1:
                    self._take(here[0], cell.place, ("", "cell", cell.place[1:]))
            return
        if sideways:
            groups, other = sheet.columns, "row"
        else:
            groups, other = sheet.rows, "column"
        own: dict[int, set[int]] = {}
        for at in here:
            _, row, column = lines[at].place
            own.setdefault(column if sideways else row, set()).add(at)
        for number, cells in groups.items():
            owner = self._owner(cells, own.get(number, set()))
            if owner is None or (number not in own and (name, number) in self.unsized):
                continue
            foreign = number not in own and not sideways
            if sideways and len(own) > 1:
                cells = self._above_totals(cells, own)
            for cell in cells:
                position = cell.place[1] if other == "row" else cell.place[2]
                self._take(owner, cell.place, (name, other, position), foreign)

    def _forms(self, name: str, here: list[int]) -> None:
        """The cells of forms that stand below each other, one line in each."""
        labels = self.context.labels
        lines: dict[tuple[str, int, int], list[int]] = {}
        for at in here:
            lines.setdefault(labels.line_of(self.context.lines[at].place), []).append(at)
        for cell in self.context.book.sheets[name].cells.values():
            own = labels.line_of(cell.place)
            if len(lines.get(own, ())) == 1:
                _, row, column = cell.place
                self._take(lines[own][0], cell.place, ("", "form", (row - own[2], column)))

    def _above_totals(self, cells: list[Cell], own: Iterable[int]) -> list[Cell]:
        """The cells of a line in a column; what stands below them, in one column, is of all."""
        context = self.context
        for at, cell in enumerate(cells):
            sheet, row, column = cell.place
            if context.labels.role(cell.place) in _OF_ALL and not any(
                context.value((sheet, row, other)) not in (None, "")
                for other in own
                if other != column
            ):
                return cells[:at]
        return cells

    def _owner(self, cells: Iterable[Any], own: set[int]) -> int | None:
        """The one line that a row or column belongs to."""
        if own:
            return next(iter(own)) if len(own) == 1 else None
        found = {self.owners[c.place] for c in cells if c.place in self.owners}
        found.discard(SEVERAL)
        return found.pop() if len(found) == 1 else None

    def _take(self, line: int, place: Place, position: _Position, foreign: bool = False) -> None:
        """Note a cell of a line; where only formulas tie it to the line, its heading says what."""
        context = self.context
        if context.in_catalog(place):
            return
        labels = context.labels
        role = role_of(labels.heading(place)) if foreign else labels.role(place)
        if self.owners.get(place, line) not in (line, SEVERAL):
            if role and not foreign:
                self.stray[line].setdefault(role, {})[place] = position
            return
        if role in _OF_ALL and role not in _TOTALS:
            return
        if foreign and role_of(labels.left_label(place)) in _OF_ALL | {"discount"}:
            return  # in the block of the total, though it follows from one line only
        self.places[line].add(place)
        value = context.value(place)
        if not role or value in (None, ""):
            return
        text = isinstance(value, str) and not is_error(value) and is_label(value)
        if role in _TEXTS or not text:
            self.found[line].setdefault(role, {})[place] = position

    def _totals_of_lines(self) -> None:
        """ "Total" above a column of the list is each line's net price; elsewhere it is of all."""
        counts: Counter[_Position] = Counter()
        for roles in self.found:
            for role in _TOTALS:
                counts.update(dict.fromkeys(roles.get(role, {}).values()).keys())
        for at, roles in enumerate(self.found):
            for role in _TOTALS:
                for place, position in roles.pop(role, {}).items():
                    if len(self.found) > 1 and counts[position] * 2 >= len(self.found):
                        roles.setdefault("net price", {})[place] = position
                    else:
                        self.places[at].discard(place)

    def _last_price(self, places: dict[Place, _Position]) -> Place | None:
        """Of several net prices the one that follows from the others: what is paid."""
        for place in places:
            cell = self.context.book.cell(place)
            follows = self.context.precedents.inputs_of(cell) if cell is not None else None
            if follows is not None and set(places) - {place} <= follows[1]:
                return place
        return None

    def records(self) -> Iterator[Record]:
        self._totals_of_lines()
        usual = self._usual()
        for at, line in enumerate(self.context.lines):
            record = Record(line, places=self.places[at])
            for role, positions in usual.items():
                places = self._own_first(line, self.found[at].get(role, {}))
                chosen = self._last_price(places) if role == "net price" else None
                chosen = chosen or self._chosen(places, positions)
                if chosen is not None:
                    record.cells[role] = chosen
                elif places:
                    record.several.add(role)
                elif (slip := self._slip(at, role, positions)) is not None:
                    record.cells[role] = slip
                    record.places.add(slip)
                else:
                    blank = self._blank(at, positions)
                    if blank is not None and self._has_no_heading(blank):
                        record.cells[role] = blank
                        record.places.add(blank)
                    elif blank is not None:
                        record.blank[role] = blank
            self._as_the_line_says(record)
            self._of_the_inputs(record)
            yield record

    def _has_no_heading(self, place: Place) -> bool:
        """Whether a cell is filled in a row that is too far below its headings to have one."""
        filled = self.context.value(place) not in (None, "")
        return filled and not self.context.labels.heading(place)

    def _slip(self, line: int, role: str, usual: Counter[_Position]) -> Place | None:
        """The cell where most lines have a role, though its formula takes another line's cells."""
        stray = self.stray[line].get(role, {})
        home = self.context.lines[line].place[0]
        peers = sum(other.place[0] == home for other in self.context.lines)
        return next((p for p, position in stray.items() if usual[position] * 2 >= peers), None)

    @staticmethod
    def _own_first(line: Line, places: dict[Place, _Position]) -> dict[Place, _Position]:
        """Cells on the line's own sheet; others only where that has none of the kind."""
        own = {place: at for place, at in places.items() if place[0] == line.place[0]}
        return own or places

    def _as_the_line_says(self, record: Record) -> None:
        """The cells that the line's own formulas take win over headings that name several."""
        line, context = record.line, self.context
        if line.job is not None:
            return
        taken = {"chosen size": line.chosen}
        if line.place != line.chosen:  # the volume may be a step inside the formula of the size
            taken["required volume"] = line.place
        for role, name in (("throughput",) * 2, ("hours", "drying_hours"),
                           ("density", "bulk_density"), ("reserve", "reserve")):  # fmt: skip
            source = context.source(context.argument_node(line.call, name), line.call.place)
            if role not in record.cells and role not in record.blank:
                taken[role] = source
        for role, by in (("list price", "net price"), ("quantity", "net price"),
                         ("discount", "net price"), ("virgin density", "density"),
                         ("regrind density", "density")):  # fmt: skip
            if role in record.several:
                taken[role] = self._of_the_list(line, role) or self._taken_by(
                    taken.get(by) or record.cells.get(by), line, role
                )
        for role, place in taken.items():
            if place is not None:
                record.cells[role] = place
                record.several.discard(role)

    def _of_the_list(self, line: Line, role: str) -> Place | None:
        """The one of several prices that takes the catalog's prices."""
        listed = line.listed
        if role != "list price" or listed is None or not listed.prices:
            return None
        prices = listed.area(listed.prices)
        found = [
            place
            for place in self._found_at(line, role)
            if (cell := self.context.book.cell(place)) is not None
            and any(overlap(area, prices) for area in self.context.values.areas_of(cell))
        ]
        return found[0] if len(found) == 1 else None

    def _of_the_inputs(self, record: Record) -> None:
        """What stands beside inputs on another sheet and no formula takes, such as the resin."""
        line, context = record.line, self.context
        node = context.argument_node(line.call, "throughput") if line.job is None else None
        rate = context.source(node, line.call.place) if node is not None else None
        if rate is None:
            return
        sheet, row, column = rate = context.trail(rate)[-1]
        if sheet == line.place[0]:
            return
        page = context.book.sheets[sheet]
        sideways = context.labels.sideways(sheet)
        beside = page.columns.get(column, []) if sideways else page.rows.get(row, [])
        for role in _BESIDE_INPUTS - record.cells.keys() - record.blank.keys() - record.several:
            found = [
                cell.place for cell in beside
                if context.value(cell.place) not in (None, "")
                and context.labels.role(cell.place) == role
            ]  # fmt: skip
            if len(found) == 1:
                record.cells[role] = found[0]

    def _taken_by(self, reader: Place | None, line: Line, role: str) -> Place | None:
        """The one cell of a role that a formula refers to itself."""
        cell = self.context.book.cell(reader) if reader is not None else None
        if cell is None:
            return None
        found = self._found_at(line, role)
        direct = {
            (area[0], row, column)
            for area in self.context.values.areas_of(cell)
            if (area[3] - area[1] + 1) * (area[4] - area[2] + 1) <= _FEW
            for row in range(area[1], area[3] + 1)
            for column in range(area[2], area[4] + 1)
        } & found
        return direct.pop() if len(direct) == 1 else None

    def _found_at(self, line: Line, role: str) -> set[Place]:
        """Every cell of a line whose heading names a role."""
        at = next(i for i, other in enumerate(self.context.lines) if other is line)
        return set(self.found[at].get(role, ()))

    def _usual(self) -> dict[str, Counter[_Position]]:
        found: dict[str, Counter[_Position]] = {}
        for roles in self.found:
            for role, places in roles.items():
                found.setdefault(role, Counter()).update(dict.fromkeys(places.values()).keys())
        return found

    def _chosen(self, places: dict[Place, _Position], usual: Counter[_Position]) -> Place | None:
        """The cell of a role: the only one, or the one where most other lines have it too."""
        if len(places) <= 1:
            return next(iter(places), None)
        ranked = sorted(places, key=lambda place: -usual[places[place]])
        first, second = (usual[places[place]] for place in ranked[:2])
        if first > second:
            return ranked[0]
        # Of two the one whose heading is the role and nothing else.
        plain = sorted(places, key=lambda place: len(self.context.labels.label(place)))
        lengths = [len(self.context.labels.label(place)) for place in plain[:2]]
        return plain[0] if lengths[0] < lengths[1] and len(self.found) == 1 else None

    def _blank(self, line: int, usual: Counter[_Position]) -> Place | None:
        """Where other lines have a role that is missing here."""
        position, count = usual.most_common(1)[0]
        home = self.context.lines[line].place[0]
        if count * 2 < sum(other.place[0] == home for other in self.context.lines):
            return None
        sheet, kind, number = position
        if kind == "form":
            own = self.context.labels.line_of(self.context.lines[line].place)
            place = (own[0], own[2] + number[0], number[1])
            return place if self.context.book.cell(place) is None else None
        if kind == "cell":
            place = (self.context.lines[line].place[0], number[0], number[1])
            return place if self.context.book.cell(place) is None else None
        # the number that tells the lines apart
        others = {
            column if kind == "row" else row
            for name, row, column in self.places[line]
            if name == sheet
        }
        if len(others) != 1:
            return None
        (other,) = others
        return (sheet, number, other) if kind == "row" else (sheet, other, number)


def _records_of(context: LineRecords) -> tuple[list[Record], dict[Place, int]]:
    """The cells of every line, in their order; formula -> the line that it follows from."""
    collector = _Collector(context)
    collector.collect()
    return list(collector.records()), collector.owners


class LineRecords(SizedLines):
    """The lines of a workbook with the cells that belong to each."""

    @property
    def records(self) -> list[Record]:
        """The cells of each line by what they are for, in the order of the lines."""
        return self._records[0]

    @cached_property
    def of_several(self) -> frozenset[Place]:
        """Formulas that follow from several lines, such as totals."""
        return frozenset(p for p, owner in self._records[1].items() if owner == SEVERAL)

    @cached_property
    def _records(self) -> tuple[list[Record], dict[Place, int]]:
        return _records_of(self)

    def shown_line(self, cell: Cell) -> Record | None:
        """The one line that a formula follows from, or one of whose typed cells it repeats."""
        owner = self._records[1].get(cell.place)
        if owner is not None:
            return self.records[owner] if owner != SEVERAL else None
        end = self.trail(cell.place)[-1]
        return self._owner_of.get(end) if end != cell.place else None

    @cached_property
    def without_volume(self) -> list[Unsized]:
        """Every hopper that is asked for and has no volume, offered or not."""
        return unsized_lines(self)

    @cached_property
    def item_lists(self) -> list[ItemList]:
        """Price lists of what is sold beside hoppers."""
        return item_lists(self, {place for record in self.records for place in record.places})

    @cached_property
    def stated_bases(self) -> StatedBases:
        """What the sheets say of the basis of their shares."""
        return StatedBases(self)

    def record(self, line: Line) -> Record:
        """The cells of one line."""
        return self._record_of[id(line)]

    def belongs_to_another(self, place: Place, record: Record) -> bool:
        """Whether a cell is one of another line."""
        owner = self._owner_of.get(place)
        return owner is not None and owner is not record

    @cached_property
    def _owner_of(self) -> dict[Place, Record]:
        return {place: record for record in self.records for place in record.places}

    @cached_property
    def _record_of(self) -> dict[int, Record]:
        return {id(record.line): record for record in self.records}
