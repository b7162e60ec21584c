"""The connection to :mod:`.worker`, the process that has ``uno``: requests with a time limit."""

from __future__ import annotations

import contextlib
import json
import os
import queue
import signal
import subprocess
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

from ...errors import HostError
from ...workbook.sheet_cells import ErrorText
from .cell_values import ERROR_NUMBERS, error_name
from .programs import Programs, clean_environment

__all__ = ["TookTooLong", "WorkerLink", "to_worker"]

_SECONDS_TO_CLOSE = 15
#: The worker itself gives up when the office does not start; its word, which says more, is waited
#: for this much longer.
_SECONDS_TO_SAY_SO = 10


def to_worker(value: Any) -> Any:
    """A cell value, or rows of them, as the worker's JSON."""
    if isinstance(value, str) and value in ERROR_NUMBERS:
        return {"formula": f"={value}"}
    if isinstance(value, (list, tuple)):
        return [to_worker(item) for item in value]
    return value


def _from_worker(value: Any) -> Any:
    if isinstance(value, dict):
        if set(value) == {"error"}:
            return ErrorText(error_name(value["error"]))
        return {key: _from_worker(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_from_worker(item) for item in value]
    return value


class TookTooLong(HostError):
    """The office did not answer in time; asking another one would take as long again."""


class WorkerLink:
    """A worker, and in it one office at a time.

    The worker is there before anything else is made, and makes every folder itself: whenever this
    program is killed, the worker ends its office and removes them.

    Args:
        programs: the office.
        timeout: seconds that all of the start, and then each request, may take.

    Attributes:
        deadline: when the start must be over (monotonic clock), None once it is.
        folder: the office's own: for its profile, its temporary files and the files it opens.

    Raises:
        HostError: the worker does not start; so does every later request that it does not answer
            in time, or refuses.
    """

    folder: Path

    def __init__(self, programs: Programs, timeout: float) -> None:
        self.programs = programs
        self.timeout = timeout
        self.deadline: float | None = time.monotonic() + timeout
        self.ended = False
        temporary = str(Path(tempfile.gettempdir()).resolve())
        self.process = subprocess.Popen(
            [
                str(programs.python), *programs.isolation, "-X", "utf8",
                str(Path(__file__).with_name("worker.py")), temporary, *programs.isolation,
            ],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            encoding="utf-8", errors="backslashreplace", start_new_session=True,
            env=clean_environment(programs.python), cwd=programs.folder,
        )  # fmt: skip
        self.lines: queue.Queue[str] = queue.Queue()
        self.errors: list[str] = []
        #: One request at a time: with two at once each could take the other's answer.
        self.turn = threading.Lock()
        self.readers = [
            threading.Thread(target=read, daemon=True)
            for read in (self._read_answers, self._read_errors)
        ]
        try:
            for reader in self.readers:
                reader.start()
            self.folder = Path(self.answer("starting"))
        except BaseException:
            self.kill()
            raise

    def start(self, profile: Path) -> None:
        """Start the office with this profile."""
        self.ask(
            "start",
            soffice=str(self.programs.soffice),
            profile=str(profile),
            seconds=self.seconds_left(),
        )

    def seconds_left(self) -> float:
        """How long the next answer may take."""
        if self.deadline is None:
            return self.timeout
        return max(0.0, self.deadline - time.monotonic())

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
        """Ask for one thing (a method ``do_<what>`` in the worker) and give its answer."""
        assert self.process.stdin is not None
        with self.turn:
            try:
                self.process.stdin.write(json.dumps({"do": what, **arguments}) + "\n")
                self.process.stdin.flush()
            except (BrokenPipeError, ValueError):
                raise HostError(f"LibreOffice has ended before {what} could be asked for") from None
            return self.answer(what)

    def answer(self, what: str) -> Any:
        """The next answer; the whole process group is killed when none comes in time."""
        try:
            starting = self.deadline is not None
            line = self.lines.get(
                timeout=self.seconds_left() + (_SECONDS_TO_SAY_SO if starting else 0)
            )
        except queue.Empty:
            self.kill()
            raise TookTooLong(
                f"LibreOffice did not answer within {self.timeout:g} s ({what}) and was stopped"
            ) from None
        if not line:
            self.kill()
            reason = f": {self.errors[-1]}" if self.errors else ""
            raise HostError(f"LibreOffice ended unexpectedly ({what}){reason}")
        content = json.loads(line)
        if "problem" in content:
            kind = TookTooLong if content.get("late") else HostError
            raise kind(f"LibreOffice: {content['problem']} ({what})")
        return _from_worker(content["result"])

    def close(self) -> None:
        """End the office the friendly way, then whatever is left of it the other way."""
        if not self.ended:
            assert self.process.stdin is not None
            with contextlib.suppress(BrokenPipeError, subprocess.TimeoutExpired):
                self.process.stdin.close()
                self.process.wait(_SECONDS_TO_CLOSE)
        self.kill()

    def kill(self) -> None:
        """Kill the worker and every office process that it started; once."""
        if self.ended:
            return
        self.ended = True
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
        for reader in self.readers:
            if reader.ident is not None:  # it was started
                reader.join(5)
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            # What could not be written any more is of no interest.
            with contextlib.suppress(OSError):
                if pipe is not None:
                    pipe.close()
