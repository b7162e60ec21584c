"""``compute`` when something goes wrong: the old file stays whole, one line says why.

An office that hangs or crashes, programs that are killed, two at once, folders that cannot be
written, no engine at all.
"""

from __future__ import annotations

import glob
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from hoppersheet.errors import HostError, InputFileError
from hoppersheet.hosts.calc.office import Office
from hoppersheet.workbook.compute import compute
from hoppersheet.workbook.package import Package
from hosts.calc.processes import PATIENCE, processes_of, wait_for
from workbook.rich_workbook import slow
from workbook.rich_workbook import small as workbook


def crash(office: Office) -> None:
    (office_itself,) = processes_of(office.profile, b"soffice.bin")
    os.kill(office_itself, signal.SIGKILL)


def worker_killed(office: Office) -> None:
    assert office._worker is not None
    os.killpg(office._worker.process.pid, signal.SIGKILL)


def stopped(office: Office) -> None:
    assert office._worker is not None
    os.killpg(office._worker.process.pid, signal.SIGSTOP)


def works_on(office: Office) -> None:
    """Nothing happens: it computes for longer than it may."""


@pytest.mark.calc
@pytest.mark.parametrize(
    ("blow", "words"),
    [
        (works_on, r"LibreOffice did not answer within 2 s \(compute\) and was stopped"),
        (stopped, r"LibreOffice did not answer within 2 s \(compute\) and was stopped"),
        (crash, r"LibreOffice: it crashed in the middle of the work \(compute\)"),
        (worker_killed, r"LibreOffice ended unexpectedly \(compute\)"),
    ],
)
def test_an_office_that_hangs_or_dies_in_the_middle(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    blow: Callable[[Office], None],
    words: str,
) -> None:
    path = slow(tmp_path / "b.xlsx")
    out = workbook(tmp_path / "out.xlsx", A1="old")
    old = out.read_bytes()
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    real = Office.compute
    profiles = []

    def struck(office: Office, *arguments: object, **named: object) -> object:
        profiles.append(str(office.profile))
        # Of those that die, the end is told at once, however slow the machine.
        office.set_timeout(2 if blow in (works_on, stopped) else PATIENCE)
        timer = threading.Timer(1, blow, [office])
        timer.start()
        try:
            return real(office, *arguments, **named)  # type: ignore[arg-type]
        finally:
            timer.join()

    monkeypatch.setattr(Office, "compute", struck)
    with pytest.raises(HostError, match=rf"\A{words}\Z"):
        compute(path, out, "calc")
    assert out.read_bytes() == old
    assert sorted(p.name for p in tmp_path.iterdir()) == ["b.xlsx", "out.xlsx", "temporary"]
    assert list(temporary.iterdir()) == []
    wait_for(lambda: not processes_of(profiles[0]))


