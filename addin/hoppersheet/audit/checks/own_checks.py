"""Checks that the workbook makes itself, such as a sheet of checks with pass and fail."""

from __future__ import annotations

import re
from collections.abc import Container, Iterator
from dataclasses import dataclass
from typing import Any

from ...workbook.book import Cell, Sheet
from ...workbook.formulas import Literal
from ..context import Context
from ..findings import Finding, finding, in_ranges
from ..label_words import is_label
from ..verdicts import PASSED, SEVERITY_OF, judges
from .values import value_text

__all__ = ["check"]

_LEAST = 3  # checks that make a column of them
#: What a sheet of checks says where all is well.
_READY = re.compile(r"\W*(ready|pass(ed)?|ok)\W*", re.IGNORECASE)
_MOSTLY = 0.8  # of a column's numbers are worked out
_NAMED = 4  # checks that ask for a look and are named


@dataclass(frozen=True)
class _OwnCheck:
    cell: Cell
    severity: str
    text: str
    cases: float | None

    @property
    def counted(self) -> str:
        """``"2 cases"``, ``""`` where the sheet does not count them."""
        if self.cases is None:
            return ""
        return f"{value_text(self.cases)} case{'s' * (self.cases != 1)}"


def _own_checks(context: Context) -> Iterator[_OwnCheck]:
    """Checks of the workbook that do not pass."""
    for cell in context.book.formulas():
        value = context.value(cell.place)
        severity = SEVERITY_OF.get(value.strip().lower()) if isinstance(value, str) else None
        if severity is not None and judges(cell):
            text, cases = _beside(context, cell)
            yield _OwnCheck(cell, severity, text, cases)


def _typed_verdicts(context: Context) -> Iterator[Finding]:
    """What somebody typed where a sheet works out its checks, and what they come to."""
    by_form: dict[str | None, bool] = {}

    def judging_rows(cells: list[Cell]) -> list[int]:
        rows = []
        for cell in cells:
            if cell.formula is not None:
                if cell.form not in by_form:
                    by_form[cell.form] = judges(cell)
                if by_form[cell.form]:
                    rows.append(cell.place[1])
        return rows

    for sheet in context.book.sheets.values():
        judging = {
            column: rows
            for column, cells in sheet.columns.items()
            if len(rows := judging_rows(cells)) >= _LEAST
        }
        for column, rows in judging.items():
            for cell in sheet.columns[column]:
                at_it = rows[0] - 1 <= cell.place[1] <= rows[-1] + 1
                if at_it and _is_fixed(cell) and _is_verdict(cell):
                    text, _ = _beside(context, cell)
                    yield _fixed(
                        context, cell, f"is typed where the workbook checks {text!r}; whatever is "
                        "wrong there no longer shows",
                    )  # fmt: skip
            yield from _fixed_counts(context, sheet, column, rows)
        if judging:
            yield from _fixed_flags(context, sheet, judging)
        else:
            yield from _all_typed(context, sheet)


def _is_fixed(cell: Cell) -> bool:
    """Whether a cell holds the same whatever happens: typed, or a formula such as ``="pass"``."""
    return (cell.typed and cell.value != "") or isinstance(cell.tree, Literal)


def _is_verdict(cell: Cell) -> bool:
    value = cell.tree.value if isinstance(cell.tree, Literal) else cell.value
    return isinstance(value, str) and value.strip().lower() in (*PASSED, *SEVERITY_OF)


def _fixed(context: Context, cell: Cell, says: str, cells: list[Cell] | None = None) -> Finding:
    value = context.value(cell.place)
    return finding(
        "typed over",
        "error",
        cell.place,
        f"{value_text(value)} {says}; restore the formula.",
        formula=cell.formula,
        value=value,
        cells=[one.place for one in cells or ()],
    )


def _fixed_counts(
    context: Context, sheet: Sheet, column: int, rows: list[int]
) -> Iterator[Finding]:
    """Numbers that checks judge, typed where those of the other checks are worked out."""
    taken: dict[int, list[Cell]] = {}
    for row in rows:
        for area in context.values.areas_of(sheet.cells[row, column]):
            cell = sheet.cells.get((area[1], area[2]))
            one = area[0] == sheet.name and area[1:3] == area[3:] == (row, area[2])
            if one and cell is not None and not context.in_catalog(cell.place):
                taken.setdefault(area[2], []).append(cell)
    for cells in taken.values():
        fixed = [cell for cell in cells if _is_fixed(cell)]
        if 2 * len(fixed) >= len(cells) and not _are_counts(context, cells):
            continue  # a column that is typed by right: what a check says when it fails
        if fixed:
            text, _ = _beside(context, fixed[0])
            more = f" and {len(fixed) - 1} more" if len(fixed) > 1 else ""
            yield _fixed(
                context,
                fixed[0],
                f"is typed where the workbook counts for its check {text!r}{more}; whatever is "
                "wrong there no longer shows",
                fixed if len(fixed) > 1 else None,
            )


