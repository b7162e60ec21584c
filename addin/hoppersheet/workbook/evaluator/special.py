"""Functions that decide which arguments are evaluated, or that look at cells themselves."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from ...errors import CellError
from ..formulas import Call, Node, Omitted, Place, Word, let_body, walk
from .functions import NATIVES
from .operators import compare, each
from .references import Area, References, Scope, local_name
from .values import FormulaError, Unknown, is_error, number, scalar, truth

__all__ = ["SPECIALS", "Evaluation", "applied"]


class Evaluation(References):
    """What functions and the parts of formulas need of the reader.

    Attributes:
        rounds: whether functions that round do.
    """

    rounds = True

    def operand(self, node: Node, scope: Scope) -> Any:
        """The value of a tree where one value is expected."""
        raise NotImplementedError

    def caught(self, node: Node, scope: Scope) -> Any:
        """The value of a tree; an error as a value."""
        raise NotImplementedError

    def note_call(
        self, node: Call, place: Place, values: Sequence[Any], result: Any, error: CellError | None
    ) -> None:
        """Note a call of ours where calls are noted."""
        raise NotImplementedError

    def hide_errors_since(self, made: int) -> None:
        """The errors of our functions' calls since then do not reach the cell."""
        raise NotImplementedError

    def calls_made(self) -> int:
        """How many calls of our functions were made so far."""
        raise NotImplementedError


def _needs(node: Call, least: int, most: int = 255) -> tuple[Node, ...]:
    count = len(node.arguments)
    if not least <= count <= most:
        raise Unknown(f"{node.name} with {count} arguments")
    return node.arguments


def _as_result(value: Any) -> Any:
    return 0.0 if value is None else value


def _if(reader: Evaluation, node: Call, scope: Scope) -> Any:
    arguments = _needs(node, 2, 3)
    test = reader.operand(arguments[0], scope)
    if isinstance(test, list):
        branches = [reader.caught(branch, scope) for branch in arguments[1:]] + [False] * (
            3 - len(arguments)
        )
        return each(lambda t, yes, no: scalar(_as_result(yes if truth(t) else no)), test, *branches)
    if truth(test):
        return _as_result(reader.value(arguments[1], scope))
    return _as_result(reader.value(arguments[2], scope)) if len(arguments) > 2 else False


def _first_true(reader: Evaluation, node: Call, scope: Scope) -> Any:
    arguments = _needs(node, 2)
    if len(arguments) % 2:
        raise Unknown(f"IFS with {len(arguments)} arguments")
    for test, result in zip(arguments[::2], arguments[1::2], strict=True):
        found = reader.operand(test, scope)
        if isinstance(found, list):
            raise Unknown("IFS of a range")
        if truth(found):
            return _as_result(reader.value(result, scope))
    raise FormulaError("#N/A")


def _switch(reader: Evaluation, node: Call, scope: Scope) -> Any:
    arguments = _needs(node, 3)
    wanted = scalar(reader.operand(arguments[0], scope))
    pairs = arguments[1:]
    for case, result in zip(pairs[::2], pairs[1::2], strict=False):
        found = scalar(reader.operand(case, scope))
        if isinstance(found, str) == isinstance(wanted, str) and compare("=", found, wanted):
            return _as_result(reader.value(result, scope))
    if len(pairs) % 2:
        return _as_result(reader.value(pairs[-1], scope))
    raise FormulaError("#N/A")


def _choose(reader: Evaluation, node: Call, scope: Scope) -> Any:
    arguments = _needs(node, 2)
    at = reader.operand(arguments[0], scope)
    if isinstance(at, list):
        values = [reader.caught(argument, scope) for argument in arguments[1:]]
        return each(lambda one: _nth(values, number(one)), at)
    index = math.floor(number(at))
    if not 1 <= index < len(arguments):
        raise FormulaError("#VALUE!")
    return reader.value(arguments[index], scope)


def _nth(values: list[Any], at: float) -> Any:
    if not 1 <= at < len(values) + 1:
        raise FormulaError("#VALUE!")
    return scalar(values[math.floor(at) - 1])


