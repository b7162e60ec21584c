"""The spreadsheet's own functions, on plain cell values; one file per topic.

After ECMA-376 part 1, 18.17.7 (SpreadsheetML functions), and compared cell by cell with LibreOffice
Calc (``tests/workbook/test_evaluator_and_calc.py``).
"""

from __future__ import annotations

from . import (
    conditions,
    conversion,
    dates,
    finance,
    information,
    lookups,
    mathematics,
    statistics,
    texts,
)
from .native import Native

__all__ = ["NATIVES", "VOLATILE", "Native"]

#: Name -> how it takes its arguments and what it does with them.
NATIVES: dict[str, Native] = {
    **mathematics.FUNCTIONS,
    **statistics.FUNCTIONS,
    **conditions.FUNCTIONS,
    **lookups.FUNCTIONS,
    **texts.FUNCTIONS,
    **dates.FUNCTIONS,
    **finance.FUNCTIONS,
    **conversion.FUNCTIONS,
    **information.FUNCTIONS,
}

#: Functions that give another value at every calculation, or on every machine.
VOLATILE = frozenset(("TODAY", "NOW", "RAND", "RANDBETWEEN", "RANDARRAY", "INFO", "CELL"))