def _are_counts(context: Context, cells: list[Cell]) -> bool:
    """Whether all that checks judge are numbers, each of another check."""
    return all(isinstance(context.value(cell.place), float) for cell in cells)


def _fixed_flags(context: Context, sheet: Sheet, judging: Container[int]) -> Iterator[Finding]:
    """What a sheet of checks counts or comes to, typed though other cells rely on it."""
    for column, cells in sheet.columns.items():
        if column in judging:
            continue
        held = [cell for cell in cells if not isinstance(cell.value, str) or cell.formula]
        worked = [cell for cell in held if not _is_fixed(cell)]
        listed = len(worked) >= _LEAST and len(worked) >= _MOSTLY * len(held)
        for cell in cells:
            value = context.value(cell.place)
            says = isinstance(value, str) and _READY.fullmatch(value)
            if not _is_fixed(cell) or not (says or (listed and isinstance(value, float))):
                continue
            label = context.labels.left_label(cell.place)
            beside = sheet.cells.get((cell.place[1], column + 1))
            names = beside is not None and beside.formula is not None
            if (says and label and not names) or len(
                context.precedents.followers([cell.place])
            ) > 1:
                yield _fixed(
                    context, cell, "is typed where the workbook says what its checks come to"
                    f"{f' ({label!r})' if label else ''}; what is wrong no longer shows",
                )  # fmt: skip


def _all_typed(context: Context, sheet: Sheet) -> Iterator[Finding]:
    """Verdicts of a whole column that somebody typed beside the numbers that they judge."""
    for cells in sheet.columns.values():
        verdicts = [cell for cell in cells if _is_fixed(cell) and _is_verdict(cell)]
        beside = [
            cell for cell in verdicts
            if any(
                other.formula is not None and other.place[2] < cell.place[2]
                for other in sheet.rows[cell.place[1]]
            )
        ]  # fmt: skip
        passed = [c for c in beside if str(context.value(c.place)).strip().lower() in PASSED]
        if len(passed) >= _LEAST and 2 * len(beside) > len(cells):
            yield _fixed(
                context, beside[0], f"is typed in {in_ranges(c.place for c in beside)}, where the "
                "workbook checks something; whatever is wrong there no longer shows", beside,
            )  # fmt: skip


def _beside(context: Context, cell: Cell) -> tuple[str, float | None]:
    """What a check says of itself and how many cases it counts: the text and number before it."""
    text, cases = "", None
    row = context.book.sheets[cell.place[0]].rows[cell.place[1]]
    for before in reversed([c for c in row if c.place[2] < cell.place[2]]):
        value: Any = context.value(before.place)
        if is_label(value):
            text = " ".join(str(value).split())
            break
        if isinstance(value, float) and cases is None:
            cases = value
    return text or context.labels.heading(cell.place), cases


def check(context: Context) -> Iterator[Finding]:
    """``typed over`` of a check; ``own check``: each that fails or warns, and one note of looks."""
    if not context.lines:
        return  # an empty form is not ready, and nobody says that it is
    yield from _typed_verdicts(context)
    found = list(_own_checks(context))
    for own in found:
        if own.severity == "look":
            continue
        cases = f" ({own.counted})" if own.counted else ""
        effect = (
            "by the workbook's own rule the quote is not ready"
            if own.severity == "error"
            else "by the workbook's own rule the answer may be wrong"
        )
        yield finding(
            "own check",
            own.severity,
            own.cell.place,
            f"The workbook's own check {own.text!r} says "
            f"{value_text(context.value(own.cell.place))}{cases}; {effect}; "
            "find the cause there and settle it.",
            formula=own.cell.formula,
            value=context.value(own.cell.place),
        )
    looks = [own for own in found if own.severity == "look"]
    for sheet in dict.fromkeys(own.cell.place[0] for own in looks):
        yield _looks(context, [own for own in looks if own.cell.place[0] == sheet])


def _looks(context: Context, looks: list[_OwnCheck]) -> Finding:
    first = looks[0]
    named = "; ".join(f"{own.text!r} {own.counted}".rstrip() for own in looks[:_NAMED])
    more = f"; and {len(looks) - _NAMED} more" if len(looks) > _NAMED else ""
    several = len(looks) > 1
    return finding(
        "own check",
        "note",
        first.cell.place,
        f"{len(looks)} of the workbook's own checks ask{'' if several else 's'} for a look: "
        f"{named}{more}; decide whether the quote is right anyway; read "
        f"{'them' if several else 'it'} on the sheet {first.cell.place[0]!r}.",
        formula=first.cell.formula,
        value=context.value(first.cell.place),
    )
