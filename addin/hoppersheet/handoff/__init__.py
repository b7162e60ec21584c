"""A copy of a workbook that lives without the add-in.

``plain``: every call of ours becomes a formula of the spreadsheet's own functions, and the copy
goes on computing in any spreadsheet program. Where there is no such formula the call becomes its
value, shown for as long as the inputs are what they were, and a comment on the cell says so;
cells of prepared rows that are not in use have one comment for all that stand together.
``values``: every cell that calls us becomes its value and keeps its formula as text in a comment.
``with_functions``: the calls stay, and the workbook brings the functions along
(:mod:`hoppersheet.carried`); what cannot be carried becomes its value, as above.

Either way only these formulas change; the rest of the package stays as it is, byte for byte.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..audit import Progress as Progress
from ..audit import examine
from ..audit.context import Context
from ..carried.book import can_be_carried, carry, drop, functions_used
from ..carried.examination import bring_along
from ..cells.values import is_error
from ..workbook.book import Book, Cell, read_book
from ..workbook.comments import add_comments
from ..workbook.formulas import address
from ..workbook.names import make_plain
from ..workbook.package import Package
from ..workbook.safe_xml import escaped, spliced
from ..workbook.sheet_cells import ErrorText
from .other_formulas import left_formulas, names_with_calls, translate_others, uses_name
from .translator import Frozen, Translator, replaces

__all__ = ["HandedOff", "blocks", "hand_off", "hand_off_with_functions"]

_AUTHOR = "hoppersheet handoff"


@dataclass
class HandedOff:
    """What a handoff did.

    Attributes:
        plain: cells whose calls became formulas of the spreadsheet's own functions.
        frozen: ``"Sheet!A1"`` -> why a call in it became its value.
        others: formulas outside of cells (defined names, validations, conditional formats, table
            columns) that became ones of the spreadsheet's own functions.
        left: such places that still call our functions and show #NAME? without the add-in.
        carried: the functions that the workbook brings along.
        not_computed: ``"Sheet!A1"`` -> why the cell keeps the value that was stored.
        follows: the cells with calls of ours that follow from one of these.
    """

    plain: int = 0
    others: int = 0
    frozen: dict[str, str] = field(default_factory=dict)
    left: list[str] = field(default_factory=list)
    carried: list[str] = field(default_factory=list)
    replaced: list[str] = field(default_factory=list)
    not_computed: dict[str, str] = field(default_factory=dict)
    follows: list[str] = field(default_factory=list)


def _quiet(_what: str, _done: int, _total: int) -> None:
    """No progress wanted."""


def hand_off(
    book: str | os.PathLike[str],
    out: str | os.PathLike[str],
    *,
    values_only: bool = False,
    engine: str | None = None,
    progress: Progress = _quiet,
) -> HandedOff:
    """Write a copy of ``book`` to ``out`` that does not need the add-in.

    Args:
        book: an .xlsx or .xlsm; only read.
        out: the copy.
        values_only: every call becomes its value, instead of a formula where there is one.
        engine: what calculates the values, see :func:`hoppersheet.audit.fresh_values`.
        progress: told how far the work is.

    Raises:
        InputFileError: ``book`` cannot be read or ``out`` not written.
        HostError: the engine that was asked for is missing or fails.
    """
    source = read_book(Path(book), lambda what: progress(what, 0, 0))
    context = examine(source, engine, progress)
    package = Package(book)
    drop(package)  # no call of them is left
    report = HandedOff()
    _hand_off(source, context, package, report, values_only=values_only, progress=progress)
    package.save(out)
    return report


def hand_off_with_functions(
    book: str | os.PathLike[str],
    out: str | os.PathLike[str],
    *,
    engine: str | None = None,
    progress: Progress = _quiet,
) -> HandedOff:
    """Write a copy of ``book`` to ``out`` that brings the functions along which it calls.

    Stored values stay as they are; only what cannot be carried is computed, with ``engine``, and
    becomes its value.

    Raises:
        InputFileError: ``book`` cannot be read or ``out`` not written.
        HostError: the engine that was asked for is missing or fails.
    """
    package = Package(book)
    package.refuse_document_types()
    make_plain(package)
    used = functions_used(package)
    report = HandedOff(carried=[name for name in used if can_be_carried(name)])
    brought = bring_along(package)
    if not brought.older:
        report.replaced = list(brought.redefined)
    source = read_book(Path(book), lambda what: progress(what, 0, 0))
    kept = frozenset(report.carried)
    if len(kept) < len(used) or any(
        cell.tree is not None and replaces(cell.tree, kept) for cell in source.sizing_cells
    ):
        context = examine(source, engine, progress)
        _hand_off(source, context, package, report, kept=kept, progress=progress)
    carry(package, report.carried)
    package.save(out)
    return report


def _hand_off(
    source: Book,
    context: Context,
    package: Package,
    report: HandedOff,
    *,
    values_only: bool = False,
    kept: frozenset[str] = frozenset(),
    progress: Progress,
) -> None:
    """Replace the calls of our functions in ``package``, except those of ``kept``."""
    changes: dict[str, dict[str, str | None]] = {}
    notes: dict[str, dict[str, str]] = {}
    values: dict[str, dict[str, Any]] = {}
    idle: dict[str, set[tuple[int, int]]] = {}
    translator = Translator(context, kept)
    if values_only:
        report.left = left_formulas(package, kept)
    else:
        report.others, report.left = translate_others(package, translator)
    lost = names_with_calls(source, report.left)
    cells = source.sizing_cells
    _name_what_was_not_computed(context, cells, report)
    if kept:
        cells = [c for c in cells if c.tree and (replaces(c.tree, kept) or uses_name(c.tree, lost))]
    for done, cell in enumerate(cells):
        sheet, ref = cell.place[0], address(*cell.place[1:])
        formula, frozen = _new_formula(cell, translator, values_only, lost)
        changes.setdefault(sheet, {})[ref] = formula
        if frozen:
            report.frozen[f"{sheet}!{ref}"] = "; ".join(dict.fromkeys(f.why for f in frozen))
        else:
            report.plain += 1
        active = bool(context.calls.get(cell.place)) or cell.place in context.unread
        if frozen and active:
            notes.setdefault(sheet, {})[ref] = _note(cell, frozen, values_only)
        elif frozen:
            idle.setdefault(sheet, set()).add(cell.place[1:])
        _value_of(context, cell, values.setdefault(sheet, {}))
        if done % 200 == 0:
            progress("writing formulas", done, len(cells))
    for sheet, found in values.items():
        package.set_values(sheet, found)
    for sheet, new in changes.items():
        _rewrite(package, sheet, new)
    for sheet, unused in idle.items():
        for block in blocks(unused, wide=not values_only):
            ref = address(*block[:2])
            first = source.sheets[sheet].cells[block[:2]] if values_only else None
            notes.setdefault(sheet, {})[ref] = _idle_note(block, first)
    add_comments(package, notes, _AUTHOR)


def _name_what_was_not_computed(context: Context, cells: list[Cell], report: HandedOff) -> None:
    """A copy must not make a value look computed that was only taken as it stood there."""
    unknown = {**context.values.unknown, **context.unread}
    if not unknown:
        return
    followers = context.precedents.followers(unknown)
    named = {place: f"{place[0]}!{address(*place[1:])}" for place in (*unknown, *followers)}
    report.not_computed = {named[place]: why for place, why in unknown.items()}
    report.follows = [named[c.place] for c in cells if c.place in followers - unknown.keys()]


def _new_formula(
    cell: Cell, translator: Translator, values_only: bool, lost: set[str]
) -> tuple[str | None, list[Frozen]]:
    assert cell.formula is not None and cell.tree is not None
    if values_only:
        return None, [Frozen(cell.formula, "values were asked for")]
    if cell.array:
        return None, [Frozen(cell.formula, "an array formula has no equivalent")]
    if uses_name(cell.tree, lost):
        return None, [Frozen(cell.formula, "a call stands in a defined name and has no equivalent")]
    formula = translator.formula(cell.place, cell.tree)
    return formula, translator.frozen


def _note(cell: Cell, frozen: list[Frozen], values_only: bool) -> str:
    if values_only:
        return f"Value without the add-in. The formula was: {cell.formula}"
    first = "Frozen: this value no longer follows its inputs."
    if all(f.holds for f in frozen):
        first = (
            "Frozen: this is the result for the inputs at the time of the handoff. With other "
            "inputs the cell says that it needs the add-in, or shows #N/A."
        )
    unwatched = sorted({name for f in frozen for name in f.unwatched})
    if unwatched:
        first += f"\nChanges in {', '.join(unwatched)} are not noticed."
    if cell.array:
        first += f"\nThis holds for all of {cell.array}."
    reasons = "\n".join(dict.fromkeys(f"{f.call}: {f.why}." for f in frozen))
    return f"{first}\n{reasons}\nThe formula was: {cell.formula}"


def _idle_note(block: tuple[int, int, int, int], first: Cell | None) -> str:
    """For cells of prepared rows that show nothing yet; ``first``: its formula is kept."""
    top, left, bottom, right = block
    one = block[:2] == block[2:]
    area = address(top, left) if one else f"{address(top, left)}:{address(bottom, right)}"
    if first is not None:
        return f"{area}: values without the add-in. The first formula was: {first.formula}"
    return (
        f"Frozen: {area} cannot be worked out without the add-in. As soon as the row is filled in "
        f"{'the cell says' if one else 'these cells say'} so, or show #N/A; fill it in in the "
        "original workbook."
    )


def blocks(cells: set[tuple[int, int]], wide: bool = True) -> list[tuple[int, int, int, int]]:
    """Cells (row, column) as few rectangles (top, left, bottom, right) without gaps.

    ``wide``: of several columns where that can be.
    """
    left = sorted(cells, key=lambda cell: (cell[1], cell[0]))
    free = set(cells)
    found = []
    for row, column in left:
        if (row, column) not in free:
            continue
        bottom = row
        while (bottom + 1, column) in free:
            bottom += 1
        right = column
        while wide and all((r, right + 1) in free for r in range(row, bottom + 1)):
            right += 1
        free -= {(r, c) for r in range(row, bottom + 1) for c in range(column, right + 1)}
        found.append((row, column, bottom, right))
    return found


def _value_of(context: Context, cell: Cell, values: dict[str, Any]) -> None:
    """The fresh values of a cell, and of those that its array formula fills."""
    top, left, bottom, right = cell.filled
    for row in range(top, bottom + 1):
        for column in range(left, right + 1):
            value = context.value((cell.place[0], row, column))
            if is_error(value):
                value = ErrorText(value)
            values[address(row, column)] = "" if value is None else value


def _rewrite(package: Package, sheet: str, changes: dict[str, str | None]) -> None:
    """Put new formulas into cells; None takes the formula out and leaves the value."""
    scan = package.scan(sheet)
    texts = package.cells(sheet)
    edits: dict[tuple[int, int], bytes] = {}
    shared = set()
    for ref in changes:
        span = scan.cells[ref].formula
        if span is not None and span.attributes.get("t") == "shared":
            shared.add(span.attributes.get("si", ""))
    for ref, raw in scan.cells.items():
        span = raw.formula
        if span is None:
            continue
        new: str | None
        if ref in changes:
            new = changes[ref]
        elif span.attributes.get("t") == "shared" and span.attributes.get("si", "") in shared:
            new = f"={texts[ref].formula}"  # its neighbor no longer lends it the formula
        else:
            continue
        name = scan.data[span.start + 1 : span.end].split(b">")[0].split()[0].rstrip(b"/")
        text = b"" if new is None else b"<%b>%b</%b>" % (name, escaped(new[1:]), name)
        edits[span.start, span.end] = text
    package.replace_xml(scan.part, spliced(scan.data, edits))
