"""What the resin table warns of is told where a workbook does it. Figures are invented."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from audit.audit_books import COLUMN, FIRST, clean_book, stored
from hoppersheet.audit import Finding, audit_book


def cautions(folder: Path, resins: list[str | None], **cells: Any) -> list[Finding]:
    """The cautions of a book whose lines name these resins."""
    book = clean_book()
    sheet = book["Sizing"]
    sheet[f"Z{FIRST - 1}"] = "Resin"
    for row, resin in enumerate(resins, FIRST):
        sheet[f"Z{row}"] = resin
    for cell, value in cells.items():
        sheet[cell] = value
    audit = audit_book(stored(book, folder / "book.xlsx"), "core")
    return [found for found in audit.findings if found.kind == "caution"]


@pytest.mark.parametrize("name", ["POM", "acetal", "POM black 20"])
def test_resins_that_must_never_meet(name: str, tmp_path: Path) -> None:
    # "Quick Note on Safety with PVC & Acetal" (2021), trade training note.
    (found,) = cautions(tmp_path, [name, "ABS", "PVC"])
    assert (found.cell, found.severity) == (f"Z{FIRST + 2}", "note")
    assert "react violently" in found.message and f"Z{FIRST}" in found.message


def test_regrind_that_softens(tmp_path: Path) -> None:
    # Lines 1 and 2 have 50 and 45 % of regrind; without any, crystallized pellets are not told.
    (found,) = cautions(tmp_path, ["PET", "PET"])
    assert found.cell == f"Z{FIRST}" and len(found.cells) == 2
    assert "softens from 158 degF (70 degC) unless crystallized" in found.message
    assert cautions(tmp_path, ["PET"], **{f"{COLUMN['virgin_share']}{FIRST}": 1}) == []
    (found,) = cautions(tmp_path, ["APET"], **{f"{COLUMN['virgin_share']}{FIRST}": 1})
    assert "softens" in found.message


def test_hours_longer_than_usual(tmp_path: Path) -> None:
    # The clean book dries 4 h; the resin table: PP 1 to 2 h, PC 3 to 8 h.
    (found,) = cautions(tmp_path, ["PP", "PC", "House blend 7", None])
    assert found.cell == f"{COLUMN['hours']}{FIRST}"
    assert "Longer than usual for PP: 4 h, usual 1 to 2 h" in found.message
