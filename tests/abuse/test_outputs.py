"""Something in the way of the output: the old file stays whole, one line says why, no litter.

A disk that fills up is everywhere tried as a limit on the size of files (RLIMIT_FSIZE), which
needs no rights and fails at the same system call, though with another error number. A disk that is
really full is a small tmpfs. Mounting one takes root, or a kernel that lets a user be root of a
namespace of his own; where neither is given, those tests are skipped and say so.
"""

from __future__ import annotations

import contextlib
import functools
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from abuse.hostile import HEADINGS, make, run
from hosts.calc.processes import PATIENCE, processes_of, wait_for
from workbook.rich_workbook import slow

COMMAND = [sys.executable, "-m", "hoppersheet"]
JOBS = 30_000  # some seconds of work
NEEDS = {
    "size.csv": ("size", "jobs.csv"),
    "size.xlsx": ("size", "jobs.csv"),
    "compute.xlsx": ("compute", "book.xlsx", "--engine", "core"),
    "audit.xlsx": ("audit", "book.xlsx", "--engine", "core"),
    "handoff.xlsx": ("handoff", "book.xlsx", "--values", "--engine", "core"),
    "names.xlsx": ("names", "book.xlsx"),
    "template.xlsx": ("template", "joblist"),
}
OLD = b"the old file"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "jobs.csv").write_text(",".join(HEADINGS) + "\n" + "A,100,4,36.5\n" * 3000)
    make(tmp_path / "book.xlsx")
    return tmp_path


def left_in(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir()} - {"jobs.csv", "book.xlsx"}


def ended(
    words: tuple[str, ...], out: Path, folder: Path, **options
) -> subprocess.CompletedProcess:
    return subprocess.run(
        [*COMMAND, *words, "--force", "--out", str(out)], cwd=folder, capture_output=True,
        text=True, timeout=120, **options,
    )  # fmt: skip


def refused(done: subprocess.CompletedProcess, *words: str) -> None:
    lines = done.stderr.splitlines()
    assert done.returncode == 2 and len(lines) == 1, done
    assert lines[0].startswith("hoppersheet: ") and all(word in lines[0] for word in words), done


@pytest.mark.parametrize("name", NEEDS)
def test_a_full_disk(name: str, place: Path) -> None:
    out = place / name
    out.write_bytes(OLD)

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (600, 600))

    # Python would cut its own compiled modules too, and every later start would fail on them.
    kept = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    refused(ended(NEEDS[name], out, place, preexec_fn=limit, env=kept), "cannot write", "large")
    assert out.read_bytes() == OLD and left_in(place) == {name}


@functools.cache
def mounting() -> tuple[tuple[str, ...], str]:
    """What to put before a command so that it may mount, and what was said where nothing helps."""
    said = "there is no program unshare"
    for way in (("--mount",), ("--mount", "--map-root-user")):
        with contextlib.suppress(FileNotFoundError):
            done = subprocess.run(
                ["unshare", *way, "mount", "-t", "tmpfs", "none", "/mnt"],
                capture_output=True, text=True, timeout=60,
            )  # fmt: skip
            if done.returncode == 0:
                return ("unshare", *way), ""
            said = done.stderr.strip()
    return (), said


