"""What can recalculate a workbook: a headless LibreOffice Calc, or the formulas library.

An engine is opened once and asked for the values of one package or several. Calc is the better
one: it knows nearly every function of the spreadsheets and is fast. The formulas library is for
machines without an office and for small books (about 3 ms per formula).
"""

from __future__ import annotations

import importlib.util
import tempfile
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from ..cells.values import is_error
from ..errors import HostError
from .package import Package
from .sheet_cells import ErrorText, Value, Values

if TYPE_CHECKING:
    from ..hosts.calc.office import Office

__all__ = ["ENGINES", "Engine", "opened"]

ENGINES = ("calc", "embedded")
_EMBEDDED_HOW = "pip install 'hoppersheet[engine]'"


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

    def unknown(self, functions: Collection[str]) -> set[str]:
        """Which of these function names the engine does not know."""
        ...


class _Calc:
    def __init__(self, office: Office) -> None:
        self._office = office
        self.name = f"LibreOffice Calc {office.version()}"

    def values(self, package: Package) -> Values:
        with tempfile.TemporaryDirectory(dir=self._office.folder) as folder:
            # The book's own name, in case a formula asks for it; of its ending only the kind
            # matters, and macros are not executed.
            book = Path(folder, package.path.name)
            saved = Path(folder, "saved", "saved.xlsx")
            saved.parent.mkdir()
            package.save(book)
            exact = self._office.compute(book, save_as=saved)
            # Calc answers with 17 digits and TRUE as 1.0; what it saves has 15 and TRUE as TRUE.
            kinds = Package(saved)
            return {
                sheet: {ref: _as_kind(value, kinds_here.get(ref)) for ref, value in here.items()}
                for sheet, here in exact.items()
                for kinds_here in [kinds.values(sheet)]
            }

    def unknown(self, functions: Collection[str]) -> set[str]:
        names = sorted(functions)
        plain = [name.upper().removeprefix("_XLFN.").removeprefix("_XLWS.") for name in names]
        # A known function without its arguments gives another error than an unknown one.
        found = self._office.evaluate({}, {f"A{i}": f"={n}()" for i, n in enumerate(plain, 1)})
        return {name for i, name in enumerate(names, 1) if found[f"A{i}"] == "#NAME?"}


def _as_kind(value: Value, saved: Value) -> Value:
    """``value`` as a truth value or an error where the saved file says that it is one."""
    if isinstance(saved, ErrorText):
        return ErrorText(value) if is_error(value) else saved
    if isinstance(saved, bool) and isinstance(value, float):
        return value != 0.0
    return value


@contextmanager
def opened(engine: str | None = None, timeout: float = 120) -> Iterator[Engine]:
    """The engine ``"calc"`` or ``"embedded"``; None: the first of these that is there.

    Args:
        engine: which one.
        timeout: seconds that Calc may take for its start and for each workbook.

    Raises:
        HostError: there is none, in one line that says how to get one.
    """
    if engine not in (None, *ENGINES):
        raise HostError(f"there is no engine {engine!r}; there are {' and '.join(ENGINES)}")
    if engine != "embedded":
        from ..hosts.calc import programs

        try:
            programs.find()
        except HostError as problem:
            if engine == "calc":
                raise
            if not _embedded_is_there():
                raise HostError(f"{problem}; or, for small books, {_EMBEDDED_HOW}") from None
        else:
            from ..hosts.calc.office import Office

            with Office(timeout=timeout) as office:
                yield _Calc(office)
            return
    if not _embedded_is_there():
        raise HostError(f"the embedded engine is not installed: {_EMBEDDED_HOW}")
    from .embedded import Embedded

    yield Embedded()


def _embedded_is_there() -> bool:
    return importlib.util.find_spec("formulas") is not None
