"""``hoppersheet template KIND --out F``: write one of the template workbooks."""

from __future__ import annotations

import importlib
from pathlib import Path

import click

#: Kind -> what it is; the workbook comes from ``build()`` in books/KIND.py.
KINDS = {
    "joblist": "a job list to type or paste into, each job sized beside it",
    "check": "every cell function checked live against known values, with one verdict",
}


@click.command("template")
@click.argument("kind", type=click.Choice(list(KINDS)))
@click.option("--out", required=True, type=click.Path(path_type=Path, dir_okay=False))
def command(kind: str, out: Path) -> None:
    """Write the template workbook KIND to the file --out."""
    from ..books.saving import save_workbook

    save_workbook(importlib.import_module(f"hoppersheet.books.{kind}").build(), out)
    click.echo(f"Wrote {out}: {KINDS[kind]}.")
