"""A workbook as the audit sees it: every cell with its formula and the value stored beside it.

Read with openpyxl twice, once for the formulas and once for the values that the spreadsheet
program stored at its last calculation. Dates and times become the numbers they are; a range
that an array formula fills is marked, so that its cells are not taken for typed ones.
"""

from __future__ import annotations

import datetime
import re
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from ..errors import InputFileError
from ..hosts.calc.names import SERVICE
from ..workbook.formulas import Call, Node, Place, address, parse, relative_form, tree_of, walk
from ..workbook.package import Package
from ..workbook.sheet_cells import COLUMNS, cells_of

__all__ = ["Book", "Cell", "Sheet", "Table", "read_book"]


class Cell:
    """One cell.

    Attributes:
        value: stored value; None where nothing is stored. An error is its text.
        formula: with its ``=``, or None for a typed cell.
        form: the formula relative to its cell (see :func:`formulas.relative_form`).
        spill: "" or the address of the array formula that fills this cell.
        percent: whether the cell is shown as a percentage.
    """

    __slots__ = ("array", "form", "formula", "percent", "place", "spill", "tree", "value")

    def __init__(self, place: Place, value: Any, formula: str | None, percent: bool) -> None:
        self.place = place
        self.value = value
        self.formula = formula
        self.percent = percent
        self.spill = ""
        #: the range an array formula fills, or ""
        self.array = ""
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
        from openpyxl.utils import range_boundaries

        _, row, column = self.place
        if not self.array:
            return row, column, row, column
        left, top, right, bottom = range_boundaries(self.array)
        return top, left, bottom, right

    @property
    def sizes(self) -> bool:
        """Whether the formula calls one of our functions."""
        return self.formula is not None and "HOPPER_" in self.formula.upper()


def _plain_heading(text: str) -> str:
    """A table's heading as formula and table spell it alike; a file writes line breaks _x000a_."""
    text = re.sub(r"_x([0-9a-f]{4})_", lambda m: chr(int(m[1], 16)), text, flags=re.IGNORECASE)
    return " ".join(text.split()).lower()


@dataclass(frozen=True)
class Table:
    """A table of a sheet: where its lines are and what its columns are called.

    Attributes:
        first_row, last_row: of the lines, without headings and totals.
        above, below: rows of headings and of totals, 0 or 1.
    """

    sheet: str
    first_row: int
    first_column: int
    last_row: int
    columns: tuple[str, ...]
    above: int = 0
    below: int = 0

    def area(self, inside: str, row: int) -> tuple[str, int, int, int, int] | None:
        """The cells that ``Table[inside]`` means in a formula of ``row``, None if unknown.

        ``""``, ``Column``, ``@Column``, ``#All``, ``[#This Row],[Column]``, ``[One]:[Other]``.
        """
        parts = re.findall(r"\[((?:[^\[\]']|'.)*)\]", inside, re.DOTALL)
        # Without inner brackets all of it is one heading, escaped brackets included.
        if not parts or re.match(r"@?\s*\[", inside) is None:
            parts = [inside]
        words = [_plain_heading(re.sub(r"'(.)", r"\1", part, flags=re.DOTALL)) for part in parts]
        this_row = inside.startswith("@") or "#this row" in words
        known = [_plain_heading(column) for column in self.columns]
        named = [w.lstrip("@").strip() for w in words if not w.startswith("#")]
        columns = [known.index(w) for w in named if w in known]
        if len(columns) != len([w for w in named if w]) or len(columns) > 2:
            return None
        ends = columns or [0, len(known) - 1]
        first, last = self.first_row, self.last_row
        if this_row:
            first = last = row
        elif "#all" in words:
            first, last = first - self.above, last + self.below
        elif "#headers" in words:
            first = last = first - self.above
        elif "#totals" in words:
            first = last = last + self.below
        at = self.first_column
        return (self.sheet, first, at + min(ends), last, at + max(ends))


@dataclass
class Sheet:
    """One worksheet."""

    name: str
    hidden: bool = False
    cells: dict[tuple[int, int], Cell] = field(default_factory=dict)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    max_row: int = 0
    max_column: int = 0

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
    """

    path: Path
    sheets: dict[str, Sheet] = field(default_factory=dict)
    names: dict[str, Node] = field(default_factory=dict)
    name_texts: dict[str, str] = field(default_factory=dict)
    tables: dict[str, Table] = field(default_factory=dict)
    external: list[str] = field(default_factory=list)

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
                if cell.tree is not None and any(
                    isinstance(node, Call) and node.sizes for node in self.nodes(cell.tree)
                ):
                    found.append(cell)
        return found

    def nodes(self, tree: Node) -> Iterator[Node]:
        """The nodes of a formula, through the defined names it uses."""
        from ..workbook.formulas import Word

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
        return next((s for s in self.sheets if s.lower() == name.lower()), None)


#: What Calc 7.4 puts before our functions' names; nobody who reads a message wants to see it.
_CALC_NAME = re.compile(rf"\b{re.escape(SERVICE)}\.(?=HOPPER_)", re.IGNORECASE)


def _plain(value: Any) -> Any:
    """A stored value as a plain cell value: dates and times as the numbers they are."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, (int, float)):
        return float(value)
    if isinstance(value, datetime.timedelta):
        return value.total_seconds() / 86_400
    if isinstance(value, (datetime.datetime, datetime.date, datetime.time)):
        from openpyxl.utils.datetime import to_excel

        return float(to_excel(value))
    return str(value)


