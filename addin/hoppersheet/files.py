"""Writing files: none is ever replaced by half a file."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Iterator
from pathlib import Path

from .errors import InputFileError

__all__ = ["replacing"]


@contextlib.contextmanager
def replacing(path: Path | str) -> Iterator[Path]:
    """A temporary path beside ``path`` that takes its place when the block ends well.

    When the block fails, or the process dies, the old file is as it was. The permissions of an
    existing file are kept.

    Raises:
        InputFileError: the folder does not exist or cannot be written, the target is a folder or
            a device, the disk is full, or the target is open in another program (Windows).
    """
    target = Path(path)
    if target.is_dir():
        raise InputFileError(f"{target} is a folder, not a file")
    try:
        # Write through a link to the file it names, and leave the link alone.
        target = target.resolve()
    except RuntimeError:
        raise InputFileError(f"{target} is a link that leads to itself") from None
    if target.exists() and not target.is_file():
        # Taking the place of /dev/null or of a pipe would break it for everybody.
        raise InputFileError(f"{target} is a device or a pipe; name a file")
    if target.exists() and not os.access(target, os.W_OK):
        raise InputFileError(f"{target} is write-protected")
    # The name is known before the file is there: a signal between the two leaves nothing behind.
    temporary = target.parent / f".{target.name[:40]}-{secrets.token_hex(8)}{target.suffix}"
    try:
        try:
            os.close(os.open(temporary, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        except OSError as problem:
            raise InputFileError(f"cannot write into {target.parent}: {problem.strerror}") from None
        yield temporary
        # The temporary file is private; a new file gets what the user's umask allows.
        temporary.chmod(target.stat().st_mode & 0o7777 if target.exists() else 0o666 & ~_umask())
        try:
            temporary.replace(target)
        except PermissionError:
            raise InputFileError(
                f"cannot replace {target}: it is open in another program or write-protected"
            ) from None
    except OSError as problem:
        raise InputFileError(f"cannot write {target}: {problem.strerror or problem}") from None
    finally:
        with contextlib.suppress(FileNotFoundError):
            temporary.unlink()


def _umask() -> int:
    """The process's umask; there is no way to read it without setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
