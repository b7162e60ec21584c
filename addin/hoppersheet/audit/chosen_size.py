"""Which of several cells holds the size that was chosen for a line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from ..workbook.formulas import Place

__all__ = ["CHOSEN_RULES", "Candidate", "chosen_of"]


@dataclass
class Candidate:
    """A cell that may hold the size chosen for a line.

    Attributes:
        role: what its heading says, such as ``"chosen size"``.
        readers: what takes it for the size: ``"model"``, ``"list price"``, ``"held hours"``, or a
            function that judges a size.
        typed: somebody typed it.
        given_by: the function that gives it: HOPPER_NEXT_SIZE, HOPPER_SIZE_BELOW, or "".
    """

    place: Place
    role: str = ""
    readers: set[str] = field(default_factory=set)
    typed: bool = False
    given_by: str = ""


#: What makes a cell the chosen size, in the order in which the rules are tried.
CHOSEN_RULES: tuple[tuple[str, Callable[[Candidate], bool]], ...] = (
    ("its heading says that it was chosen", lambda c: c.role == "chosen size"),
    (
        "the line's model or price is that of this size",
        lambda c: not c.readers.isdisjoint(("model", "list price")),
    ),
    (
        "a size typed under a heading that says size",
        lambda c: c.typed and c.role in ("size", "next size"),
    ),
    (
        "something else is judged by it, and it is no alternative",
        lambda c: bool(c.readers) and not c.given_by,
    ),
    ("a plain size of the line", lambda c: c.role == "size"),
    ("the next size, where nothing else is chosen", lambda c: c.given_by == "HOPPER_NEXT_SIZE"),
    ("a cell called next size", lambda c: c.role == "next size"),
    ("the size below, where nothing else stands", lambda c: c.given_by == "HOPPER_SIZE_BELOW"),
)


def chosen_of(candidates: list[Candidate]) -> Candidate | None:
    """The chosen size among the candidates: by the first rule that any of them meets.

    Of several the typed one, then one that decides between alternatives and is none itself, then
    the one that more takes.
    """
    for _, rule in CHOSEN_RULES:
        found = [candidate for candidate in candidates if rule(candidate)]
        if found:
            return min(
                found,
                key=lambda c: (
                    not c.typed, bool(c.given_by), c.given_by == "HOPPER_SIZE_BELOW",
                    -len(c.readers), c.place,
                ),
            )  # fmt: skip
    return None
