"""hoppersheet: cell functions for Excel and LibreOffice Calc that size a drying hopper.

>>> import hoppersheet
>>> round(hoppersheet.call("HOPPER_REQUIRED_VOLUME", 100, 4, 25.5), 1)
15.7

Drying times and temperatures: the resin maker's data sheet governs.
"""

from . import functions  # noqa: F401  registers every cell function
from ._version import __version__
from .call import OMITTED, call
from .errors import CellError, HoppersheetError

__all__ = ["OMITTED", "CellError", "HoppersheetError", "__version__", "call"]
