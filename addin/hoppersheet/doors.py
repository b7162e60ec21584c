"""The cell functions as Python functions with names, defaults and types, for scripts.

>>> import hoppersheet
>>> round(hoppersheet.required_volume("45 kg/h", 4, "0.61 kg/L", units="metric"), 1)
295.1
>>> hoppersheet.next_size(21.15, [12, 20, 30, 45])
30.0
>>> hoppersheet.chance_held(22, (190, 220, 260), 3.5, 36.4) > 0.5
True

Each is made from the function's record when a script first asks for it, and goes through
:func:`hoppersheet.call` like a cell. ``__init__.pyi`` states their types for editors and type
checkers; ``python -m hoppersheet.doors`` writes it, and a test compares.
"""

from __future__ import annotations

from collections.abc import Callable
from inspect import Parameter, Signature
from typing import Any

from .call import OMITTED, call
from .describe import argument_words, facts
from .functions import all_functions, python_names
from .registry import UNITS, Argument, CellFunction

__all__ = ["LAZY", "door", "stub"]

#: What else the package offers without loading it before it is asked for -> its module.
LAZY = {"audit_book": "audit", "compute": "workbook.compute"}

_TYPES = {
    "number": "Number", "numbers": "Cells", "estimate": "Cells", "positions": "Cells",
    "pairs": "Cells", "shares": "Cells", "cells": "Table", "choice": "str", "text": "str",
    "cell": "Cell", "rest": "Cell | Table",
}  # fmt: skip
_RESULTS = {
    "number": "float", "text": "str", "cell": "float | str | bool",
    "table": "list[list[float | str | bool]]",
}  # fmt: skip
_STUB = '''\
"""Types of what the package offers. Written by ``python -m hoppersheet.doors``."""

from collections.abc import Sequence
from typing import Literal

from ._version import __version__ as __version__
from .audit import audit_book as audit_book
from .call import OMITTED as OMITTED
from .call import call as call
from .errors import CellError as CellError
from .errors import HoppersheetError as HoppersheetError
from .workbook.compute import compute as compute

#: A number in the unit system, or a text with its own unit: ``"45 kg/h"``.
Number = float | str
Cell = float | str | bool | None
#: A range of numbers: one cell, a row, or a list of rows.
Cells = Number | Sequence[Number | None] | Sequence[Sequence[Number | None]]
#: A range of any cells, as a list of rows.
Table = Sequence[Sequence[Cell]]
Units = Literal["US", "metric"]

__all__: list[str]

'''


def _signature(record: CellFunction) -> Signature:
    """The record's arguments by position or name, ``units`` by name alone."""
    parameters = []
    for argument in record.arguments:
        kind: Any = Parameter.POSITIONAL_OR_KEYWORD
        if argument.name == UNITS.name:
            kind = Parameter.KEYWORD_ONLY
        elif argument.kind == "rest":
            kind = Parameter.VAR_POSITIONAL
        default: Any = Parameter.empty
        if argument.kind != "rest" and not argument.required:
            default = UNITS.default if argument is UNITS else OMITTED
        parameters.append(Parameter(argument.name, kind, default=default))
    return Signature(parameters)


def _documentation(record: CellFunction) -> str:
    lines = [record.summary, "", f"The cell function {record.name}.", "", "Args:"]
    for argument in record.arguments:
        words = argument_words(argument)
        allowed = f" Allowed: {words.allowed}." if words.allowed else ""
        lines.append(f"    {words.name}: {words.text}{allowed}")
    lines += ["", *(f"{title}: {text}." for title, text in facts(record)), ""]
    lines += ["Raises:", "    CellError: as the cell would; .code, .argument and .reason say why."]
    return "\n".join(lines)


def door(name: str) -> Callable[..., Any]:
    """The Python function called ``name``, such as ``required_volume``; KeyError if none is."""
    record = all_functions()[python_names()[name]]
    signature = _signature(record)

    def function(*given: Any, **named: Any) -> Any:
        cells: list[Any] = []
        bound = signature.bind(*given, **named)
        bound.apply_defaults()
        for argument in record.arguments:
            value = bound.arguments[argument.name]
            cells.extend(value if argument.kind == "rest" else (value,))
        return call(record.name, *cells)

    function.__name__ = function.__qualname__ = name
    function.__module__ = "hoppersheet"
    function.__doc__ = _documentation(record)
    function.__signature__ = signature  # type: ignore[attr-defined]
    return function


def _stub_parameter(argument: Argument) -> str:
    if argument is UNITS:
        return f'*,\n    units: Units = "{UNITS.default}"'
    if argument.name == UNITS.name:  # a job list may also be read as it says
        return "*,\n    units: str = ..."
    if argument.kind == "rest":
        return f"*{argument.name}: {_TYPES['rest']}"
    default = "" if argument.required else " = ..."
    return f"{argument.name}: {_TYPES[argument.kind]}{default}"


def stub() -> str:
    """The text of ``__init__.pyi``."""
    text = _STUB
    for name, full_name in python_names().items():
        record = all_functions()[full_name]
        parameters = "".join(f"    {_stub_parameter(a)},\n" for a in record.arguments)
        inside = f"\n{parameters}" if parameters else ""
        text += f"def {name}({inside}) -> {_RESULTS[record.result.kind]}: ...\n"
    return text


if __name__ == "__main__":
    print(stub(), end="")
