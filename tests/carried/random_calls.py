"""Calls as people make them, right and wrong: for comparing carried functions with the core."""

from __future__ import annotations

import random
from typing import Any

from hoppersheet import OMITTED, CellError, call
from hoppersheet.cells.wording import in_system
from hoppersheet.functions import all_functions
from hoppersheet.registry import UNITS, Argument

ERRORS = ("#N/A", "#DIV/0!", "#VALUE!", "#NUM!", "#REF!", "#NAME?", "#NULL!")
SPELLINGS = {
    "bulk density": ("lb/ft3", "pcf", "kg/L", "kg/m3", "g/cm3", "g/cc", "lb / cu. ft.", "t/m³",
                     "KG PER LITER", "lb/ft^3", "kg m-3", "kg·m⁻³", "g*cm^-3"),
    "throughput": ("lb/h", "lbs/hr", "pph", "kg/h", "kg/hr", "t/h", "g/s", "short ton/h", "lb/min",
                   "kg per hour", "ton/h", "T/h", "kg h-1", "lb hr^-1", "#/h"),
    "drying hours": ("h", "hr", "hours", "min", "s"),
    "volume": ("ft3", "cu ft", "cf", "L", "liters", "m3", "gal", "us gal", "dm3", "cubic feet"),
    "mass": ("lb", "kg", "t", "lbs", "metric ton"),
    "empty mass": ("lb", "kg"),
    "sample mass": ("g", "kg", "oz", "lb"),
    "cup volume": ("cm3", "cc", "ml", "in3"),
    "shot mass": ("g", "oz", "lb", "kg"),
    "cycle time": ("s", "sec", "min"),
    "mass per length": ("lb/ft", "kg/m", "g/m", "lb/in"),
    "line speed": ("ft/min", "fpm", "m/min", "m/h", "m/s"),
    "length": ("ft", "m", "in", "mm", "cm", "inches"),
    "length or zero": ("ft", "m", "in", "mm"),
    "altitude": ("ft", "m", "yd"),
    "cone angle": ("deg", "degrees", "°", "rad"),
    "temperature": ("degF", "degC", "°C", "°F", "K", "deg F", "celsius"),
    "room temperature": ("degF", "degC", "°C", "°F", "K"),
    "specific airflow": ("cfm/(lb/h)", "m3/h/(kg/h)", "m3/kg", "cfm/pph", "ft3/lb"),
    "specific heat": ("Btu/(lb degF)", "kJ/(kg K)", "J/(kg K)", "btu/lb-F", "kcal/kg/K"),
    "airflow": ("cfm", "m3/h", "ft3/min", "l/s", "cfh", "scfm", "Nm3/h", "Nm³/h", "scfh"),
}  # fmt: skip
ODD = (
    "abc", "kg", "4:30", "1/2", "4-6 h", "metric", "US", "5 T", "5 ton", "-3", "#", "1e3", "1,2,3",
    "12 34", "5 gr", "~", "5 k?", "5 *", "5 h", "5 ft3", ".", "% 5", "1 250,5", "1.234.567", "2,5",
    "1,234", "1.234", "1,250.5 lb/h", "0.61 g/cm3", "5 %", "\u22125", "45\u00a0kg/h",
)  # fmt: skip


def _written(number: float, source: random.Random) -> str:
    # Three digits behind a lone sign may be refused.
    text = f"{number:.{source.choice((2, 2, 3))}f}" if number > 1 else f"{number:.2g}"
    if "e" not in text and source.random() < 0.3:
        text = text.replace(".", ",")
    return text


def _within(argument: Argument, system: str, source: random.Random) -> float:
    measure, limits = argument.measure, argument.limits
    assert measure is not None and limits is not None
    low, high = measure.typical or limits
    if low > 0 and high / low > 20:
        si = low * (high / low) ** source.random()
    else:
        si = low + (high - low) * source.random()
    return float(f"{in_system(si, measure.name, system):.6g}")


def _cell(argument: Argument, system: str, source: random.Random, odd: float) -> Any:
    measure, limits = argument.measure, argument.limits
    assert measure is not None and limits is not None
    number = _within(argument, system, source)
    chance = source.random()
    if chance < odd:
        edge = in_system(source.choice(limits), measure.name, system)
        return source.choice(
            (None, True, source.choice(ERRORS), source.choice(ODD), source.choice(ODD), edge,
             edge * 1.001, edge * 0.999, 0, -number, number * 1000, "  ", f"{number:.2g}", "12.5")
        )  # fmt: skip
    if chance < odd + 0.3:
        units = SPELLINGS.get(measure.name, ("", "%", " %", " percent", " pct"))
        unit = source.choice(units)
        if measure.name not in SPELLINGS:
            return f"{_written(number * (100 if unit else 1), source)}{unit}"
        return f"{_written(number, source)}{source.choice((' ', '', '  '))}{unit}"
    return number


