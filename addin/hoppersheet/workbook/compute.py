"""Recalculate a workbook that uses the functions, and store only the results.

    report = compute("quote.xlsx", "quote_computed.xlsx")
    values = fresh_values("quote.xlsx")["Sizing"]["B7"]

The engine (:mod:`.engines`) works on a copy. From what it computed only the values of formula
cells, and of the cells that array formulas fill, are written into the original package. The mark
``fullCalcOnLoad``, by which a library that cannot calculate asks for it at the next opening, is
taken out of the workbook part, because it has been done. No other byte of any part changes.

A cell with a function that the engine does not know keeps the value that the program which wrote
it had stored, and the cells that depend on it are computed from that value.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field

from ..errors import HostError
from .engines import Engine, opened
from .names import make_plain
from .package import Package
from .safe_xml import spliced, start_tag_end
from .sheet_cells import ErrorText, Values

__all__ = ["Computed", "compute", "fresh_values"]

_FULL_CALC = re.compile(rb"""\s+fullCalcOnLoad\s*=\s*(?:"[^"]*"|'[^']*')""")
# A text or a sheet's name is stepped over; what is left before a "(" is a function.
_FUNCTION = re.compile(r""""(?:[^"]|"")*"|'(?:[^']|'')*'|([A-Za-z_][\w.]*)\(""")


@dataclass
class Computed:
    """What :func:`compute` did.

    Attributes:
        engine: what computed it, such as ``"LibreOffice Calc 7.4.7.2"``.
        cells: number of cells computed.
        changed: number of those whose stored value was another one.
        errors: ``"Sheet!A1 #N/A"`` of each cell that shows an error.
        kept: ``"Sheet!A1 (XLOOKUP)"`` of each cell that keeps its stored value, because the
            engine does not know a function in it, and others for which it gave no value.
        bound: formulas with a function name that is bound to a path or a service.
        full_calc_dropped: whether the mark to calculate at the next opening was taken out.
    """

    engine: str
    cells: int = 0
    changed: int = 0
    errors: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)
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
        engine: ``"calc"`` (a headless LibreOffice), ``"embedded"`` (the formulas library), or
            None for the first of these that is there.
        timeout: seconds that LibreOffice may take before it is stopped.

    Raises:
        InputFileError: ``book`` cannot be read.
        HostError: no engine, or it failed or hung.
        InputFileError: ``out`` cannot be written.
    """
    package = Package(book)
    package.refuse_document_types()
    with opened(engine, timeout) as calculator:
        values, report = _computed(package, calculator)
    for sheet, here in values.items():
        report.cells += len(here)
        report.changed += package.set_values(sheet, here)
        report.errors += [f"{sheet}!{r} {v}" for r, v in here.items() if isinstance(v, ErrorText)]
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
    with opened(engine, timeout) as calculator:
        values, _ = _computed(package, calculator)
    return {
        sheet.name: {**package.values(sheet.name), **values.get(sheet.name, {})}
        for sheet in package.sheets
    }


def _computed(package: Package, engine: Engine) -> tuple[Values, Computed]:
    """Values of the formula cells that the engine can compute, and a report begun."""
    report = Computed(engine.name)
    work = package.copy()
    report.bound = len(make_plain(work).changed)
    targets = {sheet.name: package.formula_cells(sheet.name) for sheet in package.sheets}
    found = engine.values(work)
    kept = _not_known(package, targets, found, engine)
    if any(kept.values()):
        for sheet, cells in kept.items():
            work.freeze(sheet, cells)
        found = engine.values(work)
    values: Values = {}
    for sheet, refs in targets.items():
        here = found.get(sheet)
        if here is None and refs:
            raise HostError(f"{engine.name} did not load the sheet {sheet} of {package.path}")
        for ref in refs:
            if ref in kept[sheet]:
                report.kept.append(f"{sheet}!{ref} ({kept[sheet][ref]})")
            elif here is None or ref not in here:
                report.kept.append(f"{sheet}!{ref} (not computed)")
            else:
                values.setdefault(sheet, {})[ref] = here[ref]
    return values, report


def _not_known(
    package: Package, targets: dict[str, list[str]], found: Values, engine: Engine
) -> dict[str, dict[str, str]]:
    """Sheet -> cell -> the functions that only the program which stored its value knows."""
    suspects: dict[str, dict[str, set[str]]] = {}
    for sheet, refs in targets.items():
        here, suspects[sheet] = found.get(sheet, {}), {}
        bad = [ref for ref in refs if here.get(ref) == "#NAME?"]
        if not bad:
            continue
        cells = package.cells(sheet)
        for ref in bad:
            cell = cells.get(ref)
            if cell and cell.formula and cell.value not in (None, "#NAME?"):
                names = {m[1] for m in _FUNCTION.finditer(cell.formula) if m[1]}
                suspects[sheet][ref] = names
    names = {name for here in suspects.values() for some in here.values() for name in some}
    unknown = engine.unknown(names) if names else set()
    return {
        sheet: {
            ref: ", ".join(sorted(name.upper().removeprefix("_XLFN.") for name in some & unknown))
            for ref, some in here.items()
            if some & unknown
        }
        for sheet, here in suspects.items()
    }


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
