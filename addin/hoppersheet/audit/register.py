"""The assumptions register: every input of every line, where it is from, how much it matters."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from ..cells.numbers_in_text import split_number
from ..cells.wording import in_system
from ..registry import REQUIRED
from ..workbook.book import Cell
from ..workbook.evaluator import SizingCall
from ..workbook.formulas import Literal, Place, address
from .calls import result_with
from .checks.density import origin_of
from .context import Context, Use
from .jobs import JobRow
from .label_words import is_unit, without_unit
from .leverage import (
    MORE,
    NO_SWING,
    STEP,
    Swing,
    Weigher,
    number_in,
    typed_again,
    weighed_densities,
)
from .lines import Line

__all__ = ["Assumption", "assumptions_of", "six_digits"]

_FEW = 12  # cells of a range that are inputs; a longer one is a table


@dataclass(frozen=True)
class Assumption:
    """One input of one line.

    Attributes:
        line: what the line is called; line_sheet, line_cell: its required volume.
        sheet, cell: where the input stands; the calling cell for a default.
        origin: "measured", "data sheet", "stated", "typed", "estimated by rule", "resin table"
            or "default taken".
        step: the step that was tried: 10 % more of the input, 10 % less where more is beyond a
            limit, or the expanded uncertainty of a weighed density.
        swing_percent: change of the required volume in percent for that step; None where it
            cannot be said (a text).
        holds_until: value at which the chosen size stops holding the volume; None where no
            change of this input alone does that, or the size is too small already.
        holds_until_percent: the same as a change in percent.
    """

    line: str
    line_sheet: str
    line_cell: str
    input: str
    sheet: str
    cell: str
    value: Any
    unit: str
    origin: str
    step: str
    swing_percent: float | None
    holds_until: float | None
    holds_until_percent: float | None
    note: str = ""

    def as_dict(self) -> dict[str, Any]:
        """For JSON; numbers that were worked out with six digits, typed ones as they are."""
        found = asdict(self)
        for name in ("swing_percent", "holds_until", "holds_until_percent"):
            found[name] = six_digits(found[name])
        return found


def six_digits(number: float | None) -> float | None:
    """A number as it can be read: six digits say more than any of the inputs knows."""
    return None if number is None else float(f"{number:.6g}")


_ORIGINS = {"estimated": "estimated by rule"}


def _origin(context: Context, cell: Cell, use: Use | None) -> str:
    if use is not None and use.argument.quantity == "bulk density":
        stated = origin_of(context, cell.place)
    else:
        stated = context.labels.stated_origin(cell.place)
    if not stated and use is not None and use.call.name == "HOPPER_SAMPLE_DENSITY":
        stated = "measured"
    if (
        not stated
        and use is not None
        and use.call.name == "HOPPER_REGRIND_DENSITY"
        and use.argument.name == "ratio"
    ):
        stated = "estimated"
    return _ORIGINS.get(stated, stated or "typed")


def _use_of(context: Context, line: Line, place: Place) -> Use | None:
    """The call of this line that takes a cell's value."""
    for uses in (context.uses, context.range_uses):
        for use in uses.get(place, []):
            if use.call.cell.place in line.calculated or use.call is line.call:
                return use
    return None


def _reaches(context: Context, line: Line) -> dict[Place, Use]:
    """Cell -> the call of this line that takes its value, also over cells that only repeat it."""
    found: dict[Place, Use] = {}
    for place in line.calculated:
        use = _use_of(context, line, place)
        if use is not None:
            for before in context.trail(place)[1:]:
                found.setdefault(before, use)
    return found


def _unit(context: Context, use: Use | None, place: Place, typed: str) -> str:
    if typed:
        return typed
    job = use is not None and use.call.name == "HOPPER_SIZE_JOBS"
    if use is not None and use.argument.measure is not None:
        for table in context.job_tables if job else ():
            if table.call is use.call:
                unit = table.unit(use.argument.name.replace("_", " "))
                return "" if unit == "1" else unit
        inputs = context.inputs(use.call)
        unit = use.argument.measure.unit(inputs.system if inputs is not None else "US")
        return "" if unit == "1" else unit
    stated = context.labels.unit(place)
    return stated.spelling if stated is not None else ""


