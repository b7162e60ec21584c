"""What can recalculate a workbook: a headless LibreOffice Calc, or hoppersheet alone.

An engine is opened once and asked for the values of one package or several. Calc knows nearly every
function of the spreadsheets and works cell after cell in C++; hoppersheet's own evaluator needs no
office and is faster for the books that people quote with. Each names what it could not compute.
"""

from __future__ import annotations

import tempfile
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

from .._version import __version__
from ..errors import HostError
from ..hosts.calc import programs
from ..hosts.calc.office import PROBE, Office
from .addresses import reference, row_column
from .book import Sheet, book_of
from .evaluator import Evaluator
from .package import Package
from .sheet_cells import Values

__all__ = ["ENGINES", "Calc", "Core", "Engine", "opened"]

ENGINES = ("calc", "core")


class Engine(Protocol):
    """What :mod:`.compute` needs of an engine."""

    #: such as ``"LibreOffice Calc 7.4.7.2"``
    name: str

    def values(self, package: Package) -> Values:
        """The value of every formula cell and of every cell that an array formula fills.

        Raises:
            HostError: the engine cannot open the package, failed or hung.
        """
        ...


class Calc:
    """LibreOffice Calc, see :class:`Engine`."""

    def __init__(self, office: Office) -> None:
        self._office = office
        self.name = f"LibreOffice Calc {office.version()}"
        #: An office that does not answer this rightly does not start.
        self.probe = f"{PROBE[0]}({','.join(f'{a:g}' for a in PROBE[1])})"

    def values(self, package: Package) -> Values:
        """See :class:`Engine`."""
        with tempfile.TemporaryDirectory(dir=self._office.folder) as folder:
            # The book's own name, in case a formula asks for it; of its ending only the kind
            # matters, and macros are not executed.
            book = Path(folder, package.path.name)
            package.save(book)
            return self._office.compute(book)

    def print_sheet(
        self, work: Package, sheet: str, out: Path, mark: str = "", paper: str = ""
    ) -> None:
        """Print one sheet of a working copy as a PDF, with a word across every page.

        ``paper``: "A4" or "Letter", where it shall not be the sheet's own.
        """
        with tempfile.TemporaryDirectory(dir=self._office.folder) as folder:
            # Under its own name, which a page's header or footer may show.
            book = Path(folder, work.path.name)
            work.save(book)
            self._office.convert(book, out, sheet=sheet, mark=mark, paper=paper)

    def unknown(self, functions: Collection[str]) -> set[str]:
        """Which of these functions this Calc does not know; names in capitals, without prefix."""
        names = sorted(functions)
        # A known function without its arguments gives another error than an unknown one.
        found = self._office.evaluate({}, {f"A{i}": f"={n}()" for i, n in enumerate(names, 1)})
        return {name for i, name in enumerate(names, 1) if found[f"A{i}"] == "#NAME?"}


class Core:
    """hoppersheet's own evaluator, see :class:`Engine`.

    Attributes:
        kept: sheet -> cell -> why it could not be computed; its stored value stands in, or an
            error where nothing is stored.
    """

    name = f"hoppersheet {__version__}"

    def __init__(self) -> None:
        self.kept: dict[str, dict[str, str]] = {}

    def values(self, package: Package) -> Values:
        """See :class:`Engine`; kept cells with a stored value are left out."""
        book = book_of(package)
        evaluator = Evaluator(book)
        evaluator.calculate()
        self.kept = {name: {} for name in book.sheets}
        for (sheet, row, column), why in evaluator.unknown.items():
            cell = book.sheets[sheet].cells[row, column]
            top, left, bottom, right = cell.filled
            for r in range(top, bottom + 1):
                for c in range(left, right + 1):
                    self.kept[sheet][reference(r, c)] = why
        return {
            sheet: {
                ref: evaluator.values[sheet, row, column]
                for ref in package.formula_cells(sheet)
                for row, column in [row_column(ref)]
                if (sheet, row, column) in evaluator.values
                and (ref not in self.kept[sheet] or _is_bare(book.sheets[sheet], row, column))
            }
            for sheet in book.sheets
        }


def _is_bare(sheet: Sheet, row: int, column: int) -> bool:
    """Whether nothing is stored in a cell."""
    cell = sheet.cells.get((row, column))
    return cell is None or cell.value is None


@contextmanager
def opened(engine: str | None = None, timeout: float = 120) -> Iterator[Calc | Core]:
    """The engine ``"calc"`` or ``"core"``; None: Calc where it is installed, else the core.

    Args:
        engine: which one.
        timeout: seconds that Calc may take for its start and for each workbook.

    Raises:
        HostError: Calc was asked for and is not there, or it does not start.
    """
    if engine not in (None, *ENGINES):
        raise HostError(f"there is no engine {engine!r}; there are {' and '.join(ENGINES)}")
    if engine is None:
        try:
            programs.find()
        except HostError:
            engine = "core"
    if engine == "core":
        yield Core()
        return
    with Office(timeout=timeout) as office:
        yield Calc(office)
