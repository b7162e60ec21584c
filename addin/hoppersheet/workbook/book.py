"""A workbook as a whole: every cell with its formula's tree, its stored value and its style.

    book = read_book(Path("quote.xlsx"))
    for cell in book.formulas():
        print(cell.place, cell.formula, cell.value)

The one model of a workbook: audit, evaluator and handoff look at it. It is read from the
:class:`~.package.Package`, which also writes; a range that an array formula fills is marked, so
that its cells are not taken for typed ones.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any

from ..hosts.calc.names import SERVICE
from .addresses import area_of, cells_of, row_column
from .copies import relative_form
from .formulas import Call, Node, Place, Word, address, parse, tree_of, walk
from .package import Package
from .package import Sheet as SheetPart
from .several_sheets import SEVERAL, sheet_by_sheet
from .sheet_settings import SheetSettings, settings_of
from .styles import PLAIN, Style, styles_of
from .tables import Table, tables_of

__all__ = ["Book", "Cell", "Sheet", "book_of", "read_book"]


class Cell:
    """One cell.

    Attributes:
        value: stored value; None where nothing is stored. An error is its text.
        formula: with its ``=``, or None for a typed cell.
        form: the formula relative to its cell (see :func:`.copies.relative_form`).
        spill: "" or the address of the array formula that fills this cell.
        style: how the cell is shown.
    """

    __slots__ = ("array", "dynamic", "form", "formula", "place", "spill", "style", "tree", "value")

    def __init__(
        self, place: Place, value: Any, formula: str | None = None, style: Style = PLAIN
    ) -> None:
        self.place = place
        self.value = value
        self.formula = formula
        self.style = style
        self.spill = ""
        #: the range an array formula fills, or ""
        self.array = ""
        #: whether that range is as large as the result (it spills), not one that somebody chose
        self.dynamic = False
        self.form = ""
        self.tree: Node | None = None
        if formula is not None:
            self.form = relative_form(formula, place[1], place[2])
            self.tree = tree_of(formula, self.form, place)

    @property
    def typed(self) -> bool:
        """Whether somebody typed the value."""
        return self.formula is None and not self.spill and self.value is not None

    @property
    def filled(self) -> tuple[int, int, int, int]:
        """First row and column, last row and column that the cell's formula fills."""
        _, row, column = self.place
        return area_of(self.array) if self.array else (row, column, row, column)

    @property
    def percent(self) -> bool:
        """Whether the cell is shown as a percentage."""
        return self.style.percent

    @property
    def sizes(self) -> bool:
        """Whether the formula calls one of our functions."""
        return self.formula is not None and "HOPPER_" in self.formula.upper()


@dataclass
class Sheet:
    """One worksheet.

    Attributes:
        hidden_rows, thin_rows: numbers of rows that are hidden, or too low to be read.
        settings: what it holds besides its cells.
    """

    name: str
    hidden: bool = False
    cells: dict[tuple[int, int], Cell] = field(default_factory=dict)
    hidden_rows: set[int] = field(default_factory=set)
    thin_rows: set[int] = field(default_factory=set)
    settings: SheetSettings = field(default_factory=SheetSettings)
    max_row: int = 0
    max_column: int = 0

    @property
    def hidden_columns(self) -> set[int]:
        """Numbers of the columns that are not shown."""
        return self.settings.hidden_columns

    @property
    def unseen_rows(self) -> set[int]:
        """Numbers of the rows that nobody sees: hidden, or too low to be read."""
        return self.hidden_rows | self.thin_rows

    @cached_property
    def anchors(self) -> dict[str, Cell]:
        """Address -> cell of every array formula."""
        return {address(*c.place[1:]): c for c in self.cells.values() if c.array}

    @cached_property
    def filtered_rows(self) -> set[int]:
        """Numbers of the rows that a filter hides."""
        return {
            row
            for row in self.hidden_rows
            if any(top < row <= bottom for top, _, bottom, _ in self.settings.filters)
        }

    @cached_property
    def columns(self) -> dict[int, list[Cell]]:
        """Column number -> its cells from top to bottom."""
        found: dict[int, list[Cell]] = {}
        for (_, column), cell in sorted(self.cells.items()):
            found.setdefault(column, []).append(cell)
        return found

    @cached_property
    def rows(self) -> dict[int, list[Cell]]:
        """Row number -> its cells from left to right."""
        found: dict[int, list[Cell]] = {}
        for (row, _), cell in sorted(self.cells.items()):
            found.setdefault(row, []).append(cell)
        return found


