"""``hoppersheet calc``: installed, examined and removed as root and as a normal user.

Where the tests run as root, the add-in really is installed for all users for a moment, and the
normal user is ``nobody``, with a home of its own. Otherwise the normal user is whoever runs them.
"""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from importlib import metadata
from pathlib import Path

import pytest

import hoppersheet
from hoppersheet import __version__
from hoppersheet.hosts.calc import extension

pytestmark = [pytest.mark.calc, pytest.mark.alone]

IS_ROOT = os.geteuid() == 0
Run = Callable[..., "subprocess.CompletedProcess[str]"]


def hoppersheet_calc(
    *words: str, environment: dict[str, str], user: str | None = None
) -> subprocess.CompletedProcess[str]:
    # LibreOffice refuses to start its helpers for a user whose group is not his own.
    group = pwd.getpwnam(user).pw_gid if user else None
    python = "/usr/bin/python3" if user else sys.executable
    return subprocess.run(
        [python, "-m", "hoppersheet", "calc", *words],
        env=environment, user=user, group=group, extra_groups=[] if user else None,
        cwd=environment["HOME"], capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


def packages_for_anyone(folder: Path) -> None:
    """Copy what the command needs to where every user may read it."""
    shutil.copytree(Path(hoppersheet.__file__).parent, folder / "hoppersheet")
    for name in ("click", *extension.PACKED_DISTRIBUTIONS):
        distribution = metadata.distribution(name)
        for file in distribution.files or ():
            if ".." not in file.parts and "__pycache__" not in file.parts:
                target = folder / Path(*file.parts)
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(str(distribution.locate_file(file)), target)
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o755 if path.is_dir() else 0o644)


@pytest.fixture
def normal_user(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Run]:
    # Not below tmp_path, which others may not enter.
    home = Path(f"/tmp/hoppersheet-home-{os.getpid()}")
    home.mkdir()
    environment = {"HOME": str(home), "PATH": "/usr/bin:/bin", "LANG": "C.UTF-8"}
    try:
        packages_for_anyone(home / "packages")
        environment["PYTHONPATH"] = str(home / "packages")
        environment["PYTHONDONTWRITEBYTECODE"] = "1"
        if IS_ROOT:
            shutil.chown(home, "nobody")
        user = "nobody" if IS_ROOT else None
        yield lambda *words: hoppersheet_calc(*words, environment=environment, user=user)
    finally:
        shutil.rmtree(home)


@pytest.fixture
def root(tmp_path: Path) -> Iterator[Run]:
    cache = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    environment = {**os.environ, "HOME": str(tmp_path), "XDG_CACHE_HOME": cache}

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        return hoppersheet_calc(*words, environment=environment)

    yield run
    run("remove")


def shows_a_right_probe(status: subprocess.CompletedProcess[str], whom: str) -> None:
    assert status.returncode == 0, status
    assert f"add-in       {__version__} {whom}" in status.stdout
    # Arithmetic identity: 220 lb/h x 3.5 h / 36.4 lb/ft3.
    assert "gives 21.1538461538462: right" in status.stdout
    assert "soffice" in status.stdout
    assert "/python" in status.stdout


def installs(run: Run, whom: str) -> None:
    done = run("install")
    assert done.returncode == 0, done
    assert f"Installed hoppersheet {__version__} {whom}." in done.stdout


def test_a_normal_user_installs_it_for_himself(normal_user: Run) -> None:
    installs(normal_user, "for this user")
    shows_a_right_probe(normal_user("status"), "for this user")
    assert normal_user("remove").stdout == "Removed the add-in for this user.\n"


@pytest.mark.skipif(not IS_ROOT, reason="only root installs for all users; CI runs as root")
def test_root_installs_it_for_all_users(root: Run, normal_user: Run) -> None:
    missing = root("status")
    assert missing.returncode == 1
    assert "add-in       not installed" in missing.stdout
    assert "21.1538461538462: right" in missing.stdout
    assert missing.stderr.splitlines() == [
        "hoppersheet: the add-in is not installed: run hoppersheet calc install"
    ]
    for _ in range(2):  # the second time over the first
        installs(root, "for all users")
    shows_a_right_probe(root("status"), "for all users")
    shows_a_right_probe(normal_user("status"), "for all users")
    refused = normal_user("remove")
    assert refused.returncode == 2
    assert refused.stderr == (
        "hoppersheet: the add-in is installed for all users; only root can remove it\n"
    )
    assert root("remove").stdout == "Removed the add-in for all users.\n"
    assert root("remove").stdout == "The add-in was not installed.\n"


def test_build_writes_the_extension(root: Run, tmp_path: Path) -> None:
    target = tmp_path / "out.oxt"
    assert root("build", "--out", str(target)).returncode == 0
    assert target.read_bytes()[:2] == b"PK"
    refused = root("build", "--out", str(tmp_path / "nowhere" / "out.oxt"))
    assert refused.returncode == 2
    assert len(refused.stderr.splitlines()) == 1
    assert "nowhere" in refused.stderr
