"""Faults planted one at a time in books of many styles: each is told, at its cell.

All books, names and figures are invented (``planted/styles.py``); what is wrong in each is in
``planted/faults.py``. The catalog of faults is what managers fear; it has no source.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from audit.planted.faults import FAULTS, Planted
from audit.planted.styles import STYLES, build, save
from hoppersheet.audit import Audit, Finding, audit_book

CASES = [(name, style) for name, fault in FAULTS.items() for style in fault.styles]


def cells_of(found: Finding) -> set[tuple[str, str]]:
    """Every cell that a finding names."""
    named = {
        (sheet.strip("'"), cell) for sheet, _, cell in (c.rpartition("!") for c in found.cells)
    }
    return {(found.sheet, found.cell), *named}


def told(audit: Audit, name: str, planted: Planted) -> bool:
    """Whether a finding says what was planted, at one of its cells."""
    fault = FAULTS[name]
    return any(
        found.severity in fault.severities
        and re.search(fault.says, found.message, re.IGNORECASE)
        and cells_of(found) & set(planted.at)
        for found in audit.findings
    )


def plant(name: str, style: str, folder: Path) -> tuple[Planted, Path]:
    quote = build(style)
    planted = FAULTS[name].plant(quote)
    if not isinstance(planted, Planted):
        planted = Planted(planted)
    path = save(quote, folder / "book.xlsx")
    if planted.after is not None:
        planted.after(path)
    return planted, path


def test_the_suite_is_as_wide_as_it_says() -> None:
    assert len(FAULTS) >= 60
    assert len({style for _, style in CASES}) >= 11


def test_every_fault_is_told_at_the_right_cell(tmp_path: Path) -> None:
    missed = []
    for name, style in CASES:
        planted, path = plant(name, style, tmp_path)
        if not told(audit_book(path, "core"), name, planted):
            missed.append(f"{name} ({style})")
    assert not missed, "\n".join(missed)


@pytest.mark.parametrize("style", STYLES)
def test_a_clean_book_is_quiet(style: str, tmp_path: Path) -> None:
    audit = audit_book(save(build(style), tmp_path / "book.xlsx"), "core")
    loud = [f for f in audit.findings if f.severity != "note"]
    assert loud == []
