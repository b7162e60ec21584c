"""The worksheet functions through xlwings' real ``XLPython.CallUDF``, with and without numpy.

What Excel hands over is taken from measurements with xlwings 0.37 and from Microsoft's
documentation of variant types: an omitted argument is DISP_E_PARAMNOTFOUND (0x80020004), an error
value is 0x800A0000 plus its XlCVError number, a currency cell a Decimal, a date cell a datetime.
"""

from __future__ import annotations

import json
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from hoppersheet import OMITTED
from hoppersheet.functions import all_functions
from hosts.excel.vectors_in_cells import ERRORS, VECTORS, padded

HERE = Path(__file__).parent
SETTINGS = {"with numpy and pandas": [], "without numpy and pandas": ["numpy", "pandas"]}
MISSING = ["missing"]
SIZES = [["range", [[10], [16], [25], [40]]], ["values", [[10], [16], [25], [40]]]]


def as_reference(value: Any, kind: str) -> Any:
    """How a vector's argument stands in a formula: ranges as references, the rest as it is."""
    if value is OMITTED:
        return MISSING
    if isinstance(value, list):
        rows = [row if isinstance(row, list) else [row] for row in value]
        return [kind, [[error_cell(x) for x in row] for row in rows]]
    return error_cell(value)


def error_cell(value: Any) -> Any:
    return ["error", ERRORS[value]] if value in ERRORS else value


def run(block: list[str], calls: list[Any]) -> list[dict[str, Any]]:
    done = subprocess.run(
        [sys.executable, HERE / "call_udf.py"],
        input="".join(json.dumps(line) + "\n" for line in [{"block": block}, *calls]),
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()][1:]


def squeezed(value: Any) -> Any:
    """xlwings gives a table of one row back as a flat list; Excel shows it as that row."""
    return value[0] if isinstance(value, list) and len(value) == 1 else value


def not_plain(answer: dict[str, Any]) -> set[str]:
    return set(answer["types"]) - {"float", "str", "bool", "list"}


@cache
def all_vectors(setting: str) -> list[dict[str, Any]]:
    calls = [
        [vector.function, [as_reference(a, kind) for a in padded(vector)]]
        for kind in ("range", "values")
        for vector in VECTORS
    ]
    return run(SETTINGS[setting], calls)


@pytest.mark.parametrize("setting", SETTINGS)
@pytest.mark.parametrize("kind", ["range", "values"])
def test_every_vector_comes_back_as_published(setting: str, kind: str) -> None:
    answers = all_vectors(setting)
    assert len(answers) == 2 * len(VECTORS) and len(VECTORS) >= len(all_functions())
    half = answers[: len(VECTORS)] if kind == "range" else answers[len(VECTORS) :]
    wrong = []
    for vector, answer in zip(VECTORS, half, strict=True):
        value = answer.get("value", answer.get("raised"))
        expected = vector.accepts(value) or value == squeezed(vector.expected)
        if not expected or not_plain(answer):
            wrong.append(f"{vector.id}: {answer}, expected {vector.expected!r}")
    assert not wrong, "\n".join(wrong)


# --- what a cell can hold, one call each: (what, function, arguments, expected) ---------------

VOLUME, COUNT, ENTRY, EXPLAIN = (
    "HOPPER_REQUIRED_VOLUME", "HOPPER_COUNT", "HOPPER_CATALOG_ENTRY", "HOPPER_EXPLAIN",
)  # fmt: skip
# Common practice, no source: 4 h at 100 lb/h of 36.5 lb/ft3 needs 10.96 ft3.
FULL = 400 / 36.5

