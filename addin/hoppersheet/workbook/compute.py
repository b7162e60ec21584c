"""Recalculate a workbook that uses the functions, and store only the results.

    report = compute("quote.xlsx", "quote_computed.xlsx")
    values = fresh_values("quote.xlsx")["Sizing"]["B7"]

The engine (:mod:`.engines`) works on a copy. From what it computed only the values of formula
cells, and of the cells that array formulas fill, are written into the original package. The mark
``fullCalcOnLoad``, by which a library that cannot calculate asks for it at the next opening, is
taken out of the workbook part, because it has been done. No other byte of any part changes.

A cell that the engine cannot compute keeps the value that the program which wrote it had stored;
what follows from it is computed from that value, and both are named in the receipt
(:class:`Computed`). What Calc does not know and hoppersheet does (XLOOKUP, LET) is computed here.
"""

from __future__ import annotations

import os
import re
from collections.abc import Collection
from dataclasses import dataclass, field
from functools import lru_cache

from ..errors import HostError
from .addresses import cells_of, reference, row_column
from .book import book_of
from .engines import Calc, Core, opened
from .evaluator import NATIVES, Evaluator
from .formulas import plain_function_name
from .names import make_plain
from .outside import neutralize, outside_words, without_cache
from .package import Package
from .precedents import Precedents
from .safe_xml import spliced, start_tag_end
from .sheet_cells import ErrorText, Value, Values

__all__ = ["Computed", "Kept", "compute", "fresh_values", "recalculated", "with_calc"]

_FULL_CALC = re.compile(rb"""\s+fullCalcOnLoad\s*=\s*(?:"[^"]*"|'[^']*')""")
# A text or a sheet's name is stepped over; what is left before a "(" is a function.
_FUNCTION = re.compile(r""""(?:[^"]|"")*"|'(?:[^']|'')*'|([A-Za-z_][\w.]*)\(""")
_WORD = re.compile(r"[A-Za-z_\\][\w.\\]*")
#: Functions of the evaluator that Calc does not know in every version that is supported.
_NOT_IN_EVERY_CALC = frozenset(
    ("XLOOKUP", "XMATCH", "FILTER", "SORT", "UNIQUE", "SEQUENCE", "TEXTBEFORE", "TEXTAFTER",
     "CEILING.PRECISE", "FLOOR.PRECISE")
)  # fmt: skip
_IN_EVERY_CALC = (frozenset(NATIVES) - _NOT_IN_EVERY_CALC) | frozenset(
    ("IF", "IFS", "SWITCH", "CHOOSE", "IFERROR", "IFNA", "ROW", "COLUMN", "ROWS", "COLUMNS",
     "SUBTOTAL", "AGGREGATE", "OFFSET", "INDIRECT", "TODAY", "NOW", "RAND", "RANDBETWEEN")
)  # fmt: skip


#: sheet, address
_At = tuple[str, str]


@dataclass(frozen=True)
class Kept:
    """A cell that keeps its stored value, because nothing here could compute it."""

    sheet: str
    cell: str
    why: str

    @property
    def where(self) -> str:
        """``"Prices!D4"``."""
        return f"{self.sheet}!{self.cell}"


@dataclass
class Computed:
    """The receipt of a computation.

    Attributes:
        engine: what computed it, such as ``"LibreOffice Calc 7.4.7.2"``.
        probe: the call that the engine was asked before, and answered rightly; "" for hoppersheet.
        cells: number of cells computed, those in ``by_core`` among them.
        changed: number of those whose stored value was another one.
        by_core: ``"Sheet!A1"`` of each cell that Calc cannot compute and hoppersheet did.
        errors: ``"Sheet!A1 #N/A"`` of each cell that shows an error.
        kept: the cells that keep their stored value, and why.
        follows: ``"Sheet!A1"`` of each computed cell that follows from a kept one.
        untouched: what Calc was not let to fetch: ``"1 linked picture"``.
        bound: formulas with a function name that is bound to a path or a service.
        full_calc_dropped: whether the mark to calculate at the next opening was taken out.
    """

    engine: str
    probe: str = ""
    cells: int = 0
    changed: int = 0
    by_core: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    kept: list[Kept] = field(default_factory=list)
    follows: list[str] = field(default_factory=list)
    untouched: str = ""
    bound: int = 0
    full_calc_dropped: bool = False


