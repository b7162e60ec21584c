"""What the sheet leaves out, hides, or takes from elsewhere."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...cells.values import is_error
from ...cells.wording import counted, rounded
from ...workbook.addresses import column_letters
from ...workbook.book import Cell, Sheet
from ...workbook.evaluator import Area
from ...workbook.formulas import Call, Place, address
from ..context import Context, cell_name
from ..findings import Finding, finding
from .values import value_text

__all__ = ["check", "folded_inputs"]

_ADDS = frozenset(("SUM", "SUBTOTAL", "AGGREGATE"))
#: Arguments before the ranges: which sum, and what to leave out. A sum that chooses its lines
#: (SUMIF) may leave some out on purpose.
_FIRST_SUMMED = {"SUBTOTAL": 1, "AGGREGATE": 2}
_LEAST_OF_A_LINE = 3  # cells of a row that make it a line like the one beside it
_EXTERNAL = re.compile(r"\[[^\[\]]*\.xl\w+\]|(^|[=(,+\-*/'&])\[\d+\]|\.xlam?'?!", re.IGNORECASE)


# --- totals ---------------------------------------------------------------------------------


def _totals(context: Context) -> Iterator[tuple[Cell, Area]]:
    """(cell, range) of every sum over several cells of one column."""
    for cell in context.book.formulas():
        if cell.tree is None or _ADDS.isdisjoint(context.book.functions_in(cell)):
            continue
        for node in context.book.nodes(cell.tree):
            if not isinstance(node, Call) or node.name not in _ADDS:
                continue
            for argument in node.arguments[_FIRST_SUMMED.get(node.name, 0) :]:
                area = context.area_of(argument, cell.place)
                if area is not None and area[2] == area[4] and area[3] > area[1]:
                    yield cell, area


def _line_is_used(context: Context, sheet: Sheet, row: int, column: int) -> bool:
    """Whether somebody filled the line in: it holds a typed text and a typed number."""
    cells = [c for c in sheet.rows.get(row, []) if c.place[2] != column and c.typed]
    return any(isinstance(c.value, float) for c in cells) and any(
        isinstance(c.value, str) for c in cells
    )


def _missed_inside(context: Context, cell: Cell, area: Area) -> Iterator[tuple[Place, str]]:
    """Cells of a sum's range that do not count though their line does."""
    sheet = context.book.sheets[area[0]]
    for found in context.values.cells_in(area):
        value = context.value(found.place)
        row, column = found.place[1:]
        if isinstance(value, str) and not is_error(value):
            hides = found.formula is not None and any(
                made.error is not None and "blank" not in made.error.reason
                for made in context.calls.get(found.place, [])
            )
            shows_error = found.formula is not None and re.search(
                r"IFERROR|IFNA|ISERR|ISNA", found.formula, re.IGNORECASE
            )
            if value.strip() or hides:
                yield found.place, f"holds the text {value_text(value)}, which counts as 0"
            elif shows_error and _line_is_used(context, sheet, row, column):
                yield found.place, "shows nothing because its formula hides an error"
        elif is_error(value) and not is_error(context.value(cell.place)):
            yield found.place, f"is {value}, which the total leaves out"


def _missed_outside(context: Context, cell: Cell, area: Area) -> Iterator[tuple[Place, str]]:
    """Cells next to a sum's range that belong to the same column of lines."""
    name, r1, column, r2, _ = area
    sheet = context.book.sheets[name]
    inside = [
        sheet.cells[r, column]
        for r in range(r1, min(r2, sheet.max_row) + 1)
        if (r, column) in sheet.cells
    ]
    forms = {c.form for c in inside if c.form}
    counted_elsewhere = _counted(context) | {
        taken.place for other in context.values.areas_of(cell) for taken in
        context.values.cells_in(other) if other != area
    }  # fmt: skip
    for step, start, edge in ((1, r2 + 1, r2), (-1, r1 - 1, r1)):
        row = start
        while (beyond := sheet.cells.get((row, column))) is not None and beyond is not cell:
            value = context.value(beyond.place)
            same_form = bool(beyond.form) and beyond.form in forms
            # A line is what is filled in like the others, whether its price is typed or not.
            a_line = _line_is_used(context, sheet, row, column) and _alike(sheet, row, edge)
            if not isinstance(value, float) or not (same_form or a_line):
                break
            if beyond.place in counted_elsewhere:
                break
            if beyond.form and beyond.form not in forms and _adds_up(context, beyond, area):
                break
            yield beyond.place, f"({rounded(value, 6)}) lies outside {_range(area)}"
            row += step


def _counted(context: Context) -> set[Place]:
    """Net prices that the grand total takes once, by whatever way, or leaves out as options."""
    money = context.money
    return {one.net_place for one in money.options if one.net_place is not None} | {
        worked.net_place
        for worked, weight in zip(context.worked, money.weights, strict=True)
        if worked.net_place is not None and weight is not None and weight == money.usual
    }


def _alike(sheet: Sheet, row: int, other: int) -> bool:
    """Whether two rows are filled in the same columns, most of them."""
    one, two = ({c.place[2] for c in sheet.rows.get(r, [])} for r in (row, other))
    return len(one & two) >= 0.7 * len(two) and len(one & two) >= _LEAST_OF_A_LINE


