"""The benchmark (tests/bench) at tiny sizes: it runs, and what it compares is the same work.

It compares itself: passed-on columns of ``size`` with those of the plain copy, HOPPER_SIZE_JOBS
with Calc's own formulas, the empty functions with 0. Times are not looked at.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).parents[1] / "bench"
ROWS = (
    "`size` of 300 rows .xlsx", "`size` of 300 rows .csv", "HOPPER_NEXT_SIZE through xlwings",
    "HOPPER_REQUIRED_VOLUME in Calc, recalculated", "HOPPER_SIZE_JOBS on 50 rows",
    "`import hoppersheet`", "`hoppersheet --version`", "`audit` of 60 sizing cells",
    "`size` of 200 rows .csv", "`compute --engine core` of it",
)  # fmt: skip


@pytest.mark.calc
def test_every_part_of_the_benchmark_runs_at_a_tiny_size() -> None:
    done = subprocess.run(
        [sys.executable, BENCH, "--quick"], capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    table = [line for line in done.stdout.splitlines() if line.startswith("| ")]
    assert len(table) > len(ROWS) and {line.count("|") for line in table} == {7}
    assert [row for row in ROWS if not any(row in line for line in table)] == []
    assert "the times mean nothing" in done.stdout


def test_an_unknown_part_is_named() -> None:
    done = subprocess.run([sys.executable, BENCH, "speed"], capture_output=True, text=True)
    assert done.returncode == 2 and "no part speed" in done.stderr
