"""The half of :class:`.office.Office` that has ``uno``: drives one headless LibreOffice.

A script, run by a Python that can ``import uno``, not by hoppersheet's own. It reads one JSON
request per line on standard input and answers each with one line on standard output:

    {"do": "evaluate", "cells": {"A1": 4}, "formulas": {"B1": "=A1*2"}}
    {"result": {"B1": 8.0}}     or     {"problem": "one sentence"}

Its first line names the folder that it has made. An error value comes back as
``{"error": its number}`` and is asked for as ``{"formula": text}``.
At the end of the input the office is closed; should that hang, or a request still be at work, the
whole process group is killed, so that no office outlives whoever started it. Whatever folders the
worker has made go with it.

Over 400 lines, because starting an office, asking it and ending it whatever happens is one life of
one process; what is about cells is in ``worker_cells.py``.
"""

from __future__ import annotations

import contextlib
import json
import os
import queue
import shutil
import signal
import subprocess
import sys
import threading
import time
import uuid
from pathlib import Path
from typing import Any

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))  # noqa: PTH100,PTH120

import uno
import unohelper
from com.sun.star.beans import NamedValue, PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.container import NoSuchElementException
from com.sun.star.lang import DisposedException, IllegalArgumentException
from com.sun.star.task import XInteractionApprove, XInteractionHandler
from com.sun.star.ucb import XCommandEnvironment
from com.sun.star.uno import Exception as UnoException
from load_job import JOB, formula_areas
from worker_cells import (
    Problem,
    area_of,
    column_letters,
    cut_print_areas,
    plain,
    runs,
    scalar,
    values_of,
    write,
    write_block,
    write_formulas,
)

_SECONDS_TO_CLOSE = 10
_FILTERS = {
    ".xlsx": "Calc MS Excel 2007 XML",
    ".ods": "calc8",
    ".pdf": "calc_pdf_Export",
    ".csv": "Text - txt - csv (StarCalc)",
}


def _properties(**values: Any) -> tuple[Any, ...]:
    properties = []
    for name, value in values.items():
        one = PropertyValue()
        one.Name, one.Value = name, value
        properties.append(one)
    return tuple(properties)


def _named(name: str, value: Any) -> Any:
    one = NamedValue()
    one.Name, one.Value = name, value
    return one


def _url(path: str) -> str:
    return str(uno.systemPathToFileUrl(os.path.abspath(path)))  # noqa: PTH100 keeps symlinks


class _Late(Problem):
    """The time for it was over."""


# --- the office ---------------------------------------------------------------------------


class _Approver(unohelper.Base, XInteractionHandler, XCommandEnvironment):
    """Answers yes to what the installation of an extension asks."""

    def handle(self, request: Any) -> None:
        for continuation in request.getContinuations():
            approve = continuation.queryInterface(
                uno.getTypeByName(XInteractionApprove.__pyunointerface__)
            )
            if approve:
                approve.select()
                return

    def getInteractionHandler(self) -> Any:
        return self

    def getProgressHandler(self) -> None:
        return None


