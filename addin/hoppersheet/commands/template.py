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
from ..list_options import LIST_OPTIONS, filled_answers, list_options, stated_list
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
@list_options
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
    **options: Any,
) -> None:
    """Write the template workbook KIND to the file --out.

    With --jobs, the options on the list are those of "size", and it is read in the same way.

    Exit status 1: a chosen row of --jobs cannot become a line; each such row is named.
    """
    from ..templates.saving import save_workbook

    if rows is not None and kind == "check":
        raise click.UsageError("--rows works only with quote and joblist")
    if jobs is not None and kind != "quote":
        raise click.UsageError("--jobs works only with quote")
    alone = [LIST_OPTIONS[name] for name, value in options.items() if value]
    if jobs is None and (alone or lines is not None):
        raise click.UsageError(f"{'--lines' if lines is not None else alone[0]} needs --jobs LIST")
    may_write(out, jobs if jobs != "-" else None, options["answers"], force=force)
    if jobs is not None:
        left_out = _quote_of_jobs(jobs, lines, units, out, with_functions, rows or 0, **options)
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
    jobs: str, lines: str | None, units: str | None, out: Path, with_functions: bool, rows: int,
    answers: str | None, **options: Any,
) -> list[str]:  # fmt: skip
    """Write a quote whose lines are jobs of a list; what of the list gave no line."""
    from ..tables.joblist import open_catalog, open_jobs, size_list
    from ..tables.joblist.quote_lines import chosen_rows, quote_lines
    from ..tables.joblist.receipt import receipt, unread_sheets
    from ..templates import quote
    from ..templates.quote.typing_in import fill
    from ..templates.saving import save_workbook

    chosen = None if lines is None else chosen_rows(lines)
    stated = stated_list(jobs, units, **options)
    files = open_jobs(jobs, stated, filled_answers(answers))
    try:
        if chosen is not None and len(files) > 1:
            raise click.UsageError("--lines chooses rows of one sheet; name it with --sheet")
        system = files[0].reading.system
        if any(file.reading.system != system for file in files):
            raise InputFileError(
                f"{jobs}: the sheets are in different unit systems; give --units, or --sheet"
            )
        catalog, _ = open_catalog(None, system, system)
        lists = [size_list(file, catalog) for file in files]
        found = [quote_lines(sized, chosen) for sized in lists]
    finally:
        for file in files:
            file.close()
    made = [line for each in found for line in each.lines]
    if not made:
        raise InputFileError(f"{jobs}: no chosen row can become a line of a quote")
    if len(made) > quote.MOST_LINES:
        raise InputFileError(_too_many(jobs, [row for each in found for row in each.rows],
                                       quote.MOST_LINES, len(files) > 1))  # fmt: skip
    if rows > quote.MOST_LINES:
        raise click.UsageError(f"--rows: a quote holds 1 to {quote.MOST_LINES} lines")
    book = quote.build(system, rows=max(len(made), rows or quote.LINES))
    fill(book, made)
    if with_functions:
        _save_with_functions(book, out)
    else:
        save_workbook(book, out)
    left_out = []
    for sized, each in zip(lists, found, strict=True):
        for line in receipt(sized, "see below"):
            click.echo(line)
        for text in each.messages:
            click.echo(f"  for the quote: {text}")
        left_out += [f"row {number} left out: {reason}" for number, reason in each.left_out]
    click.echo(f"Wrote {out}: {counted(len(made), 'line')}, each with its assumptions.")
    for text in left_out:
        click.echo(f"  {text}", err=True)
    others = dict.fromkeys(sheet for sized in lists for sheet in unread_sheets(sized))
    return [*left_out, *(f"sheet {sheet} was not read" for sheet in others)]


def _too_many(jobs: str, rows: list[int], most: int, several: bool) -> str:
    """The refusal of more jobs than a quote holds, with the way to all of them."""
    text = f"{jobs}: {len(rows)} jobs, and a quote workbook holds {most} lines; nothing was written"
    if several:
        return f"{text}. Make a quote of each sheet: --sheet"
    parts = [rows[at : at + most] for at in range(0, len(rows), most)]
    ways = [f"--lines {part[0]}-{part[-1]}" for part in parts if part == sorted(part)]
    if len(ways) < len(parts):
        return f"{text}. Choose fewer with --lines"
    more = f", and so on ({len(ways)} in all)" if len(ways) > 4 else ""
    return f"{text}. Make {len(ways)} quotes of it: {', '.join(ways[:4])}{more}"


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