def _called(context: Context, use: Use | None, place: Place) -> str:
    """What the sheet calls an input; else the argument it is."""
    label = without_unit(context.labels.label(place))
    return label or (use.argument.name.replace("_", " ") if use is not None else "")


def _assumption(
    line: Line,
    name: str,
    taken: str,
    place: Place,
    value: Any,
    origin: str,
    *,
    unit: str = "",
    number: float = 0.0,
    swing: Swing = NO_SWING,
    note: str = "",
) -> Assumption:
    """One input of a line; ``number``: what of its value is a number."""
    full_at = swing.full_at
    return Assumption(
        line=name,
        line_sheet=line.place[0],
        line_cell=address(*line.place[1:]),
        input=taken,
        sheet=place[0],
        cell=address(*place[1:]),
        value=value,
        unit=unit,
        origin=origin,
        step=swing.step,
        swing_percent=swing.percent,
        holds_until=None if full_at is None else number * full_at,
        holds_until_percent=None if full_at is None else (full_at - 1) * 100,
        note=note,
    )


#: Arguments that say a unit, not an amount.
_SAY_UNITS = frozenset(("units", "from_unit", "to_unit"))


def _inputs(context: Context, line: Line, name: str) -> Iterator[Assumption]:
    size = line.chosen_volume
    too_small = size is not None and size < line.required * (1 - 1e-9)
    repeated = _reaches(context, line)
    singly = _taken_singly(context, line)
    weighed: set[Place] = set()
    note = "the chosen size is too small already" if too_small else ""
    for sample in weighed_densities(context, line):
        swing = sample.swing(context, line)
        if swing.percent:
            stated = context.labels.unit(sample.place)
            yield _assumption(
                line, name, _called(context, None, sample.place), sample.place, sample.density,
                "measured", unit=stated.spelling if stated is not None else "",
                number=sample.density, swing=swing, note=note,
            )  # fmt: skip
            weighed.add(sample.place)
    for cell in sorted(line.typed, key=lambda c: c.place):
        use = _use_of(context, line, cell.place) or repeated.get(cell.place)
        read = number_in(cell.value)
        if read is None and (use is None or use.argument.name in _SAY_UNITS):
            continue
        if use is None and not isinstance(cell.value, float):
            continue
        if read is None and is_unit(str(cell.value)):
            continue  # says how a number is meant; the number is the input
        if use is None and cell.place not in singly:
            continue  # one of a whole table that something is looked up in
        if use is not None and use.call.cell.place in weighed:
            continue  # a cup of a sample: the density and its uncertainty stand for it
        weigher = Weigher(context, line, cell)
        if weigher.changes_nothing:
            continue
        swing = weigher.swing()
        if swing.percent == 0 or (use is None and swing.percent is None):
            continue  # it changes nothing: a switch, an unused cell, the regrind of a virgin line
        yield _assumption(
            line, name, _called(context, use, cell.place), cell.place, cell.value,
            _origin(context, cell, use),
            unit=_unit(context, use, cell.place, weigher.unit),
            number=weigher.number,
            swing=swing,
            note=note,
        )  # fmt: skip


def _taken_singly(context: Context, line: Line) -> set[Place]:
    """Cells that a formula of the line takes alone or with a few others, not as part of a table."""
    found: set[Place] = set()
    for place in line.calculated:
        cell = context.book.cell(place)
        for area in context.values.areas_of(cell) if cell is not None else ():
            if (area[3] - area[1] + 1) * (area[4] - area[2] + 1) <= _FEW:
                found.update(taken.place for taken in context.values.cells_in(area))
    return found


