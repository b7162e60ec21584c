"""A catalog as a table: sizes in order, each with its model and price, found by bisection.

Answers exactly what HOPPER_NEXT_SIZE and HOPPER_SIZE_BELOW answer (a test compares them), but
without looking at every size for every job.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from typing import Any, NamedTuple

from ..cells.numbers_in_text import shown
from ..cells.reading import number_reader
from ..cells.values import is_blank
from ..errors import CellError, WrongKind
from ..sizing.catalog import CATALOG_SIZES, TOLERANCE
from .headings import Heading, read_headings

__all__ = [
    "CATALOG_COLUMNS",
    "CATALOG_WORDS",
    "CatalogSize",
    "CatalogTable",
    "read_catalog",
]

#: Column of a catalog -> quantity of its numbers, "" for text.
CATALOG_COLUMNS = {"size": "volume", "model": "", "price": ""}
#: Other words for the columns, as makers' lists have them.
CATALOG_WORDS = {
    "size": ("volume", "hopper size", "hopper volume", "catalog size"),
    "model": ("type", "hopper model", "model name"),
    "price": ("list price", "unit price"),
}


class CatalogSize(NamedTuple):
    """One line of a catalog: volume in m3, model, price as the catalog has it (None: not given)."""

    volume: float
    model: str
    price: Any = None


class CatalogTable:
    """The sizes of a catalog in ascending order; of equal sizes the first one listed counts."""

    def __init__(self, sizes: list[CatalogSize]) -> None:
        if not sizes:
            raise WrongKind("the catalog holds no size", "catalog_sizes")
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


def read_catalog(rows: list[list[Any]], system: str, decimal_comma: bool = False) -> CatalogTable:
    """Read a catalog from raw cells.

    Args:
        rows: either with a heading row (``size``, ``model``, ``price``; a unit in square
            brackets overrides ``system``), or nothing but sizes, in one column or one row.
        system: unit system of plain numbers.
        decimal_comma: the table writes numbers with a decimal comma.

    Raises:
        CellError: a size cannot be read; says which row.
    """
    if not rows:
        raise WrongKind("the catalog is empty", "catalog_sizes")
    headings = read_headings(rows[0], CATALOG_COLUMNS, CATALOG_WORDS)
    if "size" not in headings:
        return CatalogTable(_sizes_alone(rows, system, decimal_comma))
    size_heading = headings["size"]
    read = number_reader(CATALOG_SIZES, system, size_heading.unit, decimal_comma)
    sizes = []
    for number, row in enumerate(rows[1:], 2):
        cell = _cell(row, size_heading)
        if is_blank(cell):
            continue
        volume = _read_size(read, cell, number)
        model = _cell(row, headings.get("model"))
        sizes.append(CatalogSize(volume, _as_text(model), _cell(row, headings.get("price"))))
    return CatalogTable(sizes)


def _sizes_alone(rows: list[list[Any]], system: str, decimal_comma: bool) -> list[CatalogSize]:
    """A range without headings: every cell that is not blank is a size."""
    read = number_reader(CATALOG_SIZES, system, decimal_comma=decimal_comma)
    try:
        return [
            CatalogSize(_read_size(read, cell, number), "")
            for number, row in enumerate(rows, 1)
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


def _read_size(read: Callable[[Any], float], cell: Any, row: int) -> float:
    """The size in a cell; an error says in which row of the catalog it stands."""
    try:
        return read(cell)
    except CellError as problem:
        problem.reason = f"in row {row} of the catalog, {problem.reason}"
        raise


def _as_text(cell: Any) -> str:
    """A cell as text: a model that is a number without the ``.0`` that Python adds."""
    if is_blank(cell):
        return ""
    return cell if isinstance(cell, str) else shown(cell)


def _cell(row: list[Any], heading: Heading | None) -> Any:
    """The row's cell under a heading; None where the column or the cell is missing."""
    return None if heading is None or heading.place >= len(row) else row[heading.place]
