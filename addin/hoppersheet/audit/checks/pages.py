"""What a summary or a customer's page shows of each job: all of one row is of one job.

A cell there may refer to another job than its neighbors, may be typed over, or a whole row may show
a job once more. The amounts of the total are right all the same, and the customer reads the wrong
model or price.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from ...cells.values import is_error
from ...workbook.book import Cell
from ...workbook.formulas import Place
from ..context import Context, cell_name
from ..findings import Finding, finding, in_ranges
from ..records import Record
from ..roles import role_of
from ..verdicts import judges
from .values import value_text

__all__ = ["check"]

#: Roles whose values tell jobs apart where a formula looks them up.
_LOOKED_UP = frozenset(
    ("model", "list price", "net price", "chosen size", "size", "required volume", "throughput")
)
_LEAST = 2  # rows that show the same of their jobs make a column of it
_CHECKS = 5  # cells that say pass or fail
#: Amounts of a quote, by the label beside them.
_AMOUNTS = ("grand total", "subtotal", "tax", "freight")
_OF_MONEY = ("list price", "net price")


@dataclass
class _Row:
    """A row (or column) of a page that shows a job.

    Attributes:
        record: the job's line.
        shown: cells that show something of one line -> (its line, what it is).
        upright: it is a column of the page.
        others: its other cells.
    """

    record: Record
    shown: dict[Place, tuple[Record, str]]
    upright: bool
    others: list[Cell] = field(default_factory=list)

    def at(self, place: Place) -> int:
        """Where in the row a cell stands."""
        return place[1] if self.upright else place[2]

    @property
    def agreeing(self) -> int:
        """How many of its cells say of which job it is, beside the first."""
        return sum(record is self.record for record, _ in self.shown.values()) - 1


def _role(context: Context, place: Place) -> str:
    """What a cell shows: what the cell is for that it repeats, else what it is called."""
    return context.labels.role(context.trail(place)[-1]) or context.labels.role(place)


def _shown(context: Context, name: str) -> dict[Place, tuple[Record, str]]:
    """Cells of a sheet that show something of a line, beside the lines' own rows or columns."""
    sheet, number = context.book.sheets[name], 2 if context.labels.sideways(name) else 1
    own = {line.place[number] for line in context.lines if line.place[0] == name}
    shown: dict[Place, tuple[Record, str]] = {}
    for at, cells in (sheet.columns if number == 2 else sheet.rows).items():
        for cell in cells if at not in own else ():
            record = context.shown_line(cell) if cell.formula is not None else None
            if record is not None:
                shown[cell.place] = (record, _role(context, cell.place))
    return shown


def _rows(context: Context, name: str, shown: dict[Place, tuple[Record, str]]) -> list[_Row]:
    """The rows of a sheet that show jobs, or its columns where it has a column for each job."""
    found: list[list[_Row]] = []
    for number in (1, 2):
        sheet = context.book.sheets[name]
        groups: dict[int, dict[Place, tuple[Record, str]]] = {}
        for place, (record, role) in shown.items():
            groups.setdefault(place[1] if number == 1 else place[2], {})[place] = (record, role)
        rows = []
        for at, group in groups.items():
            of = _job_of(context, group)
            cells = (sheet.rows if number == 1 else sheet.columns)[at]
            if of is not None:
                others = [cell for cell in cells if cell.place not in shown]
                rows.append(_Row(of, group, number == 2, others))
        found.append(rows)
    return max(found, key=lambda rows: sum(row.agreeing for row in rows))


def _job_of(context: Context, shown: dict[Place, tuple[Record, str]]) -> Record | None:
    """The line that a row is about: that of most of its cells, else the one it names."""
    counts = Counter(id(record) for record, _ in shown.values())
    records = {id(record): record for record, _ in shown.values()}
    ranked = counts.most_common(2)
    if len(ranked) == 1 or ranked[0][1] > ranked[1][1]:
        return records[ranked[0][0]]
    named = {id(record) for record, role in shown.values() if role == "job"}
    return records[named.pop()] if len(named) == 1 else None


