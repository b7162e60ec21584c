"""``hoppersheet template KIND --out F``: write one of the template workbooks."""

from __future__ import annotations

import importlib
from pathlib import Path

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
@FORCE
def command(kind: str, out: Path, units: str, force: bool) -> None:
    """Write the template workbook KIND to the file --out."""
    from ..templates.saving import save_workbook

    may_write(out, force=force)
    book = importlib.import_module(f"hoppersheet.templates.{kind}")
    save_workbook(book.build() if kind == "check" else book.build(units), out)
    click.echo(f"Wrote {out}: {KINDS[kind]}.")