def _load(path: Path, **options: Any) -> Any:
    import openpyxl

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what openpyxl leaves out, the audit does not need
            return openpyxl.load_workbook(path, **options)
    except FileNotFoundError:
        raise InputFileError(f"{path}: there is no such file") from None
    except PermissionError:
        raise InputFileError(f"{path}: the file may not be read") from None
    except Exception as problem:  # openpyxl raises whatever it meets in a damaged file
        said = " ".join(str(problem).split())[:120]
        raise InputFileError(
            f"{path} cannot be read as an .xlsx or .xlsm workbook "
            f"({type(problem).__name__}: {said})"
        ) from None


def _formula_of(value: Any) -> tuple[str | None, str]:
    """(formula text, range of an array formula) of what openpyxl found in a cell."""
    from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula

    if isinstance(value, ArrayFormula):
        text = value.text or ""
        formula = text if text.startswith("=") else f"={text}"
        return _CALC_NAME.sub("", formula), value.ref
    if isinstance(value, DataTableFormula):
        return None, ""
    if isinstance(value, str) and value.startswith("="):
        return _CALC_NAME.sub("", value), ""
    return None, ""


def _area(text: str) -> str:
    """The range of an array formula; refused where it is none, or one to fill the memory with."""
    list(cells_of(text))
    return text


def _read_sheet(name: str, formulas: Any, values: Any) -> Sheet:
    from openpyxl.utils import column_index_from_string, range_boundaries

    sheet = Sheet(name, hidden=formulas.sheet_state != "visible")
    for row, dimension in formulas.row_dimensions.items():
        if dimension.hidden:
            sheet.hidden_rows.add(row)
    for letters, dimension in formulas.column_dimensions.items():
        if dimension.hidden:
            first = dimension.min or column_index_from_string(letters)
            sheet.hidden_columns.update(range(first, min(dimension.max or first, COLUMNS) + 1))
    stored = values._cells
    arrays = []
    for (row, column), found in formulas._cells.items():
        raw = found.value
        if raw is None:
            continue
        # A text that begins with "=" but is stored as text is no formula.
        formula, array = _formula_of(raw) if found.data_type == "f" else (None, "")
        beside = stored.get((row, column))
        value = _plain(beside.value if beside is not None else None)
        cell = Cell((name, row, column), value, formula, "%" in (found.number_format or ""))
        if array:
            cell.array = _area(array)
            arrays.append(cell)
        sheet.cells[row, column] = cell
        sheet.max_row, sheet.max_column = max(sheet.max_row, row), max(sheet.max_column, column)
    for cell in arrays:
        c1, r1, c2, r2 = range_boundaries(cell.array)
        for row in range(r1, r2 + 1):
            for column in range(c1, c2 + 1):
                filled = sheet.cells.get((row, column))
                if filled is not None and filled is not cell:
                    filled.spill = address(*cell.place[1:])
    return sheet


def _read_names(book: Book, workbook: Any) -> None:
    places = [("", workbook.defined_names)]
    places += [(f"{sheet.title}!", sheet.defined_names) for sheet in workbook.worksheets]
    first = next(iter(book.sheets), "")
    for before, names in places:
        for name, defined in names.items():
            text = defined.attr_text or ""
            key = (before + name).lower()
            book.name_texts[key] = text
            book.names[key] = parse(f"={text}", (before[:-1] or first, 1, 1))


def _read_tables(book: Book, workbook: Any) -> None:
    from openpyxl.utils import range_boundaries

    for sheet in workbook.worksheets:
        for table in sheet.tables.values():
            try:
                c1, r1, _, r2 = range_boundaries(table.ref)
            except (TypeError, ValueError):
                continue  # a table that is nowhere; formulas with its name are not followed
            headings = 0 if table.headerRowCount == 0 else 1
            totals = bool(table.totalsRowCount)
            book.tables[table.displayName.lower()] = Table(
                sheet.title,
                r1 + headings,
                c1,
                r2 - totals,
                tuple(column.name for column in table.tableColumns),
                headings,
                int(totals),
            )


def read_book(path: Path, tick: Callable[[str], None] = lambda _: None) -> Book:
    """Read a workbook.

    Raises:
        InputFileError: there is no such file, or it is no .xlsx or .xlsm workbook.
    """
    tick("reading formulas")
    # openpyxl checks neither for a file that unpacks to gigabytes nor for entities.
    Package(path).refuse_document_types()
    formulas = _load(path)
    tick("reading stored values")
    values = _load(path, data_only=True)
    book = Book(path)
    for sheet in formulas.worksheets:
        book.sheets[sheet.title] = _read_sheet(sheet.title, sheet, values[sheet.title])
    _read_names(book, formulas)
    _read_tables(book, formulas)
    for link in getattr(formulas, "_external_links", []):
        book.external.append(getattr(link.file_link, "Target", "") or "another workbook")
    return book
