"""All cell functions, in the order of the documentation.

On top of everything that registers one, so that no such module needs to know the others. Whoever
imports :mod:`hoppersheet`, or anything in it, has all of them.
"""

from __future__ import annotations

from . import explain
from .cells import conversion
from .registry import FUNCTIONS, CellFunction
from .sizing import air, catalog, chance, density, load, throughput, volume
from .tables import catalog_entry, jobs, resins

__all__ = ["all_functions", "get", "python_names"]

#: The modules that register functions, in the order of the documentation; within a module the
#: order is that of its source.
_TOPICS = (
    density, resins, throughput, volume, catalog, catalog_entry, chance, load, air, jobs,
    conversion, explain,
)  # fmt: skip

_ALL: dict[str, CellFunction] = {
    name: record
    for topic in _TOPICS
    for name, record in FUNCTIONS.items()
    if record.function.__module__ == topic.__name__
}


def all_functions() -> dict[str, CellFunction]:
    """Name -> record of every cell function, in the order of the documentation."""
    return _ALL


def get(name: str) -> CellFunction | None:
    """The record of ``name`` in any case, or None."""
    return _ALL.get(name.strip().upper())


def python_names() -> dict[str, str]:
    """Name of each function for a Python script -> its name in a cell: ``required_volume``."""
    return {name.removeprefix("HOPPER_").lower(): name for name in _ALL}
