"""Installs the add-in into the LibreOffice of this machine, removes it, and says how it stands.

A normal user gets it into his own profile, root into the shared layer for all users: LibreOffice's
``unopkg`` refuses root anything else.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from ..._version import __version__
from ...call import call
from ...errors import HostError
from . import extension
from .names import EXTENSION
from .office import Office
from .programs import Programs, clean_environment, find

__all__ = ["SHARED", "USER", "Status", "install", "installed", "remove", "status"]

USER, SHARED = "for this user", "for all users"

_SECONDS = 180
#: A calculation whose result hoppersheet itself knows; the hours go through pint.
_PROBE = ("HOPPER_REQUIRED_VOLUME", ("220 lb/h", "210 min", "36.4 lb/ft3"))


def _is_root() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _unopkg(programs: Programs, *words: str) -> str:
    """Run unopkg and give what it prints; one clear line when it fails."""
    try:
        done = subprocess.run(
            [str(programs.unopkg), *words],
            capture_output=True,
            encoding="utf-8",
            errors="replace",
            stdin=subprocess.DEVNULL,
            timeout=_SECONDS,
            check=False,
            env=clean_environment(programs.python),
            cwd=programs.folder,
        )
    except subprocess.TimeoutExpired:
        raise HostError(f"unopkg {words[0]} did not end within {_SECONDS} s") from None
    if done.returncode == 0:
        return done.stdout
    output = [line.strip() for line in (done.stderr + done.stdout).splitlines() if line.strip()]
    if any("lock file" in line or "already running" in line for line in output):
        # unopkg names the file at the end of what it says.
        file = next((line for line in reversed(output) if line.endswith("lock")), "its lock file")
        raise HostError(
            "LibreOffice is running; close all its windows, then try again. If none is open, "
            f"delete {file}"
        )
    raise HostError(f"unopkg {words[0]} failed: {output[-1] if output else 'it gave no reason'}")


def _layers() -> dict[str, list[str]]:
    """Layer -> unopkg's option for it, for the layers that this user can ask about."""
    return {SHARED: ["--shared"]} if _is_root() else {USER: [], SHARED: ["--shared"]}


def installed(programs: Programs) -> dict[str, str]:
    """Where the add-in is installed -> its version there; empty when it is nowhere.

    Raises:
        HostError: unopkg does not work, for example because LibreOffice is running.
    """
    found = {}
    for layer, option in _layers().items():
        listed = _unopkg(programs, "list", *option)
        match = re.search(
            rf"Identifier: {re.escape(EXTENSION)}\s+Version: (\S+)\s+URL: .*\s+"
            r"is registered: (\S+)",
            listed,
        )
        # An installation that was interrupted leaves the files without their registration.
        if match and match[2] == "yes":
            found[layer] = match[1]
    return found


def install() -> str:
    """Build the add-in and install it, over an older one if need be; says for whom.

    Raises:
        HostError: no LibreOffice, or it refuses.
    """
    programs = find()
    layer = SHARED if _is_root() else USER
    with tempfile.TemporaryDirectory(prefix="hoppersheet-") as folder:
        package = extension.build(Path(folder) / extension.FILE_NAME)
        _unopkg(programs, "add", "--force", *_layers()[layer], str(package))
    return layer


def remove() -> list[str]:
    """Remove the add-in where this user may; says from where (nowhere: it was not installed).

    Raises:
        HostError: no LibreOffice, it refuses, or only root can remove it.
    """
    programs = find()
    own = SHARED if _is_root() else USER
    layers = list(installed(programs))
    if own in layers:
        _unopkg(programs, "remove", *_layers()[own], EXTENSION)
        return [own]
    if layers:
        raise HostError(f"the add-in is installed {layers[0]}; only root can remove it")
    return []


def _user_profile() -> Path:
    """The profile folder of an office as LibreOffice chooses it when nobody says otherwise."""
    if sys.platform == "win32":
        base = Path(os.environ.get("APPDATA", "~")).expanduser()
        return base / "LibreOffice" / "4"
    if sys.platform == "darwin":
        return Path("~/Library/Application Support/LibreOffice/4").expanduser()
    base = Path(os.environ.get("XDG_CONFIG_HOME") or "~/.config").expanduser()
    return base / "libreoffice" / "4"


@dataclass(frozen=True)
class Status:
    """How the add-in stands on this machine."""

    programs: Programs
    office_version: str
    python_version: str
    #: where it is installed -> its version there
    installed: dict[str, str]
    #: the probe's formula, its value in the office, and what it must be
    probe: str
    value: object
    expected: float

    @property
    def is_right(self) -> bool:
        """Whether the probe's value is the right one."""
        return isinstance(self.value, float) and abs(self.value / self.expected - 1) < 1e-12

    @property
    def findings(self) -> list[str]:
        """What is not as it should be, one sentence each."""
        found = [
            f"the add-in installed {layer} is version {version}, this is {__version__}: run "
            "hoppersheet calc install"
            for layer, version in self.installed.items()
            if version != __version__
        ]
        if not self.installed:
            found.append("the add-in is not installed: run hoppersheet calc install")
        if not self.is_right:
            found.append(f"the probe must give {self.expected:.15g}")
        return found


def status(timeout: float = 120) -> Status:
    """Look at what is installed and compute a probe with it in a real office.

    The probe runs in a private profile that sees what the user's sees, so an office that the user
    has open is left alone. Where nothing is installed, the probe uses this version's add-in.

    Raises:
        HostError: no LibreOffice, or it does not start or answer.
    """
    programs = find()
    where = installed(programs)
    name, arguments = _PROBE
    words = ";".join(f'"{a}"' if isinstance(a, str) else f"{a:g}" for a in arguments)
    formula = f"={name}({words})"
    seed = _user_profile() if where else None
    with Office(timeout, addin=not where, like=seed) as office:
        version = office.version()
        value = office.evaluate({}, {"A1": formula})["A1"]
    return Status(
        programs, version, python_version(programs), where, formula, value, call(name, *arguments)
    )


def python_version(programs: Programs) -> str:
    """Version of the Python that talks to the office, ``"unknown"`` where it does not say."""
    try:
        done = subprocess.run(
            [
                str(programs.python), *programs.isolation, "-c",
                "import platform; print(platform.python_version())",
            ],
            capture_output=True, encoding="utf-8", errors="replace", timeout=_SECONDS, check=False,
            env=clean_environment(programs.python), cwd=programs.folder,
            stdin=subprocess.DEVNULL,
        )  # fmt: skip
    except (OSError, subprocess.TimeoutExpired):
        return "unknown"
    return done.stdout.strip() or "unknown"
