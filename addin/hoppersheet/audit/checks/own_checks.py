"""Checks that the workbook makes itself, such as a sheet of checks with pass and fail."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ...workbook.book import Cell
from ..context import Context
from ..findings import Finding, finding
from ..label_words import is_label
from ..verdicts import PASSED, SEVERITY_OF, judges
from .values import value_text

__all__ = ["check"]

_LEAST = 3  # checks that make a column of them
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
    """A verdict that somebody typed between those that the sheet works out."""
    for sheet in context.book.sheets.values():
        for cells in sheet.columns.values():
            typed = [
                c
                for c in cells
                if c.typed and isinstance(c.value, str)
                and c.value.strip().lower() in (*PASSED, *SEVERITY_OF)
            ]  # fmt: skip
            if not typed:
                continue
            rows = [c.place[1] for c in cells if judges(c)]
            for cell in typed:
                if len(rows) >= _LEAST and rows[0] - 1 <= cell.place[1] <= rows[-1] + 1:
                    text, _ = _beside(context, cell)
                    yield finding(
                        "typed over",
                        "error",
                        cell.place,
                        f"{cell.value!r} is typed where the workbook checks {text!r}; whatever is "
                        "wrong there no longer shows; restore the formula.",
                        value=cell.value,
                    )


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
