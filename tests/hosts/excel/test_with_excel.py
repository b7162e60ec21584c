"""The fallback that drives Excel: the real xlwings over an Excel that refuses unknown calls."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from hoppersheet.functions import all_functions

HERE = Path(__file__).parent


def run(folder: Path, scenario: str) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, HERE / "excel_stand_in.py", folder, scenario],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    found["left"] = [name for name in found["left"] if not name.endswith(".dll")]
    return found


def test_excel_writes_the_add_in(tmp_path: Path) -> None:
    found = run(tmp_path, "trusted")
    assert found["outcome"] == "installed hoppersheet.xlam"
    assert found["log"] == [
        ["Open", "hoppersheet.xlam"],
        ["Remove", "Module1"],
        ["Remove", "xlwings"],
        ["Remove", "Dictionary"],
        ["Import", "hoppersheet_start", 0],
        ["Import", "hoppersheet_functions", len(all_functions())],
        [
            "Save", "Hoppersheet",
            ["ThisWorkbook", "Sheet2", "hoppersheet_start", "hoppersheet_functions"],
        ],
        ["Close"],
        ["Quit"],
    ]  # fmt: skip
    assert found["left"] == ["XLSTART/hoppersheet.xlam"]


@pytest.mark.parametrize(
    ("scenario", "says", "closed"),
    [
        ("untrusted", "Trust access to the VBA project object model", [["Close"], ["Quit"]]),
        ("refusing", "Excel did not take the add-in", [["Close"], ["Quit"]]),
        ("broken", "Excel does not start", []),
    ],
)
def test_a_failure_is_explained_and_leaves_nothing(
    tmp_path: Path, scenario: str, says: str, closed: list[Any]
) -> None:
    found = run(tmp_path, scenario)
    assert says in found["outcome"]
    assert found["left"] == []
    assert found["log"][-2:] == closed


def test_a_locked_add_in_is_left_alone(tmp_path: Path) -> None:
    # A folder in the place of the file refuses to be written, as an open file does on Windows.
    (tmp_path / "XLSTART" / "hoppersheet.xlam").mkdir(parents=True)
    found = run(tmp_path, "trusted")
    assert "close all windows of Excel" in found["outcome"]
    assert found["log"] == [["Quit"]] and found["left"] == []
