"""What must hold for every input, not only for the examples."""

from __future__ import annotations

import os
from math import isfinite
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from hoppersheet import OMITTED, CellError, call
from hoppersheet.cells.quantities import QUANTITIES
from hoppersheet.cells.wording import in_system, to_si
from hoppersheet.errors import SHEET_ERRORS
from hoppersheet.functions import all_functions
from hoppersheet.registry import UNITS, Argument, CellFunction
from hoppersheet.tables.job_rows import JOB_COLUMNS

#: Calls per function with cells of any kind; set the variable to look for trouble with new ones.
FUZZ = int(os.environ.get("HOPPERSHEET_FUZZ", "60"))

FUNCTIONS = all_functions()


def between(quantity: str) -> st.SearchStrategy[float]:
    """SI values well inside the hard limits, most of them where the trade lives."""
    measure = QUANTITIES[quantity]
    inside = (measure.high - measure.low) * 1e-6
    everywhere = st.floats(measure.low + inside, measure.high - inside)
    low, high = measure.typical or (measure.low + inside, measure.high - inside)
    # A heat is a difference of two temperatures; no thermometer tells 1e-99 K apart.
    coarse = measure.si == "degC"
    return (st.floats(low, high) | everywhere).map(lambda si: round(si, 3) if coarse else si)


def metric(quantity: str) -> st.SearchStrategy[float]:
    return between(quantity).map(lambda si: in_system(si, quantity, "metric"))


def close(a: float, b: float, rel: float = 1e-9) -> bool:
    return abs(a - b) <= rel * max(abs(a), abs(b))


@st.composite
def blends(draw: st.DrawFn) -> tuple[list[list[float]], list[list[float]]]:
    """(shares, densities) of one to six components, metric."""
    parts = draw(st.lists(st.floats(0.01, 1.0), min_size=1, max_size=6))
    whole = draw(st.sampled_from((1.0, 100.0)))
    shares = [[part / sum(parts) * whole] for part in parts]
    return shares, [[draw(metric("bulk density"))] for _ in parts]


# --- the physics ----------------------------------------------------------------------------


@given(blends(), st.sampled_from(("volume", "mass")))
def test_a_blend_lies_between_its_lightest_and_its_heaviest(blend: Any, basis: str) -> None:
    shares, densities = blend
    density = call("HOPPER_BLEND_DENSITY", shares, densities, basis, "metric")
    known = [row[0] for row in densities]
    assert min(known) * (1 - 1e-12) <= density <= max(known) * (1 + 1e-12)


@given(blends())
def test_a_blend_by_mass_is_never_denser_than_by_volume(blend: Any) -> None:
    """The harmonic mean is never above the arithmetic one (Cauchy)."""
    by_volume, by_mass = (
        call("HOPPER_BLEND_DENSITY", *blend, basis, "metric") for basis in ("volume", "mass")
    )
    assert by_mass <= by_volume * (1 + 1e-12)


@given(blends())
def test_shares_by_mass_become_shares_by_volume(blend: Any) -> None:
    """phi_i = w_i x rho_mix / rho_i: both rules describe the same blend (mass balance)."""
    shares, densities = blend
    by_mass = call("HOPPER_BLEND_DENSITY", shares, densities, "mass", "metric")
    volumes = [[w[0] / rho[0] * by_mass] for w, rho in zip(shares, densities, strict=True)]
    again = call("HOPPER_BLEND_DENSITY", volumes, densities, "volume", "metric")
    assert close(again, by_mass)


@given(blends(), st.randoms(use_true_random=False))
def test_the_order_of_components_does_not_matter(blend: Any, random: Any) -> None:
    pairs = list(zip(*blend, strict=True))
    random.shuffle(pairs)
    shuffled = [list(column) for column in zip(*pairs, strict=True)]
    for basis in ("volume", "mass"):
        assert close(
            call("HOPPER_BLEND_DENSITY", *blend, basis, "metric"),
            call("HOPPER_BLEND_DENSITY", *shuffled, basis, "metric"),
            1e-12,
        )


_chain = (metric("throughput"), metric("drying hours"), metric("bulk density"))


@given(*_chain, metric("reserve"))
def test_the_required_volume_holds_the_drying_hours_and_the_reserve(
    throughput: float, hours: float, density: float, reserve: float
) -> None:
    volume = call("HOPPER_REQUIRED_VOLUME", throughput, hours, density, reserve, "metric")
    assume(0.2 < volume < 1e7)
    held = call("HOPPER_HELD_HOURS", volume, density, throughput, "metric")
    assert close(held, hours * (1 + reserve))
    most = call("HOPPER_MAX_THROUGHPUT", volume, density, hours, "metric")
    assert close(most, throughput * (1 + reserve))
    mass = call("HOPPER_HELD_MASS", volume, density, "metric")
    assert close(mass, throughput * hours * (1 + reserve))
    assume(0.01 < mass < 1e6)
    assert close(call("HOPPER_RATED_VOLUME", mass, density, "metric"), volume)


