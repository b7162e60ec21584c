"""What an audit has looked at, and what it has not: silence is no evidence."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ..cells.values import is_error
from ..cells.wording import counted
from ..functions import get
from ..workbook.formulas import Place, address
from .beside import Beside, beside
from .calls import PlainCall, cell_name
from .checks.resins import own_table, resin_of, unknown_resin
from .checks.structure import folded_inputs
from .findings import in_ranges
from .left_over import left_over, why_hidden
from .plain_formulas import is_volume
from .roles import role_of

if TYPE_CHECKING:
    from .context import Context

__all__ = ["Coverage", "coverage_of"]

_SHEETS = _NAMES = 4  # that are named
#: Headings of formulas that size or price a line: one that nobody follows is told.
_SIZING = frozenset(
    ("required volume", "next size", "size below", "chosen size", "density", "held hours")
)


@dataclass
class Coverage:
    """What was examined.

    Attributes:
        examined: sizing cells whose result was worked out again: calls of our functions, and
            plain formulas that were recognized.
        recognized: of these, plain formulas, by what they work out.
        not_examined: cell -> why it could not be, and whether it is hidden; these could size or
            price a line.
        recalculated: formulas whose value was only calculated again: they show or use results.
        folded: sheet -> (typed cells that count and stand in folded columns, which columns).
        beside: what else the workbook holds that was not looked at, in words.
        on_trust: formulas whose stored value was taken because they could not be computed here.
        not_read: tab -> what it is, of tabs that are no worksheets.
        lines: how the lines were found -> number.
        worked_out: lines worked out again from their typed inputs to the net price.
        not_worked_out: line -> why not.
        left_open: those of them for which no cell stands in ``not_examined``.
        elsewhere: other required volumes, such as those of a sheet that tries something out; their
            cells are examined, but there is no price to follow.
        total: the grand total that the lines were followed to, "" where none was found.
        calling: cells that call our functions, whatever became of them.
        without_resin: lines whose density and hours were compared with no resin, because they
            name none or one that the resin table does not know.
        without_size: lines for which no size was found that is chosen.
        unfinished: sizing formulas that show nothing, as in a form that nobody has filled in.
    """

    examined: int = 0
    recognized: dict[str, int] = field(default_factory=dict)
    not_examined: dict[Place, str] = field(default_factory=dict)
    recalculated: list[Place] = field(default_factory=list)
    folded: dict[str, tuple[int, list[str]]] = field(default_factory=dict)
    beside: list[Beside] = field(default_factory=list)
    on_trust: dict[Place, str] = field(default_factory=dict)
    not_read: dict[str, str] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    worked_out: int = 0
    not_worked_out: dict[str, str] = field(default_factory=dict)
    left_open: dict[str, str] = field(default_factory=dict)
    elsewhere: int = 0
    total: str = ""
    calling: int = 0
    unfinished: int = 0
    without_resin: int = 0
    without_size: list[str] = field(default_factory=list)

    @property
    def anything(self) -> bool:
        """Whether anything was examined: a line, or results where nothing waits to be filled in."""
        return bool(self.lines) or (self.examined > 0 and not self.unfinished)

    @property
    def complete(self) -> bool:
        """Whether all was examined that can size or price a line."""
        return self.anything and not self.missing()

    def missing(self) -> list[str]:
        """What could size or price a line and was not examined, in words."""
        parts = []
        for why, places in _by_reason(self.not_examined).items():
            parts.append(f"{in_ranges(places)} ({why})")
        for why, places in _by_reason(self.on_trust).items():
            parts.append(f"{in_ranges(places)} (taken as stored: {why})")
        parts += [f"the tab {name!r} (a {kind})" for name, kind in self.not_read.items()]
        for why, names in _by_reason(self.left_open).items():
            parts.append(f"{_named(names)} ({why})")
        return parts + [other.wording for other in self.beside if other.fills_cells]

    @property
    def not_looked_at(self) -> str:
        """What shows numbers or judges them, and holds none: ``"3 charts on 'Quote'"``, or ""."""
        return ", ".join(other.wording for other in self.beside if not other.fills_cells)

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""

        def named(cells: dict[Place, str]) -> list[dict[str, str]]:
            return [
                {"sheet": sheet, "cell": address(row, column), "reason": why}
                for (sheet, row, column), why in cells.items()
            ]

        return {
            "complete": self.complete,
            "examined": self.examined,
            "recognized": self.recognized,
            "not_examined": named(self.not_examined),
            "recalculated_only": [
                {"sheet": sheet, "cell": address(row, column)}
                for sheet, row, column in self.recalculated
            ],
            "in_folded_columns": self.folded,
            "beside_the_cells": [other.as_dict() for other in self.beside],
            "on_trust": named(self.on_trust),
            "not_read": self.not_read,
            "lines": self.lines,
            "worked_out_again": self.worked_out,
            "not_worked_out_again": self.not_worked_out,
            "elsewhere": self.elsewhere,
            "total": self.total,
            "unfinished": self.unfinished,
            "without_resin": self.without_resin,
            "without_size": self.without_size,
        }

    @property
    def cells(self) -> int:
        """Sizing cells, examined or not."""
        return self.examined + len(self.not_examined)

    def sentences(self) -> list[str]:
        """What was looked at, in a few sentences."""
        parts = [f"{self.examined} of {counted(self.cells, 'sizing cell')} examined."]
        if self.recognized:
            kinds = ", ".join(f"{count} {name}" for name, count in self.recognized.items())
            parts.append(f"Plain formulas recognized by their headings: {kinds}.")
        if self.lines:
            parts.append("Lines: " + ", ".join(f"{n} {how}" for how, n in self.lines.items()) + ".")
            count = counted(sum(self.lines.values()), "line")
            parts.append(
                f"{self.worked_out} of {count} worked out again from the typed inputs"
                + (f", and followed to the total in {self.total}." if self.total else ".")
            )
        if self.without_resin:
            parts.append(
                f"Density and hours of {counted(self.without_resin, 'line')} compared with no "
                "resin: none is named, or the resin table does not know it."
            )
        if self.without_size:
            parts.append(f"No size was found that is chosen for {_named(self.without_size)}.")
        if self.elsewhere:
            parts.append(f"{counted(self.elsewhere, 'calculation')} elsewhere, without a price.")
        for why, names in _by_reason(self.not_worked_out).items():
            parts.append(f"Not worked out again to the price: {_named(names)} ({why}).")
        for title, cells in (
            ("Not examined", self.not_examined),
            ("Taken as stored, because they could not be computed here", self.on_trust),
        ):
            for why, places in _by_reason(cells).items():
                parts.append(f"{title}: {in_ranges(places)} ({why}).")
        for name, kind in self.not_read.items():
            parts.append(f"Not read: the tab {name!r}, a {kind}.")
        if self.recalculated:
            sheets = Counter(place[0] for place in self.recalculated)
            most = sheets.most_common(_SHEETS)
            listed = ", ".join(f"{count} on {name!r}" for name, count in most)
            more = len(sheets) - _SHEETS
            listed += f" and on {counted(more, 'more sheet')}" if more > 0 else ""
            parts.append(
                "Calculated again, but not judged, because they only show, count or use what was "
                f"examined: {counted(len(self.recalculated), 'formula')}, {listed}."
            )
        for name, (typed, columns) in self.folded.items():
            parts.append(
                f"Typed in folded columns of {name!r}, behind the plus signs: "
                f"{counted(typed, 'cell')} in {', '.join(columns)}."
            )
        if self.beside:
            parts.append(f"Not looked at: {', '.join(other.wording for other in self.beside)}.")
        if self.unfinished:
            parts.append(f"Sizing formulas that show nothing yet: {self.unfinished}.")
        return parts


def _named(names: list[str]) -> str:
    more = f" and {len(names) - _NAMES} more" if len(names) > _NAMES else ""
    return ", ".join(names[:_NAMES]) + more


def _by_reason(cells: dict[Any, str]) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for cell, why in cells.items():
        found.setdefault(why, []).append(cell)
    return found


def coverage_of(context: Context) -> Coverage:
    """What was examined in a workbook."""
    found = Coverage(not_read=dict(context.book.unread), calling=len(context.book.sizing_cells))
    plain: Counter[str] = Counter()
    for place, calls in context.calls.items():
        if place in context.values.unknown:
            continue
        if any(isinstance(call, PlainCall) for call in calls):
            plain[context.labels.role(place)] += 1
        if calls:
            found.examined += 1
        else:
            found.unfinished += 1
    found.recognized = dict(plain)
    found.not_examined = {**context.unread}
    for place, why in context.values.unknown.items():
        if place in context.calls or _SIZING & {context.labels.role(place)}:
            found.not_examined.setdefault(place, why)
        else:
            found.on_trust[place] = why
    _not_recognized(context, found)
    rest = left_over(context)
    for place, why in rest.not_examined.items():
        if place not in found.on_trust:
            found.not_examined.setdefault(place, why)
    found.recalculated = [p for p in rest.recalculated if p not in found.not_examined]
    for place, why in found.not_examined.items():
        hidden = why_hidden(context.book, place)
        found.not_examined[place] = f"{why}; {hidden}" if hidden else why
    found.beside = beside(context.book)
    found.folded = folded_inputs(context)
    own = own_table(context)
    found.elsewhere = len(context.lines) - len(context.quoted)
    for worked in context.worked:
        line = worked.line
        if not context.is_quoted(line):
            continue
        resin = resin_of(context, worked.record)
        found.without_resin += not resin or unknown_resin(context, worked.record, own)
        how = "in a job list" if line.job is not None else "by HOPPER_REQUIRED_VOLUME"
        if isinstance(line.call, PlainCall):
            how = "by plain formulas" if line.call.cell.formula else "with a typed volume"
        found.lines[how] = found.lines.get(how, 0) + 1
        if worked.left_out:
            step, why = next(iter(worked.left_out.items()))
            name = repr(worked.name) if worked.name else in_ranges([line.place])
            found.not_worked_out[name] = f"{step}: {why}"
            if worked.record.cells.get(step) not in found.not_examined:
                found.left_open[name] = f"{step}: {why}"
        else:
            found.worked_out += 1
        if line.chosen_size is None:
            name = repr(worked.name) if worked.name else in_ranges([line.place])
            found.without_size.append(name)
            priced = not {"list price", "model"}.isdisjoint(worked.record.cells)
            if priced and not worked.left_out:
                found.left_open[name] = "no size was found that is chosen for it"
    for one in context.unsized:
        found.lines["not sized"] = found.lines.get("not sized", 0) + 1
        name = repr(one.name) if one.name else cell_name(one.place)
        found.not_worked_out[name] = found.left_open[name] = f"not sized: {one.why}"
    if context.money.total is not None and context.money.value is not None:
        found.total = in_ranges([context.money.total])
    return found


def _not_recognized(context: Context, found: Coverage) -> None:
    """Formulas whose heading says that they size a hopper, and that nobody has followed."""
    known = {place for record in context.records for place in record.places}
    volumes = {line.place for line in context.lines} | {
        place
        for place, calls in context.calls.items()
        for made in calls
        if (record := get(made.name)) is not None and record.result.quantity == "volume"
    }
    for cell in context.book.formulas():
        role = context.labels.role(cell.place)
        if role != "required volume" or cell.place in context.calls or cell.place in known:
            continue
        if context.in_catalog(cell.place) or any(
            taken.place in volumes
            for area in context.values.areas_of(cell)
            for taken in context.values.cells_in(area)
        ):
            continue  # it repeats, converts or compares what is examined elsewhere
        stated = context.labels.unit(cell.place)
        if stated is not None and not is_volume(stated.spelling):
            continue  # something else is required there, such as air
        value = context.value(cell.place)
        if isinstance(value, str) and role_of(value):
            continue  # a heading, shown once more
        if isinstance(value, str) and not is_error(value) and re.search(r"\d", value):
            found.not_examined.setdefault(
                cell.place, "a volume inside a text, which cannot be compared with a number"
            )
        elif isinstance(value, float):
            found.not_examined.setdefault(
                cell.place, "a plain formula that was not recognized by its headings"
            )
