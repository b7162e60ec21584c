"""``hoppersheet demo``: the invented lists and catalog as files, to try the commands on."""

from __future__ import annotations

from pathlib import Path

import click

from ..existing import may_write
from ..files import replacing
from . import FORCE

__all__ = ["FILES", "command"]

#: File of the package -> what to try with it.
FILES = {
    "demo_jobs.csv": "ten jobs; every one can be sized",
    "demo_jobs_to_mend.csv": "jobs with common mistakes; each row says what is wrong",
    "demo_catalog.csv": "hoppers to choose from; no such model exists",
}


@click.command("demo")
@click.option(
    "--out",
    "folder",
    default="hoppersheet-demo",
    show_default=True,
    type=click.Path(path_type=Path),
    help="The folder to write to; it is made if it is missing.",
)
@FORCE
def command(folder: Path, force: bool) -> None:
    """Write two job lists and a catalog to try the commands on. All of it is invented."""
    for name in FILES:
        may_write(folder / name, force=force)
    folder.mkdir(parents=True, exist_ok=True)
    source = Path(__file__).parents[1] / "data"
    for name, what in FILES.items():
        with replacing(folder / name) as path:
            path.write_bytes((source / name).read_bytes())
        click.echo(f"{folder / name}: {what} (invented)")
    click.echo(f"Try: hoppersheet size {folder / 'demo_jobs.csv'}")
