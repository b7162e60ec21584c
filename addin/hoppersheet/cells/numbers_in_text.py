"""Read a number that somebody typed as text, with a decimal comma or a decimal point.

The rules, in the order in which they are tried (``_`` stands for a space, also a no-break or
thin one):

====================  ==========  ==========================================================
typed                 read as     because
====================  ==========  ==========================================================
``1234.5`` ``1,5``    as typed    one separator that cannot be a thousands separator
``1_234,5``           1234.5      spaces group thousands (ISO 80000-1)
``1,234.5``           1234.5      both signs occur: the last one is the decimal sign
``1.234,5``           1234.5      the same the other way round
``1,234,567``         1234567     a sign that repeats groups thousands
``0,234`` ``1234,567``  0.234 ...  no thousands group starts with 0 or has four digits
``1,234`` ``1.234``   two ways    1.234 or 1234: see below
====================  ==========  ==========================================================

A lone comma or point before the last three digits can be a decimal sign or separate thousands.
Whoever knows the decimal sign of the list, or the limits of the quantity, hands that over; the
text is refused where both numbers remain possible. This is the one place where that is decided,
for cells, lists and workbooks that bring their functions along.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

from ..errors import OutOfRange, WrongKind

__all__ = [
    "NumberInText",
    "number_in_text",
    "parse_number",
    "shown",
    "split_number",
]

_SPACES = "\u0020\u00a0\u2009\u202f"
_NUMBER = re.compile(
    rf"\s*([+\-\u2212]?(?:[0-9](?:[0-9.,]|[{_SPACES}](?=[0-9]{{3}}(?![0-9])))*|[.,][0-9]+)"
    r"(?:[eE][+\-]?[0-9]+)?)(.*)",
    re.DOTALL,
)
_PLAIN = re.compile(r"[0-9]*\.?[0-9]*")
_LONE_SIGN = re.compile(r"[1-9][0-9]{0,2}[.,][0-9]{3}")
_RANGE = re.compile(r"(?:-|\u2013|\u2212|to|bis)\s*[0-9.,]+(?![-0-9.,]).*", re.DOTALL)
_FRACTION = re.compile(r"[0-9]+\s*/\s*[0-9]+.*", re.DOTALL)
_CLOCK = re.compile(r"\s*([0-9]{1,3}):([0-9]{2})(:[0-9]{2})?(\s*[ap]\.?m\.?)?\s*", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"[0-9]*,[0-9]+|[0-9]+,")


def _grouped(mantissa: str, group: str, decimal: str) -> str | None:
    """Mantissa without its thousands separators, or None where the groups are not of three."""
    whole, point, rest = mantissa.partition(decimal)
    digits = re.escape(group)
    if not re.fullmatch(rf"[1-9][0-9]{{0,2}}(?:{digits}[0-9]{{3}})+", whole):
        return None
    if not re.fullmatch(r"[0-9]*", rest):
        return None
    return whole.replace(group, "") + (point and "." + rest)


def _normal(mantissa: str) -> str | None:
    """Mantissa with a decimal point and no groups, or None where it is no number."""
    if _PLAIN.fullmatch(mantissa):
        return mantissa
    for space in _SPACES:
        if space in mantissa:
            decimal = "," if "," in mantissa else "."
            return _grouped(mantissa, space, decimal)
    commas, points = mantissa.count(","), mantissa.count(".")
    if commas and points:
        last_is_comma = mantissa.rfind(",") > mantissa.rfind(".")
        return _grouped(mantissa, ".", ",") if last_is_comma else _grouped(mantissa, ",", ".")
    if commas > 1:
        return _grouped(mantissa, ",", ".")
    if points > 1:
        return _grouped(mantissa, ".", ",")
    return mantissa.replace(",", ".") if _DECIMAL_COMMA.fullmatch(mantissa) else None


class NumberInText(NamedTuple):
    """A text that holds one number.

    Attributes:
        decimal: the number, its last sign taken for the decimal sign.
        rest: the text behind it without outer blanks, ``""`` when there is none.
        grouped: the other number that it can be, where a lone sign may separate thousands.
        sign: that lone sign, ``","`` or ``"."``; else ``""``.
    """

    decimal: float
    rest: str
    grouped: float | None = None
    sign: str = ""


@lru_cache(maxsize=4096)  # lists repeat their texts row after row
def number_in_text(text: str) -> NumberInText:
    """Take ``"0.55 g/cm3"`` apart.

    Raises:
        WrongKind: no number at the start, a clock time, a range, a fraction.
        OutOfRange: the number is too large for a spreadsheet cell.
    """
    match = _NUMBER.fullmatch(text)
    clock = _CLOCK.fullmatch(text)
    if clock:
        hours = int(clock[1]) + int(clock[2]) / 60
        raise WrongKind(f"{shown(text)} is a clock time; type the hours as a number, {hours:.6g}")
    if match is None:
        raise WrongKind(f"{shown(text)} is not a number")
    typed, rest = match[1], match[2].strip()
    if _RANGE.fullmatch(rest):
        raise WrongKind(f"{shown(text)} is a range; type one number")
    if _FRACTION.fullmatch(rest):
        raise WrongKind(f"{shown(text)} has a fraction in it; type it as a decimal, 4.5 for 4 1/2")
    sign = -1.0 if typed[0] in "-\u2212" else 1.0
    mantissa, _, exponent = typed.lstrip("+-\u2212").lower().partition("e")
    mantissa = mantissa.strip(_SPACES)
    if _LONE_SIGN.fullmatch(mantissa) and not exponent:
        lone = mantissa[-4]
        decimal, grouped = (sign * float(mantissa.replace(lone, with_)) for with_ in (".", ""))
        return NumberInText(decimal, rest, grouped, lone)
    normal = _normal(mantissa)
    if normal in (None, "", "."):
        raise WrongKind(f"{shown(text)} is not a number")
    number = sign * float(f"{normal}e{exponent or 0}")
    if number in (float("inf"), float("-inf")):
        raise OutOfRange(f"{shown(text)} is too large for a number")
    return NumberInText(number, rest)


def split_number(
    text: str,
    fits: Callable[[float, str], bool] | None = None,
    decimal_sign: str = "",
) -> tuple[float, str]:
    """Split ``"0.55 g/cm3"`` into the number and the rest, ``(0.55, "g/cm3")``.

    Args:
        text: what the user typed.
        fits: whether a number with that rest is possible; decides how ``1,234`` is read.
        decimal_sign: ``","`` or ``"."`` where the writer's sign is known; decides before ``fits``.

    Returns:
        The number and the text behind it without outer blanks (``""`` when there is none).

    Raises:
        WrongKind: no number at the start, or one such as ``1,234`` that nothing decides.
        OutOfRange: a number too large for a spreadsheet cell.
    """
    found = number_in_text(text)
    if found.grouped is None:
        return found.decimal, found.rest
    if decimal_sign:
        return (found.decimal if decimal_sign == found.sign else found.grouped), found.rest
    numbers = (found.decimal, found.grouped)
    possible = [n for n in numbers if fits is None or fits(n, found.rest)]
    if len(possible) == 2:
        point, plain = (f"{abs(n):{how}}" for n, how in zip(numbers, (".3f", ".0f")))  # noqa: B905
        name = "comma" if found.sign == "," else "point"
        raise WrongKind(
            f"{shown(text)} is ambiguous, {point} or {plain}: type {point}0 or {plain} (a {name} "
            "followed by three digits can be a decimal sign or a thousands separator)"
        )
    if possible:
        return possible[0], found.rest
    # Neither is possible: it is refused as the number that most sheets would show.
    return (found.decimal if found.sign == "." else found.grouped), found.rest


def parse_number(text: str, decimal_sign: str = "") -> float:
    """Read text that is a number and nothing else; see :func:`split_number`."""
    number, rest = split_number(text, decimal_sign=decimal_sign)
    if rest:
        raise WrongKind(f"{shown(text)} is not a plain number")
    return number


def shown(value: object, longest: int = 40) -> str:
    """A value as a message says it: one line, text quoted, cut when long."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return f"{value:.15g}"
    try:
        text = repr(value) if isinstance(value, str) else " ".join(str(value).split())
    except (ValueError, RecursionError):  # an int of more than 4300 digits; a bottomless list
        return "a value too long to show"
    return text if len(text) <= longest else text[: longest - 3] + "..."
