"""Times two things in turn, so that whatever else the machine does meets both alike."""

from __future__ import annotations

import os
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

__all__ = ["Pair", "Row", "Run", "in_turn", "print_table", "process"]


@dataclass(frozen=True)
class Run:
    """One run: seconds on the clock, seconds of processor, and the highest memory in MB or 0."""

    wall: float
    cpu: float
    peak: float = 0.0


@dataclass(frozen=True)
class Pair:
    """The runs of one thing and of what it is compared with."""

    ours: list[Run]
    floor: list[Run]

    def least(self, what: str) -> tuple[float, float]:
        """The least of each: what ran while the machine was busy with others only costs more."""
        return (
            min(getattr(run, what) for run in self.ours),
            min(getattr(run, what) for run in self.floor),
        )

    def ratio(self, what: str) -> float:
        """Ours over the floor."""
        ours, floor = self.least(what)
        return ours / floor

    @property
    def peak(self) -> float:
        """The highest memory that ours took, MB."""
        return max(run.peak for run in self.ours)


@dataclass(frozen=True)
class Row:
    """One line of the table."""

    work: str
    compared: str
    goal: str
    found: str
    seconds: str
    bound: str = ""


def process(command: Sequence[str], statuses: Sequence[int] = (0,)) -> Run:
    """Run a program to its end.

    The processor time and the memory are those of the program and of what it started itself.

    Raises:
        RuntimeError: it ended with another status; says what it printed.
    """
    with tempfile.TemporaryFile() as errors:
        start = time.perf_counter()
        # A user's Python keeps what it has compiled, whatever this one was told.
        kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=errors, env=kept)
        _, status, usage = os.wait4(child.pid, 0)
        wall = time.perf_counter() - start
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode not in statuses:
            errors.seek(0)
            said = errors.read().decode("utf-8", "replace")[-2000:]
            raise RuntimeError(f"{' '.join(command)} ended with {child.returncode}: {said}")
    return Run(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def in_turn(ours: Callable[[], Run], floor: Callable[[], Run], times: int) -> Pair:
    """Run the two things one after the other, ``times`` times."""
    pair = Pair([], [])
    for _ in range(times):
        pair.floor.append(floor())
        pair.ours.append(ours())
    return pair


def print_table(rows: Sequence[Row]) -> None:
    """The table as it stands in README.md here."""
    print("| work | compared with | goal | found | seconds, ours / floor | what bounds it |")
    print("|---|---|---|---|---|---|")
    for row in rows:
        cells = (row.work, row.compared, row.goal, row.found, row.seconds, row.bound)
        print(f"| {' | '.join(cells)} |")