def compute(
    book: str | os.PathLike[str],
    out: str | os.PathLike[str],
    engine: str | None = None,
    timeout: float = 120,
) -> Computed:
    """Write ``book`` to ``out`` with every formula computed afresh.

    Args:
        book: an .xlsx or .xlsm; read once, never changed unless ``out`` names it too.
        out: replaced in one step when all is done; untouched when anything fails.
        engine: ``"calc"`` (a headless LibreOffice), ``"core"`` (hoppersheet alone), or None for
            Calc where it is installed and hoppersheet alone elsewhere.
        timeout: seconds that LibreOffice may take before it is stopped.

    Raises:
        InputFileError: ``book`` cannot be read.
        HostError: Calc is missing, failed or hung.
        InputFileError: ``out`` cannot be written.
    """
    package = Package(book)
    package.refuse_document_types()
    values, report = recalculated(package, engine, timeout)
    for sheet, here in values.items():
        report.changed += package.set_values(sheet, here)
    report.full_calc_dropped = _drop_full_calc(package)
    package.save(out)
    return report


def fresh_values(
    book: str | os.PathLike[str], engine: str | None = None, timeout: float = 120
) -> Values:
    """Every cell of a workbook, with the formulas computed afresh.

    Returns:
        ``{sheet: {"A1": value}}`` of all cells that hold something: float, str, bool, None for a
        formula without a value, an error as an :class:`ErrorText` such as ``"#N/A"``.

    Raises:
        InputFileError, HostError: as :func:`compute`.
    """
    package = Package(book)
    package.refuse_document_types()
    values, _ = recalculated(package, engine, timeout)
    return {
        sheet.name: {**package.values(sheet.name), **values.get(sheet.name, {})}
        for sheet in package.sheets
    }


def recalculated(
    package: Package, engine: str | None = None, timeout: float = 120
) -> tuple[Values, Computed]:
    """The value of every cell that could be computed, and the receipt; the package is not changed.

    Raises:
        HostError: as :func:`compute`.
    """
    with opened(engine, timeout) as calculator:
        if isinstance(calculator, Core):
            return _by_core(package, calculator)
        values, report, _ = with_calc(package, calculator)
        return values, report


def _by_core(package: Package, core: Core) -> tuple[Values, Computed]:
    report = Computed(core.name, bound=len(make_plain(package.copy()).changed))
    values = core.values(package)
    kept = {(sheet, ref): why for sheet, here in core.kept.items() for ref, why in here.items()}
    _receipt(package, report, values, kept)
    return values, report


def with_calc(package: Package, calc: Calc) -> tuple[Values, Computed, Package]:
    """The values by an open Calc, the receipt, and the working copy that Calc was given.

    The working copy reaches nothing outside itself, and what Calc cannot compute stands in it as a
    value.
    """
    report = Computed(calc.name, calc.probe)
    work = package.copy()
    report.bound = len(make_plain(work).changed)
    report.untouched = outside_words(neutralize(work))
    known, kept = _without_calc(package, calc)
    for sheet, cells_of_links in without_cache(package).items():
        for ref, why in cells_of_links.items():
            if (sheet, ref) not in known:
                kept.setdefault((sheet, ref), why)
    for sheet in {sheet for sheet, _ in (*known, *kept)}:
        here = {ref: value for (of, ref), value in known.items() if of == sheet}
        work.set_values(sheet, here)
        cells = work.scan(sheet).cells
        work.freeze(
            sheet,
            {r for of, r in (*known, *kept) if of == sheet and r in cells and cells[r].formula},
        )
    found = calc.values(work)
    values: Values = {}
    for sheet in (s.name for s in package.sheets):
        refs = package.formula_cells(sheet)
        here = found.get(sheet, {})
        if sheet not in found and refs:
            raise HostError(f"{calc.name} did not load the sheet {sheet} of {package.path}")
        for ref in refs:
            if (sheet, ref) in known:
                values.setdefault(sheet, {})[ref] = known[sheet, ref]
            elif ref in here and (sheet, ref) not in kept:
                values.setdefault(sheet, {})[ref] = here[ref]
            elif (sheet, ref) not in kept:
                kept[sheet, ref] = f"{calc.name} gave no value"
    report.by_core = [f"{sheet}!{ref}" for sheet, ref in known if (sheet, ref) not in kept]
    _receipt(package, report, values, kept)
    return values, report, work


