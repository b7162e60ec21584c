"""One sheet of a workbook as a PDF: what a customer gets, without the sheets behind it.

Exporting the whole book would hand over margins, internal reasons and the price list. A page that
is not fit for a customer (:mod:`.page_checks`) is not written, or with DRAFT across it.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from ..errors import InputFileError
from ..files import replacing
from ..workbook.book import Book, book_of
from ..workbook.compute import Computed, with_calc
from ..workbook.engines import Calc, opened
from ..workbook.package import Package
from .page_checks import PageState, Values, examine_page, value_of_name

__all__ = ["Printed", "print_page"]


@dataclass
class Printed:
    """What became of a page.

    Attributes:
        sheet: its name as the workbook writes it.
        state: what was found on it.
        report: the receipt of the computation.
        mark: the word across every page, "" where there is none.
        paper: "A4" or "Letter" where it is not the one that the workbook was made for.
        written: whether the PDF was written.
    """

    sheet: str
    state: PageState
    report: Computed
    mark: str = ""
    paper: str = ""
    written: bool = False


def print_page(
    book: str | os.PathLike[str],
    out: str | os.PathLike[str],
    sheet: str,
    timeout: float = 120,
    *,
    draft: bool = False,
) -> Printed:
    """Compute ``book`` afresh in LibreOffice Calc and print one of its sheets.

    Args:
        book: an .xlsx or .xlsm; only read.
        out: the .pdf; replaced in one step when all is done. A page that is not fit for a customer
            is written only as a draft.
        sheet: the name of the sheet, in any case.
        timeout: seconds that LibreOffice may take before it is stopped.
        draft: write DRAFT across every page.

    Raises:
        InputFileError: ``book`` cannot be read or has no such sheet; ``out`` is no .pdf or cannot
            be written.
        HostError: no LibreOffice, or it failed or hung.
    """
    if Path(out).suffix.lower() != ".pdf":
        raise InputFileError(f"{out}: one sheet is written as a .pdf")
    package = Package(book)
    package.refuse_document_types()
    names = {each.name.casefold(): each.name for each in package.sheets}
    if sheet.casefold() not in names:
        raise InputFileError(
            f"{package.path} has no sheet {sheet!r}; it has {', '.join(names.values()) or 'none'}"
        )
    name = names[sheet.casefold()]
    with opened("calc", timeout) as calc:
        assert isinstance(calc, Calc)
        fresh, report, work = with_calc(package, calc)
        values = {
            each.name: {**package.values(each.name), **fresh.get(each.name, {})}
            for each in package.sheets
        }
        kept = [each.where for each in report.kept]
        not_computed = [
            place.rpartition("!")[2]
            for place in (*kept, *report.follows)
            if place.rpartition("!")[0] == name
        ]
        state = examine_page(book_of(package), values, name, not_computed)
        printed = Printed(name, state, report, paper=_other_paper(book_of(package), values))
        if state.stops and not draft:
            return printed
        unmarked = state.demonstration and not state.says_so
        printed.mark = " ".join(["DRAFT"] * draft + ["DEMONSTRATION"] * unmarked)
        with replacing(Path(out)) as new:
            calc.print_sheet(work, name, new, printed.mark, printed.paper)
        printed.written = True
    return printed


def _other_paper(book: Book, values: Values) -> str:
    """The paper of a quote workbook whose unit system was switched after it was made.

    Its page was made for the paper that goes with ``resin_table_units``; ``unit_system`` is what it
    is in now.
    """
    papers = {"US": "Letter", "metric": "A4"}
    made, now = (
        value_of_name(book, values, name)[1] for name in ("resin_table_units", "unit_system")
    )
    return papers[now] if {made, now} == set(papers) else ""
