"""Columns of one formula: what was typed over, and what is unlike its neighbors."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from ...cells.numbers_in_text import shown
from ...cells.values import is_error
from ...workbook.book import Cell
from ...workbook.evaluator import FormulaError, Unknown
from ...workbook.formulas import (
    Binary,
    Call,
    Literal,
    Place,
    Reference,
    address,
    text_of,
    walk,
)
from ..context import Context, percent
from ..findings import Finding, finding
from .blocks import LEAST, Block, gap, in_line, lines_of_list, lists_of
from .values import value_text

_SHOWN = 80  # characters of a formula in a message
_WHOLE = 12  # formulas of a column in which a lone typed number stands out, whatever they are
_WHERE = {"column": "the column", "row": "the row", "sheets": "its sister sheets"}


def _would_be(context: Context, block: Block, place: Place) -> Any:
    """What the column's formula would give in ``place``; None where it cannot be said."""
    try:
        value = context.values.evaluate(block.tree, place)
    except FormulaError as problem:
        return problem.code
    except (Unknown, RecursionError):
        return None
    return None if isinstance(value, list) else value


def _inside(block: Block, at: int) -> bool:
    """Whether copies of the formula stand above and below."""
    return any(map(block.is_copy, block.cells[:at])) and any(
        map(block.is_copy, block.cells[at + 1 :])
    )


def _adds_up(context: Context, block: Block, cell: Cell) -> bool:
    """Whether a formula takes several cells of its own column: a total, or a running sum."""
    if block.axis == "sheets":
        return False
    sheet, row, column = cell.place
    for name, r1, c1, r2, c2 in context.values.areas_of(cell):
        inside = c1 <= column <= c2 if block.axis == "column" else r1 <= row <= r2
        if name == sheet and inside and (r1, c1) != (r2, c2):
            return True
    return False


def _another_item(context: Context, block: Block, cell: Cell) -> bool:
    """Whether a row of the list has nothing that the column's formula takes: it is no line.

    A dryer or a service between or below the lines has a price and no size; a subtotal has
    neither a price nor a quantity.
    """
    at = block.line(cell)
    if block.axis == "sheets" or any(
        line.call.place[0] == cell.place[0] and block.line_of(line.call.place) == at
        for line in context.lines
    ):
        return False
    own = [
        place
        for node in context.book.nodes(block.tree)
        if isinstance(node, Reference)
        for name, r1, c1, r2, c2 in [node.at(cell.place)]
        if (r1, c1) == (r2, c2) and context.book.sheet_of(name) == cell.place[0]
        for place in [(cell.place[0], r1, c1)]
        if block.line_of(place) == at
    ]
    return bool(own) and all(context.value(place) in (None, "") for place in own)


def _takes_cell_above(block: Block) -> bool:
    """A formula that continues from the line before has to begin with something else."""
    before = r"R\[-1\]C\[0\]" if block.axis == "column" else r"R\[0\]C\[-1\]"
    return re.search(before, block.form) is not None


def _effect(context: Context, cell: Cell, expected: Any) -> str:
    """What the difference does, as a clause."""
    value = context.value(cell.place)
    effect = context.effect_on_volume(cell.place, expected) if expected is not None else ""
    if effect:
        return effect
    if value == expected:
        return "today both give the same"
    if isinstance(value, float) and isinstance(expected, float) and expected:
        change = value / expected - 1
        return f"the cell is {percent(change)} too {'low' if change < 0 else 'high'}"
    if expected is None:
        return "the cell no longer follows from its inputs"
    return f"the cell shows {value_text(value)} instead of {value_text(expected)}"


def _copies(context: Context, blocks: list[Block]) -> Iterator[Finding]:
    lines = lines_of_list(blocks)
    for block in blocks:
        yield from _emptied(context, block, lines)
        for at, cell in enumerate(block.cells):
            if block.is_copy(cell) or cell.spill or cell.array:
                continue
            in_list = in_line(lines, block, cell.place) > 0
            inside = block.axis == "sheets" or _inside(block, at)
            if not inside and (not in_list or _takes_cell_above(block)):
                continue
            adds_up = cell.formula is not None and _adds_up(context, block, cell)
            if (cell.formula is None or adds_up) and _another_item(context, block, cell):
                continue
            if cell.formula is None:
                yield from _typed_over(context, block, cell, in_line(lines, block, cell.place))
            elif (not adds_up or inside) and not _another_catalog(context, block, cell):
                yield from _odd(context, block, cell)


