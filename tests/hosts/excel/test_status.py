"""``excel status``: each part tried, each known obstacle named, under a made-up registry.

The places of the policies are from Microsoft's administrative templates for Office and its
documentation of attack surface reduction rules, from memory; nobody has tried them on Windows.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from hoppersheet.hosts.excel import bootstrap, folders, install, status
from hoppersheet.hosts.excel.folders import Folders
from hoppersheet.hosts.excel.obstacles import NOTES, obstacles
from hoppersheet.hosts.excel.server import TRY


class FakeRegistry:
    """(hive, key) -> its values."""

    def __init__(self, **_: Any) -> None:
        self.keys: dict[tuple[str, str], dict[str, Any]] = {}

    def having(self, hive: str, key: str, **values: Any) -> FakeRegistry:
        self.keys.setdefault((hive, key), {}).update(values)
        return self

    def values(self, hive: str, key: str) -> dict[str, Any]:
        return self.keys.get((hive, key), {})

    def value(self, hive: str, key: str, name: str) -> Any:
        return self.values(hive, key).get(name)


@pytest.fixture
def here(tmp_path: Path) -> Folders:
    folder = tmp_path / "env"
    folder.mkdir()
    made = Folders(tmp_path / "XLSTART", Path(sys.executable), folders.xlwings_version())
    beside = Folders(tmp_path / "XLSTART", folder / "pythonw.exe", made.xlwings_version)
    for bits in ("64", "32"):
        (folder / made.dll_name.replace("64", bits, 1)).touch()
    return beside


def fine(_: Folders) -> tuple[float, str]:
    return 0.4, ""


def said(here: Folders, registry: FakeRegistry) -> dict[str, str]:
    return {line.what: line.says for line in status.examine(here, registry, fine)}


def test_all_is_well(here: Folders) -> None:
    install.install(here)
    lines = status.examine(here, FakeRegistry(), fine)
    assert [(line.what, line.wrong) for line in lines] == [
        ("add-in file", False), ("Python", False), ("not tried", False),
    ]  # fmt: skip
    assert lines[-1].says == "Excel itself"


OFFICE = r"Software\Policies\Microsoft\Office\16.0"
RULES = r"Software\Policies\Microsoft\Windows Defender\Windows Defender Exploit Guard\ASR\Rules"


@pytest.mark.parametrize(
    ("hive", "key", "name", "value", "says"),
    [
        ("HKCU", rf"{OFFICE}\Common", "VBAOff", 1, "VBA is turned off"),
        ("HKLM", rf"{OFFICE}\Excel\Security", "VBAWarnings", 3, "Only signed macros run"),
        ("HKCU", rf"{OFFICE}\Excel\Security", "VBAWarnings", 4, "All macros are turned off"),
        ("HKCU", rf"{OFFICE}\Excel\Security", "RequireAddinSig", 1, "a trusted publisher"),
        ("HKCU", rf"{OFFICE}\Excel\Security", "DisableAllAddins", 1, "no add-in at all"),
        (
            "HKCU", rf"{OFFICE}\Excel\Security\Trusted Locations", "AllLocationsDisabled", 1,
            "trusts no folder",
        ),
        (
            "HKLM", RULES, "d4f940ab-401b-4efc-aadc-ad5f3c50688a", "1",
            '"Block all Office applications from creating child processes" is on',
        ),
        (
            "HKLM", RULES, "92e97fa1-2edf-4476-bdd6-9dd0b4dddc7b", "1",
            '"Block Win32 API calls from Office macros" is on',
        ),
    ],
)  # fmt: skip
def test_each_policy_is_named_with_the_way_out(
    here: Folders, hive: str, key: str, name: str, value: Any, says: str
) -> None:
    install.install(here)
    registry = FakeRegistry().having(hive, key, **{name: value})
    lines = status.examine(here, registry, fine)
    (line,) = [line for line in lines if line.wrong]
    assert line.what == "policy" and says in line.says
    assert "For IT:" in line.says and "Without IT:" in line.says
    # Off, or only watched, is no obstacle.
    for harmless in (0, 2, "0", "2"):
        assert obstacles(here, FakeRegistry().having(hive, key, **{name: harmless})) == []


def test_what_the_add_in_noted_is_shown(here: Folders) -> None:
    install.install(here)
    registry = FakeRegistry().having(
        "HKCU", NOTES, opened="2026-11-28 09:10 by Excel 16.0, 64-bit",
        **{
            "texts refused": "2026-11-28 09:10 HOPPER_RESIN: 1004 Application-defined error",
            "Python failed": "2026-11-27 08:00 C:\\env\\xlwings64.dll cannot be loaded",
        },
    )  # fmt: skip
    found = said(here, registry)
    assert "16.0, 64-bit" in found["last opened"]
    assert "HOPPER_RESIN: 1004" in found["texts"]
    assert "cannot be loaded" in found["last failure"]
    # Cleared at each start: a time and nothing else.
    cleared = FakeRegistry().having("HKCU", NOTES, **{"texts refused": "2026-11-28 09:10 "})
    assert "texts" not in said(here, cleared)


def test_paths_that_do_not_work(here: Folders, tmp_path: Path) -> None:
    network = Folders(Path("//server/home/XLSTART"), here.interpreter, here.xlwings_version)
    assert "network drive" in obstacles(network, FakeRegistry())[0].user
    store = tmp_path / "WindowsApps" / "pythonw.exe"
    found = obstacles(Folders(here.startup, store, here.xlwings_version), FakeRegistry())
    assert "Microsoft Store" in found[0].user
    (here.interpreter.parent / "pyvenv.cfg").write_text(f"home = {tmp_path / 'gone'}\n")
    assert "is gone from" in obstacles(here, FakeRegistry())[0].user


def test_disabled_items_and_a_missing_dll(here: Folders) -> None:
    key = r"Software\Microsoft\Office\16.0\Excel\Resiliency\DisabledItems"
    item = "C:\\Users\\x\\XLSTART\\hoppersheet.xlam".encode("utf-16-le")
    registry = FakeRegistry().having("HKCU", key, A1=b"\x02\x00\x00\x00" + item)
    assert "list of disabled items" in obstacles(here, registry)[0].user
    (here.interpreter.parent / here.dll_name.replace("64", "32", 1)).unlink()
    (line,) = [x for x in status.examine(here, FakeRegistry(), fine) if x.what == "DLL"]
    assert "32-bit" in line.says and not line.wrong


def test_an_upgrade_a_broken_file_and_a_missing_dll_are_seen(here: Folders) -> None:
    install.install(here)
    newer = Folders(here.startup, here.interpreter, "99.1")
    lines = status.examine(newer, FakeRegistry(), fine)
    assert "but 99.1 is installed" in lines[0].says and "99.1.dll lies neither" in lines[1].says
    here.addin.write_bytes(b"not a zip")
    assert "is not an add-in file" in said(here, FakeRegistry())["add-in file"]


# --- the server, started for real ---------------------------------------------------------


def started(tmp_path: Path, *arguments: str) -> tuple[float, str]:
    """Start what the VBA starts, with a program in the place of pythonw."""
    return status.start_server(Folders(tmp_path, Path(*arguments), "1.0"))


def test_a_program_that_is_gone_or_fails_is_told_at_once(tmp_path: Path) -> None:
    assert (
        started(tmp_path, "/nowhere/pythonw.exe")[1] == "does not start: No such file or directory"
    )
    failing = tmp_path / "failing"
    failing.write_text("#!/bin/sh\necho ModuleNotFoundError: hoppersheet >&2\nexit 3\n")
    failing.chmod(0o700)
    seconds, problem = started(tmp_path, str(failing))
    assert problem == "ends at once, with status 3: ModuleNotFoundError: hoppersheet"
    assert seconds < 30


def test_the_server_looks_at_everything_before_excel_is_told_that_python_is_there() -> None:
    # Off Windows xlwings has no server: the module must say so and end, not hang.
    command = [sys.executable, "-I", "-B", "-m", bootstrap.SERVER]
    done = subprocess.run([*command, TRY], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode != 0 and "pywin32" in done.stderr
    wrong = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert wrong.returncode == 2


def test_the_server_serves_what_the_dll_asks_for(monkeypatch: pytest.MonkeyPatch) -> None:
    from types import ModuleType

    from hoppersheet.hosts.excel import server

    served: list[str] = []
    stand_in = ModuleType("xlwings.com_server")
    stand_in.serve = served.append  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "xlwings.com_server", stand_in)
    monkeypatch.setattr("xlwings.com_server", stand_in, raising=False)
    assert server.main([TRY]) == 0 and served == []
    assert server.main(["{506e67c3}"]) == 0 and served == ["{506e67c3}"]
