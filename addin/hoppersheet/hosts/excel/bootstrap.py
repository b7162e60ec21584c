"""The VBA that reaches Python: a module of our own that knows every path.

xlwings ships 44 kB of VBA for this, made to find Python in many ways. It starts Python through
``cmd /K``, a command window that never ends: when Python cannot start, xlwings' DLL then waits for
a minute while Excel stands still. Here the DLL is given ``pythonw`` itself, so that it sees at once
that the process has ended.

Python runs isolated (``-I``): neither the folder in which Excel happens to be nor a variable of
the environment decides what it imports.
"""

from __future__ import annotations

import re
from pathlib import PurePath

from ...errors import HostError

__all__ = ["MODULE_NAME", "SERVER", "Paths", "module_text", "xlwings_version_of"]

#: Name of this module in the VBA project.
MODULE_NAME = "hoppersheet_start"
#: What Python runs to serve the cells.
SERVER = "hoppersheet.hosts.excel.server"

_DECLARED = """\
Private Declare PtrSafe Function LoadLibraryW Lib "kernel32" (ByVal path As LongPtr) As LongPtr
Private Declare PtrSafe Function XLPyDLLActivateAuto Lib "{dll}" (ByRef result As Variant, _
    Optional ByVal config As String = "", Optional ByVal mode As Long = 1) As Long
Private Const DLL As String = "{dll}"
"""
_TEXT = """\
Attribute VB_Name = "{name}"
Option Private Module
' Reaches the Python that computes the cells. Written by hoppersheet at its installation.
#If Win64 Then
{in_64_bit}#Else
{in_32_bit}#End If

Function XLPy()
    Dim path As String, start As String
    path = {folder} & "\\" & DLL
    If LoadLibraryW(StrPtr(path)) = 0 Then Err.Raise 1000, , path & " cannot be loaded"
    ' The DLL fills in $(CLSID).
    start = {quote} & {python} & {quote} & " -I -B -m {server} $(CLSID)"
    If XLPyDLLActivateAuto(XLPy, start, 1) <> 0 Then Err.Raise 1000, , XLPy
End Function
"""


class Paths:
    """Where the Python and the DLL lie that the VBA must know.

    Attributes:
        interpreter: ``pythonw.exe``; folder: that of the DLL; version: of xlwings.

    Raises:
        HostError: a path has a letter that Windows programs of the old kind cannot be given.
    """

    def __init__(self, interpreter: PurePath, folder: PurePath, version: str) -> None:
        self.interpreter, self.folder, self.version = str(interpreter), str(folder), version
        for path in (self.interpreter, self.folder):
            try:
                path.encode(_code_page())
            except UnicodeEncodeError as problem:
                raise HostError(
                    f"the path of Python, {path}, has the letter {path[problem.start]!r}, which "
                    "this machine's VBA cannot hand on; install Python and hoppersheet in a folder "
                    "with a plain name"
                ) from None


def _code_page() -> str:
    """What Windows makes of a VBA text that is handed to a DLL: the code page of the machine."""
    try:
        "".encode("mbcs")
    except LookupError:  # not Windows
        return "cp1252"
    return "mbcs"


def _literal(text: str) -> str:
    """A VBA expression for a text; what is not ASCII is spelled by number."""
    parts = re.findall(r"[ -~]+|[^ -~]", text)
    quoted = ('"' + part.replace('"', '""') + '"' for part in parts)
    return " & ".join(
        shown if part.isascii() else f"ChrW({ord(part)})"
        for part, shown in zip(parts, quoted, strict=True)
    )


def module_text(paths: Paths) -> str:
    """The VBA module, lines ended by ``\\n``, in ASCII."""
    return _TEXT.format(
        name=MODULE_NAME,
        quote='""""',
        in_64_bit=_DECLARED.format(dll=f"xlwings64-{paths.version}.dll"),
        in_32_bit=_DECLARED.format(dll=f"xlwings32-{paths.version}.dll"),
        folder=_literal(paths.folder),
        python=_literal(paths.interpreter),
        server=SERVER,
    )


def xlwings_version_of(text: str) -> str:
    """The version of xlwings that a module was written for; ``""`` if it names none."""
    found = re.search(r'"xlwings64-([\w.]+)\.dll"', text)
    return found[1] if found else ""
