"""``hoppersheet size JOBS``: a whole job list at once."""

from __future__ import annotations

import shutil
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

from ..cells.wording import counted, in_both
from ..existing import may_write
from ..list_options import filled_answers, list_options, stated_list
from ..tables.catalog import CatalogTable
from ..tables.joblist import (
    JobFile,
    SizedList,
    Stated,
    check_file,
    open_catalog,
    open_jobs,
    size_list,
)
from ..tables.joblist.output import check_out, write_lists
from ..tables.joblist.receipt import receipt, unread_sheets
from ..tables.joblist.sizing import Row
from ..tables.joblist.terminal import by_model, grouped, result_lines, totals_line
from . import FORCE

_MOST_SHOWN = 200  # rows on the terminal
_MOST_REASONS = 20
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
        progress.add_task("sizing", total=file.source.total or None)
        yield progress


@click.command("size")
@click.argument("jobs", metavar="JOBS")
@click.option("--catalog", metavar="F", help="Your catalog: columns size, model, price; any unit.")
@click.option(
    "--usable",
    metavar="SHARE",
    help="Share of each size that can be filled, such as 90 %, where the catalog has no column for "
    "it.",
)
@click.option("--out", metavar="F", help="Write the sized list: .csv, .tsv or .xlsx.")
@click.option(
    "--units",
    type=click.Choice(["us", "metric"], case_sensitive=False),
    help="Unit system of the results and of numbers without a unit. If left out: as the list says, "
    "or US if it says nothing.",
)
@list_options
@click.option(
    "--formulas",
    is_flag=True,
    help="With --out F.xlsx: live HOPPER_ formulas instead of values.",
)
@click.option("--fixes", metavar="F", help="Write the problem rows as questions to fill in: .xlsx.")
@FORCE
def command(
    jobs: str,
    catalog: str | None,
    usable: str | None,
    out: str | None,
    units: str | None,
    sheet: str | None,
    columns: tuple[str, ...],
    ignore: tuple[str, ...],
    keep: bool,
    formulas: bool,
    fixes: str | None,
    answers: str | None,
    force: bool,
) -> None:
    """Size every job of the list JOBS, and say how it was read.

    JOBS is .csv, .tsv, .txt, .xlsx, .xlsm, .xls, .xlsb, .ods, or "-" for standard input. Columns in
    any order, in English, German, French or Spanish: job, resin, shares, share basis, virgin
    density, regrind density, blend density, throughput (or shot mass or part mass, with cycle time,
    cavities, shots (strokes, cycles) or parts per hour or
    minute), drying hours, reserve. Other columns are copied. A
    heading may include a unit: "throughput [kg/h]". A resin name can replace density and hours.

    Exit status 1: a row has a problem, or a sheet that looks like jobs was not read. 2: the list
    cannot be read, or a question about it is open; nothing is written.
    """
    stated = stated_list(jobs, units, sheet, columns, ignore, keep)
    read = [path for path in (jobs, catalog, answers) if path != "-"]
    if out:
        check_out(out, {"list": jobs, "catalog": catalog, "answers": answers}, formulas)
        may_write(out, *read, force=force)
    elif formulas:
        raise click.UsageError("--formulas needs --out F.xlsx")
    if fixes:
        check_out(
            fixes,
            {"list": jobs, "catalog": catalog, "output": out, "answers": answers},
            endings=(".xlsx",),
        )
        may_write(fixes, *read, out, force=force)
    check_file(catalog)
    files = open_jobs(jobs, stated, filled_answers(answers))
    try:
        system = files[0].reading.system
        sizes, name = open_catalog(catalog, stated.units, system, usable)
        _size_all(files, sizes, name, stated, out, formulas, fixes)
    finally:
        for file in files:
            file.close()


