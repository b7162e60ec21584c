"""Installing, examining and removing by files alone, on a made-up Windows user."""

from __future__ import annotations

import csv
import dataclasses
from pathlib import Path

import pytest
from click.testing import CliRunner

from hoppersheet.commands.excel import command
from hoppersheet.errors import HostError
from hoppersheet.hosts.excel import addin_file, install, places, vba_text
from hoppersheet.hosts.excel.places import Places


@pytest.fixture(scope="module")
def content() -> bytes:
    return addin_file.build()


@pytest.fixture
def here(tmp_path: Path) -> Places:
    import xlwings

    scripts = tmp_path / "env" / "Scripts"
    scripts.mkdir(parents=True)
    (scripts / "pythonw.exe").touch()
    made = Places(
        startup=tmp_path / "Excel" / "XLSTART",
        home=tmp_path / "user",
        interpreter=scripts / "pythonw.exe",
        xlwings_version=xlwings.__version__,
    )
    (tmp_path / "env" / made.dll_name).touch()  # where pip puts it in an environment
    return made


def settings(path: Path) -> dict[str, str]:
    with path.open(encoding="cp1252", newline="") as file:
        return {row[0]: row[1] for row in csv.reader(file)}


def test_install_writes_the_file_and_the_configuration(here: Places, content: bytes) -> None:
    install.install(here, lambda: content)
    assert here.addin.read_bytes() == content
    assert [x.name for x in here.startup.iterdir()] == ["hoppersheet.xlam"]
    assert settings(here.configuration) == {
        "INTERPRETER_WIN": str(here.interpreter),
        "UDF MODULES": "hoppersheet.hosts.excel.functions",
        "ADD_WORKBOOK_TO_PYTHONPATH": "False",
        "SHOW CONSOLE": "False",
    }
    # VBA's Input # reads rows of quoted values with Windows line ends.
    assert here.configuration.read_bytes().startswith(b'"INTERPRETER_WIN","')
    assert here.configuration.read_bytes().endswith(b'"\r\n')
    assert install.examine(here) == []


def test_the_configuration_lies_where_the_vba_of_xlwings_looks(here: Places) -> None:
    text = addin_file.xlwings_text(_template_text())
    assert 'Environ("USERPROFILE") & "\\." & PROJECT_NAME & "\\" & PROJECT_NAME & ".conf"' in text
    assert here.configuration.relative_to(here.home).as_posix() == ".hoppersheet/hoppersheet.conf"
    for key in install.configuration(here):
        assert f'GetConfig("{key}"' in text
    # Both folders in which it looks for the DLL.
    assert 'LoadLibrary(ParentFolder(PYTHON_WIN) + "\\" + XLPyDLLName)' in text
    assert 'LoadLibrary(ParentFolder(ParentFolder(PYTHON_WIN)) + "\\" + XLPyDLLName)' in text
    assert f'Const XLPyDLLName As String = "{here.dll_name}"' in text


def _template_text() -> str:
    import zipfile

    from hoppersheet.hosts.excel.vba_project import VbaProject

    with zipfile.ZipFile(addin_file.template()) as archive:
        return VbaProject(archive.read(addin_file.VBA_PART)).source("xlwings")