def _value(context: Context, record: Record, role: str) -> Any:
    place = record.cells.get(role)
    return context.value(place) if place is not None else None


def _name(context: Context, record: Record) -> str:
    name = context.name_of(record.line)
    return repr(name) if name else f"the line of {cell_name(record.line.place)}"


def _total(context: Context, place: Place) -> list[Place]:
    """The total, where it follows from a cell of the page: what is wrong there is told once."""
    total = context.money.total
    cell = context.book.cell(total) if total is not None else None
    follows = context.behind(cell) if cell is not None else None
    if follows is None or total is None:
        return []
    return [total] if place in follows[1] or place in {c.place for c in follows[0]} else []


def _of_another_job(context: Context, row: _Row) -> Iterator[Finding]:
    """Cells that show another job than the others of their row."""
    own = {role for record, role in row.shown.values() if record is row.record}
    for place, (record, role) in row.shown.items():
        if record is row.record or not role or role in own:
            continue  # a row that shows both compares them
        yield _another(context, row.record, record, place, role)


def _another(context: Context, own: Record, other: Record, place: Place, role: str) -> Finding:
    cell = context.book.cell(place)
    shown, right = context.value(place), _value(context, own, role)
    same = right is not None and shown == right
    at = own.cells.get(role)
    says = f", which has {value_text(right)} in {cell_name(at)}" if at is not None else ""
    effect = (
        "today both show the same, and they will not when one job changes"
        if same
        else f"whoever reads the page takes the {role} of one job for another's"
    )
    numbers = isinstance(shown, float) and isinstance(right, float) and role in _OF_MONEY
    return finding(
        "odd formula",
        "warning" if same else "error",
        place,
        f"{cell_name(place)} shows the {role} of {_name(context, other)}, {value_text(shown)}, "
        f"unlike its neighbors, which are of {_name(context, own)}{says}; {effect}; refer to the "
        "same job as the cells beside it.",
        formula=cell.formula if cell is not None else None,
        value=shown,
        expected=right,
        cells=dict.fromkeys(
            p for p in (place, at, other.cells.get(role), *_total(context, place)) if p
        ),
        money=abs(shown - right) if numbers else 0.0,
    )


def _typed_over(context: Context, rows: list[_Row]) -> Iterator[Finding]:
    """Values that somebody typed where the other rows show their job's."""
    if len({id(row.record) for row in rows}) < _LEAST:
        return  # all is of one job, whatever shows it
    roles: dict[int, Counter[str]] = {}
    counted: set[tuple[int, str, int]] = set()  # a job once, however often it is shown
    for row in rows:
        for place, (record, role) in row.shown.items():
            if (key := (row.at(place), role, id(record))) not in counted:
                counted.add(key)
                roles.setdefault(row.at(place), Counter())[role] += 1
    for row in rows:
        for cell in row.others:
            usual = roles.get(row.at(cell.place), Counter()).most_common(1)
            if not cell.typed or cell.value in (None, "") or not usual:
                continue
            role, count = usual[0]
            right = _value(context, row.record, role)
            if count < _LEAST or 2 * count <= len(rows) - 1 or right in (None, ""):
                continue
            if isinstance(right, float) and not isinstance(cell.value, float):
                continue  # a text such as "on request" is a decision
            yield _typed(context, row.record, cell, role, right)


def _typed(context: Context, record: Record, cell: Cell, role: str, right: Any) -> Finding:
    value = cell.value
    same = value == right
    numbers = isinstance(value, float) and isinstance(right, float) and role in _OF_MONEY
    effect = (
        "today both are the same, and they will not be when the job changes"
        if same
        else f"{_name(context, record)} has {value_text(right)}"
    )
    return finding(
        "typed over",
        "error",
        cell.place,
        f"The {role}, {value_text(value)}, is typed where the other rows refer to their jobs; "
        f"{effect}; let the cell refer to {cell_name(record.cells[role])}.",
        value=value,
        expected=right,
        cells=[cell.place, record.cells[role], *_total(context, cell.place)],
        money=abs(value - right) if numbers else 0.0,
    )


