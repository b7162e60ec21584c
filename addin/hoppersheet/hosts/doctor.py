"""What ``hoppersheet doctor`` says: each part tried for real, and what stands in the way."""

from __future__ import annotations

import contextlib
import importlib
import platform
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import metadata

from .._version import __version__
from ..call import call
from ..cells.wording import counted
from ..errors import HoppersheetError
from .calc import installation, profiles, programs
from .calc.office import PROBE, Office

__all__ = ["Line", "examine", "repair"]

_SECONDS = 120


@dataclass(frozen=True)
class Line:
    """One part.

    Attributes:
        what: its name.
        says: what was tried, and how it went.
        problem: what stands in the way, and what to do; "" where nothing does.
    """

    what: str
    says: str
    problem: str = ""


def repair() -> str:
    """Throw the prepared profiles away, so that the next office gets a new one; says what it did.

    Raises:
        HoppersheetError: they cannot be removed.
    """
    folder = profiles.cache()
    if folder is None:
        return "no folder for prepared profiles can be written; there is nothing to repair"
    kept = list(folder.iterdir())
    for profile in kept:
        with contextlib.suppress(OSError):
            shutil.rmtree(profile) if profile.is_dir() else profile.unlink()
    left = [profile for profile in kept if profile.exists()]
    if left:
        raise HoppersheetError(f"{left[0]} cannot be removed; remove {folder} yourself")
    return f"{counted(len(kept), 'prepared profile')} deleted, in {folder}"


def examine() -> Iterator[Line]:
    """Try every part, in the order in which they need each other."""
    yield _tried("hoppersheet", _core)
    yield _tried("Python", _python)
    office = _tried("LibreOffice", _office)
    yield office
    if office.problem:
        for what in ("computing", "add-in in Calc"):
            yield Line(what, "not tried without LibreOffice")
    else:
        yield _tried("computing", _computing)
        yield _tried("add-in in Calc", _addin_in_calc)
    yield _tried("Excel", _excel)


def _tried(what: str, attempt: Callable[[], Line]) -> Line:
    try:
        return attempt()
    except HoppersheetError as problem:
        return Line(what, "does not work", str(problem))
    except (OSError, subprocess.SubprocessError) as problem:
        return Line(what, "does not work", f"{type(problem).__name__}: {problem}")


def _core() -> Line:
    name, arguments = PROBE
    words = f"{name}({','.join(f'{a:g}' for a in arguments)})"
    # The same from its definition: throughput x hours / bulk density.
    value = call(name, *arguments)
    right = abs(value / (220 * 3.5 / 36.4) - 1) < 1e-12
    return Line(
        "hoppersheet",
        f"{__version__}, {words} gives {value:.6g}: {'right' if right else 'WRONG'}",
        "" if right else "hoppersheet itself computes wrongly; install it again",
    )


def _python() -> Line:
    broken = []
    needed = sorted(
        match[0]
        for line in metadata.requires("hoppersheet") or ()
        if "extra ==" not in line and (match := re.match(r"[\w.-]+", line))
    )
    for name in needed:
        try:
            importlib.import_module(name.replace("-", "_"))
        except Exception as problem:  # whatever a broken installation raises
            broken.append(f"{name} ({type(problem).__name__}: {str(problem)[:80]})")
    says = f"{platform.python_version()}, {sys.executable}; {len(needed) - len(broken)} of "
    says += f"{counted(len(needed), 'package')} load"
    if broken:
        return Line(
            "Python", says, f"does not load: {', '.join(broken)}; install hoppersheet again"
        )
    return Line("Python", says)


def _office() -> Line:
    found = programs.find()
    begun = time.monotonic()
    with Office(_SECONDS, addin=False) as office:
        version = office.version()
    return Line(
        "LibreOffice",
        f"{version}, {found.soffice}; starts and ends in {time.monotonic() - begun:.1f} s; its "
        f"Python {installation.python_version(found)}, {found.python}",
    )


def _computing() -> Line:
    """The office that compute, audit and handoff use, with the add-in in a profile of its own."""
    folder, before = profiles.cache(), profiles.kept(programs.find())
    with Office(_SECONDS) as office:  # it does not start without the right answer to a known call
        renewed = office.renewed
    if folder is None:
        return Line(
            "computing",
            "the known call is right, in a new profile each time",
            "no folder for prepared profiles can be written, so each start takes seconds longer; "
            "set XDG_CACHE_HOME (Windows: LOCALAPPDATA) to a folder of your own",
        )
    how = "the prepared profile" if before else "a new profile, now prepared"
    if renewed:
        how = "a new profile, because the prepared one was damaged"
    return Line("computing", f"the known call is right, in {how}; they are kept in {folder}")


def _addin_in_calc() -> Line:
    status = installation.status(_SECONDS)
    where = ", ".join(f"{version} {layer}" for layer, version in status.installed.items())
    verdict = "right" if status.is_right else f"WRONG ({status.value!s:.60})"
    return Line(
        "add-in in Calc",
        f"{where or 'not installed'}; {status.probe} is {verdict}",
        "; ".join(status.findings),
    )


def _excel() -> Line:
    if sys.platform != "win32":
        return Line(
            "Excel", "not tried: the add-in for Excel runs on Windows, this is another system"
        )
    done = subprocess.run(
        [sys.executable, "-I", "-m", "hoppersheet", "excel", "status"],
        capture_output=True, encoding="utf-8", errors="replace", timeout=_SECONDS, check=False,
        stdin=subprocess.DEVNULL,
    )  # fmt: skip
    words = " ".join((done.stdout + done.stderr).split())
    if done.returncode:
        return Line(
            "Excel", "the add-in is not ready", words or "hoppersheet excel status says why"
        )
    return Line("Excel", words)
