"""Whether shares are by volume or by mass, as the sheet says: in the line, a heading or a title.

A formula may have its basis typed in, or take none; what stands around it then says what the
recipe means: a cell that reads "mass" and that no formula takes, a remark in the line, a title
such as "Two halls; shares by mass".
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from ..workbook.formulas import Place
from .calls import cell_name
from .label_words import stated_basis
from .roles import role_of

if TYPE_CHECKING:
    from .sized_lines import SizedLines

__all__ = ["BasisStated", "StatedBases"]

_RECIPE = (
    r"(shares?|recipes?|formulations?|blend\w*|mix\w*|percent\w*|%|parts|ratios?|regrind|anteile?|"
    r"mischung\w*|rezept\w*|proporci\w*|mezcla\w*|proportions?|m[\u00e9e]lange\w*)"
)
_BASIS = r"(mass|weight|wt\b|vol(ume|\.)?|masse|gewicht|volumen|masa|peso|volumen|poids)"
#: A text that says by what the shares of a recipe are.
_SAYS = re.compile(
    rf"(?<!\w){_RECIPE}(?!\w)[^.;?]*\b(by|in|per|nach|in|por|en) {_BASIS}"
    rf"|\b{_BASIS}[- ]*(based )?(?<!\w){_RECIPE}(?!\w)",
    re.IGNORECASE,
)
#: It says so only under a condition, or asks.
_OPEN = re.compile(r"\?|\b(not|never|unless|if|when|where|or|whether|oder|o|ou)\b", re.IGNORECASE)
_WORDS = 3  # of a cell that says nothing else: "by mass", "wt %"


@dataclass(frozen=True)
class BasisStated:
    """A basis that the sheet states.

    Attributes:
        says: where: ``"'mass' in Offer!E5"``.
        for_formulas: a cell of the line, which its formula could take.
    """

    basis: str
    place: Place
    says: str
    for_formulas: bool = False


@lru_cache(maxsize=4096)
def _in_sentence(text: str) -> str:
    """The basis of the shares that a sentence or title states, ``""``."""
    return stated_basis(text) if _SAYS.search(text) and not _OPEN.search(text) else ""


@lru_cache(maxsize=4096)
def _alone(text: str) -> str:
    """The basis where a cell says that and nothing else, ``""``."""
    if len(text.split()) > _WORDS or not re.match(rf"(by |in |per |nach )?{_BASIS}", text, re.I):
        return ""
    return stated_basis(text)


class StatedBases:
    """What a workbook says of the basis of its shares besides its formulas."""

    def __init__(self, context: SizedLines) -> None:
        self.context = context
        self._titles: dict[str, list[tuple[Place, str]]] = {}
        self._of_row: dict[tuple[str, int, int], BasisStated | None] = {}
        self._settings: list[tuple[Place, str]] | None = None

    def of(self, shares: Place, *places: Place) -> BasisStated | None:
        """The basis stated for shares: by their heading, in their line or the lines of ``places``,
        in a title, or in a setting."""
        found = self.by_heading([shares])
        for place in (shares, *places):
            found = found or self._in_line(place)
        for place in (shares, *places):
            found = found or self._by_title(place)
        return found or self._by_setting()

    def by_heading(self, shares: Iterable[Place]) -> BasisStated | None:
        """The basis that the heading of one of these cells states."""
        for place in shares:
            if basis := stated_basis(self.context.labels.label(place)):
                return BasisStated(basis, place, f"the heading of {cell_name(place)}")
        return None

    def _in_line(self, place: Place) -> BasisStated | None:
        labels = self.context.labels
        key = labels.line_of(place)
        if key not in self._of_row:
            self._of_row[key] = self._only(
                (cell.place, _alone(text) or _in_sentence(text))
                for cell in labels.beside(place)
                if isinstance(text := self.context.value(cell.place), str) and not cell.sizes
                if labels.role(cell.place) not in ("job", "resin", "model")
            )
        return self._of_row[key]

    def _by_title(self, place: Place) -> BasisStated | None:
        """The nearest title above; where all titles of the sheet agree, any of them."""
        name = place[0]
        if name not in self._titles:
            lines = {self.context.labels.line_of(line.place) for line in self.context.lines}
            self._titles[name] = [
                (cell.place, basis)
                for cell in self.context.book.sheets[name].cells.values()
                if cell.typed and isinstance(cell.value, str)
                if (basis := _in_sentence(cell.value))
                if self.context.labels.line_of(cell.place) not in lines
            ]
        titles = self._titles[name]
        above = [] if self.context.labels.sideways(name) else [
            title for title in titles if title[0][1] < place[1]
        ]  # fmt: skip
        nearest = max((title[0][1] for title in above), default=0)
        return self._only(
            (title for title in above if title[0][1] == nearest) if above else titles, "the text"
        )

    def _by_setting(self) -> BasisStated | None:
        """A typed cell called share basis, of no line, for the whole workbook."""
        if self._settings is None:
            self._settings = [
                (cell.place, basis)
                for cell in self.context.book.cells()
                if cell.typed and isinstance(cell.value, str) and (basis := _alone(cell.value))
                if role_of(self.context.labels.left_label(cell.place)) == "share basis"
            ]
        return self._only(self._settings)

    def _only(self, found: Iterable[tuple[Place, str]], what: str = "") -> BasisStated | None:
        """What all of these say; None where two disagree, or none says anything."""
        stated = [(place, basis) for place, basis in found if basis]
        if len({basis for _, basis in stated}) != 1:
            return None
        place, basis = min(stated)
        says = what or repr(str(self.context.value(place)).strip())
        return BasisStated(basis, place, f"{says} in {cell_name(place)}", not what)
