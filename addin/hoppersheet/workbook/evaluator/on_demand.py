"""Formulas in order: each cell is worked out when another asks for it."""

from __future__ import annotations

from typing import Any

from ..addresses import reference
from ..book import Book, Cell
from ..formulas import Place
from .reader import Reader
from .values import Unknown

__all__ = ["Circle", "OnDemand"]

#: Cells that may be worked out inside each other; each takes some 15 levels of Python's stack.
_DEEPEST = 30


class _Deeper(Exception):
    """A cell has to be worked out before what asks for it, because too many are under way."""

    def __init__(self, cell: Cell) -> None:
        super().__init__()
        self.cell = cell


class Circle(Exception):
    """A cell was asked for while it was being worked out."""

    def __init__(self, cell: Cell, asking: Cell | None) -> None:
        place = cell.place if asking is None else asking.place
        through = "" if place == cell.place else f" through {place[0]}!{reference(*place[1:])}"
        super().__init__(f"a circle: it follows from itself{through}")
        self.cell = cell


class OnDemand(Reader):
    """A reader that works each cell out once, when it is asked for.

    A formula that takes a cell without a value has it worked out inside itself; so all formulas
    come in order without anybody knowing beforehand what they take. Where too many are inside each
    other, all of them are given up; the innermost is worked out by itself, then the ones that wait
    for it: a chain of thousands of cells needs no stack of that depth.

    Attributes:
        values: what is known so far, by place.
    """

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.values: dict[Place, Any] = {}
        #: cells that are being worked out, inside each other
        self._open: set[Place] = set()
        #: cells that were given up and wait for the ones behind them
        self._waiting: dict[Place, Cell] = {}

    def calculated(self, cell: Cell) -> Any:
        """The value of a cell's formula."""
        raise NotImplementedError

    def refused(self, cell: Cell, why: str) -> None:
        """Note that a cell cannot be worked out and give it another value, or raise Unknown."""
        raise NotImplementedError

    def settle(self, wanted: Cell) -> None:
        """Give a cell with a formula its value, if it has none yet."""
        if wanted.place in self.values:
            return
        if self._open:
            if wanted.place in self._open or wanted.place in self._waiting:
                raise Circle(wanted, self._cell)
            if len(self._open) >= _DEEPEST:
                raise _Deeper(wanted)
            self._work_out(wanted)
            return
        waiting = self._waiting
        waiting[wanted.place] = wanted
        try:
            while waiting:
                place, cell = next(reversed(waiting.items()))
                try:
                    if place not in self.values:
                        self._work_out(cell)
                    del waiting[place]
                except _Deeper as more:
                    waiting[more.cell.place] = more.cell
                except Circle as found:
                    self.refused(found.cell, str(found))
        finally:
            waiting.clear()

    def _work_out(self, cell: Cell) -> None:
        self._open.add(cell.place)
        try:
            self.values[cell.place] = self.calculated(cell)
        except Unknown as problem:
            self.refused(cell, str(problem))
        except RecursionError:
            if len(self._open) > 1:  # by itself it may be not too deep
                raise _Deeper(cell) from None
            self.refused(cell, "a formula nested too deeply")
        finally:
            self._open.discard(cell.place)
