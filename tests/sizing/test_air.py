"""Air, heat and water against CoolProp (real gas, RP-1485) and against closed balances."""

from __future__ import annotations

import itertools
import subprocess
import sys

import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import assume, given
from hypothesis import strategies as st

from hoppersheet import CellError, call

LB = 0.45359237
room_temperatures = st.floats(-40, 60)
humidities = st.floats(0.01, 1)
moistures = st.floats(1e-5, 0.09)

# Temperatures on both sides of freezing, sea level and ASHRAE's standard atmosphere at 2000 m.
ROOMS = list(itertools.product((-40, -20, -5, 0.5, 10, 25, 40, 60), (0.05, 0.5, 1)))


@pytest.mark.parametrize(("temperature", "humidity"), ROOMS)
@pytest.mark.parametrize(("altitude", "pressure"), [(0, 101325.0), (2000, 79495.0)])
def test_humidity_ratio_agrees_with_coolprop(
    temperature: float, humidity: float, altitude: float, pressure: float
) -> None:
    real = HAPropsSI("W", "T", temperature + 273.15, "R", humidity, "P", pressure)
    ours = call("HOPPER_AIR_MOISTURE", temperature, humidity, altitude, "metric")
    # ASHRAE 2017 ch. 1: perfect gas is under 0.7 % low from -50 to 50 degC at sea level.
    assert -0.0075 < ours / real - 1 < 0


@pytest.mark.parametrize(("temperature", "humidity"), ROOMS)
def test_dew_point_agrees_with_coolprop(temperature: float, humidity: float) -> None:
    real = HAPropsSI("D", "T", temperature + 273.15, "R", humidity, "P", 101325.0) - 273.15
    assert call("HOPPER_DEW_POINT", temperature, humidity, "metric") == pytest.approx(
        real, abs=0.03
    )
    fahrenheit = call("HOPPER_DEW_POINT", f"{temperature} degC", humidity)
    assert fahrenheit == pytest.approx(real * 1.8 + 32, abs=0.054)


@given(room_temperatures, humidities)
def test_air_at_its_dew_point_holds_the_same_water(temperature: float, humidity: float) -> None:
    point = call("HOPPER_DEW_POINT", temperature, humidity, "metric")
    assert point <= temperature + 1e-12  # the last digit is rounded
    ratio = call("HOPPER_AIR_MOISTURE", temperature, humidity, 0, "metric")
    assume(ratio > 2e-7)
    # 0.001 K of dew point is 0.014 % of water at -60 degC.
    saturated = call("HOPPER_AIR_MOISTURE", point, 1, 0, "metric")
    assert saturated == pytest.approx(ratio, rel=3e-4)


@given(room_temperatures, st.floats(0.01, 0.95), st.floats(-500, 4500))
def test_damper_or_thinner_air_holds_more_water(
    temperature: float, humidity: float, altitude: float
) -> None:
    def ratio(relative_humidity: float, height: float) -> float:
        value: float = call("HOPPER_AIR_MOISTURE", temperature, relative_humidity, height, "metric")
        return value

    assume(humidity > 0.1 or temperature > -30)
    assert ratio(humidity, altitude) < ratio(humidity * 1.05, altitude)
    assert ratio(humidity, altitude) < ratio(humidity, altitude + 500)


@pytest.mark.parametrize("theirs", [psychrolib.IP, psychrolib.SI])
def test_the_unit_system_of_psychrolib_is_nobodys_business(theirs: object) -> None:
    """Whoever imports psychrolib keeps their unit system, at every moment, and so do we."""
    before = call("HOPPER_DEW_POINT", 25, 0.5, "metric")
    psychrolib.SetUnitSystem(theirs)
    try:
        assert call("HOPPER_DEW_POINT", 25, 0.5, "metric") == before
        assert psychrolib.GetUnitSystem() is theirs
        # ASHRAE 2017 ch. 1, Table 1: 101325 Pa, 14.696 psi at sea level.
        expected = {psychrolib.IP: 14.696, psychrolib.SI: 101325}[theirs]
        assert psychrolib.GetStandardAtmPressure(0) == pytest.approx(expected, rel=1e-4)
    finally:
        psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize(
    ("name", "cells", "words"),
    [
        ("HOPPER_DEW_POINT", (-140, 0.01), ("-140 degF", "-148 degF")),
        ("HOPPER_AIR_MOISTURE", (-130, 0.01), ("-130 degF", "1e-07")),
        ("HOPPER_HEAT", (100, 0.3, 250, 70), ("70 degF", "250 degF", "swapped")),
        ("HOPPER_WATER_REMOVED", (100, 0.0002, 0.002), ("0.002", "0.0002", "swapped")),
        ("HOPPER_WATER_REMOVED", (100, 0.2, 0.02), ("0.099", "percentage")),
        ("HOPPER_AIRFLOW", (100, 0), ("specific airflow",)),
        ("HOPPER_AIR_HEAT", (220, 150, 250), ("250 degF", "150 degF", "swapped")),
    ],
)
def test_refusals_name_value_and_limit(
    name: str, cells: tuple[float, ...], words: tuple[str, ...]
) -> None:
    with pytest.raises(CellError) as refused:
        call(name, *cells)
    assert refused.value.code == "#NUM!"
    for word in words:
        assert word in refused.value.reason


