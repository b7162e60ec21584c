"""Every vector through ``hoppersheet.call``; other surfaces run the same body."""

from __future__ import annotations

import pytest

import hoppersheet
from hoppersheet.vectors import Vector, load_vectors


def value_or_code(vector: Vector) -> object:
    try:
        return hoppersheet.call(vector.function, *vector.arguments)
    except hoppersheet.CellError as problem:
        return problem.code


@pytest.mark.parametrize("vector", load_vectors(), ids=lambda v: v.id)
def test_call_gives_the_published_value(vector: Vector) -> None:
    value = value_or_code(vector)
    assert vector.accepts(value), f"{value!r}, expected {vector.expected!r} ({vector.source})"
