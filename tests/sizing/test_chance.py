"""HOPPER_CHANCE_HELD against scipy's integration, a large Monte Carlo, and its edges."""

from __future__ import annotations

import itertools
import random
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import roots_jacobi
from scipy.stats import triang

from hoppersheet import CellError, call
from hoppersheet.sizing.chance import FEW_POINTS, MANY_POINTS, chance_held

Range = tuple[float, float, float]
WITHIN = 1e-3  # the error that the record states


def distribution(stated: Range) -> Any:
    low, likely, high = stated
    return triang((likely - low) / (high - low), low, high - low)


def pdf(x: float, low: float, likely: float, high: float) -> float:
    """Density of a triangular distribution; scipy.stats.triang says the same, 50 times slower."""
    if not low <= x <= high:
        return 0.0
    rising = x < likely or likely == high
    return (
        2 / (high - low) * ((x - low) / (likely - low) if rising else (high - x) / (high - likely))
    )


def cdf(x: float, low: float, likely: float, high: float) -> float:
    """The same, summed up; written by areas of triangles."""
    x = min(max(x, low), high)
    if x < likely or likely == high:
        return (x - low) * pdf(x, low, likely, high) / 2
    return 1 - (high - x) * pdf(x, low, likely, high) / 2


def by_scipy(size: float, throughput: Range, hours: Range, density: Range) -> float:
    """The chance by scipy's adaptive integration."""

    def over(stated: Range, inner: Any, marks: list[float]) -> float:
        if stated[0] == stated[2]:
            return float(inner(stated[0]))
        points = sorted({stated[1], *(m for m in marks if stated[0] < m < stated[2])})
        value, _ = quad(
            lambda x: inner(x) * pdf(x, *stated), stated[0], stated[2], points=points, epsabs=1e-7
        )
        return float(value)

    def at_hours(h: float) -> float:
        marks = [t * h / size for t in throughput]
        return over(density, lambda d: cdf(size * d / h, *throughput), marks)

    return over(hours, at_hours, [size * d / t for d in density for t in throughput])


@pytest.mark.parametrize("stated", [(190, 220, 260), (220, 220, 300), (150, 220, 220)])
def test_the_reference_is_scipys_triangle(stated: Range) -> None:
    for x in (140, 151, 195, 220, 250, 299, 310):
        assert pdf(x, *stated) == pytest.approx(distribution(stated).pdf(x), abs=1e-12)
        assert cdf(x, *stated) == pytest.approx(distribution(stated).cdf(x), abs=1e-12)


#: Invented ranges: lb/h, h, lb/ft3; likely inside, at an end, or the only value.
RANGES = (
    ((190, 220, 260), (3, 3.5, 4.5), (33, 36.4, 39)),
    ((220, 220, 300), (3.5, 3.5, 3.5), (30, 36, 36)),  # each range bends at the other's end
    ((150, 220, 220), (2.5, 3.5, 3.5), (36.4, 36.4, 36.4)),
    ((215, 220, 222), (3, 3, 6), (35, 36.4, 37)),  # the hours are by far the widest
    ((215, 220, 222), (3.4, 3.5, 3.6), (20, 36.4, 40)),  # the density is
    ((100, 220, 400), (2, 3.5, 8), (18, 36.4, 40)),  # all of them wide
)
CASES = [(ranges, factor) for ranges in RANGES for factor in (0.8, 0.95, 1.0, 1.1, 1.4)]


@pytest.mark.parametrize(("ranges", "factor"), CASES)
def test_agrees_with_scipy(ranges: tuple[Range, Range, Range], factor: float) -> None:
    size = 220 * 3.5 / 36.4 * factor
    assert chance_held(size, *ranges) == pytest.approx(by_scipy(size, *ranges), abs=WITHIN)


def test_agrees_with_a_large_monte_carlo() -> None:
    """A million draws: one standard error is at most 0.0005, four of them 0.002."""
    draws = np.random.default_rng(20261128)
    for ranges in RANGES:
        rate, hours, density = (
            draws.triangular(*r, size=10**6) if r[0] < r[2] else np.full(10**6, r[0])
            for r in ranges
        )
        needed = rate * hours / density
        for size in (18.0, 21.0, 25.0):
            share = float((needed <= size).mean())
            assert chance_held(size, *ranges) == pytest.approx(share, abs=0.002 + WITHIN)


def test_the_points_are_gauss_jacobi() -> None:
    for points in (MANY_POINTS, FEW_POINTS):
        x, w = roots_jacobi(len(points), 0, 1)
        assert [u for u, _ in points] == pytest.approx(list((x + 1) / 2), rel=1e-12)
        assert [v for _, v in points] == pytest.approx(list(w / w.sum()), rel=1e-12)


def test_the_stated_error_holds_for_odd_ranges() -> None:
    """Where one range is fixed the answer is one integral, which scipy does to 1e-8."""
    pick = random.Random(3)
    for _ in range(60):
        ranges = []
        for likely, fixed in zip((220.0, 3.5, 36.4), pick.sample((True, False, False), 3)):  # noqa: B905
            low = likely * (1 - pick.choice((0, 0.02, 0.1, 0.5)) * pick.random())
            high = likely * (1 + pick.choice((0.02, 0.1, 0.5, 1)) * pick.random())
            ranges.append((likely,) * 3 if fixed else (low, likely, high))
        if ranges[0][0] == ranges[0][2]:
            ranges[0] = (219.999, 220.0, 220.001)
        size = 220 * 3.5 / 36.4 * pick.uniform(0.7, 1.5)
        assert chance_held(size, *ranges) == pytest.approx(by_scipy(size, *ranges), abs=WITHIN)


