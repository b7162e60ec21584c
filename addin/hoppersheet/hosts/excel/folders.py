"""Where the parts of the add-in lie on the user's Windows machine."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path

from ...errors import HostError
from .bootstrap import Paths

__all__ = ["PROJECT", "Folders", "on_this_machine", "xlwings_version"]

#: Name of the add-in and of its file.
PROJECT = "hoppersheet"


@dataclass(frozen=True)
class Folders:
    """The folders and programs that an installation touches.

    Attributes:
        startup: Excel opens everything in this folder when it starts.
        interpreter: the Python that computes the cells.
        xlwings_version: of the installed xlwings, in the name of its DLL.
    """

    startup: Path
    interpreter: Path
    xlwings_version: str

    @property
    def addin(self) -> Path:
        """The add-in file."""
        return self.startup / f"{PROJECT}.xlam"

    @property
    def dll_name(self) -> str:
        """The DLL that joins Excel to Python, for the usual 64-bit Excel."""
        return f"xlwings64-{self.xlwings_version}.dll"

    @property
    def dll(self) -> Path | None:
        """The DLL: beside Python, or in the folder above, where an environment has it."""
        for folder in (self.interpreter.parent, self.interpreter.parent.parent):
            if (folder / self.dll_name).is_file():
                return folder / self.dll_name
        return None

    @property
    def paths(self) -> Paths:
        """What the VBA must know; HostError where it cannot be told."""
        folder = self.interpreter.parent.parent if self.dll is None else self.dll.parent
        return Paths(self.interpreter, folder, self.xlwings_version)


def xlwings_version() -> str:
    """The version of the installed xlwings, without loading it."""
    from importlib.metadata import version

    return version("xlwings")


def on_this_machine() -> Folders:
    """The folders for this user and this Python.

    Raises:
        HostError: this is not Windows.
    """
    if sys.platform != "win32":
        raise HostError(
            "the Excel add-in is installed on Windows only; here, `hoppersheet excel build --out "
            "hoppersheet.xlam` writes the file, and `hoppersheet calc install` serves LibreOffice"
        )
    roaming = os.environ.get("APPDATA") or str(Path.home() / "AppData" / "Roaming")
    python = Path(sys.executable)
    # pythonw opens no black window when the first cell is computed.
    windowless = python.with_name("pythonw.exe")
    return Folders(
        startup=Path(roaming) / "Microsoft" / "Excel" / "XLSTART",
        interpreter=windowless if windowless.is_file() else python,
        xlwings_version=xlwings_version(),
    )