def _defaults(context: Context, line: Line, name: str) -> Iterator[Assumption]:
    """Arguments that the line's calls leave out, units and what changes nothing excepted."""
    for place in sorted(line.calculated):
        for call in context.calls.get(place, []):
            inputs = context.inputs(call)
            if inputs is None or call.name == "HOPPER_RESIN":
                continue
            for left_out in inputs.defaulted:
                argument = inputs.function.argument(left_out)
                if left_out == "units" or argument.default is REQUIRED:
                    continue
                origin = "estimated by rule" if left_out == "ratio" else "default taken"
                yield _assumption(
                    line, name, left_out.replace("_", " "), place, argument.default, origin,
                    swing=_of_default(call, line, context, left_out),
                    note=f"left out in {call.name}",
                )  # fmt: skip


#: Columns of a job list that may be left blank, as the texts of ``assumed`` begin.
_TAKEN = ("regrind density", "virgin density", "drying hours", "throughput", "virgin share")


def _taken_by_job(line: Line, job: JobRow, name: str) -> Iterator[Assumption]:
    """What a row of a job list leaves open, and what was taken for it."""
    for taken in filter(None, job.sized.assumed.split("; ")):
        assumption, _, why = taken.partition(": ")
        column = next((c for c in _TAKEN if assumption.startswith(c)), "")
        column = "share basis" if assumption.startswith("shares by") else column or "virgin share"
        place = job.place(column)
        value: Any = assumption.removeprefix(column).strip() if column in assumption else assumption
        swing = NO_SWING
        if column == "regrind density" and column in job.places:
            read = split_number(value)
            more = job.sized_with({column: typed_again(read[0] * STEP, read[1])}).required_volume
            swing = _swing(more, line)
        origin = "estimated by rule" if column == "regrind density" else "default taken"
        yield _assumption(
            line, name, column, place, value, origin, swing=swing,
            note=f"left blank in the job list: {why or assumption}",
        )  # fmt: skip


def _swing(more: float | None, line: Line) -> Swing:
    """What 10 % more of a default does, from the volume that it gives."""
    return Swing(MORE, round((more / line.required - 1) * 100, 6)) if more else NO_SWING


def _of_default(call: SizingCall, line: Line, context: Context, argument: str) -> Swing:
    """What a number left out of a density rule does, where the rule feeds the line alone."""
    inputs = context.inputs(call)
    value = None if inputs is None else inputs.values.get(argument)
    if inputs is None or not isinstance(value, float) or not value or call is line.call:
        return NO_SWING
    result = result_with(inputs, argument, value * STEP)
    if result is None:
        return NO_SWING
    quantity = inputs.function.result.quantity
    shown = in_system(result, quantity, inputs.system) if quantity else result
    if call.cell.tree is not call.node and not context.own_calls(call.cell.place):
        return NO_SWING
    return _swing(context.what_if(line, {call.cell.place: shown}), line)


def _typed_in_formulas(context: Context, line: Line, name: str) -> Iterator[Assumption]:
    """Numbers typed into the required volume's own call."""
    inputs = context.inputs(line.call)
    if inputs is None:
        return
    for argument, node, value in context.arguments(line.call):
        if not isinstance(node, Literal) or argument.name == "units":
            continue
        swing = NO_SWING
        read = inputs.values.get(argument.name)
        if isinstance(read, float) and read:
            swing = _swing(result_with(inputs, argument.name, read * STEP), line)
        typed = re.sub(r"^[\d.,\s]+", "", value) if isinstance(value, str) else ""
        yield _assumption(
            line, name, argument.name.replace("_", " "), line.place, value, "typed",
            unit=_unit(context, Use(line.call, argument), line.place, typed),
            swing=swing,
            note="typed into the formula",
        )  # fmt: skip


def assumptions_of(context: Context, tick: Callable[[], None] = lambda: None) -> list[Assumption]:
    """The register of the lines that are offered; of all lines where none is."""
    found: list[Assumption] = []
    for line in context.quoted:
        name = context.name_of(line) or address(*line.place[1:])
        found += _inputs(context, line, name)
        if line.job is None:
            found += _typed_in_formulas(context, line, name)
        else:
            found += _taken_by_job(line, line.job, name)
        found += _defaults(context, line, name)
        tick()
    return found
