"""The headless office: two at once, one that hangs, one that dies, one that nobody closes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from hoppersheet.errors import HostError
from hoppersheet.hosts.calc import programs
from hoppersheet.hosts.calc.office import Office
from hoppersheet.hosts.calc.worker_link import WorkerLink
from hosts.calc.processes import processes_of, wait_for

pytestmark = pytest.mark.calc


def wait_until_gone(word: object) -> None:
    wait_for(lambda: not processes_of(word))


def test_two_offices_compute_at_once() -> None:
    with Office() as first, Office() as second, ThreadPoolExecutor(2) as threads:
        assert first.profile != second.profile
        masses = [
            threads.submit(office.call, "HOPPER_HELD_MASS", [volume, 36.5])
            for volume in (10, 20)
            for office in (first, second)
        ]
        assert [mass.result() for mass in masses] == [365.0, 365.0, 730.0, 730.0]


def test_threads_that_share_an_office_get_their_own_answers() -> None:
    """Two requests at once gave each thread the other's answer: a wrong number, unnoticed."""
    volumes = range(1, 101)
    with Office() as office, ThreadPoolExecutor(4) as threads:
        masses = threads.map(lambda v: office.call("HOPPER_HELD_MASS", [v, 40]), volumes)
        assert list(masses) == [v * 40.0 for v in volumes]


def test_an_office_leaves_nothing_behind() -> None:
    with Office() as office:
        profile = office.profile
        assert len(processes_of(profile)) >= 2  # the worker and its office
    wait_until_gone(profile)
    assert not profile.exists()


def test_an_office_that_does_not_answer_is_killed() -> None:
    with Office() as office:
        office.set_timeout(1)
        with pytest.raises(HostError, match="did not answer within 1 s"):
            office.ask("sleep", seconds=600)
        wait_until_gone(office.profile)
        # What comes after is refused at once and does not start another office.
        with pytest.raises(HostError, match="has ended"):
            office.call("HOPPER_HELD_MASS", [16, 36.5])


def test_an_office_that_dies_is_reported() -> None:
    with Office() as office:
        (killed,) = processes_of(office.profile, b"soffice.bin")
        os.kill(killed, signal.SIGKILL)
        with pytest.raises(HostError, match="LibreOffice"):
            office.call("HOPPER_HELD_MASS", [16, 36.5])
    wait_until_gone(office.profile)


def test_no_office_outlives_a_killed_program(tmp_path: Path) -> None:
    program = textwrap.dedent("""
        import time
        from hoppersheet.hosts.calc.office import Office
        with Office() as office:
            print(office.profile, flush=True)
            time.sleep(600)
    """)
    with subprocess.Popen(
        [sys.executable, "-c", program], stdout=subprocess.PIPE, text=True
    ) as running:
        assert running.stdout is not None
        profile = Path(running.stdout.readline().strip())
        assert profile.name == "profile", "it did not start"
        assert processes_of(profile)
        running.kill()
    wait_until_gone(profile)
    wait_for(lambda: not profile.parent.exists())  # the worker or its helper removes it last


def test_an_office_without_the_add_in_does_not_know_the_functions() -> None:
    with Office(addin=False) as office:
        assert office.evaluate({}, {"A1": "=HOPPER_VERSION()", "A2": "=1+1"}) == {
            "A1": "#NAME?",
            "A2": 2.0,
        }


def test_a_missing_office_is_one_clear_line(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(programs.OVERRIDE, str(tmp_path / "nowhere"))
    with pytest.raises(HostError, match="nowhere, which does not exist"):
        programs.find()
    monkeypatch.delenv(programs.OVERRIDE)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(programs, "_FOLDERS", ())
    programs.clear()
    try:
        with pytest.raises(HostError, match="LibreOffice was not found; install it"):
            programs.find()
    finally:
        programs.clear()


@pytest.fixture
def no_office(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Callable[[str], None]]:
    """Puts a shell script in the place of soffice."""

    def put(script: str) -> None:
        for name in ("soffice", "unopkg"):
            program = tmp_path / name
            program.write_text(f"#!/bin/sh\n{script}\n")
            program.chmod(0o755)
        monkeypatch.setenv(programs.OVERRIDE, str(tmp_path / "soffice"))

    yield put
    monkeypatch.undo()
    programs.clear()


def test_a_program_that_is_no_office_is_reported(no_office: Callable[[str], None]) -> None:
    no_office("echo 'no display' >&2; exit 77")
    with pytest.raises(HostError, match="ended at once with status 77: no display"), Office():
        pass


def test_an_office_that_cannot_be_reached_is_not_left_running(
    no_office: Callable[[str], None], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    no_office(f"WORD={tmp_path} exec sleep 600")
    start = WorkerLink.start

    def soon_late(link: WorkerLink, profile: Path) -> None:
        link.deadline = time.monotonic() + 1  # from here on: the worker itself may take longer
        start(link, profile)

    monkeypatch.setattr(WorkerLink, "start", soon_late)
    with (
        pytest.raises(HostError, match="started but cannot be reached"),
        Office(addin=False),
    ):
        pass
    wait_until_gone(f"WORD={tmp_path}")
