"""The cells of one line as numbers, and what is noted of them as it is worked out again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ..cells.quantities import QUANTITIES
from ..cells.reading import number_reader
from ..cells.units import factor
from ..cells.values import is_error
from ..errors import CellError, WrongKind
from ..registry import Argument
from ..workbook.evaluator import ROUNDS
from ..workbook.formulas import Call, Literal, Place, walk
from .calls import cell_name
from .records import LineRecords, Record

if TYPE_CHECKING:
    from ..workbook.book import Cell
    from .lines import Line

__all__ = [
    "QUANTITY_OF",
    "ROUNDING",
    "SAME",
    "Difference",
    "LineCells",
    "Worked",
    "factor_between",
    "is_calculated",
    "prices_of",
    "rounds",
    "share_in",
]


SAME = 1e-6  # relative; what rounding in a program's last digits may do
_ROUNDED = 0.02  # relative, where a formula rounds
_CENTS = 2.0  # digits
#: Functions that show another number than they were given.
ROUNDING = ROUNDS | {"FIXED", "TEXT"}
QUANTITY_OF = {
    "throughput": "throughput", "hours": "drying hours", "density": "bulk density",
    "virgin density": "bulk density", "regrind density": "bulk density",
    "required volume": "volume", "next size": "volume", "chosen size": "volume", "size": "volume",
    "held hours": "residence time", "reserve": "reserve",
}  # fmt: skip
#: Factors between units of volume and mass that a slip brings in -> what it is.
_UNIT_SLIPS = {
    2.204622622: "kg taken for lb", 0.45359237: "lb taken for kg",
    28.316846592: "ft3 taken for L", 0.035314667: "L taken for ft3",
    62.42796: "kg/L taken for lb/ft3", 0.016018463: "lb/ft3 taken for kg/L",
    1000.0: "m3 taken for L", 0.001: "L taken for m3", 60.0: "minutes taken for hours",
    24.0: "days taken for hours",
}  # fmt: skip


@dataclass
class Difference:
    """A result of a line that does not follow from the cells before it.

    Attributes:
        step: role of the cell.
        book, right: what the workbook has, and what follows; in the units of the cell.
        why: what explains it, ``""`` where nothing simple does.
        typed: somebody typed it where other lines calculate.
    """

    step: str
    place: Place
    book: Any
    right: Any
    why: str = ""
    typed: bool = False


@dataclass(eq=False)
class Worked:
    """One line, worked out again. Volumes in m3, times in s, money as the workbook has it.

    Attributes:
        right_required, right_size, right_price, right_net: what follows from the typed inputs.
        asked, held: drying hours, and the hours that the chosen size holds.
        quantity, discount: as they count; 1 and 0 where the line has none.
        listed_price: what the catalog has for the chosen size, None where that was not compared.
        net_place: the cell of the net price, None where the line has none.
        left_out: step -> why it was not worked out again.
        priced_on: name of the line that has the hopper and its price, where this one has neither.
    """

    line: Line
    record: Record
    name: str
    right_required: float | None = None
    right_size: float | None = None
    asked: float | None = None
    held: float | None = None
    model: str = ""
    price: float | None = None
    right_price: float | None = None
    quantity: float = 1.0
    discount: float = 0.0
    net: float | None = None
    right_net: float | None = None
    listed_price: float | None = None
    net_place: Place | None = None
    differences: list[Difference] = field(default_factory=list)
    left_out: dict[str, str] = field(default_factory=dict)
    priced_on: str | None = None

    @property
    def in_words(self) -> str:
        """The line in a message: ``"the line 'Gear' in Quote!L6"``."""
        name = f" {self.name!r}" if self.name else ""
        return f"the line{name} in {cell_name(self.line.place)}"


def prices_of(lines: Iterable[Worked]) -> set[Place]:
    """Every cell with a line's money."""
    return {
        one.record.cells[role]
        for one in lines
        for role in ("net price", "list price")
        if role in one.record.cells
    }


def share_in(value: Any) -> float | None:
    """A share or discount as a fraction, None where a cell holds none."""
    if isinstance(value, str):
        text = value.strip()
        percent = text.endswith("%")
        try:
            number = float(text.rstrip("% ").replace(",", "."))
        except ValueError:
            return None
        return number / 100 if percent or number > 1 else number
    if not isinstance(value, float):
        return None
    return value / 100 if value > 1.001 else value


