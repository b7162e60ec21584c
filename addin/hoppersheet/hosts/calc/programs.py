"""Where LibreOffice is on this machine, and the Python that can talk to it."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ...errors import HostError

__all__ = ["OVERRIDE", "Programs", "clear", "find"]

#: Environment variable that names the soffice program to use instead of the one that is found.
OVERRIDE = "HOPPERSHEET_SOFFICE"

_PLACES = (
    "/usr/lib/libreoffice/program/soffice",
    "/usr/lib64/libreoffice/program/soffice",
    "/Applications/LibreOffice.app/Contents/MacOS/soffice",
    "C:/Program Files/LibreOffice/program/soffice.exe",
    "C:/Program Files (x86)/LibreOffice/program/soffice.exe",
)
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


def _candidates() -> Iterator[Path]:
    for name in ("soffice", "libreoffice"):
        on_path = shutil.which(name)
        if on_path:
            yield Path(on_path).resolve()
    yield from map(Path, _PLACES)
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


def _talks_uno(python: Path) -> bool:
    try:
        done = subprocess.run(
            [str(python), "-c", "import uno"], capture_output=True, timeout=60, check=False
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0


def _python(soffice: Path) -> Path:
    folder = soffice.parent
    for candidate in (
        folder / "python.exe",
        folder / "python",
        folder.parent / "Resources" / "python",
        Path("/usr/bin/python3"),
    ):
        if candidate.is_file() and _talks_uno(candidate):
            return candidate
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
    return Programs(soffice, unopkg, _python(soffice))


def find() -> Programs:
    """The LibreOffice to use: the one named by HOPPERSHEET_SOFFICE, else the first one found.

    Raises:
        HostError: there is none, or no Python can talk to it; says how to get it.
    """
    return _find(os.environ.get(OVERRIDE))


def clear() -> None:
    """Look again at the next :func:`find`: something was installed or removed."""
    _find.cache_clear()
