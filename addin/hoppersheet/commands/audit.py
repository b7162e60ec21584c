"""``hoppersheet audit BOOK``: does every number still follow, and from what?"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from ..audit import ENGINES, Audit, audit_book
from ..audit import Progress as Report
from ..audit.accepted import read_accepted
from ..audit.outputs.terminal import print_audit
from ..existing import may_write
from ..screen import json_text
from . import FORCE

__all__ = ["command", "progress_bar"]


@contextmanager
def progress_bar() -> Iterator[Report]:
    """A bar on standard error, for people only."""
    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as bars:
        task = bars.add_task("reading", total=None)

        def report(what: str, done: int, total: int) -> None:
            bars.update(task, description=what, completed=done, total=total or None)

        yield report


@click.command("audit")
@click.argument("book", metavar="BOOK")
@click.argument("newer", metavar="[NEW]", required=False)
@click.option("--out", metavar="F.xlsx", help="The report to write; with --annotate, the copy.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object, for other programs.")
@click.option(
    "--annotate",
    is_flag=True,
    help="With --out COPY: a copy of BOOK with a comment on each sizing cell.",
)
@click.option(
    "--accepted",
    "accepted_in",
    metavar="F",
    help="Accepted findings: a report in which they are signed, or a .csv.",
)
@click.option("--changes", is_flag=True, help="Compare BOOK with a NEW version of it.")
@click.option(
    "--engine",
    type=click.Choice(ENGINES),
    help="calc is LibreOffice Calc, core is hoppersheet alone. Default: calc if installed, else "
    "core.",
)
@FORCE
def command(
    book: str,
    newer: str | None,
    out: str | None,
    as_json: bool,
    annotate: bool,
    accepted_in: str | None,
    changes: bool,
    engine: str | None,
    force: bool,
) -> None:
    """Recalculate every cell of BOOK that sizes a hopper, and examine it.

    Exit status 0: everything was examined, and no error or warning is open (with --changes: nothing
    changed). 1: an error or a warning is open, something changed, or something was not examined. 2:
    the workbook cannot be read.
    """
    if changes != (newer is not None):
        raise click.UsageError("to compare two workbooks, type: audit OLD NEW --changes")
    if newer is not None:
        if annotate or out:
            raise click.UsageError("--changes prints what changed; for a file, use --json")
        _compare(book, newer, as_json, engine)
        return
    if annotate and not out:
        raise click.UsageError("--annotate needs --out COPY")
    if out and not annotate and Path(out).suffix.lower() != ".xlsx":
        raise click.UsageError(f"the report is an .xlsx workbook, not {Path(out).name}")
    if out:
        may_write(out, book, force=force)
    accepted = read_accepted(accepted_in) if accepted_in else []
    with progress_bar() as report:
        audit: Audit = audit_book(book, engine, report, accepted)
        if out:
            report("writing", 0, 0)
            _write(audit, Path(out), annotate)
    if as_json:
        click.echo(json_text(audit.as_dict()))
    else:
        print_audit(audit)
        if out:
            click.echo(f"Written: {out}.")
    if audit.status:
        sys.exit(audit.status)


def _compare(old: str, new: str, as_json: bool, engine: str | None) -> None:
    """What changed between two versions; exit status 1 where something did."""
    from ..audit.outputs.terminal import print_changes
    from ..audit.versions import compare

    with progress_bar() as report:
        found = compare(old, new, engine, report)
    if as_json:
        click.echo(json_text(found.as_dict()))
    else:
        print_changes(found)
    if found.any:
        sys.exit(1)


def _write(audit: Audit, out: Path, annotate: bool) -> None:
    if annotate:
        from ..audit.outputs.annotate import annotate as write_copy

        write_copy(audit, out)
    else:
        from ..audit.outputs.report import write_report

        write_report(audit, out)
