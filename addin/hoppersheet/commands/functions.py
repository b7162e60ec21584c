"""``hoppersheet functions [NAME]`` and ``--guide``: the registry, for reading."""

from __future__ import annotations

from pathlib import Path

import click

from ..call import find
from ..describe import argument_words, facts
from ..errors import CellError
from ..existing import may_write
from ..files import replacing
from ..functions import all_functions
from ..registry import REQUIRED, CellFunction
from ..templates.cautions import ABOUT_ARGUMENT
from . import FORCE


def _description(function: CellFunction) -> list[str]:
    lines = [function.signature, "", function.question, function.summary, ""]
    if function.arguments:
        lines.append("Arguments")
    for argument in function.arguments:
        words = argument_words(argument)
        lines += [f"  {words.name}", f"      {words.text}"]
        for title, text in (("Allowed", words.allowed), ("Usual", words.usual)):
            if text:
                lines.append(f"      {title}: {text}")
        if argument.default is not REQUIRED:
            lines.append(f"      When left out: {words.left_out}")
    return [*lines, "", *(f"{title}: {text}." for title, text in facts(function, ABOUT_ARGUMENT))]


@click.command("functions")
@click.argument("name", required=False)
@click.option("--guide", is_flag=True, help="Write the function guide, a page per function.")
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="The file to write the guide to."
)
@FORCE
def command(name: str | None, guide: bool, out: Path | None, force: bool) -> None:
    """List the cell functions, or describe the one called NAME."""
    if name and guide:
        raise click.UsageError("give either NAME or --guide")
    if out is not None and not guide:
        raise click.UsageError("--out works only with --guide")
    if out is not None:
        may_write(out, force=force)
    if guide:
        from ..templates.function_guide import function_guide

        text = function_guide()
        if out is None:
            click.echo(text, nl=False)
            return
        with replacing(out) as file:
            file.write_text(text, encoding="utf-8")
        click.echo(f"Wrote {out}.")
        return
    if name is None:
        for function in all_functions().values():
            click.echo(f"{function.signature}\n    {function.summary}")
        return
    try:
        click.echo("\n".join(_description(find(name))))
    except CellError as problem:
        raise click.UsageError(problem.reason) from None
