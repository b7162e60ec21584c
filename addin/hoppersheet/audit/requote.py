"""Every line worked out again, from its typed inputs to its net price, by the core and the catalog.

Nothing of the workbook's own arithmetic is used: headings say what the typed figures are, our
functions and the catalog say what follows. Each result of the workbook is then compared with what
follows from the cells before it, so that one slip is told once, where it begins; and the whole line
is worked out from its inputs, which gives the amount that is at stake.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ..cells.quantities import QUANTITIES
from ..cells.reading import number_reader
from ..cells.units import factor
from ..cells.values import is_error
from ..errors import CellError, WrongKind
from ..registry import Argument
from ..sizing.catalog import next_size
from ..sizing.density import BASIS, blend_density
from ..sizing.volume import held_hours, required_volume
from ..workbook.formulas import Call, Literal, Place, walk
from .calls import PlainCall, cell_name
from .catalogs import Catalog
from .records import LineRecords, Record
from .roles import role_of

if TYPE_CHECKING:
    from ..workbook.book import Cell
    from .lines import Line

__all__ = ["Difference", "Worked", "number_of", "rounds", "worked_out"]

_SAME = 1e-6  # relative; what rounding in a program's last digits may do
_ROUNDED = 0.02  # relative, where a formula rounds
_ROUNDING = frozenset(
    ("ROUND", "ROUNDUP", "ROUNDDOWN", "MROUND", "CEILING", "FLOOR", "INT", "TRUNC", "FIXED", "TEXT")
)
_CENTS = 2.0  # digits
_QUANTITY = {
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


@dataclass
class Worked:
    """One line, worked out again. Volumes in m3, times in s, money as the workbook has it.

    Attributes:
        right_required, right_size, right_price, right_net: what follows from the typed inputs.
        asked, held: drying hours, and the hours that the chosen size holds.
        quantity, discount: as they count; 1 and 0 where the line has none.
        net_place: the cell of the net price, None where the line has none.
        left_out: step -> why it was not worked out again.
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
    net_place: Place | None = None
    differences: list[Difference] = field(default_factory=list)
    left_out: dict[str, str] = field(default_factory=dict)

    @property
    def in_words(self) -> str:
        """The line in a message: ``"the line 'Gear' in Quote!L6"``."""
        name = f" {self.name!r}" if self.name else ""
        return f"the line{name} in {cell_name(self.line.place)}"


def _share(value: Any) -> float | None:
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


