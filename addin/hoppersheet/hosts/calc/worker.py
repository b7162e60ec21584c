"""The half of :class:`.office.Office` that has ``uno``: drives one headless LibreOffice.

A script, run by a Python that can ``import uno``, not by hoppersheet's own. It reads one JSON
request per line on standard input and answers each with one line on standard output:

    {"do": "evaluate", "cells": {"A1": 4}, "formulas": {"B1": "=A1*2"}}
    {"result": {"B1": 8.0}}     or     {"problem": "one sentence"}

An error value comes back as ``{"error": its number}`` and is asked for as ``{"formula": text}``.
At the end of the input the office is closed; should that hang, the whole process group is killed,
so that no office outlives whoever started it.
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import queue
import signal
import struct
import subprocess
import sys
import threading
import time
import uuid
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import uno
import unohelper
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.lang import IllegalArgumentException
from com.sun.star.task import XInteractionApprove, XInteractionHandler
from com.sun.star.ucb import XCommandEnvironment
from com.sun.star.uno import Exception as UnoException
from load_job import repair

_SECONDS_TO_CLOSE = 10
_EVERY_FORMULA = 7  # com.sun.star.sheet.FormulaResult: VALUE + STRING + ERROR
_FILTERS = {
    ".xlsx": "Calc MS Excel 2007 XML",
    ".ods": "calc8",
    ".pdf": "calc_pdf_Export",
    ".csv": "Text - txt - csv (StarCalc)",
}


class Problem(Exception):
    """What could not be done, in one sentence."""


def _properties(**values: Any) -> tuple[Any, ...]:
    properties = []
    for name, value in values.items():
        one = PropertyValue()
        one.Name, one.Value = name, value
        properties.append(one)
    return tuple(properties)


def _url(path: str) -> str:
    return str(uno.systemPathToFileUrl(os.path.abspath(path)))  # noqa: PTH100 keeps symlinks


# --- values -------------------------------------------------------------------------------


def _plain(value: Any) -> Any:
    """A value from the office as JSON."""
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if value is None:
        return {"error": 32767}  # FunctionAccess gives nothing for #N/A
    if isinstance(value, float) and not math.isfinite(value):
        bits = struct.unpack("<Q", struct.pack("<d", value))[0]
        return {"error": bits & 0xFFFF or 503}
    return value if isinstance(value, (float, str)) else float(value)


def _scalar(value: Any) -> Any:
    """A value from JSON as a single argument of FunctionAccess."""
    if isinstance(value, dict) or value is None:
        raise Problem("a direct call takes no blank and no error as a single argument")
    if isinstance(value, bool):
        return 1.0 if value else 0.0
    return float(value) if isinstance(value, int) else value


def _values_of(cells: Any) -> list[list[Any]]:
    """All values of a cell range, row by row."""
    rows = [list(row) for row in cells.getDataArray()]
    for at_row, row in enumerate(rows):
        for at_column, value in enumerate(row):
            if value is None:  # an error, whose number only the cell itself tells
                error = cells.getCellByPosition(at_column, at_row).getError()
                row[at_column] = {"error": error}
    return rows


def _column_letters(index: int) -> str:
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _place(address: str) -> tuple[int, int]:
    """Column and row, from 0, of an address such as B3."""
    letters = address.rstrip("0123456789")
    column = 0
    for letter in letters.upper():
        column = column * 26 + ord(letter) - 64
    return column - 1, int(address[len(letters) :]) - 1


def _runs(addresses: Iterable[str]) -> Iterator[tuple[list[str], tuple[int, int, int, int]]]:
    """Addresses that stand one below the other without a gap, and the range they fill.

    A call to the office takes as long for ten thousand cells as for one.
    """
    run: list[str] = []
    last = (-1, -1)
    for address in sorted(addresses, key=_place):
        column, row = _place(address)
        if run and (column, row) != (last[0], last[1] + 1):
            yield run, (last[0], last[1] - len(run) + 1, *last)
            run = []
        run.append(address)
        last = (column, row)
    if run:
        yield run, (last[0], last[1] - len(run) + 1, *last)


def _formula_for(value: Any) -> str:
    """The formula that gives a value which cannot be written as it is."""
    if isinstance(value, dict):  # an error
        return str(value["formula"])
    return "=TRUE()" if value else "=FALSE()"


def _write(sheet: Any, cells: dict[str, Any]) -> None:
    """Write values into cells: numbers, texts, logical values, errors; None leaves it blank."""
    by_formula = {a: _formula_for(v) for a, v in cells.items() if isinstance(v, (bool, dict))}
    plain = {a: v for a, v in cells.items() if a not in by_formula and v is not None}
    for run, area in _runs(plain):
        values = (plain[address] for address in run)
        rows = tuple((v if isinstance(v, str) else float(v),) for v in values)
        sheet.getCellRangeByPosition(*area).setDataArray(rows)
    _write_formulas(sheet, by_formula)


def _write_formulas(sheet: Any, formulas: dict[str, str]) -> None:
    for run, area in _runs(formulas):
        rows = tuple((formulas[address],) for address in run)
        sheet.getCellRangeByPosition(*area).setFormulaArray(rows)


def _write_block(sheet: Any, first_row: int, rows: list[list[Any]]) -> Any:
    _write(
        sheet,
        {
            f"{_column_letters(right)}{first_row + down + 1}": value
            for down, row in enumerate(rows)
            for right, value in enumerate(row)
        },
    )
    width = max(len(row) for row in rows)
    return sheet.getCellRangeByPosition(0, first_row, width - 1, first_row + len(rows) - 1)


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
                said = f": {text[-1]}" if text else ""
                raise Problem(
                    f"LibreOffice ended at once with status {self.process.returncode}{said}"
                )
            time.sleep(0.05)
        raise Problem("LibreOffice started but cannot be reached")

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
        except (Problem, UnoException):
            raise Problem(
                f"{name} cannot be opened: it is damaged or asks for a password"
            ) from None
        if not document.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
            document.close(True)
            raise Problem(f"{name} is not a spreadsheet")
        return document

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

    def do_remove(self, identifier: str, name: str) -> None:
        """Remove an extension from the profile."""
        manager = self.context.getValueByName(
            "/singletons/com.sun.star.deployment.ExtensionManager"
        )
        manager.removeExtension(identifier, name, "user", None, _Approver())

    def do_call(self, name: str, arguments: list[Any]) -> Any:
        """One function without any document."""
        access = self._service("com.sun.star.sheet.FunctionAccess")
        # Python cannot say "array of arrays of any", the only kind of array that is taken here;
        # cells of a document are taken too.
        document = self._open("private:factory/scalc")
        try:
            sheet, at, given = document.Sheets.getByIndex(0), 0, []
            for value in arguments:
                if isinstance(value, list):
                    block = _write_block(sheet, at, value)
                    at += len(value)
                    given.append(block)
                else:
                    given.append(_scalar(value))
            return _plain(access.callFunction(name, tuple(given)))
        except IllegalArgumentException:
            return {"error": 519}  # all errors but #N/A look the same here
        finally:
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
            _write(sheet, cells)
            arrays = [address for address in formulas if ":" in address]
            single = {a: formula for a, formula in formulas.items() if a not in arrays}
            for address in arrays:
                sheet.getCellRangeByName(address).setArrayFormula(formulas[address])
            _write_formulas(sheet, single)
            values: dict[str, Any] = {
                address: _values_of(sheet.getCellRangeByName(address)) for address in arrays
            }
            for run, area in _runs(single):
                column = _values_of(sheet.getCellRangeByPosition(*area))
                values.update(zip(run, (row[0] for row in column)))  # noqa: B905
            return values
        finally:
            document.close(True)

    def do_compute(self, file: str, save_as: str | None, pdf: str | None) -> dict[str, Any]:
        """Calculate a file afresh; sheet -> address -> value of every formula cell."""
        document = self._open_file(file)
        try:
            repair(document)
            document.calculateAll()
            for target in filter(None, (save_as, pdf)):
                self._store(document, target)
            result: dict[str, dict[str, Any]] = {}
            for sheet in document.Sheets:
                values = result[sheet.Name] = {}
                for area in sheet.queryFormulaCells(_EVERY_FORMULA).RangeAddresses:
                    block = sheet.getCellRangeByPosition(
                        area.StartColumn, area.StartRow, area.EndColumn, area.EndRow
                    )
                    for down, row in enumerate(_values_of(block)):
                        for right, value in enumerate(row):
                            letters = _column_letters(area.StartColumn + right)
                            values[f"{letters}{area.StartRow + down + 1}"] = value
            return result
        finally:
            document.close(True)

    def do_convert(self, file: str, out: str) -> None:
        """Calculate a file afresh and write it in the format of the new name."""
        document = self._open_file(file)
        try:
            repair(document)
            document.calculateAll()
            self._store(document, out)
        finally:
            document.close(True)

    def _store(self, document: Any, target: str) -> None:
        kind = Path(target).suffix.lower()
        if kind not in _FILTERS:
            raise Problem(
                f"{Path(target).name}: LibreOffice cannot write {kind or 'this'} here; "
                f"it can write {', '.join(_FILTERS)}"
            )
        document.storeToURL(_url(target), _properties(FilterName=_FILTERS[kind]))

    def do_sleep(self, seconds: float) -> None:
        """Do nothing for a while: lets a test see what a hanging office leads to."""
        time.sleep(seconds)


# --- requests -----------------------------------------------------------------------------


def _read_requests(requests: queue.Queue[Any]) -> None:
    for line in sys.stdin:
        requests.put(json.loads(line))
    requests.put(None)
    # The main thread now closes the office; when it hangs in a call, nothing else ends it.
    time.sleep(_SECONDS_TO_CLOSE + 5)
    if hasattr(os, "killpg"):
        os.killpg(0, signal.SIGKILL)
    os._exit(1)


def _message(problem: BaseException) -> str:
    text = getattr(problem, "Message", "") or str(problem) or type(problem).__name__
    return " ".join(str(text).split())


def main() -> None:
    """Serve requests until the input ends. Arguments: soffice, profile folder, seconds to start."""
    requests: queue.Queue[Any] = queue.Queue()
    threading.Thread(target=_read_requests, args=(requests,), daemon=True).start()

    def reply(**content: Any) -> None:
        sys.stdout.write(json.dumps(content) + "\n")
        sys.stdout.flush()

    try:
        office = Office(sys.argv[1], sys.argv[2], float(sys.argv[3]))
    except (Problem, UnoException, OSError) as problem:
        reply(problem=_message(problem))
        return
    reply(result=None)
    try:
        while True:
            request = requests.get()
            if request is None:
                return
            try:
                reply(result=getattr(office, "do_" + request.pop("do"))(**request))
            except (Problem, UnoException, OSError, RuntimeError) as problem:
                reply(problem=_message(problem))
    finally:
        office.close()


if __name__ == "__main__":
    main()
