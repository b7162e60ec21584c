"""TEXT(): a value in a number format, such as ``"#,##0.00"`` or ``"d mmm yyyy"``.

Format codes after ECMA-376 part 1, 18.8.31 (numFmts), with the English names of months and days.
What is not done (fractions, locales, elapsed sub-units) raises :class:`Unknown`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from ..values import FormulaError, Unknown, number_in, number_text, text
from .dates import day_of
from .mathematics import floor, rounded

__all__ = ["fixed_text", "shown"]

_PART = re.compile(
    r"""
    "(?P<text>[^"]*)"            # as it stands
    | \\(?P<escaped>.)
    | _(?P<space>.)              # as wide as a sign: a blank
    | \*(?P<fill>.)              # fills the column: nothing in a text
    | \[(?P<bracket>[^\]]*)\]
    | (?P<general>General)
    | (?P<half>AM/PM|A/P)
    | (?P<power>E[-+])
    | (?P<date>y+|m+|d+|h+|s+)
    | (?P<digit>[0#?])
    | (?P<sign>.)
    """,
    re.VERBOSE | re.DOTALL | re.IGNORECASE,
)
_COLORS = re.compile(r"(?i)black|blue|cyan|green|magenta|red|white|yellow|color ?\d{1,2}")
_CONDITION = re.compile(r"(<=|>=|<>|<|>|=)\s*(-?\d+(?:\.\d+)?)")
_ELAPSED = re.compile(r"(?i)h+|m+|s+")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_LONGEST = 255
_MOST_DIGITS = 15


@dataclass
class _Section:
    """One of the parts between the semicolons.

    Attributes:
        parts: (kind, text) in order.
        condition: sign and number, or None.
    """

    parts: list[tuple[str, str]]
    condition: tuple[str, float] | None = None

    @property
    def dated(self) -> bool:
        return any(kind in ("date", "elapsed") for kind, _ in self.parts)

    @property
    def digits(self) -> bool:
        return any(kind in ("digit", "general") for kind, _ in self.parts)


@lru_cache(maxsize=200)
def _sections(code: str) -> tuple[_Section, ...]:
    if len(code) > _LONGEST:
        raise FormulaError("#VALUE!")
    found = [_Section([])]
    for match in _PART.finditer(code):
        kind, value = str(match.lastgroup), match[str(match.lastgroup)]
        parts = found[-1].parts
        if kind == "sign" and value == ";":
            found.append(_Section([]))
        elif kind in ("text", "escaped"):
            parts.append(("text", value))
        elif kind == "space":
            parts.append(("text", " "))
        elif kind == "bracket":
            _bracket(value, found[-1])
        elif kind != "fill":
            parts.append((kind, value))
    if len(found) > 4:
        raise FormulaError("#VALUE!")
    return tuple(found)


def _bracket(value: str, section: _Section) -> None:
    condition = _CONDITION.fullmatch(value.strip())
    if condition is not None:
        section.condition = (condition[1], float(condition[2]))
    elif _ELAPSED.fullmatch(value):
        section.parts.append(("elapsed", value.lower()))
    elif value.startswith("$") and "-" in value:
        section.parts.append(("text", value[1:].partition("-")[0]))  # a currency sign
    elif not _COLORS.fullmatch(value):
        raise Unknown(f"TEXT with [{value}]")


def _holds(condition: tuple[str, float], x: float) -> bool:
    sign, limit = condition
    return {
        "<": x < limit, ">": x > limit, "=": x == limit,
        "<=": x <= limit, ">=": x >= limit, "<>": x != limit,
    }[sign]  # fmt: skip


def _section_for(sections: tuple[_Section, ...], x: float) -> tuple[_Section, bool]:
    """The part that shows a number, and whether the part itself says that it is negative."""
    numeric = sections[:3]
    if any(section.condition for section in numeric):
        for section in numeric:
            if section.condition is None or _holds(section.condition, x):
                return section, False
        raise Unknown("TEXT with conditions that leave this number out")
    if len(numeric) == 1:
        return numeric[0], False
    if x < 0:
        return numeric[1], True
    if x == 0 and len(numeric) == 3:
        return numeric[2], False
    return numeric[0], False


def shown(value: Any, code: Any) -> str:
    """``TEXT(value, code)``.

    Raises:
        FormulaError: the value is an error, or the format cannot be one.
        Unknown: a format that is not done here.
    """
    form = text(code)
    if isinstance(value, bool):
        return str(value).upper()
    sections = _sections(form)
    if isinstance(value, str):
        try:
            value = number_in(value)
        except FormulaError:
            return _text_shown(sections, value)
    x = 0.0 if value is None else float(value)
    if form == "":
        return ""
    section, signed = _section_for(sections, x)
    if section.dated:
        return _date_shown(section, x)
    if any(kind == "sign" and part == "/" for kind, part in section.parts) and section.digits:
        raise Unknown(f"TEXT with the fraction {form!r}")
    if any(kind == "sign" and part == "@" for kind, part in section.parts):
        return "".join(number_text(x) if p == "@" else p for _, p in section.parts)
    return _number_shown(section, x, signed)


def fixed_text(x: float, code: str) -> str | None:
    """The text that a format shows for a number whatever its digits are, ``""`` for none.

    None where the digits of the number are shown, without other digits close to them.

    Raises:
        FormulaError: the text is no format.
        Unknown: a format that is not done here.
    """
    section, _ = _section_for(_sections(code), x)
    if section.dated or any(part == ("sign", "@") for part in section.parts):
        return None
    if not section.digits:
        return "".join(part for _, part in section.parts)
    literal = ""
    for kind, part in (*section.parts, ("end", "")):
        if kind == "text":
            literal += part
            continue
        if re.fullmatch(r"[\d.,']*\d[\d.,']*", literal):
            return shown(x, code)
        literal = ""
    return None


def _text_shown(sections: tuple[_Section, ...], value: str) -> str:
    if len(sections) < 4:
        return value
    return "".join(value if part == "@" else part for _, part in sections[3].parts)


# --- numbers ------------------------------------------------------------------------------


def _number_shown(section: _Section, x: float, signed: bool) -> str:
    parts = section.parts
    if not section.digits:
        sign = "-" if x < 0 and not signed and parts else ""
        return sign + "".join(part for _, part in parts)
    size = abs(x) * 100.0 ** sum(kind == "sign" and part == "%" for kind, part in parts)
    if any(kind == "general" for kind, _ in parts):
        body = "".join(number_text(size) if kind == "general" else part for kind, part in parts)
        return ("-" if x < 0 and not signed else "") + body
    indexes = [at for at, (kind, _) in enumerate(parts) if kind == "digit"]
    power = next((at for at, (kind, _) in enumerate(parts) if kind == "power"), None)
    point = next((at for at, part in enumerate(parts) if part == ("sign", ".")), None)
    mantissa = [at for at in indexes if power is None or at < power]
    if not mantissa:
        raise FormulaError("#VALUE!")
    whole = [at for at in mantissa if point is None or at < point]
    after = [at for at in mantissa if point is not None and at > point]
    commas = [at for at, part in enumerate(parts) if part == ("sign", ",")]
    last = max(mantissa) if point is None else (max(whole) if whole else point)
    behind = {at for at in commas if at > last and (point is None or at < point)}
    scaling = behind | {at for at in commas if at > max(mantissa)}
    grouped = bool(whole) and any(min(whole) < at < max(whole) for at in commas)
    size /= 1000.0 ** len(scaling)
    exponent = 0
    if power is not None:
        size, exponent = _scientific(size, max(1, len(whole)), len(after))
    size = rounded(size, len(after), lambda y: floor(y + 0.5))
    digits = f"{size:.{len(after)}f}"
    whole_digits, _, decimals = digits.partition(".")
    if len(whole_digits) > _MOST_DIGITS:
        raise Unknown("TEXT of a number of more than 15 digits")
    nothing = not size and not exponent
    negative = x < 0 and not signed and not nothing
    filled = _whole_part(parts, whole, "" if whole_digits == "0" else whole_digits, grouped)
    filled.update(_decimals(parts, after, decimals))
    if power is not None:
        filled.update(_exponent(parts, power, [at for at in indexes if at > power], exponent))
    left_out = set(commas) if grouped or scaling else set()
    body = ""
    for at, (kind, part) in enumerate(parts):
        if at in filled:
            body += filled[at]
        elif at not in left_out and kind != "power":
            body += part
    return ("-" if negative else "") + body


def _scientific(size: float, whole: int, decimals: int) -> tuple[float, int]:
    if not size:
        return 0.0, 0
    exponent = math.floor(math.log10(size))
    exponent -= exponent % whole if whole > 1 else 0
    scaled = size / 10.0**exponent
    if rounded(scaled, decimals, lambda y: floor(y + 0.5)) >= 10.0**whole:
        exponent += whole
        scaled = size / 10.0**exponent
    return scaled, exponent


def _whole_part(
    parts: list[tuple[str, str]], indexes: list[int], digits: str, grouped: bool
) -> dict[int, str]:
    """Each place of the format before the point and what stands in it."""
    if not indexes:
        return {}
    filled: dict[int, str] = {}
    left = digits
    count = 0

    def with_comma(sign: str) -> str:
        nonlocal count
        count += 1
        return sign + ("," if grouped and count % 3 == 1 and count > 1 else "")

    for at in reversed(indexes[1:]):
        if left:
            filled[at], left = with_comma(left[-1]), left[:-1]
        else:
            filled[at] = _empty(parts[at][1], with_comma)
    first = indexes[0]
    if left:
        filled[first] = "".join(reversed([with_comma(sign) for sign in reversed(left)]))
    else:
        filled[first] = _empty(parts[first][1], with_comma)
    return filled


def _empty(place: str, with_comma: Any) -> str:
    if place == "0":
        return str(with_comma("0"))
    return " " if place == "?" else ""


def _decimals(parts: list[tuple[str, str]], indexes: list[int], digits: str) -> dict[int, str]:
    filled = dict(zip(indexes, digits, strict=False))
    for at in reversed(indexes):
        if filled.get(at, "0") != "0" or parts[at][1] == "0":
            break
        filled[at] = " " if parts[at][1] == "?" else ""
    return filled


def _exponent(
    parts: list[tuple[str, str]], at: int, indexes: list[int], exponent: int
) -> dict[int, str]:
    sign = "-" if exponent < 0 else "+" if parts[at][1].endswith("+") else ""
    digits = str(abs(exponent)).rjust(len(indexes), "0")
    filled = {at: parts[at][1][0] + sign + digits}
    filled.update(dict.fromkeys(indexes, ""))
    return filled


# --- days and times -----------------------------------------------------------------------


def _date_shown(section: _Section, x: float) -> str:
    if x < 0:
        raise FormulaError("#VALUE!")
    parts = section.parts
    halved = any(kind == "half" for kind, _ in parts)
    fractions = _second_fractions(parts)
    total = rounded(x * 86_400, len(fractions), lambda y: floor(y + 0.5))
    whole = math.floor(total)
    rest = total - whole
    day_serial, seconds = float(whole // 86_400), whole % 86_400
    hours, minutes, second = seconds // 3600, seconds // 60 % 60, seconds % 60
    body = ""
    for at, (kind, part) in enumerate(parts):
        word = part.lower()
        if kind == "elapsed":
            amount = {"h": whole // 3600, "m": whole // 60, "s": whole}[word[0]]
            body += str(amount).rjust(len(word), "0")
        elif kind == "half":
            names = ("AM", "PM") if len(part) > 3 else ("A", "P")
            body += names[hours >= 12]
        elif at in fractions:
            body += f"{rest:.{len(fractions)}f}"[2:][fractions.index(at)]
        elif kind == "date":
            clock = word[0] in "hs" or (word[0] == "m" and _is_minutes(parts, at))
            if clock:
                amount = {"h": (hours - 1) % 12 + 1 if halved else hours, "m": minutes}.get(
                    word[0], second
                )
                body += str(amount).rjust(min(len(word), 2), "0")
            else:
                body += _day_part(word, day_serial)
        else:
            body += part
    return body


def _second_fractions(parts: list[tuple[str, str]]) -> list[int]:
    """Places of the zeros behind ``ss.``."""
    for at, (kind, part) in enumerate(parts):
        if kind in ("date", "elapsed") and part.lower()[0] == "s":
            if parts[at + 1 : at + 2] != [("sign", ".")]:
                return []
            found = []
            for later in range(at + 2, len(parts)):
                if parts[later] != ("digit", "0"):
                    break
                found.append(later)
            return found
    return []


def _is_minutes(parts: list[tuple[str, str]], at: int) -> bool:
    """``m`` means minutes behind hours and before seconds, months elsewhere."""
    if len(parts[at][1]) > 2:
        return False
    named = [(i, p.lower()[0]) for i, (kind, p) in enumerate(parts) if kind in ("date", "elapsed")]
    place = next(n for n, (i, _) in enumerate(named) if i == at)
    before = named[place - 1][1] if place else ""
    after = named[place + 1][1] if place + 1 < len(named) else ""
    return before == "h" or after == "s"


def _day_part(word: str, serial: float) -> str:
    day = day_of(serial)
    if word[0] == "y":
        return str(day.year) if len(word) > 2 else f"{day.year % 100:02d}"
    if word[0] == "m":
        name = _MONTHS[day.month - 1]
        by_length = {1: str(day.month), 2: f"{day.month:02d}", 3: name[:3], 5: name[0]}
        return by_length.get(len(word), name)
    name = _DAYS[day.weekday()]
    return {1: str(day.day), 2: f"{day.day:02d}", 3: name[:3]}.get(len(word), name)
