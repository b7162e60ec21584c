"""What changed between two versions of a workbook besides its cells' values, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ...cells.wording import counted
from ...workbook.book import Book
from ...workbook.formulas import Node, Place
from ..calls import cell_name
from ..checks.settings import calculation_settings
from ..currency_words import currency_in
from ..findings import in_ranges
from .alignment import Alignment

__all__ = ["of_book"]


def _comments(old: Book, new: Book, aligned: Alignment) -> Iterator[str]:
    """Comments that are new, gone, or say something else now."""
    for name, sheet in old.sheets.items():
        other = new.sheets.get(aligned.sheet(name))
        before = {
            place[1:]: text
            for at, text in sheet.settings.comments.items()
            if (place := aligned.place((name, *at))) is not None
        }
        now = other.settings.comments if other is not None else {}
        for at in sorted(before.keys() | now.keys()):
            texts = [" ".join(found.get(at, "").split()) for found in (before, now)]
            if texts[0] != texts[1]:
                cell = cell_name((aligned.sheet(name), *at))
                says = f"says {texts[1]!r} now" if texts[1] else "is gone"
                yield f"The comment on {cell} {says}" + (f", it said {texts[0]!r}" * bool(texts[0]))


def _currencies(old: Book, new: Book, aligned: Alignment) -> Iterator[str]:
    """Cells that show their amount in another currency now."""
    found: dict[tuple[str, str], list[Place]] = {}
    for cell in old.cells():
        style = cell.style.number_format
        place = aligned.place(cell.place)
        other = new.cell(place) if place is not None else None
        if other is None or place is None or other.style.number_format == style:
            continue
        shows = [currency_in(text) for text in (style, other.style.number_format)]
        if shows[0] != shows[1] and shows[1]:
            found.setdefault((shows[0], shows[1]), []).append(place)
    for (before, now), places in found.items():
        was = f", before in {before}" if before else ""
        yield f"{in_ranges(places)} {_is(len(places))} shown in {now} now{was}"


def of_book(
    old: Book, new: Book, aligned: Alignment, names: Mapping[str, tuple[str, str, Node]]
) -> Iterator[str]:
    """What changed besides cells."""
    was_called = aligned.old_sheet
    states = [{s.name: s.state for s in book.package.sheets} for book in (old, new)]
    words = {"hidden": "hidden", "veryHidden": "hidden from the menu too", "visible": "visible"}
    for name, state in states[1].items():
        before = states[0].get(was_called(name))
        if before is None and state != "visible":
            yield f"The added sheet {name!r} is {words.get(state, state)}"
        elif before is not None and before != state:
            yield f"The sheet {name!r} is {words.get(state, state)} now"
    for name, sheet in new.sheets.items():
        other = old.sheets.get(was_called(name))
        if other is None:
            continue
        rows = len(sheet.hidden_rows - other.hidden_rows)
        columns = len(sheet.hidden_columns - other.hidden_columns)
        for count, what in ((rows, "row"), (columns, "column")):
            if count:
                yield f"{counted(count, f'more {what}')} of {name!r} {_is(count)} hidden now"
    for name, (before, after, _) in names.items():
        yield f"The name {name!r} stands for {after}, it stood for {before}"
    for how, one, two in (("new", new, old), ("gone", old, new)):
        for name in one.names:
            if name not in two.names and not name.startswith("hopper_"):
                yield f"The name {name!r} is {how}: {one.name_texts[name]}"
    yield from _comments(old, new, aligned)
    yield from _currencies(old, new, aligned)
    settings = [calculation_settings(book) for book in (old, new)]
    for key in ("calcMode", "fullPrecision", "iterate"):
        values = [each.get(key) for each in settings]
        if values[0] != values[1]:
            now, was = (value or "as usual" for value in reversed(values))
            yield f"The setting {key} is {now}, it was {was}"


def _is(count: int) -> str:
    return "is" if count == 1 else "are"
