"""Days and times as the serial numbers that a spreadsheet keeps; nothing here asks the clock."""

from __future__ import annotations

import calendar
import datetime
import math
import re
from collections.abc import Callable
from typing import Any

from ..numbers import nearest
from ..values import FormulaError, Unknown, flat, is_error, number, number_in
from .native import Native, native

__all__ = ["FUNCTIONS", "day_of", "moment_of"]

_DAY_0 = datetime.date(1899, 12, 30)
#: Before March 1900 the programs count the days differently.
_FIRST_SHARED = 61
_LAST = 2_958_465  # 9999-12-31
_SECONDS = 86_400


def day_of(serial: float) -> datetime.date:
    """The day that a serial number means.

    Raises:
        FormulaError: it is none.
        Unknown: the programs disagree about it.
    """
    whole = math.floor(nearest(serial))
    if whole < 0 or whole > _LAST:
        raise FormulaError("#NUM!")
    if whole < _FIRST_SHARED:
        raise Unknown("a date before March 1900")
    return _DAY_0 + datetime.timedelta(days=whole)


def moment_of(serial: float) -> tuple[int, int, int, float]:
    """(hours since the day's beginning, minutes, seconds, rest of a second)."""
    left = serial - math.floor(serial)
    seconds = round(left * _SECONDS, 6)
    whole = math.floor(seconds)
    return whole // 3600, whole // 60 % 60, whole % 60, seconds - whole


def _clock(serial: float) -> tuple[int, int, int]:
    """Hours, minutes, seconds to the nearest second."""
    seconds = round((serial - math.floor(serial)) * _SECONDS) % _SECONDS
    return seconds // 3600, seconds // 60 % 60, seconds % 60


def _serial(day: datetime.date) -> float:
    return float((day - _DAY_0).days)


def _date(year: float, month: float, day: float) -> float:
    y, m, d = math.floor(year), math.floor(month), math.floor(day)
    if 0 <= y < 1900:
        # Excel adds 1900; Calc takes two figures for a year near today
        raise Unknown(f"the year {y}")
    y, m = y + (m - 1) // 12, (m - 1) % 12 + 1
    if not 1900 <= y <= 9999:
        raise FormulaError("#NUM!")
    found = _serial(datetime.date(y, m, 1)) + d - 1
    if found < 0:
        raise FormulaError("#NUM!")
    return found


def _months_later(serial: float, months: float, last: bool) -> float:
    start = day_of(serial)
    at = start.year * 12 + start.month - 1 + math.trunc(months)
    year, month = at // 12, at % 12 + 1
    if not 1900 <= year <= 9999:
        raise FormulaError("#NUM!")
    end = calendar.monthrange(year, month)[1]
    return _serial(datetime.date(year, month, end if last else min(start.day, end)))


def _weekday(serial: float, kind: float = 1.0) -> float:
    at = day_of(serial).weekday()  # Monday is 0
    if kind == 1.0 or kind == 17.0:
        return float((at + 1) % 7 + 1)
    if kind == 2.0 or kind == 11.0:
        return at + 1.0
    if kind == 3.0:
        return float(at)
    if 12.0 <= kind <= 16.0:
        return float((at - (math.floor(kind) - 11)) % 7 + 1)
    raise FormulaError("#NUM!")


