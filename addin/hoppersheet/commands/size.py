"""``hoppersheet size JOBS``: a whole job list at once."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

from ..cells.wording import counted, in_both
from ..files import may_write
from ..tables.joblist import JobFile, SizedList, open_catalog, open_jobs, size_list
from ..tables.joblist.sizing import Row
from ..tables.joblist.terminal import columns_said, result_table, rows_said, wide_enough
from ..tables.joblist.writing import check_out, write_list
from . import FORCE

_MOST_SHOWN = 200  # rows on the terminal
_MOST_NAMED = 20  # problem rows named when the file that is written names them all
_CAUTION = (
    "Drying time and temperature: the resin maker's data sheet governs. Measure densities when it "
    "matters.\nA full hopper's weight on a machine throat, stand or mezzanine is for a licensed "
    "engineer and the local code."
)


@contextmanager
def _progress(file: JobFile) -> Iterator[Progress]:
    """A bar on standard error, for people only; follows the bytes of a text file."""
    columns = (TextColumn("sizing"), BarColumn(), TaskProgressColumn())
    console = Console(stderr=True)
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as progress:
        progress.add_task("sizing", total=file.table.total or None)
        yield progress


@click.command("size")
@click.argument("jobs", metavar="JOBS")
@click.option("--catalog", metavar="F", help="Own catalog: columns size, model, price; any unit.")
@click.option("--out", metavar="F", help="Write the sized list: .csv, .tsv or .xlsx.")
@click.option(
    "--units",
    type=click.Choice(["us", "metric"], case_sensitive=False),
    default="us",
    show_default=True,
    help="Unit system of plain numbers. A unit in a heading or a cell wins.",
)
@click.option(
    "--formulas",
    is_flag=True,
    help="With --out F.xlsx: live HOPPER_ formulas in place of values.",
)
@FORCE
def command(
    jobs: str, catalog: str | None, out: str | None, units: str, formulas: bool, force: bool
) -> None:
    """Size every job of the list JOBS: .csv, .tsv, .xlsx, or "-" for standard input.

    Columns in any order: job, resin, virgin share, regrind share, share basis, virgin density,
    regrind density, throughput, drying hours, reserve; usual other words, such as "material" or
    "dry time", are understood. Others pass through. A heading may carry a unit: "throughput
    [kg/h]".

    Exit status 1: at least one row has a problem; each is named on standard error.
    """
    system = "US" if units.lower() == "us" else "metric"
    if out:
        check_out(out, jobs, catalog, formulas)
        may_write(out, None if jobs == "-" else jobs, catalog, force=force)
    elif formulas:
        raise click.UsageError("--formulas needs --out F.xlsx")
    sizes, catalog_name = open_catalog(catalog, system)
    file = open_jobs(jobs)
    shown: list[Row] = []
    try:
        with _progress(file) as progress:
            task = progress.task_ids[0]
            position = file.table.position

            def step() -> None:
                progress.update(task, completed=position() if position else None)

            sized = size_list(file, sizes, system, step)
            sized.rows = _remember(sized.rows, shown, _MOST_SHOWN)
            if out:
                write_list(sized, file, out, system, formulas)
            else:
                for _ in sized.rows:
                    pass
    finally:
        file.close()
    first, last = (in_both(s.volume, "volume", system) for s in (sizes.sizes[0], sizes.largest))
    sold = f"{first} to {last}" if len(sizes.sizes) > 1 else first
    catalog_said = f"{catalog_name} ({counted(len(sizes.sizes), 'size')}, {sold})"
    _report(sized, file, shown, system, out, catalog_said)
    if sized.problems:
        sys.exit(1)


def _remember(rows: Iterator[Row], kept: list[Row], most: int) -> Iterator[Row]:
    """Pass the rows on and keep the first ones for the terminal."""
    for row in islice(rows, most):
        kept.append(row)
        yield row
    yield from rows


def _report(
    sized: SizedList, file: JobFile, shown: list[Row], system: str, out: str | None, catalog: str
) -> None:
    console = wide_enough(Console())
    job = sized.sizer.columns.get("job")
    console.print(result_table(shown, job.place if job else None, system))
    if sized.jobs > len(shown):
        where = f"all are in {out}" if out else "use --out F to get all"
        click.echo(f"... {sized.jobs} jobs in all, the first {len(shown)} rows are shown; {where}")
    assumed: dict[str, list[int]] = {}
    for number, _, answer in shown:
        for text in filter(None, answer.assumed.split("; ")):
            assumed.setdefault(text, []).append(number)
    if assumed:
        click.echo("\nAssumed:")
        for text, numbers in assumed.items():
            click.echo(f"  {rows_said(numbers)}: {text}")
    done = sized.jobs - len(sized.problems)
    click.echo(
        f"\n{counted(sized.jobs, 'job')}: {done} sized, {len(sized.problems)} with a problem."
    )
    click.echo(columns_said(sized.sizer.columns, file.headings))
    click.echo(f"Catalog: {catalog}." + (f" Written: {out}." if out else ""))
    click.echo(_CAUTION)
    if sized.problems:
        sys.stdout.flush()
        named = sized.problems if not out else list(islice(sized.problems, _MOST_NAMED))
        click.echo("\nProblems:", err=True)
        for number, reason in named:
            click.echo(f"  row {number}: {reason}", err=True)
        if len(named) < len(sized.problems):
            more = len(sized.problems) - len(named)
            click.echo(f"  ... and {more} more, named in the column 'problem' of {out}", err=True)
