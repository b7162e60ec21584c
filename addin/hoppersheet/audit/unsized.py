"""Hoppers that a workbook asks for and does not size: their volume is an error, a text, or nothing.

They are no lines, because nothing follows from them; but whoever signs must see that they are there
and that they were not worked out again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..cells.values import is_error
from ..workbook.evaluator import SizingCall
from ..workbook.formulas import Place
from .calls import PlainCall, cell_name
from .label_words import is_label, is_unit

if TYPE_CHECKING:
    from ..workbook.book import Cell
    from .sized_lines import SizedLines

__all__ = ["Unsized", "unsized_lines"]

#: What somebody types to name a hopper that is wanted.
_NAMES = frozenset(("job", "resin"))


@dataclass(frozen=True)
class Unsized:
    """A hopper without a volume.

    Attributes:
        place: where its volume should stand; in a job list the first cell of its row.
        name: what it is called, ``""`` where nothing says so.
        why: what stands in the way: ``"Quote!L6 shows #VALUE!"``.
        empty: whether no formula stands there; only beside lines that are offered that says much.
    """

    place: Place
    name: str
    why: str
    empty: bool = False


class _Finder:
    def __init__(self, context: SizedLines) -> None:
        self.context = context
        self.known = {line.place for line in context.lines} | set(context.twins.values())
        #: rows of lines, columns where labels stand to the left: a second volume there is no line
        self.rows = {self._row(place) for place in self.known}

    def _row(self, place: Place) -> tuple[str, int, int]:
        return self.context.labels.line_of(place)

    def find(self) -> Iterator[Unsized]:
        found: dict[tuple[str, int, int], Unsized] = {}
        for call in self.context.all_calls():
            if call.name == "HOPPER_REQUIRED_VOLUME" and call.error is not None:
                self._take(found, call.cell, self._refused(call))
        for cell in self._volumes():
            self._take(found, cell, self._shows(cell))
        for place in self._left_empty():
            if self._row(place) not in found:
                name = self.context.labels.line_name(place)
                found[self._row(place)] = Unsized(
                    place, name, f"{cell_name(place)} is empty", empty=True
                )
        yield from found.values()
        for table in self.context.job_tables:
            for row in table.rows:
                if row.sized.required_volume is None:
                    why = f"{cell_name(row.first)}: {row.sized.problem or 'no volume'}"
                    yield Unsized(row.first, row.name, why)

    def _take(self, found: dict[tuple[str, int, int], Unsized], cell: Cell, why: str) -> None:
        key = self._row(cell.place)
        if why and key not in self.rows and key not in found and self._is_asked_for(cell):
            found[key] = Unsized(cell.place, self.context.labels.line_name(cell.place), why)

    def _is_asked_for(self, cell: Cell) -> bool:
        """Whether somebody wants a hopper there: prepared rows that nobody filled in are none."""
        shows = self.context.value(cell.place) not in (None, "")
        if cell.formula is not None and self._is_half_filled(cell):
            return True
        named = False
        for other in self.context.labels.beside(cell.place):
            value = self.context.value(other.place)
            if value in (None, "") or other.place == cell.place:
                continue
            role = self.context.labels.role(other.place)
            if role == "throughput" or (role == "hours" and shows):
                # a formula may be prepared, and a text may be the unit of a column
                if (other.typed or shows) and not is_label(value):
                    return True
            elif role in _NAMES and shows and is_label(value) and other.typed:
                named = True
        return named and is_error(self.context.value(cell.place))

    def _is_half_filled(self, cell: Cell) -> bool:
        """Whether a text stands for the throughput of a hopper whose hours are typed: "tbd"."""
        labels, roles = self.context.labels, set()
        for other in labels.beside(cell.place):
            role = labels.role(other.place)
            if other.typed and role == "throughput" and is_label(other.value):
                roles.add("" if is_unit(str(other.value).strip(" []()")) else role)
            elif other.typed and role == "hours" and isinstance(other.value, float):
                roles.add(role)
        return {"throughput", "hours"} <= roles

    def _refused(self, call: SizingCall) -> str:
        """Why a call gives no volume."""
        assert call.error is not None
        shown = self.context.value(call.cell.place)
        if is_error(shown):
            return f"{cell_name(call.cell.place)} shows {shown}"
        if call.hidden or shown in (None, ""):
            return f"{cell_name(call.cell.place)} hides an error: {call.error.reason}"
        if isinstance(call, PlainCall):
            return f"{cell_name(call.cell.place)} rests on an impossible input: {call.error.reason}"
        return f"{cell_name(call.cell.place)} has no volume: {call.error.reason}"

    def _volumes(self) -> Iterator[Cell]:
        """Cells in which a required volume should stand, beside those of the lines too."""
        context = self.context
        seen = set(self.known)
        for name, number in sorted({self._column(place) for place in self.known}):
            sheet = context.book.sheets[name]
            cells = (sheet.rows if context.labels.sideways(name) else sheet.columns).get(number, [])
            for cell in cells:
                if cell.place not in seen and self._is_volume(cell):
                    seen.add(cell.place)
                    yield cell
        for cell in context.book.formulas():
            shown = context.value(cell.place)
            if cell.place in seen or not is_error(shown) or not self._is_volume(cell):
                continue
            if not self._repeats(cell):
                yield cell

    def _left_empty(self) -> Iterator[Place]:
        """Where the volume of a hopper should stand that has throughput and hours, and nothing."""
        context = self.context
        for name, number in sorted({self._column(line.place) for line in context.lines}):
            sheet, sideways = context.book.sheets[name], context.labels.sideways(name)
            for other, cells in (sheet.columns if sideways else sheet.rows).items():
                place = (name, number, other) if sideways else (name, other, number)
                if self._row(place) in self.rows or context.value(place) not in (None, ""):
                    continue
                if context.book.cell(place) is not None or context.in_catalog(place):
                    continue
                typed = [c for c in cells if c.typed and isinstance(c.value, float)]
                roles = {context.labels.role(c.place) for c in typed}
                asked = {"throughput", "hours"} <= roles
                if asked and context.labels.role(place) == "required volume":
                    yield place

    def _column(self, place: Place) -> tuple[str, int]:
        sheet, row, column = place
        return sheet, row if self.context.labels.sideways(sheet) else column

    def _is_volume(self, cell: Cell) -> bool:
        return self.context.labels.role(
            cell.place
        ) == "required volume" and not self.context.in_catalog(cell.place)

    def _repeats(self, cell: Cell) -> bool:
        """Whether a cell only shows once more what another one should hold."""
        return any(
            self.context.labels.role(taken.place) == "required volume"
            for area in self.context.values.areas_of(cell)
            for taken in self.context.values.cells_in(area)
        )

    def _shows(self, cell: Cell) -> str:
        value = self.context.value(cell.place)
        if is_error(value):
            return f"{cell_name(cell.place)} shows {value}"
        if value in (None, ""):
            return f"{cell_name(cell.place)} shows nothing" if cell.formula is not None else ""
        if isinstance(value, str):
            if is_unit(value.strip(" []()")):
                return ""  # of the column
            if is_label(value):
                return f"{cell_name(cell.place)} shows {value!r}, which is no volume"
        return f"nothing says what the volume in {cell_name(cell.place)} follows from"


def unsized_lines(context: SizedLines) -> list[Unsized]:
    """Every hopper that is asked for and has no volume."""
    return list(_Finder(context).find())
