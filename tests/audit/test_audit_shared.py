"""Hoppers that several lines share, and hoppers that divide a rate: sold once, and so audited."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from audit.audit_books import stored
from hoppersheet.audit import Audit, audit_book
from hoppersheet.templates import quote
from hoppersheet.templates.quote import demo, typing_in
from hoppersheet.templates.saving import save_workbook
from hoppersheet.workbook.compute import compute
from templates.test_quote_shared import AT_ONCE, IN_TURN


@pytest.fixture(scope="module")
def ours(tmp_path_factory: pytest.TempPathFactory) -> Audit:
    """Our quote: three jobs in turn, two at once on two hoppers, and one that two hoppers share."""
    book, folder = quote.build(rows=6), tmp_path_factory.mktemp("shared")
    typing_in.type_in(book, **demo.HEADER, shared_pick="H2")
    alone = {"job": "h", "resin": "PC", "virgin": 40, "virgin_from": "measured", "stated": 300,
             "hours": 4, "split": 2, "quantity": 2}  # fmt: skip
    typing_in.fill(book, [*IN_TURN, *AT_ONCE, alone])
    save_workbook(book, folder / "built.xlsx")
    compute(folder / "built.xlsx", folder / "q.xlsx", engine="core")
    return audit_book(folder / "q.xlsx", "core")


def test_our_quote_with_shared_hoppers_has_no_finding_but_notes(ours: Audit) -> None:
    assert [found.message for found in ours.findings if found.severity != "note"] == []
    assert ours.coverage.complete and ours.status == 0
    assert ours.sign_off.right_total == pytest.approx(ours.sign_off.total, abs=0.01)


def test_its_lines_are_held_as_the_quote_says_and_priced_once(ours: Audit) -> None:
    lines = {line.job: line for line in ours.sign_off.lines}
    held = {"a": 20 * 52 / 62, "b": 20 * 40 / 140, "c": 20 * 38 / 200, "d": 2 * 20 * 39 / 480,
            "e": 2 * 20 * 39 / 480, "h": 2 * 20 * 40 / 300}  # fmt: skip
    assert {job: line.holds for job, line in lines.items()} == pytest.approx(held)
    nets = {"a": 2 * 5890, "b": 0, "c": 0, "d": 2 * 5890, "e": 0, "h": 4 * 5890}
    assert {job: line.net for job, line in lines.items()} == nets
    assert {job: line.right_net for job, line in lines.items()} == nets
    assert lines["b"].verdict == "holds, in the hopper of 'a'"


def own_book(**cells: Any) -> Any:
    """Two jobs on a sheet of one's own: C4 and C5 need 10 and 6 ft3, the larger decides both."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Quote"
    for row in (
        ("Job", "Resin", "Rate lb/h", "Drying hours", "Bulk density lb/ft3",
         "Required volume ft3", "Size ft3", "Held h", "List price", "Qty", "Net price"),
        ("Gear", "PA66", 100, 4, 40, "=HOPPER_REQUIRED_VOLUME(C2,D2,E2)",
         "=HOPPER_NEXT_SIZE(MAX($F$2:$F$3),Catalog!$A$2:$A$6)", "=HOPPER_HELD_HOURS(G2,E2,C2)",
         "=HOPPER_CATALOG_ENTRY(G2,Catalog!$A$2:$A$6,Catalog!$B$2:$B$6)", 1, "=I2*J2"),
        ("Lens", "PMMA", 60, 4, 40, "=HOPPER_REQUIRED_VOLUME(C3,D3,E3)",
         "=HOPPER_NEXT_SIZE(MAX($F$2:$F$3),Catalog!$A$2:$A$6)", "=HOPPER_HELD_HOURS(G3,E3,C3)",
         None, None, 0),
        (None,) * 9 + ("Total", "=SUM(K2:K3)"),
    ):  # fmt: skip
        sheet.append(row)
    catalog = book.create_sheet("Catalog")
    catalog.append(("Size ft3", "List price"))
    for size in (3, 5, 7, 12, 20):
        catalog.append((size, 1000 + 200 * size))
    for address, value in cells.items():
        sheet[address] = value
    return book


def audited(folder: Path, **cells: Any) -> Audit:
    return audit_book(stored(own_book(**cells), folder / "own.xlsx"), "core")


def test_a_job_in_the_hopper_of_another_needs_no_price(tmp_path: Path) -> None:
    found = audited(tmp_path)
    assert [f.message for f in found.findings if f.severity in ("error", "warning")] == []
    assert {line.job: line.right_net for line in found.sign_off.lines} == {"Gear": 3400, "Lens": 0}


def test_a_line_of_the_same_size_that_shares_nothing_needs_its_price(tmp_path: Path) -> None:
    """Both need 10 ft3, each by its own lookup: no evidence of a shared hopper."""
    alone = "=HOPPER_NEXT_SIZE(F{0},Catalog!$A$2:$A$6)"
    found = audited(tmp_path, C3=100, G2=alone.format(2), G3=alone.format(3))
    assert any(f.severity == "error" and f.cell in ("I3", "K3", "J3") for f in found.findings) or (
        not found.coverage.complete
    )
