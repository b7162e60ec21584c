"""One sheet of a workbook as a PDF: what a customer gets, without the sheets behind it.

Exporting the whole book would hand over margins, internal reasons and the price list.
"""

from __future__ import annotations

import os
from pathlib import Path

from ..errors import InputFileError
from ..files import replacing
from ..workbook.names import make_plain
from ..workbook.package import Package

__all__ = ["print_page"]


def print_page(
    book: str | os.PathLike[str],
    out: str | os.PathLike[str],
    sheet: str,
    timeout: float = 120,
) -> None:
    """Compute ``book`` afresh in LibreOffice Calc and print one of its sheets.

    Args:
        book: an .xlsx or .xlsm; only read.
        out: the .pdf; replaced in one step when all is done.
        sheet: the name of the sheet, in any case.
        timeout: seconds that LibreOffice may take before it is stopped.

    Raises:
        InputFileError: ``book`` cannot be read or has no such sheet; ``out`` is no .pdf or cannot
            be written.
        HostError: no LibreOffice, or it failed or hung.
    """
    from ..hosts.calc.office import Office

    if Path(out).suffix.lower() != ".pdf":
        raise InputFileError(f"{out}: one sheet is written as a .pdf")
    package = Package(book)
    package.refuse_document_types()
    names = {each.name.casefold(): each.name for each in package.sheets}
    if sheet.casefold() not in names:
        raise InputFileError(
            f"{package.path} has no sheet {sheet!r}; it has {', '.join(names.values())}"
        )
    make_plain(package)
    with replacing(Path(out)) as new, Office(timeout=timeout) as office:
        # Under its own name, which a page's header or footer may show.
        work = Path(office.folder, package.path.name)
        package.save(work)
        office.convert(work, new, sheet=names[sheet.casefold()])
