"""The add-in's VBA executed for real: cell formulas in LibreOffice, answered by xlwings' CallUDF.

LibreOffice is the one engine at hand that runs VBA inside cells. It shows a real error value of
VBA as the text "Error 2042"; the numbers are those of Microsoft's XlCVError enumeration.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from hoppersheet import OMITTED
from hoppersheet.hosts.excel import addin_file
from hoppersheet.vectors import Vector
from hosts.excel.test_addin_file import PATHS
from hosts.excel.vectors_in_cells import ERRORS, VECTORS

HERE = Path(__file__).parent
pytestmark = pytest.mark.calc

NUMBERS = {**ERRORS, "#GETTING_DATA": 2043}
COUNT, ENTRY = "HOPPER_COUNT", "HOPPER_CATALOG_ENTRY"
SIZES = [[10.0], [16.0], [25.0], [40.0]]


def in_cells(value: Any) -> Any:
    if value is OMITTED:
        return ["missing"]
    if isinstance(value, list):
        return [row if isinstance(row, list) else [row] for row in value]
    return value


def shape(value: Any) -> tuple[int, int]:
    return (len(value), len(value[0])) if isinstance(value, list) else (1, 1)


def as_shown(value: Any) -> Any:
    if isinstance(value, list):
        return [[as_shown(x) for x in row] for row in value]
    if value in NUMBERS:
        return f"Error {NUMBERS[value]}"
    return "" if value is None else value


#: (function, arguments, what the cell shows)
CASES: list[tuple[str, list[Any], Any]] = [
    ("HOPPER_REQUIRED_VOLUME", [45, 4, 0.4, ["missing"], "metric"], 450.0),
    ("HOPPER_REQUIRED_VOLUME", [100, 4, None], "Error 2015"),
    ("HOPPER_REQUIRED_VOLUME", [100, 4, 36.5, None], "Error 2015"),
    (COUNT, [100, SIZES], 3.0),
    (COUNT, [100, 40], 3.0),
    (COUNT, [100, [[10, None, "40 ft3"]]], 3.0),
    (COUNT, [100, ["whole column", SIZES]], 3.0),
    (ENTRY, [16, *[["whole column", x] for x in (SIZES, [["A"], ["B"], ["C"]])]], "B"),
    (ENTRY, [16, SIZES, [["A"], ["B"], ["C"], ["D"]]], "B"),
    (ENTRY, [16, SIZES, [["A"], [9.5], ["C"], ["D"]]], 9.5),
    *[(COUNT, [100, [[10], [text]]], f"Error {number}") for text, number in ERRORS.items()],
    *[("HOPPER_REQUIRED_VOLUME", [100, 4, text], f"Error {n}") for text, n in ERRORS.items()],
    # Python ended: the old connection fails, one new one is tried, then #VALUE!.
    ("gone", [], ["Error 2015", 1]),
    # The next cell connects again and computes.
    (COUNT, [100, SIZES], 3.0),
    # Python cannot be started: the old connection fails, one attempt; the next cells make none.
    ("unreachable", [], ["Error 2015", 1]),
    ("unreachable", [], ["Error 2015", 0]),
    ("unreachable", [], ["Error 2015", 0]),
]


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> list[Any]:
    addin = tmp_path_factory.mktemp("vba") / "hoppersheet.xlam"
    addin.write_bytes(addin_file.build(PATHS))
    cases: list[Any] = [
        [v.function, [in_cells(a) for a in v.arguments], *shape(v.expected)] for v in VECTORS
    ]
    cases += [[function, arguments, 1, 1] for function, arguments, _ in CASES]
    done = subprocess.run(
        ["/usr/bin/python3", HERE / "vba_in_office.py", addin, sys.executable],
        input=json.dumps(cases), capture_output=True, text=True, timeout=180, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found: list[Any] = json.loads(done.stdout)
    assert len(found) == len(cases)
    return found


def has_gap(vector: Vector) -> bool:
    """Whether an argument is left out before one that is given: ``=F(1,,"metric")``.

    LibreOffice's VBA hands an empty value over for it, where Excel hands over Missing. Such
    vectors go through the real CallUDF with Missing in test_call_udf.py; that Excel does so
    stands in the checklist.
    """
    return OMITTED in vector.arguments


def test_every_vector_through_the_vba(answers: list[Any]) -> None:
    wrong = []
    for vector, answer in zip(VECTORS, answers, strict=False):
        if has_gap(vector):
            continue
        if not (vector.accepts(answer) or answer == as_shown(vector.expected)):
            wrong.append(f"{vector.id}: {answer!r}, expected {vector.expected!r}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("index", range(len(CASES)))
def test_what_the_vba_makes_of_cells_and_errors(answers: list[Any], index: int) -> None:
    assert answers[len(VECTORS) + index] == pytest.approx(CASES[index][2])
