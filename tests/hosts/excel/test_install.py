"""Installing and removing by the one file, on a made-up Windows user."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from click.testing import CliRunner

from hoppersheet.commands.excel import command
from hoppersheet.errors import HostError
from hoppersheet.hosts.excel import addin_file, bootstrap, folders, install, status
from hoppersheet.hosts.excel.folders import Folders
from hosts.excel.test_status import FakeRegistry


@pytest.fixture
def here(tmp_path: Path) -> Folders:
    scripts = tmp_path / "env" / "Scripts"
    scripts.mkdir(parents=True)
    (scripts / "pythonw.exe").touch()
    made = Folders(
        startup=tmp_path / "Excel" / "XLSTART",
        interpreter=scripts / "pythonw.exe",
        xlwings_version=folders.xlwings_version(),
    )
    for bits in ("64", "32"):  # where pip puts them in an environment
        (tmp_path / "env" / made.dll_name.replace("64", bits, 1)).touch()
    return made


def test_install_writes_one_file(here: Folders) -> None:
    install.install(here)
    assert here.addin.read_bytes() == addin_file.build(here.paths)
    assert [x.name for x in here.startup.iterdir()] == ["hoppersheet.xlam"]
    text = addin_file.modules_in(here.addin)[bootstrap.MODULE_NAME]
    assert str(here.interpreter) in text and str(here.interpreter.parent.parent) in text


def test_a_locked_add_in_changes_nothing(here: Folders, monkeypatch: pytest.MonkeyPatch) -> None:
    here.startup.mkdir(parents=True)
    here.addin.write_bytes(b"the one that Excel has open")

    def locked(self: Path, *_: object) -> None:
        raise PermissionError(13, "The process cannot access the file", str(self))

    monkeypatch.setattr(Path, "replace", locked)  # what Windows does to an open file
    with pytest.raises(HostError, match="close all windows of Excel"):
        install.install(here)
    assert here.addin.read_bytes() == b"the one that Excel has open"
    assert [x.name for x in here.startup.iterdir()] == ["hoppersheet.xlam"]


@pytest.mark.parametrize("where", ["beside", "above"])
def test_the_dll_is_found_beside_python_or_above(here: Folders, where: str) -> None:
    above = here.interpreter.parent.parent / here.dll_name
    if where == "beside":
        above.rename(here.interpreter.with_name(here.dll_name))
    assert here.dll is not None
    install.check_python(here)
    assert here.paths.folder == str(here.dll.parent)


def test_a_missing_dll_is_explained_with_the_remedy(here: Folders) -> None:
    (here.interpreter.parent.parent / here.dll_name).unlink()
    with pytest.raises(HostError) as problem:
        install.install(here)
    for word in (here.dll_name, "Microsoft Store", "--user", "-m venv"):
        assert word in str(problem.value)
    assert not here.addin.exists()


def test_remove_leaves_nothing_and_twice_is_no_error(here: Folders) -> None:
    install.install(here)
    assert install.remove(here) == [here.addin]
    assert not any(here.startup.iterdir())
    assert install.remove(here) == []


def test_remove_while_excel_is_open(here: Folders, monkeypatch: pytest.MonkeyPatch) -> None:
    install.install(here)

    def locked(self: Path, missing_ok: bool = False) -> None:
        raise PermissionError(13, "The process cannot access the file", str(self))

    monkeypatch.setattr(Path, "unlink", locked)
    with pytest.raises(HostError, match="it is in use; close all windows of Excel"):
        install.remove(here)
    assert here.addin.exists()


# --- the commands -------------------------------------------------------------------------


def test_the_commands_on_windows(here: Folders, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(folders, "on_this_machine", lambda: here)
    monkeypatch.setattr("hoppersheet.hosts.excel.obstacles.WindowsRegistry", FakeRegistry)
    monkeypatch.setattr(status, "start_server", lambda _: (0.4, ""))
    monkeypatch.setattr(status.examine, "__defaults__", (lambda _: (0.4, ""),))
    steps = [
        ("status", 1, "not installed"),
        ("install", 0, "type =HOPPER_VERSION()"),
        ("status", 0, "starts in 0.4 s, answers HOPPER_VERSION"),
        ("remove", 0, "Removed"),
        ("remove", 0, "was not installed"),
    ]
    for name, code, says in steps:
        result = CliRunner().invoke(command, [name])
        assert result.exit_code == code, result.output
        assert says in result.output


@pytest.mark.parametrize("name", ["install", "remove", "status"])
def test_elsewhere_one_clear_line(name: str) -> None:
    result = CliRunner().invoke(command, [name])
    assert isinstance(result.exception, HostError)
    assert "on Windows only" in str(result.exception) and "\n" not in str(result.exception)


def test_build_writes_both_files(tmp_path: Path) -> None:
    out, tooltips = tmp_path / "x.xlam", tmp_path / "x.xml"
    args = ["build", "--out", str(out), "--tooltips", str(tooltips)]
    python = r"D:\tools\env\Scripts\pythonw.exe"
    result = CliRunner().invoke(command, [*args, "--python", python])
    assert result.exit_code == 0, result.output
    assert f"computed by {python}" in result.output
    text = addin_file.modules_in(out)[bootstrap.MODULE_NAME]
    assert f'"{python}"' in text and r'"D:\tools\env" &' in text
    assert "HOPPER_VERSION" in tooltips.read_text(encoding="utf-8")
    other = str(tmp_path / "y.xlam")
    for wrong in (["--out", str(tmp_path / "x.xlsx")], ["--out", other, "--python", "python"]):
        refused = CliRunner().invoke(command, ["build", *wrong])
        assert refused.exit_code == 2


def test_another_python_or_version_is_seen(here: Folders) -> None:
    install.install(here)
    moved = dataclasses.replace(here, interpreter=here.interpreter.with_name("python.exe"))
    assert "starts another Python" in status.examine(moved, FakeRegistry())[0].says
