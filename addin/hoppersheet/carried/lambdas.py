"""One cell function as a LAMBDA, written from its record.

Every one has the same form::

    LAMBDA(throughput, ..., [units], LET(
        metric, whether plain numbers are metric,
        throughput_, the argument as a number within its limits, or the error that it is,
        ...
        problem, the first of these errors, in the order in which the core reads them,
        IF(ISERROR(problem), an error among the inputs before any other, the plain formula)))
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from ..cells.quantities import QUANTITIES, SYSTEMS
from ..cells.wording import in_system
from ..functions import all_functions
from ..registry import UNITS, Argument, CellFunction
from .helpers import helpers

__all__ = ["carried", "lambda_text", "names_needed"]

_RANGES = ("numbers", "positions", "pairs", "shares")
_IN_STEP = ("pairs", "shares")


def _number(value: float, down: bool | None = None) -> str:
    """A number as formula text; a limit is widened in its last digit, as the core widens it."""
    text = f"{value:.15g}"
    if down is not None and len(text.strip("-0").replace(".", "")) > 12:
        text = f"{value * (1 + (-1e-12 if down == (value > 0) else 1e-12)):.14g}"
    return text.replace("e", "E")


def _either(us: str, metric: str) -> str:
    return us if us == metric else f"IF(metric,{metric},{us})"


def _limit(si: float, quantity: str, down: bool) -> str:
    return _either(*(_number(in_system(si, quantity, system), down) for system in SYSTEMS))


def _quoted(text: str) -> str:
    doubled = text.replace('"', '""')
    return f'"{doubled}"'


def _home(argument: Argument) -> str:
    """The unit of plain numbers, as formula text; "" for a plain ratio."""
    assert argument.measure is not None
    units = (argument.measure.unit(system) for system in SYSTEMS)
    return _either(*(_quoted("" if unit == "1" else unit) for unit in units))


class _Writer:
    """Collects the parts of one LAMBDA."""

    def __init__(self, record: CellFunction) -> None:
        self.record = record
        self.steps: list[str] = []
        self.late: list[str] = []  # steps that take other arguments
        self.problems: list[str] = []
        self.texts: dict[str, str] = {}

    def text(self) -> str:
        """The whole LAMBDA."""
        record = self.record
        parameters = [a.name if a.required else f"[{a.name}]" for a in record.arguments]
        if record.has_units:
            self._given(UNITS, "metric", "FALSE", "HOPPERSHEET_METRIC(units)")
            self.problems.append("metric")
        for argument in record.arguments:
            if argument is not UNITS:
                self._read(argument)
        self._in_step()
        body = self._checked(self._result())
        if self.steps:
            body = f"LET({','.join([*self.steps, *self.late])},{body})"
        return f"LAMBDA({','.join([*parameters, body])})"

    # -- arguments

    def _given(self, argument: Argument, name: str, default: str, text: str) -> None:
        if not argument.required:
            text = f"IF(ISOMITTED({argument.name}),{default},{text})"
        self.steps.append(f"{name},{text}")

    def _problem(self, name: str, text: str) -> None:
        """A step that is 0, or an error."""
        self.steps.append(f"{name},{text}")
        self.problems.append(name)

    def _read(self, argument: Argument) -> None:
        name = f"{argument.name}_"
        self.texts[argument.name] = name
        if argument.kind == "choice":
            default = _quoted(str(argument.default))
            self._given(argument, name, default, f"HOPPERSHEET_CHOICE({argument.name})")
            words = "{" + ",".join(_quoted(w) for w in _words_of(argument)) + "}"
            self._problem(
                f"known_{name}", f"IF(ISERROR({name}),{name},IF(OR({name}={words}),0,#VALUE!))"
            )
        elif argument.kind in ("cells", "cell"):
            self.texts[argument.name] = argument.name
            if not argument.required:
                default = _quoted(str(argument.default))
                self._given(argument, name, default, argument.name)
                self.texts[argument.name] = name
            if argument.kind == "cell":
                self.problems.append(
                    f"IF(ROWS({argument.name})*COLUMNS({argument.name})=1,0,#VALUE!)"
                )
        elif argument.kind == "text":
            self._given(argument, name, "", f"HOPPERSHEET_PHRASE({argument.name})")
            self.problems.append(name)
        else:
            self._read_numbers(argument, name)

    def _read_numbers(self, argument: Argument, name: str) -> None:
        assert argument.limits is not None
        low, high = argument.limits
        how = ",".join(
            (
                argument.name,
                _home(argument),
                _limit(low, argument.quantity, True),
                _limit(high, argument.quantity, False),
            )
        )
        if argument.kind == "estimate":
            self.steps.append(f"{name},HOPPERSHEET_ESTIMATE({how})")
            self._problem(f"first_{name}", f"SUM({name})")
            return
        if argument.actual_flow is not None:
            # See sizing.air: the mass of air at the temperature and the altitude of the call.
            metres = f"altitude_*{_either('0.3048', '1')}"
            kelvin = f"(from_temperature_+{_either('459.67', '273.15')})*{_either('5/9', '1')}"
            how += f",{kelvin},1/(1-0.0000225577*{metres})^5.2559"
            self.late.append(f"{name},HOPPERSHEET_FLOW({how})")
            self.problems.append(name)
            return
        if argument.kind not in _RANGES:
            default = "" if argument.required else _number(float(argument.default))
            self._given(argument, name, default, f"HOPPERSHEET_NUMBER({how})")
            self.problems.append(name)
            return
        read = f"HOPPERSHEET_CELLS({how})"
        if argument.kind == "numbers":
            self.steps.append(f"all_{name},{read}")
            self.steps.append(f"{name},HOPPERSHEET_FILLED(all_{name})")
            self._problem(f"first_{name}", f"HOPPERSHEET_ERROR(all_{name},SUM({name}))")
        else:
            self.steps.append(f"{name},{read}")
            self._problem(f"first_{name}", f"HOPPERSHEET_ERROR({name},0)")

    def _in_step(self) -> None:
        """Ranges that belong together cell by cell: as many cells, in shapes that agree."""
        pairs = [a for a in self.record.arguments if a.kind in _IN_STEP]
        if not pairs:
            self._column_beside()
            return
        first, *others = (a.name for a in pairs)
        for other in others:
            self._problem(f"shape_{other}", _same_shape(first, other))
        for a in pairs:
            filled = f'MAP({a.name}_,LAMBDA(cell,cell<>""))'
            self.steps.append(f"filled_{a.name},{filled}")
        for other in others:
            # Only where shapes agree; before that the comparison itself is an error.
            self._problem(
                f"beside_{other}",
                f"IF(SUM(MAP(filled_{first},filled_{other},LAMBDA(one,two,IF(one=two,0,1))))=0,0,"
                "#VALUE!)",
            )
        self._problem(f"some_{first}", f"IF(OR(filled_{first}),0,#VALUE!)")
        for a in pairs:
            self.steps.append(f"kept_{a.name},FILTER({a.name}_,filled_{first},#VALUE!)")
            self.texts[a.name] = f"kept_{a.name}"
            if a.kind == "shares":
                self.steps.append(f"total,SUM(kept_{a.name})")
                self._problem(
                    f"whole_{a.name}",
                    "IF(ABS(total-IF(total<10,1,100))<=IF(total<10,0.001000000001,0.1000000001),0,"
                    "#NUM!)",
                )

    def _column_beside(self) -> None:
        """A column of raw cells beside a range: one column or row, as long as the range."""
        kinds = {a.kind: a.name for a in self.record.arguments}
        if "positions" in kinds and "cells" in kinds:
            sizes, column = kinds["positions"], kinds["cells"]
            cells = "ROWS({0})*COLUMNS({0})".format
            self._problem(
                f"shape_{column}",
                f"IF(AND({cells(column)}={cells(sizes)},"
                f"OR(ROWS({column})=1,COLUMNS({column})=1)),0,#VALUE!)",
            )

    # -- the result

    def _checked(self, result: str) -> str:
        if not self.problems:
            return result
        *before, problem = self.problems
        for one in reversed(before):
            problem = f"IF(ISERROR({one}),{one},{problem})"
        inputs = "0"
        read = [a for a in self.record.arguments if a.kind not in ("cells", "rest")]
        for a in read:
            given = a.name if a.required else f"IF(ISOMITTED({a.name}),0,{a.name})"
            inputs = f"HOPPERSHEET_ERROR({given},{inputs})"
        why = "problem"
        if self.record.has_units:
            systems = ",".join(
                f"HOPPERSHEET_SYSTEM({a.name})" for a in self.record.arguments if a is not UNITS
            )
            why = f"IF(OR({systems}),#VALUE!,problem)"
        why = f"IF(ISERROR(input),input,{why})"
        return f"LET(problem,{problem},IF(ISERROR(problem),LET(input,{inputs},{why}),{result}))"

    def _result(self) -> str:
        record = self.record
        if record.carried or isinstance(record.plain, str):
            body = self._filled_in(record.carried or str(record.plain))
        else:
            body = self._chosen(record.plain)
        if record.result.limited:
            quantity = QUANTITIES[record.result.quantity]
            low = _limit(quantity.low, quantity.name, True)
            high = _limit(quantity.high, quantity.name, False)
            body = f"LET(result,{body},IF(AND(result>={low},result<={high}),result,#NUM!))"
        return body

    def _chosen(self, plain: Mapping[str, str]) -> str:
        """One formula per option of the choice that changes it."""
        choice = next(a for a in self.record.arguments if a.kind == "choice" and a is not UNITS)
        *others, last = plain
        body = self._filled_in(plain[last])
        for option in reversed(others):
            words = ",".join(_quoted(word) for word in (option, *choice.choices[option]))
            body = f"IF(OR({choice.name}_={{{words}}}),{self._filled_in(plain[option])},{body})"
        return body

    def _filled_in(self, plain: str) -> str:
        text = re.sub(r"\[([^|\]]+)\|([^\]]+)\]", lambda m: _either(m[1], m[2]), plain)
        text = text.replace("EACH(", "SUM(")
        # Some engines count no numbers in an array; what is counted here holds nothing else.
        text = re.sub(r"COUNT\((\{\w+\})\)", r"ROWS(\1)", text)
        return re.sub(r"\{(\w+)\}", lambda m: self.texts[m[1]], text)


def _words_of(argument: Argument) -> list[str]:
    return [
        word.lower() for option, others in argument.choices.items() for word in (option, *others)
    ]


def _same_shape(one: str, other: str) -> str:
    """0 where two ranges have one shape, or both are a row or a column of one length."""
    count = "ROWS({0})*COLUMNS({0})".format
    return (
        f"IF(AND({count(one)}={count(other)},OR(ROWS({one})=ROWS({other}),"
        f"AND(MIN(ROWS({one}),COLUMNS({one}))=1,MIN(ROWS({other}),COLUMNS({other}))=1))),0,#VALUE!)"
    )


def lambda_text(record: CellFunction) -> str | None:
    """The LAMBDA of a function, None where it cannot be carried."""
    return _Writer(record).text() if record.plain or record.carried else None


@cache
def carried() -> dict[str, str]:
    """Name -> LAMBDA of every function that can be carried, in the order of the documentation."""
    texts = {name: lambda_text(record) for name, record in all_functions().items()}
    return {name: text for name, text in texts.items() if text is not None}


def names_needed(functions: list[str]) -> dict[str, str]:
    """Name -> text of these functions and of every hidden name that they need."""
    texts = {name: carried()[name] for name in functions}
    known = {**helpers(), **carried()}
    waiting = list(texts)
    while waiting:
        for name in re.findall(r"HOPPER(?:SHEET)?_\w+", texts[waiting.pop()]):
            if name in known and name not in texts:
                texts[name] = known[name]
                waiting.append(name)
    order = [*helpers(), *carried()]
    return {name: texts[name] for name in sorted(texts, key=order.index)}
