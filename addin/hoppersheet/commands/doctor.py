"""``hoppersheet doctor``: everything tried for real, and what stands in the way."""

from __future__ import annotations

import sys

import click


@click.command("doctor")
@click.option(
    "--repair",
    is_flag=True,
    help="First delete the prepared LibreOffice profiles; new ones are made.",
)
def command(repair: bool) -> None:
    """Try every part: Python, LibreOffice, the add-in, the cache, Excel.

    Exit status 1: something does not work; the last lines say what.
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
        click.echo(f"problem: {problem}", err=True)
    if problems:
        sys.exit(1)
    click.echo("Everything that was tried works.")
