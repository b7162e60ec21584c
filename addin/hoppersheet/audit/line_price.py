"""The price of a line worked out again: model and list price by the catalog, then the net price."""

from __future__ import annotations

import re
from typing import Any

from ..cells.values import is_error
from ..workbook.formulas import Place
from .amount_parts import FollowedAmount, name_of, why_not_explained
from .calls import cell_name
from .catalogs import Catalog
from .currency import currency_of
from .item_lists import ItemList
from .line_cells import SAME, Difference, LineCells, factor_between, is_calculated, share_in
from .total_parts import TotalParts

__all__ = ["LinePrice"]

_ROUNDED_TOO_FAR = 0.02  # relative
#: What the headings of all items say.
_COMMON = {"price", "list", "model", "type", "unit", "usd", "eur", "each", "cost", "the", "net"}


class LinePrice(LineCells):
    """Works the price of a line out again, from its size, quantity and discount."""

    def _rows_of(self, size: float | None, listed: Catalog) -> list[Place]:
        """Where the list has a size; of several rows those that a text of the line names."""
        if size is None:
            return []
        rows = []
        for place in listed.rows:
            other = self.line.in_si(self.context.value(place))
            if other is not None and abs(other - size) <= 1e-6 * size:
                rows.append(place)
        if len(rows) > 1:
            mine = {self._text(cell.place) for cell in self.context.labels.beside(self.line.place)}
            beside = [column for column in listed.columns if column != listed.models]
            named = [
                row for row in rows if {self._text(listed.beside(row, c)) for c in beside} & mine
            ]
            rows = named or rows
        return rows

    def _text(self, place: Place) -> str | Place:
        """A text as it is compared; what is none is like nothing else."""
        value = self.context.value(place)
        return value.strip().lower() if isinstance(value, str) and value.strip() else place

    def _is_price_of(self, model: Any) -> bool:
        """Whether the line has the price that a catalog has for a model."""
        return any(
            self._text(listed.beside(row, listed.models)) == str(model).strip().lower()
            and self.context.value(listed.beside(row, listed.prices)) == self.worked.price
            for listed in self.context.catalogs.all
            if listed.models and listed.prices
            for row in listed.rows
        )

    def work_out_price(self) -> None:
        """Model, list price, quantity, discount and net price."""
        worked, line = self.worked, self.line
        worked.model = str(self.value("model") or "")
        worked.price = _number(self.value("list price"))
        worked.right_price = worked.price
        if line.listed is not None:
            self._from_catalog(line.listed)
        elif worked.price is not None and line.job is None:
            worked.left_out["list price"] = "there is no catalog to compare it with"
        self._quantity_and_discount()
        if self._priced_elsewhere():
            worked.quantity, worked.right_net = 0.0, 0.0
        else:
            self._net()

    def _priced_elsewhere(self) -> bool:
        """Whether a line without price and quantity has the hopper of a line that has both."""
        nothing = (None, "", 0.0)
        if self.worked.price or any(
            self.value(role) not in nothing for role in ("quantity", "net price")
        ):
            return False
        for other in self.context.others_of_its_hopper(self.line):
            record = self.context.record(other)
            if record is not None and any(
                isinstance(self.context.value(record.cells[role]), float)
                and self.context.value(record.cells[role])
                for role in ("list price", "net price")
                if role in record.cells
            ):
                self.worked.priced_on = self.context.name_of(other)
                self.worked.net = 0.0
                self.worked.net_place = self.record.cells.get("net price")
                return True
        return False

    def _from_catalog(self, listed: Catalog) -> None:
        """Model and price against the list; where the list has a size twice, either row will do."""
        worked, value = self.worked, self.context.value
        rows = self._rows_of(self.line.chosen_size, listed)
        models = [value(listed.beside(row, listed.models)) for row in rows if listed.models]
        prices = [value(listed.beside(row, listed.prices)) for row in rows if listed.prices]
        stated = self.value("model")
        is_model = isinstance(stated, str) and stated.strip() and not is_error(stated)
        other_model = False
        if is_model and models and isinstance(models[0], str):
            same = [
                at
                for at, m in enumerate(models)
                if str(m).strip().lower() == stated.strip().lower()
            ]
            other_model = not same
            if other_model:
                self.note("model", models[0], self._other_list("model", stated, listed))
            prices = [prices[at] for at in same if prices] or prices
        right = next((p for p in prices if isinstance(p, float)), None)
        roles = {*self.record.cells, *self.record.blank, *self.record.several}
        if "net price" in roles and "list price" not in roles:
            worked.price = worked.right_price = right  # a step inside the formula of the amount
        if worked.price is None:
            return
        worked.listed_price = right
        if right is not None and all(
            self.differs("list price", p) for p in prices if isinstance(p, float)
        ):
            parts = self._from_list_price(rows, listed)
            if parts is not None:
                right = right * parts.weight + parts.added
            worked.right_price = right
            why = self._why_price(parts, listed, rows)
            # the price of a wrong model follows from that
            if why is not None and not (other_model and self._is_price_of(stated)):
                why = why or self._other_list("list price", worked.price, listed)
                self.note("list price", right, why or factor_between(worked.price, right))
        if worked.right_size != self.line.chosen_size:
            rows = self._rows_of(worked.right_size, listed)
            prices = [value(listed.beside(row, listed.prices)) for row in rows if listed.prices]
            better = next((price for price in prices if isinstance(price, float)), None)
            worked.right_price = worked.right_price if better is None else better

    def _from_list_price(self, rows: list[Place], listed: Catalog) -> TotalParts | None:
        """How a price follows from the catalog's by named figures, such as a rate; None: not so."""
        place, context = self.record.cells["list price"], self.context
        if not is_calculated(context, self.record, "list price"):
            return None
        known = self.behind(self.line.chosen) if self.line.chosen is not None else set()
        for row in rows:
            followed = FollowedAmount(context, place, listed.beside(row, listed.prices), 1.0)
            if followed.source not in followed.typed:
                continue
            figures = [
                cell
                for at in sorted(followed.typed - known - followed.own)
                if not context.in_catalog(at) and (cell := context.book.cell(at)) is not None
                if isinstance(cell.value, float)
            ]
            parts = followed.parts(figures) if figures else TotalParts(known=False)
            if parts.known and (parts.factors or parts.amounts):
                return parts
        return None

    def _why_price(
        self, parts: TotalParts | None, listed: Catalog, rows: list[Place]
    ) -> str | None:
        """Why a price is not what follows from the catalog's; None where named figures say it."""
        if parts is None:
            return ""
        place = self.record.cells["list price"]
        currencies = (
            currency_of(self.context, listed.beside(rows[0], listed.prices)),
            currency_of(self.context, place),
        )
        return why_not_explained(self.context, parts, self.line.place, currencies) or None

    def _other_list(self, role: str, stated: Any, listed: Catalog) -> str:
        """``"it is of ..., the line names ..."`` where another catalog has it for the size."""
        if not self.line.names_catalog:
            return ""
        for other in self.context.catalogs.all:
            column = other.models if role == "model" else other.prices
            rows = self._rows_of(self.line.chosen_size, other) if column and other != listed else []
            if any(self.context.value(other.beside(row, column)) == stated for row in rows):
                names = self.context.catalogs
                return f"it is of {names.called(other)!r}, the line says {names.called(listed)!r}"
        return ""

    def _quantity_and_discount(self) -> None:
        worked = self.worked
        if "quantity" in self.record.cells or "quantity" in self.record.blank:
            value = self.value("quantity")
            worked.quantity = value if isinstance(value, float) else 0.0
        value = self.value("discount")
        share = share_in(value)
        worked.discount = share if share is not None and 0 <= share <= 1 else 0.0
        net, price = self.value("net price"), worked.price
        if isinstance(value, float) and not 0 <= value <= 1 and isinstance(net, float) and price:
            # 5 for 5 %: as the formula takes it
            right = price * worked.quantity * (1 - value)
            worked.discount = value if abs(net - right) <= SAME * abs(right) else worked.discount

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
            worked.right_net = worked.net  # not worked out is not 0
            return
        count, left = worked.quantity, 1 - worked.discount
        right = worked.price * count * left
        worked.right_net = (worked.right_price or worked.price) * count * left
        unclear = next((r for r in ("quantity", "discount") if r in self.record.several), "")
        if unclear:
            worked.left_out["net price"] = f"several cells could be its {unclear}"
            worked.right_net = worked.net
            return
        others = self._other_amounts(place)
        if others:
            self._with_other_figures(place, others, count, left)
            return
        if not self.calculated("net price"):
            if self._is_only_price():
                self.worked.differences.append(
                    Difference("net price", place, worked.net, right, typed=True)
                )
            return
        if self.differs("net price", right) and abs(worked.net - right) > 0.005 * max(count, 1):
            why = ""
            if abs(worked.net - worked.price * count) <= SAME * abs(worked.net):
                why = "it leaves the discount out"
            elif abs(worked.net - worked.price * left) <= SAME * abs(worked.net):
                why = "it leaves the quantity out"
            elif abs(worked.net - worked.price) <= SAME * abs(worked.net):
                why = "it leaves quantity and discount out"
            self.note("net price", right, why)

    def _is_only_price(self) -> bool:
        """Whether no other line says that its net price should follow from its list price."""
        priced = sum("net price" in record.cells for record in self.context.records)
        return priced == 1 and is_calculated(self.context, self.record, "list price")

    def _other_amounts(self, place: Place) -> list[Place]:
        """Other numbers that a line's net price follows from, such as an option's price."""
        cell = self.context.book.cell(place)
        follows = self.context.behind(cell) if cell is not None else None
        if follows is None:
            return [place]
        known = {self.record.cells.get(r) for r in ("quantity", "discount", "list price")}
        known.add(place)  # somebody may have typed it
        for role in ("quantity", "discount"):  # with what it is worked out from
            repeated = self.record.cells.get(role)
            if repeated is not None:
                known |= {*self.context.trail(repeated)} | self.behind(repeated)
        price = self.record.cells.get("list price")
        price = price or self.line.chosen  # from which the amount may take its price itself
        of_price = self.behind(price) if price is not None else set()
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

    def _with_other_figures(
        self, place: Place, others: list[Place], count: float, left: float
    ) -> None:
        """The net price where more figures take part in it than quantity and discount."""
        worked, context = self.worked, self.context
        net, price = worked.net or 0.0, worked.price or 0.0
        better = worked.right_price or price
        again = self._options_or_discount(others, net, count, left)
        if again is not None:
            scale, extra = again
            worked.right_net = (better + extra) * count * scale
            return
        source = self.record.cells.get("list price")
        discount = self.record.cells.get("discount")
        figures = [*others, *(context.trail(discount)[-1:] if discount is not None else ())]
        cells = [cell for cell in map(context.book.cell, figures) if cell is not None]
        parts = TotalParts(known=False)
        if source is not None and self.calculated("net price"):
            parts = FollowedAmount(context, place, source, count).parts(cells)
        nameless = any(
            not name_of(context, amount.place, self.line.place) for amount in parts.amounts
        )
        if source is None or not parts.known or nameless:
            label = context.labels.label(others[0]) or "another number"
            worked.left_out["net price"] = f"{label} takes part in it too"
            worked.right_net = worked.net
            return
        weight = 1.0
        for factor in parts.factors:
            named = name_of(context, factor.place, self.line.place)
            weight *= factor.meant if named else 1.0
        more = (better - price) * count * weight + self._other_items(parts, place)
        currencies = (currency_of(context, source), currency_of(context, place))
        why = why_not_explained(context, parts, self.line.place, currencies)
        if not why and worked.discount and figures[-1] not in {f.place for f in parts.factors}:
            why, weight = "it leaves the discount out", weight * left
        right = price * count * weight + parts.added
        if why:
            self.note("net price", right, why)
        shares = {f.place: 1 - f.ratio for f in parts.factors}
        if discount is not None:
            worked.discount = shares.get(figures[-1], worked.discount)
        if not why and abs(net - right) > _ROUNDED_TOO_FAR * abs(net):
            why = "it is rounded too far"
            self.note("net price", right, why)
        worked.right_net = (right if why else net) + more  # what is rounded is no difference

    def _other_items(self, parts: TotalParts, net: Place) -> float:
        """How much more the right prices of other items come to; a wrong one is noted."""
        context, more = self.context, 0.0
        beside = context.labels.beside(self.line.place)
        texts = {str(context.value(c.place)).strip().lower() for c in beside}
        for amount in parts.amounts:
            for listed in context.item_lists:
                place, right = amount.place, listed.other_price(amount.place, texts)
                if amount.place in self.record.places:
                    place, right = self._typed_item(listed, amount.place)
                value = context.value(right) if right is not None else None
                if right is None or not isinstance(value, float) or value == amount.value:
                    continue
                more += amount.counts * (value / amount.value - 1)
                shown = [
                    c.place for c in beside
                    if c.place != net and context.value(c.place) == amount.value
                    and (c.place == place or place in self.behind(c.place))
                ]  # fmt: skip
                at = shown[0] if shown else net
                self.worked.differences.append(
                    Difference("item price", at, amount.value, value,
                               f"{listed.models[right].upper()} in {cell_name(right)}")
                )  # fmt: skip
        return more

    def _typed_item(self, listed: ItemList, place: Place) -> tuple[Place, Place | None]:
        """A price typed into the line, and what its list has for the model beside it."""
        labels = self.context.labels
        words = _words(labels.label(place))
        for cell in labels.beside(place):
            if cell.place == place or not words & _words(labels.label(cell.place)):
                continue  # "Stand price" has nothing to do with the model under "Dryer"
            model = str(self.context.value(cell.place)).strip().lower()
            if model in listed.prices:
                return place, listed.prices[model]
        return place, None

    def _options_or_discount(
        self, others: list[Place], net: float, count: float, left: float
    ) -> tuple[float, float] | None:
        """(factor, amount beside the price) where typed options or one more discount explain it."""
        if any(not name_of(self.context, place, self.line.place) for place in others):
            return None
        price = self.worked.price or 0.0
        values = [float(self.context.value(place)) for place in others]
        ways = []
        if not self.context.item_lists:
            ways.append((left, sum(values)))  # prices of options
        if len(others) == 1 and self.context.labels.role(others[0]) == "discount":
            ways.append((left * (1 - values[0]), 0.0))
        for scale, extra in ways:
            right = (price + extra) * count * scale
            if abs(net - right) <= max(SAME * abs(right), 0.005 * max(count, 1)):
                return scale, extra
        return None


def _words(heading: str) -> set[str]:
    """What an item is called in a heading."""
    return set(re.findall(r"[a-z]{3,}", heading.lower())) - _COMMON


def _number(value: Any) -> float | None:
    """An amount; a program takes a text such as "4450" for its number where it is multiplied."""
    if isinstance(value, str):
        try:
            return float(value)
        except ValueError:
            return None
    return value if isinstance(value, float) else None
