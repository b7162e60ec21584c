"""What the tests of the Excel surfaces share: the vectors, and Excel's error values."""

from __future__ import annotations

from typing import Any

from hoppersheet import OMITTED
from hoppersheet.functions import all_functions
from hoppersheet.vectors import Vector, load_vectors

VECTORS = load_vectors()
#: Error value -> number in CVErr, from Microsoft's XlCVError enumeration. The last two exist
#: since Excel 365, and xlwings does not know them.
ERRORS = {
    "#NULL!": 2000, "#DIV/0!": 2007, "#VALUE!": 2015, "#REF!": 2023, "#NAME?": 2029,
    "#NUM!": 2036, "#N/A": 2042, "#SPILL!": 2045, "#CALC!": 2050,
}  # fmt: skip


def padded(vector: Vector) -> tuple[Any, ...]:
    """Excel hands over every optional argument, left out or not."""
    fixed = [a for a in all_functions()[vector.function].arguments if a.kind != "rest"]
    return vector.arguments + (OMITTED,) * (len(fixed) - len(vector.arguments))
