"""The command line: a thin skin that loads one file of :mod:`hoppersheet.commands` per command.

Exit status: 0 done; 1 done with findings or problem rows; 2 wrong usage or unreadable input (one
clear line on standard error, nothing written).
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import io
import os
import signal
import sys
import threading
import traceback
import warnings
from collections.abc import Iterator
from pathlib import Path

import click

from ._version import __version__
from .errors import HoppersheetError

__all__ = ["COMMANDS", "EXAMPLES", "cli", "main"]

#: Environment variable by which a maintainer sees where an unexpected error came from.
TRACEBACK = "HOPPERSHEET_TRACEBACK"

#: Command -> what it does, in the order of the help. The command lives in commands/NAME.py.
COMMANDS = {
    "size": "Size a job list: which hopper does each job need?",
    "template": "Write a quote, job list or check workbook.",
    "audit": "Check every number of a workbook.",
    "handoff": "Write a copy that works without the add-in.",
    "compute": "Recalculate a workbook; only values change.",
    "names": "Repair function names bound to a path.",
    "functions": "List the cell functions, or describe one.",
    "explain": "Compute one function and show how.",
    "resins": "Show the resin table, or one resin.",
    "demo": "Write invented lists to try things on.",
    "calc": "The add-in for LibreOffice Calc: install, status.",
    "excel": "The add-in for Excel on Windows: install, status.",
    "doctor": "Try every part; say what does not work.",
}

#: Command -> what one would type first; stands at the end of its help.
EXAMPLES = {
    "size": "hoppersheet size jobs.xlsx --catalog hoppers.csv --out sized.xlsx",
    "template": "hoppersheet template quote --units metric --out quote.xlsx",
    "audit": "hoppersheet audit quote.xlsx --out report.xlsx",
    "handoff": "hoppersheet handoff quote.xlsx --page Quote --out quote.pdf",
    "compute": "hoppersheet compute quote.xlsx --out computed.xlsx",
    "names": "hoppersheet names quote.xlsx --out repaired.xlsx",
    "functions": "hoppersheet functions HOPPER_BLEND_DENSITY",
    "explain": 'hoppersheet explain HOPPER_BLEND_DENSITY "0.7;0.3" "40;28" mass',
    "resins": "hoppersheet resins PET",
    "demo": "hoppersheet demo --out demo",
    "calc": "hoppersheet calc install",
    "excel": "hoppersheet excel install",
    "doctor": "hoppersheet doctor",
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
        command.epilog = f"Example: {EXAMPLES[cmd_name]}"
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


class _Stopped(SystemExit):
    """Ctrl-C or a request to end; no ``except Exception`` takes it for a damaged file."""

    def __init__(self, number: int) -> None:
        super().__init__(128 + number)
        self.number = number


def _stop(number: int, _frame: object) -> None:
    for each in _STOPS:
        signal.signal(each, signal.SIG_IGN)  # clean up undisturbed, also on a second Ctrl-C
    raise _Stopped(number)


def _dropped(what: sys.UnraisableHookArgs) -> None:
    """What Python drops where nothing can be raised, such as while an object is thrown away.

    A library's half-written file complains there; the line that ends the run says all. A request
    to end may come there too: it is made once more, a moment later.
    """
    if isinstance(what.exc_value, _Stopped):
        number = what.exc_value.number
        signal.signal(number, _stop)
        # To this thread, so that it wakes from whatever it waits for, where that is possible.
        again = (
            threading.Timer(0.02, signal.pthread_kill, [threading.get_ident(), number])
            if hasattr(signal, "pthread_kill")
            else threading.Timer(0.02, signal.raise_signal, [number])
        )
        again.daemon = True
        again.start()


_STOPS = [
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
]


@contextlib.contextmanager
def _stopping_cleanly() -> Iterator[None]:
    """Within this, a signal to end unwinds: no temporary file and no office stays behind."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {each: signal.getsignal(each) for each in _STOPS}
    for each, handler in before.items():
        if handler is not signal.SIG_IGN:  # as nohup wants it
            signal.signal(each, _stop)
    try:
        yield
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)


def _drop_unwritten_output() -> None:
    """What standard output did not take would raise once more when Python ends."""
    try:
        sys.stdout.flush()
    except (OSError, ValueError):
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def main() -> None:
    """Run the command line; every error is one line on standard error and status 2.

    Ctrl-C and other requests to end give 128 and the number of the signal, as in a shell.
    """
    from .screen import Screen

    hook, streams = sys.unraisablehook, (sys.stdout, sys.stderr)
    sys.unraisablehook = _dropped
    for stream in streams:
        # A name that the terminal's encoding does not know must not end the run.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    sys.stdout, sys.stderr = map(Screen, streams)
    try:
        _run()
    finally:
        sys.unraisablehook = hook
        sys.stdout, sys.stderr = streams


def _run() -> None:
    from .screen import one_line

    try:
        with _stopping_cleanly(), warnings.catch_warnings():
            if not sys.warnoptions:
                warnings.simplefilter("ignore")  # a library's words about a file it reads
            status = cli(standalone_mode=False)
    except _Stopped as stopped:
        click.echo("hoppersheet: interrupted", err=True)
        raise SystemExit(stopped.code) from None
    except click.exceptions.NoArgsIsHelpError as asked:
        click.echo(asked.format_message(), err=True)
        sys.exit(2)
    except Exception as problem:
        message = _message(problem)
    else:
        sys.exit(status if isinstance(status, int) else 0)
    click.echo(f"hoppersheet: {one_line(message)}", err=True)
    _drop_unwritten_output()
    gc.collect()  # what is half written goes now, while the hook is in place
    sys.exit(2)


def _message(problem: Exception) -> str:
    """What the user is told of whatever went wrong: the last resort, never a traceback."""
    if isinstance(problem, HoppersheetError):
        return str(problem)
    if isinstance(problem, click.UsageError):
        command = problem.ctx.command_path if problem.ctx else "hoppersheet"
        return f"{problem.format_message().rstrip('.')}. See: {command} --help"
    if isinstance(problem, click.ClickException):
        return problem.format_message()
    if isinstance(problem, OSError):  # a name too long, standard output on a full disk
        message = problem.strerror or str(problem)
        return f"{problem.filename}: {message}" if problem.filename else message
    if isinstance(problem, MemoryError):
        return "not enough memory for this file"
    if isinstance(problem, RecursionError):
        return "a formula or a part of this file is nested too deeply"
    if os.environ.get(TRACEBACK):
        traceback.print_exception(problem)
    at = traceback.extract_tb(problem.__traceback__)[-1]
    return (
        f"this should not happen: {type(problem).__name__}: {str(problem)[:200]} "
        f"({Path(at.filename).name}, line {at.lineno}). Nothing was written. Please report it; "
        f"{TRACEBACK}=1 shows more"
    )
