"""An add-in for Calc whose functions do nothing, packed as hoppersheet's own is.

Each takes the arguments of one of ours, by the same types, under the name EMPTY_... instead of
HOPPER_..., and gives 0. What a cell of it costs is what Calc and its Python take for handing the
arguments over.
"""

from __future__ import annotations

from pathlib import Path
from unittest import mock

from hoppersheet.functions import all_functions
from hoppersheet.hosts.calc import declarations, extension
from hoppersheet.hosts.calc.programs import Programs
from hoppersheet.hosts.calc.worker_link import WorkerLink
from hoppersheet.registry import CellFunction

__all__ = ["install"]

_SERVICE = "org.emptysheet.Functions"
_COMPONENT = """\
import unohelper
from com.sun.star.lang import XLocalizable, XServiceInfo, XServiceName
from org.emptysheet import XFunctions


class Functions(unohelper.Base, XFunctions, XLocalizable, XServiceName, XServiceInfo):
    def __init__(self, context):
        self._locale = None

    def setLocale(self, locale):
        self._locale = locale

    def getLocale(self):
        return self._locale

    def getServiceName(self):
        return "SERVICE"

    def getImplementationName(self):
        return "SERVICE"

    def supportsService(self, name):
        return name == "SERVICE"

    def getSupportedServiceNames(self):
        return ("SERVICE",)


def _method(is_table):
    def method(self, *cells):
        return ((0.0,),) if is_table else 0.0

    return method


for _name, _is_table in FUNCTIONS:
    setattr(Functions, _name, _method(_is_table))

g_ImplementationHelper = unohelper.ImplementationHelper()
g_ImplementationHelper.addImplementation(Functions, "SERVICE", ("SERVICE",))
"""


def _functions() -> dict[str, CellFunction]:
    named = ((n.replace("HOPPER_", "EMPTY_"), record) for n, record in all_functions().items())
    return {name: record._replace(name=name) for name, record in named}


def _contents() -> dict[str, bytes]:
    functions = _functions()
    tables = [(name, record.result.kind == "table") for name, record in functions.items()]
    component = _COMPONENT.replace("SERVICE", _SERVICE).replace("FUNCTIONS", repr(tables))
    with mock.patch.multiple(
        declarations,
        SERVICE=_SERVICE,
        EXTENSION="org.emptysheet.calc",
        all_functions=lambda: functions,
    ):
        files = declarations.files()
    # Without the job that repairs names: none of these is ever in a file.
    del files["Jobs.xcu"]
    for path, unwanted in (
        ("META-INF/manifest.xml", "Jobs.xcu"),
        ("hoppersheet.components", "load_job.py"),
    ):
        lines = files[path].splitlines(keepends=True)
        kept = [line for line in lines if unwanted not in line]
        assert len(kept) == len(lines) - 1, path
        files[path] = "".join(kept)
    files["component.py"] = component
    return {path: text.encode() for path, text in files.items()}


def install(profile: Path, programs: Programs) -> None:
    """Install the empty add-in into a profile that no office is using."""
    with mock.patch.object(extension, "contents", _contents):
        package = extension.build(profile.with_name("empty.oxt"))
    # The first start after the installation restarts itself.
    for what, arguments in (
        ("install", {"file": str(package)}),
        ("call", {"name": "EMPTY_VERSION", "arguments": []}),
    ):
        link = WorkerLink(programs, 120)
        try:
            link.start(profile)
            link.ask(what, **arguments)
        finally:
            link.close()
