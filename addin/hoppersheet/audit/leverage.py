"""How the required volume of a line moves with one input, and how far that may drift.

An input is tried with 10 % more. A density that was weighed (sheet *Measured density*) is tried
with its own expanded uncertainty less, which is what the weighing leaves open (JCGM 100:2008, GUM).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from ..cells.numbers_in_text import split_number
from ..cells.wording import rounded
from ..errors import CellError
from ..workbook.book import Cell
from ..workbook.formulas import Place
from .context import Context
from .lines import Line

__all__ = [
    "MORE",
    "NO_SWING",
    "STEP",
    "Swing",
    "Weigher",
    "number_in",
    "typed_again",
    "weighed_densities",
]

STEP = 1.1  # an input is tried with 10 % more
MORE = "10 % more"
_LESS = "10 % less"  # where more is beyond a limit
_FARTHEST = 100.0  # a drift beyond this factor is no drift


def number_in(value: Any) -> tuple[float, str] | None:
    """(number, unit typed with it) of an input that is a number."""
    if isinstance(value, float):
        return value, ""
    if isinstance(value, str):
        try:
            return split_number(value)
        except CellError:
            return None
    return None


def typed_again(number: float, unit: str) -> Any:
    """A changed input the way it was typed."""
    return f"{number!r} {unit}" if unit else number


@dataclass(frozen=True)
class Swing:
    """What a step of an input does.

    Attributes:
        step: which step, in words.
        percent: change of the required volume; None where it cannot be said.
        full_at: by which factor the input may drift until the chosen size is full; None: no limit.
    """

    step: str = ""
    percent: float | None = None
    full_at: float | None = None


NO_SWING = Swing()


class Weigher:
    """How the required volume of one line moves with one input."""

    def __init__(self, context: Context, line: Line, cell: Cell) -> None:
        self.context, self.line, self.place = context, line, cell.place
        read = number_in(cell.value)
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
        instead = {self.place: typed_again(number, self.unit)}
        rest = sum(value for _, value in self.partners)
        if self.partners and rest:
            for place, value in self.partners:
                instead[place] = value * (1 - (number - self.number) / rest)
        return self.context.what_if(self.line, instead)

    @property
    def changes_nothing(self) -> bool:
        """Whether the volume does not come from the input as it stands, so that it cannot move."""
        if not self.usable:
            return False
        behind = self.context.inputs_reached(self.line)
        changed = (self.place, *(place for place, _ in self.partners))
        return behind is not None and behind.isdisjoint(changed)

    def swing(self) -> Swing:
        """What 10 % more of the input does."""
        if not self.usable:
            return Swing()
        now, more = self.line.required, self.volume(STEP)
        if more is not None:
            return Swing(MORE, _percent(more, now), self.full(now, more, STEP))
        less = self.volume(1 / STEP)
        if less is None or not less:
            return Swing()
        return Swing(_LESS, _percent(less, now), self.full(now, less, 1 / STEP))

    def full(self, now: float, tried: float, step: float) -> float | None:
        """By which factor the input may drift until the chosen size is full."""
        size = self.line.chosen_volume
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


def _percent(volume: float, now: float) -> float:
    return round((volume / now - 1) * 100, 6)


@dataclass(frozen=True)
class Weighed:
    """A density of a line that comes from weighed cups, with its expanded uncertainty."""

    place: Place
    density: float
    uncertainty: float
    factor: float | None

    def swing(self, context: Context, line: Line) -> Swing:
        """What the uncertainty does to the required volume, on the side that needs more."""
        low = self.density - self.uncertainty
        step = f"its expanded uncertainty less ({rounded(self.uncertainty, 3)}"
        step += f", k = {rounded(self.factor, 3)})" if self.factor else ")"
        volume = context.what_if(line, {self.place: low})
        if volume is None:
            return Swing(step)
        weigher = Weigher(context, line, Cell(self.place, self.density))
        return Swing(
            step, _percent(volume, line.required),
            weigher.full(line.required, volume, low / self.density),
        )  # fmt: skip


_EXPANDED = re.compile(r"\bexpanded\b.*\buncertainty\b", re.IGNORECASE | re.DOTALL)
_FACTOR = re.compile(r"\bcoverage\b.*\bfactor\b", re.IGNORECASE | re.DOTALL)


def weighed_densities(context: Context, line: Line) -> list[Weighed]:
    """The densities of a line that come from weighed cups and say their expanded uncertainty."""
    found = []
    for place in sorted(line.calculated):
        density = context.value(place)
        if not isinstance(density, float) or not density:
            continue
        if any(call.name == "HOPPER_SAMPLE_DENSITY" for call in context.own_calls(place)):
            uncertainty = _beside(context, place, _EXPANDED)
            if uncertainty is not None and 0 < uncertainty < density:
                factor = _beside(context, place, _FACTOR)
                found.append(Weighed(place, density, uncertainty, factor))
    return found


def _beside(context: Context, place: Place, heading: re.Pattern[str]) -> float | None:
    """The number in a density's row or column whose heading says what is looked for."""
    for cell in context.labels.beside(place):
        label = context.labels.label(cell.place)
        value = context.value(cell.place)
        if isinstance(value, float) and heading.search(label):
            return value
    return None
