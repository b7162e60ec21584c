"""Results that stand alone, such as a total: typed where a formula belongs.

In a column its neighbors tell that a formula was typed over; here the label does (Total,
Subtotal, Tax), a defined name of that kind, or the word "calculated" that our templates set beside.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...cells.wording import rounded
from ...templates.cell_words import WORDS
from ...workbook.book import Cell, Sheet
from ...workbook.formulas import Place, Reference
from ..context import Context, percent
from ..findings import Finding, finding
from ..label_words import is_label, without_unit
from ..roles import role_of

__all__ = ["check", "is_total"]

_WIDEST = 400  # cells of a row; a wider one holds data, not a total
_GAP = 2  # empty rows between a list and its total
_TOTAL = re.compile(
    r"((grand|net|gross|quote|order|offer)[ -]*)?(total|sum)"
    r"( (price|amount|net|gross|due|cost|incl\w*\.?( tax| vat)?))?|amount due",
    re.IGNORECASE,
)
_TAX = re.compile(r"(sales |value[- ]added )?tax|vat", re.IGNORECASE)
_PART = re.compile(rf"sub[ -]?total|{_TAX.pattern}", re.IGNORECASE)
_RATE = 30.0  # a tax up to this is a rate in percent rather than an amount
_NAME = re.compile(r"(^|[_.])((sub|grand)_?)?(total|tax|vat)$", re.IGNORECASE)


def _named(context: Context) -> dict[Place, str]:
    """Cell -> a defined name that calls it a total."""
    found: dict[Place, str] = {}
    first = next(iter(context.book.sheets), "")
    for name, tree in context.book.names.items():
        if isinstance(tree, Reference) and _NAME.search(name):
            area = context.area_of(tree, (first, 1, 1))
            if area is not None and area[1:3] == area[3:]:
                found[area[:3]] = name
    return found


def _marked(context: Context, sheet: Sheet, cell: Cell) -> bool:
    """Whether the word to the right of a cell says that it is calculated."""
    for beside in sheet.rows[cell.place[1]]:
        if beside.place[2] <= cell.place[2]:
            continue
        value = context.value(beside.place)
        if isinstance(value, float):
            return False
        if value in WORDS.values():
            return bool(value == WORDS["calc"])
    return False


def _label(context: Context, sheet: Sheet, cell: Cell) -> str:
    """The text to the left of a cell, with nothing but blanks between."""
    for before in reversed([c for c in sheet.rows[cell.place[1]] if c.place[2] < cell.place[2]]):
        value = context.value(before.place)
        if is_label(value):
            return without_unit(str(value)).strip(" :")
        if value not in (None, ""):
            return ""
    return ""


def is_total(context: Context, place: Place) -> bool:
    """Whether the text beside a cell calls it a total, a subtotal or a tax."""
    cell = context.book.cell(place)
    if cell is None:
        return False
    label = _label(context, context.book.sheets[place[0]], cell)
    return bool(_TOTAL.fullmatch(label) or _PART.fullmatch(label))


def _above(context: Context, sheet: Sheet, cell: Cell) -> list[Cell]:
    """The numbers above a cell, down from the last empty rows or text."""
    found: list[Cell] = []
    gap = 0
    for row in range(cell.place[1] - 1, 0, -1):
        above = sheet.cells.get((row, cell.place[2]))
        value = context.value(above.place) if above is not None else None
        if value == "" and above is not None and above.formula:
            continue  # a row that is prepared and not filled in
        if value in (None, ""):
            gap += 1
            if found or gap > _GAP:
                break
        elif above is None or not isinstance(value, float):
            break
        else:
            found.append(above)
    return found


def _is_rate(context: Context, sheet: Sheet, cell: Cell) -> bool:
    """Whether a number above a total is a share of it, such as 7 % of tax, and no amount."""
    value = context.value(cell.place)
    if cell.percent or abs(value) < 1:
        return True
    taxed = role_of(_label(context, sheet, cell)) in ("tax", "discount")
    return taxed and cell.typed and 0 < value <= _RATE


def _parts(context: Context, sheet: Sheet, above: list[Cell]) -> list[Cell]:
    """Of the amounts above a total the subtotals, and what stands below the last of them."""
    subtotals = [
        c for c in above if _PART.fullmatch(label := _label(context, sheet, c))
        and label.lower().startswith("sub")
    ]  # fmt: skip
    if not subtotals:
        return above
    last = max(c.place[1] for c in subtotals)
    return [c for c in above if c in subtotals or c.place[1] > last]


def _sum(context: Context, sheet: Sheet, cell: Cell, label: str) -> tuple[float, str] | None:
    """(what a total should show, why) by the cells above it; None where these do not say."""
    above = [c for c in _above(context, sheet, cell) if not _is_rate(context, sheet, c)]
    if _PART.fullmatch(label) and not label.lower().startswith("sub"):
        return None
    parts = above if _PART.fullmatch(label) else _parts(context, sheet, above)
    if not any(c.formula for c in parts):
        return None
    why = "the column above it"
    if len(parts) < len(above) or any(_PART.fullmatch(_label(context, sheet, c)) for c in parts):
        why = " + ".join(_label(context, sheet, c) or "an amount" for c in reversed(parts))
    right = 0.0
    for part in parts:
        value = context.value(part.place)
        lowers = value > 0 and role_of(_label(context, sheet, part)) == "discount"
        right += -value if lowers else value
    return right, why


def check(context: Context) -> Iterator[Finding]:
    """``typed over`` of single results."""
    names = _named(context)
    for sheet in context.book.sheets.values():
        if not any(cell.formula for cell in sheet.cells.values()):
            continue
        for cell in sheet.cells.values():
            if not cell.typed or not isinstance(cell.value, float):
                continue
            if len(sheet.rows[cell.place[1]]) > _WIDEST:
                continue
            label = _label(context, sheet, cell)
            calls_it = _TOTAL.fullmatch(label) or _PART.fullmatch(label)
            marked = _marked(context, sheet, cell)
            name = names.get(cell.place, "")
            if not (calls_it or marked or name):
                continue
            right = _sum(context, sheet, cell, label) if calls_it or name else None
            # A total that nothing feeds is a figure like others, unless it says what it is.
            if right is None and not (marked or name or _follows_a_formula(context, sheet, cell)):
                continue
            small = calls_it and _TAX.fullmatch(label) and abs(cell.value) <= _RATE
            if (cell.percent and not marked) or (small and not (marked or name)):
                continue  # a rate
            yield _typed_over(context, cell, label or name, right)


def _follows_a_formula(context: Context, sheet: Sheet, cell: Cell) -> bool:
    """Whether the cell right above is a part of the same sum and calculated."""
    above = sheet.cells.get((cell.place[1] - 1, cell.place[2]))
    return above is not None and bool(above.formula) and bool(
        _PART.fullmatch(_label(context, sheet, above))
    )  # fmt: skip


def _typed_over(
    context: Context, cell: Cell, label: str, right: tuple[float, str] | None
) -> Finding:
    value = cell.value
    effect = "it stays as it is whatever changes above it"
    severity, expected = "error", None
    if right is not None:
        expected, why = right
        effect = f"{why} gives {rounded(expected, 9)}"
        if expected:
            change = value / expected - 1
            side = "low" if change < 0 else "high"
            effect += f", so it reads {percent(change)} too {side}" if abs(change) > 5e-6 else ""
            if abs(change) <= 1e-9:
                severity = "warning"
                effect += " today, but it does not follow when that changes"
    elif label:
        followers = sum(
            any(area[0] == cell.place[0] and area[1:3] == cell.place[1:] for area in areas)
            for areas in map(list, map(context.values.areas_of, context.book.formulas()))
        )
        if followers:
            take = "formulas take" if followers > 1 else "formula takes"
            effect += f", and {followers} {take} it"
    return finding(
        "typed over",
        severity,
        cell.place,
        f"{label or 'The cell'} {rounded(value, 9)} is typed where a calculation belongs; "
        f"{effect}; restore the formula.",
        value=value,
        expected=expected,
    )
