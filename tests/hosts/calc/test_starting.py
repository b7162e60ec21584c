"""Starting an office with something in the way: other Pythons, a broken cache, a kill, a hang."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from hoppersheet.errors import HostError
from hoppersheet.hosts.calc import installation, profiles, programs
from hoppersheet.hosts.calc.office import Office
from hoppersheet.workbook.package import Package
from hosts.calc.processes import PATIENCE, processes_of, wait_for
from workbook.rich_workbook import slow
from workbook.rich_workbook import small as workbook

pytestmark = pytest.mark.calc

#: What FORMULA gives; arithmetic identity.
MASS = 408.0
FORMULA = "=HOPPER_HELD_MASS(16,25.5)"


def compute(
    book: Path, *words: str, cwd: Path | None = None, **environment: str
) -> subprocess.Popen[str]:
    """The command line at work on a book, whose output is ``out.xlsx`` beside it."""
    return subprocess.Popen(
        [
            sys.executable, "-m", "hoppersheet", "compute", str(book), "--engine", "calc",
            "--force", "--out", str(book.with_name("out.xlsx")), *words,
        ],
        env={**os.environ, **environment}, cwd=cwd, stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip


def foreign_python(folder: Path) -> Path:
    """The ``bin`` of a Python as pyenv or conda puts it first on PATH: with a library of its own.

    An office that takes them for its own cannot start.
    """
    for version in range(9, 15):
        library = folder / "lib" / f"python3.{version}"
        library.mkdir(parents=True)
        for name in ("os.py", "site.py", "encodings.py"):
            (library / name).write_text("raise SystemExit(4)\n")
    (folder / "bin").mkdir()
    for name in ("python", "python3"):
        (folder / "bin" / name).symlink_to(sys.executable)
    return folder / "bin"


def test_other_pythons_and_modules_beside_the_file_are_not_taken(tmp_path: Path) -> None:
    marks, here = tmp_path / "marks", tmp_path / "customer"
    marks.mkdir()
    here.mkdir()
    marking = f"open({str(marks)!r} + '/' + __name__, 'a').close()\nraise SystemExit(3)\n"
    names = ("uno", "unohelper", "platform", "json", "sitecustomize", "load_job", "shutil")
    for name in names:
        (here / f"{name}.py").write_text(marking)
    workbook(here / "b.xlsx", A1=FORMULA)
    foreign = foreign_python(tmp_path / "versions")
    environment = {
        "PATH": os.pathsep.join(
            [str(Path(sys.executable).parent), str(foreign), os.environ["PATH"]]
        ),
        "VIRTUAL_ENV": sys.prefix, "CONDA_PREFIX": str(foreign.parent),
        "PYENV_VERSION": "3.9.1", "XDG_CACHE_HOME": str(tmp_path / "cache"),
    }  # fmt: skip
    script = (
        "import sys; sys.path.remove(''); from hoppersheet.cli import main; "
        "import os; os.environ['PYTHONPATH'] = os.environ['PYTHONHOME'] = os.getcwd(); "
        "sys.argv[1:] = ['compute', 'b.xlsx', '--engine', 'calc', '--out', 'out.xlsx', '--force'];"
        "main()"
    )
    for cache in ("empty", "warm"):
        done = subprocess.run(
            [sys.executable, "-c", script], env={**os.environ, **environment}, cwd=here,
            capture_output=True, text=True, timeout=PATIENCE,
        )  # fmt: skip
        assert done.returncode == 0, (cache, done)
        assert Package(here / "out.xlsx").values("Sheet") == {"A1": MASS}
        assert list(marks.iterdir()) == []
    # That such a file would run: a Python that is started without care, here.
    careless = subprocess.run(
        [programs.find().python, "-c", "import uno"], cwd=here, timeout=PATIENCE, check=False
    )
    assert careless.returncode == 3 and (marks / "uno").exists()


def test_a_python_that_is_a_script_of_the_office_keeps_its_own_variables(tmp_path: Path) -> None:
    """Some offices bring one that finds uno by PYTHONPATH, which -I would ignore."""
    script = tmp_path / "python"
    script.write_text(
        '#!/bin/sh\nfor word; do [ "$word" = -I ] && exit 1; done\n'
        f'exec "{programs.find().python}" "$@"\n'
    )
    script.chmod(0o755)
    assert programs._isolation(script, tmp_path) == ("-s",)
    assert programs._isolation(Path("/bin/false"), tmp_path) is None


def test_a_probe_that_fails_is_a_finding_of_status() -> None:
    broken = programs.Programs(Path("soffice"), Path("unopkg"), Path("/bin/false"))
    assert installation.python_version(broken) == "unknown"
    status = installation.Status(broken, "", "", {}, "=X()", "#NAME?", 21.2)
    assert not status.is_right and "the probe must give 21.2" in status.findings


def no_packages(profile: Path) -> None:
    shutil.rmtree(profile / "user" / "uno_packages")


def zeroed(profile: Path) -> None:
    for file in profile.rglob("*"):
        if file.is_file() and not file.is_symlink():
            file.write_bytes(bytes(file.stat().st_size))


@pytest.mark.parametrize("damage", [no_packages, zeroed])
def test_a_damaged_cache_is_made_anew_once(
    damage: Callable[[Path], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A copy of the profile that all the tests use, for the damage.
    with Office():
        pass
    good = profiles.kept(programs.find())
    assert good is not None
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    folder = profiles.cache()
    assert folder is not None
    shutil.copytree(good, folder / good.name, symlinks=True)
    damage(folder / good.name)
    with Office() as office:
        assert office.evaluate({}, {"A1": FORMULA.replace(",", ";")}) == {"A1": MASS}
    # The next one finds it whole, and nothing else lies there.
    assert [path.name for path in folder.iterdir()] == [good.name]
    assert (folder / good.name / "user" / "uno_packages").is_dir()


def test_an_office_that_stays_wrong_is_one_clear_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def without_the_addin(link: object) -> Path:
        profile = Path(link.folder, "profile")  # type: ignore[attr-defined]
        profile.mkdir()
        return profile

    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(profiles, "_prepare", without_the_addin)
    monkeypatch.setattr(profiles, "_keep", lambda *_: None)
    with (
        pytest.raises(
            HostError, match=r"does not compute with the add-in: HOPPER_VERSION\(\) gives .*doctor"
        ),
        Office(),
    ):
        pass


def test_two_versions_of_an_office_do_not_share_a_profile(tmp_path: Path) -> None:
    program = tmp_path / "program"
    program.mkdir()
    (program / "soffice").write_text("")
    found = programs.Programs(program / "soffice", program / "unopkg", Path(sys.executable))
    keys = set()
    for version in (b"7.4.7", b"25.2.3"):
        (program / "versionrc").write_bytes(version)
        os.utime(program / "soffice", (0, 0))
        keys.add(profiles._key(found))
    assert len(keys) == 2


def test_a_kill_in_the_first_seconds_leaves_nothing(tmp_path: Path) -> None:
    """With an empty cache and with a full one, at moments from the first process to the computing,
    which on no machine is done by then.
    """
    warm = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    victims = []
    for at, seconds in enumerate((0.2, 0.7, 1.2, 1.8, 2.5, 3.5)):
        folder = tmp_path / str(at)
        for name in ("temporary", "cache"):
            (folder / name).mkdir(parents=True)
        cache = str(folder / "cache") if at % 2 else warm
        began = time.monotonic()
        victim = compute(
            slow(folder / "b.xlsx"),
            TMPDIR=str(folder / "temporary"), XDG_CACHE_HOME=cache,
        )  # fmt: skip
        time.sleep(max(0.0, seconds - (time.monotonic() - began)))
        victim.kill()
        victims.append((victim, folder))
    for victim, folder in victims:
        victim.communicate(timeout=PATIENCE)
        assert victim.returncode == -signal.SIGKILL
        wait_for(lambda folder=folder: not processes_of(f"{folder}/"))  # type: ignore[misc]
        left = [*(folder / "temporary").iterdir(), *(folder / "cache").rglob(".new*")]
        assert left == [] and not (folder / "out.xlsx").exists()


def test_a_hanging_office_is_given_up_in_time(tmp_path: Path) -> None:
    for name in ("soffice", "unopkg"):
        (tmp_path / name).write_text(f"#!/bin/sh\nsleep 600; : {tmp_path}\n")
        (tmp_path / name).chmod(0o755)
    running = compute(
        workbook(tmp_path / "b.xlsx", A1=FORMULA), "--timeout", "3",
        HOPPERSHEET_SOFFICE=str(tmp_path / "soffice"), XDG_CACHE_HOME=str(tmp_path / "cache"),
    )  # fmt: skip
    said, _ = running.communicate(timeout=PATIENCE)
    assert running.returncode == 2 and len(said.splitlines()) == 1, said
    wait_for(lambda: not processes_of(tmp_path))


@pytest.mark.parametrize("name", [b"\xff\xfe.xlsx", b"n" * 250 + b".xlsx", b"a\nb\x1b[2J.xlsx"])
def test_odd_names_are_no_damage(name: bytes, office: Office, tmp_path: Path) -> None:
    book = Path(os.fsdecode(os.fsencode(tmp_path) + b"/" + name))
    shutil.copyfile(workbook(tmp_path / "b.xlsx", A1=FORMULA), book)
    assert office.compute(book)["Sheet"]["A1"] == MASS
    assert not list(office.folder.glob("workbook*"))
