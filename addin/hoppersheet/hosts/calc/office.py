"""A headless LibreOffice Calc to compute with, from a Python that has no ``uno``.

    with Office(timeout=60) as office:
        office.call("HOPPER_HELD_MASS", [16, 25.5])                                # 408.0
        office.evaluate({"A1": 16}, {"B1": "=HOPPER_HELD_MASS(A1;25.5)"})          # {"B1": 408.0}
        office.compute(Path("quote.xlsx"))             # {"Quote": {"F12": 1234.5, "F13": "#N/A"}}

Each office has its own copy of a prepared profile with the add-in in it, its own pipe and its own
process group, so any number may run at once beside an office that the user has open. One that does
not answer in time is killed with all its processes. Nothing is tried twice, except that LibreOffice
may drop the connection once at its first start after an extension came or went.

Numbers come back as float (TRUE is 1.0), text as str, errors by name: ``"#N/A"``.
"""

from __future__ import annotations

import atexit
import contextlib
import json
import os
import queue
import shutil
import signal
import subprocess
import tempfile
import threading
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from types import TracebackType
from typing import Any

from ...call_values import OMITTED
from ...errors import HostError
from . import extension
from .cell_values import ERROR_NUMBERS, error_name
from .programs import Programs, find

__all__ = ["Office"]

#: What gives each error value in a cell, for writing one.
_ERROR_FORMULAS = {
    "#NULL!": "=#NULL!",
    "#DIV/0!": "=#DIV/0!",
    "#VALUE!": "=#VALUE!",
    "#REF!": "=#REF!",
    "#NAME?": "=#NAME?",
    "#NUM!": "=#NUM!",
    "#N/A": "=#N/A",
}


def _to_worker(value: Any) -> Any:
    if value is OMITTED:
        return {"omitted": True}
    if isinstance(value, str) and value in ERROR_NUMBERS:
        return {"formula": _ERROR_FORMULAS[value], "error": ERROR_NUMBERS[value]}
    if isinstance(value, (list, tuple)):
        return [_to_worker(item) for item in value]
    return value


