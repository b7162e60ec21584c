"""hoppersheet: cell functions for Excel and LibreOffice Calc that size a drying hopper.

>>> import hoppersheet
>>> round(hoppersheet.call("HOPPER_REQUIRED_VOLUME", 220, 3.5, 36.4), 2)
21.15

Drying times and temperatures: the resin maker's data sheet governs.
"""

from . import functions  # noqa: F401  registers every cell function
from ._version import __version__
from .call import OMITTED, call
from .errors import CellError, HoppersheetError

__all__ = ["OMITTED", "CellError", "HoppersheetError", "__version__", "call"]
