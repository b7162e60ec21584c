"""Our calls as formulas of the spreadsheet's own functions (Excel 2010, Calc 7.4 and later).

Each record of the registry says in ``plain`` how its function reads in spreadsheet functions for
inputs within their limits. Here the limits and the order of errors are put around it, from the
same record, so that what was an error stays the same error:

    IF(AND(inputs are numbers), IF(AND(inputs within limits), plain, #NUM!), error or #VALUE!)

``SUM(inputs)+#VALUE!`` hands over the first error among the inputs, and is #VALUE! without one.
The language of ``plain``: ``{name}`` is an argument, ``[2.2|1]`` a number in US and in metric
units, ``EACH(...)`` the sum over the cells of ranges that belong together.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..call import number_reader
from ..call_values import is_blank, is_error
from ..errors import CellError, WrongKind
from ..quantities import QUANTITIES, SYSTEMS
from ..registry import UNITS, Argument, CellFunction, get
from ..sizing.conversion import ABSOLUTE_ZERO
from ..units import expression, factor
from ..wording import in_system
from .audit.context import Context
from .audit.evaluate import Area, SizingCall
from .audit.formulas import (
    Binary,
    Call,
    Literal,
    Node,
    Omitted,
    Percent,
    Place,
    Reference,
    Unary,
    Unparsed,
    address,
    quoted_sheet,
    text_of,
)
from .audit.natives import FormulaError, Unknown
from .formula_text import fits_in_formula

__all__ = ["LONGEST", "Frozen", "Translator"]

#: A formula may have 8,192 characters; some programs count a little more.
LONGEST = 8_000
_MOST_CELLS = 30  # of ranges that are written out cell by cell


class _NoEquivalent(Exception):
    """A call cannot be written in spreadsheet functions; the text says why."""


@dataclass(frozen=True)
class Frozen:
    """A call that became its value."""

    call: str
    why: str


class Translator:
    """Writes the calls of one workbook in spreadsheet functions."""

    def __init__(self, context: Context) -> None:
        self.context = context
        self.frozen: list[Frozen] = []
        self._whole = False

    def formula(self, place: Place, tree: Node) -> str | None:
        """The formula (with ``=``) for a cell, None where the whole becomes its value.

        What was frozen in it is in :attr:`frozen` afterwards.
        """
        self.frozen, self._whole = [], False
        new = self._node(tree, place)
        if self._whole or (isinstance(new, Literal) and isinstance(tree, Call)):
            return None
        text = "=" + text_of(new, place)
        if len(text) > LONGEST:
            self.frozen = [Frozen(text_of(tree, place)[:200], "the formula would be too long")]
            return None
        return text

    # -- trees

    def _node(self, node: Node, place: Place) -> Node:
        """The tree with every call of ours replaced."""
        if isinstance(node, Call):
            if node.sizes:
                return self._call(node, place)
            return Call(
                node.name, node.written, tuple(self._node(a, place) for a in node.arguments)
            )
        if isinstance(node, Binary):
            return Binary(
                node.operator, self._node(node.left, place), self._node(node.right, place)
            )
        if isinstance(node, Unary):
            return Unary(node.sign, self._node(node.operand, place))
        if isinstance(node, Percent):
            return Percent(self._node(node.operand, place))
        return node

    def _call(self, node: Call, place: Place) -> Node:
        made = next((c for c in self.context.calls.get(place, []) if c.node is node), None)
        before = len(self.frozen)
        try:
            record = get(node.name)
            if record is None:
                raise _NoEquivalent("there is no such function")
            text = (
                self._convert(node, place, made)
                if node.name == "HOPPER_CONVERT"
                else _Writer(self, record, node, place, made).text()
            )
            if len(text) > LONGEST:
                raise _NoEquivalent("the formula would be too long")
            return Unparsed(text)
        except _NoEquivalent as problem:
            del self.frozen[before:]
            self.frozen.append(Frozen(text_of(node, place)[:200], str(problem)))
            value = _value(made)
            # A long text or one of several lines cannot stand in a formula.
            self._whole |= isinstance(value, str) and not (
                is_error(value) or fits_in_formula(value)
            )
            return Literal(value)

    def argument(self, node: Node, place: Place) -> str:
        """An argument as text that can stand beside any operator."""
        new = self._node(node, place)
        text = text_of(new, place)
        return f"({text})" if isinstance(new, (Binary, Unary, Percent)) else text

    # -- conversion of units

    def _convert(self, node: Call, place: Place, made: SizingCall | None) -> str:
        if len(node.arguments) != 3:
            raise _NoEquivalent("it does not have three arguments")
        if made is not None and isinstance(made.values[0], str) and not is_error(made.values[0]):
            raise _NoEquivalent("the value is a text")
        value, source, target = (self.argument(a, place) for a in node.arguments)
        known = [self._text(a, place) for a in node.arguments[1:]]
        pairs = _pairs(known[0], known[1])
        if not pairs:
            raise _NoEquivalent("its units are not known")
        text = "#VALUE!"
        if not any(_lowest(unit) is not None for pair in pairs for unit in pair):
            text = f"IF({source}={target},{value},#VALUE!)"  # the same unit, whatever it is
        for (one, other), number in reversed(pairs.items()):
            test = f'AND({source}="{one}",{target}="{other}")'
            text = f"IF({test},{_scaled(value, one, *number)},{text})"
        return f"IF(COUNT({value})=1,{text},SUM({value})+#VALUE!)"

    def _text(self, node: Node, place: Place) -> str:
        """The text that an argument gives now, "" where it gives none."""
        try:
            value = self.context.values.evaluate(node, place)
        except (Unknown, FormulaError, RecursionError):
            return ""
        return value.strip() if isinstance(value, str) and not is_error(value) else ""


def _value(made: SizingCall | None) -> Any:
    """What a frozen call becomes."""
    if made is None:
        return "#N/A"
    if made.error is not None:
        return made.error.code
    value = made.result
    if isinstance(value, list):
        value = value[0][0]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _lowest(unit: str) -> float | None:
    """Absolute zero in a unit of temperature, None for other units."""
    return ABSOLUTE_ZERO.get(expression(unit))


def _scaled(value: str, unit: str, scale: float, offset: float) -> str:
    text = value if scale == 1.0 else f"{value}*{_number(scale)}"
    text = text if offset == 0.0 else f"{text}+{_number(offset)}"
    lowest = _lowest(unit)
    return text if lowest is None else f"IF({value}<{_number(lowest)},#NUM!,{text})"


def _number(value: float) -> str:
    """A number as it stands in a formula."""
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return f"{value:.15g}".upper()


def _pairs(source: str, target: str) -> dict[tuple[str, str], tuple[float, float]]:
    """(unit, unit) -> (factor, offset) that a copy is likely to meet."""
    systems = [
        (q.us, q.metric)
        for q in QUANTITIES.values()
        if {source, target} & {q.us, q.metric} and q.us != q.metric
    ][:1]
    units = dict.fromkeys([source, target, *(systems[0] if systems else ())])
    found = {}
    for one in filter(None, units):
        for other in filter(None, units):
            try:
                scale, offset = factor(one, other)
            except WrongKind:
                continue
            if one != other or _lowest(one) is not None:
                found[one, other] = (scale, offset)
    return found


# --- one call -------------------------------------------------------------------------------


class _Writer:
    """Writes one call of a function that has an equivalent."""

    def __init__(
        self,
        translator: Translator,
        record: CellFunction,
        node: Call,
        place: Place,
        made: SizingCall | None,
    ) -> None:
        if not record.plain:
            raise _NoEquivalent("it has no equivalent in spreadsheet functions")
        self.translator, self.record, self.place = translator, record, place
        self.nodes: dict[str, Node] = {}
        for argument, given in zip(record.arguments, node.arguments, strict=False):
            if not isinstance(given, Omitted):
                self.nodes[argument.name] = given
        if len(node.arguments) > len(record.arguments):
            raise _NoEquivalent("it has too many arguments")
        self.made = made if made is not None and made.error is None else None
        self.values = dict(
            zip((a.name for a in record.arguments), made.values if made else (), strict=False)
        )
        self.texts: dict[str, str] = {}
        self.areas: dict[str, Area] = {}
        self.is_metric = ""  # condition, where the unit system is not typed into the call
        self.system = SYSTEMS[0]
        self.right_kind: list[str] = []
        self.in_limits: list[str] = []
        self.all: list[str] = []

    def text(self) -> str:
        """The whole formula, without ``=``."""
        self._read_units()
        for argument in self.record.arguments:
            if argument is not UNITS and argument.kind != "choice":
                self._read(argument)
        bodies = self._bodies()
        errors = f"SUM({','.join(self.all)})+#VALUE!" if self.all else "#VALUE!"
        inner = bodies
        if self.in_limits:
            inner = f"IF(AND({','.join(self.in_limits)}),{inner},#NUM!)"
        if self.right_kind:
            tests = ",".join(dict.fromkeys(self.right_kind))
            return f"IF(AND({tests}),{inner},{errors})"
        return inner

    # -- units

    def _read_units(self) -> None:
        node = self.nodes.get(UNITS.name)
        if node is None:
            return
        if isinstance(node, Literal) and isinstance(node.value, str):
            found = [s for s in SYSTEMS if s.lower() == node.value.strip().lower()]
            if not found:
                raise _NoEquivalent("the unit system is not known")
            self.system = found[0]
            return
        text = self.translator.argument(node, self.place)
        self.is_metric = f'TRIM({text})="metric"'
        self.right_kind.append(f'OR({self.is_metric},TRIM({text})="US")')

    def _constant(self, us: str, metric: str) -> str:
        if us == metric:
            return us
        if self.is_metric:
            return f"IF({self.is_metric},{metric},{us})"
        return us if self.system == SYSTEMS[0] else metric

    def _limit(self, si: float, quantity: str) -> str:
        return self._constant(*(_number(in_system(si, quantity, s)) for s in SYSTEMS))

    # -- arguments

    def _read(self, argument: Argument) -> None:
        node = self.nodes.get(argument.name)
        if node is None:
            if argument.required:
                raise _NoEquivalent(f"{argument.name} is missing")
            self.texts[argument.name] = _number(float(argument.default))
            return
        if argument.kind == "number":
            self._read_number(argument, node)
        elif argument.kind in ("numbers", "places", "pairs", "shares", "cells"):
            self._read_range(argument, node)
        else:
            raise _NoEquivalent(f"{argument.name} is not a number")

    def _read_number(self, argument: Argument, node: Node) -> None:
        if isinstance(node, Literal) and isinstance(node.value, str):
            self.texts[argument.name] = self._typed_text(argument, node.value)
            return
        value = self.values.get(argument.name)
        if self.made is not None and isinstance(value, str):
            raise _NoEquivalent(f"{argument.name} is the text {value!r}")
        text = self.translator.argument(node, self.place)
        self.texts[argument.name] = text
        self.right_kind.append(f"COUNT({text})=1")
        self.all.append(text)
        self._limits(argument, text, text)

    def _typed_text(self, argument: Argument, value: str) -> str:
        """A number with a unit typed into the formula, as the plain number it stands for."""
        if self.is_metric:
            raise _NoEquivalent(f"{argument.name} is the text {value!r}")
        try:
            si = number_reader(argument, self.system)(value)
        except CellError:
            raise _NoEquivalent(f"{argument.name} is the text {value!r}") from None
        return _number(in_system(si, argument.quantity, self.system))

    def _limits(self, argument: Argument, least: str, most: str) -> None:
        limits = argument.limits
        if limits is not None:
            self.in_limits.append(f"{least}>={self._limit(limits[0], argument.quantity)}")
            self.in_limits.append(f"{most}<={self._limit(limits[1], argument.quantity)}")

    def _read_range(self, argument: Argument, node: Node) -> None:
        area = self.translator.context.area_of(node, self.place)
        if area is None:
            raise _NoEquivalent(f"{argument.name} is not a range of cells")
        self.areas[argument.name] = area
        text = self.texts[argument.name] = self.translator.argument(node, self.place)
        if argument.kind == "cells":
            self._same_length(argument, area)
            return
        value = self.values.get(argument.name)
        cells = [c for row in value for c in row] if isinstance(value, list) else [value]
        if self.made is not None and any(isinstance(c, str) and not is_blank(c) for c in cells):
            raise _NoEquivalent(f"a cell of {argument.name} is a text")
        if area[1:3] == area[3:] or (isinstance(node, Reference) and node.single):
            self.right_kind.append(f"COUNT({text})=1")
        else:
            self.right_kind.append(f"COUNT({text})>0")
            filled = f"COUNT({text})+COUNTBLANK({text})"
            self.right_kind.append(f"{filled}=ROWS({text})*COLUMNS({text})")
        self.all.append(text)
        self._limits(argument, f"MIN({text})", f"MAX({text})")
        if argument.kind == "shares":
            total = f"SUM({text})"
            self.in_limits.append(
                f"OR(ABS({total}-1)<=0.001000000001,ABS({total}-100)<=0.1000000001)"
            )

    def _same_length(self, argument: Argument, area: Area) -> None:
        """A column to read from goes with the sizes, cell by cell."""
        for other in self.areas.values():
            shapes = [(a[3] - a[1] + 1, a[4] - a[2] + 1) for a in (area, other)]
            if shapes[0] != shapes[1] or 1 not in shapes[0]:
                raise _NoEquivalent(f"{argument.name} is not as long as the other range")

    # -- the body

    def _bodies(self) -> str:
        """The equivalent; where an option is not typed into the call, one per option."""
        plain = self.record.plain
        if isinstance(plain, str):
            return self._limited(self._filled(plain))
        argument = next(a for a in self.record.arguments if a.kind == "choice" and a is not UNITS)
        node = self.nodes.get(argument.name)
        words = {option: (option, *argument.choices[option]) for option in plain}
        if node is None or isinstance(node, Literal):
            wanted = str(argument.default if node is None else node.value).strip().lower()
            found = [o for o, spelled in words.items() if wanted in spelled]
            if not found:
                raise _NoEquivalent(f"{argument.name} is not one of its options")
            return self._limited(self._filled(plain[found[0]]))
        text = self.translator.argument(node, self.place)
        result = f"IF(ISERROR({text}),{text},#VALUE!)"
        for option, spelled in reversed(words.items()):
            listed = ",".join(f'"{word}"' for word in spelled)
            body = self._limited(self._filled(plain[option]))
            result = f"IF(ISNUMBER(MATCH(TRIM({text}),{{{listed}}},0)),{body},{result})"
        return result

    def _limited(self, body: str) -> str:
        """The result's own limits, where the record asks for them."""
        result = self.record.result
        if not result.limited:
            return body
        measure = QUANTITIES[result.quantity]
        low, high = (self._limit(x, measure.name) for x in (measure.low, measure.high))
        return f"IF(AND({body}>={low},{body}<={high}),{body},#NUM!)"

    def _filled(self, plain: str) -> str:
        text = re.sub(r"\[([^|\]]+)\|([^\]]+)\]", lambda m: self._constant(m[1], m[2]), plain)
        text = re.sub(r"EACH\(([^()]*)\)", lambda m: self._each(m[1]), text)
        return self._named(text, self.texts)

    def _named(self, plain: str, texts: Mapping[str, str]) -> str:
        return re.sub(r"\{(\w+)\}", lambda m: texts[m[1]], plain)

    def _each(self, term: str) -> str:
        """The sum of a term over the cells of ranges that belong together."""
        names = list(dict.fromkeys(re.findall(r"\{(\w+)\}", term)))
        shapes = {(a[3] - a[1], a[4] - a[2]) for n in names for a in [self.areas[n]]}
        in_line = {sum(shape) for shape in shapes if 0 in shape}  # a row goes with a column
        if len(shapes) != 1 and (len(in_line) != 1 or any(0 not in shape for shape in shapes)):
            raise _NoEquivalent("the ranges are not of one shape")
        cells = [self._cells(name) for name in names]
        if len(cells[0]) > _MOST_CELLS:
            raise _NoEquivalent(f"the ranges have more than {_MOST_CELLS} cells")
        terms = []
        for group in zip(*cells, strict=True):
            here = dict(zip(names, group, strict=True))
            terms.append(f"IF(COUNT({group[-1]})=0,0,{self._named(term, here)})")
            self.right_kind.append(f"COUNT({group[0]})=COUNT({group[-1]})")
        return f"({'+'.join(terms)})"

    def _cells(self, name: str) -> list[str]:
        """The cells of a range, each as a reference of its own, fixed as the range is."""
        sheet, r1, c1, r2, c2 = self.areas[name]
        node = self.nodes[name]
        before = "" if sheet == self.place[0] else f"{quoted_sheet(sheet)}!"
        rows = columns = ""
        if isinstance(node, Reference):
            rows = "$" if node.first.row_fixed and node.last.row_fixed else ""
            columns = "$" if node.first.column_fixed and node.last.column_fixed else ""
        else:
            rows = columns = "$"
        found = []
        for row in range(r1, r2 + 1):
            for column in range(c1, c2 + 1):
                letters = re.sub(r"\d", "", address(row, column))
                found.append(f"{before}{columns}{letters}{rows}{row}")
        return found
