"""Every vector through a real Calc, in cells and by direct calls."""

from __future__ import annotations

from typing import Any

import pytest

import hoppersheet
from hoppersheet.errors import SHEET_ERRORS
from hoppersheet.functions import get
from hoppersheet.hosts.calc.office import Office
from hoppersheet.vectors import Vector, load_vectors
from hosts.calc.sheets import Sheet, as_calc_hands_over, core, differs_in_calc, refused_by_calc

pytestmark = pytest.mark.calc

VECTORS = load_vectors()


def _shape(vector: Vector) -> tuple[int, int] | None:
    """Rows and columns of the array formula that a table needs."""
    record = get(vector.function)
    assert record is not None
    if record.result.kind != "table":
        return None
    table = core(vector.function, vector.arguments)
    return (len(table), len(table[0])) if isinstance(table, list) else (1, 1)


@pytest.fixture(scope="module")
def in_cells(office: Office) -> list[Any]:
    """The value of every vector's formula, all on one sheet."""
    sheet = Sheet()
    addresses = [sheet.add(v.function, v.arguments, _shape(v)) for v in VECTORS]
    values = office.evaluate(sheet.cells, sheet.formulas)
    return [values[address] for address in addresses]


def _expected(vector: Vector) -> Any:
    """The published value, unless Calc itself changes or refuses an argument."""
    if refused_by_calc(vector.function, vector.arguments):
        return "#VALUE!"
    return core(vector.function, as_calc_hands_over(vector.function, vector.arguments))


@pytest.mark.parametrize("place", range(len(VECTORS)), ids=lambda i: VECTORS[i].id)
def test_cells_show_the_published_value(place: int, in_cells: list[Any]) -> None:
    vector, value = VECTORS[place], in_cells[place]
    if isinstance(value, list) and len(value) == 1 and len(value[0]) == 1:
        value = value[0][0]
    if differs_in_calc(vector.function, vector.arguments) or refused_by_calc(
        vector.function, vector.arguments
    ):
        assert value == _expected(vector)
    else:
        assert vector.accepts(value), f"{value!r}, expected {vector.expected!r} ({vector.source})"


def _can_be_called_directly(vector: Vector) -> bool:
    """Whether FunctionAccess can be given these arguments at all.

    It knows no blank, no error and no gap as a single argument, and it hands an array over in
    place of a range, which the arguments of raw cells refuse.
    """
    record = get(vector.function)
    assert record is not None
    for argument, value in zip(record.arguments, vector.arguments, strict=False):
        if argument.kind == "cells" and argument.required:
            return False
        if value is None or value is hoppersheet.OMITTED:
            return False
        if isinstance(value, str) and value in SHEET_ERRORS:
            return False
    return True


@pytest.mark.parametrize(
    "vector", [v for v in VECTORS if _can_be_called_directly(v)], ids=lambda v: v.id
)
def test_a_direct_call_gives_the_published_value(vector: Vector, office: Office) -> None:
    value = office.call(vector.function, vector.arguments)
    if isinstance(vector.expected, str) and vector.expected in SHEET_ERRORS:
        # FunctionAccess tells #N/A from other errors and no more.
        assert value == ("#N/A" if vector.expected == "#N/A" else "#VALUE!")
    elif differs_in_calc(vector.function, vector.arguments):
        assert value == core(vector.function, as_calc_hands_over(vector.function, vector.arguments))
    else:
        assert vector.accepts(value), f"{value!r}, expected {vector.expected!r} ({vector.source})"


def test_half_of_the_vectors_and_more_can_be_called_directly() -> None:
    assert sum(map(_can_be_called_directly, VECTORS)) > 0.5 * len(VECTORS)


def test_an_omitted_argument_takes_its_default(office: Office) -> None:
    sheet = Sheet()
    address = sheet.add("HOPPER_REQUIRED_VOLUME", (45.4, 4, 0.4085, hoppersheet.OMITTED, "metric"))
    # Arithmetic identity: 45.4 kg/h x 4 h / 0.4085 kg/L.
    assert office.evaluate(sheet.cells, sheet.formulas)[address] == pytest.approx(444.5532, 1e-6)
