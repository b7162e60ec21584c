"""What became of each line of the quote between two versions, in one sentence per line."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from ...cells.wording import rounded, with_unit
from ...workbook.formulas import Place
from ..context import Context, cell_name, percent
from ..lines import Line
from .shown import money_text

__all__ = ["LineMoved", "change", "hours_held", "lines_gone", "lines_moved", "price_of"]

_PRICE = re.compile(r"\bprice\b|\btotal\b|\bamount\b", re.IGNORECASE)
_OTHERS_PRICE = re.compile(r"\blist\b|below|next|alternative|difference", re.IGNORECASE)


@dataclass(frozen=True)
class LineMoved:
    """A line of the quote whose required volume, size, hours held or price moved.

    Attributes:
        sheet, cell: its required volume in the new workbook.
        because_of: the changed cells that did it.
    """

    line: str
    sheet: str
    cell: str
    message: str
    because_of: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


def change(old: Any, new: Any) -> str:
    """``"+3.03 %"``, ``""`` where there is none to say."""
    if isinstance(old, float) and isinstance(new, float) and old:
        return f"{'+' if new > old else '-'}{percent(new / old - 1)}"
    return ""


def _moved(what: str, old: str, new: str, step: str = "") -> str:
    return f"{what} {old} -> {new}" + (f" ({step})" if step else "")


def hours_held(context: Context, line: Line) -> Place | None:
    """The cell that says how long the chosen size holds the resin."""
    for use in context.uses.get(line.chosen, []) if line.chosen is not None else ():
        place = use.call.cell.place
        if use.call.name == "HOPPER_HELD_HOURS" and place[:2] == line.place[:2]:
            return place
    return None


def price_of(context: Context, line: Line) -> Place | None:
    """The last price or amount in a line's row: what the customer pays for it."""
    found = None
    for cell in context.book.sheets[line.place[0]].rows.get(line.place[1], []):
        heading = context.labels.heading(cell.place)
        if _PRICE.search(heading) and not _OTHERS_PRICE.search(heading):
            found = cell.place if isinstance(context.value(cell.place), float) else found
    return found


def _short(line: Line) -> float:
    """How much a chosen size is too small, 0 where it is not."""
    if line.chosen_volume is None or line.chosen_volume >= line.required * (1 - 1e-9):
        return 0.0
    return 1 - line.chosen_volume / line.required


class _Pair:
    """A line in the old and in the new workbook."""

    def __init__(self, old: Context, new: Context, before: Line, after: Line) -> None:
        self.old, self.new, self.before, self.after = old, new, before, after
        self.parts: list[str] = []
        self.same: list[str] = []
        #: what moved, in the new workbook
        self.places: list[Place] = []

    def compare(self) -> str:
        """The clause that says what moved, ``""`` where nothing did."""
        a, b = self.before, self.after
        if abs(b.required - a.required) > 1e-9 * a.required:
            old, new = (with_unit(x.required, "volume", x.system) for x in (a, b))
            step = change(a.required, b.required)
            self.parts.append(_moved("required volume", old, new, step))
            self.places.append(b.place)
        if a.chosen_size is not None and b.chosen_size is not None and b.chosen is not None:
            old, new = (
                with_unit(x or 0, "volume", b.system) for x in (a.chosen_size, b.chosen_size)
            )
            if abs(b.chosen_size - a.chosen_size) > 1e-9 * a.chosen_size:
                self.parts.append(_moved("size", old, new))
                self.places.append(b.chosen)
            else:
                self.same.append("size")
        self._cells("hours held", hours_held, lambda value: rounded(value, 3))
        self._cells("price", price_of, money_text)
        if not self.parts:
            return ""
        change_text = ", ".join(self.parts)
        if "size" in self.same:
            change_text += f"; {' and '.join(w for w in self.same if w != 'hours held')} unchanged"
        short, was = _short(b), _short(a)
        if short and was:
            change_text += f"; still short, by {percent(short)} (was {percent(was)})"
        elif short:
            change_text += f"; now {percent(short)} short"
        elif was:
            change_text += f"; no longer short (was {percent(was)})"
        return change_text

    def _cells(
        self,
        what: str,
        finder: Callable[[Context, Line], Place | None],
        words: Callable[[float], str],
    ) -> None:
        before, after = finder(self.old, self.before), finder(self.new, self.after)
        if before is None or after is None:
            return
        old, new = self.old.value(before), self.new.value(after)
        if not isinstance(old, float) or not isinstance(new, float):
            return
        if abs(new - old) <= 1e-9 * max(abs(old), abs(new)):
            self.same.append(what)
            return
        self.parts.append(_moved(what, words(old), words(new)))
        self.places.append(after)


def lines_gone(old: Context, gone: Mapping[Place, str]) -> Iterator[LineMoved]:
    """Lines of the old workbook that the new one does not have; the cell is one of the old."""
    for line in old.quoted:
        if line.place in gone:
            name, cell = old.name_of(line), cell_name(line.place)
            called = f"{name!r} in {cell}" if name else cell
            yield LineMoved(
                name, line.place[0], cell.rpartition("!")[2],
                f"{called} of the old workbook is gone.", (),
            )  # fmt: skip


def lines_moved(
    old: Context,
    new: Context,
    back: Callable[[Place], Place | None],
    why: Callable[[Place], tuple[str, tuple[str, ...]]],
) -> Iterator[LineMoved]:
    """Every line of the quote that moved or is new.

    Args:
        old, new: the two workbooks.
        back: place in the new workbook -> place in the old one.
        why: place in the new workbook -> (what moved it, the cells that did).
    """
    known = {line.place: line for line in old.lines}
    for line in new.quoted:
        place = back(line.place)
        before = known.get(place) if place is not None else None
        name = new.name_of(line)
        called = f"{name!r} in {cell_name(line.place)}" if name else cell_name(line.place)
        if before is None:
            if place is not None:
                continue  # its formula is new, which is said of the cell
            size = line.chosen_size
            chosen = f", size {with_unit(size, 'volume', line.system)}" if size else ""
            required = with_unit(line.required, "volume", line.system)
            yield LineMoved(
                name, line.place[0], cell_name(line.place).rpartition("!")[2],
                f"{called} is new: required volume {required}{chosen}.", (),
            )  # fmt: skip
            continue
        pair = _Pair(old, new, before, line)
        change_text = pair.compare()
        if not change_text:
            continue
        reasons: dict[str, tuple[str, ...]] = {}
        for moved in pair.places:
            text, cells = why(moved)
            if text:
                reasons.setdefault(text, cells)
                break
        text, cells = next(iter(reasons.items()), ("", ()))
        yield LineMoved(
            name, line.place[0], cell_name(line.place).rpartition("!")[2],
            f"{called}: {change_text}{': ' if text else ''}{text}.", cells,
        )  # fmt: skip