def _emptied(context: Context, block: Block, lines: Counter[object]) -> Iterator[Finding]:
    """Blank cells between copies of a formula, in lines that are filled in elsewhere."""
    if block.axis == "sheets":
        return
    known = {place for record in context.records for place in record.blank.values()}
    usual = max(lines.values(), default=0)
    for before, after in pairwise(block.cells):
        if gap(before, after, block.axis) != 2 * block.step - 1 or not (
            block.is_copy(before) and block.is_copy(after)
        ):
            continue
        sheet, row, column = before.place
        step = block.step
        place = (
            (sheet, row + step, column) if block.axis == "column" else (sheet, row, column + step)
        )
        copies = in_line(lines, block, place)
        if copies < LEAST or 2 * copies <= usual or place in known:
            continue
        expected = _would_be(context, block, place)
        counts = expected not in (None, "")
        text = shown("=" + text_of(block.tree, place), _SHOWN)
        yield finding(
            "typed over",
            "error" if counts else "warning",
            place,
            f"The cell is blank where {_WHERE[block.axis]} calculates ({text} would give "
            f"{value_text(expected)}); what relies on it counts it as nothing; restore the "
            "formula.",
            expected=expected,
        )


def _lone(context: Context, name: str) -> Iterator[Cell]:
    """A number typed in a column that otherwise holds formulas only, each perhaps of its own."""
    sideways = context.labels.sideways(name)
    for cells in context.book.sheets[name].columns.values():
        typed = [
            at for at, cell in enumerate(cells) if cell.typed and isinstance(cell.value, float)
        ]
        if len(typed) != 1 or not 0 < typed[0] < len(cells) - 1:
            continue
        at = typed[0]
        lone, before, after = cells[at], cells[at - 1], cells[at + 1]
        near = [cell for cell in cells[max(0, at - _WHOLE) : at + _WHOLE + 1] if cell.formula]
        if (
            len(near) >= _WHOLE
            and before.formula is not None
            and after.formula is not None
            and after.place[1] - before.place[1] == 2
            and not context.labels.left_label(lone.place)
            and not (sideways and context.labels.role(lone.place))
        ):
            yield lone


def _alone(cell: Cell) -> Finding:
    value = value_text(cell.value)
    return finding(
        "typed over",
        "error",
        cell.place,
        f"{value} is typed where the column holds formulas only; the cell no longer follows "
        "from its inputs; restore the formula, or state the reason in the sheet.",
        value=cell.value,
    )


def _typed_over(context: Context, block: Block, cell: Cell, copies: int) -> Iterator[Finding]:
    if not isinstance(cell.value, float) and not (
        isinstance(cell.value, str)
        and cell.value.strip()
        and (
            _gives_number(context, block)
            or _could_say(block, cell.value)
            or _another_model(context, block, cell)
            or (copies >= LEAST and _says_another(context, block, cell))
        )
    ):
        return
    if isinstance(cell.value, str) and cell.value.strip()[-1:] == ":":
        return  # a subheading between lines
    expected = _would_be(context, block, cell.place)
    text = text_of(block.tree, cell.place)
    reason = context.labels.reason_in_row(cell.place)
    # What somebody typed as the reason for a size can be meant; a rule that a formula names
    # cannot, and of no other cell does anybody know whether the reason is about it.
    chosen = any(line.chosen == cell.place for line in context.lines)
    excused = chosen and reason.typed
    advice = (
        f"{reason.clause}; see that it is about this cell and holds"
        if excused
        else "restore the formula, or state the reason in the sheet"
    )
    yield finding(
        "typed over",
        "error" if not excused else "note" if reason.stated else "warning",
        cell.place,
        f"{value_text(cell.value)} is typed where {_WHERE[block.axis]} "
        f"calculate{'' if block.axis == 'sheets' else 's'} ({shown('=' + text, 80)} would "
        f"give {value_text(expected)}); {_effect(context, cell, expected)}; {advice}.",
        value=cell.value,
        expected=expected,
    )