@given(
    st.floats(1, 5000), st.floats(0.9, 2.5), st.floats(-20, 60), st.floats(61, 200)
)  # kg/h, kJ/(kg K), degC
def test_heat_balance_closes_in_both_unit_systems(
    throughput: float, specific_heat: float, cold: float, hot: float
) -> None:
    kilowatts = call("HOPPER_HEAT", throughput, specific_heat, cold, hot, "metric")
    assert kilowatts == pytest.approx(throughput / 3600 * specific_heat * (hot - cold), rel=1e-9)
    btu_per_hour = call(
        "HOPPER_HEAT", throughput / LB, specific_heat / 4.1868, cold * 1.8 + 32, hot * 1.8 + 32
    )
    # NIST SP 811 B.8: Btu(IT)/h is 0.2930711 W.
    assert btu_per_hour * 0.2930711e-3 == pytest.approx(kilowatts, rel=5e-7)


@given(st.floats(1, 5000), moistures, moistures)
def test_water_balance_closes_in_both_unit_systems(
    feed: float, one_moisture: float, other_moisture: float
) -> None:
    low, high = sorted((one_moisture, other_moisture))
    water = call("HOPPER_WATER_REMOVED", feed, high, low, "metric")
    dried = feed - water
    assert dried * (1 - low) == pytest.approx(feed * (1 - high), rel=1e-12)  # dry resin
    assert dried * low + water == pytest.approx(feed * high, rel=1e-9)  # water
    pounds = call("HOPPER_WATER_REMOVED", feed / LB, high, low)
    assert pounds * LB == pytest.approx(water, rel=1e-9)


def test_drying_air_takes_the_water_up() -> None:
    # H10: water of 100 kg/h from 0.30 to 0.02 %, in 1 cfm per lb/h of air of 1.2 kg/m3.
    water = call("HOPPER_WATER_REMOVED", 100, 0.003, 0.0002, "metric")
    air = call("HOPPER_AIRFLOW", "100 kg/h", "1 cfm/(lb/h)", "metric") * 1.2
    assert water / air == pytest.approx(0.000623065, rel=1e-4)
    # Air at frost point -40 can take that up and still be far drier than a humid room.
    supply = call("HOPPER_AIR_MOISTURE", -40, 1, 0, "metric")
    room = call("HOPPER_AIR_MOISTURE", 30, 0.7, 0, "metric")
    assert supply + water / air < room / 20


@pytest.mark.parametrize(
    ("hot", "cool"), [(25, 15), (80, 30), (120, 60), (160, 40), (200, 20), (200, 150)]
)
@pytest.mark.parametrize(("altitude", "pressure"), [(0, 101325.0), (2000, 79495.0)])
def test_air_heat_agrees_with_coolprop(
    hot: float, cool: float, altitude: float, pressure: float
) -> None:
    def real(what: str, temperature: float) -> float:
        return float(PropsSI(what, "T", temperature + 273.15, "P", pressure, "Air"))

    # Pressure of the standard atmosphere at 2000 m: ASHRAE 2017 ch. 1, Table 1.
    watts = 1 / 3600 * real("D", hot) * (real("H", hot) - real("H", cool))
    ours = call("HOPPER_AIR_HEAT", 1, hot, cool, altitude, "metric") * 1000
    # The specific heat of 1.006 is that of 20 degC; at 175 degC air has 1.021 (1.5 % more).
    assert -0.016 < ours / watts - 1 < 0.001


def test_air_heat_of_a_standard_flow_is_that_of_its_mass() -> None:
    """68 degF (20 degC) and 101.325 kPa: 0.0752 lb/ft3, CoolProp; and 0 degC: 1.2929 kg/m3."""
    assert PropsSI("D", "T", 293.15, "P", 101325, "Air") == pytest.approx(1.2045, rel=2e-4)
    assert PropsSI("D", "T", 273.15, "P", 101325, "Air") == pytest.approx(1.2929, rel=2e-4)
    for altitude in (0, 1500, 4000):
        kilowatts = call("HOPPER_AIR_HEAT", "100 Nm3/h", 120, 60, altitude, "metric")
        assert kilowatts == pytest.approx(129.29 / 3600 * 1.006 * 60, rel=1e-3)
        again = call("HOPPER_AIR_HEAT", "100 scfm", 120, 60, altitude, "metric")
        assert again == pytest.approx(100 * 0.3048**3 / 60 * 1.2045 * 1.006 * 60, rel=1e-3)
    # At its own state the standard flow is the actual one.
    assert call("HOPPER_AIR_HEAT", "100 scfm", 68, 40) == pytest.approx(
        call("HOPPER_AIR_HEAT", 100, 68, 40), rel=1e-12
    )


