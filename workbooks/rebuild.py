"""Build the workbooks and the function guide again: ``.venv/bin/python workbooks/rebuild.py``.

The result is the same to the byte for the same code; a test compares it with what is committed.
The quote books carry the values that a real Calc computed, so that a viewer shows numbers.
"""

from __future__ import annotations

import csv
import os
import re
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

# Another writer of XML, other bytes: openpyxl takes lxml where it is installed.
os.environ["OPENPYXL_LXML"] = "False"
from openpyxl import Workbook
from openpyxl.styles import Font

import hoppersheet
from hoppersheet.carried.book import carry_used
from hoppersheet.templates import check, joblist, quote
from hoppersheet.templates.function_guide import function_guide
from hoppersheet.templates.saving import save_workbook
from hoppersheet.workbook.compute import compute
from hoppersheet.workbook.package import Package

FOLDER = Path(__file__).parent
_NUMBER = re.compile(r"[0-9]+(\.[0-9]+)?")


def from_package(path: Path) -> None:
    """An invented list or catalog that the package brings along."""
    shutil.copyfile(Path(hoppersheet.__file__).parent / "data" / path.name, path)


def demo_jobs(path: Path) -> None:
    """The invented job list as a worksheet."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Jobs"
    source = Path(hoppersheet.__file__).parent / "data" / "demo_jobs.csv"
    with source.open(encoding="utf-8", newline="") as file:
        for number, row in enumerate(csv.reader(file), 1):
            sheet.append([_typed(cell) for cell in row])
            if number == 2:
                for cell in sheet[2]:
                    cell.font = Font(bold=True)
    for column, width in {"A": 20, "F": 13, "G": 16, "H": 17, "I": 13, "J": 15, "L": 44}.items():
        sheet.column_dimensions[column].width = width
    sheet.freeze_panes = "B3"
    save_workbook(book, path)


def _typed(cell: str) -> object:
    """What a person typing the text into a worksheet would get."""
    if _NUMBER.fullmatch(cell):
        return float(cell)
    return cell or None


def _computed(book: Workbook, path: Path) -> None:
    """Save the book with the values that Calc computes."""
    with TemporaryDirectory() as folder:
        plain = Path(folder, path.name)
        save_workbook(book, plain)
        compute(plain, path, engine="calc")


def _carrying(path: Path) -> None:
    """The same book as without ``_365``, which lies beside it, with the functions that it calls."""
    source = path.with_name(CARRYING[path.name])
    if not source.exists():
        BUILDERS[source.name](source)
    package = Package(source)
    carry_used(package)
    package.save(path)


#: Books that bring their functions along, for Microsoft 365 and Excel 2024 -> made from which.
CARRYING = {
    "quote_template_365.xlsx": "quote_template.xlsx",
    "demo_quote_365.xlsx": "demo_quote.xlsx",
}
#: Books whose stored values come from a real Calc.
COMPUTED = ("quote_template.xlsx", "demo_quote.xlsx")

#: file name -> what builds it
BUILDERS: dict[str, Callable[[Path], object]] = {
    "demo_catalog.csv": from_package,
    "demo_jobs.csv": from_package,
    "demo_jobs_to_mend.csv": from_package,
    "demo_jobs.xlsx": demo_jobs,
    "function_check.xlsx": lambda path: save_workbook(check.build(), path),
    "quote_template.xlsx": lambda path: _computed(quote.build(), path),
    # A few lines more than the demo has, so that it prints on few pages.
    "demo_quote.xlsx": lambda path: _computed(quote.build(demo=True, rows=12), path),
    **dict.fromkeys(CARRYING, _carrying),
    "joblist_template.xlsx": lambda path: save_workbook(joblist.build(), path),
    "function_guide.md": lambda path: path.write_text(function_guide(), encoding="utf-8"),
}


def rebuild(folder: Path, only: list[str] | None = None) -> None:
    """Build all workbooks, or ``only`` some, into ``folder``."""
    for name, build in BUILDERS.items():
        if not only or name in only:
            build(folder / name)


if __name__ == "__main__":
    rebuild(FOLDER, sys.argv[1:])
