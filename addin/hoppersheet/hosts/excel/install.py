"""Installs, removes and examines the add-in by files alone; Excel need not run.

Two files: the add-in in Excel's start-up folder, and the configuration that tells xlwings' VBA
which Python to start. Both are put in place whole or not at all.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

from ...errors import HoppersheetError, HostError, InputFileError
from ...files import replacing
from . import addin_file
from .functions import MODULE
from .places import Places
from .vba_text import module_text

__all__ = [
    "check_python",
    "configuration",
    "examine",
    "install",
    "put_in_place",
    "remove",
    "write_configuration",
]

_CLOSE_EXCEL = "close all windows of Excel and run the command again"


def configuration(places: Places) -> dict[str, str]:
    """The settings of the add-in, as xlwings' VBA names them."""
    return {
        "INTERPRETER_WIN": str(places.interpreter),
        "UDF MODULES": MODULE,
        "ADD_WORKBOOK_TO_PYTHONPATH": "False",
        "SHOW CONSOLE": "False",
    }


def _encoding() -> str:
    """What VBA's ``Open ... For Input`` reads: the code page of the machine."""
    try:
        "".encode("mbcs")
    except LookupError:  # not Windows
        return "cp1252"
    return "mbcs"


def _read_configuration(path: Path) -> dict[str, str]:
    try:
        text = path.read_text(encoding=_encoding())
    except OSError:
        return {}
    return {row[0]: row[1] for row in csv.reader(text.splitlines()) if len(row) == 2}


def put_in_place(path: Path, content: bytes) -> None:
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


def write_configuration(places: Places) -> None:
    """Write the configuration.

    Raises:
        HostError: it cannot be written, or the path of Python has letters that VBA cannot read.
    """
    text = io.StringIO()
    csv.writer(text, quoting=csv.QUOTE_ALL, lineterminator="\r\n").writerows(
        configuration(places).items()
    )
    try:
        content = text.getvalue().encode(_encoding())
    except UnicodeEncodeError as problem:
        raise HostError(
            f"the path of Python, {places.interpreter}, has the letter "
            f"{problem.object[problem.start]!r}, which this machine's VBA cannot read; install "
            "Python and hoppersheet in a folder with a plain name"
        ) from None
    put_in_place(places.configuration, content)


def _no_dll(places: Places) -> str:
    return (
        f"{places.dll_name} lies neither beside {places.interpreter} nor in the folder above, and "
        "Excel reaches Python through it. This happens with Python from the Microsoft Store and "
        "after `pip install --user`. Remedy: make an environment of its own, in a command window: "
        r"py -m venv %USERPROFILE%\hoppersheet-env, then "
        r"%USERPROFILE%\hoppersheet-env\Scripts\pip install FOLDER (where hoppersheet lies), then "
        r"%USERPROFILE%\hoppersheet-env\Scripts\hoppersheet excel install"
    )


def check_python(places: Places) -> None:
    """Raise HostError where the add-in could not reach Python."""
    if places.dll is None:
        raise HostError(_no_dll(places))


def install(places: Places, build: Callable[[], bytes] = addin_file.build) -> None:
    """Install the add-in, or renew it.

    Raises:
        HostError: the DLL of xlwings is out of reach, Excel has the file open, a folder cannot be
            written, or the installed xlwings is one that hoppersheet does not know.
    """
    check_python(places)
    content = build()
    # The add-in first: while Excel is open this fails, and then nothing has changed.
    put_in_place(places.addin, content)
    write_configuration(places)


def remove(places: Places) -> list[Path]:
    """Remove the add-in; returns the files that were there.

    Raises:
        HostError: Excel has the add-in open; then nothing has changed.
    """
    removed = []
    for path in (places.addin, places.configuration):
        try:
            path.unlink()
            removed.append(path)
        except FileNotFoundError:
            continue
        except OSError:
            raise HostError(f"cannot remove {path}: it is in use; {_CLOSE_EXCEL}") from None
    folder = places.configuration.parent
    if folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()
    return removed


def _addin_problem(places: Places) -> str:
    try:
        built_for = addin_file.xlwings_version_in(places.addin)
        text = addin_file.text_in(places.addin)
    except HoppersheetError as problem:
        return str(problem)
    if built_for != places.xlwings_version:
        return (
            f"the add-in was built for xlwings {built_for}, but {places.xlwings_version} is "
            "installed; every cell shows #VALUE!"
        )
    if text != module_text():
        return "the add-in is from another version of hoppersheet than the one installed"
    return ""


def examine(places: Places) -> list[str]:
    """What keeps the add-in from working, one sentence each; empty when nothing does."""
    if not places.addin.is_file():
        return [f"not installed: there is no {places.addin}"]
    problems = [_addin_problem(places)]
    found, wanted = _read_configuration(places.configuration), configuration(places)
    for key, value in wanted.items():
        if key not in found:
            problems.append(f"{places.configuration} lacks {key}")
        elif found[key] != value:
            problems.append(f"{places.configuration} says {key} is {found[key]}, not {value}")
    if places.dll is None:
        problems.append(_no_dll(places))
    return [problem for problem in problems if problem]
