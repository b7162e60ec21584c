"""``hoppersheet compute BOOK --out F``: a workbook computed afresh, otherwise as it was."""

from __future__ import annotations

import sys

import click

_SHOWN = 20  # cells named on the terminal; the rest is counted


def _named(cells: list[str]) -> str:
    more = f" and {len(cells) - _SHOWN} more" if len(cells) > _SHOWN else ""
    return ", ".join(cells[:_SHOWN]) + more


@click.command("compute")
@click.argument("book", type=click.Path())
@click.option("--out", required=True, type=click.Path(), help="The workbook to write.")
@click.option(
    "--engine",
    type=click.Choice(["calc", "embedded"]),
    help="LibreOffice Calc, or the built-in engine for small books; the first that is there "
    "when left out.",
)
@click.option(
    "--timeout",
    type=click.FloatRange(min=0, min_open=True),
    default=120,
    show_default=True,
    help="Seconds that LibreOffice may take before it is stopped.",
)
def command(book: str, out: str, engine: str | None, timeout: float) -> None:
    """Recalculate BOOK (.xlsx, .xlsm) and write only the computed values.

    Styles, charts, comments, validations, macros and all else stay as they are. Cells may show
    errors; they are named. Exit status 1: some cells keep their stored value, because the engine
    cannot compute them.
    """
    from ..workbook.compute import compute

    report = compute(book, out, engine, timeout)
    click.echo(f"{report.cells} cells computed by {report.engine}; {report.changed} changed.")
    if report.full_calc_dropped:
        click.echo("Taken out: the mark that asks for a full calculation at the next opening.")
    if report.bound:
        click.echo(
            f"{report.bound} formulas have function names bound to a path or a service; "
            "'hoppersheet names' makes them plain."
        )
    if report.errors:
        click.echo(f"{len(report.errors)} cells show an error: {_named(report.errors)}.")
    if report.kept:
        click.echo(
            f"{len(report.kept)} cells keep their stored value, which {report.engine} cannot "
            f"compute: {_named(report.kept)}."
        )
        sys.exit(1)