def _adds_up(context: Context, cell: Cell, area: Area) -> bool:
    """Whether a formula takes cells of a range in its own column: another total."""
    return any(
        taken[0] == area[0] and taken[2] <= area[2] <= taken[4] and taken[1] < taken[3]
        for taken in context.values.areas_of(cell)
    )


def _range(area: Area) -> str:
    return f"{address(area[1], area[2])}:{address(area[3], area[4])}"


def _total_findings(context: Context) -> Iterator[Finding]:
    for cell, area in _totals(context):
        missed = [*_missed_outside(context, cell, area)]
        if not is_error(context.value(cell.place)):  # a total that shows an error hides nothing
            missed = [*_missed_inside(context, cell, area), *missed]
        if not missed:
            continue
        place, why = missed[0]
        more = f" (and {len(missed) - 1} more)" if len(missed) > 1 else ""
        amounts = [
            v for p, w in missed if isinstance(v := context.value(p), float) and "outside" in w
        ]
        effect = (
            f"the total is {rounded(sum(amounts), 6)} too low"
            if amounts
            else "the total is too low"
        )
        yield finding(
            "total skips lines",
            "error",
            cell.place,
            f"{cell_name(place)}{more} {why}; {effect} for the lines of the quote; let errors "
            "show, and let the total cover every line.",
            formula=cell.formula,
            value=context.value(cell.place),
        )


# --- links and hidden cells -----------------------------------------------------------------


def _external(context: Context) -> Iterator[Finding]:
    found = False
    for cell in context.book.formulas():
        if cell.formula is None or not _EXTERNAL.search(_without_texts(cell.formula)):
            continue
        found = True
        bound = "HOPPER_" in cell.formula.upper() and ".xla" in cell.formula.lower()
        if bound:
            yield finding(
                "external link",
                "warning",
                cell.place,
                "The function is bound to the place of somebody's add-in file; on another computer "
                "the cell shows #NAME? or an old value; put plain names back with hoppersheet "
                "names.",
                formula=cell.formula,
                value=cell.value,
            )
        else:
            yield finding(
                "external link",
                "warning",
                cell.place,
                "The formula reads from another workbook, which the reader of this one cannot see "
                f"and which may have changed since; {value_text(cell.value)} is what it gave last "
                "time; copy the value in with its source.",
                formula=cell.formula,
                value=cell.value,
            )
    for name, text in context.book.name_texts.items():
        if _EXTERNAL.search(text):
            found = True
            yield Finding(
                "external link", "warning", "", name,
                f"The defined name {name!r} reads from another workbook ({text}), which may have "
                "changed since; copy the value in with its source.", text,
            )  # fmt: skip
    if context.book.external and not found:
        yield Finding(
            "external link", "warning", "", "",
            f"The workbook is linked to {', '.join(context.book.external)}, though no formula "
            "seems to use it; whoever opens it is asked to update links; remove the link.",
        )  # fmt: skip


def _without_texts(formula: str) -> str:
    return re.sub(r'"(?:[^"]|"")*"', '""', formula)


def _feeding(context: Context) -> Iterator[Cell]:
    """Every cell that a sizing result or a price follows from, once."""
    money = (place for record in context.records for place in record.cells.values())
    total = [] if context.money.total is None else [context.money.total]
    yield from context.precedents.taken_by(
        dict.fromkeys((*context.calls, *context.unread, *money, *total))
    )


def _hidden(context: Context) -> Iterator[Finding]:
    groups: dict[tuple[str, str], list[Cell]] = {}
    for cell in _feeding(context):
        name, row, column = cell.place
        sheet = context.book.sheets[name]
        if context.value(cell.place) in (None, ""):
            continue
        if sheet.hidden:
            groups.setdefault((name, f"The sheet {name!r}"), []).append(cell)
        elif row in sheet.unseen_rows:
            groups.setdefault((name, f"Row {row} of {name!r}"), []).append(cell)
        elif column in sheet.hidden_columns:
            key = f"Column {column_letters(column)} of {name!r}"
            groups.setdefault((name, key), []).append(cell)
    for (_, what), cells in sorted(groups.items()):
        first = min(cells, key=lambda c: c.place)
        count = counted(len(cells), "cell")
        yield finding(
            "hidden",
            "warning",
            first.place,
            f"{what} is hidden, but {count} in it feed the quote, the first with "
            f"{value_text(context.value(first.place))}; a wrong value there goes unseen; show it.",
            formula=first.formula,
            value=context.value(first.place),
        )


def folded_inputs(context: Context) -> dict[str, tuple[int, list[str]]]:
    """Sheet -> (typed cells that count, in folded columns, and which columns these are)."""
    found: dict[str, tuple[int, list[str]]] = {}
    cells = [
        cell
        for cell in _feeding(context)
        if cell.typed
        and cell.value != ""
        and cell.place[2] in context.book.sheets[cell.place[0]].settings.folded_columns
    ]
    for name in dict.fromkeys(cell.place[0] for cell in cells):
        columns = [cell.place[2] for cell in cells if cell.place[0] == name]
        found[name] = (len(columns), [column_letters(c) for c in sorted(set(columns))])
    return found


def check(context: Context) -> Iterator[Finding]:
    """``total skips lines``, ``external link``, ``hidden``."""
    yield from _total_findings(context)
    yield from _external(context)
    yield from _hidden(context)
