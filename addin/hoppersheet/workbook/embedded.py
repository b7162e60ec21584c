"""The ``formulas`` library as an engine: pure Python, no office, for small books.

Four things are arranged for it. Our functions are registered by name and fed through
:func:`hoppersheet.call`. An argument that a formula leaves out, which the library hands over as 0,
is marked in the copy that it reads. Formulas that refer to other files keep their stored values,
because the library would open those files. Sheet names, which it writes in capitals, are mapped
back.
"""

from __future__ import annotations

import contextlib
import io
import re
import tempfile
from collections.abc import Callable, Collection, Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from ..call import call
from ..cells.values import OMITTED
from ..errors import SHEET_ERRORS, CellError, HostError
from ..functions import all_functions
from .addresses import cells_of
from .formula_places import rewrite
from .package import Package
from .sheet_cells import ErrorText, Value, Values

__all__ = ["Embedded", "mark_omitted"]

#: Stands for an argument that is left out; a private character, so that no text equals it.
_OMITTED_MARK = "\ue000omitted"
_KEY = re.compile(r"'\[[^\]]*\](?P<sheet>.*)'!(?P<area>[A-Z]+[0-9]+(?::[A-Z]+[0-9]+)?)\Z")
_OTHER_FILE = re.compile(r"\[\d+\]")


class Embedded:
    """See :class:`~.engines.Engine`."""

    def __init__(self) -> None:
        import formulas

        self._formulas = formulas
        self.name = f"formulas {formulas.__version__}"
        # The library keeps one table of functions per process; entering ours twice does no harm.
        self._known = formulas.get_functions()
        for name in all_functions():
            self._known[name] = _function(name)

    def unknown(self, functions: Collection[str]) -> set[str]:
        """Which of these function names the library does not know."""
        return {name for name in functions if name.upper() not in self._known}

    def values(self, package: Package) -> Values:
        """The value of every formula cell and of every cell that an array formula fills.

        Raises:
            HostError: the library gives up; its own words are quoted.
        """
        work = package.copy()
        for sheet in work.sheets:
            outside = [
                ref
                for ref, raw in work.scan(sheet.name).cells.items()
                if raw.formula and _OTHER_FILE.search(raw.formula.text)
            ]
            work.freeze(sheet.name, outside)
        rewrite(work, mark_omitted)
        with tempfile.TemporaryDirectory(prefix="hoppersheet-") as folder:
            book = Path(folder, "book.xlsx")
            work.save(book)
            solution = self._solved(book, package)
        return _values(work, solution)

    def _solved(self, book: Path, package: Package) -> Any:
        try:
            # The library shows a progress bar of its own on standard error.
            with contextlib.redirect_stderr(io.StringIO()):
                model = self._formulas.ExcelModel().loads(str(book)).finish()
                return model.calculate()
        except Exception as problem:
            # It raises whatever its parts do: KeyError, RecursionError, kinds of its own.
            said = " ".join(str(problem).split())[:200]
            raise HostError(
                f"{package.path}: the embedded engine ({self.name}) cannot compute it: "
                f"{type(problem).__name__} {said}"
            ) from None


def _values(package: Package, solution: Any) -> Values:
    """The library's results as cell values."""
    results: dict[str, dict[str, Any]] = {sheet.name.upper(): {} for sheet in package.sheets}
    for key, result in solution.items():
        match = _KEY.match(str(key))
        if match and hasattr(result, "value"):
            here = results.get(match["sheet"].replace("''", "'").upper())
            if here is not None:
                here[match["area"]] = result.value
    found: Values = {}
    for sheet in package.sheets:
        here = results[sheet.name.upper()]
        arrays = package.scan(sheet.name).arrays
        cells = found[sheet.name] = {
            area: _value(values[0, 0]) for area, values in here.items() if ":" not in area
        }
        for area in arrays.values():
            if area in here:
                cells.update(zip(cells_of(area), _spread(here[area]), strict=False))
    return found


def _spread(values: Any) -> Iterator[Value]:
    """The values of an array row by row."""
    for row in values.tolist():
        for value in row:
            yield _value(value)


def _value(value: Any) -> Value:
    """One of the library's values as a cell value; its errors and its blank are objects."""
    text = str(value)
    if isinstance(value, str):
        if text in SHEET_ERRORS and type(value) is not str:
            return ErrorText(text)
        return None if text == "empty" and type(value) is not str else text
    if type(value).__name__ in ("bool", "bool_"):
        return bool(value)
    number = float(value)
    return number if number - number == 0.0 else ErrorText("#NUM!")


@cache
def _table_class() -> Any:
    """The library's array, laid into the range of an array formula as the spreadsheets do it."""
    import numpy
    from formulas.functions import Array, Error

    class Table(Array):
        def reshape(self, shape: Any, *more: Any, order: Any = "C") -> Any:
            # The library would refuse a table larger than the range, and would pour one of as
            # many cells but other sides into it cell after cell.
            if self.ndim != 2 or more or not isinstance(shape, tuple) or len(shape) != 2:
                return super().reshape(shape, *more, order=order)
            laid = numpy.full(shape, Error.errors["#N/A"], object)
            rows, columns = (min(a, b) for a, b in zip(shape, self.shape, strict=True))
            laid[:rows, :columns] = self[:rows, :columns]
            return laid

    return Table


def _function(name: str) -> Callable[..., Any]:
    """The cell function ``name`` as the library calls it."""
    import numpy
    from formulas.functions import Error

    def answer(value: Any) -> Any:
        return Error.errors.get(value, value) if isinstance(value, str) else value

    def function(*arguments: Any) -> Any:
        try:
            result = call(name, *map(_argument, arguments))
        except CellError as problem:
            return Error.errors.get(problem.code, Error.errors["#VALUE!"])
        if not isinstance(result, list):
            return answer(result)
        table = numpy.full((len(result), max(map(len, result), default=0)), "", object)
        for down, row in enumerate(result):
            for right, value in enumerate(row):
                table[down, right] = answer(value)
        return table.view(_table_class())

    return function


def _argument(value: Any) -> Any:
    """One argument from the library as :func:`hoppersheet.call` takes it."""
    value = getattr(value, "value", value)  # a range
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, list):
        return [[_value(cell) for cell in row] for row in value]
    return OMITTED if value == _OMITTED_MARK else _value(value)


def mark_omitted(formula: str) -> str:
    """A formula with each argument of our functions that is left out replaced by a mark."""
    if "HOPPER_" not in formula.upper():
        return formula
    from openpyxl.formula import Tokenizer
    from openpyxl.formula.tokenizer import Token

    try:
        tokens = Tokenizer("=" + formula).items
    except Exception:  # it raises whatever a broken formula makes it meet
        return formula
    solid = [token for token in tokens if token.type != Token.WSPACE]
    following = {id(token): after for token, after in pairwise(solid)}
    whole, ours, functions = "", [False], all_functions()
    for token in tokens:
        whole += token.value
        if token.subtype == Token.OPEN:
            ours.append(token.type == Token.FUNC and token.value[:-1].upper() in functions)
        elif token.subtype == Token.CLOSE:
            ours.pop()
        after = following.get(id(token))
        if not ours[-1] or after is None or token.type == Token.WSPACE:
            continue
        separates = token.type == Token.SEP
        # NAME() has no argument at all, but NAME(1,) leaves its second one out.
        if (separates or token.subtype == Token.OPEN) and (
            after.type == Token.SEP or (separates and after.subtype == Token.CLOSE)
        ):
            whole += f'"{_OMITTED_MARK}"'
    return whole
