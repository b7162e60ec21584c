"""A job that runs after a document has loaded: it repairs our functions where they are #NAME?.

LibreOffice 7.4 takes an add-in's function in an .xlsx file only by its long programmatic name, but
files hold the plain one. Adding and removing any defined name makes Calc compile exactly the
cells again whose names it did not know; a defined name is compiled again when it is given its own
formula once more. Newer offices know the plain names: then nothing is unknown, and nothing is done.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import Any

import unohelper
from com.sun.star.lang import XServiceInfo
from com.sun.star.table import CellAddress
from com.sun.star.task import XJob

JOB = "org.hoppersheet.LoadJob"  # as in names.py; this file runs without the package

_SPREADSHEET = "com.sun.star.sheet.SpreadsheetDocument"
# com.sun.star.sheet.FormulaResult: VALUE + STRING + ERROR. A cell that was saved with a value
# shows that value until it is calculated, so an unknown name is not always an error yet.
_ANY_RESULT = 7
# An unknown name stays as it is in the file; one that is known reads ORG.HOPPERSHEET....
_UNKNOWN = "hopper_"
_KNOWN = "org.hoppersheet.functions."

#: First column and row, last column and row, from 0.
Area = tuple[int, int, int, int]
#: A box is read at once if it holds no more than so many times the cells that are asked for.
_LOOSE, _ANYWAY = 4, 20_000


def _is_unknown(formula: str) -> bool:
    text = formula.lower()
    return _UNKNOWN in text.replace(_KNOWN + _UNKNOWN, "")


def formula_areas(sheet: Any) -> list[Area]:
    """Where the formulas of a sheet stand."""
    return [
        (area.StartColumn, area.StartRow, area.EndColumn, area.EndRow)
        for area in sheet.queryFormulaCells(_ANY_RESULT).RangeAddresses
    ]


def boxes(areas: list[Area]) -> list[tuple[Area, list[Area]]]:
    """One box around all areas, or each alone where most of the box would be nothing.

    A call to the office takes as long for ten thousand cells as for one.
    """
    if not areas:
        return []
    lefts, tops, rights, bottoms = zip(*areas)  # noqa: B905
    around = min(lefts), min(tops), max(rights), max(bottoms)
    if _size(around) <= _LOOSE * sum(map(_size, areas)) + _ANYWAY:
        return [(around, areas)]
    return [(area, [area]) for area in areas]


def _size(area: Area) -> int:
    left, top, right, bottom = area
    return (right - left + 1) * (bottom - top + 1)


def read(sheet: Any, areas: list[Area], what: str) -> dict[Area, list[tuple[Any, ...]]]:
    """What the cells of some areas hold, row by row: ``"getDataArray"`` or the formulas."""
    found: dict[Area, list[tuple[Any, ...]]] = {}
    for around, inside in boxes(areas):
        rows = getattr(sheet.getCellRangeByPosition(*around), what)()
        for area in inside:
            left, top, right, bottom = area
            first, last = left - around[0], right - around[0] + 1
            found[area] = [
                row[first:last] for row in rows[top - around[1] : bottom - around[1] + 1]
            ]
    return found


def _formulas(document: Any) -> Iterator[str]:
    for sheet in document.Sheets:
        for rows in read(sheet, formula_areas(sheet), "getFormulaArray").values():
            for row in rows:
                yield from row


def _unknown_in_names(document: Any) -> list[Any]:
    """The defined names, of the document and of its sheets, whose formula holds one of ours."""
    scopes = [document.NamedRanges, *(sheet.NamedRanges for sheet in document.Sheets)]
    names = [scope.getByName(name) for scope in scopes for name in scope.getElementNames()]
    return [name for name in names if _is_unknown(name.getContent())]


def repair(document: Any) -> bool:
    """Make Calc know the functions that it left unknown; whether there were any."""
    names = _unknown_in_names(document)
    if not names and not any(map(_is_unknown, _formulas(document))):
        return False
    was_modified, undo = document.isModified(), document.UndoManager
    undo.lock()
    try:
        for name in names:
            name.setContent(name.getContent())
        passing = "hoppersheet_" + uuid.uuid4().hex
        document.NamedRanges.addNewByName(passing, "1", CellAddress(), 0)
        document.NamedRanges.removeByName(passing)
    finally:
        undo.unlock()
    document.calculate()
    if not was_modified:
        document.setModified(False)
    return True


class LoadJob(unohelper.Base, XJob, XServiceInfo):
    """Called with the loaded document on OnLoadFinished."""

    def __init__(self, context: Any) -> None:
        pass

    def execute(self, arguments: Any) -> tuple[Any, ...]:  # noqa: D102 XJob
        groups = {argument.Name: argument.Value for argument in arguments}
        environment = {item.Name: item.Value for item in groups.get("Environment") or ()}
        document = environment.get("Model")
        if document is not None and document.supportsService(_SPREADSHEET):
            repair(document)
        return ()

    def getImplementationName(self) -> str:  # noqa: D102 XServiceInfo
        return JOB

    def supportsService(self, name: str) -> bool:  # noqa: D102 XServiceInfo
        return name in self.getSupportedServiceNames()

    def getSupportedServiceNames(self) -> tuple[str, ...]:  # noqa: D102 XServiceInfo
        return (JOB, "com.sun.star.task.Job")


g_ImplementationHelper = unohelper.ImplementationHelper()
g_ImplementationHelper.addImplementation(LoadJob, JOB, (JOB, "com.sun.star.task.Job"))
