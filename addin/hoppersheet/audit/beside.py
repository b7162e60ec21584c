"""What a workbook holds besides its cells, which no check looks at: it is told, never passed over.

Where cells can be filled from there (pivot tables, outside data), a result may follow from it, so
the audit is not complete; a chart, a colored cell or a text box shows and changes no number.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from ..cells.wording import counted
from ..workbook.book import Book
from ..workbook.formulas import Call, Word, walk

if TYPE_CHECKING:
    from ..workbook.package import Package

__all__ = ["Beside", "beside"]


@dataclass(frozen=True)
class Beside:
    """One kind of thing that was not looked at.

    Attributes:
        kind: such as ``"chart"``.
        count: how many there are.
        where: the sheets, none where it is of the workbook.
        fills_cells: whether it can put values into cells.
    """

    kind: str
    count: int
    where: tuple[str, ...] = ()
    fills_cells: bool = False

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)

    @property
    def wording(self) -> str:
        """``"3 charts on 'Quote'"``."""
        sheets = ", ".join(repr(name) for name in self.where[:3])
        more = f" and {counted(len(self.where) - 3, 'more sheet')}" if len(self.where) > 3 else ""
        return counted(self.count, self.kind) + (f" on {sheets}{more}" if sheets else "")


#: Kind of relation of a sheet or drawing -> (what it is, whether it fills cells).
_RELATIONS = {
    "pivotTable": ("pivot table", True),
    "queryTable": ("outside data table", True),
    "chart": ("chart", False),
    "chartEx": ("chart", False),
    "ctrlProp": ("form control", True),
    "control": ("form control", True),
    "slicer": ("slicer", False),
}
#: Kind of relation of the workbook -> the same.
_OF_WORKBOOK = {
    "vbaProject": ("VBA macro project", False),
    "connections": ("outside data connection", True),
}
_TEXT_BOX = re.compile(rb"<(?:\w+:)?txBody\b.*?</(?:\w+:)?txBody>", re.DOTALL)
_SHOWN_TEXT = re.compile(rb"<(?:\w+:)?t\b[^>]*>[^<]*[^<\s][^<]*<")


def _of_sheet(package: Package, part: str) -> Iterator[tuple[str, bool]]:
    for kind, other in package.relations(part).values():
        if kind in _RELATIONS:
            yield _RELATIONS[kind]
        elif kind == "table" and other in package.parts:
            yield from _of_sheet(package, other)
        elif kind == "drawing" and other in package.parts:
            yield from _of_sheet(package, other)
            for box in _TEXT_BOX.findall(package.xml(other)):
                if _SHOWN_TEXT.search(box):
                    yield "text box", False


def _rules(book: Book) -> Iterator[tuple[str, str, bool]]:
    for kind, name, texts in _rule_texts(book):
        if any(map(_names_a_cell, texts)):
            yield kind, name, False
    for name in book.sheets:
        for element in book.package.surroundings(name):
            if element.tag == "scenario":
                yield "scenario", name, True


def _names_a_cell(formula: str) -> bool:
    """Whether a rule is more than a fixed number or list of words."""
    return bool(re.search(r"[A-Za-z_]", re.sub(r'"(?:[^"]|"")*"', "", formula)))


def _unused_names(book: Book) -> list[str]:
    """Defined names that no formula, rule or other name uses; ours are functions that travel."""
    wanted = {key for key in book.names if not key.rpartition("!")[2].startswith("hopper_")}
    if not wanted:
        return []
    used: set[str] = set()
    forms = {cell.form: cell.tree for cell in book.formulas() if cell.tree is not None}
    for tree in (*forms.values(), *book.names.values()):
        for node in walk(tree):
            if isinstance(node, Word):
                used.add(node.text.lower().rpartition("!")[2])
            elif isinstance(node, Call):  # a name that is a LAMBDA
                used.add(node.name.lower())
    texts = [text for _, _, formulas in _rule_texts(book) for text in formulas]
    texts += [
        book.package.xml(part).decode("utf-8", "replace")
        for part in book.package.parts if "/charts/" in part and part.endswith(".xml")
    ]  # fmt: skip
    for text in texts:
        used.update(word.lower() for word in re.findall(r"[^\W\d][\w.\\]*", text))
    return sorted(key for key in wanted if key.rpartition("!")[2] not in used)


def _rule_texts(book: Book) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """(what it is, sheet, its formulas) of each rule beside the cells."""
    for name, sheet in book.sheets.items():
        for rule in sheet.settings.validations:
            yield "data validation", name, tuple(rule.formulas)
        for format_ in sheet.settings.conditional_formats:
            if format_.formulas:
                yield "conditional format", name, format_.formulas


def beside(book: Book) -> list[Beside]:
    """Everything of a workbook that is no cell, and that no check looks at.

    Raises:
        InputFileError: a part is damaged.
    """
    package = book.package
    counts: Counter[str] = Counter()
    where: dict[str, dict[str, None]] = {}
    fills: dict[str, bool] = {}

    def note(kind: str, sheet: str, filling: bool) -> None:
        counts[kind] += 1
        fills[kind] = fills.get(kind, False) or filling
        if sheet:
            where.setdefault(kind, {})[sheet] = None

    for sheet in package.sheets:
        for kind, filling in _of_sheet(package, sheet.part):
            note(kind, sheet.name, filling)
    for kind, name, filling in _rules(book):
        note(kind, name, filling)
    for name, in_book in book.sheets.items():
        for text in in_book.settings.comments.values():
            if re.search(r"[^\W\d_]{3}", text):  # its numbers are compared, its words are not read
                note("worded comment", name, False)
    for relation, _ in package.relations(package.workbook_part).values():
        if relation in _OF_WORKBOOK:
            note(_OF_WORKBOOK[relation][0], "", _OF_WORKBOOK[relation][1])
    for _ in _unused_names(book):
        note("unused defined name", "", False)
    return [Beside(kind, n, tuple(where.get(kind, ())), fills[kind]) for kind, n in counts.items()]
