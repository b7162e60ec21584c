"""``hoppersheet explain NAME ARG...``: one calculation, in one line."""

from __future__ import annotations

import sys
from typing import Any

import click

from ..call import call, find
from ..cells.numbers_in_text import parse_number
from ..cells.values import OMITTED
from ..errors import CellError


def cell_of(typed: str) -> Any:
    """What a word on the command line stands for: number, text, range, or an omitted argument.

    ``40;28`` is a column of two cells, ``-`` an argument that is left out.
    """
    if typed == "-":
        return OMITTED
    if ";" in typed:
        return [[cell_of(part.strip())] for part in typed.split(";")]
    try:
        # In a shell a point is the decimal point; a comma can be either sign there too.
        return parse_number(typed, "" if "," in typed else ".")
    except CellError:
        return typed


@click.command("explain", context_settings={"ignore_unknown_options": True})
@click.argument("name")
@click.argument("arguments", nargs=-1)
def command(name: str, arguments: tuple[str, ...]) -> None:
    """Compute the function NAME and show how.

    Type a range as "40;28" (a column of two cells). Type "-" for an argument that you leave out.

    Exit status 1: the function gives an error; the line says why.
    """
    try:
        function = find(name)
    except CellError as problem:
        raise click.UsageError(problem.reason) from None
    cells = [cell_of(word) for word in arguments]
    click.echo(call("HOPPER_EXPLAIN", function.name, *cells))
    try:
        call(function.name, *cells)
    except CellError:
        if any(isinstance(cell, str) and "," in cell for cell in cells):
            click.echo('A range of cells is written "40;28".', err=True)
        sys.exit(1)
