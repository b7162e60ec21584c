"""Where the heading rows of a job list stand, and which columns they name."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from ...errors import WrongKind
from ..jobwords.meanings import Meaning, meaning
from ..jobwords.near_misses import meant_by_unit

__all__ = ["HEADING_WITHIN", "Headings", "find_headings", "known_columns"]


#: Rows in which the headings of a list must be found.
HEADING_WITHIN = 30
_SURELY = 3  # known headings that make a row one of headings, whatever stands further down
_FIGURES = re.compile(r"\s*[~<>]?\s*[0-9.,]*[0-9]")


class Headings(NamedTuple):
    """The heading rows: the first one's index, how many there are, and their joined cells."""

    at: int
    height: int
    cells: list[str]


def _text(cell: Any) -> str:
    return cell if isinstance(cell, str) else ""


def _meanings(cells: Sequence[str], own: tuple[tuple[str, str], ...]) -> list[Meaning | None]:
    found: list[Meaning | None] = []
    for cell in cells:
        try:
            found.append(meaning(cell, own) if cell.strip() else None)
        except WrongKind:
            found.append(None)
    return found


def known_columns(cells: Sequence[str], own: tuple[tuple[str, str], ...]) -> set[str]:
    """The columns that a row of headings names."""
    found = set()
    for m in _meanings(cells, own):
        if m is not None:
            of_unit = (meant_by_unit(m, name) for name in m.missed) if m.title.unit else ()
            found.add(m.column or next(filter(None, of_unit), ""))
    return found - {""}


def _joined(
    group: Sequence[str], row: Sequence[str], own: tuple[tuple[str, str], ...]
) -> list[str]:
    """A row of headings with the group headings above it."""
    cells = []
    for above, below in zip(group, row):  # noqa: B905 made equally long
        both = f"{above} {below}".strip()
        if above == below:  # merged over both rows
            cells.append(below)
        elif not above or not below or known_columns([both], own):
            cells.append(both)
        elif known_columns([below], own) and not (
            known_columns([above], own) or meaning(above).missed
        ):
            cells.append(below)
        else:
            cells.append(both)
    return cells


def find_headings(
    top: Sequence[Sequence[Any]],
    own_words: Mapping[str, str] | None = None,
    groups: Mapping[tuple[int, int], int] | None = None,
) -> Headings | None:
    """The heading row among the first rows of a list, with the row of group headings above it.

    Args:
        top: the first rows, raw cells.
        own_words: column -> the heading that the user says is it.
        groups: (row, column) of merged cells -> how many columns they span, both from 0; None where
            the list cannot tell, and a group spans the blanks to its right.

    Returns:
        None where no row has two known headings.
    """
    own = tuple((own_words or {}).items())
    best: tuple[int, int, Headings] | None = None
    for at, row in enumerate(top):
        if best is not None and best[0] >= _SURELY and _holds_figures(row):
            break  # a job: what follows belongs to the list, or is another one
        if sum(isinstance(cell, (int, float)) and not isinstance(cell, bool) for cell in row) > 2:
            continue
        cells = [_text(cell).strip() for cell in row]
        names = known_columns(cells, own)
        score = len(names)
        found = Headings(at, 1, cells)
        wide = [*cells, *[""] * (len(top[at - 1]) - len(cells))] if at else cells
        if at and (above := _group_cells(top[at - 1], wide, at - 1, groups)):
            joined = _joined(above, wide, own)
            more = known_columns(joined, own)
            if len(more) > score or (len(more) == score and score and more != names):
                score, found = len(more), Headings(at - 1, 2, joined)
        if score >= 2 and (best is None or score > best[0]):
            best = (score, at, found)
    return best[2] if best else None


def _holds_figures(row: Sequence[Any]) -> bool:
    figures = 0
    for cell in row:
        if isinstance(cell, str):
            figures += _FIGURES.match(cell) is not None
        else:
            figures += isinstance(cell, (int, float)) and not isinstance(cell, bool)
    return figures > 1


def _group_cells(
    row: Sequence[Any], below: Sequence[str], at: int, groups: Mapping[tuple[int, int], int] | None
) -> list[str]:
    """The group headings above each column; [] where the row has none."""
    cells = [_text(cell).strip() for cell in row]
    cells = [*cells, *[""] * (len(below) - len(cells))][: len(below)]
    filled = [cell for cell in cells if cell]
    if not filled or any(isinstance(cell, (int, float)) for cell in row):
        return []
    if groups is None:
        last = ""
        for index, cell in enumerate(cells):
            last = cell or last
            cells[index] = last
    else:
        for index, cell in enumerate([*cells]):
            for offset in range(1, groups.get((at, index), 1)):
                if index + offset < len(cells):
                    cells[index + offset] = cell
    return cells
