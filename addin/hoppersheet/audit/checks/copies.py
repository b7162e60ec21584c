"""Columns of one formula: what was typed over, what is unlike its neighbors; typed numbers."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ...cells.numbers_in_text import shown
from ...workbook.book import Cell, Sheet
from ...workbook.evaluator import FormulaError, SizingCall, Unknown
from ...workbook.formulas import Array, Call, Literal, Node, Place, text_of, walk
from ..context import Context, percent
from ..findings import Finding, finding
from .values import said

_LEAST = 3  # copies of a formula that make a column of it
_SHOWN = 80  # characters of a formula in a message
_GAP = 1  # empty rows within a column


@dataclass
class _Block:
    """Cells below each other without a gap, and the formula that most of them share."""

    cells: list[Cell]
    form: str
    tree: Node

    def is_copy(self, cell: Cell) -> bool:
        return cell.form == self.form


def _blocks(sheet: Sheet) -> Iterator[_Block]:
    for cells in sheet.columns.values():
        block: list[Cell] = []
        for cell in [*cells, None]:
            if cell is not None and (not block or cell.place[1] - block[-1].place[1] <= 1 + _GAP):
                block.append(cell)
                continue
            found = _block(block)
            if found is not None:
                yield found
            block = [] if cell is None else [cell]


def _block(cells: list[Cell]) -> _Block | None:
    forms = Counter(cell.form for cell in cells if cell.form and not cell.array)
    if not forms:
        return None
    form, count = forms.most_common(1)[0]
    formulas = sum(forms.values())
    if count < _LEAST or count < 0.6 * formulas:
        return None
    tree = next(c.tree for c in cells if c.form == form)
    assert tree is not None
    first = next(i for i, c in enumerate(cells) if c.form == form)
    last = max(i for i, c in enumerate(cells) if c.form == form)
    # One cell beyond each end can belong to the column too: typed over, or changed.
    return _Block(cells[max(0, first - 1) : last + 2], form, tree)


def _lists(context: Context) -> dict[str, list[_Block]]:
    """Sheet -> its columns of formulas, on sheets that have to do with sizing."""
    return {
        name: found
        for name, sheet in context.book.sheets.items()
        if (found := list(_blocks(sheet)))
    }


def _rows_of_list(blocks: list[_Block]) -> Counter[int]:
    """Row -> in how many columns it holds a copy of the column's formula."""
    return Counter(c.place[1] for block in blocks for c in block.cells if block.is_copy(c))


def _would_be(context: Context, block: _Block, place: Place) -> Any:
    """What the column's formula would give in ``place``; None where it cannot be said."""
    try:
        value = context.values.evaluate(block.tree, place)
    except FormulaError as problem:
        return problem.code
    except (Unknown, RecursionError):
        return None
    return None if isinstance(value, list) else value


def _inside(block: _Block, at: int) -> bool:
    """Whether copies of the formula stand above and below."""
    return any(map(block.is_copy, block.cells[:at])) and any(
        map(block.is_copy, block.cells[at + 1 :])
    )


def _adds_up(context: Context, cell: Cell) -> bool:
    """Whether a formula takes several cells of its own column: a total, or a running sum."""
    column = cell.place[2]
    return any(
        area[0] == cell.place[0] and area[2] <= column <= area[4] and area[1:3] != area[3:]
        for area in context.values.areas_of(cell)
    )


def _takes_cell_above(block: _Block) -> bool:
    """A formula that continues from the row before has to begin with something else."""
    return re.search(r"R\[-1\]C\[0\]", block.form) is not None


def _effect(context: Context, cell: Cell, expected: Any) -> str:
    """What the difference does, as a clause."""
    value = context.value(cell.place)
    effect = context.effect_on_volume(cell.place, expected) if expected is not None else ""
    if effect:
        return effect
    if isinstance(value, float) and isinstance(expected, float):
        if value == expected:
            return "today both give the same"
        if expected:
            change = value / expected - 1
            return f"the cell is {percent(change)} too {'low' if change < 0 else 'high'}"
    if expected is None:
        return "the cell no longer follows from its inputs"
    return f"the cell shows {said(value)} instead of {said(expected)}"


def _copies(context: Context) -> Iterator[Finding]:
    for blocks in _lists(context).values():
        rows = _rows_of_list(blocks)
        for block in blocks:
            for at, cell in enumerate(block.cells):
                if block.is_copy(cell) or cell.spill or cell.array:
                    continue
                row_in_list = rows[cell.place[1]] > 0
                if not _inside(block, at) and (not row_in_list or _takes_cell_above(block)):
                    continue
                if cell.formula is None:
                    yield from _typed_over(context, block, cell)
                elif not _adds_up(context, cell) or _inside(block, at):
                    yield from _odd(context, block, cell)


