"""What a user said about a list, remembered in a small file beside it: ``jobs.csv.columns``.

Plain text, one statement a line: ``throughput = Output``, ``ignore = color %``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from ...cells.numbers_in_text import shown
from ...errors import InputFileError
from ...files import replacing
from ..job_columns import JOB_COLUMNS

__all__ = ["in_words", "parse_column", "read_remembered", "remember", "remembered_path"]

_IGNORE = "ignore"
_HEAD = "# How hoppersheet reads the list beside this file. Delete the file to forget it."


def remembered_path(jobs: str) -> Path:
    """The file beside a list."""
    return Path(f"{jobs}.columns")


def parse_column(text: str) -> tuple[str, str]:
    """("throughput", "Output") from "throughput=Output".

    Raises:
        InputFileError: no "=", or no such column.
    """
    name, equals, heading = text.partition("=")
    name, heading = " ".join(name.casefold().split()), heading.strip()
    if not equals or not heading or name not in JOB_COLUMNS:
        raise InputFileError(
            f"--column {text!r}: type our column, =, and the heading in the list, such as "
            f"'throughput=Output'; our columns are {', '.join(JOB_COLUMNS)}"
        )
    return name, heading


def read_remembered(jobs: str) -> tuple[dict[str, str], tuple[str, ...]]:
    """(column -> heading, ignored headings) of the file beside a list; empty where there is none.

    Raises:
        InputFileError: a line cannot be read.
    """
    path = remembered_path(jobs)
    columns: dict[str, str] = {}
    ignored: list[str] = []
    if jobs == "-" or not path.is_file():
        return columns, ()
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as problem:
        raise InputFileError(f"cannot read {path}: {problem}") from None
    for number, line in enumerate(lines, 1):
        name, equals, heading = line.partition("=")
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if equals and name.strip().casefold() == _IGNORE:
            ignored.append(heading.strip())
            continue
        try:
            column, heading = parse_column(line)
        except InputFileError:
            raise InputFileError(
                f"{path}, line {number}: {line.strip()[:60]!r} is not understood"
            ) from None
        columns[column] = heading
    return columns, tuple(ignored)


def in_words(columns: Mapping[str, str], ignored: Iterable[str], who: str) -> tuple[str, ...]:
    """What the receipt says of columns that somebody named; nothing where nobody did.

    Args:
        columns: our column -> the heading that is it.
        ignored: headings that pass unread.
        who: who says so: a file, or the options.
    """
    parts = [f"{name} = {shown(heading)}" for name, heading in columns.items()]
    parts += [f"{_IGNORE} {shown(heading)}" for heading in ignored]
    return (f"{who}: {', '.join(parts)}",) if parts else ()


def remember(jobs: str, columns: dict[str, str], ignored: tuple[str, ...]) -> Path:
    """Write the file beside a list.

    Raises:
        InputFileError: it cannot be written.
    """
    path = remembered_path(jobs)
    lines = [_HEAD, *(f"{name} = {heading}" for name, heading in columns.items())]
    lines += [f"{_IGNORE} = {heading}" for heading in ignored]
    with replacing(path) as temporary:
        temporary.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
