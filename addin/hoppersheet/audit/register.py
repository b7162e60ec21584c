"""The assumptions register: every input of every line, where it is from, how much it matters."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from ..cells.numbers_in_text import split_number
from ..cells.wording import in_system
from ..errors import WrongKind
from ..registry import REQUIRED
from ..workbook.book import Cell
from ..workbook.evaluator import SizingCall
from ..workbook.formulas import Literal, Place, address
from .calls import result_with
from .checks.density import origin_of
from .context import Context, Use
from .jobs import JobRow
from .labels import is_unit, without_unit
from .lines import Line

__all__ = ["Assumption", "assumptions_of", "six_digits"]

_FEW = 12  # cells of a range that are inputs; a longer one is a table
_STEP = 1.1  # leverage is given per 10 %
_FARTHEST = 100.0  # a drift beyond this factor is no drift


@dataclass(frozen=True)
class Assumption:
    """One input of one line.

    Attributes:
        line: what the line is called; line_sheet, line_cell: its required volume.
        sheet, cell: where the input stands; the calling cell for a default.
        origin: "measured", "data sheet", "stated", "typed", "estimated by rule", "resin table"
            or "default taken".
        per_10_percent: change of the required volume in percent for 10 % more of the input;
            None where it cannot be said (a text, or 10 % more is not possible).
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
    per_10_percent: float | None
    holds_until: float | None
    holds_until_percent: float | None
    note: str = ""

    def as_dict(self) -> dict[str, Any]:
        """For JSON; numbers that were worked out with six digits, typed ones as they are."""
        found = asdict(self)
        for name in ("per_10_percent", "holds_until", "holds_until_percent"):
            found[name] = six_digits(found[name])
        return found


def six_digits(number: float | None) -> float | None:
    """A number as it can be read: six digits say more than any of the inputs knows."""
    return None if number is None else float(f"{number:.6g}")


def _number(value: Any) -> tuple[float, str] | None:
    """(number, unit typed with it) of an input that is a number."""
    if isinstance(value, float):
        return value, ""
    if isinstance(value, str):
        try:
            return split_number(value)
        except WrongKind:
            return None
    return None


def _again(number: float, unit: str) -> Any:
    """A changed input the way it was typed."""
    return f"{number!r} {unit}" if unit else number


class _Weigher:
    """How the required volume of one line moves with one input."""

    def __init__(self, context: Context, line: Line, cell: Cell) -> None:
        self.context, self.line, self.place = context, line, cell.place
        read = _number(cell.value)
        self.number, self.unit = read if read is not None else (0.0, "")
        self.usable = read is not None and self.number != 0
        self.partners = self._partners() if self.usable else []

    def _partners(self) -> list[tuple[Place, float]]:
        """Typed shares that give way when this share grows, so that the sum stays whole."""
        if self.line.job is not None:
            places = self.line.job.places
            pair = [places[n] for n in ("virgin share", "regrind share") if n in places]
            if self.place not in pair:
                return []
            cells = [c for p in pair if p != self.place and (c := self.context.book.cell(p))]
            return [(c.place, c.value) for c in cells if c.typed and isinstance(c.value, float)]
        for use in self.context.range_uses.get(self.place, []):
            if use.argument.kind != "shares" or use.call.cell.place not in self.line.calculated:
                continue
            area = self.context.area_of(
                self.context.argument_node(use.call, use.argument.name), use.call.place
            )
            if area is None:
                continue
            return [
                (c.place, c.value)
                for c in self.context.values.cells_in(area)
                if c.typed and isinstance(c.value, float) and c.place != self.place
            ]
        return []

    def volume(self, factor: float) -> float | None:
        """Required volume in m3 with ``factor`` times the input."""
        number = self.number * factor
        instead = {self.place: _again(number, self.unit)}
        rest = sum(value for _, value in self.partners)
        if self.partners and rest:
            for place, value in self.partners:
                instead[place] = value * (1 - (number - self.number) / rest)
        return self.context.what_if(self.line, instead)

    def leverage(self) -> tuple[float | None, float | None]:
        """(change in percent per 10 % more, factor at which the chosen size is full)."""
        if not self.usable:
            return None, None
        now, more = self.line.required, self.volume(_STEP)
        if more is None:
            less = self.volume(1 / _STEP)
            if less is None or not less:
                return None, None
            # 10 % more is beyond a limit: say it from the other side
            return round((now / less - 1) * 100, 6), self._full(now, less, 1 / _STEP)
        return round((more / now - 1) * 100, 6), self._full(now, more, _STEP)

    def _full(self, now: float, tried: float, step: float) -> float | None:
        size = self.line.chosen_size
        if size is None or size < now * (1 - 1e-9) or abs(tried / now - 1) < 1e-9:
            return None
        # The volume is often a power of the input: secants of the logarithms meet at once; else
        # it is nearly a quotient of straight lines.
        goal = math.log(size)
        a, b = 0.0, math.log(step)
        fa, fb = math.log(now) - goal, math.log(tried) - goal
        known = [(1.0, now), (step, tried)]
        for _ in range(12):
            if fb == fa:
                return None
            c = b - fb * (b - a) / (fb - fa)
            if len(known) >= 3:
                better = _where(size, known[-3:])
                c = math.log(better) if better is not None and better > 0 else c
            if abs(c) > math.log(_FARTHEST):
                return None
            volume = self.volume(math.exp(c))
            if volume is None or volume <= 0:
                return None
            a, fa, b, fb = b, fb, c, math.log(volume) - goal
            known.append((math.exp(c), volume))
            if abs(fb) < 1e-10:
                return math.exp(b)
        return None


