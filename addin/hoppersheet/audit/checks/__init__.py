"""One file per family of findings; each has ``check(context)``, which yields findings."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..context import Context
from ..findings import Finding
from . import (
    blanks,
    carried,
    catalog,
    catalog_order,
    cautions,
    comparisons,
    copies,
    currencies,
    density,
    doubts,
    inputs,
    jobs,
    left_blank,
    line_money,
    looks,
    money,
    other_amounts,
    own_checks,
    pages,
    price_lists,
    printed,
    requote,
    resins,
    settings,
    single_results,
    structure,
    typed_inputs,
    typed_numbers,
    units,
    unseen,
    values,
)

__all__ = ["CHECKS"]

#: Family -> its check, in the order in which they run.
CHECKS: dict[str, Callable[[Context], Iterator[Finding]]] = {
    "values": values.check,
    "blanks": blanks.check,
    "copies": copies.check,
    "numbers inside calls": typed_numbers.check,
    "totals": single_results.check,
    "inputs": inputs.check,
    "inputs beside those of other lines": typed_inputs.check,
    "comparisons": comparisons.check,
    "density": density.check,
    "job lists": jobs.check,
    "units": units.check,
    "catalog": catalog.check,
    "order of the catalog": catalog_order.check,
    "structure": structure.check,
    "carried functions": carried.check,
    "the quote worked out again": requote.check,
    "money of the lines": line_money.check,
    "money": money.check,
    "amounts beside the lines": other_amounts.check,
    "what pages show": pages.check,
    "what is printed": printed.check,
    "what is left blank": left_blank.check,
    "currencies": currencies.check,
    "price lists": price_lists.check,
    "resins": resins.check,
    "cautions of the resins": cautions.check,
    "settings": settings.check,
    "what cannot be seen": unseen.check,
    "looks": looks.check,
    "what is not settled": doubts.check,
    "own checks": own_checks.check,
}
