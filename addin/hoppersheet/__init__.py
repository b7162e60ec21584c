"""hoppersheet: cell functions for Excel and LibreOffice Calc that size a drying hopper.

>>> import hoppersheet
>>> round(hoppersheet.call("HOPPER_REQUIRED_VOLUME", 220, 3.5, 36.4), 2)
21.15

For scripts, each cell function is a Python function too, with names, defaults and types:

>>> round(hoppersheet.required_volume("100 kg/h", 3.5, "0.583 kg/L", units="metric"), 1)
600.3

``audit_book`` and ``compute`` are what the commands ``audit`` and ``compute`` call. What a script
asks for is loaded then, and not before.

Drying times and temperatures: the resin maker's data sheet governs.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

from . import functions
from ._version import __version__
from .call import OMITTED, call
from .errors import CellError, HoppersheetError

_FOR_SCRIPTS = ("audit_book", "compute", *functions.python_names())
__all__ = ["OMITTED", "CellError", "HoppersheetError", "__version__", "call", "explain"]
__all__ += [name for name in _FOR_SCRIPTS if name not in __all__]
__all__[3:] = sorted(__all__[3:])


def explain(function_name: str, *arguments: Any) -> str:
    """How the cell function computes this, or why it shows an error, in one line."""
    # Not made like the others: a module of ours has its name.
    text: str = call("HOPPER_EXPLAIN", function_name, *arguments)
    return text


def __getattr__(name: str) -> Any:
    """What is made or loaded when a script first asks for it."""
    if name not in _FOR_SCRIPTS:
        raise AttributeError(f"module 'hoppersheet' has no attribute {name!r}")
    doors = import_module(".doors", __name__)
    found = (
        getattr(import_module(f".{doors.LAZY[name]}", __name__), name)
        if name in doors.LAZY
        else doors.door(name)
    )
    globals()[name] = found
    return found