class _Worker:
    """Works one line out again."""

    def __init__(
        self, context: LineRecords, record: Record, calculated: frozenset[str] = frozenset()
    ) -> None:
        self.context, self.record, self.line = context, record, record.line
        self.usually = calculated
        self.worked = Worked(record.line, record, context.name_of(record.line))

    # -- reading

    def value(self, role: str) -> Any:
        place = self.record.cells.get(role)
        return None if place is None else self.context.value(place)

    def _unit(self, place: Place, quantity: str) -> str:
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
        quantity = _QUANTITY[role]
        value = self.context.value(place)
        if value in (None, "") or is_error(value) or isinstance(value, bool):
            return None
        unit = self._unit(place, quantity)
        if quantity == "volume" and not unit:
            return self.line.in_si(value)
        try:
            return float(number_reader(Argument(role, "", quantity), self.line.system, unit)(value))
        except CellError:
            return None

    def shown(self, si: float, role: str) -> float:
        """A value in SI as the cell of a role would show it."""
        place, quantity = self.record.cells[role], _QUANTITY[role]
        unit = self._unit(place, quantity) or (self.line.unit if quantity == "volume" else "")
        measure = QUANTITIES[quantity]
        scale, offset = factor(unit or measure.unit(self.line.system), measure.si)
        return (si - offset) / scale

    def _rounds(self, place: Place) -> bool:
        cell = self.context.book.cell(place)
        return cell is not None and rounds(cell)

    def _differs(self, role: str, right: float | None) -> bool:
        """Whether the cell of a role holds another number than what follows."""
        place = self.record.cells.get(role)
        book = self.si(role) if role in _QUANTITY else self.value(role)
        if place is None or right is None or not isinstance(book, float):
            return False
        within = _ROUNDED if self._rounds(place) else _SAME
        return abs(book - right) > within * max(abs(book), abs(right))

    def _calculated(self, role: str) -> bool:
        """Whether the cell of a role should be worked out: it is, or it is in most lines."""
        return is_calculated(self.context, self.record, role) or role in self.usually

    def _note(self, role: str, right: Any, why: str = "") -> None:
        place = self.record.cells[role]
        shown = self.shown(right, role) if role in _QUANTITY else right
        typed = not is_calculated(self.context, self.record, role) and role in self.usually
        self.worked.differences.append(
            Difference(role, place, self.context.value(place), shown, "" if typed else why, typed)
        )

    # -- density

    def _basis(self) -> str:
        stated = str(self.value("share basis") or "").strip().lower()
        for basis in BASIS:
            if basis in stated or (basis == "mass" and "weight" in stated):
                return basis
        place = self.record.cells.get("virgin share") or self.record.cells.get("regrind share")
        heading = self.context.labels.label(place).lower() if place is not None else ""
        if re.search(r"\b(mass|weight|wt)\b", heading):
            return "mass"
        if re.search(r"\bvol(ume)?\b", heading):
            return "volume"
        blend = self.record.cells.get("density")
        for place in ({blend} if blend else set()) | self.line.calculated:
            for call in self.context.calls.get(place, []):
                inputs = self.context.inputs(call)
                if call.name == "HOPPER_BLEND_DENSITY" and inputs is not None:
                    return str(inputs.values["share_basis"])
        return "volume"

    def density(self) -> float | None:
        """The density that the volume is for, from shares and densities where they are there."""
        virgin, regrind = self.si("virgin density"), self.si("regrind density")
        one, other = _share(self.value("virgin share")), _share(self.value("regrind share"))
        if one is None and other is None:
            return self.si("density") or virgin
        one = 1 - other if one is None and other is not None else one
        other = 1 - one if other is None and one is not None else other
        if one is None or other is None or abs(one + other - 1) > 0.0015:
            return self.si("density")
        if not other and virgin is not None:
            return virgin
        if virgin is None or regrind is None:
            return self.si("density")
        return blend_density([one, other], [virgin, regrind], self._basis())

    def work(self) -> Worked:
        """All that can be worked out again."""
        right = self.density()
        book = self.si("density")
        if self._calculated("density") and self._differs("density", right):
            self._note("density", right or 0.0, self._why_density(right))
        rate, hours = self.si("throughput"), self.si("hours")
        reserve = self._reserve()
        self.worked.asked = hours
        if self.line.job is not None:  # the core has sized the row
            self.worked.right_required = self.line.required
            self._sizes(self.line.required, book or right)
        elif self.record.several & {"throughput", "hours", "density"}:
            self.worked.left_out["required volume"] = "several cells could be an input of it"
            self._sizes(None, book)
        elif other := self._another_figure("required volume"):
            self.worked.left_out["required volume"] = f"{other!r} takes part in it too"
            self._sizes(None, book)
        elif rate is None or hours is None or right is None:
            self.worked.left_out["required volume"] = "an input was not found"
            self._sizes(None, book)
        else:
            self._volumes(rate, hours, book or right, reserve)
            self.worked.right_required = required_volume(rate, hours, right, reserve)
            self._sizes(self.worked.right_required, book or right)
        self._money()
        return self.worked

    def _reserve(self) -> float:
        """The reserve as a fraction; a factor such as 1.1, and 10 for 10 %, are read too."""
        value = self.value("reserve")
        if isinstance(value, str):
            return _share(value) or 0.0
        if not isinstance(value, float) or value <= 0:
            return 0.0
        if 1 < value <= 2:
            return value - 1
        return value / 100 if value > 2 else value

    def _another_figure(self, role: str) -> str:
        """A typed number without a known heading that a result follows from, "" where none does."""
        place = self.record.cells.get(role)
        cell = self.context.book.cell(place) if place is not None else None
        follows = self.context.behind(cell) if cell is not None else None
        if follows is None:
            return ""
        known = set(self.record.cells.values())
        for other in known - {place}:
            if other in follows[1]:
                known |= self._behind(other)
        for typed in follows[0]:
            label = self.context.labels.label(typed.place)
            if (
                isinstance(typed.value, float)
                and typed.place not in known
                and not role_of(label)
                and not self.context.in_catalog(typed.place)
            ):
                return label or "a number"
        return ""

    def _why_density(self, right: float | None) -> str:
        book = self.si("density")
        virgin = self.si("virgin density")
        if book and right:
            if virgin and abs(book / virgin - 1) < _SAME:
                return "it is the virgin density, as if there were no regrind"
            one, other = _share(self.value("virgin share")), _share(self.value("regrind share"))
            regrind = self.si("regrind density")
            if virgin and regrind and one is not None:
                other = 1 - one if other is None else other
                for basis in BASIS:
                    blend = blend_density([one, other], [virgin, regrind], basis)
                    if abs(book / blend - 1) < _SAME:
                        return f"the shares are taken by {basis}, their heading says otherwise"
        return _factor(book, right)

    def _volumes(self, rate: float, hours: float, density: float, reserve: float) -> None:
        right = required_volume(rate, hours, density, reserve)
        if not self._calculated("required volume") or not self._differs("required volume", right):
            return
        book = self.si("required volume") or 0.0
        why = ""
        for role in ("virgin density", "regrind density"):
            other = self.si(role)
            if other and abs(required_volume(rate, hours, other, reserve) / book - 1) < _SAME:
                why = f"it is worked out with the {role}, not with the density of the blend"
        why = why or self._not_read()
        if not why and reserve and abs(required_volume(rate, hours, density, 0) / book - 1) < _SAME:
            why = "it leaves the reserve out"
        self._note("required volume", right, why or _factor(book, right) + self._units_note())

    def _not_read(self) -> str:
        """An input that a plain formula leaves out, and the number that is typed in its place."""
        place = self.record.cells["required volume"]
        cell = self.context.book.cell(place)
        follows = self.context.behind(cell) if cell is not None else None
        if follows is None or cell is None or cell.tree is None:
            return ""
        behind = {typed.place for typed in follows[0]} | follows[1]
        left_out = [
            other
            for role in ("throughput", "hours", "density")
            if (other := self.record.cells.get(role)) is not None and other not in behind
        ]
        if not left_out:
            return ""
        typed = [n.value for n in walk(cell.tree) if isinstance(n, Literal)]
        numbers = [f"{value:g}" for value in typed if isinstance(value, (int, float))]
        instead = f", {', '.join(numbers)} is typed in its place" if numbers else ""
        return f"the formula does not read {', '.join(map(cell_name, left_out))}{instead}"

    def _units_note(self) -> str:
        """The units of the inputs, where a plain formula may mix them up."""
        units = {
            role: self._unit(self.record.cells[role], _QUANTITY[role])
            for role in ("throughput", "density", "required volume")
            if role in self.record.cells
        }
        listed = ", ".join(f"{role} in {unit}" for role, unit in units.items() if unit)
        return f" ({listed})" if listed and isinstance(self.line.call, PlainCall) else ""

    # -- size

    def _sizes(self, right: float | None, density: float | None) -> None:
        line, worked = self.line, self.worked
        needed = self.si("required volume") or line.required
        if line.sizes and needed:
            allowed = line.below
            for role in ("next size",):
                enough = _next(needed, line.sizes, allowed)
                if self._only_follows(role) and self._differs(role, enough):
                    self._note(role, enough or 0.0)
            worked.right_size = line.chosen_size
            chosen, following = line.chosen, self.record.cells.get("next size")
            automatic = (
                chosen is not None
                and (chosen == following or following in self.context.trail(chosen))
                and self._only_follows("chosen size")
            )
            if right and automatic:
                worked.right_size = _next(right, line.sizes, allowed)
        rate = self.si("throughput")
        if density and rate and line.chosen_size:
            worked.held = held_hours(line.chosen_size, density, rate)
            if self._calculated("held hours") and self._differs("held hours", worked.held):
                book = self.si("held hours")
                self._note("held hours", worked.held, _factor(book, worked.held))

    def _only_follows(self, role: str) -> bool:
        """Whether a size is worked out, and nothing that somebody may type chooses it."""
        place = self.record.cells.get(role)
        cell = self.context.book.cell(place) if place is not None else None
        if cell is None or not self._calculated(role):
            return False
        for area in self.context.values.areas_of(cell):
            if area[1:3] == area[3:] and area[:3] != self.line.place:
                taken = self.context.book.cell(area[:3])
                if taken is None or isinstance(self.context.value(area[:3]), str):
                    return False
        return True

    # -- money

    def _of_catalog(self, size: float | None, column: int, listed: Catalog) -> Any:
        """The model or price of a size."""
        if size is None or not column:
            return None
        for place in listed.rows:
            found = self.line.in_si(self.context.value(place))
            if found is not None and abs(found - size) <= 1e-6 * size:
                return self.context.value(listed.beside(place, column))
        return None

    def _money(self) -> None:
        worked, line = self.worked, self.line
        worked.model = str(self.value("model") or "")
        worked.price = _number(self.value("list price"))
        worked.right_price = worked.price
        if line.listed is not None:
            self._from_catalog(line.listed)
        elif worked.price is not None and line.job is None:
            worked.left_out["list price"] = "there is no catalog to compare it with"
        self._quantity_and_discount()
        self._net()

    def _from_catalog(self, listed: Catalog) -> None:
        worked, size = self.worked, self.line.chosen_size
        model = self._of_catalog(size, listed.models, listed)
        stated = self.value("model")
        known = (
            isinstance(model, str) and isinstance(stated, str) and stated and not is_error(stated)
        )
        if known and stated.strip().lower() != model.strip().lower():
            self._note("model", model)
        price = self._of_catalog(size, listed.prices, listed)
        known = isinstance(price, float) and worked.price is not None
        if known and self._differs("list price", price):
            self._note("list price", price, _factor(worked.price, price))
        right = self._of_catalog(worked.right_size, listed.prices, listed)
        if isinstance(right, float) and worked.price is not None:
            worked.right_price = right

    def _quantity_and_discount(self) -> None:
        worked = self.worked
        if "quantity" in self.record.cells or "quantity" in self.record.blank:
            value = self.value("quantity")
            worked.quantity = value if isinstance(value, float) else 0.0
        value = self.value("discount")
        share = _share(value)
        worked.discount = share if share is not None and 0 <= share <= 1 else 0.0
        net, price = self.value("net price"), worked.price
        if isinstance(value, float) and not 0 <= value <= 1 and isinstance(net, float) and price:
            # 5 for 5 %: as the formula takes it
            right = price * worked.quantity * (1 - value)
            worked.discount = value if abs(net - right) <= _SAME * abs(right) else worked.discount

    def _net(self) -> None:
        worked = self.worked
        place = self.record.cells.get("net price")
        if place is None:
            if "net price" in self.record.several:
                worked.left_out["net price"] = "several cells could be it"
            elif "net price" in self.record.blank:
                worked.left_out["net price"] = (
                    f"{cell_name(self.record.blank['net price'])} is blank"
                )
            elif {"quantity", "discount"} & self.record.cells.keys():
                worked.left_out["net price"] = "no cell was found that holds it"
            return
        net = self.context.value(place)
        worked.net_place = place
        worked.net = net if isinstance(net, float) else None
        if worked.price is None or worked.net is None:
            worked.left_out["net price"] = "no number"
            return
        count, left = worked.quantity, 1 - worked.discount
        right = worked.price * count * left
        worked.right_net = (worked.right_price or worked.price) * count * left
        others = self._other_amounts(place)
        if others:
            again = self._with_others(others, worked.net, count, left)
            if again is None:
                label = self.context.labels.label(others[0]) or "another number"
                worked.left_out["net price"] = f"{label} takes part in it too"
                worked.right_net = worked.net
            else:
                scale, extra = again
                worked.right_net = ((worked.right_price or worked.price) + extra) * count * scale
            return
        if not self._calculated("net price"):
            return
        if self._differs("net price", right) and abs(worked.net - right) > 0.005 * max(count, 1):
            why = ""
            if abs(worked.net - worked.price * count) <= _SAME * abs(worked.net):
                why = "it leaves the discount out"
            elif abs(worked.net - worked.price * left) <= _SAME * abs(worked.net):
                why = "it leaves the quantity out"
            elif abs(worked.net - worked.price) <= _SAME * abs(worked.net):
                why = "it leaves quantity and discount out"
            self._note("net price", right, why)

    def _other_amounts(self, place: Place) -> list[Place]:
        """Other numbers that a line's net price follows from, such as an option's price."""
        cell = self.context.book.cell(place)
        follows = self.context.behind(cell) if cell is not None else None
        if follows is None:
            return [place]
        known = {self.record.cells.get(r) for r in ("quantity", "discount", "list price")}
        known.add(place)  # somebody may have typed it
        for role in ("quantity", "discount"):  # a number that stands elsewhere once more
            repeated = self.record.cells.get(role)
            known |= set(self.context.trail(repeated)) if repeated is not None else set()
        price = self.record.cells.get("list price")
        of_price = self._behind(price) if price is not None else set()
        return [
            typed.place
            for typed in follows[0]
            if typed.place not in known
            and typed.place not in of_price
            # of another line it is a slip, not another amount
            and not self.context.belongs_to_another(typed.place, self.record)
            and isinstance(typed.value, float)
            and typed.value
            and not self.context.in_catalog(typed.place)
        ]

    def _with_others(
        self, others: list[Place], net: float, count: float, left: float
    ) -> tuple[float, float] | None:
        """(factor, amount beside the price) by which stated figures explain a net price."""
        price = self.worked.price or 0.0
        values = [float(self.context.value(place)) for place in others]
        ways = [(left, sum(values))]  # prices of options
        if len(others) == 1:
            (value,) = values
            role = role_of(self.context.labels.label(others[0]))
            if role == "discount" and 0 < value < 1:
                ways.append((left * (1 - value), 0.0))
            elif not role:  # an exchange rate, or a markup
                ways += [(left * value, 0.0), (left / value, 0.0), (left * (1 + value), 0.0)]
        for scale, extra in ways:
            right = (price + extra) * count * scale
            if abs(net - right) <= max(_SAME * abs(right), 0.005 * max(count, 1)):
                return scale, extra
        return None

    def _behind(self, place: Place) -> set[Place]:
        cell = self.context.book.cell(place)
        follows = self.context.behind(cell) if cell is not None else None
        return {typed.place for typed in follows[0]} if follows is not None else set()


