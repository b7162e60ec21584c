"""What somebody left blank beside its label: the name of a line, the freight of a quote."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ...cells.wording import rounded
from ...workbook.formulas import Place
from ..calls import places_of
from ..context import Context, cell_name
from ..findings import Finding, finding
from ..label_words import without_unit
from ..line_cells import Worked
from ..roles import role_of

__all__ = ["check"]

_MOST = 60  # cells of a range that a total may add up with its freight
_FIGURES = frozenset(("freight", "tax"))  # what a total adds beside the lines


def _names(context: Context) -> Iterator[Finding]:
    """Lines without a name, where the others have one."""
    usual: dict[str, Counter[int]] = {}
    named: list[tuple[Worked, Place]] = []
    for worked in context.worked:
        place, found = worked.line.place, worked.record.cells.get("job")
        if worked.line.job is not None or not context.is_quoted(worked.line):
            continue
        for cell in context.labels.beside(place) if found is None and worked.name else ():
            if context.value(cell.place) == worked.name:
                found = cell.place
                break
        if found is not None and found[0] == place[0]:
            at = found[1] if context.labels.sideways(place[0]) else found[2]
            usual.setdefault(place[0], Counter())[at] += 1
        named.append((worked, found or place))
    lines_on = Counter(worked.line.place[0] for worked, _ in named)
    for worked, found in named:
        sheet, row, column = worked.line.place
        counts = usual.get(sheet, Counter()).most_common(1)
        if not counts or 2 * counts[0][1] <= lines_on[sheet]:
            continue
        at = counts[0][0]
        place = (sheet, at, column) if context.labels.sideways(sheet) else (sheet, row, at)
        if found == place or context.value(place) not in (None, ""):
            continue
        sold = f", for {rounded(worked.net, 9)}," if worked.net else ""
        yield finding(
            "no name",
            "note",
            place,
            f"{cell_name(place)} is blank: the line in {cell_name(worked.line.place)}{sold} has no "
            "name, and the others have one; say what it is for.",
        )


def _labelled_blanks(context: Context) -> Iterator[tuple[Place, Place, str]]:
    """(blank cell, the formula that adds it, its label) on the way to the total."""
    total = context.money.total
    cell = context.book.cell(total) if total is not None else None
    follows = context.behind(cell) if cell is not None and cell.formula else None
    if follows is None:
        return
    seen: set[Place] = set()
    for at in sorted(follows[1]):
        adding = context.book.cell(at)
        if adding is None or (at != total and at not in context.of_several):
            continue
        for area in context.values.areas_of(adding):
            if (area[3] - area[1] + 1) * (area[4] - area[2] + 1) > _MOST:
                continue
            for place in places_of(area):
                if place in seen or context.value(place) not in (None, ""):
                    continue
                seen.add(place)
                blank = context.book.cell(place)
                label = context.labels.left_label(place)
                if (blank is None or not blank.formula) and role_of(label) in _FIGURES:
                    yield place, at, label


def _figures(context: Context) -> Iterator[Finding]:
    """Freight or tax that the total takes, and that nobody typed."""
    for place, adding, label in _labelled_blanks(context):
        cell = context.book.cell(adding)
        yield finding(
            "blank read as 0",
            "warning",
            place,
            f"{without_unit(label)!r} in {cell_name(place)} is blank, and {cell_name(adding)} adds "
            "it as 0; type the amount, or a 0 if there is none, so that nobody takes it for "
            "forgotten.",
            formula=cell.formula if cell is not None else None,
            cells=(place, adding),
        )


def check(context: Context) -> Iterator[Finding]:
    """``no name``, and ``blank read as 0`` of what the total adds."""
    yield from _names(context)
    yield from _figures(context)
