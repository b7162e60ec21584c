"""The connection to :mod:`.worker`, the process that has ``uno``: requests with a time limit."""

from __future__ import annotations

import contextlib
import json
import os
import queue
import signal
import subprocess
import threading
from pathlib import Path
from typing import Any

from ...errors import HostError
from .cell_values import ERROR_NUMBERS, error_name
from .programs import Programs

__all__ = ["WorkerLink", "to_worker"]

_SECONDS_TO_CLOSE = 15


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
            return error_name(value["error"])
        return {key: _from_worker(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_from_worker(item) for item in value]
    return value


class WorkerLink:
    """A worker with one office in it, which has started when this returns.

    The folder ``passing`` takes the office's temporary files; it is removed when the worker ends,
    also when this program was killed.

    Raises:
        HostError: the office does not start; so does every later request that it does not answer
            in time, or refuses.
    """

    def __init__(
        self, programs: Programs, profile: Path, timeout: float, passing: Path | None = None
    ) -> None:
        self.timeout = timeout
        self.ended = False
        # The office must not pick up hoppersheet's own Python environment.
        environment = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
        if passing:
            # An office that is killed leaves its own temporary folders behind.
            environment |= dict.fromkeys(("TMPDIR", "TEMP", "TMP"), str(passing))
        self.process = subprocess.Popen(
            [
                str(programs.python), "-X", "utf8", str(Path(__file__).with_name("worker.py")),
                str(programs.soffice), str(profile), str(timeout),
                *([str(passing)] if passing else []),
            ],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            encoding="utf-8", env=environment, start_new_session=True,
        )  # fmt: skip
        self.lines: queue.Queue[str] = queue.Queue()
        self.errors: list[str] = []
        #: One request at a time: with two at once each could take the other's answer.
        self.turn = threading.Lock()
        self.readers = [
            threading.Thread(target=read, daemon=True)
            for read in (self._read_answers, self._read_errors)
        ]
        for reader in self.readers:
            reader.start()
        try:
            self.answer("starting")
        except BaseException:
            self.kill()  # the worker may be gone, and an office that it could not reach be left
            raise

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
        """Ask the office for one thing (the worker's method ``do_<what>``) and give its answer."""
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
            reader.join(5)
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            # What could not be written any more is of no interest.
            with contextlib.suppress(OSError):
                if pipe is not None:
                    pipe.close()
