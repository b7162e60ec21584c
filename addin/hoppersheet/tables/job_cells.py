"""What a cell of a job list can mean before the list's decimal sign is known.

``1.250`` is one and a quarter for some and 1250 for others; ``45,5`` can only be one thing, and
proves which sign its writer uses. Clock times, fractions and thousands are read here, in lists
only: a cell function refuses them.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any, NamedTuple

from ..cells.numbers_in_text import number_in_text, shown
from ..errors import SHEET_ERRORS, CellError, ErrorIn, WrongKind
from .jobwords.units import tidy_unit

__all__ = [
    "Answer",
    "ClockTime",
    "Percent",
    "ShownWithUnit",
    "Typed",
    "ambiguous",
    "plain_number",
    "typed",
]


class Percent(float):
    """A number that its cell shows with a percent sign: 0.25 shown as 25 %."""

    __slots__ = ()


class ClockTime(float):
    """A time that its cell shows as hours and minutes, in days: 0.75 shown as 18:00."""

    __slots__ = ()


class ShownWithUnit(float):
    """A number that its cell shows with a unit: 220 shown as 220 kg/h.

    Attributes:
        unit: that unit.
        stored: what the cell holds: 450000 where 450 t/h are shown.
        number_format: of the cell.
    """

    __slots__ = ("number_format", "stored", "unit")
    unit: str
    stored: float
    number_format: str

    @classmethod
    def of(cls, number: float, unit: str, stored: float, number_format: str) -> ShownWithUnit:
        """The number as shown, with what it shows."""
        cell = cls(number)
        cell.unit, cell.stored, cell.number_format = unit, stored, number_format
        return cell

    @property
    def text(self) -> str:
        """What the cell shows, in a form that can be read in one way only."""
        number = f"{float(self):.15g}"
        return f"{number}{'0' if _LONE_SIGN.fullmatch(number) else ''} {self.unit}"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, ShownWithUnit) and self.text == other.text

    def __hash__(self) -> int:
        return hash(self.text)


class Answer(str):
    """A text that answers a question about a row: it proves no decimal sign of the list."""

    __slots__ = ()


class Typed(NamedTuple):
    """A text that holds a number.

    Attributes:
        value: the number; None where it hangs on the decimal sign.
        unit: what stands behind it.
        sign: the decimal sign that it proves, "," or "."; "" where it proves none.
        if_comma, if_point: the two numbers that it may be, where ``value`` is None.
        how: "clock" or "fraction" where it is written so.
        roughly: "about", "at least" or "at most" where it says so: who takes it marks the row.
    """

    value: float | None
    unit: str = ""
    sign: str = ""
    if_comma: float = 0.0
    if_point: float = 0.0
    how: str = ""
    roughly: str = ""


_LONE_SIGN = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}")
_ROUGHLY = re.compile(
    r"\s*(?:(?P<about>~|\u2248|ca\b|circa\b|about\b|abt\b|approx(?:imately)?\b|roughly\b|around\b"
    r"|etwa\b|ungef\u00e4hr\b|env(?:iron)?\b|aprox\b)"
    r"|(?P<least>>=?|\u2265|min(?:imum)?\b|at least\b|mind(?:estens)?\b|au moins\b|al menos\b)"
    r"|(?P<most><=?|\u2264|max(?:imum|imal)?\b|at most\b|up to\b|bis\b|jusqu'\u00e0|hasta\b))"
    r"\.?\s*(?=[0-9.,])",
    re.IGNORECASE,
)
_ROUGHLY_BEHIND = re.compile(
    r"(?<=[\w.])\s*\(?\b(?:est(?:imated|imate)?|estim\u00e9e?|estimado|gesch\u00e4tzt|approx(?:imately)?"
    r"|aprox|about|ca|circa|env(?:iron)?|roughly)\b\.?\)?\s*$",
    re.IGNORECASE,
)
_DURATION = re.compile(r"PT(?:([0-9]{1,3})H)?(?:([0-9]{1,3})M)?(?:([0-9]{1,3})S)?")  # ISO 8601
#: Digits and signs of double width; signs without any width, which pastes from web pages hold.
_WIDE = str.maketrans(
    {
        **{0xFF10 + digit: str(digit) for digit in range(10)},
        **{0xFF0E: ".", 0xFF0C: ","},
        **dict.fromkeys((0x200B, 0x200C, 0x200D, 0x200E, 0x200F, 0x2060, 0xFEFF, 0x00AD)),
    }
)
_CLOCK = re.compile(
    r"\s*([0-9]{1,3}):([0-5][0-9])(?::([0-5][0-9]))?\s*(?:h|hrs?|hours?|std\.?|uhr)?\s*",
    re.IGNORECASE,
)
_HOURS_MINUTES = re.compile(
    r"\s*([0-9]{1,3})\s*(?:h|hrs?|hours?|std\.?)\s*([0-5]?[0-9])\s*(?:m|min|mins|minutes)?\.?\s*",
    re.IGNORECASE,
)
_FRACTION = re.compile(
    r"\s*(?:([0-9]{1,4})[ \-])?\s*([0-9]{1,3})\s*/\s*([0-9]{1,3})(?![0-9/])\s*(.*)", re.DOTALL
)
_GLYPHS = {"\u00bd": " 1/2", "\u00bc": " 1/4", "\u00be": " 3/4", "\u2153": " 1/3", "\u2154": " 2/3"}
_SWISS = re.compile(r"(?<=[0-9])['\u2019](?=[0-9]{3})")


@lru_cache(maxsize=65536)
def typed(text: str) -> Typed:
    """Read a text that holds one number.

    Raises:
        CellError: no number, a range, a sheet's error.
    """
    if text in SHEET_ERRORS:
        raise ErrorIn(text)
    if not text.isascii():
        text = text.translate(_WIDE)
    rough = _ROUGHLY.match(text)
    if rough is not None:
        how = {"about": "about", "least": "at least", "most": "at most"}[rough.lastgroup or ""]
        return _read(text[rough.end() :])._replace(roughly=how)
    behind = _ROUGHLY_BEHIND.search(text)
    if behind is not None and text[:1].isdigit():
        return _read(text[: behind.start()])._replace(roughly="about")
    return _read(text)


def _read(text: str) -> Typed:
    duration = _DURATION.fullmatch(text.strip())
    if duration is not None and any(duration.groups()):
        hours, minutes, seconds = (int(part or 0) for part in duration.groups())
        return Typed(hours + minutes / 60 + seconds / 3600, "h", how="clock")
    for glyph, plain in _GLYPHS.items():
        if glyph in text:
            text = text.replace(glyph, plain)
    clock = _CLOCK.fullmatch(text) or _HOURS_MINUTES.fullmatch(text)
    if clock is not None:
        seconds = int(clock[3] or 0) if clock.re is _CLOCK else 0
        return Typed(int(clock[1]) + int(clock[2]) / 60 + seconds / 3600, "h", how="clock")
    fraction = _FRACTION.fullmatch(text)
    if fraction is not None and 0 < int(fraction[2]) < int(fraction[3]) <= 100:
        whole = int(fraction[1] or 0)
        return Typed(
            whole + int(fraction[2]) / int(fraction[3]), _unit(fraction[4]), how="fraction"
        )
    plain = _SWISS.sub("", text)
    found = number_in_text(plain)
    if found.grouped is None:
        return Typed(found.decimal, _unit(found.rest), _proves(plain))
    comma, point = found.decimal, found.grouped
    if found.sign == ".":
        comma, point = point, comma
    return Typed(None, _unit(found.rest), "", comma, point)


def _unit(text: str) -> str:
    return tidy_unit(text.strip())


def _proves(text: str) -> str:
    """The decimal sign that an unambiguous number proves, "" for none."""
    signs = re.match(r"[\s+\-\u2212]*([0-9.,' \u00a0\u2009\u202f\u2019]*)", text)
    number = (signs[1] if signs else "").strip(" '.,\u00a0\u2009\u202f")
    commas, points = number.count(","), number.count(".")
    if commas and points:
        return "," if number.rfind(",") > number.rfind(".") else "."
    if commas > 1:
        return "."
    if points > 1:
        return ","
    return "," if commas else "." if points else ""


_DIGITS = re.compile(r"[0-9]{1,15}(?:\.[0-9]{1,15})?")


def plain_number(cell: Any, sign: str) -> float | None:
    """The number of a text without a unit under the list's decimal sign; None where it is none."""
    try:
        found = typed(cell)
    except CellError:
        return None
    if found.roughly or (found.unit and found.unit != "%"):
        return None
    if found.value is not None:
        return found.value
    return {",": found.if_comma, ".": found.if_point}.get(sign)


def ambiguous(text: str) -> WrongKind:
    """The refusal of a text such as ``1.250`` whose sign nothing proves."""
    found = typed(text)
    small, large = sorted((found.if_comma, found.if_point))
    return WrongKind(
        f"{shown(text)} is ambiguous: {small:.15g} or {large:.15g}? Nothing in the list proves "
        "whether its point or comma is the decimal sign"
    )
