"""Hundreds of spoiled workbooks, and some that others made, through every command (core engine).

A thousand more, through Calc and from many hands, by ``mutants.py`` itself; see README.md.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import xlwings

from abuse.mutants import COMMANDS, broken, mutant
from audit.audit_books import clean_book, stored
from workbook import rich_workbook

#: Workbooks saved by Excel that xlwings carries.
FOREIGN = sorted(Path(xlwings.__file__).parent.glob("*.xls[xm]"))
#: Of each source; spread over the commands, compute always among them.
MUTANTS = 60


@pytest.fixture(scope="module")
def sources(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, bytes]]:
    folder = tmp_path_factory.mktemp("sources")
    made = [
        rich_workbook.build(folder / "rich.xlsm"),
        stored(clean_book(), folder / "clean.xlsx"),
        *FOREIGN,
    ]
    assert len(made) > 3
    return [(path.name, path.read_bytes()) for path in made]


@pytest.mark.parametrize("command", COMMANDS)
def test_no_spoiled_workbook_breaks_a_command(
    command: str, sources: list[tuple[str, bytes]], tmp_path: Path
) -> None:
    others = len(COMMANDS) - 1
    turn = list(COMMANDS).index(command)
    said = []
    for name, data in sources:
        book = tmp_path / f"book{Path(name).suffix}"
        for number in range(MUTANTS):
            if command != "compute" and number % others != turn - 1:
                continue
            book.write_bytes(mutant(data, number))
            if problem := broken(book, command):
                said.append(f"{name} {number}: {problem}")
    assert said == []


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("path", FOREIGN, ids=lambda path: path.name)
def test_workbooks_that_others_made(path: Path, command: str, tmp_path: Path) -> None:
    book = tmp_path / path.name
    book.write_bytes(path.read_bytes())
    assert broken(book, command) == ""
