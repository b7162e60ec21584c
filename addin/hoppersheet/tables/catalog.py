"""A catalog as a table: sizes in order, each with its model and price, found by bisection.

Answers exactly what HOPPER_NEXT_SIZE and HOPPER_SIZE_BELOW answer (a test compares them), but
without looking at every size for every job.

The sizes handed on are usable volumes: a maker's size is often the gross volume, of which a part
is never filled. What nobody states counts as fully usable, and :attr:`CatalogTable.usable_words`
says so.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, NamedTuple

from ..cells.numbers_in_text import shown, split_number
from ..cells.reading import number_reader
from ..cells.values import is_blank
from ..cells.wording import rounded
from ..errors import CellError, OutOfRange, WrongKind
from ..sizing.catalog import CATALOG_SIZES, TOLERANCE
from .catalog_volumes import (
    LEAST_USABLE,
    CatalogVolumes,
    cell_under,
    read_in_row,
    usable_share,
)
from .headings import Heading, read_headings
from .jobwords.totals import is_total
from .jobwords.units import unit_measures

__all__ = [
    "CATALOG_COLUMNS",
    "CATALOG_WORDS",
    "LEAST_USABLE",
    "NOT_STATED",
    "CatalogSize",
    "CatalogTable",
    "catalog_unit",
    "read_catalog",
    "usable_share",
]

#: Column of a catalog -> quantity of its numbers, "" for text.
CATALOG_COLUMNS = {
    "size": "volume",
    "unit": "",
    "usable": "share",
    "usable volume": "volume",
    "model": "",
    "price": "",
    "currency": "",
    "invented": "",
}
#: Other words for the columns, as makers' lists have them.
CATALOG_WORDS = {
    "size": (
        "volume", "hopper size", "hopper volume", "catalog size", "gross volume", "gross",
        "capacity", "hopper capacity", "nominal volume", "volumen", "inhalt", "größe", "groesse",
        "grösse", "trichtergröße", "trichtervolumen", "nennvolumen", "bruttovolumen", "capacidad",
        "tamaño", "contenance", "capacité", "taille", "volume nominal", "volume brut",
    ),
    "unit": ("units", "uom", "unit of measure", "einheit", "unite", "unidad"),
    "usable": ("usable share", "usable part", "usable fraction", "fill level", "fill"),
    "usable volume": (
        "net volume", "working volume", "usable size", "usable capacity", "nutzvolumen",
        "nutzinhalt", "volume utile", "volumen útil", "volumen util",
    ),
    "model": (
        "type", "hopper model", "model name", "part number", "artikelnummer", "typ", "modell",
        "modelo", "modele", "modèle", "bezeichnung", "designation", "désignation", "artikel",
        "item", "article", "artículo", "référence", "réf",
    ),
    "price": (
        "list price", "unit price", "preis", "listenpreis", "einzelpreis", "vk", "precio", "prix",
        "prezzo",
    ),
}  # fmt: skip
_NOTHING: Mapping[str, Any] = MappingProxyType({})
#: "price (USD)", "list price, EUR", "Preis in EUR": a currency behind the word, without brackets.
_PRICE = re.compile(
    r"\s*((?i:(?:list |unit )?price|(?:listen|einzel)?preis|vk|prix|precio|prezzo))"
    r"(?:\s+(?:in|en))?[\s,(]+([A-Z]{3}|[$\u20ac\u00a3])\s*\)?\s*"
)
_NOT_INVENTED = ("", "no", "false", "0", "real")


class CatalogSize(NamedTuple):
    """One line of a catalog.

    Attributes:
        volume: usable volume, m3.
        model: its name, "" where none is given.
        price: as the catalog has it, None where not given.
        gross: the size as the catalog states it, m3.
        invented: the line is marked as invented, for show only.
        more: every other column, by its heading as typed (height, voltage, lead time, ...).
    """

    volume: float
    model: str
    price: Any = None
    gross: float = 0.0
    invented: bool = False
    more: Mapping[str, Any] = _NOTHING


#: What :attr:`CatalogTable.usable_words` says where nobody said gross or usable.
NOT_STATED = "the whole size, assumed: the catalog does not say whether sizes are gross or usable"


class CatalogTable:
    """The sizes of a catalog in ascending order; of equal sizes the first one listed counts."""

    def __init__(
        self,
        sizes: list[CatalogSize],
        currency: str = "",
        usable_words: str = "",
        left_out: Sequence[str] = (),
    ) -> None:
        #: For the receipt: rows, columns and sheets of the catalog that hold no size.
        self.left_out = list(left_out)
        #: The currency of the prices, "" where the catalog names none.
        self.currency = currency
        #: For the receipt: how much of a size counts, and who says so.
        self.usable_words = usable_words or NOT_STATED
        if not sizes:
            raise WrongKind("the catalog has no sizes", "catalog_sizes")
        ordered = sorted(
            sizes, key=lambda size: size.volume
        )  # stable: the first listed stays first
        self.sizes: list[CatalogSize] = []
        for size in ordered:
            if not self.sizes or size.volume > self.sizes[-1].volume * (1 + TOLERANCE):
                self.sizes.append(size)
        self._volumes = [size.volume for size in self.sizes]

    @property
    def largest(self) -> CatalogSize:
        """The largest size."""
        return self.sizes[-1]

    def around(self, required_volume: float) -> tuple[CatalogSize | None, CatalogSize | None]:
        """(size below, next size) of a required volume in m3; None where there is none."""
        at = bisect_left(self._volumes, required_volume * (1.0 - TOLERANCE))
        below = self.sizes[at - 1] if at else None
        return below, self.sizes[at] if at < len(self.sizes) else None


def read_catalog(
    rows: list[list[Any]],
    system: str,
    decimal_sign: str = "",
    usable: float | None = None,
    numbers: Sequence[int] = (),
) -> CatalogTable:
    """Read a catalog from raw cells.

    Args:
        rows: either with a heading row (``size``, and if wanted ``usable``, ``usable volume``,
            ``model``, ``price``, ``currency``, ``invented`` and any other columns; a unit in
            square brackets overrides ``system``), or nothing but sizes, in one column or one row.
        system: unit system of plain numbers.
        decimal_sign: "," or "." where the table proves one.
        usable: share of every size that is really filled, 0.2 to 1, where the list has no own
            column for it or leaves it blank; None: nobody stated it, and all of it counts.
        numbers: what messages call the rows; empty: 1 is the first.

    Raises:
        CellError: a size or a share cannot be read; says which row. The prices are in several
            currencies.
    """
    if not rows:
        raise WrongKind("the catalog is empty", "catalog_sizes")
    if usable is not None and not LEAST_USABLE <= usable <= 1:
        raise OutOfRange(
            f"a usable share of {rounded(usable)} is not between {LEAST_USABLE} and 1 "
            "(20 % and 100 %)",
            "usable",
        )
    rows, headings = _with_headings(rows)
    numbers = numbers or range(1, len(rows) + 1)
    words = "" if usable is None else f"{rounded(usable * 100)} % of every size, as stated"
    if "size" not in headings and "usable volume" not in headings:
        alone = _sizes_alone(rows, numbers, system, decimal_sign, 1.0 if usable is None else usable)
        return CatalogTable(alone, "", words)
    body = rows[1:]
    volumes = CatalogVolumes(headings, body, numbers[1:], system, decimal_sign, usable)
    more = [
        (index, " ".join(str(cell).split()))
        for index, cell in enumerate(rows[0])
        if not is_blank(cell) and index not in {heading.at for heading in headings.values()}
    ]
    sizes, left_out = [], []
    for number, row in zip(numbers[1:], body):  # noqa: B905 Python 3.9
        why = _no_size(row, headings)
        if why:
            left_out.append(f"row {number} {why}")
            continue
        volume = volumes.of(row, number)
        if volume is None:
            continue
        others = {
            heading: row[index]
            for index, heading in more
            if index < len(row) and not is_blank(row[index])
        }
        mark = _as_text(cell_under(row, headings.get("invented"))).strip().casefold()
        marked = any(str(cell).casefold().startswith("invented") for cell in others.values())
        sizes.append(
            CatalogSize(
                volume[0],
                _as_text(cell_under(row, headings.get("model"))),
                cell_under(row, headings.get("price")),
                volume[1],
                marked or mark not in _NOT_INVENTED,
                others,
            )
        )
    return CatalogTable(sizes, _currency(headings, body), volumes.words or words, left_out)


def _with_headings(rows: list[list[Any]]) -> tuple[list[list[Any]], dict[str, Heading]]:
    """(the rows with the unit of a row of units in its heading, the columns).

    Raises:
        WrongKind: the first row is one of headings, and none of them is a size.
    """
    first = [_with_brackets(cell) for cell in rows[0]]
    headings = _read(first)
    if not {"size", "usable volume"} & set(headings):
        named = [f"size [{cell.strip()}]" if _is_volume(cell) else cell for cell in first]
        headings = _read(named)  # "Liters", "cu ft": nothing but the unit
        first = named if "size" in headings else first
    if not {"size", "usable volume"} & set(headings):
        texts = [cell for cell in rows[0] if isinstance(cell, str) and not is_blank(cell)]
        if len(texts) > 1 and not any(any(map(str.isdigit, text)) for text in texts):
            raise WrongKind(
                f"the catalog has no column of sizes among its headings "
                f"{', '.join(map(shown, texts[:6]))}; call it 'size [L]' or 'size [ft3]'",
                "catalog_sizes",
            )
        return rows, headings
    below = rows[1] if len(rows) > 1 else []
    units = {
        heading.at: cell.strip(" []()")
        for name in ("size", "usable volume")
        if (heading := headings.get(name)) is not None
        and not heading.unit
        and _is_volume(cell := cell_under(below, heading))
    }
    if units:
        first = [f"{c} [{units[at]}]" if at in units else c for at, c in enumerate(first)]
        return [first, [], *rows[2:]], _read(first)
    return rows, headings


def _read(first: Sequence[Any]) -> dict[str, Heading]:
    return read_headings(first, CATALOG_COLUMNS, CATALOG_WORDS, first_wins=("model",))


def _is_volume(cell: Any) -> bool:
    """Whether a cell is a unit of volume and nothing else."""
    return isinstance(cell, str) and unit_measures(cell.strip(" []()"), "volume")


def _no_size(row: list[Any], headings: Mapping[str, Heading]) -> str:
    """What a row is that holds no size: a title between the sizes, a total; "" for any other."""
    filled = [cell for cell in row if not is_blank(cell)]
    if len(filled) == 1 and isinstance(filled[0], str) and not re.search(r"[0-9]", filled[0]):
        return f"{shown(filled[0].strip())}, a title or a note"
    for name in ("size", "usable volume", "model"):
        cell = cell_under(row, headings.get(name))
        if is_total(cell):
            return f"{shown(cell.strip())}, a total"
    return ""


def catalog_unit(rows: list[list[Any]]) -> str:
    """The unit of a catalog's plain sizes by its heading; "its own" where each size has one.

    Empty where a size is a plain number and nothing says its unit.
    """
    rows, headings = _with_headings(rows) if rows else (rows, {})
    found = [headings[name] for name in ("size", "usable volume") if name in headings]
    if not found:
        cells = [cell for row in rows for cell in row]
        return "" if any(map(_is_plain, cells)) else "its own"
    units = headings.get("unit")
    if units is not None and all(
        not is_blank(cell_under(row, units))
        for row in rows[1:]
        if not is_blank(cell_under(row, found[0]))
    ):
        return "its own"
    for heading in found:
        if not heading.unit and any(_is_plain(cell_under(row, heading)) for row in rows[1:]):
            return ""
    return found[0].unit or "its own"


def _is_plain(cell: Any) -> bool:
    """Whether a cell is a number without a unit."""
    if isinstance(cell, str):
        try:
            return not split_number(cell)[1]
        except CellError:
            return False
    return isinstance(cell, (int, float)) and not isinstance(cell, bool)


def _with_brackets(cell: Any) -> Any:
    """A price's heading with its currency in brackets, where a list has it behind the word."""
    match = _PRICE.fullmatch(cell) if isinstance(cell, str) else None
    return cell if match is None else f"{match[1]} [{match[2]}]"


