"""A headless LibreOffice Calc to compute with, from a Python that has no ``uno``.

    with Office(timeout=60) as office:
        office.call("HOPPER_HELD_MASS", [20, 36.4])                                # 728.0
        office.evaluate({"A1": 20}, {"B1": "=HOPPER_HELD_MASS(A1;36.4)"})          # {"B1": 728.0}
        office.compute(Path("quote.xlsx"))             # {"Quote": {"F12": 1234.5, "F13": "#N/A"}}

Each office has its own copy of a prepared profile with the add-in in it, its own pipe and its own
process group, so any number may run at once beside an office that the user has open. One that does
not answer in time is killed with all its processes. Nothing is tried twice, except that LibreOffice
may drop the connection once at its first start after an extension came or went.

Numbers come back as float (TRUE is 1.0), text as str, errors by name: ``"#N/A"``.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any

from ...errors import HostError
from . import profiles
from .programs import find
from .worker_link import WorkerLink, to_worker

__all__ = ["Office"]


class Office:
    """One headless LibreOffice Calc, for use in a ``with`` statement.

    Args:
        timeout: seconds that starting, and then each request, may take.
        addin: install the add-in; False gives an office as it comes.
        like: a profile folder whose installed extensions this office shall see too.

    Raises:
        HostError: no office found, it does not start or answer, a file cannot be opened.

    Attributes:
        folder: for files that shall go with the office, also when this program is killed.
        profile: the office's own profile, in that folder.
    """

    folder: Path
    profile: Path

    def __init__(
        self, timeout: float = 60, *, addin: bool = True, like: Path | None = None
    ) -> None:
        self.timeout = timeout
        self.addin = addin
        self.like = like
        self._worker: WorkerLink | None = None

    def __enter__(self) -> Office:
        programs = find()
        self.folder = Path(tempfile.mkdtemp(prefix="hoppersheet-office-"))
        try:
            self.profile = profiles.make(self.folder / "profile", programs, addin=self.addin)
            if self.like is not None:
                profiles.copy_extensions(self.like, self.profile)
            self._worker = WorkerLink(programs, self.profile, self.timeout, passing=self.folder)
        except BaseException:
            self.close()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._worker is not None and isinstance(problem, (KeyboardInterrupt, SystemExit)):
            self._worker.kill()  # who stops a program does not want to wait for an office at work
        self.close()

    def close(self) -> None:
        """End the office and remove its folder."""
        if self._worker is not None:
            self._worker.close()
            self._worker = None
        shutil.rmtree(self.folder, ignore_errors=True)

    def set_timeout(self, seconds: float) -> None:
        """Change the time limit of the requests to come."""
        self.timeout = seconds
        if self._worker is not None:
            self._worker.timeout = seconds

    def ask(self, what: str, **arguments: Any) -> Any:
        """One request to the worker, by the name of its method ``do_<what>``."""
        if self._worker is None:
            raise HostError("the office is not running")
        return self._worker.ask(what, **arguments)

    def version(self) -> str:
        """Version of LibreOffice, such as ``"7.4.7.2"``."""
        return str(self.ask("version"))

    def call(self, name: str, arguments: Sequence[Any] = ()) -> Any:
        """One function called directly, without any document.

        Args:
            name: a cell function of ours or of Calc's own (English name).
            arguments: number, text, bool, or a range as a list of rows. Gaps are not possible.

        Returns:
            The value, or rows of values. LibreOffice tells ``#N/A`` from other errors here and
            nothing more; the others are given as ``"#VALUE!"``. :meth:`evaluate` is exact.
        """
        return self.ask("call", name=name, arguments=to_worker(arguments))

    def describe(self) -> list[dict[str, Any]]:
        """What the function wizard shows: ``name``, ``text``, ``category``, ``arguments``."""
        found: list[dict[str, Any]] = self.ask("describe")
        return found

    def evaluate(self, cells: Mapping[str, Any], formulas: Mapping[str, str]) -> dict[str, Any]:
        """Write cells and formulas into an empty sheet and compute them.

        Args:
            cells: address -> number, text, bool, None for a blank, or an error such as ``"#N/A"``.
            formulas: address -> formula with English names and arguments separated by
                semicolons; an address that is a range makes an array formula.

        Returns:
            Address -> value; for an array formula, its rows of values.
        """
        found: dict[str, Any] = self.ask(
            "evaluate",
            cells={address: to_worker(value) for address, value in cells.items()},
            formulas=dict(formulas),
        )
        return found

    def compute(
        self, path: Path, save_as: Path | None = None, pdf: Path | None = None
    ) -> dict[str, dict[str, Any]]:
        """Open a spreadsheet file, calculate all of it afresh, give every formula cell's value.

        Args:
            path: the file; it is not changed.
            save_as: also save it there, as .xlsx, .ods or .csv by the name's end. What Calc saves
                loses parts of an .xlsx it does not know; never hand it to a user as his own file.
            pdf: also print it there.

        Returns:
            Sheet -> address (``"A1"``) -> value, for each cell that holds a formula.
        """
        found: dict[str, dict[str, Any]] = self.ask(
            "compute",
            file=str(path),
            save_as=str(save_as) if save_as else None,
            pdf=str(pdf) if pdf else None,
        )
        return found

    def convert(self, path: Path, out: Path, *, sheet: str | None = None) -> None:
        """Open a file, calculate it afresh, write it as .pdf, .xlsx, .ods or .csv.

        ``sheet``: print only this one (.pdf).
        """
        self.ask("convert", file=str(path), out=str(out), sheet=sheet)
