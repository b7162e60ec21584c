"""The register in short: one row per column of inputs, what matters most first.

A manager reads twenty rows, not nine hundred: the same input of all lines, with where its values
are from, is one row. First comes what leaves least room: the input that may drift least until a
chosen size is full, then what moves the required volume most.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from ..cells.wording import rounded
from ..workbook.addresses import row_column
from ..workbook.formulas import Place
from .checks.values import value_text
from .findings import in_ranges
from .register import Assumption, six_digits

__all__ = ["AssumptionGroup", "effect_words", "grouped"]

_VALUES = 3  # different values that are named one by one
_ONLY_ONE = 1


@dataclass(frozen=True)
class AssumptionGroup:
    """The same input of several lines.

    Attributes:
        input, unit, origin, step: as of each of them.
        cells: where they stand; count: how many cells; lines: how many lines they serve.
        values: what they hold, in words.
        swing_percent: the largest change of a required volume for the step.
        drift_percent: the smallest drift that fills a chosen size, and drift_line: of which line.
        first: the first of them.
        note: what is said of them, where all say the same.
    """

    input: str
    cells: str
    count: int
    lines: int
    values: str
    unit: str
    origin: str
    step: str
    swing_percent: float | None
    drift_percent: float | None
    drift_line: str
    first: Assumption
    note: str

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        found = asdict(self)
        del found["first"]
        for name in ("swing_percent", "drift_percent"):
            found[name] = six_digits(found[name])
        return found


def _place(one: Assumption) -> Place:
    return (one.sheet, *row_column(one.cell))


def _values(members: list[Assumption]) -> str:
    """``"3.5"``, ``"mass, volume"`` or ``"90 to 310"``."""
    known = list(dict.fromkeys(one.value for one in members))
    numbers = [value for value in known if isinstance(value, float)]
    if len(known) > _VALUES and len(numbers) == len(known):
        return f"{value_text(min(numbers))} to {value_text(max(numbers))}"
    more = f" and {len(known) - _VALUES} more" if len(known) > _VALUES else ""
    return ", ".join(str(value) if isinstance(value, str) else value_text(value)
                     for value in known[:_VALUES]) + more  # fmt: skip


def _column(one: Assumption) -> tuple[Any, ...]:
    """What makes two assumptions one row; of a weighed density the step says its uncertainty."""
    step = one.step if "uncertainty" in one.step else one.step[:4]
    return (one.sheet, one.input, one.unit, one.origin, step)


def _of(members: list[Assumption]) -> AssumptionGroup:
    swings = [one.swing_percent for one in members if one.swing_percent is not None]
    drifts = [one for one in members if one.holds_until_percent is not None]
    least = min(drifts, key=lambda one: abs(one.holds_until_percent or 0.0), default=None)
    first = members[0]
    places = {_place(one) for one in members}
    notes = {one.note for one in members}
    return AssumptionGroup(
        first.input, in_ranges(places), len(places),
        len({(one.line_sheet, one.line_cell) for one in members}), _values(members), first.unit,
        first.origin, first.step, max(swings, key=abs, default=None),
        None if least is None else least.holds_until_percent,
        "" if least is None else least.line, first,
        notes.pop() if len(notes) == _ONLY_ONE else "",
    )  # fmt: skip


def grouped(assumptions: Iterable[Assumption]) -> list[AssumptionGroup]:
    """One row per column of inputs; what leaves least room, then what moves most, first."""
    columns: dict[tuple[Any, ...], list[Assumption]] = {}
    for one in assumptions:
        columns.setdefault(_column(one), []).append(one)

    def rank(group: AssumptionGroup) -> tuple[float, float]:
        drift = group.drift_percent
        return (
            float("inf") if drift is None else abs(drift),
            -abs(group.swing_percent or 0.0),
        )

    return sorted(map(_of, columns.values()), key=rank)


def effect_words(group: AssumptionGroup) -> str:
    """``"10 % more: volume +10 %; a size is full at +7.69 % ('Press 3')"``."""
    parts = []
    if group.swing_percent is not None:
        parts.append(f"{group.step}: volume {_signed(group.swing_percent)}")
    if group.drift_percent is not None:
        parts.append(f"a size is full at {_signed(group.drift_percent)} ({group.drift_line!r})")
    return "; ".join(parts) or "no number: read it"


def _signed(percent: float) -> str:
    return f"{'+' if percent > 0 else '-'}{rounded(abs(percent), 3)} %"
