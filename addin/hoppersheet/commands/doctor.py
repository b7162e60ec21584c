"""``hoppersheet doctor``: everything tried for real, and what stands in the way."""

from __future__ import annotations

import sys

import click


@click.command("doctor")
@click.option(
    "--repair",
    is_flag=True,
    help="First throw away the prepared LibreOffice profiles; they are made again.",
)
def command(repair: bool) -> None:
    """Try every part for real: Python, LibreOffice, the add-in, the cache, Excel.

    Exit status 1: something stands in the way; the last lines say what, one sentence each.
    """
    from ..hosts import doctor

    if repair:
        click.echo(f"{'repair':<15} {doctor.repair()}")
    problems = []
    for line in doctor.examine():
        click.echo(f"{line.what:<15} {line.says}")
        if line.problem:
            problems.append(f"{line.what}: {line.problem}")
    for problem in problems:
        click.echo(f"in the way: {problem}", err=True)
    if problems:
        sys.exit(1)
    click.echo("Nothing stands in the way of what was tried.")
