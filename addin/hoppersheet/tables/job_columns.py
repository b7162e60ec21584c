"""The one table of a job list's columns: what a list may hold, and what sizing adds to it.

Every surface takes its headings, its order and its numbers from here: the terminal, the text
files, the workbooks, HOPPER_SIZE_JOBS and the audit.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import islice
from typing import Any, NamedTuple

from ..cells.quantities import QUANTITIES
from ..cells.units import HOME_FACTORS
from ..cells.values import cell_out
from ..errors import CellError, NoAnswer, WrongKind
from .sized_job import SizedJob

__all__ = [
    "AS_LISTED",
    "BY_UNIT",
    "EARLIER_RESULT",
    "JOB_COLUMNS",
    "LET_PASS",
    "LINE_ABOVE",
    "NOT_STATED",
    "RATE_WAYS",
    "RESULT_COLUMNS",
    "RUNNER_WAYS",
    "STATED",
    "Question",
    "ResultColumn",
    "job_name",
    "quantity_of",
    "reason_of",
    "result_cells",
    "result_columns",
    "result_headings",
    "result_texts",
    "result_values",
]

#: The unit system of a list whose units nobody states but the list itself.
AS_LISTED = "as the list says"
#: The share basis of a list that states none.
NOT_STATED = "not stated"

#: Column of a job list -> quantity of its numbers, "" for text.
JOB_COLUMNS = {
    "job": "",
    "resin": "",
    "virgin share": "share",
    "regrind share": "share",
    "share basis": "",
    "virgin density": "bulk density",
    "regrind density": "bulk density",
    "blend density": "bulk density",
    "throughput": "throughput",
    "drying hours": "drying hours",
    "reserve": "reserve",
    "recipe": "",
    "shot mass": "shot mass",
    "cycle time": "cycle time",
    "shots per hour": "parts per hour",
    "shots per minute": "parts per hour",
    "parts per hour": "parts per hour",
    "parts per minute": "parts per hour",
    "part mass": "shot mass",
    "cavities": "count",
    "runner mass": "shot mass",
}
#: The columns that stand in for a throughput, best first: a shot includes its runner.
RATE_WAYS = (
    ("shot mass", "cycle time"),
    ("shot mass", "shots per hour"),
    ("shot mass", "shots per minute"),
    ("part mass", "parts per hour"),
    ("part mass", "parts per minute"),
    ("part mass", "cavities", "cycle time"),
    ("part mass", "cavities", "shots per hour"),
    ("part mass", "cavities", "shots per minute"),
)
#: The ways that a column of runners belongs to: the parts of a shot, without their runner.
RUNNER_WAYS = tuple(way for way in RATE_WAYS if "cavities" in way)


def quantity_of(name: str) -> str:
    """Quantity of a column's numbers, "" for text; a component's are its share and its density."""
    if name in JOB_COLUMNS:
        return JOB_COLUMNS[name]
    return "share" if name.endswith(" share") else "bulk density"


#: Where the share basis of a list comes from that the user states.
STATED = "stated for the list"
#: Where a column's unit comes from that the lines above the list name.
LINE_ABOVE = "line above the list"
#: What the receipt says of a heading that is not known, but can be meant for one column only.
BY_UNIT = "taken for it: no other heading can be meant"
#: Why a heading is not read that the user lets pass.
LET_PASS = "as you said"
#: Why a heading is not read that sizing itself has added to the list.
EARLIER_RESULT = "of an earlier sizing"


class Question(WrongKind):
    """A choice that changes the answer and that only the writer of the list can make."""


class ResultColumn(NamedTuple):
    """A column that sizing adds.

    Attributes:
        name: its heading, without the unit.
        field: of :class:`~hoppersheet.tables.sized_job.SizedJob`.
        quantity: of its numbers, "" for text.
        number_format: how a workbook shows it; two more digits than a catalog has, so that 10.04
            is not 10.0 beside 10.0.
        width: of the column in a workbook.
    """

    name: str
    field: str
    quantity: str = ""
    number_format: str = "General"
    width: int = 12


_TABLE = (
    ResultColumn("blend density", "blend_density", "bulk density", "0.00#"),
    ResultColumn("required volume", "required_volume", "volume", "#,##0.00"),
    ResultColumn("size below", "size_below", "volume", "#,##0.##"),
    ResultColumn("hours at size below", "hours_at_size_below", "residence time", "0.00"),
    ResultColumn("next size", "next_size", "volume", "#,##0.##"),
    ResultColumn("hours at next size", "hours_at_next_size", "residence time", "0.00"),
    ResultColumn("model", "model", width=16),
    ResultColumn("price", "price", number_format="#,##0.00"),
    ResultColumn("assumed", "assumed", width=46),
    ResultColumn("check", "check", width=46),
    ResultColumn("problem", "problem", width=46),
)
#: Name -> column, in their order.
RESULT_COLUMNS: dict[str, ResultColumn] = {column.name: column for column in _TABLE}


def result_headings(system: str) -> list[str]:
    """Headings of the result columns; the unit stands in brackets where hours do not say it."""
    return [
        f"{c.name} [{QUANTITIES[c.quantity].unit(system)}]"
        if c.quantity and "hours" not in c.name
        else c.name
        for c in _TABLE
    ]


def reason_of(problem: CellError) -> str:
    """``"drying hours: ... is below the lowest possible, 0.75 h"``."""
    return f"{problem.argument}: {problem.reason}" if problem.argument else problem.reason


class _SizeTexts(dict[float, str]):
    """Catalog sizes as texts: they repeat, and each is worded once."""

    def __init__(self, per_volume: float) -> None:
        self._per_volume = per_volume

    def __missing__(self, si: float) -> str:
        text = self[si] = f"{si / self._per_volume:.15g}"
        return text


@cache
def _scales(system: str) -> tuple[float, float, float, _SizeTexts]:
    density, volume, hours = (
        HOME_FACTORS[QUANTITIES[name].unit(system)][0]
        for name in ("bulk density", "volume", "residence time")
    )
    return density, volume, hours, _SizeTexts(volume)


def result_columns(
    answers: Sequence[SizedJob], system: str, comma: bool = False
) -> list[Sequence[str]]:
    """The result columns of some rows as texts, "" where there is no answer.

    This is the one place where a job's figures are put into units and rounded: to the 15 digits
    that a spreadsheet keeps.

    Args:
        answers: the rows, one or more.
        system: unit system of the numbers.
        comma: write a decimal comma.
    """
    fields = zip(*answers)  # noqa: B905 Python 3.9
    blend, needs, below, below_hours, size, hours, model, price, assumed, check, problem = islice(
        fields, len(_TABLE)
    )
    density, volume, hour, sizes = _scales(system)
    numbers = [
        ["" if si is None else f"{si / density:.15g}" for si in blend],
        ["" if si is None else f"{si / volume:.15g}" for si in needs],
        ["" if si is None else sizes[si] for si in below],
        ["" if si is None else f"{si / hour:.15g}" for si in below_hours],
        ["" if si is None else sizes[si] for si in size],
        ["" if si is None else f"{si / hour:.15g}" for si in hours],
    ]
    if comma:
        numbers = [[text.replace(".", ",") for text in column] for column in numbers]
    prices = ["" if cell is None else str(cell) for cell in price]
    problems = ["" if each is None else reason_of(each) for each in problem]
    return [*numbers, model, prices, assumed, check, problems]


def result_texts(sized: SizedJob, system: str) -> list[str]:
    """The result columns of one row as texts, see :func:`result_columns`."""
    return [text for (text,) in result_columns([sized], system)]


def result_values(sized: SizedJob, system: str) -> list[Any]:
    """The result columns of one row as cells, numbers of ``system``; None without an answer."""
    texts = result_texts(sized, system)
    values: list[Any] = []
    for text, value, column in zip(texts, sized, _TABLE):  # noqa: B905 Python 3.9
        if not text:
            values.append(None)
        else:
            values.append(float(text) if column.quantity else value)
    if sized.problem is not None:
        values[-1] = texts[-1]
    return values


def result_cells(sized: SizedJob, system: str) -> list[Any]:
    """The result columns of one row as cells; an error value where there is no answer."""
    values = result_values(sized, system)
    if not sized.is_job:
        return ["" if value is None else value for value in values]
    # What could not be worked out shows the row's error; a size below that does not exist, #N/A.
    code = NoAnswer.code if sized.problem is None else sized.problem.code
    needs_size = {"model"} if sized.next_size is None else set()
    return [
        (code if column.quantity or column.name in needs_size else "")
        if value is None
        else value
        if isinstance(value, (str, float))
        else cell_out(value)  # a price is what the catalog's cell holds
        for column, value in zip(_TABLE, values)  # noqa: B905 Python 3.9
    ]


def job_name(cell: Any) -> str:
    """What a row is called, as text: ``"4711"`` for a number, "" for a blank."""
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    return " ".join(str(cell).split())