def test_return_air_closes_the_energy_balance() -> None:
    """What the air loses the resin gains: worked by hand for PET, 100 kg/h from 20 to 160 degC.

    Resin: 100 x 1.0 x 140 / 3600 = 3.889 kW (Crawford, Table 1.8). Air: 1 cfm per lb/h is 374.57
    m3/h at 160 degC, 0.8149 kg/m3 (101.325 kPa / 287.042 J/(kg K) / 433.15 K), so 0.08479 kg/s
    and 0.0853 kW per degree: it comes back 45.6 degC cooler, at 114.4 degC.
    """
    resin = call("HOPPER_HEAT", 100, 1.0, 20, 160, "metric")
    per_degree = call("HOPPER_AIR_HEAT", 374.57, 160, 159, 0, "metric")
    back = 160 - resin / per_degree
    assert back == pytest.approx(114.4, abs=0.1)
    assert call("HOPPER_AIR_HEAT", 374.57, 160, back, 0, "metric") == pytest.approx(resin, rel=1e-9)
    # Half the air, half the heat for each degree: it leaves far below the drying temperature.
    half = 160 - resin / call("HOPPER_AIR_HEAT", 374.57 / 2, 160, 159, 0, "metric")
    assert half == pytest.approx(68.8, abs=0.2)
    # Most of the heat is in the air loop: heating that air from 20 degC takes three times as much.
    assert call("HOPPER_AIR_HEAT", 374.57, 160, 20, 0, "metric") > 3 * resin


@pytest.mark.parametrize("typed", ["1 scfm/(lb/h)", "2 Nm3/h/(kg/h)"])
def test_a_standard_flow_is_refused_where_the_air_is_not_known(typed: str) -> None:
    with pytest.raises(CellError) as refused:
        call("HOPPER_AIRFLOW", 100, typed)
    assert refused.value.code == "#VALUE!"
    for word in ("mass of air", "101.325 kPa", "HOPPER_AIR_HEAT", "actual flow"):
        assert word in refused.value.reason


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("-5 scfm", ("-5 scfm", "below the lowest")),
        ("9e9 scfm", ("9e9 scfm", "above the highest")),
        ("220 sm3/h", ("0, 15 or 20 degC",)),
        ("scfm", ("not a number",)),
        ("5 kg/h", ("not an airflow",)),
    ],
)
def test_what_no_airflow_can_be_is_refused(typed: str, words: tuple[str, ...]) -> None:
    with pytest.raises(CellError) as refused:
        call("HOPPER_AIR_HEAT", typed, 250, 150)
    assert refused.value.argument == "airflow"
    for word in words:
        assert word in refused.value.reason


def test_figures_of_the_texts_and_of_the_rows_without_a_function() -> None:
    # Stated in HOPPER_AIRFLOW: mass of dry air in a cubic meter at 20 and 120 degC.
    cold, hot = (PropsSI("D", "T", t + 273.15, "P", 101325, "Air") for t in (20, 120))
    assert (cold, hot) == (pytest.approx(1.205, abs=1e-3), pytest.approx(0.898, abs=1e-3))
    assert cold / hot == pytest.approx(1.34, abs=0.005)
    # H05 and H08: latent heat at 100 degC by IAPWS-95, and what the water of H06 needs.
    latent = PropsSI("H", "T", 373.15, "Q", 1, "Water") - PropsSI("H", "T", 373.15, "Q", 0, "Water")
    assert latent == pytest.approx(2256.4e3, rel=1e-4)
    water = call("HOPPER_WATER_REMOVED", 100, 0.003, 0.0002, "metric") / 3600
    assert water * latent == pytest.approx(175.5383, rel=1e-4)


def test_psychrolib_is_loaded_only_when_air_is_asked_for() -> None:
    code = (
        "import sys, hoppersheet; hoppersheet.call('HOPPER_HEAT', 100, 0.3, 70, 250);"
        "hoppersheet.call('HOPPER_RESIN', 'PC', 'drying hours');"
        "heavy = {'psychrolib', 'pint', 'numpy', 'openpyxl', 'xlwings', 'click'};"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules);"
        "from hoppersheet.sizing import air; assert not air._psychrometrics.cache_info().currsize;"
        "hoppersheet.call('HOPPER_DEW_POINT', 75, 0.5);"
        "assert air._psychrometrics.cache_info().currsize;"
        # The module of whoever imports psychrolib is another one.
        "assert not {'numpy', 'psychrolib'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
