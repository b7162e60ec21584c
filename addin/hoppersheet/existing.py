"""Before a file is written: nothing of the user's is replaced unasked."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import TYPE_CHECKING

from .errors import InputFileError

if TYPE_CHECKING:
    from .workbook.package import Package

__all__ = ["may_write"]

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
                f"{target} is also the input file; choose another name for the output"
            )
    if not force and _is_file(target):
        raise InputFileError(
            f"{target} already exists{_what_it_is(target)}; choose another name, or add --force to "
            "overwrite it"
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