def _guarded(reader: Evaluation, node: Call, scope: Scope) -> Any:
    arguments = _needs(node, 1, 2)
    before = reader.calls_made()
    found = reader.caught(arguments[0], scope)
    wanted = ("#N/A",) if node.name == "IFNA" else None

    def caught(value: Any) -> bool:
        return is_error(value) and (wanted is None or value in wanted)

    if isinstance(found, list):
        instead = reader.caught(arguments[1], scope) if len(arguments) > 1 else ""
        return each(lambda one, other: scalar(other) if caught(one) else one, found, instead)
    if not caught(found):
        return scalar(found)
    reader.hide_errors_since(before)
    return _as_result(reader.value(arguments[1], scope)) if len(arguments) > 1 else ""


def _let(reader: Evaluation, node: Call, scope: Scope) -> Any:
    arguments = _needs(node, 3)
    if len(arguments) % 2 == 0:
        raise Unknown(f"LET with {len(arguments)} arguments")
    if any(isinstance(part, Call) and part.sizes for part in walk(node)):
        # calls of ours are told from which cells they take their inputs
        body = let_body(node)
        if body is not None:
            return reader.value(body, scope)
    for name, value in zip(arguments[:-1:2], arguments[1:-1:2], strict=True):
        if not isinstance(name, Word):
            raise Unknown("LET with what is no name")
        scope = scope.with_local({local_name(name.text): reader.caught(value, scope)})
    return reader.value(arguments[-1], scope)


def applied(reader: Evaluation, function: Call, node: Call, scope: Scope) -> Any:
    """A function of the workbook's own: a name that stands for a LAMBDA."""
    *names, body = function.arguments
    if len(node.arguments) > len(names):
        raise FormulaError("#VALUE!")
    given: dict[str, Any] = {}
    for at, name in enumerate(names):
        if not isinstance(name, Word):
            raise Unknown(f"{node.name}, a LAMBDA that is not understood")
        argument = node.arguments[at] if at < len(node.arguments) else Omitted()
        if isinstance(argument, Omitted):
            if not name.text.lower().startswith("_xlop."):
                raise FormulaError("#VALUE!")
            raise Unknown(f"{node.name} with an argument left out")
        given[local_name(name.text)] = reader.caught(argument, scope)
    return reader.value(body, scope.called(given))


def _position(reader: Evaluation, node: Call, scope: Scope) -> Any:
    arguments = _needs(node, 0, 1)
    down = node.name == "ROW"
    if not arguments:
        return float(scope.place[1] if down else scope.place[2])
    area = reader.area(arguments[0], scope)
    if area is None:
        raise Unknown(f"{node.name} of a calculated range")
    first, last = (area[1], area[3]) if down else (area[2], area[4])
    if not scope.arrays or first == last:
        return float(first)
    numbers = [float(n) for n in range(first, last + 1)]
    return [[n] for n in numbers] if down else [numbers]


def _size(reader: Evaluation, node: Call, scope: Scope) -> float:
    (argument,) = _needs(node, 1, 1)
    area = reader.area(argument, scope)
    down = node.name == "ROWS"
    if area is not None:
        return float(area[3] - area[1] + 1 if down else area[4] - area[2] + 1)
    value = reader.value(argument, scope.with_arrays())
    if not isinstance(value, list):
        scalar(value)
        return 1.0
    return float(len(value) if down else len(value[0]))


def _is_formula(reader: Evaluation, node: Call, scope: Scope) -> bool:
    (argument,) = _needs(node, 1, 1)
    area = reader.area(argument, scope)
    if area is None:
        raise FormulaError("#VALUE!")
    cell = reader.book.cell(area[:3])
    return cell is not None and cell.formula is not None


def _is_reference(reader: Evaluation, node: Call, scope: Scope) -> bool:
    (argument,) = _needs(node, 1, 1)
    return reader.area(argument, scope) is not None


def _single(reader: Evaluation, node: Call, scope: Scope) -> Any:
    """``@``: the one cell of a range in the formula's own row or column."""
    (argument,) = _needs(node, 1, 1)
    value = reader.operand(argument, Scope(scope.place, False, scope.local, scope.deep))
    return value[0][0] if isinstance(value, list) else value


# --- figures of what is shown -----------------------------------------------------------------

_KINDS = {
    1: "AVERAGE", 2: "COUNT", 3: "COUNTA", 4: "MAX", 5: "MIN", 6: "PRODUCT", 7: "STDEV",
    8: "STDEVP", 9: "SUM", 10: "VAR", 11: "VARP", 12: "MEDIAN", 13: "MODE", 14: "LARGE",
    15: "SMALL", 16: "PERCENTILE.INC", 17: "QUARTILE.INC",
}  # fmt: skip
_LAST_OF_SUBTOTAL = 11
_HIDDEN_TOO = 100
_FIRST_WITH_PLACE = 14