CELLS: list[tuple[str, str, list[Any], Any]] = [
    ("plain numbers", VOLUME, [100, 4, 36.5, MISSING, MISSING], FULL),
    ("references to single cells", VOLUME, [["range", [[x]]] for x in (100, 4, 36.5)], FULL),
    ("a currency cell", VOLUME, [["decimal", "100"], 4, ["decimal", "36.5"]], FULL),
    ("a text with a unit", VOLUME, ["100 lb/h", 4, "36.5 lb/ft3"], FULL),
    ("a text with a comma", VOLUME, [100, 4, "36,5"], FULL),
    # A time of 4:00 is the number 1/6, and hours that low are refused.
    ("a clock time", VOLUME, [100, ["time", 4, 0], 36.5], "#NUM!"),
    ("a clock time in a cell", VOLUME, [100, ["range", [[["time", 4, 0]]]], 36.5], "#NUM!"),
    # The serial number of 2024-03-01 is 45352, by Excel's own count from 1900.
    ("a date", "HOPPER_CONVERT", [["date", "2024-03-01"], "lb", "lb"], 45352.0),
    ("TRUE", VOLUME, [True, 4, 36.5], "#VALUE!"),
    ("a word", VOLUME, [100, 4, "dense"], "#VALUE!"),
    ("a blank cell", VOLUME, [100, 4, ["range", [[None]]]], "#VALUE!"),
    ("an empty text", VOLUME, [100, 4, ["range", [[""]]]], "#VALUE!"),
    ("a blank optional cell is no default", VOLUME, [100, 4, 36.5, ["range", [[None]]]], "#VALUE!"),
    ("a required argument left out", VOLUME, [100, MISSING, 36.5], "#VALUE!"),
    ("a range for one cell", VOLUME, [100, 4, ["range", [[36.5], [30]]]], "#VALUE!"),
    ("metric", VOLUME, [45, 4, 0.4, MISSING, "metric"], 450.0),
    ("a range of one cell", COUNT, [100, ["range", [[40]]]], 3.0),
    ("a row", COUNT, [100, ["range", [[10, 16, 40]]]], 3.0),
    ("a column", COUNT, [100, ["range", [[10], [16], [40]]]], 3.0),
    ("a block with blanks", COUNT, [100, ["range", [[10, None], ["", 40]]]], 3.0),
    ("a scalar for a range", COUNT, [100, 40], 3.0),
    ("a currency cell in a range", COUNT, [100, ["range", [[["decimal", "40"]], [10]]]], 3.0),
    ("blanks only", COUNT, [100, ["range", [[None], [None]]]], "#VALUE!"),
    ("larger than every size", "HOPPER_NEXT_SIZE", [99, SIZES[0]], "#N/A"),
    ("a text entry", ENTRY, [16, SIZES[0], ["range", [["A"], ["B"], ["C"], ["D"]]]], "B"),
    ("a TRUE entry", ENTRY, [16, SIZES[1], ["values", [["A"], [True], ["C"], ["D"]]]], True),
    ("a blank entry", ENTRY, [16, SIZES[1], ["values", [["A"], [None], ["C"], ["D"]]]], "#N/A"),
    ("a price", ENTRY, [16, SIZES[0], ["range", [[1], [["decimal", "9.5"]], [3], [4]]]], 9.5),
]  # fmt: skip
for text, number in ERRORS.items():
    error = ["error", number]
    CELLS += [
        (f"{text} in a cell", VOLUME, [100, 4, ["range", [[error]]]], text),
        (f"{text} as a value", VOLUME, [100, error, 36.5], text),
        (f"{text} in a range", COUNT, [100, ["range", [[10], [error]]]], text),
        (f"{text} in values", COUNT, [100, ["values", [[10, error]]]], text),
        (f"{text} wins over a blank", VOLUME, [None, 4, ["range", [[error]]]], text),
    ]
CELLS.append(("an error nobody knows", VOLUME, [100, 4, ["error", 2999]], "#VALUE!"))


@cache
def all_cells(setting: str) -> list[dict[str, Any]]:
    return run(SETTINGS[setting], [[function, arguments] for _, function, arguments, _ in CELLS])


@pytest.mark.parametrize("setting", SETTINGS)
@pytest.mark.parametrize("index", range(len(CELLS)), ids=[what for what, *_ in CELLS])
def test_what_a_cell_can_hold(setting: str, index: int) -> None:
    answer = all_cells(setting)[index]
    expected = CELLS[index][3]
    if isinstance(expected, float):
        expected = pytest.approx(expected, rel=1e-9)
    assert answer.get("value") == expected, answer
    assert not not_plain(answer)


@pytest.mark.parametrize("setting", SETTINGS)
def test_explain_keeps_omitted_apart_from_blank(setting: str) -> None:
    arguments = [VOLUME, 100, 4, ["range", [[36.5]]]]
    omitted, blank, metric = run(
        SETTINGS[setting],
        [
            [EXPLAIN, [*arguments, MISSING]],
            [EXPLAIN, [*arguments, ["range", [[None]]]]],
            [EXPLAIN, [VOLUME, 45, 4, 0.4, MISSING, "metric"]],
        ],
    )
    assert (
        "10.96 ft3" in omitted["value"]
        and "Default taken: reserve 0, units US" in (omitted["value"])
    )
    assert "#VALUE! reserve: the cell is blank" in blank["value"]
    assert "450 L" in metric["value"] and "Default taken: reserve 0." in metric["value"]


@pytest.mark.parametrize("setting", SETTINGS)
def test_a_fault_of_ours_is_raised_and_not_returned(setting: str) -> None:
    # VBA turns whatever is raised into #VALUE!; returned, it would be a text that SUM skips.
    too_many, unknown = run(
        SETTINGS[setting], [[COUNT, [100, SIZES[0], "US", 1, 2]], ["HOPPER_NONE", [1]]]
    )
    assert too_many.get("value") == "#VALUE!"
    assert unknown["raised"].startswith("AttributeError")
