"""Random cells of every kind into every function: a value or an error, never anything else.

``tests/core/test_properties.py`` lets hypothesis search near each function's own example; here are
many more and rougher calls, each under a time limit.
"""

from __future__ import annotations

from itertools import count
from math import nextafter

import pytest

from abuse.cells import FUNCTIONS, case, fault, run
from hoppersheet import CellError, call
from hoppersheet.cells.wording import in_system
from hoppersheet.registry import UNITS, Argument, CellFunction

CALLS = 10_000  # a million by command, see README.md here


def test_thousands_of_random_calls() -> None:
    faults = [f"case({number}) {said}" for number, said, _ in run(0, CALLS) if said]
    assert not faults, "\n".join(faults[:20])


def test_the_calls_reach_every_function_and_most_give_no_value() -> None:
    """The test above means little if the calls were all right, all wrong, or all of one kind."""
    values, errors = set(), set()
    for number in range(3000):
        function, given = case(number)
        try:
            call(function.name, *given)
            values.add(function.name)
        except CellError as problem:
            errors.add((function.name, problem.code))
    names = {function.name for function in FUNCTIONS}
    assert values == names
    assert {name for name, _ in errors} == names
    assert {"#VALUE!", "#NUM!", "#N/A", "#REF!"} <= {code for _, code in errors}


def test_a_fault_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The judge itself: an exception, a NaN and an infinity are faults."""
    function = next(f for f in FUNCTIONS if f.name == "HOPPER_HELD_MASS")
    answers = iter((float("nan"), float("inf"), [[1.0], []], [[float("nan")]], None))
    for wrong in answers:
        monkeypatch.setattr("abuse.cells.call", lambda *_, value=wrong: value)
        assert fault(function, [16, 36.5]).startswith("the value")
    monkeypatch.setattr("abuse.cells.call", lambda *_: 1 / 0)
    assert fault(function, [16, 36.5]).startswith("ZeroDivisionError")
    monkeypatch.setattr("abuse.cells.call", lambda *_: next(count()) and None)
    assert fault(function, [16, 36.5])


_LIMITED = [
    (function, at, argument)
    for function in FUNCTIONS
    for at, argument in enumerate(function.arguments)
    if argument.kind == "number" and argument is not UNITS and argument.limits
]


@pytest.mark.parametrize(
    ("function", "at", "argument"), _LIMITED, ids=[f"{f.name}-{a.name}" for f, _, a in _LIMITED]
)
def test_a_hair_beyond_a_limit_is_the_limit(
    function: CellFunction, at: int, argument: Argument
) -> None:
    """What rounding puts beyond a limit counts as the limit; a function sees nothing beyond it."""
    assert argument.limits is not None
    given = list(function.example.arguments)
    system = "metric" if "metric" in given else "US"
    given += [a.default for a in function.arguments[len(given) : at + 1]]

    def answer(value: float) -> object:
        given[at] = value
        try:
            return call(function.name, *given)
        except CellError as problem:
            return problem.code

    for si, beyond in zip(argument.limits, (-1e99, 1e99), strict=True):
        if si == 0.0:
            continue  # no rounding puts 0 elsewhere: -5e-324 is negative, and refused
        limit = in_system(si, argument.quantity, system)
        hair = limit
        for _ in range(3):
            hair = nextafter(hair, beyond)
        at_limit, past = answer(limit), answer(hair)
        assert past == at_limit if isinstance(past, str) else past == pytest.approx(at_limit)