class Office:
    """One headless LibreOffice with its own profile and pipe."""

    def __init__(self, soffice: str, profile: str, timeout: float) -> None:
        self.pipe = "hoppersheet" + uuid.uuid4().hex
        self.log = Path(profile, "office.log")
        self.log.parent.mkdir(parents=True, exist_ok=True)
        with self.log.open("wb") as log:
            self.process = subprocess.Popen(
                [
                    soffice, "--headless", "--invisible", "--norestore", "--nologo", "--nodefault",
                    "--nofirststartwizard", "--nolockcheck", f"--accept=pipe,name={self.pipe};urp;",
                    f"-env:UserInstallation={_url(profile)}",
                ],
                stdin=subprocess.DEVNULL, stdout=log, stderr=log,
            )  # fmt: skip
        self.context = self._connect(time.monotonic() + timeout)
        self.services = self.context.ServiceManager
        self.desktop = self._service("com.sun.star.frame.Desktop")

    def _connect(self, deadline: float) -> Any:
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext(
            "com.sun.star.bridge.UnoUrlResolver", local
        )
        address = f"uno:pipe,name={self.pipe};urp;StarOffice.ComponentContext"
        while time.monotonic() < deadline:
            # Not yet listening, or (first start after an extension came or went) the office is
            # restarting itself and drops the connection once: both are tried again.
            with contextlib.suppress(NoConnectException, UnoException):
                context = resolver.resolve(address)
                if context is not None and context.ServiceManager is not None:
                    return context
            if self.process.poll() is not None:
                text = self.log.read_text("utf-8", "replace").strip().splitlines()
                reason = f": {text[-1]}" if text else ""
                raise Problem(
                    f"LibreOffice ended at once with status {self.process.returncode}{reason}"
                )
            time.sleep(0.05)
        raise _Late("LibreOffice started but cannot be reached")

    def _service(self, name: str) -> Any:
        return self.services.createInstanceWithContext(name, self.context)

    def close(self) -> None:
        """Ask the office to end and wait for it."""
        with contextlib.suppress(UnoException):
            self.desktop.terminate()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(_SECONDS_TO_CLOSE)
        if self.process.poll() is None:
            self.process.kill()

    def _open(self, address: str, **properties: Any) -> Any:
        document = self.desktop.loadComponentFromURL(
            address,
            "_blank",
            0,
            _properties(Hidden=True, MacroExecutionMode=0, UpdateDocMode=0, **properties),
        )
        if document is None:
            raise Problem(f"{address.rpartition('/')[2]} cannot be opened")
        return document

    def _open_file(self, file: str) -> Any:
        name = Path(file).name
        if not Path(file).is_file():
            raise Problem(f"{name} does not exist")
        try:
            document = self._open(_url(file))
        except DisposedException:  # a crash, which may have nothing to do with the file
            raise
        except (Problem, UnoException):
            raise Problem(
                f"{name} cannot be opened: it is damaged or asks for a password"
            ) from None
        if not document.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
            document.close(True)
            raise Problem(f"{name} is not a spreadsheet")
        return document

    def _repair(self, document: Any) -> None:
        """What the add-in's job does after loading; here it is made sure of.

        In the office itself: over the bridge the same looks take ten times as long.
        """
        job = self._service(JOB)
        if job is not None:  # an office without the add-in knows none of the functions
            environment = uno.Any("[]com.sun.star.beans.NamedValue", (_named("Model", document),))
            job.execute((_named("Environment", environment),))

    # What can be asked for: one method per request, named do_....

    def do_version(self) -> str:
        """Version of the office."""
        provider = self._service("com.sun.star.configuration.ConfigurationProvider")
        access = provider.createInstanceWithArguments(
            "com.sun.star.configuration.ConfigurationAccess",
            _properties(nodepath="/org.openoffice.Setup/Product"),
        )
        return str(access.getByName("ooSetupVersionAboutBox"))

    def do_install(self, file: str) -> str:
        """Install an extension into the profile; its identifier."""
        manager = self.context.getValueByName(
            "/singletons/com.sun.star.deployment.ExtensionManager"
        )
        added = manager.addExtension(_url(file), (), "user", None, _Approver())
        return str(added.getIdentifier().Value)

    def do_call(self, name: str, arguments: list[Any]) -> Any:
        """One function without any document."""
        access = self._service("com.sun.star.sheet.FunctionAccess")
        # Python cannot say "array of arrays of any", the only kind of array that is taken here;
        # cells of a document are taken too.
        ranges = any(isinstance(value, list) for value in arguments)
        document = self._open("private:factory/scalc") if ranges else None
        try:
            at, given = 0, []
            for value in arguments:
                if document is not None and isinstance(value, list):
                    block = write_block(document.Sheets.getByIndex(0), at, value)
                    at += len(value)
                    given.append(block)
                else:
                    given.append(scalar(value))
            return plain(access.callFunction(name, tuple(given)))
        except (IllegalArgumentException, NoSuchElementException):
            return {"error": 519}  # all errors but #N/A look the same here
        finally:
            if document is not None:
                document.close(True)

    def do_describe(self) -> list[dict[str, Any]]:
        """What the function wizard shows of our functions."""
        descriptions = self._service("com.sun.star.sheet.FunctionDescriptions")
        found = []
        for index in range(descriptions.getCount()):
            entry = {p.Name: p.Value for p in descriptions.getByIndex(index)}
            if str(entry["Name"]).startswith("HOPPER_"):
                arguments = [
                    {"name": a.Name, "text": a.Description, "optional": bool(a.IsOptional)}
                    for a in entry["Arguments"] or ()
                ]
                found.append(
                    {
                        "name": entry["Name"],
                        "text": entry["Description"],
                        "category": entry["Category"],
                        "arguments": arguments,
                    }
                )
        return found

    def do_evaluate(self, cells: dict[str, Any], formulas: dict[str, str]) -> dict[str, Any]:
        """Cells and formulas in a new document; the formulas' values."""
        document = self._open("private:factory/scalc")
        try:
            sheet = document.Sheets.getByIndex(0)
            write(sheet, cells)
            arrays = [address for address in formulas if ":" in address]
            single = {a: formula for a, formula in formulas.items() if a not in arrays}
            for address in arrays:
                sheet.getCellRangeByName(address).setArrayFormula(formulas[address])
            write_formulas(sheet, single)
            columns = list(runs(single))
            spilled = {address: area_of(address) for address in arrays}
            areas = [*spilled.values(), *(area for _, area in columns)]
            (found,) = values_of(document, [(sheet, areas)])
            values: dict[str, Any] = {
                address: [
                    [found[c, r] for c in range(left, right + 1)] for r in range(top, low + 1)
                ]
                for address, (left, top, right, low) in spilled.items()
            }
            for run, (column, top, _, _) in columns:
                values.update((address, found[column, r]) for r, address in enumerate(run, top))
            return values
        finally:
            document.close(True)

    def do_compute(self, file: str, save_as: str | None, pdf: str | None) -> dict[str, Any]:
        """Calculate a file afresh; sheet -> address -> value of every formula cell."""
        document = self._open_file(file)
        try:
            self._repair(document)
            document.calculateAll()
            for target in filter(None, (save_as, pdf)):
                self._store(document, target)
            sheets = list(document.Sheets)
            names = [sheet.Name for sheet in sheets]
            found = values_of(document, [(sheet, formula_areas(sheet)) for sheet in sheets])
            return {
                name: {f"{column_letters(c)}{r + 1}": value for (c, r), value in here.items()}
                for name, here in zip(names, found)  # noqa: B905
            }
        finally:
            document.close(True)

    def do_convert(
        self, file: str, out: str, sheet: str | None, mark: str, paper: str = ""
    ) -> None:
        """Calculate a file afresh and write it, or one sheet of it, as the new name says.

        Of one sheet only what is filled is printed, on ``paper`` where that is another one;
        ``mark`` stands across every page of a PDF.
        """
        document = self._open_file(file)
        try:
            self._repair(document)
            document.calculateAll()
            only = document.Sheets.getByName(sheet) if sheet else None
            if only is not None:
                cut_print_areas(only)
                if paper:
                    style = document.StyleFamilies.getByName("PageStyles").getByName(only.PageStyle)
                    _change_paper(style, *_PAPERS[paper])
            self._store(document, out, only, mark)
        finally:
            document.close(True)

    def _store(self, document: Any, target: str, only: Any = None, mark: str = "") -> None:
        kind = Path(target).suffix.lower()
        if kind not in _FILTERS:
            raise Problem(
                f"{Path(target).name}: LibreOffice cannot write {kind or 'this'} here; "
                f"it can write {', '.join(_FILTERS)}"
            )
        properties = _properties(FilterName=_FILTERS[kind])
        chosen = {"Selection": only} if only is not None else {}
        if mark:
            # Gray, across, and not so large that it hides what is below or leaves the page.
            chosen.update(
                Watermark=mark,
                WatermarkColor=0xB0B0B0,
                WatermarkFontHeight=_mark_height(mark),
                WatermarkRotateAngle=450,
            )
        if chosen:
            # Inside its print range, as when the sheet is printed.
            data = uno.Any("[]com.sun.star.beans.PropertyValue", _properties(**chosen))
            properties += _properties(FilterData=data)
        document.storeToURL(_url(target), properties)

    def do_sleep(self, seconds: float) -> None:
        """Do nothing for a while: lets a test see what a hanging office leads to."""
        time.sleep(seconds)


