"""Profiles for headless offices: prepared once with the add-in in them, then copied.

Installing the add-in into a new profile takes seconds, copying the result takes none. Prepared
profiles are kept in the user's cache folder under a name that says for which office and which
add-in they are; what has not been used for a week is thrown away. Deleting the folder is harmless.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import tempfile
import time
from functools import lru_cache
from pathlib import Path

from . import extension
from .programs import Programs
from .worker_link import WorkerLink

__all__ = ["copy_extensions", "make"]

_SECONDS_TO_PREPARE = 120
_KEPT_SECONDS = 7 * 24 * 3600


@lru_cache(maxsize=1)
def _packed() -> bytes:
    """The add-in of this installation, packed."""
    with tempfile.TemporaryDirectory(prefix="hoppersheet-") as folder:
        return extension.build(Path(folder) / extension.FILE_NAME).read_bytes()


def _cache() -> Path | None:
    """The folder of prepared profiles, or None where none can be kept."""
    import platformdirs

    folder = Path(platformdirs.user_cache_dir("hoppersheet", appauthor=False)) / "calc-profiles"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder if os.access(folder, os.W_OK) else None


def _key(programs: Programs, addin: bytes) -> str:
    office = programs.soffice.stat()
    told = f"{programs.soffice} {office.st_size} {office.st_mtime_ns} {programs.python}"
    return hashlib.sha256(told.encode() + addin).hexdigest()[:32]


def _prepare(profile: Path, programs: Programs, addin: bytes) -> None:
    """Make a new profile, install the add-in into it, and start it until it is settled."""
    package = profile.with_name(extension.FILE_NAME)
    package.write_bytes(addin)
    # The first start after the installation restarts itself; copies shall not have to.
    for what, arguments in (
        ("install", {"file": str(package)}),
        ("call", {"name": "HOPPER_VERSION", "arguments": []}),
    ):
        link = WorkerLink(programs, profile, _SECONDS_TO_PREPARE)
        try:
            link.ask(what, **arguments)
        finally:
            link.close()
    for lock in profile.glob("*lock"):
        lock.unlink()


def _throw_away_old(cache: Path) -> None:
    for folder in cache.iterdir():
        with contextlib.suppress(OSError):
            if time.time() - folder.stat().st_mtime > _KEPT_SECONDS:
                shutil.rmtree(folder)


def make(target: Path, programs: Programs, *, addin: bool) -> Path:
    """Make a profile at ``target``, with the add-in of this installation or without.

    Raises:
        HostError: the office does not start, or refuses the add-in.
    """
    if not addin:
        target.mkdir()
        return target
    packed = _packed()
    cache = _cache()
    if cache is None:
        _prepare(target, programs, packed)
        return target
    kept = cache / _key(programs, packed)
    if not kept.is_dir():
        _throw_away_old(cache)
        with tempfile.TemporaryDirectory(prefix=".new-", dir=cache) as folder:
            new = Path(folder) / "profile"
            _prepare(new, programs, packed)
            # Where another process was quicker, its profile is as good.
            with contextlib.suppress(OSError):
                new.rename(kept)
    os.utime(kept)
    shutil.copytree(kept, target, symlinks=True)
    return target


def copy_extensions(source: Path, target: Path) -> None:
    """Let the profile ``target`` have the extensions that the profile ``source`` has."""
    for name in ("uno_packages", "extensions"):
        if (source / "user" / name).is_dir():
            shutil.copytree(source / "user" / name, target / "user" / name, dirs_exist_ok=True)
