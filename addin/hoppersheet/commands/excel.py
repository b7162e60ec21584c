"""``hoppersheet excel build|install|remove|status``: the Excel add-in."""

from __future__ import annotations

import sys
from pathlib import Path, PureWindowsPath

import click

from ..existing import may_write
from ..files import replacing
from ..hosts.excel import addin_file, descriptions, folders, install
from ..hosts.excel.bootstrap import Paths
from . import FORCE

_SOMEWHERE = r"C:\hoppersheet\Scripts\pythonw.exe"


@click.group("excel")
def command() -> None:
    """Install the Excel add-in (Windows), or build its file (anywhere)."""


@command.command("build")
@click.option("--out", required=True, metavar="F", type=click.Path(path_type=Path))
@click.option(
    "--python",
    metavar="PATH",
    help=r"The pythonw.exe that computes the cells. Default: on Windows this Python, elsewhere "
    rf"{_SOMEWHERE}.",
)
@click.option(
    "--tooltips",
    metavar="F",
    type=click.Path(path_type=Path),
    help="Also write the function texts as XML for open-source IntelliSense add-ins.",
)
@FORCE
def build(out: Path, python: str | None, tooltips: Path | None, force: bool) -> None:
    """Write the add-in file F (.xlam) without installing anything."""
    if out.suffix.lower() != ".xlam":
        raise click.UsageError(f"--out {out}: Excel opens an add-in only if its name ends in .xlam")
    for path in filter(None, (out, tooltips)):
        may_write(path, force=force)
    paths = _paths(python)
    files = {out: addin_file.build(paths)}
    if tooltips is not None:
        files[tooltips] = descriptions.tooltips_xml().encode("utf-8")
    for path, content in files.items():
        with replacing(path) as temporary:
            temporary.write_bytes(content)
        click.echo(f"Wrote {path}.")
    click.echo(f"Its cells are computed by {paths.interpreter}.")


def _paths(python: str | None) -> Paths:
    """The paths for a Python that is named, or for this one."""
    if python is None and sys.platform == "win32":
        return folders.on_this_machine().paths
    interpreter = PureWindowsPath(python or _SOMEWHERE)
    if not interpreter.is_absolute() or not interpreter.name.lower().endswith(".exe"):
        raise click.UsageError(rf"--python {python}: give the whole path, such as {_SOMEWHERE}")
    folder = interpreter.parent
    # An environment has the DLL above its programs.
    folder = folder.parent if folder.name.lower() == "scripts" else folder
    return Paths(interpreter, folder, folders.xlwings_version())


@command.command("install")
@click.option(
    "--with-excel",
    is_flag=True,
    help="Let Excel write the file. Use this if Excel does not open the usual one.",
)
def install_command(with_excel: bool) -> None:
    """Install the add-in for this user; after an upgrade, install it again. Close Excel first."""
    here = folders.on_this_machine()
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
    removed = install.remove(folders.on_this_machine())
    for path in removed:
        click.echo(f"Removed {path}.")
    if not removed:
        click.echo("The add-in was not installed.")


@command.command("status")
def status() -> None:
    """Try each part of the add-in. Exit status 1: something does not work."""
    from ..hosts.excel.obstacles import WindowsRegistry
    from ..hosts.excel.status import examine

    lines = examine(folders.on_this_machine(), WindowsRegistry())
    for line in lines:
        click.echo(f"{line.what:16} {line.says}")
    if any(line.wrong for line in lines):
        sys.exit(1)
