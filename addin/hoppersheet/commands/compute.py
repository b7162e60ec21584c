"""``hoppersheet compute BOOK --out F``: a workbook computed afresh, otherwise as it was."""

from __future__ import annotations

import sys

import click

from ..existing import may_write
from . import FORCE


@click.command("compute")
@click.argument("book", type=click.Path())
@click.option("--out", required=True, type=click.Path(), help="The workbook to write.")
@click.option(
    "--engine",
    type=click.Choice(["calc", "core"]),
    help="calc is LibreOffice Calc, core is hoppersheet alone. Default: calc if installed, else "
    "core.",
)
@click.option(
    "--timeout",
    type=click.FloatRange(min=0, min_open=True),
    default=120,
    show_default=True,
    help="Seconds that LibreOffice may take before it is stopped.",
)
@FORCE
def command(book: str, out: str, engine: str | None, timeout: float, force: bool) -> None:
    """Recalculate BOOK (.xlsx, .xlsm) and write only the computed values.

    Styles, charts, comments, validations and macros stay as they are. Cells that show an error are
    named.

    Exit status 1: some cells could not be computed. They keep their stored values; they and the
    cells that depend on them are named.
    """
    from ..workbook.compute import compute
    from ..workbook.receipt import receipt

    may_write(out, book, force=force)
    report = compute(book, out, engine, timeout)
    for line in receipt(report):
        click.echo(line)
    if report.kept:
        sys.exit(1)
