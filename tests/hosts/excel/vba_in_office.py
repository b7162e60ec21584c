"""Runs the add-in's VBA in LibreOffice, each call answered by xlwings' real CallUDF.

Started with the system's Python, which has ``uno``::

    python3 vba_in_office.py ADDIN.xlam PYTHON_WITH_HOPPERSHEET < cases.json > answers.json

A case is ``[function, [argument, ...], rows, columns]``: the arguments are put into cells (a list
of rows into a range, null left blank, ``["missing"]`` left out, ``["whole column", rows]`` into a
column referred to as A:A), the function is entered as a cell formula, and the answer is what the
cell shows, or a table of that. The function ``"gone"`` stands for a call while Python has ended,
``"unreachable"`` for one while it cannot be started; the answer is then ``[what the cell shows,
attempts to start]``. LibreOffice shows CVErr(2042) as the text "Error 2042".

The add-in's module runs as it is but for one edit: LibreOffice's Range has no Value2, so Value
is read. The module that loads a Windows DLL is replaced by one with the same entry.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import uuid
from pathlib import Path

import uno
import unohelper
from com.sun.star.beans import PropertyValue
from com.sun.star.lang import IllegalArgumentException
from com.sun.star.sheet import XFunctionAccess

HERE = Path(__file__).parent
SOFFICE = shutil.which("soffice") or "/usr/lib/libreoffice/program/soffice"

START = """Rem Attribute VBA_ModuleType=VBAModule
Option VBASupport 1
Public Python As Object
Public Starts As Long
Public Broken As Boolean
Function XLPy()
    Starts = Starts + 1
    If Broken Then Err.Raise 1000
    Set XLPy = New Connection
End Function
Sub Connect(bridge)
    Set Python = bridge
End Sub
Sub BreakDown()
    Broken = True
End Sub
Function HowManyStarts()
    HowManyStarts = Starts
End Function
Public Noted As String
Sub SaveSetting(application, section, key, setting)
    Noted = key
End Sub
Function WhatWasNoted()
    WhatWasNoted = Noted
End Function
"""
# A UNO object has no method CallUDF and knows no two-dimensional arrays.
CONNECTION = """Rem Attribute VBA_ModuleType=VBAClassModule
Option VBASupport 1
Option ClassModule
Public Function CallUDF(moduleName, functionName, argumentList, book, caller)
    Dim rows, table(), i, j
    rows = Python.callFunction(functionName, argumentList)
    If IsArray(rows) Then
        If IsArray(rows(0)) Then
            ReDim table(UBound(rows), UBound(rows(0)))
            For i = 0 To UBound(rows)
                For j = 0 To UBound(rows(0))
                    table(i, j) = rows(i)(j)
                Next j
            Next i
            CallUDF = table
            Exit Function
        End If
    End If
    CallUDF = rows