#: Width and height, hundredths of a millimeter (ISO 216; ANSI Y14.1).
_PAPERS = {"A4": (21000, 29700), "Letter": (21590, 27940)}


def _change_paper(style: Any, width: int, height: int) -> None:
    """Print on another paper, at a scale at which the page's columns and rows fit as before."""
    if style.IsLandscape:
        width, height = height, width
    aside = style.LeftMargin + style.RightMargin
    above = style.TopMargin + style.BottomMargin
    for on, taken in ((style.HeaderIsOn, "HeaderHeight"), (style.FooterIsOn, "FooterHeight")):
        above += getattr(style, taken) if on else 0
    step = min((width - aside) / (style.Width - aside), (height - above) / (style.Height - above))
    style.Width, style.Height = width, height
    if style.PageScale:  # 0: fitted to a number of pages
        style.PageScale = max(10, int(style.PageScale * step))


def _mark_height(mark: str) -> int:
    """Points at which a mark fits between the corners of a page 8.27 in (595 points) wide.

    At 45 degrees its length and its height together take 0.71 of themselves of the width. A capital
    of the font is 0.72 of its height wide, or less.
    """
    return min(110, int(595 / 0.71 / (0.72 * len(mark) + 1)))


# --- requests -----------------------------------------------------------------------------