class LineCells:
    """The cells of one line, read by what they are for."""

    def __init__(
        self, context: LineRecords, record: Record, calculated: frozenset[str] = frozenset()
    ) -> None:
        self.context, self.record, self.line = context, record, record.line
        self.usually = calculated
        self.worked = Worked(record.line, record, context.name_of(record.line))

    # -- reading

    def value(self, role: str) -> Any:
        """What the cell of a role holds, None where there is no such cell."""
        place = self.record.cells.get(role)
        return None if place is None else self.context.value(place)

    def unit(self, place: Place, quantity: str) -> str:
        """The unit of a quantity that is stated for a cell, ``""`` where none is."""
        stated = self.context.labels.unit(place)
        if stated is not None:
            try:
                factor(stated.spelling, QUANTITIES[quantity].si)
            except WrongKind:
                return ""
            return stated.spelling
        return ""

    def si(self, role: str) -> float | None:
        """The cell of a role in SI, None where it holds no such number."""
        place = self.record.cells.get(role)
        if place is None:
            return None
        quantity = QUANTITY_OF[role]
        value = self.context.value(place)
        if value in (None, "") or is_error(value) or isinstance(value, bool):
            return None
        unit = self.unit(place, quantity)
        if quantity == "volume" and not unit:
            return self.line.in_si(value)
        try:
            return float(number_reader(Argument(role, "", quantity), self.line.system, unit)(value))
        except CellError:
            return None

    def shown(self, si: float, role: str) -> float:
        """A value in SI as the cell of a role would show it."""
        place, quantity = self.record.cells[role], QUANTITY_OF[role]
        unit = self.unit(place, quantity) or (self.line.unit if quantity == "volume" else "")
        measure = QUANTITIES[quantity]
        scale, offset = factor(unit or measure.unit(self.line.system), measure.si)
        return (si - offset) / scale

    def is_rounded(self, place: Place) -> bool:
        """Whether a formula rounds."""
        cell = self.context.book.cell(place)
        return cell is not None and rounds(cell)

    def differs(self, role: str, right: float | None) -> bool:
        """Whether the cell of a role holds another number than what follows."""
        place = self.record.cells.get(role)
        book = self.si(role) if role in QUANTITY_OF else self.value(role)
        if place is None or right is None or not isinstance(book, float):
            return False
        within = _ROUNDED if self.is_rounded(place) else SAME
        return abs(book - right) > within * max(abs(book), abs(right))

    def calculated(self, role: str) -> bool:
        """Whether the cell of a role should be worked out: it is, or it is in most lines."""
        return is_calculated(self.context, self.record, role) or role in self.usually

    def note(self, role: str, right: Any, why: str = "") -> None:
        """Note that the cell of a role does not hold what follows; ``right`` in SI or as it is."""
        place = self.record.cells[role]
        shown = self.shown(right, role) if role in QUANTITY_OF else right
        typed = not is_calculated(self.context, self.record, role) and role in self.usually
        self.worked.differences.append(
            Difference(role, place, self.context.value(place), shown, "" if typed else why, typed)
        )

    def behind(self, place: Place) -> set[Place]:
        """Typed cells that a cell follows from; none where they are too many."""
        cell = self.context.book.cell(place)
        follows = self.context.behind(cell) if cell is not None else None
        return {typed.place for typed in follows[0]} if follows is not None else set()


def factor_between(book: float | None, right: float | None) -> str:
    """``"it is 0.9 times that"`` or the units that were mixed up."""
    if not book or not right:
        return ""
    ratio = book / right
    for known, slip in _UNIT_SLIPS.items():
        if abs(ratio / known - 1) < 1e-3:
            return f"it is {ratio:.4g} times that, as {slip}"
    if abs(ratio - round(ratio, 3)) < 1e-7:
        return f"it is {round(ratio, 3):g} times that"
    return ""


def rounds(cell: Cell, to_cents: bool = True) -> bool:
    """Whether a formula rounds; to cents does not count where it is said."""
    if cell.tree is None:
        return False
    for node in walk(cell.tree):
        if isinstance(node, Call) and node.name in ROUNDING:
            digits = node.arguments[1] if len(node.arguments) > 1 else None
            cents = isinstance(digits, Literal) and digits.value == _CENTS
            if to_cents or not cents:
                return True
    return False


def is_calculated(context: LineRecords, record: Record, role: str) -> bool:
    """Whether the cell of a role holds a formula, or is filled by one."""
    place = record.cells.get(role)
    cell = context.book.cell(place) if place is not None else None
    return cell is not None and (cell.formula is not None or bool(cell.spill))
