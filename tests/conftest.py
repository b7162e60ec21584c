"""Fixtures that several tests use."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

# The suite runs the same cases each time, so that a change is to blame when it fails, and none of
# them by the clock. With HOPPERSHEET_FUZZ they are new ones, to look for trouble.
settings.register_profile(
    "hoppersheet",
    deadline=None,
    max_examples=max(100, int(os.environ.get("HOPPERSHEET_FUZZ", "60"))),
    derandomize="HOPPERSHEET_FUZZ" not in os.environ,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("hoppersheet")

# openpyxl writes other bytes where lxml is installed, which only the schema checks bring along.
os.environ["OPENPYXL_LXML"] = "False"

# A run started with nohup or & inherits Ctrl-C and the hang-up signal as ignored, and so would
# every program that a test starts and then interrupts. A handler is not inherited, ignoring is.
for _signal in (signal.SIGINT, signal.SIGHUP):
    if signal.getsignal(_signal) is signal.SIG_IGN:
        signal.signal(_signal, signal.default_int_handler)


@pytest.fixture(scope="session")
def office() -> Iterator[object]:
    """A running headless Calc with the add-in; a missing one is a failure, not a skip."""
    from hoppersheet.hosts.calc.office import Office

    with Office(timeout=120) as office:
        yield office
