"""The cell functions as Python functions: the same answers, typed, and nothing loaded early."""

from __future__ import annotations

import inspect
import subprocess
import sys
from pathlib import Path

import pytest

import hoppersheet
from hoppersheet.doors import stub
from hoppersheet.functions import all_functions, python_names
from hoppersheet.registry import UNITS, CellFunction
from hoppersheet.vectors import load_vectors

PACKAGE = Path(hoppersheet.__file__).parent


@pytest.mark.parametrize("record", all_functions().values(), ids=lambda record: record.name)
def test_a_door_answers_as_the_cell_does(record: CellFunction) -> None:
    """Every vector of the function, its units by name: the vectors have their sources."""
    door = getattr(hoppersheet, record.name.removeprefix("HOPPER_").lower())
    tried = 0
    for vector in load_vectors():
        if vector.function != record.name:
            continue
        cells, named = list(vector.arguments), {}
        names = [argument.name for argument in record.arguments]
        if names[-1:] == ["units"] and len(cells) == len(names):
            units = cells.pop()
            named = {} if units is hoppersheet.OMITTED else {"units": units}
        try:
            value = door(*cells, **named)
        except hoppersheet.CellError as problem:
            value = problem.code
        assert vector.accepts(value), vector.id
        tried += 1
    assert tried


@pytest.mark.parametrize("name", python_names())
def test_a_door_has_the_names_and_the_words_of_the_record(name: str) -> None:
    record = all_functions()[python_names()[name]]
    door = getattr(hoppersheet, name)
    assert list(inspect.signature(door).parameters) == [
        a.name for a in record.arguments if a is not UNITS or name != "explain"
    ]
    if name != "explain":  # written out in __init__.py
        assert door.__name__ == name and record.summary in door.__doc__
        for argument in record.arguments:
            assert f"    {argument.name}: {argument.text}" in door.__doc__
        assert record.source.rstrip(".") in door.__doc__


def test_arguments_go_by_name_and_units_only_so() -> None:
    by_name = hoppersheet.required_volume(
        bulk_density="0.583 kg/L", drying_hours=3.5, throughput=100, units="metric"
    )
    assert by_name == pytest.approx(100 * 3.5 / 0.583)  # identity
    with pytest.raises(TypeError):
        hoppersheet.required_volume(100, 3.5, 0.583, 0, "metric")  # type: ignore[misc]
    with pytest.raises(TypeError, match="bulk_density"):
        hoppersheet.required_volume(100, 3.5)  # type: ignore[call-arg]
    with pytest.raises(hoppersheet.CellError) as refused:
        hoppersheet.held_hours(20, 0.55, 220)
    assert (refused.value.code, refused.value.argument) == ("#NUM!", "bulk_density")


def test_the_stated_types_are_those_of_the_registry() -> None:
    written = (PACKAGE / "__init__.pyi").read_text(encoding="utf-8")
    assert written == stub(), "run: python -m hoppersheet.doors > addin/hoppersheet/__init__.pyi"
    assert (PACKAGE / "py.typed").exists()


def test_what_is_not_asked_for_is_not_loaded() -> None:
    code = (
        "import sys, hoppersheet; hoppersheet.required_volume(220, 3.5, 36.4);"
        "heavy = {'pint', 'openpyxl', 'xlwings', 'click', 'hoppersheet.audit', 'numpy'};"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules);"
        "hoppersheet.audit_book; assert 'hoppersheet.audit' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
    with pytest.raises(AttributeError, match="no attribute 'required_volum'"):
        hoppersheet.required_volum  # type: ignore[attr-defined]  # noqa: B018
