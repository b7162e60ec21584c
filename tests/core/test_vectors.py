"""Every vector through ``hoppersheet.call``; other surfaces run the same body."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

import hoppersheet
from hoppersheet.errors import SHEET_ERRORS
from hoppersheet.functions import all_functions
from hoppersheet.vectors import Vector, load_vectors, vector_folder

COLUMNS = ["id", "function", "inputs", "units", "expected", "tolerance", "source"]


def value_or_code(vector: Vector) -> object:
    try:
        return hoppersheet.call(vector.function, *vector.arguments)
    except hoppersheet.CellError as problem:
        return problem.code


@pytest.mark.parametrize("vector", load_vectors(), ids=lambda v: v.id)
def test_call_gives_the_published_value(vector: Vector) -> None:
    value = value_or_code(vector)
    assert vector.accepts(value), f"{value!r}, expected {vector.expected!r} ({vector.source})"


def test_ids_are_unique_and_every_row_has_a_source() -> None:
    vectors = load_vectors()
    ids = [vector.id for vector in vectors]
    assert len(set(ids)) == len(ids)
    assert all(vector.source.strip() for vector in vectors)


@pytest.mark.parametrize("path", sorted(vector_folder().glob("*.csv")), ids=lambda p: p.stem)
def test_files_are_in_the_stated_format(path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        assert reader.fieldnames == COLUMNS
        for row in reader:
            function = all_functions()[row["function"]]
            assert None not in row and None not in row.values(), row["id"]
            assert (row["units"] != "") == function.has_units, row["id"]
            assert re.fullmatch(r"exact|[0-9.e-]+ (rel|abs)", row["tolerance"]), row["id"]
            if not isinstance(json.loads(row["expected"]), (int, float)):
                assert row["tolerance"] == "exact", row["id"]


@pytest.mark.parametrize("name", [n for n, f in all_functions().items() if f.arguments])
def test_every_function_has_a_value_and_an_error(name: str) -> None:
    expected = [vector.expected for vector in load_vectors() if vector.function == name]
    is_error = [isinstance(value, str) and value in SHEET_ERRORS for value in expected]
    assert True in is_error and False in is_error


def test_a_wrong_value_is_not_accepted() -> None:
    """The comparison itself: a vector that accepts anything would hide every other failure."""
    vector = Vector("x", "HOPPER_HELD_MASS", (), 100.0, 1e-3, "rel", "arithmetic identity")
    assert vector.accepts(100.1) and not vector.accepts(100.2) and not vector.accepts(99.8)
    for other in ("100", True, None, float("nan"), [[100.0]], "#NUM!"):
        assert not vector.accepts(other)
    vector = Vector("x", "HOPPER_HELD_MASS", (), "#NUM!", 0.0, "exact", "arithmetic identity")
    assert vector.accepts("#NUM!") and not vector.accepts("#VALUE!") and not vector.accepts(0.0)
