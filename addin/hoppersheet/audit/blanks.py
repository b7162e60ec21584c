"""Blank cells that a function takes as 0: where they are, and what the 0 gives.

A formula such as ``=B7`` makes a 0 of a blank cell in every program. And where an argument that may
be left out refers to a blank cell, LibreOffice Calc hands over a 0, which no add-in can tell from
a typed one (reserve, shortfall, altitude); Excel hands over a blank, and the function refuses it.
A blank cell that a required argument refers to is refused in both.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ..call import call as compute
from ..cells.reading import number_reader
from ..cells.wording import with_unit
from ..errors import CellError
from ..functions import get
from ..registry import UNITS, Argument
from ..workbook.evaluator import FormulaError, SizingCall, Unknown
from ..workbook.formulas import Call, Node, Place
from .calls import Calls

__all__ = ["BlankRead", "blank_reads"]


@dataclass(frozen=True)
class BlankRead:
    """A blank cell that an argument takes as 0.

    Attributes:
        place: the blank cell.
        repeated: a formula makes the 0, so every program shows the number; otherwise only Calc.
        result: what the function gives with the 0.
        values: the arguments with the 0.
        zero: what the 0 is taken for, such as ``"0 degF"``.
    """

    call: SizingCall
    argument: Argument
    place: Place
    repeated: bool
    result: Any
    values: tuple[Any, ...]
    system: str
    zero: str


def _blank_behind(context: Calls, node: Node, place: Place) -> tuple[Place, bool] | None:
    """(blank cell that a tree takes its value from, whether a formula makes a 0 of it)."""
    if isinstance(node, Call):
        try:
            if node.name == "IF" and len(node.arguments) > 2:
                test = context.values.evaluate(node.arguments[0], place)
                return _blank_behind(context, node.arguments[1 if test else 2], place)
        except (Unknown, FormulaError):
            return None
        if node.name in ("IFERROR", "IFNA"):
            return _blank_behind(context, node.arguments[0], place)
        return None
    area = context.area_of(node, place)
    if area is None or area[1:3] != area[3:]:
        return None
    cell = context.book.cell(area[:3])
    if cell is None or (cell.formula is None and cell.value is None and not cell.spill):
        return area[:3], False
    if cell.tree is None or context.value(cell.place) != 0.0:
        return None
    behind = _blank_behind(context, cell.tree, cell.place)
    return None if behind is None else (behind[0], True)


def _accepts_zero(argument: Argument, system: str) -> bool:
    if argument.kind != "number" or not argument.quantity:
        return False
    try:
        number_reader(argument, system)(0.0)
    except CellError:
        return False
    return True


def _system(call: SizingCall) -> str:
    record = get(call.name)
    at = len(record.arguments) - 1 if record is not None and record.has_units else -1
    given = call.values[at] if 0 <= at < len(call.values) else ""
    return next((s for s in UNITS.choices if str(given).strip().lower() == s.lower()), "US")


def _zero(argument: Argument, system: str) -> str:
    """What a plain 0 is taken for: ``"0 degF"``, ``"0"``."""
    measure = argument.measure
    if measure is None or measure.unit(system) == "1":
        return "0"
    return with_unit(number_reader(argument, system)(0.0), measure.name, system)


def blank_reads(context: Calls) -> Iterator[BlankRead]:
    """Every argument that takes a blank cell as 0 in a call that then has a result."""
    for call in context.all_calls():
        found: list[tuple[int, Argument, Place, bool]] = []
        values = list(call.values)
        system = _system(call)
        for at, (argument, node, value) in enumerate(context.arguments(call)):
            if value not in (None, 0.0) or not _accepts_zero(argument, system):
                continue
            behind = _blank_behind(context, node, call.place)
            if behind is not None and (behind[1] or not argument.required):
                found.append((at, argument, *behind))
                values[at] = 0.0
        if not found:
            continue
        try:
            result = compute(call.name, *values)
        except CellError:
            continue  # another input is missing: there is no number to mistrust
        for _, argument, place, repeated in found:
            zero = _zero(argument, system)
            yield BlankRead(call, argument, place, repeated, result, tuple(values), system, zero)
