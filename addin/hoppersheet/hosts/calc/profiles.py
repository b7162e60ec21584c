"""Profiles for headless offices: prepared once with the add-in in them, then copied.

Installing the add-in into a new profile takes seconds, copying the result takes none. Prepared
profiles are kept in the user's cache folder under a name that says for which office, of which
version, and which add-in they are; what has not been used for a week is thrown away. Deleting the
folder is harmless. A copy that does not compute a known call is thrown away by :mod:`.office`.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import shutil
import time
from functools import lru_cache
from pathlib import Path

from ...errors import HostError
from . import extension
from .programs import Programs
from .worker_link import WorkerLink

__all__ = ["NoRoom", "cache", "copy_extensions", "copy_prepared", "forget", "kept", "make"]

#: Files beside soffice that change with its version.
_VERSION_FILES = ("versionrc", "version.ini", "setuprc", "setup.ini", "bootstraprc")
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EROFS)
_SECONDS_TO_PREPARE = 120
_KEPT_SECONDS = 7 * 24 * 3600


class NoRoom(HostError):
    """The disk is full or cannot be written; another profile would need as much room."""


@lru_cache(maxsize=1)
def _fingerprint() -> bytes:
    """Of the add-in of this installation."""
    return extension.fingerprint()


def cache() -> Path | None:
    """The folder of prepared profiles, or None where none can be kept."""
    import platformdirs

    folder = Path(platformdirs.user_cache_dir("hoppersheet", appauthor=False)) / "calc-profiles"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder if os.access(folder, os.W_OK) else None


def _key(programs: Programs) -> str:
    """For one office, of one version, and one add-in."""
    program = programs.soffice.stat()
    identity = f"{programs.soffice} {program.st_size} {program.st_mtime_ns} {programs.python}"
    hashed = hashlib.sha256(identity.encode("utf-8", "surrogateescape"))
    for folder in (programs.folder, programs.folder.parent / "Resources"):
        for name in _VERSION_FILES:
            with contextlib.suppress(OSError):
                hashed.update((folder / name).read_bytes())
    hashed.update(_fingerprint())
    return hashed.hexdigest()[:32]


def kept(programs: Programs) -> Path | None:
    """The prepared profile for an office, None where there is none yet."""
    folder = cache()
    profile = folder / _key(programs) if folder is not None else None
    return profile if profile is not None and profile.is_dir() else None


def forget(profile: Path) -> None:
    """Throw a prepared profile away, also one that another process is copying."""
    gone = profile.with_name(f".old-{os.getpid()}-{time.monotonic_ns()}")
    with contextlib.suppress(OSError):
        profile.rename(gone)
        shutil.rmtree(gone, ignore_errors=True)


def _prepare(link: WorkerLink) -> Path:
    """Make a new profile, install the add-in into it, and start it until it is settled."""
    profile, package = link.folder / "profile", link.folder / extension.FILE_NAME
    package.write_bytes(extension.packed())
    # The first start after the installation restarts itself; copies shall not have to. Nor shall
    # they compile the modules for texts with units, half a second each time.
    for what, arguments in (
        ("install", {"file": str(package)}),
        ("call", {"name": "HOPPER_CONVERT", "arguments": [1, "lb", "kg"]}),
    ):
        link.start(profile)
        link.ask(what, **arguments)
        link.ask("stop")
    package.unlink()
    for lock in profile.glob("*lock"):
        lock.unlink()
    return profile


def _keep(profile: Path, target: Path, link: WorkerLink) -> None:
    """Copy a prepared profile to where later offices find it."""
    _throw_away_old(target.parent)
    # In a folder that goes with the worker, should this program be killed meanwhile.
    folder = link.ask("folder", parent=str(target.parent), prefix=".new-")
    new = Path(folder) / "profile"
    _copy(profile, new)
    # Where another process was quicker, its profile is as good.
    with contextlib.suppress(OSError):
        new.rename(target)
    link.ask("forget", folder=folder)


def _throw_away_old(folder: Path) -> None:
    for old in folder.iterdir():
        with contextlib.suppress(OSError):
            if time.time() - old.stat().st_mtime > _KEPT_SECONDS:
                shutil.rmtree(old)


def _copy(source: Path, target: Path) -> None:
    """Copy a profile.

    Raises:
        HostError: one line, not one for each of a thousand files.
    """

    def copy_one(one: str, other: str) -> object:
        try:
            return shutil.copy2(one, other)
        except OSError as problem:
            if problem.errno in _NO_ROOM:
                # No OSError, or the copying would go on with all the other files.
                raise NoRoom(
                    f"no room for LibreOffice's profile in {target.parent}: {problem.strerror}"
                ) from None
            raise

    try:
        shutil.copytree(source, target, symlinks=True, copy_function=copy_one)
    except shutil.Error as problem:
        reasons = problem.args[0]
        reason = str(reasons[0][2]) if isinstance(reasons, list) and reasons else str(problem)[:200]
        raise HostError(f"the profile {source} cannot be copied to {target}: {reason}") from None
    except OSError as problem:
        raise HostError(
            f"the profile {source} cannot be copied to {target}: {problem.strerror}"
        ) from None


def make(link: WorkerLink, prepared: Path | None) -> Path:
    """Make a profile with this installation's add-in in the folder of ``link``.

    Args:
        link: a worker without an office.
        prepared: what :func:`kept` gave; None: the profile is prepared, and kept.

    Raises:
        HostError: the office does not start, or refuses the add-in, or the copy fails.
    """
    if prepared is not None:
        with contextlib.suppress(OSError):
            os.utime(prepared)
        profile = link.folder / "profile"
        _copy(prepared, profile)
        return profile
    profile = _prepare(link)
    folder = cache()
    if folder is not None:
        with contextlib.suppress(HostError, OSError):  # it is only for the next time
            _keep(profile, folder / _key(link.programs), link)
    return profile


def copy_prepared(programs: Programs, target: Path) -> Path:
    """A profile with the add-in at ``target``, for an office that is started by other means.

    Raises:
        HostError: as :func:`make`.
    """
    prepared = kept(programs)
    if prepared is not None:
        _copy(prepared, target)
        return target
    link = WorkerLink(programs, _SECONDS_TO_PREPARE)
    try:
        _copy(make(link, None), target)
    finally:
        link.close()
    return target


def copy_extensions(source: Path, target: Path) -> None:
    """Let the profile ``target`` have the extensions that the profile ``source`` has."""
    for name in ("uno_packages", "extensions"):
        if (source / "user" / name).is_dir():
            shutil.copytree(source / "user" / name, target / "user" / name, dirs_exist_ok=True)