def test_a_locked_add_in_changes_nothing(
    here: Places, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    here.startup.mkdir(parents=True)
    here.addin.write_bytes(b"the one that Excel has open")

    def locked(self: Path, *_: object) -> None:
        raise PermissionError(13, "The process cannot access the file", str(self))

    monkeypatch.setattr(Path, "replace", locked)  # what Windows does to an open file
    with pytest.raises(HostError, match="close all windows of Excel"):
        install.install(here, lambda: content)
    assert here.addin.read_bytes() == b"the one that Excel has open"
    assert [x.name for x in here.startup.iterdir()] == ["hoppersheet.xlam"]
    assert not here.configuration.exists()


@pytest.mark.parametrize("where", ["beside", "above"])
def test_the_dll_is_found_beside_python_or_above(here: Places, where: str) -> None:
    above = here.interpreter.parent.parent / here.dll_name
    if where == "beside":
        above.rename(here.interpreter.with_name(here.dll_name))
    assert here.dll is not None
    install.check_python(here)


def test_a_missing_dll_is_explained_with_the_remedy(here: Places, content: bytes) -> None:
    (here.interpreter.parent.parent / here.dll_name).unlink()
    with pytest.raises(HostError) as problem:
        install.install(here, lambda: content)
    for word in (here.dll_name, "Microsoft Store", "--user", "-m venv"):
        assert word in str(problem.value)
    assert not here.addin.exists() and not here.configuration.exists()


def test_a_folder_that_vba_cannot_read_is_named(here: Places, content: bytes) -> None:
    odd = dataclasses.replace(here, interpreter=Path("C:/Users/\u6a39/pythonw.exe"))
    with pytest.raises(HostError, match="'\u6a39', which this machine's VBA cannot read"):
        install.write_configuration(odd)
    assert not here.configuration.exists()


def test_an_upgrade_of_xlwings_is_seen_and_healed(here: Places, content: bytes) -> None:
    install.install(here, lambda: content)
    upgraded = dataclasses.replace(here, xlwings_version="99.1")
    (here.interpreter.parent.parent / upgraded.dll_name).touch()
    (found,) = install.examine(upgraded)
    assert f"built for xlwings {here.xlwings_version}, but 99.1 is installed" in found
    install.install(here, lambda: content)
    assert install.examine(here) == []


def test_an_add_in_of_another_version_is_seen(
    here: Places, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    install.install(here, lambda: content)
    newer = vba_text.module_text() + "' changed\n"
    monkeypatch.setattr(install, "module_text", lambda: newer)
    (found,) = install.examine(here)
    assert "another version of hoppersheet" in found


def test_status_names_each_thing_that_is_wrong(here: Places, content: bytes) -> None:
    assert install.examine(here) == [f"not installed: there is no {here.addin}"]
    install.install(here, lambda: content)
    here.addin.write_bytes(b"not a zip")
    here.configuration.write_text('"INTERPRETER_WIN","C:\\old\\python.exe"\n"UDF MODULES","x"\n')
    (here.interpreter.parent.parent / here.dll_name).unlink()
    addin, interpreter, module, path, console, dll = install.examine(here)
    assert "is not an add-in file that hoppersheet has built" in addin
    assert "INTERPRETER_WIN is C:\\old\\python.exe, not" in interpreter
    assert "UDF MODULES is x, not" in module
    assert "lacks ADD_WORKBOOK_TO_PYTHONPATH" in path and "lacks SHOW CONSOLE" in console
    assert here.dll_name in dll


def test_remove_leaves_nothing_and_twice_is_no_error(here: Places, content: bytes) -> None:
    install.install(here, lambda: content)
    assert install.remove(here) == [here.addin, here.configuration]
    assert not here.configuration.parent.exists() and not any(here.startup.iterdir())
    assert install.remove(here) == []


def test_remove_keeps_what_others_put_there(here: Places, content: bytes) -> None:
    install.install(here, lambda: content)
    other = here.configuration.with_name("notes.txt")
    other.touch()
    install.remove(here)
    assert other.exists()


def test_remove_while_excel_is_open(
    here: Places, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    install.install(here, lambda: content)

    def locked(self: Path, missing_ok: bool = False) -> None:
        raise PermissionError(13, "The process cannot access the file", str(self))

    monkeypatch.setattr(Path, "unlink", locked)
    with pytest.raises(HostError, match="it is in use; close all windows of Excel"):
        install.remove(here)
    assert here.addin.exists() and here.configuration.exists()


# --- the commands -------------------------------------------------------------------------


def test_the_commands_on_windows(here: Places, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(places, "on_this_machine", lambda: here)
    steps = [
        ("status", 1, "not installed"),
        ("install", 0, "type =HOPPER_VERSION()"),
        ("status", 0, "up to date"),
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


def test_build_writes_both_files(tmp_path: Path, content: bytes) -> None:
    out, tooltips = tmp_path / "x.xlam", tmp_path / "x.xml"
    result = CliRunner().invoke(command, ["build", "--out", str(out), "--tooltips", str(tooltips)])
    assert result.exit_code == 0, result.output
    assert out.read_bytes() == content
    assert "HOPPER_VERSION" in tooltips.read_text(encoding="utf-8")
    refused = CliRunner().invoke(command, ["build", "--out", str(tmp_path / "x.xlsx")])
    assert refused.exit_code == 2 and ".xlam" in refused.output
