"""Runs in a fresh interpreter: installs through the real xlwings, over an Excel that is made up.

    python excel_stand_in.py FOLDER trusted|untrusted|refusing|broken

Prints JSON: what was done to Excel, the outcome, the files left. The made-up Excel knows only the
calls spelled out here; any other raises AttributeError, so a change in xlwings is noticed.
"""

from __future__ import annotations

import json
import sys
import types
from pathlib import Path

import pywin32_stand_ins as stand_ins

xlwings = stand_ins.import_xlwings()
from xlwings import _xlwindows  # noqa: E402


class Components:
    """VBProject.VBComponents."""

    def __init__(self, log: list, scenario: str) -> None:
        self.names = ["ThisWorkbook", "Dictionary", "xlwings", "Sheet2", "Module1"]
        self.log, self.scenario = log, scenario
        self.Count = len(self.names)

    def __call__(self, name: str) -> str:
        if name not in self.names:
            raise stand_ins.ComError(-2147352565)
        return name

    def Remove(self, component: str) -> None:
        self.names.remove(component)
        self.log.append(["Remove", component])

    def Import(self, path: str) -> None:
        if self.scenario == "refusing":
            raise stand_ins.ComError(-2147352567, "Exception occurred.")
        text = Path(path).read_bytes().decode("cp1252")
        assert text.count("\r\n") == text.count("\n")
        name = text.splitlines()[0].split('"')[1]
        self.names.append(name)
        self.log.append(["Import", name, text.count("\nFunction HOPPER_")])


class Project:
    """Workbook.VBProject of an Excel that trusts us."""

    def __init__(self, log: list, scenario: str) -> None:
        self.VBComponents = Components(log, scenario)
        self.Name = "MyAddin"


class Untrusted:
    """Workbook.VBProject of one that does not: Excel raises error 1004."""

    @property
    def VBComponents(self) -> object:
        raise stand_ins.ComError(-2147352567, "Exception occurred.", (0, None, "not trusted"))


class Book:
    def __init__(self, path: str, log: list, scenario: str) -> None:
        self.Name, self.FullName = Path(path).name, path
        self.Path, self.FileFormat = str(Path(path).parent), 55
        self.VBProject = Untrusted() if scenario == "untrusted" else Project(log, scenario)
        self.log = log
        # xlwings asks the application to find the book again.
        self.Application = types.SimpleNamespace(Version="16.0", Hwnd=1)

    def Save(self) -> None:
        self.log.append(["Save", self.VBProject.Name, self.VBProject.VBComponents.names])

    def Close(self, SaveChanges: bool | None = None) -> None:
        self.log.append(["Close"])


class Books:
    def __init__(self, log: list, scenario: str) -> None:
        self.log, self.scenario = log, scenario

    def __call__(self, name: str) -> object:
        raise stand_ins.ComError(-2147352565)

    def Open(self, path: str, *_: object) -> Book:
        assert Path(path).is_file()
        self.log.append(["Open", Path(path).name])
        return Book(path, self.log, self.scenario)


class Excel:
    def __init__(self, startup: Path, scenario: str) -> None:
        self.StartupPath, self.Hwnd, self.Version = str(startup), 1, "16.0"
        self.DisplayAlerts = True
        self.log: list = []
        self.Workbooks = Books(self.log, scenario)

    def Quit(self) -> None:
        self.log.append(["Quit"])


def main() -> None:
    folder, scenario = Path(sys.argv[1]), sys.argv[2]
    from hoppersheet.errors import HostError
    from hoppersheet.hosts.excel import with_excel
    from hoppersheet.hosts.excel.folders import Folders

    here = Folders(folder / "XLSTART", folder / "pythonw.exe", xlwings.__version__)
    (folder / here.dll_name).touch()
    excel = Excel(here.startup, scenario)

    def start() -> object:
        if scenario == "broken":
            raise stand_ins.ComError(-2147221005, "Invalid class string")
        return xlwings.App(impl=_xlwindows.App(xl=excel))

    try:
        outcome = f"installed {with_excel.install_with_excel(here, start).name}"
    except HostError as problem:
        outcome = str(problem)
    left = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    json.dump({"log": excel.log, "outcome": outcome, "left": left}, sys.stdout)


if __name__ == "__main__":
    main()
