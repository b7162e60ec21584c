"""``hoppersheet calc install|remove|status|build``: the add-in for LibreOffice Calc."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from .._version import __version__
from ..existing import may_write
from . import FORCE


@click.group("calc")
def command() -> None:
    """Install, remove, examine or build the add-in for LibreOffice Calc."""


@command.command("install")
def install() -> None:
    """Install the add-in for this user; as root, for all users. Close LibreOffice first."""
    from ..hosts.calc import installation

    layer = installation.install()
    click.echo(f"Installed hoppersheet {__version__} {layer}. Start LibreOffice again to use it.")


@command.command("remove")
def remove() -> None:
    """Remove the add-in for this user; as root, for all users. Close LibreOffice first."""
    from ..hosts.calc import installation

    layers = installation.remove()
    click.echo(f"Removed the add-in {layers[0]}." if layers else "The add-in was not installed.")


@command.command("status")
def status() -> None:
    """Show paths and versions, and compute one cell in LibreOffice.

    Exit status 1: something is wrong; the last lines say what.
    """
    from ..hosts.calc import installation

    found = installation.status()
    where = ", ".join(f"{version} {layer}" for layer, version in found.installed.items())
    verdict = "right" if found.is_right else "WRONG"
    rows = {
        "hoppersheet": __version__,
        "LibreOffice": f"{found.office_version}, {found.programs.soffice}",
        "its Python": f"{found.python_version}, {found.programs.python}",
        "add-in": where or "not installed",
        "probe": f"{found.probe} gives {found.value}: {verdict}",
    }
    for name, text in rows.items():
        click.echo(f"{name:<12} {text}")
    for finding in found.findings:
        click.echo(f"hoppersheet: {finding}", err=True)
    sys.exit(1 if found.findings else 0)


@command.command("build")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="The file to write.")
@FORCE
def build(out: Path | None, force: bool) -> None:
    """Write the add-in as an extension file (.oxt), to install on another machine."""
    from ..hosts.calc import extension

    target = out or Path(extension.FILE_NAME)
    may_write(target, force=force)
    written = extension.build(target)
    click.echo(f"Wrote {written}: open it in LibreOffice to install it.")