End Function
"""


class Bridge(unohelper.Base, XFunctionAccess):
    """Hands each call on to a Python that has xlwings and hoppersheet."""

    def __init__(self, python: str) -> None:
        self.server = subprocess.Popen(
            [python, HERE / "call_udf.py"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        self.gone = False
        self._ask({"block": []})

    def _ask(self, what: object) -> dict:
        self.server.stdin.write(json.dumps(what) + "\n")
        self.server.stdin.flush()
        return json.loads(self.server.stdout.readline())

    def callFunction(self, name: str, arguments: tuple) -> object:
        if self.gone:
            raise IllegalArgumentException("Python is gone", self, 0)
        cells = [["values", x] if isinstance(x, tuple) else x for x in arguments]
        answer = self._ask([name, cells])
        if "raised" in answer:
            raise IllegalArgumentException(answer["raised"], self, 0)
        value = answer["value"]
        if isinstance(value, list):
            return tuple(tuple(x) if isinstance(x, list) else x for x in value)
        return value


def started(profile: str) -> tuple[subprocess.Popen, object]:
    pipe = f"p{uuid.uuid4().hex}"
    office = subprocess.Popen(
        [
            SOFFICE, "--headless", "--invisible", "--norestore", "--nologo", "--nodefault",
            "--nofirststartwizard", "--nolockcheck", f"--accept=pipe,name={pipe};urp;",
            f"-env:UserInstallation=file://{profile}",
        ],
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        start_new_session=True,
    )  # fmt: skip
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext(
        "com.sun.star.bridge.UnoUrlResolver", local
    )
    end = time.monotonic() + 150
    while True:
        try:
            context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            return office, context.ServiceManager.createInstanceWithContext(
                "com.sun.star.frame.Desktop", context
            )
        except Exception:
            if time.monotonic() > end:
                os.killpg(office.pid, signal.SIGKILL)
                raise
            time.sleep(0.05)


def opened(desktop: object, addin: str) -> object:
    options = []
    values = {
        "Hidden": True,
        "FilterName": "Calc MS Excel 2007 VBA XML",
        "MacroExecutionMode": 4,  # always, without asking
    }
    for name, value in values.items():
        option = PropertyValue()
        option.Name, option.Value = name, value
        options.append(option)
    book = desktop.loadComponentFromURL(f"file://{addin}", "_blank", 0, tuple(options))
    library = book.BasicLibraries.getByName("Hoppersheet")
    text = library.getByName("hoppersheet_functions")
    assert text.count(".Value2") == 2
    library.replaceByName("hoppersheet_functions", text.replace(".Value2", ".Value"))
    library.replaceByName("hoppersheet_start", START)
    library.insertByName("Connection", CONNECTION)
    return book


def run(book: object, procedure: str, *arguments: object) -> object:
    script = book.getScriptProvider().getScript(
        f"vnd.sun.star.script:Hoppersheet.hoppersheet_start.{procedure}?language=Basic&location=document"
    )
    return script.invoke(arguments, (), ())[0]


def shown(cell: object) -> object:
    if cell.getError():
        return f"Err:{cell.getError()}"
    if cell.FormulaResultType2 == 1:  # com.sun.star.sheet.FormulaResult.VALUE
        return cell.Value
    return cell.String


class Sheet:
    def __init__(self, book: object) -> None:
        book.Sheets.insertNewByName("calls", 0)
        self.sheet = book.Sheets.getByName("calls")
        self.row = 0
        self.free = 100  # a column that nothing else uses

    def _entered(self, value: object, column: int) -> tuple[str, int]:
        """(reference, height) of a value that was put into cells."""
        rows = value if isinstance(value, list) else [[value]]
        for i, row in enumerate(rows):
            for j, item in enumerate(row):
                cell = self.sheet.getCellByPosition(column + j, self.row + i)
                if isinstance(item, bool):
                    cell.Formula = f"={str(item).upper()}()"
                elif isinstance(item, str):
                    cell.String = item
                elif item is not None:
                    cell.Value = item
        area = self.sheet.getCellRangeByPosition(
            column, self.row, column + len(rows[0]) - 1, self.row + len(rows) - 1
        )
        return area.AbsoluteName.rpartition(".")[2].replace("$", ""), len(rows)

    def answer(self, function: str, arguments: list, rows: int, columns: int) -> object:
        column, height, references = 1, 1, []
        for value in arguments:
            if value == ["missing"]:
                references.append("")
                continue
            if isinstance(value, list) and value[0] == "whole column":
                self._entered(value[1], self.free)
                name = self.sheet.Columns.getByIndex(self.free).Name
                references.append(f"{name}:{name}")
                height = max(height, len(value[1]))
                self.free += 1
                continue
            reference, tall = self._entered(value, column)
            references.append(reference)
            column += len(value[0]) if isinstance(value, list) else 1
            height = max(height, tall)
        call = f"{function}({';'.join(references)})"
        cell = self.sheet.getCellByPosition(0, self.row)

        def shows(formula: str) -> object:
            cell.Formula = formula
            return shown(cell)

        if rows * columns == 1:
            result = shows(f"={call}")
        else:
            # LibreOffice does not call VBA from an array formula.
            result = [
                [shows(f"=INDEX({call};{i + 1};{j + 1})") for j in range(columns)]
                for i in range(rows)
            ]
        self.row += height + 1
        return result


def main() -> None:
    addin, python = sys.argv[1:]
    cases = json.load(sys.stdin)
    profile = tempfile.mkdtemp(prefix="hoppersheet-vba-")
    bridge = Bridge(python)
    office, desktop = started(profile)
    try:
        book = opened(desktop, addin)
        run(book, "Connect", bridge)
        sheet = Sheet(book)
        answers = []
        for function, arguments, rows, columns in cases:
            bridge.gone = function in ("gone", "unreachable")
            if function == "unreachable":
                run(book, "BreakDown")
            if bridge.gone:
                before = run(book, "HowManyStarts")
                answer = sheet.answer("HOPPER_VERSION", [], 1, 1)
                answers.append([answer, run(book, "HowManyStarts") - before])
            else:
                answers.append(sheet.answer(function, arguments, rows, columns))
        json.dump(answers, sys.stdout)
    finally:
        os.killpg(office.pid, signal.SIGKILL)
        office.wait()
        bridge.server.kill()
        shutil.rmtree(profile, ignore_errors=True)


if __name__ == "__main__":
    main()