@dataclass
class Book:
    """A workbook.

    Attributes:
        sheets: name -> sheet, in the order of the tabs.
        names: defined name, lower case (``"sheet!name"`` for one of a sheet) -> its tree.
        tables: name, lower case -> table.
        external: what the workbook says of other workbooks it reads from.
        unread: tabs that are no worksheets, and what they are.
        package: the file that it was read from.
    """

    package: Package
    sheets: dict[str, Sheet] = field(default_factory=dict)
    names: dict[str, Node] = field(default_factory=dict)
    name_texts: dict[str, str] = field(default_factory=dict)
    tables: dict[str, Table] = field(default_factory=dict)
    external: list[str] = field(default_factory=list)
    unread: dict[str, str] = field(default_factory=dict)
    #: form of a formula -> the functions that it calls
    _functions: dict[str, frozenset[str]] = field(default_factory=dict, repr=False)

    @cached_property
    def day_0(self) -> datetime:
        """The day from which its dates are counted."""
        from .sheet_rows import day_0

        return day_0(self.package)

    @property
    def path(self) -> Path:
        """Where the workbook is."""
        return self.package.path

    def cell(self, place: Place) -> Cell | None:
        """The cell in ``place``, or None where it is empty."""
        sheet = self.sheets.get(place[0])
        return None if sheet is None else sheet.cells.get((place[1], place[2]))

    def cells(self) -> Iterator[Cell]:
        """Every cell that holds something."""
        for sheet in self.sheets.values():
            yield from sheet.cells.values()

    def formulas(self) -> Iterator[Cell]:
        """Every cell with a formula."""
        return (cell for cell in self.cells() if cell.formula is not None)

    @cached_property
    def sizing_cells(self) -> list[Cell]:
        """Every cell that calls one of our functions, sheet by sheet, row by row."""
        found = []
        for sheet in self.sheets.values():
            for cell in sorted(sheet.cells.values(), key=lambda c: c.place[1:]):
                if any(name.startswith("HOPPER_") for name in self.functions_in(cell)):
                    found.append(cell)
        return found

    def functions_in(self, cell: Cell) -> frozenset[str]:
        """Names of the functions that a cell's formula calls, through defined names too."""
        if cell.tree is None:
            return frozenset()
        found = self._functions.get(cell.form)
        if found is None:
            calls = (node.name for node in self.nodes(cell.tree) if isinstance(node, Call))
            found = self._functions[cell.form] = frozenset(calls)
        return found

    def nodes(self, tree: Node) -> Iterator[Node]:
        """The nodes of a formula, through the defined names it uses."""
        for node in walk(tree):
            yield node
            if isinstance(node, Word):
                named = self.names.get(node.text.lower())
                if named is not None and not isinstance(named, Word):
                    yield from walk(named)

    def sheet_of(self, name: str) -> str | None:
        """A sheet's name as the tab spells it; formulas may spell it in another case."""
        if name in self.sheets:
            return name
        return self._tabs.get(name.lower())

    @cached_property
    def _tabs(self) -> dict[str, str]:
        return {name.lower(): name for name in self.sheets}


#: What Calc 7.4 puts before our functions' names; nobody who reads a message wants to see it.
_CALC_NAME = re.compile(rf"\b{re.escape(SERVICE)}\.(?=HOPPER_)", re.IGNORECASE)
#: Names that a program keeps for itself: print areas, filters.
_RESERVED = "_xlnm."


def _read_sheet(package: Package, part: SheetPart, styles: list[Style]) -> Sheet:
    scan = package.scan(part.name)
    sheet = Sheet(part.name, part.state != "visible", settings=settings_of(package, part))
    sheet.hidden_rows, sheet.thin_rows = scan.hidden_rows, scan.thin_rows
    arrays = []
    for ref, found in package.cells(part.name).items():
        row, column = row_column(ref)
        style = scan.cells[ref].style
        formula = None if not found.formula else "=" + _CALC_NAME.sub("", found.formula)
        if formula is None and found.value is None:
            continue
        cell = Cell(
            (part.name, row, column),
            found.value,
            formula,
            styles[style] if style < len(styles) else PLAIN,
        )
        if found.spill and formula is not None:
            cell.array = found.spill
            cell.dynamic = scan.cells[ref].spills
            with package.naming_file():
                list(cells_of(found.spill))  # refused where it is no range, or fills the memory
            arrays.append(cell)
        sheet.cells[row, column] = cell
        sheet.max_row, sheet.max_column = max(sheet.max_row, row), max(sheet.max_column, column)
    for cell in arrays:
        top, left, bottom, right = cell.filled
        for row in range(top, bottom + 1):
            for column in range(left, right + 1):
                filled = sheet.cells.get((row, column))
                if filled is not None and filled is not cell:
                    filled.spill = address(*cell.place[1:])
    return sheet


def _over_several_sheets(book: Book) -> None:
    """Formulas that refer to several sheets at once, with a reference to each of them."""
    sheets = list(book.sheets)
    for cell in book.formulas() if len(sheets) > 1 else ():
        formula = cell.formula or ""
        if "!" in formula and ":" in formula and cell.tree is not None and SEVERAL.search(formula):
            cell.tree = sheet_by_sheet(cell.tree, sheets, cell.place)


def _read_names(book: Book) -> None:
    first = next(iter(book.sheets), "")
    for defined in book.package.defined_names:
        if not defined.name.startswith(_RESERVED):
            before = f"{defined.sheet}!" if defined.sheet else ""
            key = (before + defined.name).lower()
            book.name_texts[key] = defined.formula
            book.names[key] = parse(f"={defined.formula}", (defined.sheet or first, 1, 1))


def book_of(package: Package) -> Book:
    """The workbook in a package.

    Raises:
        InputFileError: a part is damaged or makes no sense.
    """
    book = Book(package, unread=package.unread_sheets)
    styles = styles_of(package)
    for sheet in package.sheets:
        book.sheets[sheet.name] = _read_sheet(package, sheet, styles)
    _over_several_sheets(book)
    _read_names(book)
    book.tables.update(tables_of(package))
    for kind, part in package.relations(package.workbook_part).values():
        if kind == "externalLink":
            targets = [target for _, target in package.relations(part).values()]
            book.external.append(next(iter(targets), "") or "another workbook")
    return book


def read_book(path: Path, tick: Callable[[str], None] = lambda _: None) -> Book:
    """Read a workbook.

    Raises:
        InputFileError: there is no such file, or it is no .xlsx or .xlsm workbook.
    """
    tick("reading")
    package = Package(path)
    package.refuse_document_types()  # before another program reads it
    return book_of(package)
