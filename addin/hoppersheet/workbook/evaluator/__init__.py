"""Values of cells, calculated here: our functions by the core, the rest by :mod:`.functions`.

:class:`Evaluator` takes the values that a real spreadsheet program has just calculated where there
are such, and works them out itself where there are none. Either way every call of our functions
is made once more by the core (:meth:`Evaluator.calls_in`), and any input can be tried out with
another value (:class:`WhatIf`).

The functions are a small part of ECMA-376 part 1, 18.17 (SpreadsheetML formulas): enough to
follow an input through the formulas around ours when no spreadsheet program is at hand. What is
not there raises :class:`Unknown`, and the audit says so instead of guessing.

Values: float, text, bool, None for a blank, an error as its text, a range as a list of rows.
"""

from __future__ import annotations

from .evaluator import Evaluator, WhatIf
from .functions import VOLATILE
from .reader import Area, SizingCall
from .values import FormulaError, Unknown

__all__ = ["VOLATILE", "Area", "Evaluator", "FormulaError", "SizingCall", "Unknown", "WhatIf"]
