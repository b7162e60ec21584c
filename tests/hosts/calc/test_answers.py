"""What a formula in Calc shows is what ``call`` gives.

``call`` itself is checked by the vectors, against their sources; here it is the reference.
"""

from __future__ import annotations

import struct
from typing import Any

import pytest

from hoppersheet import CellError, call
from hoppersheet.functions import all_functions, get
from hoppersheet.hosts.calc.answers import answering
from hoppersheet.hosts.calc.cell_values import error_value
from hoppersheet.registry import CellFunction

ONLY_NUMBERS = [record for record in all_functions().values() if record.only_numbers]
SIZES = ((10.0,), (16.0,), (25.0,))


def as_calc_gives(cell: Any) -> Any:
    if isinstance(cell, (list, tuple)):
        return tuple(tuple(map(float, row)) for row in cell)
    return cell if isinstance(cell, str) else float(cell)


def called(name: str, cells: list[Any]) -> float:
    """What ``call`` gives, an error as Calc takes it."""
    try:
        return call(name, *cells)
    except CellError as problem:
        return error_value(problem.code)


def bits(value: float) -> bytes:
    """Compares errors too; a NaN equals nothing."""
    return struct.pack("<d", value)


def answers(name: str) -> Any:
    record = get(name)
    assert record is not None
    return answering(record)


@pytest.mark.parametrize("record", ONLY_NUMBERS, ids=lambda record: record.name)
def test_the_answer_is_that_of_the_core(record: CellFunction) -> None:
    answer, cells = answering(record), [as_calc_gives(c) for c in record.example.arguments]
    left_out = [None] * (len(record.arguments) - len(cells))
    for given in (cells, [x * 2 if type(x) is float else x for x in cells]):
        expected = bits(called(record.name, given))
        assert bits(answer(*given, *left_out)) == expected


def test_the_unit_system_makes_another_answer() -> None:
    answer = answers("HOPPER_REQUIRED_VOLUME")
    us, metric = (answer(100.0, 4.0, 0.6 if m else 38.0, None, m) for m in (None, "metric"))
    assert us == pytest.approx(100 * 4 / 38) and metric == pytest.approx(100 * 4 / 0.6)  # identity
    # The same numbers again, in the other system.
    assert bits(answer(100.0, 4.0, 0.6, None, None)) == bits(error_value("#NUM!"))
    assert answer(100.0, 4.0, 0.6, None, "metric") == metric


@pytest.mark.parametrize("code", ["#N/A", "#DIV/0!", "#NULL!"])
def test_an_error_among_the_inputs_comes_out(code: str) -> None:
    error = error_value(code)
    for _ in range(2):
        assert bits(answers("HOPPER_REQUIRED_VOLUME")(100.0, error, 36.5, None, None)) == bits(
            error
        )
        sizes = (*SIZES, (error,))
        assert bits(answers("HOPPER_NEXT_SIZE")(10.96, sizes, None, None)) == bits(error)
        blend = answers("HOPPER_BLEND_DENSITY")(((0.5, error),), ((48.0, 25.0),), None, None)
        assert bits(blend) == bits(error)


def test_an_answer_does_not_depend_on_the_one_before() -> None:
    answer = answers("HOPPER_NEXT_SIZE")
    for _ in range(2):
        assert answer(10.96, SIZES, None, None) == 16.0
        assert answer(10.96, SIZES[:1], None, None) != answer(10.96, SIZES, None, None)
        assert answer(10.96, (*SIZES, ("",)), None, None) == 16.0
        assert answer(16.1, SIZES, None, None) == 25.0


def test_a_whole_column_is_cut_to_the_rows_in_use() -> None:
    column = (*SIZES, *((("",),) * (1_048_576 - len(SIZES))))
    assert answers("HOPPER_NEXT_SIZE")(15.4, column, None, None) == 16.0


def test_cells_that_may_change_behind_their_range_are_read_every_time() -> None:
    class Range:
        rows = (("a",), ("b",), ("c",))

        def getDataArray(self) -> tuple[tuple[str, ...], ...]:
            return self.rows

    answer, models = answers("HOPPER_CATALOG_ENTRY"), Range()
    assert answer(16.0, SIZES, models, None) == "b"
    models.rows = (("a",), ("x",), ("c",))
    assert answer(16.0, SIZES, models, None) == "x"
