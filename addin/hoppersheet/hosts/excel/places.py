"""Where the parts of the add-in lie on the user's Windows machine."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path

from ...errors import HostError
from .addin_file import PROJECT

__all__ = ["Places", "on_this_machine"]


@dataclass(frozen=True)
class Places:
    """The folders and programs that an installation touches.

    Attributes:
        startup: Excel opens everything in this folder when it starts.
        home: the user's profile; xlwings' VBA looks for the configuration there.
        interpreter: the Python that computes the cells.
        xlwings_version: of the installed xlwings, in the name of its DLL.
    """

    startup: Path
    home: Path
    interpreter: Path
    xlwings_version: str

    @property
    def addin(self) -> Path:
        """The add-in file."""
        return self.startup / f"{PROJECT}.xlam"

    @property
    def configuration(self) -> Path:
        """What xlwings' VBA reads: which Python, which module."""
        return self.home / f".{PROJECT}" / f"{PROJECT}.conf"

    @property
    def dll_name(self) -> str:
        """The DLL that joins Excel to Python, for the usual 64-bit Excel."""
        return f"xlwings64-{self.xlwings_version}.dll"

    @property
    def dll(self) -> Path | None:
        """The DLL where xlwings' VBA looks for it; None if it is in neither place."""
        for folder in (self.interpreter.parent, self.interpreter.parent.parent):
            if (folder / self.dll_name).is_file():
                return folder / self.dll_name
        return None


def on_this_machine() -> Places:
    """The places for this user and this Python.

    Raises:
        HostError: this is not Windows.
    """
    if sys.platform != "win32":
        raise HostError(
            "the Excel add-in is installed on Windows only; here, `hoppersheet excel build --out "
            "hoppersheet.xlam` writes the file, and `hoppersheet calc install` serves LibreOffice"
        )
    import xlwings

    roaming = os.environ.get("APPDATA") or str(Path.home() / "AppData" / "Roaming")
    # xlwings' VBA asks for USERPROFILE too, so a redirected home folder comes out the same.
    home = os.environ.get("USERPROFILE") or str(Path.home())
    python = Path(sys.executable)
    # pythonw opens no black window when the first cell is computed.
    windowless = python.with_name("pythonw.exe")
    return Places(
        startup=Path(roaming) / "Microsoft" / "Excel" / "XLSTART",
        home=Path(home),
        interpreter=windowless if windowless.is_file() else python,
        xlwings_version=xlwings.__version__,
    )
