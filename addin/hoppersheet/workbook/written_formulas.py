"""Every formula that is written in a package, and changing them there.

Cells, defined names, data validations, conditional formats (also those of the 2009 extension)
and the column formulas of tables.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from .package import Package
from .safe_xml import escaped, spliced, start_tag_end, walk

__all__ = ["Formula", "formulas", "rewrite", "rewrite_each"]

#: Tags that hold a formula as their text, in a sheet (with x14: and xm: ones), the workbook
#: part and a table part.
_SHEET_TAGS = frozenset(("f", "formula", "formula1", "formula2"))
_OTHER_TAGS = frozenset(("definedName", "calculatedColumnFormula", "totalsRowFormula"))
_VALUE = re.compile(rb"""\sval\s*=\s*("[^"]*"|'[^']*')""")


@dataclass(frozen=True)
class Formula:
    """One formula as it is written.

    Attributes:
        kind: ``"cell"``, ``"defined name"``, ``"validation"``, ``"conditional format"`` or
            ``"table column"``.
        where: for people, such as ``"Sizing!B7"`` or the name.
        text: without ``=``. Cells that share a formula show it once, in the first of them.
    """

    kind: str
    where: str
    text: str


@dataclass(frozen=True)
class _Written:
    formula: Formula
    start: int
    end: int
    quote: bytes = b""  # what stands around an attribute's value


class _Finder:
    """Collects the formulas of one part."""

    def __init__(self, data: bytes, owner: str, tags: frozenset[str]) -> None:
        self.data, self.owner, self.tags = data, owner, tags
        self.found: list[_Written] = []
        self.kind = self.where = ""
        self.opened: tuple[str, int] | None = None
        self.texts: list[str] = []

    def start(self, tag: str, attributes: dict[str, str], at: int) -> None:
        area = attributes.get("sqref", "")
        if tag == "c":
            self.kind, self.where = "cell", f"{self.owner}!{attributes.get('r', '?')}"
        elif tag == "dataValidation":
            self.kind, self.where = "validation", f"{self.owner}!{area}".rstrip("!")
        elif tag == "conditionalFormatting":
            self.kind, self.where = "conditional format", f"{self.owner}!{area}".rstrip("!")
        elif tag == "definedName":
            self.kind, self.where = "defined name", attributes.get("name", "")
        elif tag == "tableColumn":
            self.kind = "table column"
            self.where = f"{self.owner}[{attributes.get('name', '')}]"
        elif tag == "cfvo" and attributes.get("val"):
            self._value(attributes["val"], at)
        if tag in self.tags:
            self.opened, self.texts = (tag, at), []

    def _value(self, text: str, at: int) -> None:
        """The limit of a color scale, data bar or icon set may be a formula."""
        match = _VALUE.search(self.data, at, start_tag_end(self.data, at))
        if match:
            formula = Formula(self.kind, self.where, text)
            self.found.append(_Written(formula, match.start(1), match.end(1), match[1][:1]))

    def text(self, text: str) -> None:
        if self.opened is not None:
            self.texts.append(text)

    def end(self, tag: str, at: int) -> None:
        if self.opened is None or tag != self.opened[0]:
            return
        text, start = "".join(self.texts), self.opened[1]
        if text:
            formula = Formula(self.kind, self.where, text)
            self.found.append(_Written(formula, start_tag_end(self.data, start), at))
        self.opened = None


def _parts(package: Package) -> Iterator[tuple[str, str, frozenset[str]]]:
    """Part, whose it is, and the tags that hold formulas in it."""
    yield package.workbook_part, "", _OTHER_TAGS
    for sheet in package.sheets:
        yield sheet.part, sheet.name, _SHEET_TAGS
        for kind, part in package.relations(sheet.part).values():
            if kind == "table":
                yield part, _table_name(package, part), _OTHER_TAGS


def _table_name(package: Package, part: str) -> str:
    table = package.elements(part)[0].attributes
    return table.get("displayName") or table.get("name") or part


def _written(package: Package, part: str, owner: str, tags: frozenset[str]) -> list[_Written]:
    data = package.xml(part)
    finder = _Finder(data, owner, tags)
    with package.naming_file():
        walk(data, part, finder.start, finder.end, finder.text)
    return finder.found


def formulas(package: Package) -> list[Formula]:
    """Every formula of the package.

    Raises:
        InputFileError: a part is damaged.
    """
    return [
        found.formula
        for part, owner, tags in _parts(package)
        for found in _written(package, part, owner, tags)
    ]


def rewrite(
    package: Package, change: Callable[[str], str], kind: str | None = None
) -> list[tuple[Formula, str]]:
    """Put ``change(text)`` for every formula (or only those of ``kind``), in memory.

    Returns:
        The formulas that changed, each with its new text. Parts without one stay as they are,
        and in the others no other byte changes.

    Raises:
        InputFileError: a part is damaged.
    """
    return rewrite_each(package, lambda f: change(f.text) if kind in (None, f.kind) else f.text)


def rewrite_each(package: Package, change: Callable[[Formula], str]) -> list[tuple[Formula, str]]:
    """As :func:`rewrite`, with what is known of each formula."""
    changed = []
    for part, owner, tags in _parts(package):
        edits = {}
        for found in _written(package, part, owner, tags):
            new = change(found.formula)
            if new != found.formula.text:
                edits[found.start, found.end] = _xml(new, found.quote)
                changed.append((found.formula, new))
        if edits:
            package.replace_xml(part, spliced(package.xml(part), edits))
    return changed


def _xml(text: str, quote: bytes) -> bytes:
    if not quote:
        return escaped(text)
    inside = escaped(text).replace(quote, b"&quot;" if quote == b'"' else b"&apos;")
    return quote + inside + quote