def _currency(headings: Mapping[str, Heading], rows: list[list[Any]]) -> str:
    """The one currency of the prices, "" where none is named."""
    found = {
        _as_text(cell).strip()
        for row in rows
        if not is_blank(cell := cell_under(row, headings.get("currency")))
    }
    if "price" in headings and headings["price"].unit:
        found.add(headings["price"].unit)
    if len(found) > 1:
        raise WrongKind(
            f"the catalog's prices are in {' and '.join(sorted(found))}; use one currency per "
            "catalog",
            "catalog_sizes",
        )
    return found.pop() if found else ""


def _sizes_alone(
    rows: list[list[Any]],
    numbers: Sequence[int],
    system: str,
    decimal_sign: str,
    usable: float,
) -> list[CatalogSize]:
    """A range without headings: every cell that is not blank is a size."""
    read = number_reader(CATALOG_SIZES, system, decimal_sign=decimal_sign)
    try:
        sizes = [
            read_in_row(read, cell, number)
            for number, row in zip(numbers, rows)  # noqa: B905 Python 3.9
            for cell in row
            if not is_blank(cell)
        ]
    except CellError as problem:
        if len(rows) > 1 and any(len([c for c in row if not is_blank(c)]) > 1 for row in rows):
            problem.reason += (
                "; a catalog with more than sizes needs a heading row: size (or size [L]), "
                "model, price"
            )
        raise
    return [CatalogSize(size * usable, "", gross=size) for size in sizes]


def _as_text(cell: Any) -> str:
    """A cell as text: a model that is a number without the ``.0`` that Python adds."""
    if is_blank(cell):
        return ""
    return cell if isinstance(cell, str) else shown(cell)
