"""``hoppersheet template KIND --out F``: write one of the template workbooks."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from typing import Any

import click

from ..cells.quantities import SYSTEMS
from ..cells.wording import counted
from ..errors import InputFileError
from ..existing import may_write
from . import FORCE

#: Kind -> what it is; the workbook comes from ``build()`` in templates/KIND.py.
KINDS = {
    "quote": "sizes, prices and prints a quote, with every assumption in the open",
    "joblist": "a job list to type or paste into, each job sized beside it",
    "check": "every cell function checked live against known values, with one verdict",
}


@click.command("template")
@click.argument("kind", type=click.Choice(list(KINDS)))
@click.option("--out", required=True, type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--units",
    type=click.Choice(SYSTEMS, case_sensitive=False),
    help="Unit system of quote and joblist. If left out: US, or with --jobs that of the list. A "
    "cell of the workbook changes it.",
)
@click.option(
    "--with-functions",
    is_flag=True,
    help="Store the functions in the workbook: Microsoft 365 and Excel 2024 need no add-in.",
)
@click.option(
    "--rows",
    type=click.IntRange(1, 20_000),
    help="Rows prepared. joblist: 300 when left out; quote: 40, at most 200.",
)
@click.option("--jobs", metavar="LIST", help="quote: a job list; each job becomes a line.")
@click.option("--lines", metavar="ROWS", help='With --jobs: rows of the list, such as "3,5-8".')
@FORCE
def command(
    kind: str,
    out: Path,
    units: str | None,
    with_functions: bool,
    rows: int | None,
    jobs: str | None,
    lines: str | None,
    force: bool,
) -> None:
    """Write the template workbook KIND to the file --out.

    Exit status 1: a chosen row of --jobs cannot become a line; each such row is named.
    """
    from ..templates.saving import save_workbook

    if rows is not None and kind == "check":
        raise click.UsageError("--rows works only with quote and joblist")
    if jobs is not None and kind != "quote":
        raise click.UsageError("--jobs works only with quote")
    if lines is not None and jobs is None:
        raise click.UsageError("--lines needs --jobs LIST")
    may_write(out, jobs if jobs != "-" else None, force=force)
    if jobs is not None:
        left_out = _quote_of_jobs(jobs, lines, units, out, with_functions, rows or 0)
        if left_out:
            sys.exit(1)
        return
    units = units or SYSTEMS[0]
    book = importlib.import_module(f"hoppersheet.templates.{kind}")
    if kind == "joblist":
        made = book.build(units, rows or book.JOB_ROWS)
    elif kind == "quote":
        if rows is not None and rows > book.MOST_LINES:
            raise click.UsageError(f"--rows: a quote holds 1 to {book.MOST_LINES} lines")
        made = book.build(units, rows=rows or book.LINES)
    else:
        made = book.build()
    if with_functions:
        _save_with_functions(made, out)
    else:
        save_workbook(made, out)
    click.echo(f"Wrote {out}: {KINDS[kind]}.")


def _quote_of_jobs(
    jobs: str, lines: str | None, units: str | None, out: Path, with_functions: bool, rows: int
) -> list[tuple[int, str]]:
    """Write a quote whose lines are jobs of a list; the chosen rows that give no line."""
    from ..tables.job_columns import AS_LISTED
    from ..tables.joblist import Stated, open_catalog, open_jobs, size_list
    from ..tables.joblist.quote_lines import chosen_rows, quote_lines
    from ..tables.joblist.receipt import receipt, unread_sheets
    from ..tables.joblist.remembered import in_words, read_remembered, remembered_path
    from ..templates import quote
    from ..templates.quote.typing_in import fill
    from ..templates.saving import save_workbook

    columns, ignored = read_remembered(jobs)
    notes = in_words(columns, ignored, f"as the file {remembered_path(jobs)} says")
    chosen = None if lines is None else chosen_rows(lines)
    (file,) = open_jobs(jobs, Stated(units or AS_LISTED, columns, ignored, notes=notes))
    try:
        system = file.reading.system
        catalog, _ = open_catalog(None, system, system)
        sized = size_list(file, catalog)
        made = quote_lines(sized, chosen)
    finally:
        file.close()
    if not made.lines:
        raise InputFileError(f"{jobs}: no chosen row can become a line of a quote")
    try:
        book = quote.build(system, rows=max(len(made.lines), rows or quote.LINES))
        fill(book, made.lines)
    except ValueError as problem:
        raise InputFileError(f"{jobs}: {problem}; choose fewer with --lines") from None
    if with_functions:
        _save_with_functions(book, out)
    else:
        save_workbook(book, out)
    for line in receipt(sized):
        click.echo(line)
    click.echo(f"Wrote {out}: {counted(len(made.lines), 'line')}, each with its assumptions.")
    for number, reason in made.left_out:
        click.echo(f"  row {number} left out: {reason}", err=True)
    others = [(0, f"sheet {sheet} was not read") for sheet in unread_sheets(sized)]
    return [*made.left_out, *others]


def _save_with_functions(book: Any, out: Path) -> None:
    from tempfile import TemporaryDirectory

    from ..carried.book import carry_used
    from ..templates.saving import save_workbook
    from ..workbook.package import Package

    with TemporaryDirectory() as folder:
        path = Path(folder, out.name)
        save_workbook(book, path)
        package = Package(path)
        carry_used(package)
        package.save(out)
