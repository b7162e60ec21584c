"""Processes that a test started: by a word that only they know, and waiting for them.

Nothing here or in the tests that use it may depend on how fast the machine is: what is waited for
comes or the test fails after PATIENCE, and a killed process may stand in /proc for a moment longer.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

__all__ = ["PATIENCE", "processes_of", "wait_for"]

#: Seconds after which a test gives up; spent only where it fails.
PATIENCE = 240


def processes_of(word: object, program: bytes = b"") -> list[int]:
    """Ids of the processes that know a word, by their environment or their command line.

    Args:
        word: such as the path of a temporary folder.
        program: part of the name of the program, the first word of its command line.
    """
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            line = (process / "cmdline").read_bytes()
            told = line + (process / "environ").read_bytes()
        except OSError:  # it has ended, or is another user's
            continue
        if str(word).encode() in told and program in line.split(b"\0")[0]:
            found.append(int(process.name))
    return found


def wait_for(what: Callable[[], object]) -> None:
    """Wait until something is true."""
    end = time.monotonic() + PATIENCE
    while not what():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.05)
