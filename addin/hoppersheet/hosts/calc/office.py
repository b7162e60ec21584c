"""A headless LibreOffice Calc to compute with, from a Python that has no ``uno``.

    with Office(timeout=60) as office:
        office.call("HOPPER_HELD_MASS", [20, 36.4])                                # 728.0
        office.evaluate({"A1": 20}, {"B1": "=HOPPER_HELD_MASS(A1;36.4)"})          # {"B1": 728.0}
        office.compute(Path("quote.xlsx"))             # {"Quote": {"F12": 1234.5, "F13": "#N/A"}}

Each office has its own copy of a prepared profile with the add-in in it, its own pipe and its own
process group, so any number may run at once beside an office that the user has open. One that does
not answer in time is killed with all its processes. After each start a known call is made; an
office that does not compute it gets a new profile once. Nothing else is tried twice, except that
LibreOffice may drop the connection once at its first start after an extension came or went.

Numbers come back as float, text as str, errors by name as an ErrorText: ``"#N/A"``. TRUE is True
from cells, and 1.0 from a direct call.
"""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any

from ...call import call
from ...errors import HostError
from . import profiles
from .programs import Programs, find
from .worker_link import TookTooLong, WorkerLink, to_worker

__all__ = ["PROBE", "Office"]

#: A call that every office is asked after its start; hoppersheet itself knows the answer.
PROBE: tuple[str, tuple[float, ...]] = ("HOPPER_REQUIRED_VOLUME", (220, 3.5, 36.4))

_LONGEST_NAME = 100  # bytes; LibreOffice puts a lock file with a longer name beside a file


class Office:
    """One headless LibreOffice Calc, for use in a ``with`` statement.

    Args:
        timeout: seconds that all of the start, and then each request, may take.
        addin: install the add-in; False gives an office as it comes.
        like: a profile folder whose installed extensions this office shall see too.

    Raises:
        HostError: no office found, it does not start or answer, a file cannot be opened.

    Attributes:
        folder: for files that shall go with the office, also when this program is killed.
        profile: the office's own profile, in that folder.
        renewed: whether the prepared profile was damaged and made anew.
    """

    folder: Path
    profile: Path

    def __init__(
        self, timeout: float = 120, *, addin: bool = True, like: Path | None = None
    ) -> None:
        self.timeout = timeout
        self.addin = addin
        self.like = like
        self.renewed = False
        self._worker: WorkerLink | None = None

    def __enter__(self) -> Office:
        programs = find()
        prepared = profiles.kept(programs) if self.addin else None
        try:
            self._start(programs, prepared)
        except (TookTooLong, profiles.NoRoom):
            raise
        except HostError:
            if prepared is None:
                raise
            # The prepared profile is damaged, or its add-in is gone: a new one, once.
            profiles.forget(prepared)
            self._start(programs, None)
            self.renewed = True
        return self

    def _start(self, programs: Programs, prepared: Path | None) -> None:
        self._worker = worker = WorkerLink(programs, self.timeout)
        self.folder = worker.folder
        try:
            if self.addin:
                self.profile = profiles.make(worker, prepared)
            else:
                self.profile = worker.folder / "profile"
                self.profile.mkdir()
            if self.like is not None:
                profiles.copy_extensions(self.like, self.profile)
            worker.start(self.profile)
            if self.addin:
                self._probe()
        except BaseException:
            worker.kill()  # nobody waits for an office that has not started
            self.close()
            raise
        worker.deadline = None

    def _probe(self) -> None:
        """Make sure that this office computes with this installation's add-in.

        Raises:
            HostError: it does not; says what a known call gives.
        """
        for name, arguments in (("HOPPER_VERSION", ()), PROBE):
            expected, value = call(name, *arguments), self.call(name, arguments)
            if value != expected:
                shown = ",".join(f"{argument:g}" for argument in arguments)
                raise HostError(
                    f"LibreOffice does not compute with the add-in: {name}({shown}) gives "
                    f"{value!s:.80}, not {expected}. 'hoppersheet doctor' looks for the reason"
                )

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
        if hasattr(self, "folder"):
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
        with self._workable(path) as file:
            found: dict[str, dict[str, Any]] = self.ask(
                "compute",
                file=str(file),
                save_as=str(save_as.absolute()) if save_as else None,
                pdf=str(pdf.absolute()) if pdf else None,
            )
        return found

    def convert(
        self, path: Path, out: Path, *, sheet: str | None = None, mark: str = "", paper: str = ""
    ) -> None:
        """Open a file, calculate it afresh, write it as .pdf, .xlsx, .ods or .csv.

        Args:
            path: the file; it is not changed.
            out: what is written.
            sheet: print only this one, as far down as it is filled (.pdf).
            mark: a word that stands across every page (.pdf).
            paper: "A4" or "Letter": print that one sheet on it, whatever it was made for (.pdf).
        """
        with self._workable(path) as file:
            self.ask(
                "convert",
                file=str(file),
                out=str(out.absolute()),
                sheet=sheet,
                mark=mark,
                paper=paper,
            )

    @contextlib.contextmanager
    def _workable(self, path: Path) -> Iterator[Path]:
        """A file under a name that LibreOffice can open: it takes no odd or very long one."""
        try:
            odd = len(path.name.encode("utf-8")) > _LONGEST_NAME or not path.name.isprintable()
        except UnicodeEncodeError:  # bytes that are no UTF-8
            odd = True
        if not odd or not path.is_file():
            yield path.absolute()
            return
        copy = self.folder / f"workbook{path.suffix if len(path.suffix) < 6 else '.xlsx'}"
        shutil.copyfile(path, copy)
        try:
            yield copy
        finally:
            copy.unlink(missing_ok=True)
