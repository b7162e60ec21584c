"""Show a sized job list on the terminal: US customary and metric side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from ...cells.numbers_in_text import shown
from ...cells.quantities import QUANTITIES, SYSTEMS
from ...cells.wording import in_system, rounded
from ..headings import Heading, plain_name
from .sizing import Row

__all__ = ["columns_said", "result_table", "rows_said", "wide_enough"]

_NARROWEST = 120  # columns, where the output goes to a file or a pipe


def wide_enough(console: Console) -> Console:
    """The console itself on a terminal; elsewhere one that does not fold the table."""
    if console.is_terminal:
        return console
    return Console(width=max(_NARROWEST, console.width), file=console.file)


def _both(si: float | None, quantity: str, systems: tuple[str, str]) -> str:
    """``"21.2 (599)"``: the list's own unit system first."""
    if si is None:
        return "-"
    first, second = (rounded(in_system(si, quantity, system), 4) for system in systems)
    return f"{first} ({second})"


def _units(quantity: str, systems: tuple[str, str]) -> str:
    first, second = (QUANTITIES[quantity].unit(system) for system in systems)
    return f"{first} ({second})"


def _hours(seconds: float | None) -> str:
    return "-" if seconds is None else rounded(seconds / 3600, 3)


def _plain(cell: Any) -> Text:
    """A cell of the input as text; never read as markup, and never as an order to the terminal."""
    text = "" if cell is None else " ".join(str(cell).split())
    shown = "".join(sign if sign.isprintable() else "\ufffd" for sign in text)
    return Text(shown, overflow="ellipsis")


def result_table(rows: list[Row], job_at: int | None, system: str) -> Table:
    """A table of sized rows.

    Args:
        rows: what to show.
        job_at: place of the column with the job's name, None where there is none.
        system: unit system that stands first.
    """
    systems = (system, SYSTEMS[0] if system == SYSTEMS[1] else SYSTEMS[1])
    volume, density = _units("volume", systems), _units("bulk density", systems)
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("row", justify="right")
    table.add_column("job", no_wrap=True, max_width=26)
    table.add_column(f"blend density\n{density}")
    table.add_column(f"required\n{volume}")
    table.add_column(f"size below\n{volume}")
    table.add_column("holds\nh", justify="right")
    table.add_column(f"next size\n{volume}", style="bold")
    table.add_column("holds\nh", justify="right")
    table.add_column("model")
    table.add_column("", no_wrap=True)
    for number, cells, sized in rows:
        if not sized.is_job:
            continue
        job = cells[job_at] if job_at is not None and job_at < len(cells) else ""
        marks = [m for m, said in (("assumed", sized.assumed), ("problem", sized.problem)) if said]
        table.add_row(
            str(number),
            _plain(job),
            _both(sized.blend_density, "bulk density", systems),
            _both(sized.required_volume, "volume", systems),
            _both(sized.size_below, "volume", systems),
            _hours(sized.hours_at_size_below),
            _both(sized.next_size, "volume", systems),
            _hours(sized.hours_at_next_size),
            _plain(sized.model),
            ", ".join(marks),
        )
    return table


def rows_said(numbers: Sequence[int]) -> str:
    """``"rows 3, 5 to 9"`` for row numbers in ascending order."""
    runs = [
        [number for _, number in run]
        for _, run in groupby(enumerate(numbers), lambda pair: pair[1] - pair[0])
    ]
    said = [f"{r[0]} to {r[-1]}" if len(r) > 2 else ", ".join(map(str, r)) for r in runs]
    return f"{'row' if len(numbers) == 1 else 'rows'} {', '.join(said)}"


def columns_said(columns: Mapping[str, Heading], headings: Sequence[Any]) -> str:
    """Which columns were read, as what, and which passed through unread."""
    read = []
    for heading in sorted(columns.values(), key=lambda heading: heading.place):
        as_named = plain_name(heading.typed).startswith(heading.name)
        read.append(heading.name if as_named else f"{heading.name} ({shown(heading.typed)})")
    at = {heading.place for heading in columns.values()}
    passed = [shown(h) for i, h in enumerate(headings) if i not in at and h not in (None, "")]
    more = f" Passed through unread: {', '.join(passed)}." if passed else ""
    return f"Columns read: {', '.join(read)}.{more}"