class _Seen:
    """Passes the rows on; keeps the first ones, and counts what the report needs."""

    def __init__(self) -> None:
        self.rows: list[Row] = []
        self.count = 0
        self.models: Counter[str] = Counter()
        self.marks: dict[str, list[tuple[int, str]]] = {"assumed": [], "check": []}
        self.broken: list[Row] = []

    def through(self, rows: Iterator[Row], keep_problems: bool) -> Iterator[Row]:
        for row in rows:
            number, cells, job = row
            if self.count < _MOST_SHOWN:
                self.rows.append(row)
                for mark in filter(None, job.assumed.split("; ")):
                    self.marks["assumed"].append((number, mark))
                for mark in filter(None, job.check.split("; ") if job.is_job else ()):
                    self.marks["check"].append((number, mark))
            self.count += bool(cells)
            if job.next_size is not None:
                self.models[job.model] += 1
            if keep_problems and job.problem is not None:
                self.broken.append(row)
            yield row


def _size_all(
    files: list[JobFile], sizes: CatalogTable, name: str, stated: Stated, out: str | None,
    formulas: bool, fixes: str | None,
) -> None:  # fmt: skip
    lists, seen = [], []
    with _progress(files[0]) as progress:
        task = progress.task_ids[0]

        def step() -> None:
            position = files[0].source.position
            progress.update(task, completed=position() if position else None)

        for file in files:
            sized, its = size_list(file, sizes, step), _Seen()
            sized.rows = its.through(sized.rows, fixes is not None)
            lists.append(sized)
            seen.append(its)
        if out:
            write_lists(lists, out, name, stated.units, formulas)
        for sized in lists:
            for _ in sized.rows:
                pass
    if fixes:
        from ..tables.joblist.fixes import write_fixes

        asked = write_fixes(fixes, lists, [its.broken for its in seen])
        click.echo(
            f"Wrote {fixes}: {counted(asked, 'question')} to fill in; read it back with --answers."
        )
    for sized, its in zip(lists, seen, strict=True):
        _report(sized, its, out, name)
    _tell_problems(lists, out)
    if any(sized.problems or unread_sheets(sized) for sized in lists):
        sys.exit(1)


def _report(sized: SizedList, seen: _Seen, out: str | None, catalog: str) -> None:
    system, sizes = sized.sizer.system, sized.sizer.catalog
    for line in receipt(sized):
        click.echo(line)
    click.echo("")
    job = sized.sizer.columns.get("job")
    width = shutil.get_terminal_size((80, 24)).columns if sys.stdout.isatty() else 160
    for line in result_lines(seen.rows, job.at if job else None, system, max(80, width)):
        click.echo(line)
    if seen.count > len(seen.rows):
        where = f"all are in {out}" if out else "use --out F to get all"
        click.echo(f"... the first {len(seen.rows)} of {seen.count} rows are shown; {where}")
    for title, kind in (("Assumed", "assumed"), ("Look at", "check")):
        if seen.marks[kind]:
            click.echo(f"\n{title}:")
            for text in grouped(seen.marks[kind], _MOST_REASONS):
                click.echo(f"  {text}")
    click.echo(f"\n{totals_line(sized, seen.count)}")
    models = by_model(seen.models, sizes, catalog)
    if models:
        click.echo(models)
    first, last = (in_both(s.volume, "volume", system) for s in (sizes.sizes[0], sizes.largest))
    sold = f"{first} to {last}" if len(sizes.sizes) > 1 else first
    click.echo(f"Catalog: {catalog} ({counted(len(sizes.sizes), 'size')}, {sold}).")
    if out:
        click.echo(f"Written: {out}.")
    click.echo(_CAUTION)


def _tell_problems(lists: list[SizedList], out: str | None) -> None:
    """The problems on standard error; where the table goes into a pipe, with the table."""
    problems = [problem for sized in lists for problem in sized.problems]
    if not problems:
        return
    sys.stdout.flush()
    to_error = sys.stdout.isatty() or sys.stderr.isatty() is False
    click.echo("\nProblems:", err=to_error)
    for line in grouped(problems, _MOST_REASONS):
        click.echo(f"  {line}", err=to_error)
    if not sys.stdout.isatty():
        click.echo(f"{counted(len(problems), 'problem row')}, named on standard error"
                   + (f" and in {out}." if out else "."))  # fmt: skip