def _typed_over(context: Context, block: _Block, cell: Cell) -> Iterator[Finding]:
    if not isinstance(cell.value, float) and not (
        isinstance(cell.value, str)
        and cell.value.strip()
        and (_gives_number(context, block) or _could_say(block, cell.value))
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
        f"{reason.said}; see that it is about this cell and holds"
        if excused
        else "restore the formula, or say in the sheet why not"
    )
    yield finding(
        "typed over",
        "error" if not excused else "note" if reason.stated else "warning",
        cell.place,
        f"{said(cell.value)} is typed where the column calculates ({shown('=' + text, 80)} would "
        f"give {said(expected)}); {_effect(context, cell, expected)}; {advice}.",
        value=cell.value,
        expected=expected,
    )


def _gives_number(context: Context, block: _Block) -> bool:
    return any(isinstance(context.value(c.place), float) for c in block.cells if block.is_copy(c))


def _could_say(block: _Block, text: str) -> bool:
    """Whether a typed text is one of those that the formula decides between, such as "pass"."""
    said_by_it = {n.value for n in walk(block.tree) if isinstance(n, Literal)}
    return text.strip().lower() in {t.lower() for t in said_by_it if isinstance(t, str)}


def _apart(one: str, other: str) -> tuple[str, str]:
    """Two formulas in quotes; of long ones the part from where they begin to differ."""
    at = next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), None)
    at = min(len(one), len(other)) if at is None else at
    start = max(0, at - 30) if max(len(one), len(other)) > _SHOWN else 0
    cut = "..." if start else ""
    return shown(cut + one[start:], _SHOWN), shown(cut + other[start:], _SHOWN)


def _odd(context: Context, block: _Block, cell: Cell) -> Iterator[Finding]:
    expected = _would_be(context, block, cell.place)
    usual = text_of(block.tree, cell.place)
    one, other = _apart(cell.formula or "", "=" + usual)
    yield finding(
        "odd formula",
        "error",
        cell.place,
        f"The formula {one} is unlike its neighbors, which have {other}; "
        f"{_effect(context, cell, expected)}; copy the column's formula "
        "here, or say in the sheet why this line differs.",
        formula=cell.formula,
        value=context.value(cell.place),
        expected=expected,
    )


# --- numbers inside calls -------------------------------------------------------------------

#: Functions whose numbers say how, not how much; None: all arguments from the second one on.
_COUNTS_ONLY = frozenset(
    ("INDEX", "MATCH", "VLOOKUP", "HLOOKUP", "ROUND", "ROUNDUP", "ROUNDDOWN", "CHOOSE", "LEFT",
     "RIGHT", "MID", "SMALL", "LARGE", "OFFSET", "SUBTOTAL", "AGGREGATE", "TEXT", "FIND", "SEARCH")
)  # fmt: skip
_NUMBER_TEXT = re.compile(r"\s*[+-]?[0-9.,]*[0-9][0-9.,]*\s*[a-zA-Z%]")


def _typed_numbers(node: Node) -> Iterator[str]:
    """Numbers typed below a node, outside of inner calls of our functions."""
    if isinstance(node, Literal):
        value = node.value
        if isinstance(value, float) and value not in (0.0, 1.0):
            yield f"{value:.15g}"
        elif isinstance(value, str) and _NUMBER_TEXT.match(value):
            yield repr(value)
    elif isinstance(node, Array):
        typed = [f"{v:.15g}" for row in node.rows for v in row if isinstance(v, float)]
        if typed:
            yield "{" + ", ".join(typed[:6]) + ("..." if len(typed) > 6 else "") + "}"
    elif isinstance(node, Call):
        if not node.sizes:
            for argument in node.arguments[: 1 if node.name in _COUNTS_ONLY else None]:
                yield from _typed_numbers(argument)
    else:
        for child in list(walk(node))[1:]:
            if isinstance(child, (Literal, Array)):
                yield from _typed_numbers(child)


_UNSEEN = "nobody who reads the sheet can see it"


def _moves(context: Context, call: SizingCall, argument: str) -> str:
    """What 10 % more of a typed number does to the call's result."""
    inputs = context.inputs(call)
    if inputs is None or not isinstance(inputs.values.get(argument), float):
        return _UNSEEN
    values = dict(inputs.values)
    try:
        before = inputs.function.function(*values.values())
        values[argument] *= 1.1
        after = inputs.function.function(*values.values())
    except Exception:  # a limit of the function is no concern here
        return _UNSEEN
    if not isinstance(before, float) or not before:
        return _UNSEEN
    change = (after / before - 1) * 100
    if abs(change) < 0.005:
        return _UNSEEN
    return f"{_UNSEEN}, and 10 % more of it moves the result by {change:+.3g} %"


def _in_calls(context: Context) -> Iterator[Finding]:
    for call in context.all_calls():
        for argument, node, _ in context.arguments(call):
            if argument.kind in ("choice", "text", "rest"):
                continue
            for typed in _typed_numbers(node):
                yield finding(
                    "number in formula",
                    "warning",
                    call.cell.place,
                    f"{typed} is typed into {call.name} as {argument.name}; "
                    f"{_moves(context, call, argument.name)}; put it into a cell of its own with "
                    "its unit and source, and refer to that.",
                    formula=call.cell.formula,
                    value=context.value(call.cell.place),
                )


def check(context: Context) -> Iterator[Finding]:
    """``typed over``, ``odd formula``, ``number in formula``."""
    yield from _copies(context)
    yield from _in_calls(context)