# The three ways of writing that there are: text, rows into a workbook, a package kept whole.
@pytest.mark.parametrize("name", ["size.csv", "size.xlsx", "names.xlsx"])
def test_a_small_disk_that_is_full(name: str, place: Path) -> None:
    """A tmpfs of four pages in a mount namespace of its own: no block of it is left to write."""
    before, said = mounting()
    if not before:
        assert os.geteuid() != 0 or "permitted" in said or "denied" in said, said
        pytest.skip(f"nobody may mount a disk here ({said}); test_a_full_disk stands for it")
    script = (
        'out=disk/$1; shift; mount -t tmpfs -o size=16k none disk && printf old > "$out"; '
        "cat /dev/zero > disk/filler 2>/dev/null; "
        '"$@" --force --out "$out"; echo "status $?"; ls -A disk; cat "$out"'
    )
    (place / "disk").mkdir()
    done = subprocess.run(
        [*before, "sh", "-c", script, "sh", name, *COMMAND, *NEEDS[name]],
        cwd=place, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert done.stdout.split() == ["status", "2", *sorted(["filler", name]), "old"], done
    assert len(done.stderr.splitlines()) == 1, done
    assert done.stderr.startswith("hoppersheet: ") and "No space left on device" in done.stderr
    assert not list((place / "disk").iterdir())  # it was mounted, or the files would be here


def test_standard_output_on_a_full_disk(place: Path) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [*COMMAND, "functions"], stdout=full, stderr=subprocess.PIPE, text=True, timeout=60
        )
    refused(done, "No space left on device")


@pytest.mark.parametrize("name", NEEDS)
def test_a_folder_that_cannot_be_written(name: str, place: Path) -> None:
    """Nothing can be made in /proc, by nobody; and a file cannot be a folder."""
    for out, word in (
        (Path("/proc") / name, "/proc"), (place / "none" / name, "none"),
        (place / "jobs.csv" / name, "jobs.csv"), (place / "folder.xlsx", "folder"),
    ):  # fmt: skip
        (place / "folder.xlsx").mkdir(exist_ok=True)
        done = run(*(place / w if w in ("jobs.csv", "book.xlsx") else w for w in NEEDS[name]),
                   "--out", out)  # fmt: skip
        assert done.status == 2 and not done.out and word in done.err.splitlines()[-1], done
        assert left_in(place) == {"folder.xlsx"}


@pytest.mark.parametrize("name", ["compute.xlsx", "names.xlsx", "handoff.xlsx"])
def test_devices_pipes_and_links_in_the_way(name: str, place: Path) -> None:
    """Root could put a file in the place of a device; a link is written through."""
    words = [place / w if w == "book.xlsx" else w for w in NEEDS[name]]
    os.mkfifo(place / "pipe")
    before = Path("/dev/null").stat()
    for out in (Path("/dev/null"), place / "pipe"):
        done = run(*words, "--out", out)
        assert done.one_line and "device or a pipe" in done.err, done
    assert Path("/dev/null").stat().st_rdev == before.st_rdev != 0
    (place / "real").mkdir()
    (place / "link.xlsx").symlink_to(place / "real" / "target.xlsx")
    assert run(*words, "--out", place / "link.xlsx").status in (0, 1)
    assert (place / "link.xlsx").is_symlink() and (place / "real" / "target.xlsx").is_file()
    (place / "loop.xlsx").symlink_to(place / "loop.xlsx")
    assert run(*words, "--out", place / "loop.xlsx").one_line


def test_output_over_its_input(place: Path) -> None:
    """Never, --force or not, and under no other name of the same file."""
    book, before = place / "book.xlsx", (place / "book.xlsx").read_bytes()
    (place / "link.xlsx").symlink_to(book)
    (place / "hard.xlsx").hardlink_to(book)
    for command, *options in (
        ("size",), ("compute", "--engine", "core"), ("names",),
        ("audit", "--engine", "core"), ("audit", "--engine", "core", "--annotate"),
        ("handoff", "--plain", "--engine", "core"), ("handoff", "--values", "--engine", "core"),
    ):  # fmt: skip
        for out in (book, place / "link.xlsx", place / "hard.xlsx"):
            for force in ((), ("--force",)):
                done = run(command, book, *options, "--out", out, *force)
                assert done.one_line and book.read_bytes() == before, (command, done)


@pytest.mark.parametrize("name", NEEDS)
def test_an_existing_output_is_refused(name: str, place: Path) -> None:
    out = place / name
    out.write_bytes(OLD)
    words = [place / w if w in ("jobs.csv", "book.xlsx") else w for w in NEEDS[name]]
    done = run(*words, "--out", out)
    assert done.one_line and "already exists" in done.err and "--force" in done.err, done
    assert out.read_bytes() == OLD and left_in(place) == {name}
    assert run(*words, "--out", out, "--force").status in (0, 1)
    assert out.read_bytes() != OLD


