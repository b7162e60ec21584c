"""Writing files: nothing of the user's is replaced unasked, and never by half a file."""

from __future__ import annotations

import contextlib
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from .errors import InputFileError

if TYPE_CHECKING:
    from .workbook.package import Package

__all__ = ["may_write", "replacing"]

_MOST_SHEETS = 5  # of a workbook that are named


def may_write(
    out: str | os.PathLike[str], *inputs: str | os.PathLike[str] | None, force: bool = False
) -> None:
    """Make sure, before any work, that writing ``out`` takes nothing from the user.

    Args:
        out: the file to be written.
        inputs: the files that the command reads; none of them is ever written over.
        force: an existing file may be written over.

    Raises:
        InputFileError: ``out`` is one of the inputs, or a file of this name exists.
    """
    target = Path(out)
    for path in inputs:
        if path is not None and _same_file(target, Path(path)):
            raise InputFileError(
                f"{target} is the file that is read; choose another name for the output"
            )
    if not force and _is_file(target):
        raise InputFileError(
            f"{target} exists already{_what_it_is(target)}; choose another name, or add --force "
            "to write over it"
        )


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):  # no name that a file can have
        return False


def _same_file(one: Path, other: Path) -> bool:
    try:
        return one.resolve() == other.resolve() or one.samefile(other)
    except (OSError, RuntimeError, ValueError):
        return False  # one of them does not exist


def _what_it_is(path: Path) -> str:
    """What an existing workbook is, so that nobody forces his finished quote away."""
    if path.suffix.lower() not in (".xlsx", ".xlsm"):
        return ""
    from .workbook.package import Package

    try:
        package = Package(path)
        sheets = [sheet.name for sheet in package.sheets]
        names = {name.name: name.formula for name in package.defined_names}
        customer = _cell_of(package, names.get("customer", ""))
    except InputFileError:
        return ""  # no workbook that can be read
    more = f" and {len(sheets) - _MOST_SHEETS} more" if len(sheets) > _MOST_SHEETS else ""
    what = f"a workbook with the sheets {', '.join(sheets[:_MOST_SHEETS])}{more}"
    if "quote_total" in names:
        what = f"a quote for {customer}" if customer else "a quote workbook without a customer"
    saved = time.strftime("%Y-%m-%d %H:%M", time.localtime(path.stat().st_mtime))
    return f" ({what}, saved {saved})"


def _cell_of(package: Package, formula: str) -> str:
    """The text in the cell that a defined name such as ``Quote!$B$4`` stands for."""
    sheet, _, ref = formula.rpartition("!")
    name = sheet.strip("'").replace("''", "'")
    if not any(known.name == name for known in package.sheets):
        return ""
    cell = package.cells(name).get(ref.replace("$", ""))
    return str(cell.value) if cell is not None and isinstance(cell.value, str) else ""


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
    try:
        handle, name = tempfile.mkstemp(
            prefix=f".{target.name[:40]}-", suffix=target.suffix, dir=target.parent
        )
        os.close(handle)
    except OSError as problem:
        raise InputFileError(f"cannot write into {target.parent}: {problem.strerror}") from None
    temporary = Path(name)
    try:
        yield temporary
        # mkstemp makes the file private; a new file gets what the user's umask allows.
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
