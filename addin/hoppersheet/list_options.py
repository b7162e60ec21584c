"""What a user says about a job list: the same options for every command that reads one."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from .cells.numbers_in_text import shown
from .errors import InputFileError

if TYPE_CHECKING:
    from .tables.joblist import Stated
    from .tables.joblist.answers import Answers

__all__ = ["LIST_OPTIONS", "filled_answers", "list_options", "stated_list"]

_Command = TypeVar("_Command", bound=Callable[..., Any])

#: Name of the parameter -> how the option is typed.
LIST_OPTIONS = {
    "sheet": "--sheet",
    "columns": "--column",
    "ignore": "--ignore",
    "keep": "--remember",
    "answers": "--answers",
}
_OPTIONS = (
    click.option("--sheet", metavar="S", help='A workbook\'s sheet to read, or "all".'),
    click.option(
        "--column",
        "columns",
        multiple=True,
        metavar='"OURS=THEIRS"',
        help='Which heading is which column: "throughput=Output".',
    ),
    click.option(
        "--ignore", multiple=True, metavar="HEADING", help="The heading of a column to ignore."
    ),
    click.option(
        "--remember",
        "keep",
        is_flag=True,
        help="Save --column and --ignore in a file beside the list.",
    ),
    click.option(
        "--answers", metavar="F", help="Read the answers back from a filled --fixes file."
    ),
)


def list_options(command: _Command) -> _Command:
    """Give a command the options on how a list is read."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def stated_list(
    jobs: str, units: str | None, sheet: str | None, columns: tuple[str, ...],
    ignore: tuple[str, ...], keep: bool,
) -> Stated:  # fmt: skip
    """What the user says about the list, now or earlier."""
    from .tables.job_columns import AS_LISTED
    from .tables.joblist import Stated
    from .tables.joblist.remembered import (
        in_words,
        parse_column,
        read_remembered,
        remember,
        remembered_path,
    )

    known, passed = read_remembered(jobs)
    named = dict(map(parse_column, columns))
    for name, heading in named.items():
        other = next((n for n, h in named.items() if n != name and h == heading), "")
        if other:
            raise click.UsageError(
                f"--column: {shown(heading)} cannot be both {name!r} and {other!r}"
            )
    # What is said now wins over what a file remembers of the same heading.
    known = {name: heading for name, heading in known.items() if heading not in named.values()}
    kept_file = f"as the file {remembered_path(jobs)} says"
    notes = (
        *in_words({n: h for n, h in known.items() if n not in named}, passed, kept_file),
        *in_words(named, ignore, "as the options say"),
    )
    known.update(named)
    passed = tuple(dict.fromkeys((*passed, *ignore)))
    if keep:
        if jobs == "-":
            raise InputFileError("--remember needs a list in a file, not standard input")
        click.echo(f"Remembered in {remember(jobs, known, passed)}.")
    system = AS_LISTED if units is None else "US" if units.lower() == "us" else "metric"
    return Stated(system, known, passed, sheet, notes=notes)


def filled_answers(path: str | None) -> Answers | None:
    """The answers of a filled list of questions, None where none is given."""
    if path is None:
        return None
    from .tables.joblist.answers import read_answers

    return read_answers(path)
