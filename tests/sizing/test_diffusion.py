"""Crank's series against published and computed points (group D), and the way back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hoppersheet import call
from hoppersheet.functions import get
from hoppersheet.sizing.diffusion import diffusion_time, j0_zero, released

SHAPES = st.sampled_from(("sphere", "cylinder", "sheet"))


@pytest.mark.parametrize(
    ("shape", "fourier", "share", "tolerance"),
    [
        ("sphere", 0.1, 0.770478738, 1e-9),  # D01, Crank 1975 p. 91 by polykin
        ("sphere", 0.25, 0.9484368979, 1e-9),  # D02
        ("sheet", 0.125, 0.3989279899, 1e-9),  # D03, Crank 1975 p. 48 by polykin
        ("sphere", 0.65, 1 - 0.001, 1e-5),  # D05, Seader and Henley p. 123
        ("sphere", 0.11, 1 - 0.2, 0.01),  # D06
        ("sheet", 0.56, 0.8, 0.01),  # D07
        ("sheet", 0.2, 0.5, 0.01),  # Seader and Henley p. 123
        ("cylinder", 0.1, 0.605824194, 1e-8),  # D08, Crank eq. 5.23 by scipy
    ],
)
def test_uptake(shape: str, fourier: float, share: float, tolerance: float) -> None:
    assert released(shape, fourier) == pytest.approx(share, abs=tolerance)


@pytest.mark.parametrize(
    ("number", "zero"), [(1, 2.4048255577), (6, 18.0710639679), (10, 30.6346064684)]
)
def test_zeros_of_j0(number: int, zero: float) -> None:
    # Abramowitz and Stegun, Table 9.5, from memory.
    assert j0_zero(number) == pytest.approx(zero, abs=1e-9)


@given(SHAPES, st.floats(0.05, 0.9999), st.floats(2e-4, 0.01), st.floats(1e-13, 1e-9))
def test_time_found_releases_the_share_asked_for(
    shape: str, share: float, size: float, diffusivity: float
) -> None:
    seconds = diffusion_time(size, diffusivity, share, shape)
    assert released(shape, diffusivity * seconds / (size / 2) ** 2) == pytest.approx(share)


@given(SHAPES, st.floats(0.1, 0.99))
def test_twice_the_size_takes_four_times_as_long(shape: str, share: float) -> None:
    times = [call("HOPPER_DIFFUSION_HOURS", size, 1e-10, share, shape) for size in (2, 4)]
    assert times[1] == pytest.approx(4 * times[0])


def test_it_is_not_the_drying_time_and_says_so() -> None:
    # PC at 120 degC: 0.76 h by diffusion, 3 to 8 h recommended.
    hours = call("HOPPER_DIFFUSION_HOURS", 3, 1.4959e-10, 0.9)
    assert hours < 0.3 * call("HOPPER_RESIN", "PC", "drying hours low")
    record = get("HOPPER_DIFFUSION_HOURS")
    assert record is not None
    assert "never the drying time" in record.result.text
    assert record.assumptions.startswith("Never the drying time")
