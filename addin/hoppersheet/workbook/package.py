"""An .xlsx or .xlsm: its sheets, names and cells, and new values put into it.

    book = Package("quote.xlsx")
    for sheet in book.sheets:
        for ref, cell in book.cells(sheet.name).items():
            print(sheet.name, ref, cell.formula, cell.value)

What a formula is to its neighbors (copies, tables, names) is in :mod:`.book`, on top of this.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property

from .archive import Archive
from .safe_xml import Element, elements
from .sheet_cells import Cell, Value, computed_cells, read_cells, read_values, shared_strings
from .sheet_edits import with_values, without_formulas
from .sheet_scan import SheetScan, scan_sheet

__all__ = ["DefinedName", "Package", "Sheet"]

_RELATION = "http://schemas.openxmlformats.org/officeDocument/2006/relationships id"
_RELATION_STRICT = "http://purl.oclc.org/ooxml/officeDocument/relationships id"


@dataclass(frozen=True)
class Sheet:
    """One worksheet: its name, its part, and ``"visible"``, ``"hidden"`` or ``"veryHidden"``."""

    name: str
    part: str
    state: str = "visible"


@dataclass(frozen=True)
class DefinedName:
    """A defined name, the formula it stands for (without ``=``), and its sheet if it has one."""

    name: str
    formula: str
    sheet: str | None = None


class Package(Archive):
    """The workbook at ``path``, as it was when it was opened.

    Raises:
        InputFileError: not a workbook of this kind, damaged, protected by a password, or made
            to exhaust the machine; one sentence that begins with the file's name.
    """

    def __init__(self, path: str | os.PathLike[str], data: bytes | None = None) -> None:
        super().__init__(path, data)
        self._scans: dict[str, SheetScan] = {}

    def replace(self, part: str, data: bytes) -> None:
        """Give a part new bytes; they reach a file with :meth:`save`."""
        super().replace(part, data)
        self._scans.pop(part, None)

    @cached_property
    def workbook_part(self) -> str:
        """Name of the part that lists the sheets, normally ``xl/workbook.xml``."""
        for kind, part in self.relations("").values():
            if kind == "officeDocument":
                if part.endswith(".bin"):
                    raise self._refused("is a binary workbook (.xlsb); save it as .xlsx")
                if part in self.parts:
                    return part
        raise self._refused("is a zip file, but not a workbook")

    @cached_property
    def sheets(self) -> list[Sheet]:
        """The worksheets in their order; chart sheets, which have no cells, are left out."""
        relations = self.relations(self.workbook_part)
        found = []
        known = False
        for element in self.elements(self.workbook_part):
            known |= element.tag == "sheets" and element.inside == ("workbook",)
            if element.tag != "sheet" or element.inside[-1:] != ("sheets",):
                continue
            values = element.attributes
            key = values.get(_RELATION) or values.get(_RELATION_STRICT) or ""
            kind, part = relations.get(key, ("", ""))
            if kind == "worksheet":
                found.append(Sheet(values.get("name", ""), part, values.get("state", "visible")))
        if not known:
            raise self._refused(f"the part {self.workbook_part} lists no sheets: not a workbook")
        return found

    @cached_property
    def unread_sheets(self) -> dict[str, str]:
        """Name -> kind of the tabs that are no worksheets, such as ``"macrosheet"``.

        A chart sheet holds no cells and is left out.
        """
        relations = self.relations(self.workbook_part)
        found = {}
        for element in self.elements(self.workbook_part):
            if element.tag == "sheet" and element.inside[-1:] == ("sheets",):
                values = element.attributes
                key = values.get(_RELATION) or values.get(_RELATION_STRICT) or ""
                kind = relations.get(key, ("nothing", ""))[0]
                if kind not in ("worksheet", "chartsheet"):
                    found[values.get("name", "")] = kind
        return found

    @cached_property
    def defined_names(self) -> list[DefinedName]:
        """The defined names; ``sheet`` is set for those that hold on one sheet only."""
        listed = self.elements(self.workbook_part)
        sheets = [e.attributes.get("name") for e in listed if e.tag == "sheet"]
        found = []
        for element in listed:
            if element.tag != "definedName":
                continue
            at = element.attributes.get("localSheetId", "")
            sheet = sheets[int(at)] if at.isdigit() and int(at) < len(sheets) else None
            found.append(DefinedName(element.attributes.get("name", ""), element.text, sheet))
        return found

    @cached_property
    def strings(self) -> list[str]:
        """The shared texts, in the order in which cells refer to them."""
        for kind, part in self.relations(self.workbook_part).values():
            if kind == "sharedStrings" and part in self.parts:
                with self.naming_file():
                    return shared_strings(self.xml(part), part)
        return []

    # --- cells ----------------------------------------------------------------------------

    def scan(self, sheet: str) -> SheetScan:
        """Where everything stands in the part of the sheet called ``sheet`` (KeyError if none)."""
        part = next((s.part for s in self.sheets if s.name == sheet), None)
        if part is None:
            raise KeyError(sheet)
        if part not in self._scans:
            with self.naming_file():
                self._scans[part] = scan_sheet(self.xml(part), part)
        return self._scans[part]

    def cells(self, sheet: str) -> dict[str, Cell]:
        """``{"A1": Cell}`` of every cell of a sheet that holds a value or a formula."""
        with self.naming_file():
            return read_cells(self.scan(sheet), self.strings)

    def surroundings(self, sheet: str) -> list[Element]:
        """Every element of a sheet's part that is no row: columns, validations, links, ..."""
        with self.naming_file():
            scan = self.scan(sheet)
            return elements(scan.surroundings, scan.part)

    def values(self, sheet: str) -> dict[str, Value]:
        """``{"A1": value}`` of every cell of a sheet that holds a value or a formula."""
        with self.naming_file():
            return read_values(self.scan(sheet), self.strings)

    def formula_cells(self, sheet: str) -> list[str]:
        """Every cell of a sheet with a formula or filled by an array formula, in file order."""
        with self.naming_file():
            return computed_cells(self.scan(sheet))

    def set_values(self, sheet: str, values: Mapping[str, Value]) -> int:
        """Store values in cells of a sheet, see :func:`~.sheet_edits.with_values`.

        Returns:
            The number of cells whose stored value was another one.
        """
        with self.naming_file():
            data, count = with_values(self.scan(sheet), self.strings, values)
        if count:
            self.replace_xml(self.scan(sheet).part, data)
        return count

    def freeze(self, sheet: str, refs: Collection[str]) -> None:
        """Take the formulas out of some cells, which keep their stored values."""
        scan = self.scan(sheet)
        self.replace_xml(scan.part, without_formulas(scan, refs))

    def copy(self) -> Package:
        """Another package with the same content, to change without changing this one."""
        other = Package(self.path, self._data)
        other._changed, other._added = dict(self._changed), list(self._added)
        return other
