"""One file per family of findings; each has ``check(context)``, which yields findings."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..context import Context
from ..findings import Finding
from . import catalog, copies, density, inputs, structure, units, values

__all__ = ["CHECKS"]

#: Family -> its check, in the order in which they run.
CHECKS: dict[str, Callable[[Context], Iterator[Finding]]] = {
    "values": values.check,
    "copies": copies.check,
    "inputs": inputs.check,
    "density": density.check,
    "units": units.check,
    "catalog": catalog.check,
    "structure": structure.check,
}
