"""What a sheet holds besides its cells: hidden columns, merges, validations, links, comments."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from ..errors import InputFileError
from .addresses import COLUMNS, area_of
from .package import Package
from .package import Sheet as SheetPart
from .sheet_scan import NARROW_COLUMN, size_of

__all__ = ["ConditionalFormat", "SheetSettings", "Validation", "comments_of", "settings_of"]

#: First row and column, last row and column.
Box = tuple[int, int, int, int]


@dataclass(frozen=True)
class Validation:
    """What may be typed into some cells.

    Attributes:
        kind: ``"list"``, ``"decimal"``, ``"custom"``, ...
        formulas: without ``=``; one or two.
    """

    areas: tuple[Box, ...]
    kind: str
    formulas: tuple[str, ...]


@dataclass(frozen=True)
class ConditionalFormat:
    """One rule by which cells change their looks.

    Attributes:
        areas: the cells.
        kind: ``"expression"``, ``"cellIs"``, ``"top10"``, ...
        operator: of a ``"cellIs"``, such as ``"lessThan"``.
        formulas: without ``=``, as for the first cell of the areas; none for some kinds.
        look: which look of the workbook it gives (:func:`~.styles.looks_of`), None for none.
    """

    areas: tuple[Box, ...]
    kind: str
    operator: str
    formulas: tuple[str, ...]
    look: int | None


@dataclass
class SheetSettings:
    """What a sheet holds besides its cells.

    Attributes:
        hidden_columns: numbers of columns that are hidden, or too narrow for a sign.
        folded_columns: numbers of columns that are folded away in a group, whose plus sign shows.
        links: cell -> what a click on it opens.
        comments: cell -> text of its comment.
        filters: ranges with a filter that is set, so that it may hide rows; with their headings.
    """

    hidden_columns: set[int] = field(default_factory=set)
    folded_columns: set[int] = field(default_factory=set)
    merged: list[Box] = field(default_factory=list)
    validations: list[Validation] = field(default_factory=list)
    conditional_formats: list[ConditionalFormat] = field(default_factory=list)
    filters: list[Box] = field(default_factory=list)
    links: dict[tuple[int, int], str] = field(default_factory=dict)
    comments: dict[tuple[int, int], str] = field(default_factory=dict)


def _rule(areas: tuple[Box, ...], values: Mapping[str, str]) -> ConditionalFormat:
    look = values.get("dxfId", "")
    return ConditionalFormat(
        areas,
        values.get("type", ""),
        values.get("operator", ""),
        (),
        int(look) if look.isdecimal() else None,
    )


def _areas(text: str) -> tuple[Box, ...]:
    return tuple(_readable(text.split()))


def _readable(texts: Iterable[str]) -> Iterator[Box]:
    for text in texts:
        try:
            yield area_of(text)
        except InputFileError:
            continue  # a whole row or column, or damage; nothing is taken from it


def settings_of(package: Package, sheet: SheetPart) -> SheetSettings:
    """What a sheet holds besides its cells.

    Raises:
        InputFileError: a part is damaged.
    """
    found = SheetSettings()
    relations = package.relations(sheet.part)
    boxes: tuple[Box, ...] = ()
    rule: tuple[tuple[Box, ...], str, list[str]] | None = None
    for element in package.surroundings(sheet.name):
        values, tag = element.attributes, element.tag
        narrow = tag == "col" and size_of(values.get("width"), NARROW_COLUMN) < NARROW_COLUMN
        if narrow or (tag == "col" and values.get("hidden") in ("1", "true")):
            ends = values.get("min", ""), values.get("max", "")
            if all(end.isdecimal() for end in ends):
                folded = values.get("outlineLevel", "0") not in ("", "0")
                which = found.folded_columns if folded else found.hidden_columns
                which.update(range(int(ends[0]), min(int(ends[1]), COLUMNS) + 1))
        elif tag == "mergeCell":
            found.merged += _areas(values.get("ref", ""))
        elif tag == "autoFilter":
            boxes = _areas(values.get("ref", ""))
        elif tag == "filterColumn":
            found.filters += boxes
        elif tag == "dataValidation":
            rule = (_areas(values.get("sqref", "")), values.get("type", "none"), [])
            found.validations.append(Validation(rule[0], rule[1], ()))
        elif tag in ("formula1", "formula2") and rule is not None:
            rule[2].append(element.text)
            found.validations[-1] = Validation(rule[0], rule[1], tuple(rule[2]))
        elif tag == "conditionalFormatting":
            boxes = _areas(values.get("sqref", ""))
        elif tag == "cfRule":
            found.conditional_formats.append(_rule(boxes, values))
        elif tag in ("formula", "f") and element.inside[-1:] == ("cfRule",):
            one = found.conditional_formats[-1]
            found.conditional_formats[-1] = replace(one, formulas=(*one.formulas, element.text))
        elif tag == "sqref" and element.inside[-1:] == ("dataValidation",):
            # in the extension of 2009 the cells stand behind the formulas
            last = found.validations[-1]
            found.validations[-1] = Validation(_areas(element.text), last.kind, last.formulas)
        elif tag == "sqref" and element.inside[-1:] == ("conditionalFormatting",):
            found.conditional_formats = [
                one if one.areas else replace(one, areas=_areas(element.text))
                for one in found.conditional_formats
            ]
        elif tag == "hyperlink":
            key = next((v for k, v in values.items() if k.endswith(" id")), "")
            target = relations.get(key, ("", ""))[1] or values.get("location", "")
            for box in _areas(values.get("ref", "")):
                found.links[box[:2]] = target
    for kind, part in relations.values():
        if kind == "table" and part in package.parts:
            for element in package.elements(part):
                if element.tag == "autoFilter":
                    boxes = _areas(element.attributes.get("ref", ""))
                elif element.tag == "filterColumn":
                    found.filters += boxes
    found.comments = comments_of(package, sheet)
    return found


def comments_of(package: Package, sheet: SheetPart) -> dict[tuple[int, int], str]:
    """Cell -> text of its comment."""
    found: dict[tuple[int, int], str] = {}
    for kind, part in package.relations(sheet.part).values():
        if kind == "comments" and part in package.parts:
            for element in package.elements(part):
                if element.tag == "comment":
                    for box in _areas(element.attributes.get("ref", "")):
                        found[box[:2]] = element.text
    return found
