"""The dryer behind the hopper: drying air, heat, water, and how humid the room is.

Psychrometrics come from psychrolib (ASHRAE Handbook Fundamentals 2017, chapter 1), loaded when
a cell first asks. Below 0 degC its saturation is the one over ice: a dew point below freezing is
a *frost point*, as the trade means when it says -40.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from importlib.util import find_spec, module_from_spec
from typing import Any

from ..errors import OutOfRange
from ..registry import Argument, Example, Result, cell_function
from .volume import THROUGHPUT

__all__ = ["air_heat", "air_moisture", "airflow", "dew_point", "heat", "water_removed"]

ROOM_TEMPERATURE = Argument(
    "temperature",
    "Temperature of the room air (dry bulb), degF (metric degC), up to 140 degF (60 degC).",
    "room temperature",
)
RELATIVE_HUMIDITY = Argument(
    "relative_humidity",
    "Relative humidity of the room air as a fraction up to 1 (0.5 is 50 %), or as the text 50 %.",
    "relative humidity",
)
ALTITUDE = Argument(
    "altitude",
    "Altitude of the plant above sea level, ft (metric m); 0 when left out.",
    "altitude",
    default=0,
)
_ASHRAE = "ASHRAE Handbook Fundamentals 2017, chapter 1"
_SAME_TEMPERATURE = 0.01  # K
_KELVIN_AT_ZERO = 273.15

# The same equations in spreadsheet functions. Equations 5 (over ice) and 6 (over water) of the
# handbook as psychrolib has them, in K and Pa, the polynomials nested so that K stands less often.
_KELVIN = "(({temperature}+[459.67|273.15])*[5/9|1])"
_OVER_ICE_PLAIN = (
    "-5674.5359/K+6.3925247+K*(-0.009677843+K*(6.2215701E-7+K*(2.0747825E-9-K*9.484024E-13)))"
    "+4.1635019*LN(K)"
)
_OVER_WATER_PLAIN = (
    "-5800.2206/K+1.3914993+K*(-0.048640239+K*(4.1764768E-5-K*1.4452093E-8))+6.5459673*LN(K)"
)
_SATURATION_PLAIN = re.sub(
    r"\bK\b",
    _KELVIN,
    f"EXP(IF({{temperature}}<=[32.018|0.01],{_OVER_ICE_PLAIN},{_OVER_WATER_PLAIN}))",
)
_MOISTURE_PLAIN = (
    "0.621945/(101325*(1-0.0000225577*{altitude}*[0.3048|1])^5.2559"
    f"/({{relative_humidity}}*{_SATURATION_PLAIN})-1)"
)
# The dew point: Newton's method on the logarithm of the pressure, as psychrolib has it. Twelve
# steps are more than it ever needs; the bounds are those of the equations, -100 and 200 degC.
_DEW_POINT_CARRIED = (
    f"LET(pressure,LAMBDA(kelvin,IF(kelvin<=273.16,{_OVER_ICE_PLAIN},{_OVER_WATER_PLAIN})),"
    "per_kelvin,LAMBDA(kelvin,IF(kelvin<=273.16,"
    "5674.5359/K^2-0.009677843+K*(1.24431402E-6+K*(6.2243475E-9-K*3.7936096E-12))+4.1635019/K,"
    "5800.2206/K^2-0.048640239+K*(8.3529536E-5-K*4.3356279E-8)+6.5459673/K)),"
    f"air,{_KELVIN},wanted,pressure(air)+LN({{relative_humidity}}),"
    "IF(wanted<pressure(173.15),#NUM!,MIN(air,REDUCE(air,SEQUENCE(12),LAMBDA(point,step,"
    "MIN(473.15,MAX(173.15,point-(pressure(point)-wanted)/per_kelvin(point))))))*[1.8|1]"
    "-[459.67|273.15]))"
)
_DEW_POINT_CARRIED = re.sub(r"\bK\b", "kelvin", _DEW_POINT_CARRIED)
_OVER_ICE = "Saturation over ice below freezing."


def _refuse_swapped(start: float, to: float, side: str) -> None:
    """Refuse a to_temperature, degC, that is not "above" or "below" the from_temperature."""
    # Closer than this is the same temperature, typed in two scales.
    if (to - start if side == "above" else start - to) < _SAME_TEMPERATURE:
        raise OutOfRange(
            f"{{to}} is not {side} from_temperature, {{start}}; often the two are swapped",
            "to_temperature",
            to=(to, "temperature"),
            start=(start, "temperature"),
        )


@cell_function(
    "HOPPER_AIRFLOW",
    question="How much drying air does this throughput need?",
    summary="Drying air for a throughput.",
    arguments=(
        THROUGHPUT,
        Argument(
            "specific_airflow",
            "Drying air per throughput, cfm per lb/h (metric m3/h per kg/h); the resin maker's or "
            "the dryer's figure governs.",
            "specific airflow",
        ),
    ),
    result=Result("drying air", "airflow"),
    equation="throughput x specific_airflow",
    plain="{throughput}*{specific_airflow}",
    assumptions=(
        "Actual or standard cfm, as specific_airflow is: say which. A standard flow (20 degC, dry) "
        "is 34 % more actual flow at 120 degC (248 degF): 1.205 against 0.898 kg/m3. "
        "HOPPER_AIR_HEAT reads both."
    ),
    source=(
        "1 cfm per lb/h: Society of Plastics Engineers, tech topic Material Handling, Jan 2001; "
        "0.5 to 1 across resins is common practice, no source"
    ),
    example=Example(
        (100, 1), 100.0, "Society of Plastics Engineers, Jan 2001: cfm equal to throughput in lb/h"
    ),
    see_also=("HOPPER_AIR_HEAT", "HOPPER_HEAT"),
)
def airflow(throughput: float, specific_airflow: float) -> float:
    """Airflow in m3/s from kg/s and m3/kg."""
    return throughput * specific_airflow


@cell_function(
    "HOPPER_HEAT",
    question="How much heat brings the resin to drying temperature?",
    summary="Heat to warm the resin to the drying temperature.",
    arguments=(
        THROUGHPUT,
        Argument(
            "specific_heat",
            "Specific heat of the resin, Btu/(lb degF) (metric kJ/(kg K)).",
            "specific heat",
        ),
        Argument(
            "from_temperature",
            "Temperature at which the resin enters the hopper, degF (metric degC).",
            "temperature",
        ),
        Argument(
            "to_temperature",
            "Drying temperature of the resin, degF (metric degC); above from_temperature.",
            "temperature",
        ),
    ),
    result=Result("heat to warm the resin", "heat"),
    equation="throughput x specific_heat x (to_temperature - from_temperature)",
    plain=(
        "IF({to_temperature}<={from_temperature},#NUM!,"
        "{throughput}*{specific_heat}*({to_temperature}-{from_temperature})/[1|3600])"
    ),
    assumptions=(
        "The resin alone: most of a dryer's heat is in its air loop (HOPPER_AIR_HEAT); losses and "
        "the heat to evaporate water come on top. A constant specific heat; that of PP rises from "
        "1.68 to 2.35 kJ/(kg K) between 20 and 100 degC."
    ),
    source="energy balance",
    example=Example(
        (100, 1.2, 20, 120, "metric"),
        3.3333333,
        "Crawford, Plastics Engineering, Table 1.8: PC 1.2 kJ/(kg K); energy balance",
    ),
    see_also=("HOPPER_AIR_HEAT", "HOPPER_AIRFLOW", "HOPPER_RESIN"),
)
def heat(
    throughput: float, specific_heat: float, from_temperature: float, to_temperature: float
) -> float:
    """Heat flow in W from kg/s, J/(kg K) and degC."""
    _refuse_swapped(from_temperature, to_temperature, "above")
    return throughput * specific_heat * (to_temperature - from_temperature)


@cell_function(
    "HOPPER_WATER_REMOVED",
    question="How much water must leave the resin per hour?",
    summary="Water that leaves the resin per hour.",
    arguments=(
        Argument("throughput", "Throughput of wet resin fed, lb/h (metric kg/h).", "throughput"),
        Argument(
            "moisture_in",
            "Water in the resin fed, as a fraction of its wet mass (0.002 is 0.2 %), or as the "
            "text 0.2 %.",
            "moisture",
        ),
        Argument(
            "moisture_out",
            "Water in the dried resin, as a fraction of its mass (0.0002 is 0.02 %), or as the "
            "text 0.02 %.",
            "moisture",
        ),
    ),
    result=Result("water removed per hour", "throughput"),
    equation="throughput x (moisture_in - moisture_out) / (1 - moisture_out)",
    plain=(
        "IF({moisture_out}>{moisture_in},#NUM!,"
        "{throughput}*({moisture_in}-{moisture_out})/(1-{moisture_out}))"
    ),
    assumptions=(
        "Both moistures on wet basis (water over resin with its water); throughput is the wet "
        "feed, not the dried output."
    ),
    source="mass balance: the dry resin that enters leaves",
    example=Example((100, 0.003, 0.0002), 0.280056, "mass balance"),
    see_also=("HOPPER_RESIN", "HOPPER_AIR_MOISTURE"),
)
def water_removed(throughput: float, moisture_in: float, moisture_out: float) -> float:
    """Water in kg/s from a feed in kg/s and wet-basis fractions."""
    if moisture_out > moisture_in:
        raise OutOfRange(
            "{out} is above moisture_in, {into}; often the two are swapped",
            "moisture_out",
            out=(moisture_out, "moisture"),
            into=(moisture_in, "moisture"),
        )
    return throughput * (moisture_in - moisture_out) / (1.0 - moisture_out)


@cache
def _psychrometrics() -> Any:
    """psychrolib in SI units, as a module of our own.

    Its unit system is one variable for all who import it. Ours is loaded beside it, so nobody's
    choice, theirs or ours, changes the numbers of the other.
    """
    spec = find_spec("psychrolib")
    assert spec is not None and spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    module.SetUnitSystem(module.SI)
    return module


def _actual_flow(standard: float, reference: float, values: Mapping[str, float]) -> float:
    """Actual flow in m3/s of a standard flow in m3/s at ``reference`` degC and sea level.

    The same mass of air (ideal gas) at ``from_temperature`` and the pressure of ``altitude``.
    """
    pressure = _psychrometrics().GetStandardAtmPressure
    hotter = (values["from_temperature"] + _KELVIN_AT_ZERO) / (reference + _KELVIN_AT_ZERO)
    actual: float = standard * hotter * pressure(0.0) / pressure(values["altitude"])
    return actual


@cell_function(
    "HOPPER_AIR_HEAT",
    question="How much heat does the drying air give up, and how hot does it return?",
    summary="Heat that air gives up between two temperatures.",
    arguments=(
        Argument(
            "airflow",
            "Airflow, cfm (metric m3/h), actual at from_temperature; or a standard flow as text: "
            "scfm (of 68 degF, 14.696 psi) or Nm3/h (of 0 degC, 101.325 kPa).",
            "airflow",
            actual_flow=_actual_flow,
        ),
        Argument(
            "from_temperature",
            "Temperature of the air that comes in, such as the drying temperature, degF (metric "
            "degC).",
            "temperature",
        ),
        Argument(
            "to_temperature",
            "Temperature to which the air cools, such as the return air's, degF (metric degC); "
            "below from_temperature.",
            "temperature",
        ),
        ALTITUDE,
    ),
    result=Result("heat that the air gives up", "heat"),
    equation=(
        "airflow x density x 1.006 kJ/(kg K) x (from_temperature - to_temperature), density = "
        "pressure / (287.042 J/(kg K) x from_temperature in K), pressure = standard atmosphere at "
        "altitude"
    ),
    plain=(
        "IF({from_temperature}<={to_temperature},#NUM!,"
        "{airflow}*[0.028316846592|1]/[60|3600]*101325*(1-0.0000225577*{altitude}*[0.3048|1])^5.2559"
        f"/287.042/{_KELVIN.replace('temperature', 'from_temperature')}*1006"
        "*({from_temperature}-{to_temperature})*[5/9|1]/[0.293071070172222|1000])"
    ),
    assumptions=(
        "Dry air, ideal gas; its specific heat is 1 to 2 % higher above 120 degC. Most of a "
        "dryer's heat is in this air loop, not in the resin. Air comes back at drying temperature "
        "- HOPPER_HEAT / HOPPER_AIR_HEAT for 1 degree, less what walls and hoses lose."
    ),
    source=f"{_ASHRAE}, equations 1, 3 and 28, by psychrolib; energy balance",
    example=Example(
        ("220 scfm", 250, 150),
        23841.0,
        "balance by hand: 220 x 60 ft3/h x 0.07517 lb/ft3 x 0.24028 Btu/(lb degF) x 100 degF",
        1e-3,
    ),
    see_also=("HOPPER_HEAT", "HOPPER_AIRFLOW"),
)
def air_heat(
    airflow: float, from_temperature: float, to_temperature: float, altitude: float
) -> float:
    """Heat flow in W from an actual flow in m3/s, degC and m."""
    _refuse_swapped(from_temperature, to_temperature, "below")
    psychro = _psychrometrics()
    pressure = psychro.GetStandardAtmPressure(altitude)
    mass: float = airflow * psychro.GetDryAirDensity(from_temperature, pressure)
    enthalpy = psychro.GetDryAirEnthalpy
    return mass * float(enthalpy(from_temperature) - enthalpy(to_temperature))


@cell_function(
    "HOPPER_AIR_MOISTURE",
    question="How much water is in the air of the room?",
    summary="Humidity ratio of air: water per dry air, by mass.",
    arguments=(
        ROOM_TEMPERATURE,
        RELATIVE_HUMIDITY,
        ALTITUDE,
    ),
    result=Result("humidity ratio of the air", "humidity ratio"),
    equation=(
        "0.621945 x pw / (p - pw), pw = relative_humidity x saturation pressure at temperature, "
        "p = standard atmosphere at altitude"
    ),
    plain=f"IF({_MOISTURE_PLAIN}<=1E-7,#NUM!,{_MOISTURE_PLAIN})",
    assumptions=(
        f"{_OVER_ICE} Ideal gas (under 1 % low). For air of a known dew point enter the dew point "
        "as temperature and a relative humidity of 1."
    ),
    source=f"{_ASHRAE}, equations 3, 5, 6, 12 and 20, by psychrolib",
    example=Example(
        (25, 1, 0, "metric"), 0.020173, f"{_ASHRAE}, table 2: saturated air at 25 degC", 5e-3
    ),
    see_also=("HOPPER_DEW_POINT", "HOPPER_WATER_REMOVED"),
)
def air_moisture(temperature: float, relative_humidity: float, altitude: float) -> float:
    """Humidity ratio in kg/kg from degC, a fraction and m."""
    psychro = _psychrometrics()
    pressure = psychro.GetStandardAtmPressure(altitude)
    ratio: float = psychro.GetHumRatioFromRelHum(temperature, relative_humidity, pressure)
    driest = psychro.MIN_HUM_RATIO
    # psychrolib lifts anything drier to its floor instead of saying so.
    if ratio <= driest:
        raise OutOfRange(
            "at {temperature} and this relative humidity the air holds less water than the "
            f"equations can tell, {driest:g} kg/kg",
            "temperature",
            temperature=(temperature, "temperature"),
        )
    return ratio


@cell_function(
    "HOPPER_DEW_POINT",
    question="What is the dew point of the room?",
    summary="Dew point of room air; the frost point below freezing.",
    arguments=(ROOM_TEMPERATURE, RELATIVE_HUMIDITY),
    result=Result("dew point (frost point below freezing)", "temperature"),
    equation=(
        "the point at which the saturation pressure is relative_humidity x saturation pressure "
        "at temperature"
    ),
    carried=_DEW_POINT_CARRIED,
    assumptions=(
        f"{_OVER_ICE} Solved to 0.001 K. The dew point of the room, not of the dryer's air; "
        "altitude does not change it."
    ),
    source=f"{_ASHRAE}, equations 5, 6 and 36, by psychrolib",
    example=Example(
        (25, 103.24 / 3169.7, "metric"),
        -20.0,
        f"{_ASHRAE}, table 3: saturation pressure 3169.7 Pa at 25 degC, 103.24 Pa at -20 degC",
        5e-4,
    ),
    see_also=("HOPPER_AIR_MOISTURE",),
)
def dew_point(temperature: float, relative_humidity: float) -> float:
    """Dew or frost point in degC from degC and a fraction."""
    try:
        point: float = _psychrometrics().GetTDewPointFromRelHum(temperature, relative_humidity)
    except ValueError:
        raise OutOfRange(
            "at {temperature} and this relative humidity the dew point lies below {lowest}, "
            "the limit of the equations",
            "temperature",
            temperature=(temperature, "temperature"),
            lowest=(-100.0, "temperature"),
        ) from None
    return point
