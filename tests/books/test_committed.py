"""The workbooks in the repository are what the code would build now."""

from __future__ import annotations

import importlib.util
import zipfile
from pathlib import Path
from types import ModuleType

import pytest

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


@pytest.mark.parametrize("name", REBUILD.BUILDERS)
def test_the_committed_file_is_current(name: str, tmp_path: Path) -> None:
    REBUILD.rebuild(tmp_path, [name])
    built, committed = parts(tmp_path / name), parts(FOLDER / name)
    differ = {part for part in built | committed if built.get(part) != committed.get(part)}
    assert not differ, "run: .venv/bin/python workbooks/rebuild.py"


def test_every_committed_workbook_is_built_by_the_script() -> None:
    assert {path.name for path in FOLDER.glob("*.xlsx")} <= set(REBUILD.BUILDERS)


def test_the_same_content_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in REBUILD.BUILDERS:
        REBUILD.rebuild(tmp_path, [name])
        first = (tmp_path / name).read_bytes()
        REBUILD.rebuild(tmp_path, [name])
        assert (tmp_path / name).read_bytes() == first
