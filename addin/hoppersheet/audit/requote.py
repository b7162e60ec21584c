"""Every line worked out again, from its typed inputs to its net price, by the core and the catalog.

Nothing of the workbook's own arithmetic is used: headings say what the typed figures are, our
functions and the catalog say what follows. Each result of the workbook is then compared with what
follows from the cells before it, so that one slip is told once, where it begins; and the whole line
is worked out from its inputs, which gives the amount that is at stake.
"""

from __future__ import annotations

from collections import Counter

from ..errors import CellError
from ..sizing.catalog import next_size
from ..sizing.density import BASIS, blend_density
from ..sizing.volume import held_hours, required_volume
from ..workbook.formulas import Literal, Place, walk
from .calls import PlainCall, cell_name
from .line_cells import (
    QUANTITY_OF,
    SAME,
    Worked,
    factor_between,
    is_calculated,
    share_in,
)  # fmt: skip
from .line_price import LinePrice
from .records import LineRecords, Record
from .roles import role_of
from .share_basis import BasisStated

__all__ = ["number_of", "worked_out"]


class _Worker(LinePrice):
    """Works one line out again."""

    # -- density

    def _basis_stated(self) -> BasisStated | None:
        """What the sheet says of the basis beside the cells that formulas take."""
        shares = self.record.cells.get("virgin share") or self.record.cells.get("regrind share")
        if shares is None:
            return None
        return self.context.stated_bases.of(shares, self.line.place)

    def _basis(self) -> str:
        stated = str(self.value("share basis") or "").strip().lower()
        for basis in BASIS:
            if basis in stated or (basis == "mass" and "weight" in stated):
                return basis
        if (beside := self._basis_stated()) is not None:
            return beside.basis
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
        one, other = share_in(self.value("virgin share")), share_in(self.value("regrind share"))
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
        if self.calculated("density") and self.differs("density", right):
            self.note("density", right or 0.0, self._why_density(right))
        rate, hours = self.si("throughput"), self.si("hours")
        reserve = self._reserve()
        self.worked.asked = hours
        if self.line.job is not None:  # the core has sized the row, all components and defaults
            sized = self.line.job.sized
            self.worked.asked = sized.drying_hours
            self.worked.right_required = self.line.required
            self._sizes(self.line.required, sized.blend_density, sized.throughput)
        elif self.record.several & {"throughput", "hours", "density"}:
            self.worked.left_out["required volume"] = "several cells could be an input of it"
            self._sizes(None, book, rate)
        elif other := self._another_figure("required volume"):
            self.worked.left_out["required volume"] = f"{other!r} takes part in it too"
            self._sizes(None, book, rate)
        elif rate is None or hours is None or right is None:
            self.worked.left_out["required volume"] = "an input was not found"
            self._sizes(None, book, rate)
        else:
            self._volumes(rate, hours, book or right, reserve)
            self.worked.right_required = (
                required_volume(rate, hours, right, reserve) / self._filled_share()
            )
            self._sizes(self.worked.right_required, book or right, rate)
        self.work_out_price()
        return self.worked

    def _filled_share(self) -> float:
        """The share of a hopper that is filled, where the required volume takes one; else 1."""
        place = self.record.cells.get("required volume")
        cell = self.context.book.cell(place) if place is not None else None
        for area in self.context.values.areas_of(cell) if cell is not None else ():
            if area[1:3] == area[3:] and self.context.labels.role(area[:3]) == "filled share":
                share = share_in(self.context.value(area[:3]))
                if share:
                    return share
        return 1.0

    def _reserve(self) -> float:
        """The reserve as a fraction; a factor such as 1.1, and 10 for 10 %, are read too."""
        value = self.value("reserve")
        if isinstance(value, str):
            return share_in(value) or 0.0
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
                known |= self.behind(other)
        for typed in follows[0]:
            if not isinstance(typed.value, float) or typed.place in known:
                continue
            label = self.context.labels.label(typed.place)
            if not role_of(label) and not self.context.in_catalog(typed.place):
                return label or "a number"
        return ""

    def _why_density(self, right: float | None) -> str:
        book = self.si("density")
        virgin = self.si("virgin density")
        if book and right:
            if virgin and abs(book / virgin - 1) < SAME:
                return "it is the virgin density, as if there were no regrind"
            one, other = share_in(self.value("virgin share")), share_in(self.value("regrind share"))
            regrind = self.si("regrind density")
            one = 1 - other if one is None and other is not None else one
            if virgin and regrind and one is not None:
                other = 1 - one if other is None else other
                for basis in BASIS:
                    blend = blend_density([one, other], [virgin, regrind], basis)
                    if abs(book / blend - 1) < SAME:
                        beside = self._basis_stated()
                        if beside is None or "share basis" in self.record.cells:
                            return f"the shares are taken by {basis}, they are by {self._basis()}"
                        return f"the shares are taken by {basis}, {beside.says} says {beside.basis}"
                    exchanged = blend_density([other, one], [virgin, regrind], basis)
                    if abs(book / exchanged - 1) < SAME and abs(one - other) > SAME:
                        return "the two shares, or the two densities, are exchanged"
        return factor_between(book, right)

    def _volumes(self, rate: float, hours: float, density: float, reserve: float) -> None:
        filled = self._filled_share()

        def volume(density: float, reserve: float) -> float:
            return required_volume(rate, hours, density, reserve) / filled

        right = volume(density, reserve)
        if not self.calculated("required volume") or not self.differs("required volume", right):
            return
        book = self.si("required volume") or 0.0
        why = ""
        for role in ("virgin density", "regrind density"):
            other = self.si(role)
            if other and abs(volume(other, reserve) / book - 1) < SAME:
                why = f"it is worked out with the {role}, not with the density of the blend"
        why = why or self._not_read()
        if not why and reserve and abs(volume(density, 0) / book - 1) < SAME:
            why = "it leaves the reserve out"
        self.note("required volume", right, why or factor_between(book, right) + self._units_note())

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
            role: self.unit(self.record.cells[role], QUANTITY_OF[role])
            for role in ("throughput", "density", "required volume")
            if role in self.record.cells
        }
        listed = ", ".join(f"{role} in {unit}" for role, unit in units.items() if unit)
        return f" ({listed})" if listed and isinstance(self.line.call, PlainCall) else ""

    # -- size

    def _sizes(self, right: float | None, density: float | None, rate: float | None) -> None:
        line, worked = self.line, self.worked
        needed = self.si("required volume") or line.required
        if line.sizes and needed:
            allowed = line.below
            # Of several hoppers, or for several jobs, a size is for another volume.
            looked_up = (line.looked_up or line.required / line.hoppers) / line.required
            for role in ("next size",):
                enough = _next(needed * looked_up, line.sizes, allowed)
                if self._only_follows(role) and self.differs(role, enough):
                    self.note(role, enough or 0.0)
            worked.right_size = line.chosen_size
            chosen, following = line.chosen, self.record.cells.get("next size")
            automatic = (
                chosen is not None
                and (
                    chosen == following
                    or following in self.context.trail(chosen)
                    or self._is_next_size(chosen)
                )
                and self._only_follows("chosen size")
            )
            if right and automatic:
                worked.right_size = _next(right * looked_up, line.sizes, allowed)
        if density and rate and line.chosen_volume:
            worked.held = held_hours(line.chosen_volume, density, rate)
            if self.calculated("held hours") and self.differs("held hours", worked.held):
                book = self.si("held hours")
                self.note("held hours", worked.held, factor_between(book, worked.held))

    def _is_next_size(self, chosen: Place) -> bool:
        """Whether a cell, whatever it is called, is looked up for the required volume alone."""
        context, place = self.context, self.context.trail(chosen)[-1]
        if calls := context.own_calls(place):
            return all(call.name == "HOPPER_NEXT_SIZE" for call in calls)
        cell = context.book.cell(place)
        areas = set(context.values.areas_of(cell)) if cell is not None and cell.formula else set()
        lists = {area for area in areas if area in context.catalogs.of_area}
        volumes = {(*self.line.place, *self.line.place[1:])}
        return bool(lists) and areas - lists == volumes and not context.reason_for(self.line)

    def _only_follows(self, role: str) -> bool:
        """Whether a size is worked out, and nothing that somebody may type chooses it."""
        place = self.record.cells.get(role)
        cell = self.context.book.cell(place) if place is not None else None
        if cell is None or not self.calculated(role):
            return False
        for area in self.context.values.areas_of(cell):
            if area[1:3] == area[3:] and area[:3] != self.line.place:
                taken = self.context.book.cell(area[:3])
                if taken is None or isinstance(self.context.value(area[:3]), str):
                    return False
        return True


def _next(needed: float, sizes: list[float], allowed: float) -> float | None:
    try:
        return next_size(needed, sizes, allowed)
    except CellError:
        return None


def number_of(context: LineRecords, record: Record, role: str) -> float | None:
    """The cell of a role of a line in SI, None where it holds no such number."""
    return _Worker(context, record).si(role)


def worked_out(context: LineRecords) -> list[Worked]:
    """Every line worked out again, in the order of ``context.lines``."""
    records = context.records
    formulas, cells = Counter[str](), Counter[str]()
    for record in records:
        cells.update(record.cells.keys())
        formulas.update(role for role in record.cells if is_calculated(context, record, role))
    usually = frozenset(
        role for role, count in formulas.items() if count >= max(2, 0.6 * cells[role])
    )
    return [_Worker(context, record, usually).work() for record in records]