def _range(argument: Argument, count: int, across: bool, cells: list[Any]) -> Any:
    return [cells] if across else [[cell] for cell in cells]


def _argument(
    argument: Argument, system: str, count: int, across: bool, source: random.Random, odd: float
) -> Any:
    if argument.kind == "choice":
        words = [w for option, others in argument.choices.items() for w in (option, *others)]
        return source.choice((*words, *[w.upper() for w in words], "other", None, 5))
    if argument.kind == "number":
        if source.random() < odd / 4:
            return [[_within(argument, system, source)] * 2]
        return _cell(argument, system, source, odd)
    if argument.kind == "cells":
        entries = [source.choice(("EXAMPLE-20", 4900, None, True, "#N/A")) for _ in range(count)]
        return _range(argument, count, across, entries)
    if argument.kind == "estimate":
        return _estimate(argument, system, across, source, odd)
    if argument.kind == "cell":
        return source.choice(
            (45, "45 kg/h", "0,5 kg/L", None, "#N/A", "68 degF", "x", -300, 12.5, "1,234")
        )
    if argument.kind == "text":
        return source.choice(("lb/h", "kg/h", "degF", "degC", "K", "lb/ft3", "kg/L", None, "x", 5))
    if argument.kind == "shares":
        parts = [source.random() + 0.1 for _ in range(count)]
        whole = source.choice((1, 1, 100, 100, 90))
        shares: list[Any] = [round(whole * part / sum(parts), 9) for part in parts]
        if source.random() < odd:
            shares[source.randrange(count)] = source.choice((None, "#N/A", "x", -1, "50 %"))
        return _range(argument, count, across, shares)
    cells = [_cell(argument, system, source, odd / count) for _ in range(count)]
    if source.random() < odd:
        cells[source.randrange(count)] = None
    return _range(argument, count, across, cells)


def _estimate(
    argument: Argument, system: str, across: bool, source: random.Random, odd: float
) -> Any:
    """Low, likely and high, or one cell; now and then something else."""
    if source.random() < 0.3:
        return _cell(argument, system, source, odd)
    count = 3 if source.random() > odd / 2 else source.choice((2, 4))
    numbers = sorted(_within(argument, system, source) for _ in range(count))
    if source.random() < 0.3:
        numbers[1] = source.choice((numbers[0], numbers[-1]))
    cells: list[Any] = list(numbers)
    if source.random() < odd:
        cells[source.randrange(count)] = source.choice((None, "#N/A", "x", 1e9, numbers[0]))
    return _range(argument, count, across, cells)


RESINS = (
    "pc",
    "PVC",
    "PE",
    "Nylon 6/6",
    "P.P.",
    "PBT",
    "nylon",
    "HDPE",
    "unobtainium",
    "polycarbonate",
    None,
)
PROPERTIES = (
    "bulk density", "Drying_Hours", "specific heat", "drying temperature high", "name", "colour",
    "regrind ratio", "bulk density source", "caution", "moisture-limit", "source", "never with",
)  # fmt: skip


def random_call(name: str, source: random.Random, odd: float = 0.15) -> tuple[Any, ...]:
    """Arguments for one call of a function."""
    system = source.choice(("US", "metric"))
    count, across = source.randint(1, 5), source.random() < 0.5
    cells: list[Any] = []
    if name == "HOPPER_RESIN":
        units = source.choice((OMITTED, "metric"))
        return source.choice(RESINS), source.choice(PROPERTIES), OMITTED, units
    for argument in all_functions()[name].arguments:
        if argument is UNITS:
            words = ("US", "us", None) if system == "US" else ("metric", " Metric ")
            default = system == "US" and source.random() < 0.5
            cells.append(OMITTED if default else source.choice(words))
        elif not argument.required and source.random() < 0.4:
            cells.append(OMITTED)
        else:
            longer = count + (source.random() < odd / 2)
            turned = across != (source.random() < 0.2)
            cells.append(_argument(argument, system, longer, turned, source, odd))
    return tuple(cells)


def by_the_core(name: str, arguments: tuple[Any, ...]) -> Any:
    """What the add-in shows for the same cells."""
    try:
        return call(name, *arguments)
    except CellError as problem:
        return problem.code