def _week(serial: float, kind: float = 1.0) -> float:
    day = day_of(serial)
    if kind == 21.0:
        return float(day.isocalendar().week)
    first = {1.0: 6, 17.0: 6, 2.0: 0, 11.0: 0, 12.0: 1, 13.0: 2, 14.0: 3, 15.0: 4, 16.0: 5}
    if kind not in first:
        raise FormulaError("#NUM!")
    new_year = datetime.date(day.year, 1, 1)
    lead = (new_year.weekday() - first[kind]) % 7
    return float(((day - new_year).days + lead) // 7 + 1)


def _days_off(days: Any) -> set[int]:
    found = set()
    for cell in flat(days):
        if is_error(cell):
            raise FormulaError(cell)
        if cell is not None:
            found.add(math.floor(number(cell)))
    return found


def _is_working_day(day: int, off: set[int]) -> bool:
    return (_DAY_0 + datetime.timedelta(days=day)).weekday() < 5 and day not in off


def _working_days(start: float, end: float, days_off: Any = None) -> float:
    a, b = (math.floor(day_of(x).toordinal() - _DAY_0.toordinal()) for x in (start, end))
    off = _days_off(days_off)
    count = sum(_is_working_day(day, off) for day in range(min(a, b), max(a, b) + 1))
    return float(count if a <= b else -count)


def _working_day(start: float, days: float, days_off: Any = None) -> float:
    at, left = math.floor(_serial(day_of(start))), math.trunc(days)
    off, step = _days_off(days_off), 1 if left > 0 else -1
    if abs(left) > _LAST:
        raise FormulaError("#NUM!")
    while left:
        at += step
        if not 0 <= at <= _LAST:
            raise FormulaError("#NUM!")
        if _is_working_day(at, off):
            left -= step
    return float(at)


def _time(hours: float, minutes: float, seconds: float) -> float:
    total = math.floor(hours) * 3600 + math.floor(minutes) * 60 + math.floor(seconds)
    if total < 0:
        raise FormulaError("#NUM!")
    return total % _SECONDS / _SECONDS


def _between(start: float, end: float, unit: str) -> float:
    """DATEDIF: whole years, months or days from one day to another."""
    a, b = day_of(start), day_of(end)
    if a > b:
        raise FormulaError("#NUM!")
    months = (b.year - a.year) * 12 + b.month - a.month - (b.day < a.day)
    kind = unit.lower()
    if kind == "y":
        return float(months // 12)
    if kind == "m":
        return float(months)
    if kind == "d":
        return float((b - a).days)
    if kind == "ym":
        return float(months % 12)
    raise Unknown(f"DATEDIF in the unit {unit!r}")


def _day_in_text(written: Any) -> float:
    if not isinstance(written, str):
        raise FormulaError("#VALUE!")
    if not re.fullmatch(r"\s*\d{4}-\d{1,2}-\d{1,2}\s*", written):
        if not any(sign.isdigit() for sign in written):
            raise FormulaError("#VALUE!")
        raise Unknown(f"the date in the text {written.strip()[:20]!r}")
    return number_in(written)


def _time_in_text(written: Any) -> float:
    found = re.fullmatch(r"\s*(\d{1,2}):(\d{2})(?::(\d{2}))?\s*", str(written))
    if not isinstance(written, str) or found is None:
        raise Unknown("the time in this text") if written else FormulaError("#VALUE!")
    hours, minutes, seconds = (float(part or 0) for part in found.groups())
    return _time(hours, minutes, seconds)


def _of_day(part: Callable[[datetime.date], float]) -> Native:
    return native("n", lambda serial: float(part(day_of(serial))))


def _of_clock(at: int) -> Native:
    return native("n", lambda serial: float(_clock(serial)[at]))


def _year_share(start: float, end: float, basis: float = 0.0) -> float:
    a, b = sorted((day_of(start), day_of(end)))
    if basis == 0.0:
        return _days_360(a, b) / 360
    if basis == 2.0:
        return (b - a).days / 360
    if basis == 3.0:
        return (b - a).days / 365
    raise Unknown(f"YEARFRAC with the basis {basis:g}")


def _days_360(a: datetime.date, b: datetime.date) -> float:
    """Days of a year of twelve months of 30 days (US rule, NASD)."""
    first, last = min(a.day, 30), b.day
    if last == 31 and first == 30:
        last = 30
    return float((b.year - a.year) * 360 + (b.month - a.month) * 30 + last - first)


FUNCTIONS: dict[str, Native] = {
    "DATE": native("nnn", _date),
    "YEAR": _of_day(lambda day: day.year),
    "MONTH": _of_day(lambda day: day.month),
    "DAY": _of_day(lambda day: day.day),
    "HOUR": _of_clock(0),
    "MINUTE": _of_clock(1),
    "SECOND": _of_clock(2),
    "TIME": native("nnn", _time),
    "DAYS": native("nn", lambda end, start: float(math.floor(end) - math.floor(start))),
    "DAYS360": native("nn", lambda a, b: _days_360(day_of(a), day_of(b))),
    "EDATE": native("nn", lambda serial, months: _months_later(serial, months, False)),
    "EOMONTH": native("nn", lambda serial, months: _months_later(serial, months, True)),
    "WEEKDAY": native("n?n", _weekday),
    "WEEKNUM": native("n?n", _week),
    "ISOWEEKNUM": native("n", lambda serial: _week(serial, 21.0)),
    "NETWORKDAYS": native("nn?r", _working_days),
    "WORKDAY": native("nn?r", _working_day),
    "DATEDIF": native("nnt", _between),
    "YEARFRAC": native("nn?n", _year_share),
    "DATEVALUE": native("v", _day_in_text),
    "TIMEVALUE": native("v", _time_in_text),
}
