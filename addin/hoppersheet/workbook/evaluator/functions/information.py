"""What a value is: number, text, blank, error."""

from __future__ import annotations

import math
from typing import Any

from ..values import FormulaError, is_error
from .native import Native, native

__all__ = ["FUNCTIONS"]

#: ECMA-376 part 1, 18.17.7 (ERROR.TYPE): 1 to 7. The newer ones as Excel numbers them, from memory.
_ERROR_TYPES = {
    "#NULL!": 1.0, "#DIV/0!": 2.0, "#VALUE!": 3.0, "#REF!": 4.0, "#NAME?": 5.0, "#NUM!": 6.0,
    "#N/A": 7.0, "#GETTING_DATA": 8.0, "#SPILL!": 9.0, "#CALC!": 14.0,
}  # fmt: skip
_LOGICAL, _ERROR, _ARRAY = 4.0, 16.0, 64.0


def _error_type(value: Any) -> float:
    if not is_error(value) or value not in _ERROR_TYPES:
        raise FormulaError("#N/A")
    return _ERROR_TYPES[value]


def _type(value: Any) -> float:
    if isinstance(value, list):
        return _ARRAY if len(value) > 1 or len(value[0]) > 1 else _type(value[0][0])
    if is_error(value):
        return _ERROR
    return _LOGICAL if isinstance(value, bool) else 2.0 if isinstance(value, str) else 1.0


def _not_available() -> Any:
    raise FormulaError("#N/A")


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


FUNCTIONS: dict[str, Native] = {
    "NA": native("", _not_available),
    "ISNUMBER": native("e", _is_number),
    "ISTEXT": native("e", lambda x: isinstance(x, str) and not is_error(x)),
    "ISNONTEXT": native("e", lambda x: not isinstance(x, str) or is_error(x)),
    "ISLOGICAL": native("e", lambda x: isinstance(x, bool)),
    "ISBLANK": native("e", lambda x: x is None),
    "ISERROR": native("e", is_error),
    "ISERR": native("e", lambda x: is_error(x) and x != "#N/A"),
    "ISNA": native("e", lambda x: x == "#N/A"),
    "ISEVEN": native("n", lambda x: math.trunc(x) % 2 == 0),
    "ISODD": native("n", lambda x: math.trunc(x) % 2 == 1),
    "ERROR.TYPE": native("e", _error_type),
    "TYPE": native("r", _type),
    "N": native("v", lambda x: float(x) if isinstance(x, (int, float)) else 0.0),
    "T": native("v", lambda x: x if isinstance(x, str) else ""),
}
