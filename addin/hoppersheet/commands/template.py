"""``hoppersheet template KIND --out F``: write one of the template workbooks."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import click

from ..cells.quantities import SYSTEMS
from ..files import may_write
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
    default=SYSTEMS[0],
    show_default=True,
    help="Unit system that quote and joblist start in; a cell of the workbook switches it.",
)
@click.option(
    "--with-functions",
    is_flag=True,
    help="The workbook brings the functions along: Microsoft 365 and Excel 2024 need no add-in.",
)
@click.option(
    "--rows",
    type=click.IntRange(1, 20_000),
    help="joblist: rows prepared for jobs; 300 when left out.",
)
@FORCE
def command(
    kind: str, out: Path, units: str, with_functions: bool, rows: int | None, force: bool
) -> None:
    """Write the template workbook KIND to the file --out."""
    from ..templates.saving import save_workbook

    if rows is not None and kind != "joblist":
        raise click.UsageError("--rows is for joblist")
    may_write(out, force=force)
    book = importlib.import_module(f"hoppersheet.templates.{kind}")
    if kind == "joblist":
        made = book.build(units, rows or book.JOB_ROWS)
    else:
        made = book.build() if kind == "check" else book.build(units)
    if with_functions:
        _save_with_functions(made, out)
    else:
        save_workbook(made, out)
    click.echo(f"Wrote {out}: {KINDS[kind]}.")


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