def _from_worker(value: Any) -> Any:
    if isinstance(value, dict):
        if set(value) == {"error"}:
            return error_name(value["error"])
        return {key: _from_worker(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_from_worker(item) for item in value]
    return value


class _Worker:
    """The process that has ``uno``: requests as JSON lines, each with a time limit."""

    def __init__(self, programs: Programs, profile: Path, timeout: float) -> None:
        self.timeout = timeout
        # The office must not pick up hoppersheet's own Python environment.
        environment = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
        self.process = subprocess.Popen(
            [
                str(programs.python), "-X", "utf8", str(Path(__file__).with_name("worker.py")),
                str(programs.soffice), str(profile), str(timeout),
            ],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            encoding="utf-8", env=environment, start_new_session=True,
        )  # fmt: skip
        self.lines: queue.Queue[str] = queue.Queue()
        self.errors: list[str] = []
        for target in (self._read_answers, self._read_errors):
            threading.Thread(target=target, daemon=True).start()
        self.answer("starting")

    def _read_answers(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.lines.put(line)
        self.lines.put("")

    def _read_errors(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.errors = [*self.errors[-19:], line.strip()]

    def ask(self, what: str, **arguments: Any) -> Any:
        assert self.process.stdin is not None
        try:
            self.process.stdin.write(json.dumps({"do": what, **arguments}) + "\n")
            self.process.stdin.flush()
        except (BrokenPipeError, ValueError):
            raise HostError(f"LibreOffice has ended before {what} could be asked for") from None
        return self.answer(what)

    def answer(self, what: str) -> Any:
        """The next answer; the whole process group is killed when none comes in time."""
        try:
            # The worker itself gives up a little earlier when the office does not start.
            line = self.lines.get(timeout=self.timeout + 2)
        except queue.Empty:
            self.kill()
            raise HostError(
                f"LibreOffice did not answer within {self.timeout:g} s ({what}) and was stopped"
            ) from None
        if not line:
            self.kill()
            said = f": {self.errors[-1]}" if self.errors else ""
            raise HostError(f"LibreOffice ended unexpectedly ({what}){said}")
        content = json.loads(line)
        if "problem" in content:
            raise HostError(f"LibreOffice: {content['problem']} ({what})")
        return _from_worker(content["result"])

    def close(self) -> None:
        """End the office the friendly way, then whatever is left of it the other way."""
        if self.process.poll() is None and self.process.stdin is not None:
            try:
                self.process.stdin.close()
                self.process.wait(15)
            except (BrokenPipeError, subprocess.TimeoutExpired):
                pass
        self.kill()

    def kill(self) -> None:
        if hasattr(os, "killpg"):
            # The group outlives its leader as long as an office is left in it.
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(self.process.pid, signal.SIGKILL)
        elif self.process.poll() is None:
            subprocess.run(
                ["taskkill", "/F", "/T", "/PID", str(self.process.pid)],
                capture_output=True,
                check=False,
            )
        self.process.wait()


def _remove(folder: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)


@lru_cache(maxsize=4)
def _prepared_profile(programs: Programs, packed: bytes | None) -> Path:
    """A profile with the add-in installed and started once; made once per process, then copied."""
    folder = Path(tempfile.mkdtemp(prefix="hoppersheet-profile-"))
    atexit.register(_remove, folder)
    profile = folder / "profile"
    timeout = 120.0
    if packed is not None:
        package = folder / extension.FILE_NAME
        package.write_bytes(packed)
        worker = _Worker(programs, profile, timeout)
        try:
            worker.ask("install", file=str(package))
        finally:
            worker.close()
    worker = _Worker(programs, profile, timeout)
    try:
        if packed is not None:
            worker.ask("call", name="HOPPER_VERSION", arguments=[])
    finally:
        worker.close()
    return profile


def _copy_extensions(source: Path, target: Path) -> None:
    for name in ("uno_packages", "extensions"):
        if (source / "user" / name).is_dir():
            shutil.copytree(source / "user" / name, target / "user" / name, dirs_exist_ok=True)


class Office:
    """One headless LibreOffice Calc, for use in a ``with`` statement.

    Args:
        timeout: seconds that starting, and then each request, may take.
        addin: install the add-in; False gives an office as it comes.
        like: a profile folder whose installed extensions this office shall see too.

    Raises:
        HostError: no office found, it does not start or answer, a file cannot be opened.
    """

    def __init__(
        self, timeout: float = 60, *, addin: bool = True, like: Path | None = None
    ) -> None:
        self.timeout = timeout
        self.addin = addin
        self.like = like
        self._worker: _Worker | None = None
        self._folder: Path | None = None

    def __enter__(self) -> Office:
        programs = find()
        prepared = _prepared_profile(programs, _packed() if self.addin else None)
        self._folder = Path(tempfile.mkdtemp(prefix="hoppersheet-office-"))
        try:
            self.profile = self._folder / "profile"
            shutil.copytree(prepared, self.profile, symlinks=True)
            if self.like is not None:
                _copy_extensions(self.like, self.profile)
            self._worker = _Worker(programs, self.profile, self.timeout)
        except BaseException:
            self.close()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """End the office and remove its profile."""
        if self._worker is not None:
            self._worker.close()
            self._worker = None
        if self._folder is not None:
            _remove(self._folder)
            self._folder = None

    def _ask(self, what: str, **arguments: Any) -> Any:
        if self._worker is None:
            raise HostError("the office is not running")
        return self._worker.ask(what, **arguments)

    def version(self) -> str:
        """Version of LibreOffice, such as ``"7.4.7.2"``."""
        return str(self._ask("version"))

    def call(self, name: str, arguments: Sequence[Any] = ()) -> Any:
        """One function called directly, without any document.

        Args:
            name: a cell function of ours or of Calc's own (English name).
            arguments: number, text, bool, OMITTED, or a range as a list of rows.

        Returns:
            The value, or rows of values. LibreOffice tells ``#N/A`` from other errors here and
            nothing more; the others are given as ``"#VALUE!"``. :meth:`evaluate` is exact.
        """
        return self._ask("call", name=name, arguments=_to_worker(arguments))

    def describe(self) -> list[dict[str, Any]]:
        """What the function wizard shows: ``name``, ``text``, ``category``, ``arguments``."""
        found: list[dict[str, Any]] = self._ask("describe")
        return found

    def evaluate(self, cells: Mapping[str, Any], formulas: Mapping[str, str]) -> dict[str, Any]:
        """Write cells and formulas into an empty sheet and compute them.

        Args:
            cells: address -> number, text, bool, None for a blank, or an error such as ``"#N/A"``.
            formulas: address -> formula with English names and arguments separated by
                semicolons; an address that is a range makes an array formula.

        Returns:
            Address -> value; for an array formula, its rows of values.
        """
        found: dict[str, Any] = self._ask(
            "evaluate",
            cells={address: _to_worker(value) for address, value in cells.items()},
            formulas=dict(formulas),
        )
        return found

    def compute(
        self, path: Path, save_as: Path | None = None, pdf: Path | None = None
    ) -> dict[str, dict[str, Any]]:
        """Open a spreadsheet file, calculate all of it afresh, give every formula cell's value.

        Args:
            path: the file; it is not changed.
            save_as: also save it there, as .xlsx, .ods or .csv by the name's end. What Calc saves
                loses parts of an .xlsx it does not know; never hand it to a user as his own file.
            pdf: also print it there.

        Returns:
            Sheet -> address (``"A1"``) -> value, for each cell that holds a formula.
        """
        found: dict[str, dict[str, Any]] = self._ask(
            "compute",
            file=str(path),
            save_as=str(save_as) if save_as else None,
            pdf=str(pdf) if pdf else None,
        )
        return found

    def convert(self, path: Path, out: Path) -> None:
        """Open a file, calculate it afresh, write it as .pdf, .xlsx, .ods or .csv."""
        self._ask("convert", file=str(path), out=str(out))


@lru_cache(maxsize=1)
def _packed() -> bytes:
    """The add-in of this installation, packed."""
    with tempfile.TemporaryDirectory(prefix="hoppersheet-") as folder:
        return extension.build(Path(folder) / extension.FILE_NAME).read_bytes()
