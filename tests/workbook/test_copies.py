"""Copies of formulas, against openpyxl's translator, which is an independent one."""

from __future__ import annotations

import pytest
from openpyxl.formula.translate import Translator

from hoppersheet.workbook.copies import moved, relative_form

FORMULAS = [
    "A1*$B$2+C$3-$D4",
    "SUM(A1:B3)/SUM($A:$B)",
    "SUM(A:C)+SUM(2:3)+SUM($2:$3)",
    "'It''s A1'!B2&\"A1 and B2\"",
    "Data!C5*[1]Other!D6",
    "LOG10(A1)+Jobs[A1]+rate_A1",
    "INDEX(XFD1,1)",
    "IF(AA10>AB$11,TRUE,1E5)",
]


@pytest.mark.parametrize("formula", FORMULAS)
@pytest.mark.parametrize("to", ["E6", "F5", "H20", "E5"])
def test_a_shared_formula_is_moved_as_another_reader_moves_it(formula: str, to: str) -> None:
    rows, columns = int(to[1:]) - 5, ord(to[0]) - ord("E")
    if "XFD" in formula and columns:
        assert moved(formula, rows, columns) == "INDEX(#REF!,1)"
        return
    expected = Translator(f"={formula}", origin="E5").translate_formula(to)
    assert f"={moved(formula, rows, columns)}" == expected


def test_copies_read_alike_from_their_own_cells() -> None:
    for formula in FORMULAS[:-2]:
        assert relative_form(f"={moved(formula, 7, 0)}", 12, 5) == relative_form(
            f"={formula}", 5, 5
        )
    assert relative_form("=A1", 5, 5) != relative_form("=A2", 5, 5)
    assert relative_form("=SUM(2:3)", 5, 5) == "=SUM(R[-3]:R[-2])"