def _number(value: Any) -> float | None:
    """An amount; a program takes a text such as "4450" for its number where it is multiplied."""
    if isinstance(value, str):
        try:
            return float(value)
        except ValueError:
            return None
    return value if isinstance(value, float) else None


def _next(needed: float, sizes: list[float], allowed: float) -> float | None:
    try:
        return next_size(needed, sizes, allowed)
    except CellError:
        return None


def _factor(book: float | None, right: float | None) -> str:
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
        if isinstance(node, Call) and node.name in _ROUNDING:
            digits = node.arguments[1] if len(node.arguments) > 1 else None
            cents = isinstance(digits, Literal) and digits.value == _CENTS
            if to_cents or not cents:
                return True
    return False


def number_of(context: LineRecords, record: Record, role: str) -> float | None:
    """The cell of a role of a line in SI, None where it holds no such number."""
    return _Worker(context, record).si(role)


def is_calculated(context: LineRecords, record: Record, role: str) -> bool:
    """Whether the cell of a role holds a formula, or is filled by one."""
    place = record.cells.get(role)
    cell = context.book.cell(place) if place is not None else None
    return cell is not None and (cell.formula is not None or bool(cell.spill))


def worked_out(context: LineRecords) -> list[Worked]:
    """Every line worked out again, in the order of ``context.lines``."""
    records = context.records
    formulas: Counter[str] = Counter()
    for record in records:
        formulas.update(role for role in record.cells if is_calculated(context, record, role))
    least = max(2, 0.6 * len(records))
    usually = frozenset(role for role, count in formulas.items() if count >= least)
    return [_Worker(context, record, usually).work() for record in records]
