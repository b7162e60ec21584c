"""The workbook that checks an installation, computed by a real Calc."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from hoppersheet.cells.values import OMITTED
from hoppersheet.hosts.calc.office import Office
from hoppersheet.templates import check
from hoppersheet.templates.saving import save_workbook
from hoppersheet.vectors import Vector, load_vectors


def computed(vectors: list[Vector], folder: Path, office: Office) -> dict[str, Any]:
    """The cells of the sheet *Check* as Calc computes them."""
    path = folder / "check.xlsx"
    save_workbook(check.build(vectors), path)
    return office.compute(path)["Check"]


@pytest.mark.calc
def test_every_vector_passes_in_calc(tmp_path: Path, office: Office) -> None:
    vectors = load_vectors()
    cells = computed(vectors, tmp_path, office)
    failed = [
        (vector.id, cells[f"D{row}"], vector.expected)
        for row, vector in enumerate(vectors, check.FIRST_ROW)
        if cells[f"I{row}"] != "pass"
    ]
    assert not failed
    assert cells[check.STATUS_CELL] == check.ALL_PASS
    assert (cells["B5"], cells["B6"], cells["B7"]) == (len(vectors), len(vectors), 0)


def vector(expected: Any, tolerance: float = 1e-6, kind: str = "rel", **changes: Any) -> Vector:
    base = Vector("v", "HOPPER_HELD_MASS", (16, 36.5), expected, tolerance, kind, "identity")
    return base._replace(**changes)


TABLE = next(v for v in load_vectors() if v.function == "HOPPER_SIZE_JOBS")
TEXT = next(v for v in load_vectors() if v.function == "HOPPER_EXPLAIN")


def _without_one_cell_right() -> list[list[Any]]:
    wrong = [list(row) for row in TABLE.expected]
    wrong[-1][1] += 0.01
    return wrong


# Each pair: an expectation that holds, and one that does not.
PAIRS = [
    (vector(584.0), vector(584.001)),
    (vector(584.3, 0.5, "abs"), vector(584.6, 0.5, "abs")),
    (vector(584, 0, "exact"), vector(585, 0, "exact")),
    (
        vector("#NUM!", arguments=(16, 0.55)),
        vector("#VALUE!", arguments=(16, 0.55)),
    ),
    (vector("#N/A", arguments=("#N/A", 36.5)), vector("#NUM!", arguments=("#N/A", 36.5))),
    (vector("#NULL!", arguments=("#NULL!", 36.5)), vector("#N/A", arguments=("#NULL!", 36.5))),
    (vector("#VALUE!", arguments=(16, None)), vector(0.0, arguments=(16, None))),
    (
        vector(93000, arguments=("124 m3", "0.75 kg/L", "metric")),
        vector("#VALUE!", arguments=("124 m3", "0.75 kg/L", "metric")),
    ),
    (
        vector(17.0, function="HOPPER_REGRIND_DENSITY", arguments=(34, OMITTED, "US")),
        vector("17", function="HOPPER_REGRIND_DENSITY", arguments=(34, OMITTED, "US")),
    ),
    (TEXT, TEXT._replace(expected=TEXT.expected.replace("728", "409"))),
    (TABLE, TABLE._replace(expected=_without_one_cell_right())),
]


@pytest.mark.calc
def test_a_wrong_expectation_fails_and_only_that(tmp_path: Path, office: Office) -> None:
    vectors = [one for pair in PAIRS for one in pair]
    cells = computed(vectors, tmp_path, office)
    verdicts = [cells[f"I{row}"] for row in range(check.FIRST_ROW, check.FIRST_ROW + len(vectors))]
    assert verdicts == ["pass", "FAIL"] * len(PAIRS)
    assert cells[check.STATUS_CELL] == f"{len(PAIRS)} OF {2 * len(PAIRS)} FAIL"


@pytest.mark.calc
def test_without_the_add_in_the_workbook_says_so(tmp_path: Path) -> None:
    with Office(addin=False) as office:
        cells = computed([vector(584.0)], tmp_path, office)
    assert cells[check.STATUS_CELL] == "1 OF 1 FAIL"
    assert cells["B8"] == "not installed or not loaded"


def test_a_value_that_no_cell_holds_is_refused() -> None:
    with pytest.raises(ValueError, match="inf"):
        check.build([vector(1.0, arguments=([[float("inf")]], 1))])


def test_there_is_always_something_to_check() -> None:
    with pytest.raises(ValueError, match="no vector"):
        check.build([])
