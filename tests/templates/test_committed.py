"""The workbooks in the repository are what the code would build now."""

from __future__ import annotations

import importlib.util
import re
import shutil
import zipfile
from pathlib import Path
from types import ModuleType

import openpyxl
import pytest

from hoppersheet import call
from hoppersheet.templates import quote
from hoppersheet.templates.saving import workbook_bytes

FOLDER = Path(__file__).parents[2] / "workbooks"


def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("rebuild", FOLDER / "rebuild.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


REBUILD = script()


def parts(path: Path) -> dict[str, bytes]:
    """A workbook's parts; how well they are compressed depends on the machine's zlib."""
    if path.suffix != ".xlsx":
        return {"": path.read_bytes()}
    with zipfile.ZipFile(path) as package:
        return {name: package.read(name) for name in package.namelist()}


PLAIN = [
    name
    for name in REBUILD.BUILDERS
    if name not in REBUILD.COMPUTED and name not in REBUILD.CARRYING
]


@pytest.mark.parametrize("name", REBUILD.CARRYING)
def test_a_book_that_brings_its_functions_along_is_the_other_one_and_they(
    name: str, tmp_path: Path
) -> None:
    source = REBUILD.CARRYING[name]
    shutil.copyfile(FOLDER / source, tmp_path / source)
    REBUILD.rebuild(tmp_path, [name])
    built, other = parts(tmp_path / name), parts(FOLDER / source)
    assert {part for part in built if built[part] != other.get(part)} == {"xl/workbook.xml"}
    assert built == parts(FOLDER / name), "run: .venv/bin/python workbooks/rebuild.py"


@pytest.mark.parametrize("name", PLAIN)
def test_the_committed_file_is_current(name: str, tmp_path: Path) -> None:
    REBUILD.rebuild(tmp_path, [name])
    built, committed = parts(tmp_path / name), parts(FOLDER / name)
    differ = {part for part in built | committed if built.get(part) != committed.get(part)}
    assert not differ, "run: .venv/bin/python workbooks/rebuild.py"


#: The stored value and the kind of a formula cell, which the engine writes.
_STORED = re.compile(rb' t="\w+"(?=[^>]*><f)|(?<=</f>)<v>[^<]*</v>|(?<=</f>)<v ?/>')


@pytest.mark.calc
@pytest.mark.parametrize("name", REBUILD.COMPUTED)
def test_the_committed_book_with_computed_values_is_current(name: str, tmp_path: Path) -> None:
    """Everything but stored values is the same to the byte; the values to 9 digits."""
    REBUILD.rebuild(tmp_path, [name])
    built, committed = parts(tmp_path / name), parts(FOLDER / name)
    differ = {
        part
        for part in built | committed
        if _STORED.sub(b"", built.get(part, b"")) != _STORED.sub(b"", committed.get(part, b""))
    }
    assert not differ, "run: .venv/bin/python workbooks/rebuild.py"
    books = [openpyxl.load_workbook(folder / name, data_only=True) for folder in (tmp_path, FOLDER)]
    for sheet in books[0]:
        for row in sheet.iter_rows():
            for cell in row:
                other = books[1][sheet.title][cell.coordinate].value
                if isinstance(cell.value, float):
                    assert other == pytest.approx(cell.value, rel=1e-9), cell
                else:
                    assert other == cell.value, cell
    assert books[1]["About"]["B3"].value == call("HOPPER_VERSION"), "no values are stored"


@pytest.mark.parametrize("demo", [False, True])
def test_the_quote_book_is_built_the_same_twice(demo: bool) -> None:
    first, second = (workbook_bytes(quote.build(demo=demo)) for _ in range(2))
    assert first == second


def test_every_committed_workbook_is_built_by_the_script() -> None:
    assert {path.name for path in FOLDER.glob("*.xlsx")} <= set(REBUILD.BUILDERS)


def test_the_same_content_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in PLAIN:
        REBUILD.rebuild(tmp_path, [name])
        first = (tmp_path / name).read_bytes()
        REBUILD.rebuild(tmp_path, [name])
        assert (tmp_path / name).read_bytes() == first
