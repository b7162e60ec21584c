"""What a file cannot tell, and what decided how a list is read, stands beside the row it touches.

All invented; volumes are throughput x hours / bulk density, common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from hoppersheet.errors import InputFileError
from tables.messy_books import write_ods
from tables.messy_lists import by_mass, by_volume, lb
from tables.test_messy_lists import compare, outcome

HEAD = ["Job", "Resin", "Rate (lb/h)", "Dry hours", "Bulk density (lb/ft3)", "Reserve %"]


def test_a_blank_of_an_ods_may_be_an_error(tmp_path: Path) -> None:
    """An error cell and the second of two merged cells arrive as blanks there."""
    rows = [["A", "PC", 220, 3.5, 40, 10], ["B", "PC", 220, None, 40, None]]
    write_ods(tmp_path / "list.ods", [HEAD, *rows])
    found, said = outcome(tmp_path / "list.ods")
    assert "blank in a .ods file" not in found["A"][1]
    marks = found["B"][1]
    assert "'Dry hours' and 'Reserve %' are blank, or hold an error or a merged cell" in marks
    assert "errors" in said and "merged cells of .ods files count for their first row alone" in said


SHARES = (
    "Job,Regrind %,Rate lb/h,Dry h,Virgin density lb/ft3,Regrind density lb/ft3\n"
    "A,30,208,3.5,40,28\n"
)


@pytest.mark.parametrize(
    ("above", "liters", "words"),
    [
        ("All blends by weight", lb(208, 3.5, by_mass((0.7, 40), (0.3, 28))), "shares by mass"),
        ("By weight", lb(208, 3.5, by_mass((0.7, 40), (0.3, 28))), "above the list: 'By weight'"),
        ("Parts are sold by weight", lb(208, 3.5, by_volume((0.7, 40), (0.3, 28))), "by volume"),
        ("Freight by volume", lb(208, 3.5, by_volume((0.7, 40), (0.3, 28))), "shares by volume"),
    ],
)
def test_a_line_that_decides_the_basis_marks_its_rows(
    above: str, liters: float, words: str, tmp_path: Path
) -> None:
    """Only a line that speaks of shares decides; 36.4 lb/ft3 by volume, 35.44 by mass."""
    path = tmp_path / "list.csv"
    path.write_text(f"{above},,,,,\n{SHARES}", encoding="utf-8")
    found, said = outcome(path)
    compare(found, {"A": (liters, words)})
    assert ("not stated: by volume" in said) == ("by volume" in words)


def test_a_basis_with_exceptions_is_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text(f"All shares by weight except job B,,,,,\n{SHARES}", encoding="utf-8")
    with pytest.raises(InputFileError, match=r"'All shares by weight except job B'.*'share basis'"):
        outcome(path)