def started(book: Path, out: Path, temporary: Path, **environment: str) -> subprocess.Popen[str]:
    """The command line at work on a book, with a folder of its own for temporary files."""
    temporary.mkdir(exist_ok=True)
    words = ("compute", book, "--out", out, "--engine", "calc", "--force")
    return subprocess.Popen(
        [sys.executable, "-m", "hoppersheet", *words],
        env={**os.environ, "TMPDIR": str(temporary), **environment},
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip


@pytest.mark.calc
@pytest.mark.parametrize("blow", [signal.SIGKILL, signal.SIGINT])
def test_a_program_stopped_in_the_middle_leaves_nothing_but_the_old_file(
    tmp_path: Path, blow: signal.Signals
) -> None:
    book, temporary = slow(tmp_path / "b.xlsx"), tmp_path / "temporary"
    out = workbook(tmp_path / "out.xlsx", A1="old")
    old = out.read_bytes()
    with started(book, out, temporary) as program:
        # The copy that Calc opens is there, so it is being loaded or computed.
        wait_for(lambda: glob.glob(f"{temporary}/*/*/b.xlsx"))  # noqa: PTH207 folders come and go
        time.sleep(1)
        program.send_signal(blow)
        said, _ = program.communicate(timeout=PATIENCE)
    stopped = (128 + blow, "hoppersheet: interrupted")
    assert (program.returncode, said.strip()) == (
        (-blow, "") if blow == signal.SIGKILL else stopped
    )
    # Nobody is left to remove what a killed program left but its office's own helper.
    wait_for(lambda: not list(temporary.iterdir()) and not processes_of(temporary))
    assert out.read_bytes() == old
    assert sorted(p.name for p in tmp_path.iterdir()) == ["b.xlsx", "out.xlsx", "temporary"]


@pytest.mark.calc
def test_two_programs_at_once_where_none_ran_before(tmp_path: Path) -> None:
    """Both prepare the profile that later runs copy; one of the two is kept."""
    cache = tmp_path / "cache"
    books = [workbook(tmp_path / f"{n}.xlsx", A1=n, A2="=HOPPER_HELD_MASS(A1,10)") for n in (3, 5)]
    programs = [
        started(
            book,
            tmp_path / f"out{book.name}",
            tmp_path / f"{book.stem}.tmp",
            XDG_CACHE_HOME=str(cache),
        )
        for book in books
    ]
    for program in programs:
        said, _ = program.communicate(timeout=PATIENCE)
        assert program.returncode == 0, said
    outs = (tmp_path / f"out{book.name}" for book in books)
    assert [Package(out).values("Sheet")["A2"] for out in outs] == [30.0, 50.0]
    (kept,) = (cache / "hoppersheet" / "calc-profiles").iterdir()
    assert re.fullmatch("[0-9a-f]{32}", kept.name)


def test_two_writers_of_one_file(tmp_path: Path) -> None:
    book = workbook(tmp_path / "b.xlsx", A1="=1+1")
    whole = threading.Barrier(4)

    def write(_: int) -> None:
        package = Package(book)
        package.set_values("Sheet", {"A1": 2.0})
        whole.wait()
        package.save(tmp_path / "out.xlsx")

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(write, range(4)))
    assert Package(tmp_path / "out.xlsx").values("Sheet") == {"A1": 2.0}
    assert sorted(p.name for p in tmp_path.iterdir()) == ["b.xlsx", "out.xlsx"]


def test_calc_that_is_asked_for_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = workbook(tmp_path / "b.xlsx", A1="=1+1")
    monkeypatch.setenv("HOPPERSHEET_SOFFICE", str(tmp_path / "nothing"))
    with pytest.raises(HostError, match="SOFFICE") as caught:
        compute(book, tmp_path / "out.xlsx", "calc")
    assert "\n" not in str(caught.value)
    assert not (tmp_path / "out.xlsx").exists()


def test_without_an_office_hoppersheet_computes_alone_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOPPERSHEET_SOFFICE", str(tmp_path / "nothing"))
    book = workbook(tmp_path / "b.xlsx", A1="=HOPPER_HELD_MASS(16,36.5)")
    assert compute(book, book).engine.startswith("hoppersheet ")
    assert Package(book).values("Sheet") == {"A1": 584.0}


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    package = Package(workbook(tmp_path / "b.xlsx", A1="=1+1"))
    # Not below tmp_path, whose parents only their owner may enter.
    with tempfile.TemporaryDirectory() as folder:
        locked = Path(folder)
        old = workbook(locked / "out.xlsx", A1="old").read_bytes()
        locked.chmod(0o555)
        user = os.geteuid()
        if user == 0:  # root may write anywhere; try as nobody
            os.seteuid(65534)
        try:
            for name in ("out.xlsx", "new.xlsx"):
                with pytest.raises(InputFileError, match=re.escape(str(locked))):
                    package.save(locked / name)
        finally:
            os.seteuid(user)
            locked.chmod(0o755)
        assert [(p.name, p.read_bytes()) for p in locked.iterdir()] == [("out.xlsx", old)]