@pytest.mark.parametrize("widened", [0, 1, 2])
def test_one_range_alone_is_its_distribution_exactly(widened: int) -> None:
    ranges: list[Range] = [(220, 220, 220), (3.5, 3.5, 3.5), (36.4, 36.4, 36.4)]
    likely = ranges[widened][1]
    ranges[widened] = (likely * 0.9, likely, likely * 1.2)
    for factor in (0.85, 0.95, 1.0, 1.05, 1.15):
        size = 220 * 3.5 / 36.4 * factor
        known = distribution(ranges[widened])
        bound = (size * 36.4 / 3.5, size * 36.4 / 220, 220 * 3.5 / size)[widened]
        expected = known.sf(bound) if widened == 2 else known.cdf(bound)
        assert chance_held(size, *ranges) == pytest.approx(expected, abs=1e-8)


def test_fixed_figures_hold_or_do_not() -> None:
    """220 lb/h x 3.5 h / 38.5 lb/ft3 = 20 ft3: arithmetic; the size that just fits holds."""
    for size, expected in ((19.99, 0.0), (20, 1.0), (20.01, 1.0)):
        assert call("HOPPER_CHANCE_HELD", size, 220, 3.5, 38.5) == expected
        triple = call("HOPPER_CHANCE_HELD", size, [[220] * 3], [[3.5]] * 3, [[38.5]] * 3)
        assert triple == expected


def test_sure_and_impossible_at_the_ends() -> None:
    ranges = ([[190, 220, 260]], [[3, 3.5, 4]], [[33, 36.4, 39]])
    least, most = 190 * 3 / 39, 260 * 4 / 33
    assert call("HOPPER_CHANCE_HELD", least * 0.999, *ranges) == 0.0
    assert call("HOPPER_CHANCE_HELD", most, *ranges) == 1.0
    assert 0.0 < call("HOPPER_CHANCE_HELD", most * 0.8, *ranges) < 1.0


@given(st.floats(14, 32), st.floats(1.0001, 1.2))
def test_a_larger_size_never_holds_less_and_nothing_jumps(size: float, more: float) -> None:
    ranges = ([[190, 220, 260]], [[3, 3.5, 4]], [[33, 36.4, 39]])
    chance, larger = (call("HOPPER_CHANCE_HELD", s, *ranges) for s in (size, size * more))
    # The density of the needed volume is nowhere above 0.2 per ft3 here (its widest part).
    assert 0 <= larger - chance <= 0.25 * size * (more - 1) + 1e-9


@pytest.mark.parametrize(
    ("hours", "code", "words"),
    [
        ([[4, 3.5, 5]], "#NUM!", ("low 4 h", "likely 3.5 h", "swapped")),
        ([[3, 5, 4]], "#NUM!", ("likely 5 h", "high 4 h")),
        ([[3, 4]], "#VALUE!", ("1 by 2 cells", "low, likely, high")),
        ([[3, 4], [5, 6]], "#VALUE!", ("2 by 2",)),
        ([[3], [4], []], "#VALUE!", ("low, likely, high",)),
        ([[3, None, 4]], "#VALUE!", ("likely value is blank",)),
        ([[3, 4, None]], "#VALUE!", ("high value is blank",)),
        (None, "#VALUE!", ("blank",)),
        ([[3, "#N/A", 4]], "#N/A", ()),
        ([[0.125, 3.5, 4]], "#NUM!", ("column 1", "0.75 h")),
        ("soon", "#VALUE!", ("not a number",)),
    ],
)
def test_refusals(hours: Any, code: str, words: tuple[str, ...]) -> None:
    with pytest.raises(CellError) as refused:
        call("HOPPER_CHANCE_HELD", 22, 220, hours, 36.4)
    assert refused.value.code == code and refused.value.argument == "hours_range"
    for word in words:
        assert word in refused.value.reason


def test_rows_columns_texts_and_both_systems_agree() -> None:
    row = call("HOPPER_CHANCE_HELD", 22, [[190, 220, 260]], 3.5, [[33, 36.4, 39]])
    column = call("HOPPER_CHANCE_HELD", 22, [[190], [220], [260]], [[3.5]], [[33], [36.4], [39]])
    texts = [[f"{d} lb/ft3" for d in (33, 36.4, 39)]]
    mixed = call("HOPPER_CHANCE_HELD", "22 ft3", [["190 lb/h", "220 pph", "260 lb/hr"]], "3.5 h",
                 texts, "metric")  # fmt: skip
    assert row == column and mixed == pytest.approx(row, rel=1e-12)


def test_its_words_promise_nothing() -> None:
    line = call("HOPPER_EXPLAIN", "HOPPER_CHANCE_HELD", 22, [[190, 220, 260]], 3.5, 36.4)
    assert "of the ranges stated" in line and "190 lb/h" in line and "3.5 h, 3.5 h" not in line
    for word in ("guarantee", "certain", "probab", "sure"):
        assert word not in line


def test_the_order_of_the_ranges_changes_nothing_that_matters() -> None:
    """Which range counts as the widest may change; the answer then moves by the error at most."""
    chances = [
        chance_held(22.5, (200, 220, 240), (3, 3.3, 3 * one), (30, 33, 30 * other))
        for one, other in itertools.product((1.19999, 1.2, 1.20001), repeat=2)
    ]
    assert max(chances) - min(chances) < WITHIN
