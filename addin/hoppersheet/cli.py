"""The command line: a thin skin that loads one file of :mod:`hoppersheet.commands` per command.

Exit status: 0 done; 1 done with findings or problem rows; 2 wrong usage or unreadable input (one
clear line on standard error, nothing written).
"""

from __future__ import annotations

import importlib
import sys

import click

from ._version import __version__
from .errors import HoppersheetError

__all__ = ["COMMANDS", "cli", "main"]

#: Command -> what it does, in the order of the help. The command lives in commands/NAME.py.
COMMANDS = {
    "size": "Size every job of a list: which hopper does each one need?",
    "template": "Write a template workbook.",
    "calc": "Install, remove, examine or build the add-in for LibreOffice Calc.",
    "functions": "List the cell functions, or describe one.",
    "explain": "Compute one cell function and say how.",
    "compute": "Recalculate a workbook; nothing but computed values changes.",
    "audit": "Examine a workbook: does every number still follow, and from what?",
    "handoff": "Write a copy of a workbook that lives without the add-in.",
    "names": "Plain function names again in a workbook bound to a path.",
    "excel": "Install the Excel add-in (Windows), or build its file.",
}


class _LazyGroup(click.Group):
    """Imports a command's file when the command is used, and not before."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f".commands.{cmd_name}", __package__)
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="hoppersheet", message="%(prog)s %(version)s")
def cli() -> None:
    """Size drying hoppers for plastic resin, in Excel, in LibreOffice Calc, or right here.

    Drying times and temperatures: the resin maker's data sheet governs. A full hopper's weight on
    a machine throat, stand or mezzanine is for a licensed engineer and the local code.
    """


def main() -> None:
    """Run the command line; every known error is one line on standard error and status 2."""
    try:
        cli()
    except HoppersheetError as problem:
        click.echo(f"hoppersheet: {problem}", err=True)
        sys.exit(2)
