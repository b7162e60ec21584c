"""One call of one of our functions, written in spreadsheet functions."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from ..cells.quantities import QUANTITIES, SYSTEMS
from ..cells.reading import number_reader
from ..cells.values import is_blank
from ..cells.wording import in_system
from ..errors import CellError
from ..registry import UNITS, Argument, CellFunction
from ..workbook.evaluator import Area, SizingCall
from ..workbook.formulas import (
    Call,
    Literal,
    Node,
    Omitted,
    Place,
    Reference,
    address,
    quoted_sheet,
)
from .equivalents import NoEquivalent, number_text

__all__ = ["CallWriter"]

_MOST_CELLS = 30  # of ranges that are written out cell by cell


class CallWriter:
    """Writes one call of a function that has an equivalent.

    Args:
        argument: the text of an argument for a formula in a place.
        area_of: the range of cells that an argument names in a place, None where it names none.
    """

    def __init__(
        self,
        argument: Callable[[Node, Place], str],
        area_of: Callable[[Node, Place], Area | None],
        record: CellFunction,
        node: Call,
        place: Place,
        made: SizingCall | None,
    ) -> None:
        if not record.plain:
            raise NoEquivalent("it has no equivalent in spreadsheet functions")
        self.argument, self.area_of = argument, area_of
        self.record, self.place = record, place
        self.nodes: dict[str, Node] = {}
        for known, given in zip(record.arguments, node.arguments, strict=False):
            if not isinstance(given, Omitted):
                self.nodes[known.name] = given
        if len(node.arguments) > len(record.arguments):
            raise NoEquivalent("it has too many arguments")
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
                raise NoEquivalent("the unit system is not known")
            self.system = found[0]
            return
        text = self.argument(node, self.place)
        self.is_metric = f'TRIM({text})="metric"'
        self.right_kind.append(f'OR({self.is_metric},TRIM({text})="US")')

    def _constant(self, us: str, metric: str) -> str:
        if us == metric:
            return us
        if self.is_metric:
            return f"IF({self.is_metric},{metric},{us})"
        return us if self.system == SYSTEMS[0] else metric

    def _limit(self, si: float, quantity: str) -> str:
        return self._constant(*(number_text(in_system(si, quantity, s)) for s in SYSTEMS))

    # -- arguments

    def _read(self, argument: Argument) -> None:
        node = self.nodes.get(argument.name)
        if node is None:
            if argument.required:
                raise NoEquivalent(f"{argument.name} is missing")
            self.texts[argument.name] = number_text(float(argument.default))
            return
        if argument.kind == "number":
            self._read_number(argument, node)
        elif argument.kind in ("numbers", "positions", "pairs", "shares", "cells"):
            self._read_range(argument, node)
        else:
            raise NoEquivalent(f"{argument.name} is not a number")

    def _read_number(self, argument: Argument, node: Node) -> None:
        if isinstance(node, Literal) and isinstance(node.value, str):
            self.texts[argument.name] = self._typed_text(argument, node.value)
            return
        value = self.values.get(argument.name)
        if self.made is not None and isinstance(value, str):
            raise NoEquivalent(f"{argument.name} is the text {value!r}")
        text = self.argument(node, self.place)
        self.texts[argument.name] = text
        self.right_kind.append(f"COUNT({text})=1")
        self.all.append(text)
        self._limits(argument, text, text)

    def _typed_text(self, argument: Argument, value: str) -> str:
        """A number with a unit typed into the formula, as the plain number it stands for."""
        if self.is_metric:
            raise NoEquivalent(f"{argument.name} is the text {value!r}")
        try:
            si = number_reader(argument, self.system)(value)
        except CellError:
            raise NoEquivalent(f"{argument.name} is the text {value!r}") from None
        return number_text(in_system(si, argument.quantity, self.system))

    def _limits(self, argument: Argument, least: str, most: str) -> None:
        limits = argument.limits
        if limits is not None:
            self.in_limits.append(f"{least}>={self._limit(limits[0], argument.quantity)}")
            self.in_limits.append(f"{most}<={self._limit(limits[1], argument.quantity)}")

    def _read_range(self, argument: Argument, node: Node) -> None:
        area = self.area_of(node, self.place)
        if area is None:
            raise NoEquivalent(f"{argument.name} is not a range of cells")
        self.areas[argument.name] = area
        text = self.texts[argument.name] = self.argument(node, self.place)
        if argument.kind == "cells":
            self._same_length(argument, area)
            return
        value = self.values.get(argument.name)
        cells = [c for row in value for c in row] if isinstance(value, list) else [value]
        if self.made is not None and any(isinstance(c, str) and not is_blank(c) for c in cells):
            raise NoEquivalent(f"a cell of {argument.name} is a text")
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
                raise NoEquivalent(f"{argument.name} is not as long as the other range")

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
                raise NoEquivalent(f"{argument.name} is not one of its options")
            return self._limited(self._filled(plain[found[0]]))
        text = self.argument(node, self.place)
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
            raise NoEquivalent("the ranges are not of one shape")
        cells = [self._cells(name) for name in names]
        if len(cells[0]) > _MOST_CELLS:
            raise NoEquivalent(f"the ranges have more than {_MOST_CELLS} cells")
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
