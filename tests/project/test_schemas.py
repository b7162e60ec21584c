"""Every workbook and the add-in file, against the published schemas of ECMA-376 (openxml-audit)."""

from __future__ import annotations

from pathlib import Path

import pytest
from openxml_audit import OpenXmlValidator

from hoppersheet.carried.book import carry
from hoppersheet.carried.lambdas import carried
from hoppersheet.hosts.excel import addin_file
from hoppersheet.workbook.package import Package
from hosts.excel.test_addin_file import PATHS

WORKBOOKS = Path(__file__).parents[2] / "workbooks"

#: What is known and harmless, and why: words of the complaint, and the part it may concern.
KNOWN = (
    # openpyxl writes the elements of a font in an order of its own; every program reads it.
    ("Unexpected element 'color' found", "/xl/styles.xml"),
    ("Unexpected element 'b' found", "/xl/styles.xml"),
    ("Unexpected element 'i' found", "/xl/styles.xml"),
    # Texts stand in their cells (ECMA-376 part 1, 18.18.11 inlineStr), so that the same code gives
    # the same bytes; Excel moves them when it saves.
    ("inline-string cell(s)", "/xl/worksheets/"),
)


def complaints(path: Path) -> list[str]:
    """What the checker says of a file, but for what is known."""
    return [
        f"{error.part_uri}: {error.description}"
        for error in OpenXmlValidator().validate(str(path)).errors
        if not any(
            words in error.description and error.part_uri.startswith(part) for words, part in KNOWN
        )
    ]


@pytest.mark.parametrize("path", sorted(WORKBOOKS.glob("*.xlsx")), ids=lambda path: path.name)
def test_a_committed_workbook(path: Path) -> None:
    assert complaints(path) == []


def test_the_add_in_file(tmp_path: Path) -> None:
    path = tmp_path / "hoppersheet.xlam"
    path.write_bytes(addin_file.build(PATHS))
    assert complaints(path) == []


@pytest.mark.parametrize("name", ["demo_jobs.xlsx", "demo_quote.xlsx"])
def test_a_workbook_that_brings_everything_along(name: str, tmp_path: Path) -> None:
    # One that has no defined names yet, and one that has.
    package = Package(WORKBOOKS / name)
    carry(package, carried())
    package.save(tmp_path / name)
    assert complaints(tmp_path / name) == []


def test_the_checker_would_complain(tmp_path: Path) -> None:
    package = Package(WORKBOOKS / "demo_jobs.xlsx")
    part = package.workbook_part
    spoiled = package.read(part).replace(
        b"<sheets>", b'<definedName name="X">1</definedName><sheets>'
    )
    package.replace(part, spoiled)
    package.save(tmp_path / "spoiled.xlsx")
    assert complaints(tmp_path / "spoiled.xlsx")
