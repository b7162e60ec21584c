"""A form for each job, one below the other on one sheet: each is a line of its own.

Jobs, figures and models are invented.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from hoppersheet.audit import Audit, audit_book

_STEP = 14  # rows from one form to the next


def forms() -> openpyxl.Workbook:
    book = openpyxl.Workbook()
    catalog = book.active
    catalog.title = "Sizes"
    catalog.append(["Size [ft3]", "Model", "List price [USD]"])
    for size in (9, 12, 15, 18, 22, 27):
        catalog.append([size, f"E-{size}", 2000 + 150 * size])
    sheet = book.create_sheet("Jobs")
    jobs = (("Cap", "PP", 0.2, 33, 22, 140, 2), ("Gear", "PA66", 0.1, 41, 26, 160, 4),
            ("Bezel", "PC", 0.15, 42, 27, 95, 4))  # fmt: skip
    for at, (job, resin, share, virgin, regrind, rate, hours) in enumerate(jobs):
        r = 1 + at * _STEP
        sizes = "Sizes!$A$2:$A$7"
        rows: tuple[tuple[str, Any, str], ...] = (
            ("Job", job, ""), ("Resin", resin, ""), ("Virgin share", 1 - share, ""),
            ("Regrind share", share, ""), ("Virgin density", virgin, "lb/ft3"),
            ("Regrind density", regrind, "lb/ft3"),
            ("Blend density",
             f'=HOPPER_BLEND_DENSITY(B{r + 2}:B{r + 3},B{r + 4}:B{r + 5},"mass")', "lb/ft3"),
            ("Throughput", rate, "lb/h"), ("Drying time", hours, "h"),
            ("Required volume", f"=HOPPER_REQUIRED_VOLUME(B{r + 7},B{r + 8},B{r + 6})", "ft3"),
            ("Hopper size", f"=HOPPER_NEXT_SIZE(B{r + 9},{sizes})", "ft3"),
            ("List price", f"=HOPPER_CATALOG_ENTRY(B{r + 10},{sizes},Sizes!$C$2:$C$7)", "USD"),
            ("Net price", f"=B{r + 11}", "USD"),
        )  # fmt: skip
        for row, values in enumerate(rows, r):
            for column, value in enumerate(values, 1):
                sheet.cell(row, column, value)
    end = 1 + len(jobs) * _STEP
    sheet[f"A{end}"] = "Total [USD]"
    sheet[f"B{end}"] = "=" + "+".join(f"B{13 + at * _STEP}" for at in range(len(jobs)))
    return book


def audited(book: openpyxl.Workbook, path: Path) -> Audit:
    book.save(path)
    return audit_book(path, "core")


def test_each_form_is_a_line_and_reaches_the_total(tmp_path: Path) -> None:
    audit = audited(forms(), tmp_path / "book.xlsx")
    assert audit.findings == [] and audit.coverage.complete
    assert [line.job for line in audit.sign_off.lines] == ["Cap", "Gear", "Bezel"]
    # 12, 18 and 12 ft3: 3 x 2000 + 150 x 42
    assert audit.sign_off.right_total == audit.sign_off.total == 12300


@pytest.mark.parametrize(
    ("cell", "value", "kind"),
    [
        ("B24", "=HOPPER_REQUIRED_VOLUME(B22,B23,B19)", "does not follow"),  # virgin density
        ("B38", "=HOPPER_REQUIRED_VOLUME(B22,B37,B35)", "does not follow"),  # another job's rate
        ("B26", 1000, "price differs"),
        ("B25", 12, "undersized"),
        ("B23", 1, "outside typical range"),
    ],
)
def test_a_slip_in_one_form_is_told_there(cell: str, value: Any, kind: str, tmp_path: Path) -> None:
    book = forms()
    book["Jobs"][cell] = value
    audit = audited(book, tmp_path / "book.xlsx")
    assert (kind, cell) in {(f.kind, f.cell) for f in audit.findings}
