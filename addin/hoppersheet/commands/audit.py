"""``hoppersheet audit BOOK``: does every number still follow, and from what?"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from ..books.audit import ENGINES, Audit, audit_book
from ..books.audit import Progress as Report
from ..books.audit.terminal import print_audit


@contextmanager
def _progress() -> Iterator[Report]:
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
@click.option("--json", "as_json", is_flag=True, help="For machines: one JSON object.")
@click.option(
    "--engine",
    type=click.Choice(ENGINES),
    help="What calculates the fresh values. Default: Calc where it is installed, else core.",
)
def command(book: str, as_json: bool, engine: str | None) -> None:
    """Recalculate every cell of BOOK that sizes a hopper, and examine it.

    Exit status 0: nothing found. 1: findings. 2: the workbook cannot be read.
    """
    with _progress() as report:
        audit: Audit = audit_book(book, engine, report)
    if as_json:
        click.echo(json.dumps(audit.as_dict(), indent=1, ensure_ascii=False, default=str))
    else:
        print_audit(audit)
    if audit.findings:
        sys.exit(1)