@given(*_chain, st.floats(1.001, 2.0))
def test_more_to_hold_never_needs_less_volume(
    throughput: float, hours: float, density: float, more: float
) -> None:
    assume(throughput * more < 9e5 and hours * more < 72 and density / more > 0.031)
    volume = call("HOPPER_REQUIRED_VOLUME", throughput, hours, density, 0, "metric")
    for larger in (
        (throughput * more, hours, density, 0),
        (throughput, hours * more, density, 0),
        (throughput, hours, density / more, 0),
        (throughput, hours, density, more - 1),
    ):
        assert call("HOPPER_REQUIRED_VOLUME", *larger, "metric") > volume


_sizes = st.lists(st.floats(1.0, 5000.0), min_size=1, max_size=12)


@given(st.floats(1.0, 6000.0), _sizes)
def test_next_size_is_at_least_required_and_the_size_below_less(
    required: float, sizes: list[float]
) -> None:
    column = [[size] for size in sizes]
    following = value_or_code("HOPPER_NEXT_SIZE", required, column)
    below = value_or_code("HOPPER_SIZE_BELOW", required, column)
    slack = required * 2e-9
    if isinstance(following, float):
        assert following >= required - slack and any(close(following, s) for s in sizes)
    else:
        assert following == "#N/A" and max(sizes) < required
    if isinstance(below, float):
        assert below < required and any(close(below, s) for s in sizes)
    else:
        assert below == "#N/A" and min(sizes) >= required - slack
    found = [x for x in (below, following) if isinstance(x, float)]
    lowest = below if isinstance(below, float) else 0.0
    highest = following if isinstance(following, float) else float("inf")
    # Nothing lies between the two, and there is at least one of them.
    assert found
    assert not [s for s in sizes if lowest * (1 + 1e-8) < s < highest * (1 - 1e-8)]


@given(st.floats(1.0, 1e6), _sizes)
def test_the_counted_hoppers_are_enough_and_one_less_is_not(
    required: float, sizes: list[float]
) -> None:
    count = call("HOPPER_COUNT", required, [sizes], "metric")
    assert count == int(count) >= 1
    assert count * max(sizes) >= required * (1 - 2e-9)
    assert (count - 1) * max(sizes) < required


@given(st.floats(1.0, 5000.0), st.floats(1.0, 5000.0))
def test_the_margin_leads_back_to_the_size(size: float, required: float) -> None:
    margin = call("HOPPER_SIZE_MARGIN", size, required)
    assert abs(required * (1 + margin) - size) <= 1e-9 * size


# --- both unit systems -----------------------------------------------------------------------


def in_both_systems(data: st.DataObject, argument: Argument) -> tuple[Any, Any, Any]:
    """The same value as a US number, a metric number, and metric text with its unit."""
    measure = argument.measure
    if measure is None:
        option = data.draw(st.sampled_from(sorted(argument.choices)))
        return option, option, option
    low, high = argument.limits or (measure.low, measure.high)
    one = between(argument.quantity).filter(lambda si: low < si < high)
    if argument.kind == "number":
        many = [data.draw(one)]
    elif argument.kind == "shares":
        many = [0.25, 0.75]
    else:
        many = [data.draw(one), data.draw(one)]
    us, metric = ([[in_system(si, argument.quantity, s) for si in many]] for s in ("US", "metric"))
    unit = measure.metric if measure.metric != "1" else ""
    # Three digits after the point could be thousands; with more there is no doubt.
    text = [[f"{number:.17e} {unit}".strip() for number in metric[0]]]
    if argument.kind == "number":
        return us[0][0], metric[0][0], text[0][0]
    return us, metric, text


_CONVERTIBLE = [
    f
    for f in FUNCTIONS.values()
    if f.has_units and all(a.quantity or a.kind == "choice" for a in f.arguments)
]


