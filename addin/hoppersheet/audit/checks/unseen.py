"""Cells that count and that nobody can see, or that show another text than what they hold."""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Iterator
from typing import Any

from ...workbook.book import Cell
from ...workbook.evaluator import FormulaError, Unknown, fixed_text
from ...workbook.formulas import parse
from ...workbook.sheet_settings import ConditionalFormat
from ...workbook.styles import Style, looks_of
from ..context import Context
from ..findings import Finding, finding, in_ranges
from .looks import NUMBERS, by_role
from .values import value_text

__all__ = ["check"]

#: In points; smaller print cannot be read (common practice, no source).
_LEAST_SIZE = 4.0
_SHOWS_NOTHING = re.compile(r';+|""|(?:"";*)+')
#: Kinds of rule whose formula is a condition (ECMA-376 part 1, 18.18.12).
_CONDITIONS = frozenset(
    ("expression", "containsText", "notContainsText", "beginsWith", "endsWith", "containsBlanks",
     "notContainsBlanks", "containsErrors", "notContainsErrors", "timePeriod")
)  # fmt: skip
_COMPARISONS: dict[str, Callable[[Any, Any], bool]] = {
    "equal": operator.eq, "notEqual": operator.ne, "lessThan": operator.lt,
    "lessThanOrEqual": operator.le, "greaterThan": operator.gt, "greaterThanOrEqual": operator.ge,
}  # fmt: skip


def _why_unseen(style: Style) -> str:
    """Why a number in this style cannot be seen; "" where it can."""
    if style.font == style.fill:
        return "text in the color of its background"
    if _SHOWS_NOTHING.fullmatch(style.number_format):
        return "a format that shows nothing"
    if style.size < _LEAST_SIZE:
        return f"print of {style.size:g} points"
    return ""


class _Rules:
    """The conditional formats of a workbook, as far as they could hide a cell."""

    def __init__(self, context: Context) -> None:
        self.context = context
        sheets = context.book.sheets
        found = {name: sheets[name].settings.conditional_formats for name in sheets}
        looks = looks_of(context.book.package) if any(found.values()) else []
        self.rules = {
            name: [(one, looks[one.look]) for one in rules
                   if one.look is not None and one.look < len(looks)]
            for name, rules in found.items()
        }  # fmt: skip

    def why_unseen(self, cell: Cell) -> str:
        """Why a conditional format hides a cell, or may hide it; "" where none does."""
        sheet, row, column = cell.place
        for rule, look in self.rules.get(sheet, ()):
            if not any(r1 <= row <= r2 and c1 <= column <= c2 for r1, c1, r2, c2 in rule.areas):
                continue
            why = _why_unseen(look.over(cell.style))
            if not why:
                continue
            holds = self._holds(rule, cell)
            if holds is None:
                return f"a conditional format that was not worked out may give it {why}"
            if holds:
                return f"a conditional format gives it {why}"
        return ""

    def _holds(self, rule: ConditionalFormat, cell: Cell) -> bool | None:
        """Whether a rule holds for a cell, None where that cannot be said."""
        sheet = cell.place[0]
        first = (sheet, min(box[0] for box in rule.areas), min(box[1] for box in rule.areas))
        try:
            values = [
                self.context.values.evaluate(parse(f"={formula}", first), cell.place)
                for formula in rule.formulas
            ]
        except FormulaError:
            return False  # an error is no condition that holds
        except Unknown:
            return None
        if rule.kind in _CONDITIONS and len(values) == 1:
            return bool(values[0]) if isinstance(values[0], (bool, float)) else None
        value = self.context.value(cell.place)
        if rule.kind != "cellIs" or not all(isinstance(x, float) for x in (value, *values)):
            return None
        if rule.operator in ("between", "notBetween") and len(values) == 2:
            within = min(values) <= value <= max(values)
            return bool(within == (rule.operator == "between"))
        compared = _COMPARISONS.get(rule.operator)
        return compared(value, values[0]) if compared and len(values) == 1 else None


def _unseen(context: Context) -> Iterator[Finding]:
    rules = _Rules(context)
    unseen: dict[str, list[tuple[str, Cell]]] = {}
    for _, role, cell in context.feeding:
        value = context.value(cell.place)
        if not (isinstance(value, float) or (role in NUMBERS and value not in (None, ""))):
            continue
        why = _why_unseen(cell.style) or rules.why_unseen(cell)
        if why:
            unseen.setdefault(why, []).append((role, cell))
    for why, cells in unseen.items():
        for first, places in by_role(cells):
            yield finding(
                "unseen",
                "warning",
                first.place,
                f"{in_ranges(places)} cannot be seen ({why}), but "
                f"{'they count' if len(places) > 1 else 'it counts'}, with "
                f"{value_text(context.value(first.place))}; a wrong value there goes unseen; "
                "show it.",
                formula=first.formula,
                value=context.value(first.place),
                cells=places if len(places) > 1 else (),
            )


def _fixed(context: Context) -> Iterator[Finding]:
    """Formats that show a number of their own."""
    for _, _role, cell in context.feeding:
        value = context.value(cell.place)
        if not isinstance(value, float) or _why_unseen(cell.style):
            continue
        try:
            text = fixed_text(value, cell.style.number_format)
        except (FormulaError, Unknown):
            continue
        if text is None or (not value and not re.search(r"[1-9]", text)):
            continue  # a nought may be shown as a dash or as words
        yield finding(
            "unseen",
            "error",
            cell.place,
            f"The number format shows {text!r} here; the cell holds {value_text(value)}, and that "
            "is what counts; choose a format that shows the number.",
            formula=cell.formula,
            value=value,
        )


#: A comma behind the last digit divides what is shown by a thousand (ECMA-376, 18.8.31).
_THOUSANDS = re.compile(r"[0#?](,+)(?![0#?,])")
_SAYS_THOUSANDS = re.compile(
    r"\bk\b|\bk[$€]|\bk(?:usd|eur)\b|\bt(?:usd|eur)\b|000|thousand|tausend|mill?e|mio|million",
    re.IGNORECASE,
)


def _scaled(context: Context) -> Iterator[Finding]:
    """Formats that show thousandths, and a heading that does not say so."""
    for _, _role, cell in context.feeding:
        value, code = context.value(cell.place), cell.style.number_format
        found = _THOUSANDS.search(re.sub(r'"[^"]*"|\\.|\[[^\]]*\]', " ", code.partition(";")[0]))
        if found is None or not isinstance(value, float) or not value:
            continue
        heading = f"{context.labels.heading(cell.place)} {context.labels.label(cell.place)}"
        if _SAYS_THOUSANDS.search(heading) or re.search(r'"[^"]*[A-Za-z][^"]*"', code):
            continue
        shown = value / 1000 ** len(found[1])
        yield finding(
            "shown rounded",
            "error",
            cell.place,
            f"{value_text(value)} is shown as {shown:,.6g}: the number format divides by "
            f"{1000 ** len(found[1]):,}, and no heading says so; choose a format that shows the "
            "number.",
            formula=cell.formula,
            value=value,
            expected=shown,
        )


def check(context: Context) -> Iterator[Finding]:
    """``unseen``; ``shown rounded`` of formats that divide."""
    yield from _unseen(context)
    yield from _fixed(context)
    yield from _scaled(context)