def _receipt(package: Package, report: Computed, values: Values, kept: dict[_At, str]) -> None:
    """Fill in what was computed, what shows an error, what was kept and what follows from it."""
    for sheet, here in values.items():
        report.cells += sum((sheet, ref) not in kept for ref in here)
        report.errors += [f"{sheet}!{r} {v}" for r, v in here.items() if isinstance(v, ErrorText)]
    report.kept = [Kept(sheet, ref, why) for (sheet, ref), why in kept.items()]
    if kept:
        places = {(sheet, *row_column(ref)) for sheet, ref in kept}
        follow = Precedents(Evaluator(book_of(package))).followers(places) - places
        report.follows = [f"{sheet}!{reference(r, c)}" for sheet, r, c in sorted(follow)]


def _without_calc(package: Package, calc: Calc) -> tuple[dict[_At, Value], dict[_At, str]]:
    """What Calc does not know: cell -> its value worked out here, and cell -> why it has none.

    A formula that catches errors would hide the one of an unknown function, so what is unknown is
    asked for before anything is computed.
    """
    uses = _uses(package)
    asked = {name for names in uses.values() for name in names} - _IN_EVERY_CALC
    ours = {name for name in asked if name.startswith("HOPPER_")}
    unknown = calc.unknown(asked - ours) if asked - ours else set()
    suspects = {at: names & unknown for at, names in uses.items() if names & unknown}
    if not suspects:
        return {}, {}
    evaluator = Evaluator(book_of(package))
    values: dict[_At, Value] = {}
    kept: dict[_At, str] = {}
    for (sheet, ref), names in suspects.items():
        row, column = row_column(ref)
        why = evaluator.settled((sheet, row, column))
        cell = evaluator.book.cell((sheet, row, column))
        for filled in cells_of(cell.array or ref if cell is not None else ref):
            value = evaluator.cell_value((sheet, *row_column(filled)))
            if why:
                kept[sheet, filled] = _why_kept(calc, names, why)
            if not why or package.values(sheet).get(filled) is None:
                values[sheet, filled] = value
    return values, kept


def _why_kept(calc: Calc, names: Collection[str], why: str) -> str:
    listed = ", ".join(sorted(names))
    here = "" if why == f"the function {listed}" else f"; nor can hoppersheet: {why}"
    return f"{calc.name} does not know {listed}{here}"


def _uses(package: Package) -> dict[_At, frozenset[str]]:
    """Formula cell -> the functions it calls, through defined names too; without prefixes."""
    named = {
        defined.name.lower(): found
        for defined in package.defined_names
        if (found := _functions_in(defined.formula))
    }
    uses = {}
    for sheet in package.sheets:
        scan = package.scan(sheet.name)
        shared: dict[str, frozenset[str]] = {}
        for ref, raw in scan.cells.items():
            if raw.formula is None:
                continue
            found = _functions_in(raw.formula.text)
            if named:
                words = {word.lower() for word in _WORD.findall(raw.formula.text)}
                found = found.union(*(named[word] for word in words & named.keys()))
            key = raw.formula.attributes.get("si", "")
            if raw.formula.attributes.get("t") == "shared":
                found = shared.setdefault(key, found)
            uses[sheet.name, ref] = found
    return uses


@lru_cache(maxsize=20_000)
def _functions_in(formula: str) -> frozenset[str]:
    return frozenset(plain_function_name(m[1]) for m in _FUNCTION.finditer(formula) if m[1])


def _drop_full_calc(package: Package) -> bool:
    """Take ``fullCalcOnLoad`` out of the workbook part; whether it was there."""
    part = package.workbook_part
    data = package.xml(part)
    for element in package.elements(part):
        if element.tag == "calcPr" and "fullCalcOnLoad" in element.attributes:
            end = start_tag_end(data, element.start)
            tag = _FULL_CALC.sub(b"", data[element.start : end])
            package.replace_xml(part, spliced(data, {(element.start, end): tag}))
            return True
    return False
