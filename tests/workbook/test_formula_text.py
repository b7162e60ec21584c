"""Values and calls as the text of a formula."""

from __future__ import annotations

import pytest

from hoppersheet.cells.values import OMITTED
from hoppersheet.workbook.formula_text import LONGEST_TEXT, call_text, fits_in_formula, literal


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (4, "4"),
        (0.1, "0.1"),
        (1e-7, "1E-07"),
        (-2.5, "-2.5"),
        (True, "TRUE"),
        ('a "cup"', '"a ""cup"""'),
        ("=1+1", '"=1+1"'),
        ("", '""'),
    ],
)
def test_literal(value: object, text: str) -> None:
    # ECMA-376 part 1, 18.17.2: decimal point, TRUE/FALSE, doubled quotation marks.
    assert literal(value) == text


@pytest.mark.parametrize("value", [None, "#N/A", "x" * (LONGEST_TEXT + 1), "two\nlines", [[1]]])
def test_what_needs_a_cell_is_refused(value: object) -> None:
    assert not fits_in_formula(value)
    with pytest.raises(ValueError, match="cannot stand in a formula"):
        literal(value)


def test_omitted_arguments_keep_their_place_and_vanish_at_the_end() -> None:
    assert call_text("F", ["1", OMITTED, '"metric"']) == 'F(1,,"metric")'
    assert call_text("F", ["1", OMITTED, OMITTED]) == "F(1)"
    assert call_text("F", []) == "F()"
