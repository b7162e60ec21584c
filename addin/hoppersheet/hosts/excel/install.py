"""Installs and removes the add-in by its one file; Excel need not run."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from ...errors import HostError, InputFileError
from ...files import replacing
from . import addin_file
from .bootstrap import Paths
from .folders import Folders

__all__ = ["check_python", "install", "no_dll", "remove", "write_addin"]

_CLOSE_EXCEL = "close all windows of Excel and run the command again"


def write_addin(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path``, whole or not at all; the folder is made if need be.

    Raises:
        HostError: it cannot be written, as while Excel has the file open.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with replacing(path) as temporary:
            temporary.write_bytes(content)
    except InputFileError as problem:
        raise HostError(f"{problem}; {_CLOSE_EXCEL}") from None
    except OSError as problem:
        raise HostError(f"cannot write {path}: {problem.strerror}") from None


def no_dll(folders: Folders) -> str:
    """What to do where xlwings' DLL is out of reach."""
    return (
        f"{folders.dll_name} lies neither beside {folders.interpreter} nor in the folder above, "
        "and Excel reaches Python through it. This happens with Python from the Microsoft Store "
        "and after `pip install --user`. Remedy: make an environment of its own, in a command "
        r"window: py -m venv %USERPROFILE%\hoppersheet-env, then "
        r"%USERPROFILE%\hoppersheet-env\Scripts\pip install FOLDER (where hoppersheet lies), then "
        r"%USERPROFILE%\hoppersheet-env\Scripts\hoppersheet excel install"
    )


def check_python(folders: Folders) -> None:
    """Raise HostError where the add-in could not reach Python."""
    if folders.dll is None:
        raise HostError(no_dll(folders))


def install(folders: Folders, build: Callable[[Paths], bytes] = addin_file.build) -> None:
    """Install the add-in, or renew it.

    Raises:
        HostError: the DLL of xlwings is out of reach, Excel has the file open, a folder cannot be
            written, or the installed xlwings is one that hoppersheet does not know.
    """
    check_python(folders)
    write_addin(folders.addin, build(folders.paths))


def remove(folders: Folders) -> list[Path]:
    """Remove the add-in; returns the files that were there.

    Raises:
        HostError: Excel has the add-in open; then nothing has changed.
    """
    try:
        folders.addin.unlink()
    except FileNotFoundError:
        return []
    except OSError:
        raise HostError(f"cannot remove {folders.addin}: it is in use; {_CLOSE_EXCEL}") from None
    return [folders.addin]