def _another_model(context: Context, block: Block, cell: Cell) -> bool:
    """Whether a typed text is a line's model that no catalog tells to be wrong."""
    if context.labels.role(cell.place) != "model":
        return False
    expected = _would_be(context, block, cell.place)
    if not isinstance(expected, str) or is_error(expected) or expected == "":
        return False
    return expected == cell.value or any(
        record.cells.get("model") == cell.place
        and (record.line.listed is None or not record.line.listed.models)
        for record in context.records
    )


def _says_another(context: Context, block: Block, cell: Cell) -> bool:
    """Whether a text is typed where a page's column would say something of the line."""
    if context.labels.role(cell.place) == "model" or any(
        cell.place in record.places for record in context.records
    ):
        return False
    expected = _would_be(context, block, cell.place)
    return isinstance(expected, str) and expected != "" and not is_error(expected)


def _gives_number(context: Context, block: Block) -> bool:
    return any(isinstance(context.value(c.place), float) for c in block.cells if block.is_copy(c))


def _could_say(block: Block, text: str) -> bool:
    """Whether a typed text is one of those that the formula decides between, such as "pass"."""
    literals = {n.value for n in walk(block.tree) if isinstance(n, Literal)}
    return text.strip().lower() in {t.lower() for t in literals if isinstance(t, str)}


def _apart(one: str, other: str) -> tuple[str, str]:
    """Two formulas in quotes; of long ones the part from where they begin to differ."""
    at = next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), None)
    at = min(len(one), len(other)) if at is None else at
    start = max(0, at - 30) if max(len(one), len(other)) > _SHOWN else 0
    cut = "..." if start else ""
    return shown(cut + one[start:], _SHOWN), shown(cut + other[start:], _SHOWN)


def _another_catalog(context: Context, block: Block, cell: Cell) -> bool:
    """Whether a formula is a copy that takes another catalog, as the line worked out again knows.

    Lines that take one list of several are told together by the checks of the catalog.
    """
    catalogs = context.catalogs
    if len(catalogs.all) < 2 or cell.tree is None:
        return False
    own, usual = list(walk(cell.tree)), list(walk(block.tree))
    if len(own) != len(usual):
        return False
    others = 0
    for one, other in zip(own, usual, strict=True):
        if one == other:
            continue
        areas = [context.area_of(node, cell.place) for node in (one, other)]
        lists = [catalogs.list_of(area) for area in areas if area is not None]
        if type(one) is not type(other):
            return False
        if len(lists) == len(areas):
            if None in lists or lists[0] == lists[1]:
                return False
            others += 1
        elif not isinstance(one, (Call, Binary)):
            return False
    return others > 0


def _odd(context: Context, block: Block, cell: Cell) -> Iterator[Finding]:
    expected = _would_be(context, block, cell.place)
    usual = text_of(block.tree, cell.place)
    one, other = _apart(cell.formula or "", "=" + usual)
    yield finding(
        "odd formula",
        "error",
        cell.place,
        f"The formula {one} is unlike its neighbors, which have {other}; "
        f"{_effect(context, cell, expected)}; copy the formula of {_WHERE[block.axis]} here, or "
        "state in the sheet why this line differs.",
        formula=cell.formula,
        value=context.value(cell.place),
        expected=expected,
    )


def check(context: Context) -> Iterator[Finding]:
    """``typed over``, ``odd formula``."""
    found_already: set[str] = set()
    for blocks in lists_of(context):
        for found in _copies(context, blocks):
            found_already.add(f"{found.sheet}!{found.cell}")
            yield found
    for name in context.book.sheets:
        for cell in _lone(context, name):
            if f"{name}!{address(*cell.place[1:])}" not in found_already:
                yield _alone(cell)
