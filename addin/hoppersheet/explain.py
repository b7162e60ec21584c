"""HOPPER_EXPLAIN and HOPPER_VERSION: what was computed from what, in one line.

The line is made from the function's record: its equation with the numbers put in, the defaults
that were taken, what lies outside the usual range, what is assumed, and the source.
"""

from __future__ import annotations

import re
from typing import Any

from ._version import __version__
from .call import Inputs, call, find, read_inputs
from .cells.numbers_in_text import shown
from .cells.values import OMITTED
from .cells.wording import in_both, rounded, to_si, with_unit
from .describe import equations, facts
from .errors import CellError
from .registry import Argument, Example, Result, cell_function
from .tables.resin_table import TABLE_VERSION

__all__ = ["explain", "unusual", "version"]

_VERSIONS = f"hoppersheet {__version__}, resin table {TABLE_VERSION}"
_SHOWN_VALUES = 8  # of a range; the rest is counted


def _value_text(argument: Argument, value: Any, system: str) -> str:
    """One argument's value as it stands in the equation, with its unit."""
    if argument.quantity and isinstance(value, list):
        known = [v for v in value if v is not None]
        if argument.kind == "estimate" and known[0] == known[-1]:
            known = known[:1]
        texts = [with_unit(v, argument.quantity, system, 6) for v in known[:_SHOWN_VALUES]]
        more = f", ... {len(known)} values" if len(known) > _SHOWN_VALUES else ""
        return texts[0] if len(known) == 1 else f"({', '.join(texts)}{more})"
    if argument.quantity:
        return with_unit(value, argument.quantity, system, 6)
    if isinstance(value, list):
        cells = [cell for row in value for cell in row]
        return shown(cells[0]) if len(cells) == 1 else f"({len(cells)} cells)"
    return shown(value)


def _equation(inputs: Inputs) -> str:
    """The equation of this call: that of the option chosen, where a choice changes it."""
    options = equations(inputs.function)
    chosen = (v for v in inputs.values.values() if isinstance(v, str) and v in options)
    return options.get(next(chosen, ""), "")


def _with_values(equation: str, inputs: Inputs) -> str:
    """The equation with each argument name replaced by its value."""
    texts = {
        a.name: _value_text(a, inputs.values[a.name], inputs.system)
        for a in inputs.function.arguments
        if a.name in inputs.values
    }
    if not texts:
        return equation
    names = re.compile(r"\b(" + "|".join(sorted(texts, key=len, reverse=True)) + r")\b")
    return names.sub(lambda match: texts[match[1]], equation)


def unusual(inputs: Inputs) -> list[str]:
    """One phrase per input outside its quantity's typical range."""
    phrases = []
    for argument in inputs.function.arguments:
        measure = argument.measure
        if measure is None or measure.typical is None:
            continue
        value = inputs.values[argument.name]
        for si in value if isinstance(value, list) else [value]:
            if si is not None and not measure.typical[0] <= si <= measure.typical[1]:
                low, high = (with_unit(x, measure.name, inputs.system) for x in measure.typical)
                hours = measure.name == "drying hours"
                longer = "longer" if si > measure.typical[1] else "shorter"
                beyond = f"{longer} than usual" if hours else "outside the usual range"
                amount = with_unit(si, measure.name, inputs.system)
                phrases.append(f"{argument.name} {amount} is {beyond}, {low} to {high}")
    return list(dict.fromkeys(phrases))


def _result_text(inputs: Inputs, result: Any) -> str:
    record = inputs.function.result
    if isinstance(result, list):
        return f"a table of {len(result)} rows"
    if record.quantity:
        # The result is in the sheet's units; go back through SI to show the other system too.
        return in_both(
            to_si(result, record.quantity, inputs.system), record.quantity, inputs.system
        )
    return rounded(result, 6) if isinstance(result, (int, float)) else shown(result)


def _own_note(inputs: Inputs) -> list[str]:
    """What the function itself has to say about this call."""
    function = inputs.function
    if function.note is None:
        return []
    units = (inputs.system,) if function.takes_units else ()
    note = function.note(*inputs.values.values(), *units)
    return [note.rstrip(".")] if note else []


def _defaults(inputs: Inputs) -> str:
    texts = [f"{name} {inputs.function.argument(name).default}" for name in inputs.defaulted]
    return f" Default taken: {', '.join(texts)}." if texts else ""


@cell_function(
    "HOPPER_EXPLAIN",
    question="How was this cell computed, or why does it show an error?",
    summary="The calculation of another cell in one line, or the reason for its error.",
    arguments=(
        Argument(
            "function_name",
            'Name of the function to explain as text, such as "HOPPER_REQUIRED_VOLUME".',
            kind="text",
        ),
        Argument("arguments", "The same arguments as in the cell to explain.", kind="rest"),
    ),
    result=Result("the calculation in words", kind="text"),
    equation="the equation of function_name with its numbers",
    source="the record of the function",
    example=Example(
        ("HOPPER_HELD_MASS", 20, 36.4),
        "HOPPER_HELD_MASS: mass of resin held = volume x bulk_density = 20 ft3 x 36.4 lb/ft3 = "
        "728 lb (330.2 kg). Default taken: units US. Assumes: For weight on a stand or machine use "
        "a high density; the low one that is safe for volume is unsafe for load. Source: "
        "arithmetic identity.",
        "the record of the function",
    ),
    units=False,
    see_also=("HOPPER_VERSION",),
)
def explain(function_name: str, *arguments: Any) -> str:
    """One line: equation, numbers, defaults, unusual inputs, assumptions, source; or the reason."""
    try:
        function = find(function_name)
    except CellError as problem:
        return f"HOPPER_EXPLAIN: {problem}"
    # A spreadsheet hands over omitted trailing arguments too.
    given = list(arguments)
    while given and given[-1] is OMITTED:
        given.pop()
    try:
        result = call(function.name, *given)
        inputs = read_inputs(function.name, given)
    except CellError as problem:
        return f"{function.name}: {problem}"
    equation = _equation(inputs)
    filled = _with_values(equation, inputs)
    steps = [function.result.text, equation, filled, _result_text(inputs, result)]
    line = " = ".join(dict.fromkeys(step for step in steps if step))
    notes = "".join(f" Note: {phrase}." for phrase in [*_own_note(inputs), *unusual(inputs)])
    rest = "".join(f" {t}: {text}." for t, text in facts(function) if t in ("Assumes", "Source"))
    return f"{function.name}: {line}.{_defaults(inputs)}{notes}{rest}"


@cell_function(
    "HOPPER_VERSION",
    question="Which version of the add-in computed this?",
    summary="Version of the add-in and of its resin table.",
    result=Result("the versions", kind="text"),
    equation="",
    source="the add-in itself",
    example=Example((), _VERSIONS, "the add-in itself"),
    carried=f'"{_VERSIONS}"',
    units=False,
    see_also=("HOPPER_EXPLAIN",),
)
def version() -> str:
    """Version of the add-in and of its resin table."""
    return _VERSIONS