def test_a_finished_quote_in_the_way_is_named(place: Path) -> None:
    out = place / "quote.xlsx"
    shutil.copyfile(Path(__file__).parents[2] / "workbooks" / "demo_quote.xlsx", out)
    for words in (("template", "quote"), ("size", place / "jobs.csv")):
        done = run(*words, "--out", out)
        assert done.one_line and "a quote for INVENTED" in done.err, done
    done = run("names", out, "--out", place / "book.xlsx")
    assert done.one_line and "a workbook with the sheets One" in done.err, done


def test_two_runs_at_once_into_one_file(place: Path) -> None:
    out = place / "out.csv"
    runs = [
        subprocess.Popen([*COMMAND, "size", "jobs.csv", "--force", "--out", "out.csv"], cwd=place,
                         stdout=subprocess.DEVNULL)
        for _ in range(3)
    ]  # fmt: skip
    assert [each.wait(120) for each in runs] == [0, 0, 0]
    assert len(out.read_text("utf-8-sig").splitlines()) == 3001
    assert left_in(place) == {"out.csv"}


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
@pytest.mark.parametrize("blow", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGKILL])
def test_ended_in_the_middle(blow: signal.Signals, ending: str, place: Path) -> None:
    """With the first sign of the output, many seconds before the end of the list."""
    out = place / f"out{ending}"
    out.write_bytes(OLD)
    with (place / "jobs.csv").open("ab") as file:
        file.write(b"A,100,4,36.5\n" * (JOBS * 10))
    process = subprocess.Popen(
        [*COMMAND, "size", "jobs.csv", "--force", "--out", out.name], cwd=place,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "TMPDIR": str(place)},
    )  # fmt: skip
    wait_for(lambda: list(place.glob(f".out{ending}-*")))
    process.send_signal(blow)
    said = process.communicate(timeout=PATIENCE)[1]
    assert out.read_bytes() == OLD
    if blow is signal.SIGKILL:
        assert process.returncode == -signal.SIGKILL
        return  # nobody can clean up then; the leftover says by its name whose it is
    assert process.returncode == 128 + blow
    assert said == "hoppersheet: interrupted\n"
    assert left_in(place) == {out.name}


def test_a_request_to_end_that_python_drops_is_made_again() -> None:
    """An exception raised while an object is thrown away is dropped, and with it the request."""
    code = (
        "import os, signal, time, hoppersheet.cli as c\n"
        "class Odd:\n"
        "    def __del__(self):\n"
        "        os.kill(os.getpid(), signal.SIGTERM)\n"
        "def work(**_):\n"
        "    Odd()\n"
        f"    time.sleep({PATIENCE})\n"
        "c.cli = work\n"
        "c.main()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (143, "hoppersheet: interrupted\n")


@pytest.mark.calc
def test_compute_ended_in_the_middle_leaves_no_office(place: Path) -> None:
    slow(place / "slow.xlsx")
    temporary = place / "tmp"
    temporary.mkdir()
    process = subprocess.Popen(
        [*COMMAND, "compute", "slow.xlsx", "--engine", "calc", "--force", "--out", "book.xlsx"],
        cwd=place,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "TMPDIR": str(temporary)},
    )  # fmt: skip
    before = (place / "book.xlsx").read_bytes()
    wait_for(lambda: list(temporary.glob("hoppersheet-*")))
    time.sleep(0.5)  # the office is starting; how far it comes does not matter
    assert process.poll() is None
    process.send_signal(signal.SIGTERM)
    said = process.communicate(timeout=PATIENCE)[1]
    assert (process.returncode, said) == (143, "hoppersheet: interrupted\n")
    assert (place / "book.xlsx").read_bytes() == before
    # The worker, or its helper, may be the last to go.
    wait_for(lambda: not list(temporary.iterdir()) and not processes_of(temporary))