def _shown_cells(
    reader: Evaluation, area: Area, skip_hidden: bool, skip_totals: bool
) -> Iterator[Any]:
    """The values of a range without rows that a filter hides, and without other subtotals."""
    sheet = reader.book.sheets[area[0]]
    filtered = sheet.filtered_rows
    values = reader.area_values(area)
    for down, row in enumerate(values):
        number_ = area[1] + down
        if number_ in filtered or (skip_hidden and number_ in sheet.hidden_rows):
            continue
        for right, value in enumerate(row):
            cell = sheet.cells.get((number_, area[2] + right))
            if (
                skip_totals
                and cell is not None
                and cell.tree is not None
                and any(
                    isinstance(part, Call) and part.name in ("SUBTOTAL", "AGGREGATE")
                    for part in walk(cell.tree)
                )
            ):
                continue
            yield value


def _subtotal(reader: Evaluation, node: Call, scope: Scope) -> Any:
    arguments = _needs(node, 2)
    kind = math.floor(reader.number(arguments[0], scope))
    name = _KINDS.get(kind % _HIDDEN_TOO)
    if name is None or kind % _HIDDEN_TOO > _LAST_OF_SUBTOTAL:
        raise FormulaError("#VALUE!")
    found: list[list[Any]] = []
    for argument in arguments[1:]:
        area = reader.area(argument, scope)
        if area is None:
            raise FormulaError("#VALUE!")
        found.append(list(_shown_cells(reader, area, kind > _HIDDEN_TOO, True)))
    return NATIVES[name].work(*([row] for row in found))


def _aggregate(reader: Evaluation, node: Call, scope: Scope) -> Any:
    arguments = _needs(node, 3)
    kind, option = (math.floor(reader.number(a, scope)) for a in arguments[:2])
    name = _KINDS.get(kind)
    if name is None or not 0 <= option <= 7:
        raise FormulaError("#VALUE!")
    ends = len(arguments) - (kind >= _FIRST_WITH_PLACE)
    found: list[Any] = []
    for argument in arguments[2:ends]:
        area = reader.area(argument, scope)
        if area is not None:
            found += _shown_cells(reader, area, option in (1, 3, 5, 7), option < 4)
        else:
            value = reader.value(argument, scope.with_arrays())
            found += [cell for row in value for cell in row] if isinstance(value, list) else [value]
    if option in (2, 3, 6, 7):
        found = [value for value in found if not is_error(value)]
    more = [reader.number(a, scope) for a in arguments[ends:]]
    return NATIVES[name].work([found], *more)


def _chosen_by_one(reader: Evaluation, node: Call, scope: Scope) -> Any:
    """SUMIF and AVERAGEIF, whose second range has the size of the first whatever is written."""
    arguments = _needs(node, 2, 3)
    area, other = reader.area(arguments[0], scope), None
    if len(arguments) > 2 and not isinstance(arguments[2], Omitted):
        other = reader.area(arguments[2], scope)
        if area is None or other is None:
            raise FormulaError("#VALUE!")
        down, right = area[3] - area[1], area[4] - area[2]
        other = (*other[:3], other[1] + down, other[2] + right)
    elif area is None:
        raise FormulaError("#VALUE!")
    wanted = reader.caught(arguments[1], scope)
    tested = reader.area_values(area)
    summed = tested if other is None else reader.area_values(other)
    return each(lambda one: NATIVES[node.name].work(tested, one, summed), wanted)


SPECIALS: dict[str, Callable[[Evaluation, Call, Scope], Any]] = {
    "IF": _if,
    "IFS": _first_true,
    "SWITCH": _switch,
    "CHOOSE": _choose,
    "IFERROR": _guarded,
    "IFNA": _guarded,
    "LET": _let,
    "ROW": _position,
    "COLUMN": _position,
    "ROWS": _size,
    "COLUMNS": _size,
    "ISFORMULA": _is_formula,
    "ISREF": _is_reference,
    "SINGLE": _single,
    "SUMIF": _chosen_by_one,
    "AVERAGEIF": _chosen_by_one,
    "SUBTOTAL": _subtotal,
    "AGGREGATE": _aggregate,
}
