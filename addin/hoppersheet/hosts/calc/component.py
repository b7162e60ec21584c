"""The Calc add-in itself: one method per cell function, made from the registry.

LibreOffice loads this file at the first use of a function and calls the methods that the type
description (:mod:`.declarations`) promises. It lies at the top of the extension; the package
``hoppersheet`` and what it needs lie beside it in ``pythonpath``.

What it calls is in :mod:`.answers`. An exception from there is a mistake of ours; it is left to
the office, which shows #VALUE!.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import Any

import unohelper
from com.sun.star.lang import Locale, XLocalizable, XServiceInfo, XServiceName

# LibreOffice puts this folder last, after whatever hoppersheet or pint the machine may have.
_PACKED = str(Path(__file__).resolve().parent / "pythonpath")
if _PACKED in sys.path:
    sys.path.remove(_PACKED)
sys.path.insert(0, _PACKED)

from org.hoppersheet import XFunctions  # noqa: E402  known once the extension is registered

from hoppersheet.functions import all_functions  # noqa: E402
from hoppersheet.hosts.calc.answers import answering  # noqa: E402
from hoppersheet.hosts.calc.cell_values import comes_as_text, number_in  # noqa: E402
from hoppersheet.hosts.calc.names import SERVICE  # noqa: E402
from hoppersheet.registry import CellFunction  # noqa: E402


class Functions(unohelper.Base, XFunctions, XLocalizable, XServiceName, XServiceInfo):
    """The service that holds every cell function as a method."""

    def __init__(self, context: Any) -> None:
        self._context = context
        self._decimal_sign, self._asked = "", float("-inf")
        self._locale = Locale("en", "US", "")

    def setLocale(self, locale: Any) -> None:  # noqa: D102 XLocalizable
        self._locale = locale

    def getLocale(self) -> Any:  # noqa: D102 XLocalizable
        return self._locale

    def getServiceName(self) -> str:  # noqa: D102 XServiceName
        return SERVICE

    def getImplementationName(self) -> str:  # noqa: D102 XServiceInfo
        return SERVICE

    def supportsService(self, name: str) -> bool:  # noqa: D102 XServiceInfo
        return name == SERVICE

    def getSupportedServiceNames(self) -> tuple[str, ...]:  # noqa: D102 XServiceInfo
        return (SERVICE,)

    def decimal_sign(self) -> str:
        """The sign with which Calc now writes one half as a text."""
        # The user may choose another language any time; to ask takes as long as many cells.
        if time.monotonic() > self._asked + 1:
            create = self._context.ServiceManager.createInstanceWithContext
            formatter = create("com.sun.star.util.NumberFormatter", self._context)
            formatter.attachNumberFormatsSupplier(
                create("com.sun.star.util.NumberFormatsSupplier", self._context)
            )
            self._decimal_sign = formatter.getInputString(0, 0.5)[1:-1]
            self._asked = time.monotonic()
        return self._decimal_sign


def _method(function: CellFunction) -> Any:
    answer = answering(function)
    takes_rest = bool(function.arguments) and function.arguments[-1].kind == "rest"
    texts = [i for i, argument in enumerate(function.arguments) if comes_as_text(argument)]

    def method(self: Functions, *cells: Any) -> Any:
        if takes_rest:
            cells = (*cells[:-1], *cells[-1])
        if texts:
            given = list(cells)
            for i in texts:
                given[i] = number_in(given[i], self.decimal_sign)
            return answer(*given)
        return answer(*cells)

    return method


for _function in all_functions().values():
    setattr(Functions, _function.name, _method(_function))

g_ImplementationHelper = unohelper.ImplementationHelper()
g_ImplementationHelper.addImplementation(Functions, SERVICE, (SERVICE,))
