"""``hoppersheet excel build|install|remove|status``: the Excel add-in."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..files import may_write, replacing
from ..hosts.excel import addin_file, descriptions, install, places
from . import FORCE


@click.group("excel")
def command() -> None:
    """Install the Excel add-in (Windows), or build its file (anywhere)."""


@command.command("build")
@click.option("--out", required=True, metavar="F", type=click.Path(path_type=Path))
@click.option(
    "--tooltips",
    metavar="F",
    type=click.Path(path_type=Path),
    help="Also write the function texts as XML for open-source IntelliSense add-ins.",
)
@FORCE
def build(out: Path, tooltips: Path | None, force: bool) -> None:
    """Write the add-in file F (.xlam) without installing anything."""
    if out.suffix.lower() != ".xlam":
        raise click.UsageError(f"--out {out}: Excel opens an add-in only if its name ends in .xlam")
    for path in filter(None, (out, tooltips)):
        may_write(path, force=force)
    files = {out: addin_file.build()}
    if tooltips is not None:
        files[tooltips] = descriptions.tooltips_xml().encode("utf-8")
    for path, content in files.items():
        with replacing(path) as temporary:
            temporary.write_bytes(content)
        click.echo(f"Wrote {path}.")


@command.command("install")
@click.option(
    "--with-excel",
    is_flag=True,
    help="Let Excel write the file, should it not open the one written without it.",
)
def install_command(with_excel: bool) -> None:
    """Install the add-in for this user, or renew it after an upgrade. Close Excel first."""
    here = places.on_this_machine()
    if with_excel:
        from ..hosts.excel.with_excel import install_with_excel

        click.echo(f"Installed {install_with_excel(here)}.")
    else:
        install.install(here)
        click.echo(f"Installed {here.addin}.")
    click.echo(f"Cells are computed by {here.interpreter}.")
    click.echo("Start Excel and type =HOPPER_VERSION() into a cell.")


@command.command("remove")
def remove() -> None:
    """Remove the add-in for this user. Close Excel first."""
    removed = install.remove(places.on_this_machine())
    for path in removed:
        click.echo(f"Removed {path}.")
    if not removed:
        click.echo("The add-in was not installed.")


@command.command("status")
def status() -> None:
    """Say whether the add-in is installed and fits; exit status 1 if not."""
    here = places.on_this_machine()
    problems = install.examine(here)
    for problem in problems:
        click.echo(problem)
    if problems:
        click.echo("Close Excel and run: hoppersheet excel install")
        sys.exit(1)
    click.echo(f"Installed and up to date: {here.addin}, computed by {here.interpreter}.")
