"""What ``hoppersheet excel status`` says: each part tried, and what stands in the way."""

from __future__ import annotations

import subprocess
import time
from collections.abc import Callable
from dataclasses import dataclass

from ...errors import HoppersheetError
from . import addin_file
from .bootstrap import MODULE_NAME, SERVER, module_text, xlwings_version_of
from .folders import Folders
from .install import no_dll
from .obstacles import Registry, notes, obstacles
from .server import TRY
from .vba_text import MODULE_NAME as FUNCTIONS
from .vba_text import module_text as functions_text

__all__ = ["Line", "examine", "start_server"]

_AGAIN = "close Excel and run: hoppersheet excel install"
#: Seconds that Python may take to start; xlwings' DLL gives it a minute.
LONGEST = 60.0
_IT = "For IT: {} See hosts/excel/IT.md."
_WITHOUT = "Without IT: workbooks with the functions stored in them (handoff --with-functions)."


@dataclass(frozen=True)
class Line:
    """One line of the report.

    Attributes:
        what: the part; says: one sentence; wrong: whether it keeps the add-in from working.
    """

    what: str
    says: str
    wrong: bool = False


def start_server(folders: Folders) -> tuple[float, str]:
    """Start Python as Excel would; (seconds, what went wrong or "")."""
    command = [str(folders.interpreter), "-I", "-B", "-m", SERVER, TRY]
    begun = time.monotonic()
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST, check=False)
    except OSError as problem:
        return 0.0, f"does not start: {problem.strerror or problem}"
    except subprocess.TimeoutExpired:
        return LONGEST, f"does not answer within {LONGEST:.0f} s"
    seconds = time.monotonic() - begun
    if done.returncode == 0:
        return seconds, ""
    errors = (done.stderr or "").strip().splitlines()
    return seconds, f"ends at once, with status {done.returncode}" + (
        f": {errors[-1]}" if errors else ""
    )


def _addin(folders: Folders) -> Line:
    if not folders.addin.is_file():
        return Line("add-in file", f"not installed: there is no {folders.addin}; {_AGAIN}", True)
    try:
        found = addin_file.modules_in(folders.addin)
        wanted = {MODULE_NAME: module_text(folders.paths), FUNCTIONS: functions_text()}
    except HoppersheetError as problem:
        return Line("add-in file", f"{problem}; {_AGAIN}", True)
    built_for = xlwings_version_of(found.get(MODULE_NAME, ""))
    if built_for != folders.xlwings_version:
        return Line(
            "add-in file",
            f"built for xlwings {built_for or '?'}, but {folders.xlwings_version} is installed: "
            f"every cell shows #VALUE!; {_AGAIN}",
            True,
        )
    if found.get(MODULE_NAME) != wanted[MODULE_NAME]:
        return Line("add-in file", f"starts another Python than this one; {_AGAIN}", True)
    if found != wanted:
        return Line("add-in file", f"from another version of hoppersheet; {_AGAIN}", True)
    return Line("add-in file", f"written by this installation: {folders.addin}")


def _python(folders: Folders, start: Callable[[Folders], tuple[float, str]]) -> Line:
    if folders.dll is None:
        return Line("DLL", no_dll(folders), True)
    seconds, problem = start(folders)
    if problem:
        return Line("Python", f"{folders.interpreter} {problem}", True)
    return Line("Python", f"starts in {seconds:.1f} s, answers HOPPER_VERSION")


def _noted(registry: Registry) -> list[Line]:
    """What the add-in itself noted while Excel ran."""
    found = notes(registry)
    lines = []
    if found.get("opened"):
        lines.append(Line("last opened", found["opened"]))
    # A note is a time and a text; the text is empty where nothing was refused since the start.
    refused = found.get("texts refused", "")
    if len(refused.split(maxsplit=2)) > 2:
        lines.append(Line("texts", f"Excel refused a text of the function wizard: {refused}"))
    if found.get("Python failed"):
        lines.append(
            Line("last failure", f"Excel could not reach Python: {found['Python failed']}")
        )
    return lines


def examine(
    folders: Folders,
    registry: Registry,
    start: Callable[[Folders], tuple[float, str]] = start_server,
) -> list[Line]:
    """Everything that can be tried without Excel, in the order in which Excel needs it."""
    lines = [_addin(folders), _python(folders, start)]
    for obstacle in obstacles(folders, registry):
        says = obstacle.user
        if obstacle.it:
            says = f"{says} {_IT.format(obstacle.it)}"
        if obstacle.what == "policy":
            says = f"{says} {_WITHOUT}"
        lines.append(Line(obstacle.what, says, obstacle.what != "DLL"))
    return [*lines, *_noted(registry), Line("not tried", "Excel itself")]
