"""The registry: what is frozen, and what every record must have for every surface to work."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterator, Mapping

import pytest

import hoppersheet
from hoppersheet.cells.numbers_in_text import shown
from hoppersheet.cells.quantities import QUANTITIES, SYSTEMS, Quantity
from hoppersheet.cells.reading import choice_reader, number_reader
from hoppersheet.cells.wording import in_system, rounded
from hoppersheet.functions import all_functions
from hoppersheet.registry import REQUIRED, UNITS, Argument, CellFunction
from hosts.excel import vba_names

#: Frozen: a workbook on a customer's disk holds these names and this order. A new function is a
#: new line; a new argument is optional and goes to the end, before units. Order as in the design.
SIGNATURES = """\
HOPPER_BLEND_DENSITY(shares, densities, [share_basis], [units])
HOPPER_REGRIND_DENSITY(virgin_density, [ratio], [units])
HOPPER_SAMPLE_DENSITY(net_masses, cup_volume, [units])
HOPPER_SAMPLE_SPREAD(net_masses)
HOPPER_RESIN(resin, property, [own_table], [units])
HOPPER_MOLDING_RATE(shot_mass, cycle_time, [machines], [units])
HOPPER_EXTRUSION_RATE(mass_per_length, line_speed, [units])
HOPPER_REQUIRED_VOLUME(throughput, drying_hours, bulk_density, [reserve], [units])
HOPPER_HELD_HOURS(volume, bulk_density, throughput, [units])
HOPPER_MAX_THROUGHPUT(volume, bulk_density, drying_hours, [units])
HOPPER_HELD_MASS(volume, bulk_density, [units])
HOPPER_NEXT_SIZE(required_volume, catalog_sizes, [allowed_shortfall], [units])
HOPPER_SIZE_BELOW(required_volume, catalog_sizes, [units])
HOPPER_CATALOG_ENTRY(size, catalog_sizes, catalog_column, [units])
HOPPER_SIZE_MARGIN(size, required_volume, [units])
HOPPER_COUNT(required_volume, catalog_sizes, [units])
HOPPER_CHANCE_HELD(size, throughput_range, hours_range, density_range, [units])
HOPPER_RATED_VOLUME(rated_mass, rated_density, [units])
HOPPER_SHAPE_VOLUME(diameter, straight_height, cone_angle, outlet_diameter, [units])
HOPPER_LOADED_MASS(empty_mass, volume, bulk_density, [units])
HOPPER_AIRFLOW(throughput, specific_airflow, [units])
HOPPER_HEAT(throughput, specific_heat, from_temperature, to_temperature, [units])
HOPPER_AIR_HEAT(airflow, from_temperature, to_temperature, [altitude], [units])
HOPPER_WATER_REMOVED(throughput, moisture_in, moisture_out, [units])
HOPPER_AIR_MOISTURE(temperature, relative_humidity, [altitude], [units])
HOPPER_DEW_POINT(temperature, relative_humidity, [units])
HOPPER_SIZE_JOBS(jobs, catalog_sizes, [share_basis], [units])
HOPPER_CONVERT(value, from_unit, to_unit)
HOPPER_EXPLAIN(function_name, arguments...)
HOPPER_VERSION()
""".splitlines()

#: What stands for an omitted argument; a changed default changes numbers in old workbooks.
DEFAULTS = {
    ("HOPPER_BLEND_DENSITY", "share_basis"): "volume",
    ("HOPPER_REGRIND_DENSITY", "ratio"): 0.5,
    ("HOPPER_MOLDING_RATE", "machines"): 1,
    ("HOPPER_REQUIRED_VOLUME", "reserve"): 0,
    ("HOPPER_NEXT_SIZE", "allowed_shortfall"): 0,
    ("HOPPER_RESIN", "own_table"): "none",
    ("HOPPER_AIR_MOISTURE", "altitude"): 0,
    ("HOPPER_AIR_HEAT", "altitude"): 0,
    ("HOPPER_SIZE_JOBS", "share_basis"): "not stated",
    ("HOPPER_SIZE_JOBS", "units"): "as the list says",
}

FUNCTIONS = list(all_functions().values())
ARGUMENTS = [(f, a) for f in FUNCTIONS for a in f.arguments]
_by_name = pytest.mark.parametrize("function", FUNCTIONS, ids=lambda f: f.name)


def _by_argument_that(wanted: Callable[[Argument], object]) -> pytest.MarkDecorator:
    chosen = [(f, a) for f, a in ARGUMENTS if wanted(a)]
    return pytest.mark.parametrize(
        ("function", "argument"), chosen, ids=[f"{f.name} {a.name}" for f, a in chosen]
    )


_by_argument = _by_argument_that(lambda a: True)


def equations(function: CellFunction) -> list[str]:
    written = function.equation
    return list(written.values()) if isinstance(written, Mapping) else [written]


def test_names_and_order_of_arguments_are_frozen() -> None:
    assert sorted(f.signature for f in FUNCTIONS) == sorted(SIGNATURES)


def test_defaults_are_frozen() -> None:
    defaults = {
        (f.name, a.name): a.default
        for f, a in ARGUMENTS
        if a is not UNITS and a.default is not REQUIRED
    }
    assert defaults == DEFAULTS
    assert (UNITS.default, tuple(UNITS.choices)) == ("US", ("US", "metric"))


@_by_name
def test_function_names_suit_every_host(function: CellFunction) -> None:
    assert re.fullmatch(r"HOPPER(_[A-Z]+)+", function.name)
    assert not vba_names.objections(function.name)
    # Excel: names of up to 255 characters; the wizard shows about 30 of them.
    assert len(function.name) <= 30


@_by_argument
def test_argument_names_suit_every_host(function: CellFunction, argument: Argument) -> None:
    assert argument.name == argument.name.lower()
    assert vba_names.objections(argument.name) == []
    assert argument.name.upper() not in all_functions()


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("Scale", "reserved"), ("INPUT", "reserved"), ("Type", "reserved"), ("date", "reserved"),
        ("currency", "reserved"), ("len", "reserved"), ("longPtr", "reserved"),
        ("vb_name", "reserved"), ("cdecl", "reserved"), ("t1", "cell address"),
        ("rho1", "cell address"), ("XFD1048576", "cell address"), ("r", "cell address"),
        ("r1c1", "cell address"), ("c", "cell address"), ("bulk density", "identifier"),
        ("_size", "identifier"), ("k", "wrapper"), ("argsArray", "wrapper"), ("line", "VBA"),
    ],
)  # fmt: skip
def test_bad_argument_names_are_found(name: str, why: str) -> None:
    assert any(why in objection for objection in vba_names.objections(name))


@_by_name
def test_argument_names_fit_the_wizard(function: CellFunction) -> None:
    names = [a.name for a in function.arguments]
    assert len(set(names)) == len(names)
    # Excel keeps the names of all arguments of a function in one text of 255 characters.
    assert len(", ".join(names)) < 254


def texts(function: CellFunction) -> Iterator[tuple[str, str, int]]:
    """(what, text, longest): Excel cuts a wizard text at 255 characters, translated ones grow."""
    yield "summary", function.summary, 200
    for argument in function.arguments:
        yield argument.name, argument.text, 200
    # These are read in the guide and in EXPLAIN's line.
    yield "result", function.result.text, 100
    yield "assumptions", function.assumptions, 300
    yield "source", function.source, 300
    yield "source of the example", function.example.source, 300
    for equation in equations(function):
        yield "equation", equation, 300


@_by_name
def test_texts_fit_the_wizard_and_are_there(function: CellFunction) -> None:
    for what, text, longest in texts(function):
        assert len(text) <= longest, what
        assert text == " ".join(text.split()), what
    assert function.summary.endswith(".") and function.summary[0].isupper()
    assert function.source and function.example.source and function.result.text
    # What is only looked up has no equation.
    assert all(equations(function)) or function.result.kind in ("cell", "text")
    for argument in function.arguments:
        assert argument.text.endswith("."), argument.name


@_by_name
def test_each_answers_a_question_and_leads_on(function: CellFunction) -> None:
    assert re.fullmatch(r"[A-Z][^?]+\?", function.question) and len(function.question) <= 80
    assert function.name not in function.see_also
    assert len(set(function.see_also)) == len(function.see_also)
    assert set(function.see_also) <= set(all_functions())
    for argument in function.arguments:
        if argument.known is not None:
            assert argument.kind in ("text", "cells"), argument.name
            assert set(argument.known().values()) <= {*QUANTITIES, ""}, argument.name


@_by_argument
def test_text_names_the_unit_of_both_systems(function: CellFunction, argument: Argument) -> None:
    measure = argument.measure
    if measure is not None and measure.us != measure.metric:
        us, metric = (
            re.sub(r"/\((\w+/\w+)\)$", r" per \1", unit) for unit in (measure.us, measure.metric)
        )
        assert us in argument.text and f"metric {metric}" in argument.text
    elif measure is not None and measure.us not in ("1", "h"):
        assert re.search({"s": "seconds", "g": "grams"}.get(measure.us, measure.us), argument.text)


_TOLD = re.compile(r"(-?[0-9.]+) to (-?[0-9.]+)")


@_by_argument_that(lambda a: a.limits and _TOLD.search(a.text))
def test_limits_told_in_a_text_are_the_limits(function: CellFunction, argument: Argument) -> None:
    told = _TOLD.search(argument.text)
    assert told and argument.limits
    low, high = (in_system(x, argument.quantity, "US") for x in argument.limits)
    assert (float(told[1]), float(told[2])) == pytest.approx((low, high), rel=1e-12)


@_by_argument
def test_kind_and_quantity_belong_together(function: CellFunction, argument: Argument) -> None:
    numbers = ("number", "numbers", "estimate", "positions", "pairs", "shares")
    assert argument.kind in (*numbers, "choice", "text", "cell", "cells", "rest")
    assert (argument.quantity in QUANTITIES) == (argument.kind in numbers)
    assert (argument.kind == "choice") == bool(argument.choices)
    if argument.limits:
        assert argument.limits[0] < argument.limits[1]


@_by_argument_that(lambda a: a.default is not REQUIRED)
def test_default_is_one_that_a_user_could_type(function: CellFunction, argument: Argument) -> None:
    if argument.kind == "choice":
        assert choice_reader(argument)(argument.default) in argument.choices
    elif argument.kind == "cells":
        before = function.example.arguments[: function.arguments.index(argument)]
        typed = hoppersheet.call(function.name, *before, argument.default)
        assert typed == hoppersheet.call(function.name, *before)
    else:
        assert argument.quantity, "a default of a kind that this test does not know"
        for system in SYSTEMS:
            number_reader(argument, system)(argument.default)


@_by_name
def test_optional_arguments_come_last(function: CellFunction) -> None:
    required = [a.required for a in function.arguments]
    assert required == sorted(required, reverse=True)
    assert all(a is not UNITS for a in function.arguments[:-1])
    assert all(a.kind != "rest" for a in function.arguments[:-1])


@_by_name
def test_python_parameters_are_the_arguments(function: CellFunction) -> None:
    parameters = inspect.signature(function.function).parameters
    expected = [a.name for a in function.arguments if a is not UNITS or function.takes_units]
    assert list(parameters) == expected
    for argument in function.arguments:
        if argument.kind == "rest":
            assert parameters[argument.name].kind is inspect.Parameter.VAR_POSITIONAL
    assert all(p.default is inspect.Parameter.empty for p in parameters.values())
    assert function.function.__doc__


@_by_name
def test_equation_speaks_of_the_arguments(function: CellFunction) -> None:
    names = {a.name for a in function.arguments}
    for equation in equations(function):
        words = set(re.findall(r"[A-Za-z_]\w*", equation))
        # A name with an underscore is an argument, a name that the equation goes on to define
        # ("... , p_air = ..."), or the one statistic of its kind.
        defined = set(re.findall(r"(\w+) = ", equation))
        assert {w for w in words if "_" in w} <= names | defined | {"standard_deviation"}
        # A number that goes in but is not in the equation would be a hidden assumption.
        assert {a.name for a in function.arguments if a.quantity} <= words
    if isinstance(function.equation, Mapping):
        choices = [set(a.choices) for a in function.arguments if a.kind == "choice"]
        assert set(function.equation) in choices


@_by_name
def test_explain_tells_the_result_of_the_example(function: CellFunction) -> None:
    cells = function.example.arguments
    value = hoppersheet.call(function.name, *cells)
    line = hoppersheet.call("HOPPER_EXPLAIN", function.name, *cells)
    assert line.startswith(f"{function.name}: ") and "\n" not in line and "{" not in line
    if isinstance(value, list):
        assert f"a table of {len(value)} rows" in line
    elif isinstance(value, float):
        told = (re.escape(rounded(value, digits)) for digits in (4, 6))
        assert re.search(rf"= ({'|'.join(told)})[^0-9]", line)
    else:
        assert shown(value) in line
    assert function.source.rstrip(".") in line


def test_explain_tells_the_error_and_the_reason() -> None:
    line = hoppersheet.call("HOPPER_EXPLAIN", "hopper_required_volume", 100, 4, 0.55)
    assert line.startswith("HOPPER_REQUIRED_VOLUME: #NUM! bulk_density: ")
    assert "0.55 lb/ft3" in line and "1.873 lb/ft3" in line


def test_explain_tells_defaults_and_unusual_inputs() -> None:
    line = hoppersheet.call("HOPPER_EXPLAIN", "HOPPER_REQUIRED_VOLUME", 100, 24, 36.5)
    assert "Default taken: reserve 0, units US." in line
    assert "drying_hours 24 h is longer than usual, 1 h to 12 h" in line
    line = hoppersheet.call("HOPPER_EXPLAIN", "HOPPER_REQUIRED_VOLUME", 100, 0.8, 62)
    assert "drying_hours 0.8 h is shorter than usual, 1 h to 12 h" in line
    assert "bulk_density 62 lb/ft3 is outside the usual range, 12.49 lb/ft3 to 59.31 lb/ft3" in line


def test_explain_tells_what_is_assumed() -> None:
    line = hoppersheet.call("HOPPER_EXPLAIN", "HOPPER_REQUIRED_VOLUME", 220, 3.5, 36.4)
    assert " Assumes: Plug flow: all resin moves down at the same pace" in line
    assert "usable" in line and line.index("Assumes") < line.index("Source")


@pytest.mark.parametrize("row", QUANTITIES.values(), ids=lambda q: q.name)
def test_limits_of_a_quantity_make_sense(row: Quantity) -> None:
    assert row.low < row.high
    if row.typical:
        assert row.low <= row.typical[0] < row.typical[1] <= row.high


def test_the_slips_people_make_fall_outside_the_limits() -> None:
    """Common practice, no source: bulk densities of resins are 200 to 950 kg/m3, 1 to 12 hours."""
    density = QUANTITIES["bulk density"]
    for metric in (0.2, 0.55, 0.95, 1.5):  # kg/L typed where lb/ft3 is expected
        assert metric * 16.01846 < density.low
    for us in (12.5, 34, 59):  # lb/ft3 typed where kg/L is expected
        assert us * 1000 > density.high
    hours = QUANTITIES["drying hours"]
    for clock in range(1, 13):  # 4:00 is 4/24
        assert clock / 24 * 3600 < hours.low
    assert hours.high < 120 * 3600  # minutes typed for hours


#: Error values of Excel as COM hands them over: 0x800A0000 + XlCVError (Microsoft), signed.
COM_ERRORS = [0x800A0000 - 2**32 + number for number in range(2000, 2050)]


@pytest.mark.parametrize(
    "record",
    [r for r in all_functions().values() if r.only_numbers],
    ids=lambda record: record.name,
)
def test_no_number_of_a_function_of_numbers_can_be_an_error_value(record: CellFunction) -> None:
    """Both hosts hand their cells to such a function as they are, and rely on its refusal."""
    for argument in record.arguments:
        if argument.kind == "choice":
            read = [choice_reader(argument)]
        else:
            read = [number_reader(argument, system) for system in SYSTEMS]
        for read_one in read:
            for error in (*COM_ERRORS, *map(float, COM_ERRORS), float("nan")):
                with pytest.raises(hoppersheet.CellError):
                    read_one(error)
