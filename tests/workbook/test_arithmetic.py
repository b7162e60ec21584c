"""Arithmetic on 15 digits: the rule of ``evaluator/numbers.py`` asked of a real Calc."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest

from hoppersheet.workbook.evaluator.functions.mathematics import floor, rounded
from hoppersheet.workbook.evaluator.numbers import add, equal, nearest, subtract, total


def pairs() -> list[tuple[float, float]]:
    """Numbers that are a few units in the last place apart, around what decides the rule."""
    found = []
    for a in (1.0, 1.5, 1.9999, 15.7, 0.1, 123456.789, 1e-9, 3e15, 2.0**50 + 0.5, 2.0**53 - 1.0,
              9e15, 1e16, 1e300, 7.0, 36.4):  # fmt: skip
        for steps in range(1, 36):
            found += [(a, a * (1 + steps * 2.0**-52)), (a, a * (1 - steps * 2.0**-53))]
    chance = random.Random(7)
    for _ in range(300):
        a = chance.uniform(-100, 100)
        found.append((a, a * (1 + chance.uniform(-1, 1) * 2.0 ** -chance.uniform(44, 53))))
    return [(a, b) for a, b in found if a != b]


@pytest.mark.calc
def test_calc_cancels_and_compares_by_the_same_rule(office: Any) -> None:
    cells: dict[str, float] = {}
    formulas: dict[str, str] = {}
    tried = pairs()
    for row, (a, b) in enumerate(tried, 1):
        cells |= {f"A{row}": a, f"B{row}": b}
        formulas |= {
            f"C{row}": f"=A{row}-B{row}",
            f"D{row}": f"=A{row}+(-B{row})",
            f"E{row}": f"=IF(A{row}=B{row};1;0)",
            f"F{row}": f"=IF(A{row}<B{row};1;0)",
            f"G{row}": f"=SUM(A{row};-B{row})",
            f"H{row}": f"=INT(B{row})",
        }
    found = office.evaluate(cells, formulas)
    assert len(tried) > 1_300
    for row, (a, b) in enumerate(tried, 1):
        here = [found[f"{column}{row}"] for column in "CDEFGH"]
        same = equal(a, b)
        mine = [
            subtract(a, b), add(a, -b), float(same), float(a < b and not same), total([-b, a]),
            floor(b),
        ]  # fmt: skip
        assert here == mine, (a, b)
    cancelled = sum(subtract(a, b) == 0.0 for a, b in tried)
    assert 200 < cancelled < len(tried) - 200, "both sides of the limit are tried"


@pytest.mark.calc
def test_calc_rounds_alike(office: Any) -> None:
    """Numbers just above and below a half, as sums of prices have them."""
    chance = random.Random(3)
    values = [chance.randint(1, 10**6) / 1000 + chance.choice((0, 5e-4)) for _ in range(400)]
    values += [-x for x in values[:100]] + [2.675, 1.005, 1.15, 0.285, 4.35 * 100, 1.1 * 1.1, 5.015]
    cells = {f"A{row}": x for row, x in enumerate(values, 1)}
    formulas = {
        f"{column}{row}": f"={name}(A{row};{digits})"
        for row in range(1, len(values) + 1)
        for column, name, digits in (
            ("B", "ROUND", 2), ("C", "ROUND", -1), ("D", "ROUNDUP", 2), ("E", "ROUNDDOWN", 2),
            ("F", "ROUND", 0),
        )
    }  # fmt: skip
    found = office.evaluate(cells, formulas)
    up = lambda x: float(math.ceil(nearest(x)))  # noqa: E731
    half = lambda x: floor(x + 0.5)  # noqa: E731
    for row, x in enumerate(values, 1):
        mine = [rounded(x, 2, half), rounded(x, -1, half), rounded(x, 2, up), rounded(x, 2, floor),
                rounded(x, 0, half)]  # fmt: skip
        assert [found[f"{column}{row}"] for column in "BCDEF"] == mine, x


@pytest.mark.parametrize(
    ("a", "b", "left"),
    [
        (0.1 + 0.2, 0.3, 0.0),
        (4.35 * 100, 435.0, 0.0),
        (1.0, 1.0 + 2.0**-48, -(2.0**-48)),
        (1.0, 1.0 + 2.0**-49, 0.0),
        (2.0**53 - 1.0, 2.0**53 - 2.0, 1.0),  # whole numbers never cancel
        (1e-300, 0.0, 1e-300),
    ],
)
def test_a_difference_that_is_only_rounding_is_nothing(a: float, b: float, left: float) -> None:
    assert subtract(a, b) == left
    assert add(-b, a) == left


def test_fifteen_digits() -> None:
    assert nearest(434.99999999999994) == 435.0
    assert nearest(434.9999999999) == 434.9999999999
    assert nearest(1.00000000000001) == 1.00000000000001
    assert nearest(1.000000000000001) == 1.0
    assert nearest(2.0**38 + 0.123456) == 2.0**38 + 0.123
    assert nearest(-0.30000000000000004) == -0.3
    assert nearest(2.0**41 + 0.25) == 2.0**41 + 0.25
    assert total([0.1, 0.2, -0.3]) == 0.0
    assert total([1e16, 1.0, -1e16]) == 0.0  # as Calc, although 1 is the right answer
    assert total([1.0, 1e16]) == 1e16
