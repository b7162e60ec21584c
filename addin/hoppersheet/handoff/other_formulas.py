"""Calls outside of cells: in defined names, validations, conditional formats and table columns."""

from __future__ import annotations

import re

from ..workbook.addresses import row_column
from ..workbook.book import Book
from ..workbook.formulas import Node, Place, Word, parse, walk
from ..workbook.package import Package
from ..workbook.written_formulas import Formula, formulas, rewrite_each
from .translator import Translator

__all__ = ["left_formulas", "names_with_calls", "translate_others", "uses_name"]

#: Excel takes no longer formula in a validation, and no array typed into one (nor into a format).
_LONGEST_VALIDATION = 255


_OURS = re.compile(r"HOPPER_\w+", re.IGNORECASE)


def _calls(formula: Formula, kept: frozenset[str]) -> bool:
    """Whether a formula outside of cells names a function whose calls do not stay."""
    return formula.kind != "cell" and any(
        name.upper() not in kept for name in _OURS.findall(formula.text)
    )


def _seen_from(book: Book, formula: Formula) -> Place:
    """The cell that the relative references of a formula start from."""
    first = next(iter(book.sheets))
    if formula.kind == "table column":
        table = book.tables.get(formula.where.partition("[")[0].lower())
        if table is not None:
            return (table.sheet, table.first_row, table.first_column)
    sheet, _, area = formula.where.rpartition("!")
    corner = re.match(r"[A-Z]+[0-9]+", area)
    if sheet in book.sheets and corner:
        return (sheet, *row_column(corner[0]))
    return (first, 1, 1)


def _translated(translator: Translator, formula: Formula) -> str | None:
    """The formula in spreadsheet functions, None where there is none that may stand there."""
    place = _seen_from(translator.context.book, formula)
    new = translator.formula(place, parse(f"={formula.text}", place))
    if new is None or translator.frozen or set(_OURS.findall(new)) - translator.kept:
        return None
    if formula.kind in ("validation", "conditional format") and re.search(r"\{", new):
        return None
    if formula.kind == "validation" and len(new) > _LONGEST_VALIDATION:
        return None
    return new[1:]


def translate_others(package: Package, translator: Translator) -> tuple[int, list[str]]:
    """Rewrite, in memory, what can be written in spreadsheet functions.

    Returns:
        (number of formulas rewritten, the formulas that still call us).

    Raises:
        InputFileError: a part of the package is damaged.
    """
    changed = rewrite_each(
        package,
        lambda f: (_translated(translator, f) or f.text) if _calls(f, translator.kept) else f.text,
    )
    return len(changed), left_formulas(package, translator.kept)


def left_formulas(package: Package, kept: frozenset[str]) -> list[str]:
    """Formulas outside of cells that call us, but for functions of ``kept``, for people."""
    return sorted(f"{f.kind} {f.where}" for f in formulas(package) if _calls(f, kept))


def names_with_calls(book: Book, left: list[str]) -> set[str]:
    """Defined names, lower case, that still call us, directly or through other names."""
    found = {p.removeprefix("defined name ").lower() for p in left if p.startswith("defined name")}
    grown = bool(found)
    while grown:
        grown = False
        for key, tree in book.names.items():
            name = key.rpartition("!")[2]
            uses = {node.text.lower() for node in walk(tree) if isinstance(node, Word)}
            if name not in found and uses & found:
                found.add(name)
                grown = True
    return found


def uses_name(tree: Node, names: set[str]) -> bool:
    """Whether a formula takes one of these defined names."""
    return bool(names) and any(
        isinstance(node, Word) and node.text.lower() in names for node in walk(tree)
    )
