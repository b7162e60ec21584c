"""Random calls of every cell function, each from its own number, to try by the million.

    .venv/bin/python tests/abuse/cells.py 1000000 [first number]

prints what broke, each with its number, and the slowest calls; exit status 1 when anything broke.
``case(17)`` is the same call on every machine, so a number is all that a report needs.
"""

from __future__ import annotations

import random
import signal
import sys
import time as clock
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from math import inf, isfinite, nan, nextafter
from typing import Any

from hoppersheet import OMITTED, CellError, call
from hoppersheet.cells.units import SPELLING_GROUPS, spellings_in
from hoppersheet.errors import SHEET_ERRORS, NoAnswer
from hoppersheet.functions import all_functions
from hoppersheet.registry import CellFunction
from hoppersheet.tables.job_rows import JOB_COLUMNS
from hoppersheet.workbook.sheet_cells import ErrorText

FUNCTIONS = list(all_functions().values())
#: A call that takes longer (of processor time) has hung; a sheet of such cells would.
SECONDS = 5
_LONGEST_TEXT = 32_767  # of a cell (ECMA-376 leaves it open; as the spreadsheets have it)

NUMBERS: tuple[Any, ...] = (
    0, 0.0, -0.0, 1, -1, 0.5, 4, 16, 36.5, 34, 100, 33.3, 66.7, inf, -inf, nan, 5e-324, -5e-324,
    1.7976931348623157e308, -1.7976931348623157e308, 1e-300, 1e300, 2**53, 10**400, -(10**400),
    nextafter(1.0, 2.0), nextafter(0.75, 0.0), 273.15, True, False, Decimal("0.5"),
    Decimal("NaN"), Decimal("sNaN"), Decimal("-Infinity"), Decimal("1E+9999"), Fraction(1, 3),
    complex(1, 2), -2146826246, 32767,
)  # fmt: skip
MOMENTS: tuple[Any, ...] = (
    date(2026, 3, 4), date.min, date.max, datetime.min, datetime.max, time(4, 0), time.max,
    datetime(1899, 12, 30, 4, 0), datetime(2026, 3, 4, tzinfo=UTC), timedelta(hours=4),
    timedelta.max, timedelta.min,
)  # fmt: skip
TEXTS = (
    "", " ", "\u00a0", "\t\n", "0.55 g/cm3", "0,55 kg/L", "45 kg/h", "440 L", "4 h", "5 %", "50%",
    "1,234", "1.234,5", "1 234,5", "4:00", "4:00 pm", "1e5", "1e999999", "-1e-999999", "nan",
    "inf", "Infinity", "0x10", "1_000", "+4", "--4", "4-", "\u0661\u0662", "\u00bd", "\u00b2",
    "\uff11\uff12", "\u2212" + "4", "\U0001f600", "\U0001f600 kg", "e\u0301", "\u202e4 h", "\x00",
    "\x1b[31m", "a\x07b", "\ud800", "\ufffe", "\uffff", "=1+1", "+1", "@x", "-x", "'", '"', "\\",
    "{0}", "{size}", "%s", "%n", "$A$1", "kg", "3 tons", "4 T", "20 degC", "10 deg", "US", " us ",
    "metric", "volume", "by mass", "weight", "not stated", "TRUE", "None", "size", "PC", "PA6",
    "bulk density", "drying hours", "source", "HOPPER_HELD_MASS", "hopper_explain", "#N/A ",
    "#n/a", "per", "per per per", "kg per", "1/0 kg", "kg//h", "lb/ft^^3", "m\u00b3", "\u00b0C",
    "9" * 400, "0." + "0" * 400 + "1", "4 " + "k" * 3000, "4 " + "kg/" * 1000, "4 " + "(" * 1000,
    "1 " * 1000, "1," * 1000 + "5", "4" + " " * 3000 + "x", "x" * _LONGEST_TEXT,
    "4 " + "per " * (_LONGEST_TEXT // 4 - 1), "9" * _LONGEST_TEXT,
)  # fmt: skip
THINGS: tuple[Any, ...] = (
    None, OMITTED, b"4", {}, {"a": 1}, object(), CellError, CellError("a reason"),
    NoAnswer("none", "size"), ErrorText("#N/A"), ErrorText("#NUM!"), range(3), [], [[]], (),
    [[], []],
)  # fmt: skip
_WORDS = [word for kind in SPELLING_GROUPS for word in sorted(spellings_in(kind))]
_UNITS = [*_WORDS, *(f"{a}/{b}" for a in _WORDS for b in _WORDS[:60])]
_LETTERS = "0123456789.,eE+- \u00a0/%kgLlbfth3()^*[]#=\"'{}:\n\x00\u0663\u00b3\U0001f600"


def scalar(random_: random.Random) -> Any:
    """One cell of any kind."""
    kind = random_.randrange(10)
    if kind < 2:
        return random_.choice(NUMBERS)
    if kind == 2:
        return random_.uniform(0.01, 1000)
    if kind == 3:
        return random_.choice((-1, 1)) * 10 ** random_.uniform(-320, 308)
    if kind == 4:
        return random_.choice(TEXTS)
    if kind == 5:
        number = random_.choice((f"{random_.uniform(0, 99):.3g}", random_.randrange(2000)))
        return f"{number}{random_.choice(('', ' ', '  '))}{random_.choice(_UNITS)}"
    if kind == 6:
        return "".join(random_.choices(_LETTERS, k=random_.randrange(1, 14)))
    if kind == 7:
        return random_.choice(MOMENTS)
    if kind == 8:
        return random_.choice(sorted(SHEET_ERRORS))
    return random_.choice(THINGS)


def cells(random_: random.Random) -> Any:
    """A range of any shape: row, column, block, ragged, 1 x 1, empty, nested, or huge."""
    kind = random_.randrange(8)
    high, wide = random_.randrange(1, 6), random_.randrange(1, 5)
    plain = random_.random() < 0.5
    one: Callable[[], Any] = (
        (lambda: random_.uniform(0.01, 100)) if plain else lambda: scalar(random_)
    )
    if kind == 0:
        return [one() for _ in range(wide)]
    if kind == 1:
        return [[one()] for _ in range(high)]
    if kind == 2:
        return [[one()]]
    if kind == 3:
        return [[one() for _ in range(random_.randrange(wide + 1))] for _ in range(high)]
    if kind == 4:
        return tuple(tuple(one() for _ in range(wide)) for _ in range(high))
    if kind == 5:
        nested = one()
        for _ in range(random_.choice((2, 3, 4, 40, 2000))):
            nested = [nested]
        return nested
    if kind == 6 and random_.random() < 0.02:
        return [[one()]] * 10_000
    return [[one() for _ in range(wide)] for _ in range(high)]


def table(random_: random.Random) -> list[list[Any]]:
    """A job list or a catalog that is almost right."""
    names = list(JOB_COLUMNS) if random_.random() < 0.6 else ["size", "model", "price", "[kg]"]
    random_.shuffle(names)
    for _ in range(random_.randrange(2)):
        names[random_.randrange(len(names))] = random_.choice(
            ("Throughput [kg/h]", "SIZE [L]", "drying_hours [min]", "size [", "[[]]", "model", "")
        )
    rows = [
        [random_.choice((4, 36.5, 100, None, scalar(random_))) for _ in names]
        for _ in range(random_.randrange(5))
    ]
    return [names, *rows]


def case(number: int) -> tuple[CellFunction, list[Any]]:
    """The call of this number: a function's own example with some of its cells replaced."""
    random_ = random.Random(number)
    function = random_.choice(FUNCTIONS)
    given = list(function.example.arguments)
    given += [OMITTED] * (len(function.arguments) - len(given))
    for _ in range(random_.choice((0, 1, 1, 1, 2, 2, 3))):
        if given:
            kind = random_.randrange(6)
            new = scalar if kind < 3 else cells if kind < 5 else table
            given[random_.randrange(len(given))] = new(random_)
    if random_.random() < 0.1:  # too few or too many arguments
        given = given[: random_.randrange(len(given) + 1)]
        given += [scalar(random_) for _ in range(random_.choice((0, 0, 1, 3, 300)))]
    return function, given


def _fits(value: Any) -> bool:
    """Whether a host can show the value: text, TRUE, a finite number, or a block of these."""
    if isinstance(value, list):
        return bool(value) and all(
            isinstance(row, list)
            and len(row) == len(value[0])
            and all(not isinstance(cell, list) and _fits(cell) for cell in row)
            for row in value
        )
    return isinstance(value, (str, bool)) or (type(value) is float and isfinite(value))


def fault(function: CellFunction, given: list[Any]) -> str:
    """What is wrong with the answer to a call, ``""`` where nothing is."""
    try:
        value = call(function.name, *given)
    except CellError as problem:
        if problem.code not in SHEET_ERRORS:
            return f"the code {problem.code!r}"
        if not problem.reason or not problem.reason.isprintable() or len(problem.reason) > 500:
            return f"the reason {problem.reason[:300]!r}"
    except Exception as problem:
        return f"{type(problem).__name__}: {problem}"[:300]
    else:
        if not _fits(value):
            return f"the value {value!r}"[:300]
    try:
        line = call("HOPPER_EXPLAIN", function.name, *given)
    except Exception as problem:
        return f"EXPLAIN: {type(problem).__name__}: {problem}"[:300]
    if not isinstance(line, str) or not line.startswith(function.name) or "\n" in line:
        return f"EXPLAIN says {line!r}"[:300]
    return ""


def _too_long(*_: object) -> None:
    raise TimeoutError(f"no answer within {SECONDS} s")


def run(first: int, count: int) -> Iterator[tuple[int, str, float]]:
    """(number, fault, seconds) of each call."""
    call("HOPPER_CONVERT", 1, "lb", "kg")  # what text with a unit needs is loaded, once
    signal.signal(signal.SIGPROF, _too_long)
    try:
        for number in range(first, first + count):
            function, given = case(number)
            signal.setitimer(signal.ITIMER_PROF, SECONDS)
            start = clock.process_time()
            said = fault(function, given)
            seconds = clock.process_time() - start
            signal.setitimer(signal.ITIMER_PROF, 0)
            yield number, said and f"{function.name}: {said}", seconds
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, signal.SIG_DFL)


def main() -> int:
    """Run as many calls as the command line asks for."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    begun, faults, slowest = clock.process_time(), 0, [(0.0, first)]
    for number, said, seconds in run(first, count):
        slowest = sorted([*slowest, (seconds, number)])[-3:]
        if said:
            faults += 1
            print(f"case({number}) {said}", flush=True)
    took = clock.process_time() - begun
    slow = ", ".join(f"case({number}) {seconds:.2f} s" for seconds, number in slowest[::-1])
    print(f"{count} calls from {first} on in {took:.0f} s: {faults} faults. Slowest: {slow}.")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
