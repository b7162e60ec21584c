"""``hoppersheet handoff BOOK --out F``: a copy that lives without the add-in."""

from __future__ import annotations

import sys
from collections import Counter

import click

from ..books.audit import ENGINES
from .audit import progress_bar

_MOST_NAMED = 20


@click.command("handoff")
@click.argument("book", metavar="BOOK")
@click.option("--out", metavar="F", required=True, help="The copy.")
@click.option("--plain", is_flag=True, help="Native formulas; the copy goes on computing.")
@click.option("--values", "values_only", is_flag=True, help="Values; formulas as comments.")
@click.option(
    "--engine",
    type=click.Choice(ENGINES),
    help="What calculates the values. Default: Calc where it is installed, else core.",
)
def command(book: str, out: str, plain: bool, values_only: bool, engine: str | None) -> None:
    """Write a copy of BOOK in which no cell needs the add-in.

    Exit status 1: some calls have no native formula and became values; each cell says so.
    """
    if plain == values_only:
        raise click.UsageError("choose --plain or --values")
    from ..books.handoff import hand_off

    with progress_bar() as report:
        done = hand_off(book, out, values_only=values_only, engine=engine, progress=report)
    for place in done.left:
        click.echo(f"left as it is: {place}", err=True)
    if values_only:
        click.echo(f"{len(done.frozen)} cells became values. Written: {out}.")
        sys.exit(1 if done.left else 0)
    click.echo(f"{done.plain} cells compute with native formulas. Written: {out}.")
    if done.frozen:
        click.echo(f"{len(done.frozen)} cells became values, and say so in a comment:")
        for why, count in Counter(done.frozen.values()).most_common(_MOST_NAMED):
            first = next(cell for cell, reason in done.frozen.items() if reason == why)
            click.echo(f"  {count} like {first}: {why}")
    if done.frozen or done.left:
        sys.exit(1)
