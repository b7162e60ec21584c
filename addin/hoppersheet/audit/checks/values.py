"""Stored values that are not what a calculation gives, errors, and versions."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from ..._version import __version__
from ...call import call
from ...cells.numbers_in_text import shown
from ...cells.values import is_error
from ...cells.wording import counted, rounded
from ...errors import ErrorIn
from ...workbook.book import Cell
from ...workbook.evaluator import VOLATILE, FormulaError, SizingCall, Unknown, WhatIf
from ...workbook.formulas import Call, Place, walk
from ..context import Context, cell_name, percent
from ..findings import Finding, finding, in_ranges
from ..refusals import hidden_refusal, refusal

_TOLERANCE = 1e-9  # relative; programs round the 15th digit differently

__all__ = ["check", "same", "value_text"]


def same(a: Any, b: Any) -> bool:
    """Whether two cell values are the same as far as a spreadsheet shows them."""
    if a in (None, "") and b in (None, ""):
        return True
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return abs(float(a) - float(b)) <= _TOLERANCE * max(abs(float(a)), abs(float(b)), 1e-9)
    return bool(a == b)


def value_text(value: Any) -> str:
    """A cell value in a message."""
    if value is None:
        return "nothing"
    if isinstance(value, float):
        return rounded(value, 6)
    return value if is_error(value) else shown(value)


def _follow_volatile(context: Context) -> set[Place]:
    """Cells that give another value at every calculation, and all that follow from them."""
    tainted = {
        cell.place
        for cell in context.book.formulas()
        if not VOLATILE.isdisjoint(context.book.functions_in(cell))
    }
    return context.precedents.followers(tainted)


def _calls_version(cell: Cell) -> bool:
    return cell.formula is not None and "HOPPER_VERSION" in cell.formula.upper()


def _is_stale(context: Context, cell: Cell, passing: set[Place]) -> bool:
    """Whether a stored value is not what a calculation gives."""
    if cell.formula is None and not cell.spill:
        return False
    if cell.value is None or cell.place in passing or cell.place in context.values.unknown:
        return False
    fresh = context.value(cell.place)
    if same(cell.value, fresh) or _calls_version(cell):
        return False
    if is_error(cell.value) and is_error(fresh):
        return False  # the programs name the same error differently, of a blank for example
    # the other program's value is reported as a blank read as 0
    return not (
        cell.place in context.unlike_in_calc
        and (context.values.fresh is None or is_error(cell.value) != is_error(fresh))
    )


def _stale(context: Context) -> Iterator[Finding]:
    """Stored values that are out of date, each where it begins."""
    passing = _follow_volatile(context)
    if _other_table(context):
        passing |= _from_the_table(context)  # told with the version
    stale = {cell.place: cell for cell in context.book.cells() if _is_stale(context, cell, passing)}
    begins = [place for place, cell in stale.items() if not _follows_from(context, cell, stale)]
    followers = len(stale) - len(begins) if len(begins) == 1 else 0
    for place in begins or stale:
        yield _out_of_date(context, stale[place], followers)


def _follows_from(context: Context, cell: Cell, stale: dict[Place, Cell]) -> bool:
    """Whether a stored value is what other stored values give, which are out of date themselves."""
    before = {
        taken.place: taken.value
        for area in context.values.areas_of(cell)
        for taken in context.values.cells_in(area)
        if taken.place in stale and taken.place != cell.place
    }
    if not before or cell.tree is None:
        return False
    try:
        value = WhatIf(context.values, before, {cell.place}).cell_value(cell.place)
    except (Unknown, FormulaError, RecursionError):
        return True
    return same(value, cell.value)


def _out_of_date(context: Context, cell: Cell, followers: int) -> Finding:
    fresh = context.value(cell.place)
    effect = f"what is shown is not what follows from the inputs: {value_text(fresh)}"
    how = "or was edited by hand"
    if cell.spill:
        how = f"or was edited by hand or typed over inside the range that {cell.spill} fills"
    if isinstance(cell.value, float) and isinstance(fresh, float) and fresh:
        change = cell.value / fresh - 1
        side = "low" if change < 0 else "high"
        effect = (
            f"a fresh calculation gives {value_text(fresh)}, so it reads {percent(change)} "
            f"too {side}"
        )
    more = f", as are {counted(followers, 'cell')} that follow from it" if followers else ""
    return finding(
        "stale value",
        "error",
        cell.place,
        f"The stored value {value_text(cell.value)} is out of date {how}{more}; {effect}; "
        "recalculate the workbook and check who used the old number.",
        formula=cell.formula,
        value=cell.value,
        expected=fresh,
    )


def _other_table(context: Context) -> bool:
    """Whether the workbook was calculated with another resin table than this one."""
    current = call("HOPPER_VERSION")
    return any(
        _calls_version(cell) and isinstance(cell.value, str) and current not in cell.value
        for cell in context.book.formulas()
    )


def _from_the_table(context: Context) -> set[Place]:
    """Cells that take a value from the resin table, and all that follow from them."""
    return context.precedents.followers(
        {
            place
            for place, calls in context.calls.items()
            if any(made.name in ("HOPPER_RESIN", "HOPPER_EXPLAIN") for made in calls)
        }
    )


def _error_of(context: Context, cell: Cell) -> SizingCall | None:
    """The call that an error comes from, None where its inputs already are errors."""
    for made in context.calls.get(cell.place, []):
        if made.error is not None and not made.hidden and not isinstance(made.error, ErrorIn):
            return made
    return None


def _on_purpose(cell: Cell) -> bool:
    """Whether a formula makes its error itself: NA(), as a quote that is not ready does."""
    return cell.tree is not None and any(
        isinstance(node, Call) and node.name == "NA" for node in walk(cell.tree)
    )


def _errors(context: Context) -> Iterator[Finding]:
    for cell in context.book.formulas():
        fresh = context.value(cell.place)
        if not is_error(fresh):
            yield from _hidden_errors(context, cell, fresh)
            continue
        if cell.place in context.unlike_in_calc:
            continue  # reported as a blank read as 0
        origin: Place | None = None
        made = _error_of(context, cell)
        if made is not None and made.error is not None:
            reason, origin = refusal(context, made)
            why = f"{made.name} has no result ({reason})"
        elif any(
            is_error(context.value(other.place))
            for area in context.values.areas_of(cell)
            for other in context.values.cells_in(area)
        ):
            continue  # the error is reported where it begins
        elif cell.place in context.unread or cell.place in context.values.unknown:
            reason = context.unread.get(cell.place) or context.values.unknown[cell.place]
            why = f"the formula has no result ({reason})"
        elif _on_purpose(cell):
            why = "the formula says so itself (NA()): something is not settled"
        elif (hidden := hidden_refusal(context, cell)) is not None:
            reason, origin = refusal(context, hidden)
            begin = cell_name(hidden.cell.place)
            why = f"{begin} hides that {hidden.name} has no result ({reason})"
            origin = origin or hidden.cell.place
        else:
            why = "the formula has no result"
        remedy = "settle it" if _on_purpose(cell) else "correct the input"
        yield finding(
            "error value",
            "error",
            cell.place,
            f"{fresh}: {why}; nothing that follows from this cell can be quoted; {remedy}.",
            formula=cell.formula,
            value=fresh,
            cells=(cell.place, origin) if origin is not None and origin != cell.place else (),
        )


def _hidden_errors(context: Context, cell: Cell, fresh: Any) -> Iterator[Finding]:
    """An error that IFERROR or the like turns into a number."""
    if not isinstance(fresh, float):
        return
    for made in context.calls.get(cell.place, []):
        if made.hidden and made.error is not None and made.error.code != "#N/A":
            yield finding(
                "error value",
                "error",
                cell.place,
                f"{made.name} gives {made.error.code} ({made.error.reason}), but the formula shows "
                f"{value_text(fresh)} instead; totals take it for a result; let the error show.",
                formula=cell.formula,
                value=fresh,
                expected=made.error.code,
            )


def _not_computed(context: Context) -> Iterator[Finding]:
    """Cells that lines or the total follow from, and that nobody could work out."""
    needed = {place for line in context.lines for place in line.calculated}
    needed |= set(context.calls) | set(context.unread)
    total = context.money.total
    cell = context.book.cell(total) if total is not None else None
    follows = context.precedents.inputs_of(cell, 100_000) if cell is not None else None
    if follows is not None:
        needed |= follows[1]
    groups: dict[str, list[Place]] = {}
    for place, why in {**context.values.unknown, **context.unread}.items():
        if place in needed:
            groups.setdefault(why, []).append(place)
    for why, places in groups.items():
        first = min(places)
        held = context.book.cell(first)
        yield finding(
            "not computed",
            "warning",
            first,
            f"{in_ranges(places)} could not be worked out ({why}), so the stored value was taken; "
            "what follows from it is not vouched for; compute the workbook with a program that "
            "knows it, or replace the formula.",
            formula=held.formula if held is not None else None,
            value=held.value if held is not None else None,
            cells=places if len(places) > 1 else (),
        )


_VERSION = re.compile(r"hoppersheet (\d+\.\d+[\w.]*)")


def _versions(context: Context) -> Iterator[Finding]:
    current = call("HOPPER_VERSION")
    for cell in context.book.cells():
        if not isinstance(cell.value, str) or not (found := _VERSION.search(cell.value)):
            continue
        other_table = _calls_version(cell) and current not in cell.value
        if found[1] == __version__ and not other_table:
            continue
        yield finding(
            "version",
            "warning",
            cell.place,
            f"The workbook was calculated with {cell.value!r}, this audit with {current!r}; values "
            "from the resin table can differ; recalculate it and compare with the issued quote.",
            formula=cell.formula,
            value=cell.value,
            expected=current,
        )


def check(context: Context) -> Iterator[Finding]:
    """``error value``, ``not computed``, ``stale value``, ``version``."""
    yield from _errors(context)
    yield from _not_computed(context)
    yield from _stale(context)
    yield from _versions(context)
