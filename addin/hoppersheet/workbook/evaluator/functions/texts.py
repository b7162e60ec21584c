"""Functions on texts."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any

from ..values import FormulaError, Unknown, flat, number, text
from .conditions import pattern
from .mathematics import floor, rounded
from .native import Native, native
from .number_formats import shown

__all__ = ["FUNCTIONS"]

#: What a cell holds at most, signs.
_LONGEST = 32_767


def _short(whole: str) -> str:
    if len(whole) > _LONGEST:
        raise FormulaError("#VALUE!")
    return whole


def _joined(*values: Any) -> str:
    return _short("".join(text(cell) for value in values for cell in flat(value)))


def _joined_by(sign: str, skip_empty: bool, *values: Any) -> str:
    parts = [text(cell) for value in values for cell in flat(value)]
    return _short(sign.join(part for part in parts if part or not skip_empty))


def _count(value: float) -> int:
    if value < 0.0:
        raise FormulaError("#VALUE!")
    return math.floor(value)


def _right(whole: str, count: float = 1.0) -> str:
    signs = _count(count)
    return whole[-signs:] if signs else ""


def _middle(whole: str, start: float, count: float) -> str:
    if start < 1.0:
        raise FormulaError("#VALUE!")
    at = math.floor(start) - 1
    return whole[at : at + _count(count)]


def _replaced(whole: str, start: float, count: float, new: str) -> str:
    if start < 1.0:
        raise FormulaError("#VALUE!")
    at = math.floor(start) - 1
    return _short(whole[:at] + new + whole[at + _count(count) :])


def _substituted(whole: str, old: str, new: str, nth: float | None = None) -> str:
    if nth is not None and nth < 1.0:
        raise FormulaError("#VALUE!")
    if not old:
        return whole
    if nth is None:
        return _short(whole.replace(old, new))
    at = -1
    for _ in range(math.floor(nth)):
        at = whole.find(old, at + 1)
        if at < 0:
            return whole
    return _short(whole[:at] + new + whole[at + len(old) :])


def _find(part: str, whole: str, start: float = 1.0) -> float:
    at = whole.find(part, math.floor(start) - 1) if start >= 1.0 else -1
    if at < 0:
        raise FormulaError("#VALUE!")
    return at + 1.0


def _search(part: str, whole: str, start: float = 1.0) -> float:
    expression = pattern(part, whole=False)
    if start < 1.0:
        raise FormulaError("#VALUE!")
    if expression is None:
        return _find(part.lower(), whole.lower(), start)
    match = expression.search(whole, math.floor(start) - 1)
    if match is None:
        raise FormulaError("#VALUE!")
    return match.start() + 1.0


def _repeated(whole: str, count: float) -> str:
    times = _count(count)
    if len(whole) * times > _LONGEST:
        raise FormulaError("#VALUE!")
    return whole * times


def _proper(whole: str) -> str:
    return re.sub(r"[^\W\d_]+", lambda match: match[0].capitalize(), whole)


def _character(code: float) -> str:
    if not 1.0 <= code < 256.0:
        raise FormulaError("#VALUE!")
    if code >= 128.0:
        raise Unknown(f"CHAR({code:g}), which depends on the machine")
    return chr(math.floor(code))


def _code(whole: str) -> float:
    if not whole:
        raise FormulaError("#VALUE!")
    if ord(whole[0]) >= 128:
        raise Unknown("CODE of a letter that depends on the machine")
    return float(ord(whole[0]))


def _unicode_character(code: float) -> str:
    try:
        return chr(math.floor(code)) if code >= 1.0 else _character(code)
    except (ValueError, OverflowError):
        raise FormulaError("#VALUE!") from None


def _fixed(x: float, digits: float = 2.0, plain: bool = False) -> str:
    decimals = math.trunc(digits)
    value = rounded(x, decimals, lambda size: floor(size + 0.5))
    return f"{value:{'' if plain else ','}.{max(decimals, 0)}f}"


def _number_in(whole: str, decimal: str = ".", group: str = ",") -> float:
    if not decimal or decimal[0] == group[:1]:
        raise FormulaError("#VALUE!")
    plain = re.sub(r"\s", "", whole)
    if group:
        before, sign, after = plain.partition(decimal[0])
        plain = before.replace(group[0], "") + sign + after
    plain = plain.replace(decimal[0], ".")
    return number(plain) if plain else 0.0


def _split(after: bool) -> Callable[..., str]:
    """TEXTAFTER and TEXTBEFORE."""

    def work(whole: str, sign: str, nth: float = 1.0) -> str:
        count = math.trunc(nth)
        if not sign or count == 0:
            raise FormulaError("#VALUE!")
        at, step = (-1, 1) if count > 0 else (len(whole), -1)
        for _ in range(abs(count)):
            at = whole.find(sign, at + 1) if step > 0 else whole.rfind(sign, 0, max(at, 0))
            if at < 0:
                raise FormulaError("#N/A")
        return whole[at + len(sign) :] if after else whole[:at]

    return work


def _link(target: Any, name: Any = None) -> Any:
    """HYPERLINK shows its second argument."""
    return target if name is None else name


FUNCTIONS: dict[str, Native] = {
    "CONCATENATE": native("|t", lambda *parts: _short("".join(parts))),
    "CONCAT": native("|r", _joined),
    "TEXTJOIN": native("tb|r", _joined_by),
    "LEN": native("t", lambda whole: float(len(whole))),
    "LEFT": native("t?n", lambda whole, count=1.0: whole[: _count(count)]),
    "RIGHT": native("t?n", _right),
    "MID": native("tnn", _middle),
    "REPLACE": native("tnnt", _replaced),
    "SUBSTITUTE": native("ttt?n", _substituted),
    "FIND": native("tt?n", _find),
    "SEARCH": native("tt?n", _search),
    "REPT": native("tn", _repeated),
    "TRIM": native("t", lambda whole: " ".join(filter(None, whole.split(" ")))),
    "CLEAN": native("t", lambda whole: re.sub(r"[\x00-\x1f]", "", whole)),
    "UPPER": native("t", str.upper),
    "LOWER": native("t", str.lower),
    "PROPER": native("t", _proper),
    "EXACT": native("tt", lambda a, b: a == b),
    "CHAR": native("n", _character),
    "CODE": native("t", _code),
    "UNICHAR": native("n", _unicode_character),
    "UNICODE": native("t", lambda whole: float(ord(whole[0])) if whole else _code(whole)),
    "TEXT": native("vv", shown),
    "VALUE": native("v", number),
    "NUMBERVALUE": native("t?tt", _number_in),
    "FIXED": native("n?nb", _fixed),
    "TEXTBEFORE": native("tt?n", _split(False)),
    "TEXTAFTER": native("tt?n", _split(True)),
    "HYPERLINK": native("v?v", _link),
}
