"""``hoppersheet functions [NAME]`` and ``--guide``: the registry, for reading."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from ..call import find
from ..cells.wording import with_unit
from ..errors import CellError
from ..files import replacing
from ..functions import all_functions
from ..registry import REQUIRED, Argument, CellFunction


def _argument_lines(argument: Argument) -> list[str]:
    lines = [f"  {argument.name}", f"      {argument.text}"]
    measure, limits = argument.measure, argument.limits
    if measure is not None and limits is not None:
        ranges = [
            f"{with_unit(limits[0], measure.name, system)} to "
            f"{with_unit(limits[1], measure.name, system)}"
            for system in ("US", "metric")
        ]
        lines.append(f"      Limits: {' ('.join(dict.fromkeys(ranges))}")
        if ranges[0] != ranges[1]:
            lines[-1] += ")"
    if argument.default is not REQUIRED:
        lines.append(f"      Default: {argument.default}")
    return lines


def _description(function: CellFunction) -> list[str]:
    lines = [function.signature, "", function.question, function.summary, ""]
    if function.arguments:
        lines.append("Arguments")
        for argument in function.arguments:
            lines += _argument_lines(argument)
    lines += ["", f"Result: {function.result.text}"]
    equation = function.equation
    if isinstance(equation, Mapping):
        lines += [f"Equation ({option}): {text}" for option, text in equation.items()]
    elif equation:
        lines.append(f"Equation: {equation}")
    if function.assumptions:
        lines.append(f"Assumes: {function.assumptions}")
    lines.append(f"Source: {function.source}")
    return lines


@click.command("functions")
@click.argument("name", required=False)
@click.option("--guide", is_flag=True, help="Write the function guide, a page per function.")
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="The file to write the guide to."
)
def command(name: str | None, guide: bool, out: Path | None) -> None:
    """List the cell functions, or describe the one called NAME."""
    if name and guide:
        raise click.UsageError("give either NAME or --guide")
    if out is not None and not guide:
        raise click.UsageError("--out goes with --guide")
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