@pytest.mark.parametrize("function", _CONVERTIBLE, ids=lambda f: f.name)
@settings(max_examples=max(40, FUZZ // 3))
@given(data=st.data())
def test_us_metric_and_text_agree(function: CellFunction, data: st.DataObject) -> None:
    drawn = [in_both_systems(data, a) for a in function.arguments if a is not UNITS]
    us, metric, text = (list(column) for column in zip(*drawn, strict=True))
    expected = value_or_code(function.name, *us, "US")
    for cells, system in ((metric, "metric"), (text, "US"), (text, "metric")):
        result = value_or_code(function.name, *cells, system)
        if isinstance(expected, float) and isinstance(result, float):
            quantity = function.result.quantity
            a, b = to_si(expected, quantity, "US"), to_si(result, quantity, system)
            # A temperature near 0 degC has no relative accuracy; a margin near 0 neither.
            assert close(a, b, 1e-8) or abs(a - b) < 1e-6 * (quantity in ("temperature", "margin"))
        else:
            assert result == expected, (cells, system)


# --- no value of any kind breaks the door -------------------------------------------------------

_TEXTS = (
    "30 lb/ft3", "0,55 kg/L", "4 h", "5 %", "440 L", "1,234", "4:00", "kg", "3 tons", "20 degC",
    "US", "metric", "volume", "by mass", "HOPPER_HELD_MASS", "PC", "bulk density", "{0}", "%s",
    "=1+1", "size", "model", "throughput", "drying hours", "virgin density", "1e308", "\ud800",
)  # fmt: skip
_scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(min_value=10**300, max_value=10**320),
    st.floats(),
    st.floats(0.01, 1000.0),
    st.text(max_size=12),
    st.sampled_from(sorted(SHEET_ERRORS)),
    st.sampled_from(_TEXTS),
    st.dates(),
    st.times(),
    st.datetimes(),
    st.timedeltas(),
    st.decimals(),
    st.just(OMITTED),
)
_ranges = st.one_of(
    st.lists(_scalars, max_size=4),
    st.lists(st.lists(_scalars, max_size=3), max_size=4),
    st.lists(st.lists(st.floats(0.01, 100.0), min_size=1, max_size=1), max_size=4),
    st.tuples(st.tuples(_scalars, _scalars)),
    st.lists(st.lists(st.lists(_scalars, max_size=2), max_size=2), max_size=2),
)
_cells = st.one_of(_scalars, _ranges)


def value_or_code(name: str, *cells: Any) -> Any:
    try:
        return call(name, *cells)
    except CellError as problem:
        return problem.code


def fit_for_a_cell(value: Any) -> bool:
    if isinstance(value, list):
        return all(
            isinstance(row, list) and len(row) == len(value[0]) and all(map(fit_for_a_cell, row))
            for row in value
        )
    return isinstance(value, (str, bool)) or (type(value) is float and isfinite(value))


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=lambda f: f.name)
@settings(max_examples=FUZZ)
@given(data=st.data())
def test_any_cell_value_gives_a_value_or_an_error(
    function: CellFunction, data: st.DataObject
) -> None:
    cells = list(function.example.arguments)
    cells += [OMITTED] * (len(function.arguments) - len(cells))
    for _ in range(data.draw(st.integers(1, 3))):
        if cells:
            cells[data.draw(st.integers(0, len(cells) - 1))] = data.draw(_cells)
    cells += data.draw(st.lists(_cells, max_size=1))
    try:
        value = call(function.name, *cells)
    except CellError as problem:
        assert problem.code in SHEET_ERRORS
        assert problem.reason and "\n" not in problem.reason and len(problem.reason) < 400
        assert problem.argument in {"", "function_name", *(a.name for a in function.arguments)}
    else:
        assert fit_for_a_cell(value), value
    line = call("HOPPER_EXPLAIN", function.name, *cells)
    assert isinstance(line, str) and line.startswith(function.name) and "\n" not in line


@settings(max_examples=FUZZ * 3)
@given(
    st.lists(st.lists(_cells | st.floats(0.8, 60.0), min_size=10, max_size=10), max_size=3),
    st.lists(st.lists(_scalars | st.floats(5.0, 60.0), min_size=3, max_size=3), max_size=3),
    st.sampled_from(("US", "metric")),
)
def test_any_row_of_a_job_list_gives_a_row(rows: Any, catalog: Any, units: str) -> None:
    jobs = [list(JOB_COLUMNS), *rows]
    sizes = [["size", "model", "price"], [20, "M20", 1], *catalog]
    table = value_or_code("HOPPER_SIZE_JOBS", jobs, sizes, OMITTED, units)
    assert fit_for_a_cell(table), table
    if isinstance(table, list):
        assert len(table) == len(jobs)


@given(st.text(max_size=20) | st.sampled_from(sorted(FUNCTIONS)), st.lists(_cells, max_size=5))
def test_any_function_name_gives_a_value_or_an_error(name: str, cells: list[Any]) -> None:
    value = value_or_code(name, *cells)
    assert fit_for_a_cell(value)
