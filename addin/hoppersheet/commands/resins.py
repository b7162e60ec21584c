"""``hoppersheet resins [NAME]``: the resin table, for reading."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from textwrap import wrap

import click

from ..cells.quantities import QUANTITIES, SYSTEMS
from ..cells.wording import counted, in_system, rounded
from ..errors import NoAnswer
from ..tables.hazards import hazards
from ..tables.resin_table import (
    PROPERTIES,
    RANGED,
    STORED,
    TABLE_VERSION,
    ResinValue,
    called,
    full_name,
    one_resin,
    other_names,
    resin_names,
    stored_value,
)
from ..tables.resins import regrind_ratio

__all__ = ["command", "described", "resin_list"]

_WIDE, _PIPED = 132, 132
_GAP = "  "
_NOTHING = "-"


def _systems(units: str) -> tuple[str, str]:
    first = next(system for system in SYSTEMS if system.casefold() == units)
    return first, SYSTEMS[1] if first == SYSTEMS[0] else SYSTEMS[0]


def _number(si: float, quantity: str, system: str) -> str:
    if quantity == "moisture":
        return f"{rounded(si * 100, 3)} %" if si >= 0.0001 else f"{rounded(si * 1e6, 3)} ppm"
    return rounded(in_system(si, quantity, system), 3)


def _units_of(quantity: str, systems: tuple[str, str]) -> str:
    units = dict.fromkeys(QUANTITIES[quantity].unit(system) for system in systems)
    if list(units) == ["1"]:
        return ""
    first, *others = units
    return first + "".join(f" ({other})" for other in others)


def _range(resin: str, name: str, systems: tuple[str, str]) -> str:
    """``"38.7-44.9 (0.62-0.72)"``, or one number where the ends are the same."""
    low, high = stored_value(resin, f"{name} low"), stored_value(resin, f"{name} high")
    if low is None or high is None:
        return _NOTHING
    ranges = []
    for system in dict.fromkeys(systems):
        ends = dict.fromkeys(_number(v.si, PROPERTIES[name], system) for v in (low, high))
        ranges.append("-".join(ends))
    if len(set(ranges)) == 1:
        return ranges[0]
    return f"{ranges[0]} ({ranges[1]})"


def _limit(resin: str, systems: tuple[str, str]) -> str:
    value = stored_value(resin, "moisture limit")
    return _NOTHING if value is None else _number(value.si, "moisture", systems[0])


def _kinds(resin: str) -> str:
    """The kinds of hazards that this resin has beyond what all have."""
    shared = {hazard.kind for hazard in hazards(resin) if hazard.for_all}
    kinds = dict.fromkeys(h.kind for h in hazards(resin) if h.kind not in shared)
    return ", ".join(kinds) or _NOTHING


def resin_list(resins: Iterable[str], width: int, units: str = "us") -> str:
    """The resins as a table that fits ``width`` columns; a narrow one has fewer columns."""
    systems = _systems(units)
    columns: list[tuple[tuple[str, str], list[str]]] = []

    def column(top: str, quantity: str, cells: list[str]) -> None:
        columns.append(((top, _units_of(quantity, systems) if quantity else ""), cells))

    names = list(resins)
    column("resin", "", names)
    column(
        "bulk density", "bulk density", [_range(name, "bulk density", systems) for name in names]
    )
    if width >= _WIDE:
        cells = [_range(name, "regrind density", systems) for name in names]
        column("regrind", "bulk density", cells)
    cells = [_range(name, "drying temperature", systems) for name in names]
    column("dried at", "temperature", cells)
    column("for", "drying hours", [_range(name, "drying hours", systems) for name in names])
    column("moisture", "", [_limit(name, systems) for name in names])
    if width >= _WIDE:
        column("cautions", "", [_kinds(name) for name in names])
    lines = []
    widths = [max(map(len, (*head, *cells))) for head, cells in columns]
    rows = zip(*((*head, *cells) for head, cells in columns), strict=True)
    for row in rows:
        cells = [cell.ljust(wide) for cell, wide in zip(row, widths, strict=True)]
        lines.append(_GAP.join(cells).rstrip())
    return "\n".join(lines)


def _indented(text: str, width: int, by: int) -> list[str]:
    blank = " " * by
    return wrap(text, width, initial_indent=blank, subsequent_indent=blank, break_long_words=False)


def _values(resin: str, name: str, systems: tuple[str, str], width: int) -> list[str]:
    """One property: the figures, and below them where each comes from."""
    ends = ("", " low", " high") if name in RANGED else ("",)
    found = [value for end in ends if (value := stored_value(resin, name + end)) is not None]
    if not found:
        return [f"{name}: no value: none with a source was found"]
    quantity = PROPERTIES[name]
    usual = " = ".join(
        f"{_number(found[0].si, quantity, s)} {_units_of(quantity, (s, s))}".strip()
        for s in dict.fromkeys(systems)
    )
    if quantity in ("moisture", "drying hours"):
        usual = usual.partition(" = ")[0]
    line = f"{name}: {usual}"
    if len(found) > 1:
        line += f", range {_range(resin, name, systems)}"
    lines = [line]
    sources: dict[str, list[str]] = {}
    for end, value in zip(("usual", "low", "high"), found, strict=False):
        sources.setdefault(value.source, []).append(end)
    for source, which in sources.items():
        who = "" if len(sources) == 1 else f"{' and '.join(which)}: "
        lines += _indented(f"{who}{source}", width, 6)
    return lines


def _ratio(resin: str) -> list[str]:
    try:
        ratio: ResinValue = regrind_ratio(resin)
    except NoAnswer:
        return []
    return [f"regrind ratio: {rounded(ratio.si, 2)} of the virgin density, from the two above"]


def described(resin: str, width: int, units: str = "us") -> str:
    """Everything that the table knows of a resin, within ``width`` columns."""
    systems = _systems(units)
    lines = [f"{resin}: {full_name(resin)}"]
    if other_names(resin):
        lines += _indented(f"also called {', '.join(other_names(resin))}", width, 4)
    lines.append("")
    for name in STORED:
        lines += _values(resin, name, systems, width)
        if name == "regrind density":
            lines += _ratio(resin)
    lines += ["", "Cautions"]
    for hazard in hazards(resin, systems[0]):
        lines += _indented(f"{hazard.kind}: {hazard.text}", width, 2)
        lines += _indented(f"source: {hazard.source}", width, 6)
    return "\n".join(lines)


_END = (
    "A range is what is usually stated; it does not prove safety or harm outside it. The resin "
    "maker's data sheet governs drying. Measure the density when it matters: a low one is safe for "
    "volume, a high one for load."
)


@click.command("resins")
@click.argument("name", required=False)
@click.option(
    "--units",
    type=click.Choice([system.casefold() for system in SYSTEMS], case_sensitive=False),
    default=SYSTEMS[0].casefold(),
    help="Which figures come first.",
)
def command(name: str | None, units: str) -> None:
    """List the resin table, or show all that it has on the resin NAME."""
    # A pipe or a file has no width; COLUMNS, where it is set, is what somebody wants.
    width = shutil.get_terminal_size((_PIPED, 24)).columns
    names = called(name) if name else tuple(resin_names())
    if name and len(names) == 1:
        click.echo(described(names[0], width, units))
    elif name and not names:
        try:
            one_resin(name)
        except NoAnswer as problem:
            raise click.UsageError(problem.reason) from None
    else:
        if name:
            click.echo(f"Several resins are called {name!r}:")
        click.echo(resin_list(names, width, units))
        end = (
            f"{counted(len(names), 'resin')}, resin table {TABLE_VERSION}. Sources and cautions of "
            "one: hoppersheet resins NAME."
        )
        if width < _WIDE:
            end += f" Regrind and cautions show from {_WIDE} columns on."
        click.echo("\n" + "\n".join(wrap(end, width)))
    click.echo()
    click.echo("\n".join(wrap(_END, width)))
