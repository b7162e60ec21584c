"""Blank cells that count as 0."""

from __future__ import annotations

from collections.abc import Iterator

from ...call import call as compute
from ...cells.quantities import QUANTITIES
from ...errors import CellError
from ...functions import get
from ..blanks import BlankRead
from ..context import Context, cell_name, percent
from ..findings import Finding, finding
from .values import value_text

#: Quantity -> a step that says how much the missing value matters, in US and in metric units.
_STEPS = {
    "temperature": ("10 degF", "5 degC"),
    "room temperature": ("10 degF", "5 degC"),
    "length or zero": ("1 ft", "0.3 m"),
    "altitude": ("1000 ft", "300 m"),
    "empty mass": ("100 lb", "50 kg"),
    "reserve": ("10 %", "10 %"),
    "shortfall": ("1 %", "1 %"),
}


def _effect(read: BlankRead) -> str:
    """What a step of the missing value does to the result."""
    step = _STEPS.get(read.argument.quantity, ("", ""))[read.system != "US"]
    record = get(read.call.name)
    if not step or record is None or not isinstance(read.result, float):
        return "the result is not what was meant"
    at = [a.name for a in record.arguments].index(read.argument.name)
    values = list(read.values)
    values[at] = float(step.split()[0]) / (100 if step.endswith("%") else 1)
    try:
        then = compute(read.call.name, *values)
    except CellError:
        return "the result is not what was meant"
    if not isinstance(then, float) or not read.result:
        return "the result is not what was meant"
    change = then / read.result - 1
    if abs(change) < 5e-5:
        return f"{step} would give the same"
    return f"with {step} the {record.result.text} is {percent(change)} {_side(change)}"


def _shown(read: BlankRead) -> str:
    record = get(read.call.name)
    measure = QUANTITIES.get(record.result.quantity) if record is not None else None
    unit = measure.unit(read.system) if measure is not None else "1"
    return value_text(read.result) if unit == "1" else f"{value_text(read.result)} {unit}"


def _side(change: float) -> str:
    return "less" if change < 0 else "more"


def check(context: Context) -> Iterator[Finding]:
    """``blank read as 0``: one per blank cell; per column where it is as if left out."""
    groups: dict[tuple[object, ...], list[BlankRead]] = {}
    for read in context.blank_reads:
        harmless = read.argument.default == 0 and not read.repeated
        sheet, row, column = read.place
        key = (harmless, read.argument.name, sheet, column, 0 if harmless else row)
        groups.setdefault(key, []).append(read)
    for (harmless, *_), reads in groups.items():
        read = reads[0]
        others = len({(r.place, r.call.cell.place) for r in reads}) - 1
        more = f" (and {others} more like it)" if others else ""
        where = cell_name(read.call.cell.place)
        taken = (
            f"{cell_name(read.place)} is blank, and {read.call.name} in {where}{more} takes it for "
            f"its {read.argument.name}"
        )
        shows = _shown(read)
        if read.repeated:
            how = f"a formula makes a 0 of the blank, so {read.zero} gives {shows}"
        else:
            how = (
                f"LibreOffice Calc passes a blank on as {read.zero} and shows "
                f"{shows}, Excel shows #VALUE!"
            )
        advice = "type the value"
        if harmless:
            advice = "type a 0 if you mean none, so that both programs show the same"
        yield finding(
            "blank read as 0",
            "warning" if harmless else "error",
            read.place,
            f"{taken}: {how}; {_effect(read)}; {advice}.",
            formula=read.call.cell.formula,
            value=None,
        )
