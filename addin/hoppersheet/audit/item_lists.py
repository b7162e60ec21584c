"""Price lists of what is sold beside hoppers: dryers, stands, options; models with their prices."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..workbook.formulas import Place

if TYPE_CHECKING:
    from .sized_lines import SizedLines

__all__ = ["ItemList", "item_lists"]

_MODEL = re.compile(r"\b(model|type|article|item)\b", re.IGNORECASE)
_PRICE = re.compile(r"\bprice\b", re.IGNORECASE)
_LEAST = 2  # rows that make a list


@dataclass(frozen=True)
class ItemList:
    """One list.

    Attributes:
        prices: model, in small letters -> the cell of its price.
        models: cell of a price -> its model.
    """

    prices: dict[str, Place]
    models: dict[Place, str]

    def other_price(self, price: Place, texts: Collection[str]) -> Place | None:
        """The price of the model that a line names, where the line takes another one's price."""
        own = self.models.get(price)
        named = [text for text in texts if text in self.prices]
        if own is None or not named or own in named:
            return None
        return self.prices[named[0]]


def item_lists(context: SizedLines, own: Collection[Place]) -> list[ItemList]:
    """Every typed list of models and prices that is neither a hopper catalog nor a quote's line.

    Args:
        own: the cells of the lines.
    """
    rows = {(place[0], place[1]) for place in own}
    groups: dict[tuple[str, int, int], ItemList] = {}
    for sheet in context.book.sheets.values():
        if context.labels.sideways(sheet.name):
            continue
        for column, cells in sheet.columns.items():
            for cell in cells:
                place = cell.place
                if not cell.typed or not isinstance(cell.value, float):
                    continue
                if (place[0], place[1]) in rows or context.in_catalog(place):
                    continue
                heading, above = context.labels.heading_at(place)
                if not heading or not _PRICE.search(heading):
                    continue
                model = _model_beside(context, place)
                if model:
                    found = groups.setdefault((sheet.name, above, column), ItemList({}, {}))
                    found.prices.setdefault(model, place)
                    found.models[place] = model
    return [found for found in groups.values() if len(found.models) >= _LEAST]


def _model_beside(context: SizedLines, place: Place) -> str:
    for cell in context.book.sheets[place[0]].rows.get(place[1], []):
        if isinstance(cell.value, str) and _MODEL.search(context.labels.heading(cell.place)):
            return cell.value.strip().lower()
    return ""