def _looked_up(context: Context, row: _Row) -> Iterator[Finding]:
    """Values that a formula looks up, and that are those of another job."""
    for cell in row.others:
        if cell.formula is None:
            continue
        role, value = context.labels.role(cell.place), context.value(cell.place)
        if role not in _LOOKED_UP or value in (None, "") or is_error(value):
            continue
        right = _value(context, row.record, role)
        if right is None or value == right or type(value) is not type(right):
            continue
        others = [r for r in context.records if _value(context, r, role) == value]
        if others:
            yield _another(context, row.record, others[0], cell.place, role)


def _shown_twice(context: Context, rows: list[_Row]) -> Iterator[Finding]:
    """A job that a page shows twice in the same columns, and another one that it does not show."""
    found: dict[int, list[_Row]] = {}
    for row in rows:
        found.setdefault(id(row.record), []).append(row)
    missing = [r for r in context.records if id(r) not in found and context.is_quoted(r.line)]
    if not missing or len(rows) < len(missing) + _LEAST:
        return
    for same in found.values():
        first, *again = same
        where = [{row.at(place) for place in row.shown} for row in same]
        if not again or any(columns != where[0] for columns in where):
            continue
        places = list(again[0].shown)
        yield finding(
            "same job twice",
            "error",
            min(places),
            f"{in_ranges(places)} shows {_name(context, first.record)} once more, as "
            f"{in_ranges(first.shown)} does, and {_name(context, missing[0])} is not on the page; "
            "refer to the missing job.",
            cells=[*places, *first.shown],
        )


def _holds_checks(context: Context, name: str) -> bool:
    """Whether a sheet says pass or fail of the jobs, and shows them for that."""
    cells = context.book.sheets[name].cells.values()
    return sum(map(judges, cells)) >= _CHECKS


def _called_otherwise(context: Context) -> Iterator[Finding]:
    """A page that calls the total what is the subtotal, a tax or freight."""
    labels, names = context.labels, dict[tuple[str, str], Place]()
    repeated: list[tuple[Cell, str, Place]] = []
    for cell in context.book.formulas():
        value = context.value(cell.place)
        role = role_of(labels.left_label(cell.place)) if isinstance(value, float) else ""
        if role not in _AMOUNTS:
            continue
        source = context.trail(cell.place)[-1]
        of = role_of(labels.left_label(source)) if source[0] != cell.place[0] else ""
        if of in _AMOUNTS and of != role:
            repeated.append((cell, role, source))
        elif not of:
            names.setdefault((cell.place[0], role), cell.place)
    for cell, role, source in repeated:
        right = names.get((source[0], role))
        if right is None or context.value(right) == context.value(source):
            continue  # that sheet has no other amount of this name
        yield finding(
            "odd formula",
            "error",
            cell.place,
            f"{labels.left_label(cell.place)!r} in {cell_name(cell.place)} shows the "
            f"{labels.left_label(source)!r} of {cell_name(source)}, "
            f"{value_text(context.value(source))}; {labels.left_label(right)!r} is "
            f"{value_text(context.value(right))} in {cell_name(right)}; refer to that.",
            formula=cell.formula,
            value=context.value(cell.place),
            expected=context.value(right),
            cells=(cell.place, right),
        )


def check(context: Context) -> Iterator[Finding]:
    """``odd formula``, ``typed over`` and ``same job twice`` of what pages show of the jobs."""
    yield from _called_otherwise(context)
    if len(context.records) < _LEAST:
        return
    for name in context.book.sheets:
        rows = _rows(context, name, _shown(context, name))
        if not rows or _holds_checks(context, name):
            continue
        for row in rows:
            yield from _of_another_job(context, row)
            yield from _looked_up(context, row)
        yield from _typed_over(context, rows)
        yield from _shown_twice(context, rows)
