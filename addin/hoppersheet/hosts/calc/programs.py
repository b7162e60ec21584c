"""Where LibreOffice is on this machine, the Python that can talk to it, and how both are started.

LibreOffice's own Python finds its standard library by the first ``python3`` on PATH. That of a
virtual environment, pyenv or conda in front gives it a foreign one: it crashes, or calls a healthy
file damaged. And a Python that looks for modules in the current folder runs a ``uno.py`` that lies
beside a customer's file. So every process gets a :func:`clean_environment`, and starts in a folder
that belongs to the office.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ...errors import HostError

__all__ = ["OVERRIDE", "Programs", "clean_environment", "clear", "find"]

#: Environment variable that names the soffice program to use instead of the one that is found.
OVERRIDE = "HOPPERSHEET_SOFFICE"

_FOLDERS = (
    "/usr/lib/libreoffice/program/soffice",
    "/usr/lib64/libreoffice/program/soffice",
    "/Applications/LibreOffice.app/Contents/MacOS/soffice",
    "C:/Program Files/LibreOffice/program/soffice.exe",
    "C:/Program Files (x86)/LibreOffice/program/soffice.exe",
)
_SECONDS_TO_TALK = 20
_HOW = (
    "install it (Debian, Ubuntu: sudo apt-get install libreoffice-calc-nogui python3-uno; "
    f"Windows, macOS: LibreOffice's own installer) or set {OVERRIDE} to its soffice program"
)


@dataclass(frozen=True)
class Programs:
    """The programs of one LibreOffice."""

    soffice: Path
    unopkg: Path
    #: a Python that can ``import uno``
    python: Path
    #: options that keep this Python from the current folder and the user's modules
    isolation: tuple[str, ...] = ("-I",)

    @property
    def folder(self) -> Path:
        """Where processes are started: a folder that no customer's file lies in."""
        return self.soffice.parent


def _candidates() -> Iterator[Path]:
    for name in ("soffice", "libreoffice"):
        on_path = shutil.which(name)
        if on_path:
            yield Path(on_path).resolve()
    yield from map(Path, _FOLDERS)
    for folder in sorted(Path("/opt").glob("libreoffice*"), reverse=True):
        yield folder / "program" / "soffice"


def _soffice() -> Path:
    named = os.environ.get(OVERRIDE)
    if named:
        if not Path(named).is_file():
            raise HostError(f"{OVERRIDE} names {named}, which does not exist")
        return Path(named).resolve()
    for candidate in _candidates():
        if candidate.is_file():
            return candidate
    raise HostError(f"LibreOffice was not found; {_HOW}")


#: Names, or beginnings of names, of variables by which one Python leads another astray.
_LEADS_ASTRAY = ("PYTHON", "_PYTHON", "__PYVENV", "VIRTUAL_ENV", "CONDA", "_CONDA", "PYENV")


def clean_environment(python: Path) -> dict[str, str]:
    """This process's environment without anything of its own Python, or of an activated one.

    PATH begins with the folder of ``python``, which is the one that belongs to the office.
    """
    kept = {k: v for k, v in os.environ.items() if not k.upper().startswith(_LEADS_ASTRAY)}
    folders = [str(python.parent), *kept.get("PATH", os.defpath).split(os.pathsep)]
    kept["PATH"] = os.pathsep.join(dict.fromkeys(filter(None, folders)))
    return kept


def _isolation(python: Path, folder: Path) -> tuple[str, ...] | None:
    """Options with which this Python talks to the office and runs no stranger's module.

    The Python that comes with an office may be a script that finds ``uno`` through PYTHONPATH,
    which ``-I`` would ignore. None where it does not talk to the office at all.
    """
    for options in (("-I",), ("-s",)):
        try:
            done = subprocess.run(
                [str(python), *options, "-c", "import uno"],
                capture_output=True, timeout=_SECONDS_TO_TALK, check=False, cwd=folder,
                env=clean_environment(python), stdin=subprocess.DEVNULL,
            )  # fmt: skip
        except (OSError, subprocess.TimeoutExpired):
            return None
        if done.returncode == 0:
            return options
    return None


def _python(soffice: Path) -> tuple[Path, tuple[str, ...]]:
    folder = soffice.parent
    for candidate in (
        folder / "python.exe",
        folder / "python",
        folder.parent / "Resources" / "python",
        Path("/usr/bin/python3"),
    ):
        if candidate.is_file() and (options := _isolation(candidate, folder)) is not None:
            return candidate, options
    raise HostError(
        f"LibreOffice is installed ({soffice}) but without a Python that can talk to it; "
        "Debian, Ubuntu: sudo apt-get install python3-uno"
    )


@lru_cache(maxsize=4)
def _find(_override: str | None) -> Programs:
    soffice = _soffice()
    # On Windows unopkg.exe opens a window; unopkg.com is the one for a terminal.
    names = ("unopkg.com", "unopkg.exe", "unopkg")
    unopkg = next((soffice.parent / n for n in names if (soffice.parent / n).is_file()), None)
    if unopkg is None:
        raise HostError(f"LibreOffice at {soffice} is incomplete: it has no unopkg beside it")
    return Programs(soffice, unopkg, *_python(soffice))


def find() -> Programs:
    """The LibreOffice to use: the one named by HOPPERSHEET_SOFFICE, else the first one found.

    Raises:
        HostError: there is none, or no Python can talk to it; says how to get it.
    """
    return _find(os.environ.get(OVERRIDE))


def clear() -> None:
    """Look again at the next :func:`find`: something was installed or removed."""
    _find.cache_clear()
