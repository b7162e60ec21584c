"""Write a list with live formulas: its cells as the function will read them, one HOPPER_SIZE_JOBS
beside them, the catalog it asks and how the list was read.
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

from ...cells.quantities import QUANTITIES
from ...cells.values import is_blank
from ...cells.wording import in_system
from ...errors import CellError, InputFileError
from ...workbook.addresses import ROWS
from ...workbook.safe_xml import NOT_IN_XML
from ..job_cells import ClockTime, Percent, ShownWithUnit, typed
from ..job_columns import (
    AS_LISTED,
    BY_UNIT,
    LET_PASS,
    LINE_ABOVE,
    NOT_STATED,
    job_name,
    result_headings,
)
from ..jobwords.meanings import meaning
from .book_output import check_size, lay_out, write_reading
from .sizing import SizedList
from .table_rows import as_it_looks, numeric_signs
from .table_sheet import TableSheet
from .terminal import price_of
from .text_output import padded

__all__ = ["write_formulas"]


def _live_heading(sized: SizedList, at: int, heading: Any) -> Any:
    """A heading that the function reads just as the list was read."""
    reading = sized.file.reading
    for column in reading.columns.values():
        if column.at != at:
            continue
        try:
            found = meaning(heading if isinstance(heading, str) else "")
            same = found.column in (column.name, "density") or bool(found.component)
            same = same or BY_UNIT in column.note
        except CellError:
            same = False
        if same and sized.file.heading_rows == 1 and column.unit_from != LINE_ABOVE:
            return heading
        unit = column.unit if column.unit not in ("", "1") and column.unit_at is None else ""
        return f"{column.name} [{unit}]" if unit else column.name
    if isinstance(heading, str) and heading.strip():
        found = meaning(heading)
        passed = (heading.strip(), LET_PASS) in reading.not_used
        if passed or found.recipe or found.missed or sized.file.heading_rows > 1:
            return f"note: {heading}"
    return heading


def _live_cell(cell: Any, sign: str) -> Any:
    """A cell of a numeric column as the function will read it: the same number, no other."""
    if isinstance(cell, ShownWithUnit):
        return cell.text
    if isinstance(cell, Percent):
        return f"{cell * 100:.13g} %"
    if isinstance(cell, date):
        return f"{cell} (a date)"  # its number would be anybody's figure
    if isinstance(cell, ClockTime):
        minutes = round(cell * 1440)
        return f"{minutes // 60}:{minutes % 60:02d}"
    if not isinstance(cell, str):
        return cell
    try:
        found = typed(cell)
    except CellError:
        return cell
    if found.how or found.roughly:
        return cell
    number = found.value
    if number is None:
        number = {",": found.if_comma, ".": found.if_point}.get(sign)
        if number is None:
            return cell  # refused here, refused there
    if not found.unit:
        return number
    text = f"{number:.15g}"
    if re.fullmatch(r"[1-9][0-9]{0,2}\.[0-9]{3}", text):
        text += "0"  # 1.234 could be read two ways, 1.2340 cannot
    return f"{text} {found.unit}"


def _without_crossed_out(row: list[Any], rate: int, not_job: str) -> list[Any]:
    """A row with crossed out cells as the function must read it, which does not see the line."""
    if not_job:
        note = ", ".join(job_name(cell) for cell in row if not is_blank(cell))
        return [f"crossed out: {note}", *[None] * (len(row) - 1)]
    return [*row[:rate], f"{job_name(row[rate])} (crossed out)", *row[rate + 1 :]]


def write_formulas(sized: SizedList, path: Path, target: str, units: str) -> None:
    """The list with one live formula beside it; its block begins with the jobs' names.

    Args:
        sized: the list; its rows are read through.
        path: the file to write.
        target: what the user calls it.
        units: the unit system that the user states, or AS_LISTED.
    """
    from openpyxl import Workbook
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.formula import ArrayFormula

    check_size(sized, Path(target), 2)
    file, system = sized.file, sized.sizer.system
    book = Workbook()
    sheet, catalog, read = book.active, book.create_sheet("Catalog"), book.create_sheet("Reading")
    cells = TableSheet(sheet)
    sheet.title = "Sized jobs"
    numeric = numeric_signs(sized)
    width, top = len(file.headings), len(file.preamble) + 1
    for row in file.preamble:
        sheet.append([cells.plain(cell) for cell in row])
    live = [_live_heading(sized, at, heading) for at, heading in enumerate(file.headings)]
    sheet.append([None if heading is None else cells.heading(heading) for heading in live])

    def other(cell: Any) -> Any:
        return as_it_looks(cell) if file.source.is_text and isinstance(cell, str) else cell

    last = top
    beside: dict[int, str] = {}  # marks that the function cannot give, by their rows
    figures = sized.sizer.columns
    rate = min(c.at for n, c in figures.items() if n in ("throughput", "shot mass", "part mass"))
    for number, row, answer in sized.rows:
        last += 1
        if number in file.source.struck and answer.required_volume is None:
            row = _without_crossed_out(padded(row, width), rate, answer.not_job)
        if answer.beside_cells:
            beside[last] = "; ".join(answer.beside_cells)
        if last > ROWS:
            raise InputFileError(
                f"{target}: the list is longer than a worksheet, which has {ROWS} rows; use .csv"
            )
        row = [
            _live_cell(cell, numeric[at]) if at in numeric else other(cell)
            for at, cell in enumerate(padded(row, width))
        ]
        sheet.append([_unstyled(cells, cell) for cell in row])
    catalog.append([f"size [{QUANTITIES['volume'].unit(system)}]", "model", "price"])
    sizes = sized.sizer.catalog.sizes
    for size in sizes:
        price = price_of(size.price)
        shown = cells.plain(size.price) if price is None else price
        catalog.append([in_system(size.volume, "volume", system), cells.plain(size.model), shown])
    jobs = f"$A${top}:${get_column_letter(width)}${last}"
    # Said in a line above the list, perhaps, which the function is not given.
    basis = file.reading.basis
    stated_basis = "" if basis == NOT_STATED else f'"{basis}"'
    stated_units = "" if units == AS_LISTED else f'"{units}"'
    more = f",{stated_basis},{stated_units}".rstrip(",")
    formula = f"=HOPPER_SIZE_JOBS({jobs},Catalog!$A$1:$C${len(sizes) + 1}{more})"
    results = ["job", *result_headings(system)]
    first, final = get_column_letter(width + 1), get_column_letter(width + len(results))
    sheet[f"{first}{top}"] = ArrayFormula(f"{first}{top}:{final}{last}", formula)
    if beside:
        results.append("also check")
        at = width + len(results)
        for row_number, value in ((top, results[-1]), *beside.items()):
            sheet.cell(row_number, at, NOT_IN_XML.sub("\ufffd", value))
    lay_out(sheet, [*file.headings, *results], len(results), top)
    write_reading(read, [sized])
    book.save(path)


def _unstyled(cells: TableSheet, cell: Any) -> Any:
    """A cell for a sheet that is held in memory, where each cell needs an object of its own."""
    if isinstance(cell, (Percent, ClockTime)):
        return float(cell)
    if isinstance(cell, ShownWithUnit):
        return cell.stored
    return cells.plain(cell)
