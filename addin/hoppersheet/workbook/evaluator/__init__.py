"""Values of cells, calculated here: our functions by the core, the rest by :mod:`.functions`.

:class:`Evaluator` works a workbook out, or takes the values that a spreadsheet program has just
calculated. Either way every call of our functions is made once more by the core
(:meth:`Evaluator.calls_in`), and any input can be tried out with another value (:class:`WhatIf`).

What is not there raises :class:`Unknown`: the cell keeps its stored value and is named with the
reason. Nothing is guessed, nothing asks the clock, another file or chance.

Values: float, text, bool, None for a blank, an error as its text, a range as a list of rows.
"""

from __future__ import annotations

from .call_parts import ROUNDS
from .evaluator import Evaluator
from .functions import NATIVES, VOLATILE
from .functions.number_formats import fixed_text
from .reader import Reader, SizingCall
from .references import Area
from .values import FormulaError, Unknown
from .what_if import Unrounded, WhatIf

__all__ = [
    "NATIVES",
    "ROUNDS",
    "VOLATILE",
    "Area",
    "Evaluator",
    "FormulaError",
    "Reader",
    "SizingCall",
    "Unknown",
    "Unrounded",
    "WhatIf",
    "fixed_text",
]
