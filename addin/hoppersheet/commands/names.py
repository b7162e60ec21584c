"""``hoppersheet names BOOK --out F``: plain names of the functions again."""

from __future__ import annotations

import click

from ..existing import may_write
from . import FORCE


@click.command("names")
@click.argument("book", type=click.Path())
@click.option("--out", required=True, type=click.Path(), help="The workbook to write.")
@FORCE
def command(book: str, out: str, force: bool) -> None:
    """Repair the function names in BOOK and change nothing else.

    Use it when Excel or Calc saved the functions with a path or a service, so that they show #NAME?
    on another computer: 'C:\\...\\x.xlam'!HOPPER_X( becomes HOPPER_X(.
    """
    from ..workbook.names import put_plain_names

    may_write(out, book, force=force)
    for line in put_plain_names(book, out).lines():
        click.echo(line)
