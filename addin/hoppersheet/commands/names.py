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
    """Put plain function names back into BOOK, changing nothing else.

    For a workbook in which Excel or Calc has bound the functions to a path or a service, so that
    they show #NAME? elsewhere: 'C:\\...\\x.xlam'!HOPPER_X( becomes HOPPER_X(.
    """
    from ..workbook.names import put_plain_names

    may_write(out, book, force=force)
    for line in put_plain_names(book, out).lines():
        click.echo(line)
