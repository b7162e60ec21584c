"""How much of each size in a catalog can be filled: by its own columns, or as somebody stated."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from ..cells.numbers_in_text import shown, split_number
from ..cells.reading import number_reader
from ..cells.values import is_blank
from ..cells.wording import rounded
from ..errors import CellError, OutOfRange, WrongKind
from ..registry import Argument
from ..sizing.catalog import CATALOG_SIZES, TOLERANCE
from .headings import Heading

__all__ = ["LEAST_USABLE", "CatalogVolumes", "cell_under", "read_in_row", "usable_share"]

#: A smaller usable share is a slip, common practice, no source.
LEAST_USABLE = 0.2

_USABLE = Argument("usable", "", "share")


def usable_share(text: str) -> float:
    """A usable share as typed: ``90 %``, ``90`` or ``0.9``.

    Raises:
        CellError: it is no number, or not between 20 % and 100 %.
    """
    share = float(number_reader(_USABLE, "US")(text))
    return share / 100 if share > 1 else share


class CatalogVolumes:
    """Reads the usable and the stated volume of each row of a catalog."""

    def __init__(
        self,
        headings: Mapping[str, Heading],
        rows: list[list[Any]],
        numbers: Sequence[int],
        system: str,
        decimal_sign: str,
        usable: float | None,
    ) -> None:
        if "usable" in headings and "usable volume" in headings:
            raise WrongKind(
                "the catalog has both a usable share and a usable volume; keep one of them",
                "catalog_sizes",
            )
        self._size, self._net = headings.get("size"), headings.get("usable volume")
        self._share, self._unit = headings.get("usable"), headings.get("unit")
        self._default = 1.0 if usable is None else usable
        unit = {heading.name: heading.unit for heading in headings.values()}
        self._read_size, self._read_net = (
            number_reader(CATALOG_SIZES, system, unit.get(name, ""), decimal_sign)
            for name in ("size", "usable volume")
        )
        self._read_share = number_reader(
            _USABLE, system, self._share.unit if self._share else "", decimal_sign
        )
        self._percent = self._share is not None and self._shares_are_percent(rows, numbers)
        self.words = ""
        column = self._share or self._net
        if column is not None:
            self.words = f"the catalog's column {shown(column.typed)}"
            blank = any(
                is_blank(cell_under(row, column)) and not is_blank(cell_under(row, self._size))
                for row in rows
            )
            if blank:
                who = "assumed" if usable is None else "as stated"
                self.words += f"; {rounded(self._default * 100)} % where it is blank, {who}"

    def _shares_are_percent(self, rows: list[list[Any]], numbers: Sequence[int]) -> bool:
        """Whether plain numbers of the usable column are percentages; never a mixture."""
        plain = []
        for number, row in zip(numbers, rows):  # noqa: B905 Python 3.9
            cell = cell_under(row, self._share)
            if is_blank(cell) or (isinstance(cell, str) and "%" in cell):
                continue
            plain.append((read_in_row(self._read_share, cell, number), number))
        over = [number for share, number in plain if share > 1]
        if over and len(over) < len(plain):
            under = next(number for share, number in plain if share <= 1)
            raise WrongKind(
                f"the catalog's usable shares are fractions in row {under} and percentages in row "
                f"{over[0]}; write all of them one way",
                "catalog_sizes",
            )
        return bool(over)

    def of(self, row: list[Any], number: int) -> tuple[float, float] | None:
        """(usable, stated) volume of a row in m3; None for a row without a size."""
        size, net = (self._with_unit(cell_under(row, h), row) for h in (self._size, self._net))
        if is_blank(size) and is_blank(net):
            return None
        if is_blank(net):
            gross = read_in_row(self._read_size, size, number)
            return gross * self._usable_share(row, number), gross
        usable = read_in_row(self._read_net, net, number)
        if is_blank(size):
            return usable, usable
        gross = read_in_row(self._read_size, size, number)
        if not LEAST_USABLE * gross <= usable <= gross * (1 + TOLERANCE):
            raise OutOfRange(
                f"in row {number} of the catalog, the usable volume is "
                f"{rounded(usable / gross * 100, 3)} % of the size; it must be between "
                f"{LEAST_USABLE * 100:g} % and 100 %",
                "catalog_sizes",
            )
        return usable, gross

    def _with_unit(self, cell: Any, row: list[Any]) -> Any:
        """A size with the unit that stands in the catalog's column of units."""
        unit = cell_under(row, self._unit)
        if is_blank(unit) or is_blank(cell):
            return cell
        if isinstance(cell, str):
            return cell if split_number(cell)[1] else f"{cell} {unit}"
        return f"{cell:.15g} {unit}" if isinstance(cell, (int, float)) else cell

    def _usable_share(self, row: list[Any], number: int) -> float:
        cell = cell_under(row, self._share)
        if is_blank(cell):
            return self._default
        share = read_in_row(self._read_share, cell, number)
        if self._percent and not (isinstance(cell, str) and "%" in cell):
            share /= 100
        if not LEAST_USABLE <= share <= 1 + TOLERANCE:
            raise OutOfRange(
                f"in row {number} of the catalog, a usable share of {shown(cell)} is not between "
                f"{LEAST_USABLE * 100:g} % and 100 %",
                "catalog_sizes",
            )
        return min(share, 1.0)


def read_in_row(read: Callable[[Any], float], cell: Any, row: int) -> float:
    """The number in a cell; an error says in which row of the catalog it stands."""
    try:
        return read(cell)
    except CellError as problem:
        problem.reason = f"in row {row} of the catalog, {problem.reason}"
        raise


def cell_under(row: list[Any], heading: Heading | None) -> Any:
    """The row's cell under a heading; None where the column or the cell is missing."""
    return None if heading is None or heading.at >= len(row) else row[heading.at]