def _where(goal: float, points: list[tuple[float, float]]) -> float | None:
    """Where (p + q x) / (1 + r x) through three points meets a goal; None: nowhere.

    The volume is such a function of a density or a share in a blend, whatever the basis.
    """
    (x1, y1), (x2, y2), (x3, y3) = points
    if len({x1, x2, x3}) < 3:
        return None
    # differences of p + q x - r x y = y
    u1, u2 = x2 - x1, x3 - x1
    v1, v2 = x2 * y2 - x1 * y1, x3 * y3 - x1 * y1
    w1, w2 = y2 - y1, y3 - y1
    determinant = u2 * v1 - u1 * v2
    if determinant == 0:
        return None
    r = (u1 * w2 - u2 * w1) / determinant
    q = (w1 + r * v1) / u1
    p = y1 - q * x1 + r * x1 * y1
    return (goal - p) / (q - r * goal) if q != r * goal else None


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
    per_10_percent: float | None = None,
    full_at: tuple[float, float] | None = None,
    note: str = "",
) -> Assumption:
    """One input of a line; ``full_at``: (its number, by which factor it may drift)."""
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
        per_10_percent=per_10_percent,
        holds_until=None if full_at is None else full_at[0] * full_at[1],
        holds_until_percent=None if full_at is None else (full_at[1] - 1) * 100,
        note=note,
    )


#: Arguments that say a unit, not an amount.
_SAY_UNITS = frozenset(("units", "from_unit", "to_unit"))


def _inputs(context: Context, line: Line, name: str) -> Iterator[Assumption]:
    size = line.chosen_size
    too_small = size is not None and size < line.required * (1 - 1e-9)
    repeated = _reaches(context, line)
    singly = _taken_singly(context, line)
    for cell in sorted(line.typed, key=lambda c: c.place):
        use = _use_of(context, line, cell.place) or repeated.get(cell.place)
        read = _number(cell.value)
        if read is None and (use is None or use.argument.name in _SAY_UNITS):
            continue
        if use is None and not isinstance(cell.value, float):
            continue
        if read is None and is_unit(str(cell.value)):
            continue  # says how a number is meant; the number is the input
        if use is None and cell.place not in singly:
            continue  # one of a whole table that something is looked up in
        weigher = _Weigher(context, line, cell)
        per_ten, factor = weigher.leverage()
        if use is None and not per_ten:
            continue  # a switch or an unused cell that the formula only looks at
        yield _assumption(
            line, name, _called(context, use, cell.place), cell.place, cell.value,
            _origin(context, cell, use),
            unit=_unit(context, use, cell.place, weigher.unit),
            per_10_percent=per_ten,
            full_at=None if factor is None else (weigher.number, factor),
            note="the chosen size is too small already" if too_small else "",
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
                    per_10_percent=_default_leverage(call, line, context, left_out),
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
        leverage = None
        if column == "regrind density" and column in job.places:
            read = split_number(value)
            more = job.sized_with({column: _again(read[0] * _STEP, read[1])}).required_volume
            leverage = None if not more else round((more / line.required - 1) * 100, 6)
        origin = "estimated by rule" if column == "regrind density" else "default taken"
        yield _assumption(
            line, name, column, place, value, origin, per_10_percent=leverage,
            note=f"left blank in the job list: {why or assumption}",
        )  # fmt: skip


def _default_leverage(
    call: SizingCall, line: Line, context: Context, argument: str
) -> float | None:
    """Leverage of a number left out of a density rule, where the rule feeds the line alone."""
    inputs = context.inputs(call)
    value = None if inputs is None else inputs.values.get(argument)
    if inputs is None or not isinstance(value, float) or not value or call is line.call:
        return None
    result = result_with(inputs, argument, value * _STEP)
    if result is None:
        return None
    quantity = inputs.function.result.quantity
    shown = in_system(result, quantity, inputs.system) if quantity else result
    if call.cell.tree is not call.node and not context.own_calls(call.cell.place):
        return None
    volume = context.what_if(line, {call.cell.place: shown})
    return None if not volume else round((volume / line.required - 1) * 100, 6)


def _typed_in_formulas(context: Context, line: Line, name: str) -> Iterator[Assumption]:
    """Numbers typed into the required volume's own call."""
    inputs = context.inputs(line.call)
    if inputs is None:
        return
    for argument, node, value in context.arguments(line.call):
        if not isinstance(node, Literal) or argument.name == "units":
            continue
        per_ten = None
        read = inputs.values.get(argument.name)
        if isinstance(read, float) and read:
            more = result_with(inputs, argument.name, read * _STEP)
            per_ten = None if more is None else round((more / line.required - 1) * 100, 6)
        typed = re.sub(r"^[\d.,\s]+", "", value) if isinstance(value, str) else ""
        yield _assumption(
            line, name, argument.name.replace("_", " "), line.place, value, "typed",
            unit=_unit(context, Use(line.call, argument), line.place, typed),
            per_10_percent=per_ten,
            note="typed into the formula",
        )  # fmt: skip


def assumptions_of(context: Context, tick: Callable[[], None] = lambda: None) -> list[Assumption]:
    """The register of a workbook, line by line; what is offered comes first."""
    found: list[Assumption] = []
    offered = {id(line) for line in context.quoted}
    for line in sorted(context.lines, key=lambda line: id(line) not in offered):
        name = context.name_of(line) or address(*line.place[1:])
        found += _inputs(context, line, name)
        if line.job is None:
            found += _typed_in_formulas(context, line, name)
        else:
            found += _taken_by_job(line, line.job, name)
        found += _defaults(context, line, name)
        tick()
    return found
