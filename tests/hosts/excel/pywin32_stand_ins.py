"""Stand-ins for pywin32, so that xlwings' own Windows code runs anywhere.

Real: xlwings' Windows branch, its decorators, ``XLPython.CallUDF`` and the converters. Fake:
everything COM. Needs a fresh interpreter, since xlwings decides by platform when it is imported.
Anything of Excel that is not spelled out here raises AttributeError.
"""

from __future__ import annotations

# Modules that look at sys.platform when imported must be in before it is changed.
import asyncio  # noqa: F401
import concurrent.futures  # noqa: F401
import ctypes
import datetime as dt
import logging  # noqa: F401
import multiprocessing  # noqa: F401
import shutil  # noqa: F401
import subprocess  # noqa: F401
import sys
import tempfile  # noqa: F401
import types
import uuid  # noqa: F401
from unittest import mock

#: How COM marks an optional argument that the formula leaves out (DISP_E_PARAMNOTFOUND).
MISSING = -2147352572
_RANGE_ID = "{00020846-0000-0000-C000-000000000046}"


class ComError(Exception):
    """pywintypes.com_error."""

    @property
    def hresult(self) -> int:
        return self.args[0] if self.args else 0


class TimeType(dt.datetime):
    """How pywin32 hands over a date cell."""


class PyIDispatch:
    """A COM object as it reaches a Python COM server."""

    def __init__(self, target: object) -> None:
        self.target = target

    def GetTypeInfo(self) -> object:
        kind = getattr(self.target, "type_id", "other")
        return types.SimpleNamespace(
            GetTypeAttr=lambda: types.SimpleNamespace(iid=kind),
            GetDocumentation=lambda _: (type(self.target).__name__,),
        )


class CDispatch:
    """What ``win32com.client.Dispatch`` makes of it."""

    def __init__(self, raw: PyIDispatch) -> None:
        self.__dict__["_oleobj_"] = raw

    def __getattr__(self, name: str) -> object:
        return getattr(self._oleobj_.target, name)


def _dispatch(target: object, *_: object, **__: object) -> object:
    return CDispatch(target) if isinstance(target, PyIDispatch) else target


class _Anything:
    """ctypes.windll and the like: only reached while xlwings is imported."""

    def __getattr__(self, name: str) -> _Anything:
        found = _Anything()
        object.__setattr__(self, name, found)
        return found

    def __call__(self, *_: object, **__: object) -> int:
        return 0


def _module(name: str, **members: object) -> None:
    module = types.ModuleType(name)
    module.__dict__.update(members)
    sys.modules[name] = module
    parent, _, leaf = name.rpartition(".")
    if parent:
        setattr(sys.modules[parent], leaf, module)


def _unwrap(_: object) -> object:
    raise ValueError("not a wrapped Python object")


def install() -> None:
    """Put the stand-ins where Python looks for pywin32."""

    def nothing(*_: object) -> None:
        return None

    _module(
        "pythoncom", CoInitialize=nothing, CoUninitialize=nothing, com_error=ComError,
        ole_error=ComError, IID_IDispatch="IDispatch", IID_IEnumVARIANT="IEnum", VT_ERROR=10,
        TypeIIDs={"IDispatch": PyIDispatch}, Missing=object(), Empty=object(),
        CoMarshalInterThreadInterfaceInStream=nothing, __file__="pythoncom.dll",
    )  # fmt: skip
    _module("pywintypes", com_error=ComError, error=ComError, TimeType=TimeType, IID=str)
    for name in ("win32api", "win32con", "win32gui", "win32event"):
        _module(name)
    utc = types.SimpleNamespace(utc=lambda: dt.UTC)
    _module("win32timezone", TimeZoneInfo=utc)
    _module("win32process", GetWindowThreadProcessId=lambda _: (0, 4242))
    _module("win32com")
    _module(
        "win32com.client", CDispatch=CDispatch, Dispatch=_dispatch, DispatchEx=_dispatch,
        VARIANT=type("VARIANT", (), {}), DispatchBaseClass=type("DispatchBaseClass", (), {}),
        CoClassBaseClass=type("CoClassBaseClass", (), {}),
        gencache=types.SimpleNamespace(EnsureModule=nothing),
    )  # fmt: skip
    _module("win32com.server")
    _module("win32com.server.dispatcher")
    _module("win32com.server.policy")
    _module("win32com.server.util", wrap=lambda thing, *_: thing, unwrap=_unwrap)
    real = ctypes.PyDLL
    ctypes.windll = ctypes.oledll = _Anything()  # type: ignore[attr-defined]
    ctypes.PyDLL = lambda path, *args, **more: (  # type: ignore[misc, assignment]
        _Anything() if str(path).endswith("pythoncom.dll") else real(path, *args, **more)
    )


def import_xlwings() -> types.ModuleType:
    """xlwings as Windows has it."""
    install()
    with mock.patch.object(sys, "platform", "win32"):
        import xlwings
    return xlwings


class Range:
    """As much of Excel's Range as reading a value needs."""

    type_id = _RANGE_ID

    def __init__(self, value: object) -> None:
        rows = value if isinstance(value, tuple) else ((value,),)
        self.Value = value
        self.Row = self.Column = 1
        self.Rows = types.SimpleNamespace(Count=len(rows))
        self.Columns = types.SimpleNamespace(Count=len(rows[0]))
        self.Count = len(rows) * len(rows[0])
        book = types.SimpleNamespace(Name="Book1.xlsx", Application=types.SimpleNamespace(Hwnd=1))
        self.Worksheet = types.SimpleNamespace(Name="Sheet1", Parent=book)


def range_of(value: object) -> PyIDispatch:
    """A reference to cells: ``value`` a scalar, or rows as tuples."""
    return PyIDispatch(Range(value))