_SECONDS_TO_BEGIN_CLOSING = 2
# Runs after the process group is gone, when nobody else is left to remove the folders. What the
# last process was still writing may come a moment later.
_CLEANER = """
import os, shutil, sys, time
for _ in range(20):
    time.sleep(0.3)
    for folder in sys.argv[1:]:
        shutil.rmtree(folder, True)
    if not any(map(os.path.lexists, sys.argv[1:])):
        break
"""


class Worker:
    """One office at a time, and the folders made for it."""

    def __init__(self, temporary: str, isolation: list[str]) -> None:
        self.isolation = isolation
        self.office: Office | None = None
        self.closing = threading.Event()
        self.requests: queue.Queue[Any] = queue.Queue()
        self.folders: list[str] = []
        threading.Thread(target=self._read_requests, daemon=True).start()
        self.folder = self.do_folder(temporary, "hoppersheet-office-")
        # An office that is killed leaves its own temporary folders behind.
        os.environ.update(dict.fromkeys(("TMPDIR", "TEMP", "TMP"), self.folder))
        os.chdir(self.folder)

    def do_folder(self, parent: str, prefix: str) -> str:
        """Make a folder that does not outlive the worker."""
        # Known before it is made: nobody may be killed between the two.
        folder = os.path.join(parent, prefix + uuid.uuid4().hex[:16])  # noqa: PTH118
        self.folders.append(folder)
        os.mkdir(folder, 0o700)  # noqa: PTH102
        return folder

    def do_forget(self, folder: str) -> None:
        """Remove a folder that was made with :meth:`do_folder`."""
        shutil.rmtree(folder, ignore_errors=True)
        self.folders.remove(folder)

    def do_start(self, soffice: str, profile: str, seconds: float) -> None:
        """Start an office."""
        self.office = Office(soffice, profile, seconds)

    def do_stop(self) -> None:
        """End the office; another one may be started."""
        if self.office is not None:
            self.office.close()
            self.office = None

    def serve(self) -> None:
        """Name the folder, then answer requests until the input ends."""
        try:
            reply(result=self.folder)  # nobody may be left to read it
            while (request := self.requests.get()) is not None:
                name = "do_" + request.pop("do")
                try:
                    owner = self if hasattr(self, name) else self.office
                    if owner is None:
                        raise Problem("no office is running")
                    reply(result=getattr(owner, name)(**request))
                except (Problem, UnoException, OSError, RuntimeError) as problem:
                    reply(problem=_message(problem), late=isinstance(problem, _Late))
        finally:
            self.closing.set()
            self.do_stop()
            os.chdir(os.path.dirname(os.path.abspath(__file__)))  # noqa: PTH100,PTH120
            for folder in list(self.folders):
                self.do_forget(folder)

    def _read_requests(self) -> None:
        for line in sys.stdin:
            self.requests.put(json.loads(line))
        self.requests.put(None)
        # Nobody waits for the answer to a request that is still at work. When closing the office
        # hangs in a call, nothing else ends it.
        if self.closing.wait(_SECONDS_TO_BEGIN_CLOSING):
            time.sleep(_SECONDS_TO_CLOSE + 5)
        if self.folders:
            subprocess.Popen(
                [sys.executable, *self.isolation, "-c", _CLEANER, *self.folders],
                start_new_session=True,
                cwd=os.path.dirname(os.path.abspath(__file__)),  # noqa: PTH100,PTH120
            )
        if hasattr(os, "killpg"):
            os.killpg(0, signal.SIGKILL)
        subprocess.call(["taskkill", "/F", "/T", "/PID", str(os.getpid())])
        os._exit(1)


def reply(**content: Any) -> None:
    """Write one answer."""
    sys.stdout.write(json.dumps(content) + "\n")
    sys.stdout.flush()


def _message(problem: BaseException) -> str:
    if isinstance(problem, DisposedException):
        return "it crashed in the middle of the work"
    text = getattr(problem, "Message", "") or str(problem) or type(problem).__name__
    return " ".join(str(text).split())


def main() -> None:
    """Serve requests until the input ends.

    Arguments: the folder for temporary files, and the options that this Python was started with.
    """
    try:
        worker = Worker(sys.argv[1], sys.argv[2:])
    except OSError as problem:
        reply(problem=f"no folder can be made in {sys.argv[1]}: {problem.strerror}")
        return
    with contextlib.suppress(BrokenPipeError):
        worker.serve()


if __name__ == "__main__":
    main()
