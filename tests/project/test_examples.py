"""The examples are our own: an old worked example and old model names stand nowhere any more.

Looked for is the combination, not a single number, in every text of the repository, in what a
wheel carries (the package and tests/vectors), and in the rows of the workbooks.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from hoppersheet.workbook.package import Package

ROOT = Path(__file__).parents[2]
#: Written so that this file does not hold what it looks for.
VIRGIN, REGRIND = 0x22, 0x11
BLEND = (VIRGIN + REGRIND) / 2
VOLUME = 0x64 * 4 / BLEND
_NUMBER = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)?(?![\w])")
#: A reference to a cell of that column, ``$D...``, is no model.
_OLD_MODEL = re.compile(r"(?<!\$)\bD" + r"H-?\d")


def is_old(line: str) -> bool:
    """Whether the densities of the old example stand together, or its density and its volume."""
    numbers = [float(text.replace(",", ".")) for text in _NUMBER.findall(line)]
    pairs = list(pairwise(numbers))
    near = {round(VOLUME, digits) for digits in (1, 2, 4)}
    return (
        (VIRGIN, REGRIND) in pairs
        or (BLEND in numbers and (near & set(numbers) or (0x64 in numbers and 4 in numbers)))
        or bool(_OLD_MODEL.search(line))
    )


def texts() -> Iterator[tuple[str, str]]:
    """(where, line) of every text file that git knows or that a wheel would carry."""
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode == 0:
        files = [ROOT / name for name in listed.stdout.splitlines()]
    else:  # an unpacked copy without git
        folders = ("addin", "tests", "workbooks", ".github")
        files = [path for name in folders for path in (ROOT / name).rglob("*")]
        files += [*ROOT.glob("*.md")]
    for path in files:
        if not path.is_file() or path.suffix in (".xlsx", ".png", ".pyc"):
            continue
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            yield f"{path.relative_to(ROOT)}:{number}", line


def test_what_is_looked_for_is_found() -> None:
    assert is_old(f"shares 0.5, 0.5 of {VIRGIN} and {REGRIND} lb/ft3")
    assert is_old(f"call(100, 4, {BLEND})") and is_old(f"{BLEND} gives {VOLUME:.1f} ft3")
    assert is_old("D" + "H-0160")
    assert not is_old(f"{VIRGIN} jobs") and not is_old("100 lb/h for 4 h") and not is_old("26, 16")


def test_the_old_example_is_in_no_text() -> None:
    lines = list(texts())
    assert len(lines) > 50_000
    assert [where for where, line in lines if is_old(line)] == []


@pytest.mark.parametrize("path", sorted((ROOT / "workbooks").glob("*.xlsx")), ids=lambda p: p.name)
def test_the_old_example_is_in_no_workbook(path: Path) -> None:
    package = Package(path)
    rows: dict[tuple[str, str], list[str]] = {}
    for sheet in package.sheets:
        for ref, cell in package.cells(sheet.name).items():
            row = re.sub("[A-Z]+", "", ref)
            rows.setdefault((sheet.name, row), []).append(f"{cell.value} {cell.formula or ''}")
    assert rows
    assert [where for where, cells in rows.items() if is_old(" ; ".join(cells))] == []
