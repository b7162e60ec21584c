"""The worksheet functions of Excel, one per entry of the registry.

The VBA names this module in each call, and xlwings calls the functions found in it. Nothing is
written per function: name, parameters, texts and reading of the arguments all come from the
registry, so this file does not change when a function is added.

It imports anywhere. Off Windows xlwings' decorators do nothing, and where xlwings itself is
missing (a Python in the browser) they are replaced by ones that do nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from inspect import Parameter, Signature
from typing import Any

from ...call import OMITTED, call
from ...errors import CellError
from ...functions import all_functions
from ...registry import CATEGORY, Argument, CellFunction
from .cell_values import LEFT_OUT, from_excel, rest_from_excel, to_excel

__all__ = ["MODULE", "worksheet_functions"]

#: What xlwings must import to find the functions.
MODULE = __name__

Decorator = Callable[..., Callable[[Any], Any]]


def _parameter(argument: Argument) -> Parameter:
    if argument.kind == "rest":
        return Parameter(argument.name, Parameter.VAR_POSITIONAL)
    # OMITTED rather than the default itself: only so does a blank cell, which is no default,
    # differ from an argument that was left out.
    default = Parameter.empty if argument.required else OMITTED
    return Parameter(argument.name, Parameter.POSITIONAL_OR_KEYWORD, default=default)


def _reading(argument: Argument) -> dict[str, Any]:
    """How xlwings is to read an argument."""
    # Without err_to_str an error value would arrive as None, like a blank cell.
    options: dict[str, Any] = {"err_to_str": True, "doc": argument.text}
    if argument.is_range or argument.kind == "rest":
        options["ndim"] = 2
    if argument.kind == "rest":
        options["empty"] = ""
    return options


def _plain_function(record: CellFunction) -> Callable[..., Any]:
    """A Python function with the record's name, parameters and text."""
    name = record.name
    fixed = sum(a.kind != "rest" for a in record.arguments)
    only_numbers = record.only_numbers

    def look_closely(*cells: Any) -> Any:
        cells = (*map(from_excel, cells[:fixed]), *map(rest_from_excel, cells[fixed:]))
        try:
            return to_excel(call(name, *cells))
        except CellError as problem:
            return problem.code

    def function(*cells: Any) -> Any:
        if not only_numbers or LEFT_OUT in cells:
            return look_closely(*cells)
        try:
            return call(name, *cells)
        except CellError:  # perhaps for what only Excel has, such as the integer of an error value
            return look_closely(*cells)

    function.__name__ = function.__qualname__ = name
    function.__doc__ = record.summary
    function.__module__ = MODULE
    # xlwings turns type hints into converters; the worksheet functions have none.
    function.__annotations__ = {}
    function.__signature__ = Signature([_parameter(a) for a in record.arguments])  # type: ignore[attr-defined]
    return function


def worksheet_functions(func: Decorator, arg: Decorator) -> dict[str, Callable[..., Any]]:
    """One function per registry entry, marked by ``func`` and ``arg`` (those of xlwings)."""
    functions = {}
    for record in all_functions().values():
        function = _plain_function(record)
        for argument in record.arguments:
            star = "*" if argument.kind == "rest" else ""
            function = arg(star + argument.name, **_reading(argument))(function)
        functions[record.name] = func(category=CATEGORY)(function)
    return functions


def _undecorated(*_: Any, **__: Any) -> Callable[[Any], Any]:
    return lambda function: function


def _decorators() -> tuple[Decorator, Decorator]:
    try:
        import xlwings
    except ImportError:
        return _undecorated, _undecorated
    return xlwings.func, xlwings.arg


globals().update(worksheet_functions(*_decorators()))
