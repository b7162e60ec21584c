"""The test vectors: one body of checked values that every surface is run through.

``tests/vectors/*.csv`` holds one call per row: ``id``, ``function``, ``inputs`` (a JSON list of
cell values, a range as a list of rows), ``units`` (``US``, ``metric`` or empty where the function
has none or the default is meant), ``expected`` (JSON: a number, a text, or an error such as
``"#NUM!"``), ``tolerance`` (``1e-6 rel``, ``0.005 abs`` or ``exact``) and ``source``.

The registry's worked examples are vectors too. A wheel carries the files as package data.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from .cells.values import OMITTED
from .functions import all_functions, get

__all__ = ["Vector", "load_vectors", "vector_folder"]


class Vector(NamedTuple):
    """One checked call."""

    id: str
    function: str
    #: one value per argument, OMITTED where left out; the unit system is the last one
    arguments: tuple[Any, ...]
    expected: Any
    tolerance: float
    #: "rel", "abs" or "exact"
    tolerance_kind: str
    source: str

    def accepts(self, value: Any) -> bool:
        """Whether ``value`` is the expected one within the tolerance."""
        if isinstance(self.expected, (int, float)) and not isinstance(self.expected, bool):
            if isinstance(value, bool) or not isinstance(value, (int, float)):
                return False
            allowed = self.tolerance * (abs(self.expected) if self.tolerance_kind == "rel" else 1)
            return abs(value - self.expected) <= allowed
        return bool(value == self.expected)


def vector_folder() -> Path:
    """Where the vectors are: in the installed package, or in the checkout's tests."""
    packed = Path(__file__).parent / "data" / "vectors"
    return packed if packed.is_dir() else Path(__file__).parents[2] / "tests" / "vectors"


def _with_units(function: str, inputs: list[Any], units: str) -> tuple[Any, ...]:
    record = get(function)
    if record is None:
        raise ValueError(f"there is no function {function}")
    if not units:
        return tuple(inputs)
    gap = len(record.arguments) - 1 - len(inputs)
    return (*inputs, *[OMITTED] * gap, units)


def _from_row(row: dict[str, str]) -> Vector:
    amount, _, kind = row["tolerance"].partition(" ")
    exact = amount == "exact"
    return Vector(
        id=row["id"],
        function=row["function"],
        arguments=_with_units(row["function"], json.loads(row["inputs"]), row["units"]),
        expected=json.loads(row["expected"]),
        tolerance=0.0 if exact else float(amount),
        tolerance_kind="exact" if exact else kind,
        source=row["source"],
    )


def _from_examples() -> Iterator[Vector]:
    for name, function in all_functions().items():
        example = function.example
        yield Vector(
            id=f"example {name}",
            function=name,
            arguments=tuple(
                [list(row) for row in value] if isinstance(value, tuple) else value
                for value in example.arguments
            ),
            expected=example.value,
            tolerance=example.tolerance,
            tolerance_kind="rel",
            source=example.source,
        )


def load_vectors() -> list[Vector]:
    """Every vector: the worked examples first, then the files in order of their names."""
    vectors = list(_from_examples())
    for path in sorted(vector_folder().glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            vectors += [_from_row(row) for row in csv.DictReader(file)]
    return vectors
