"""What LibreOffice must be told about the add-in, written from the registry.

``functions.idl`` is the type of the service: LibreOffice reads it as source, so no SDK is needed.
``CalcAddIns.xcu`` carries the names and the texts of the function wizard.
"""

from __future__ import annotations

from ..._version import __version__
from ...functions import all_functions
from ...registry import CATEGORY, Argument, CellFunction
from ...workbook.safe_xml import escape, quoteattr
from .cell_values import comes_as_text
from .names import EXTENSION, JOB, SERVICE

__all__ = ["files"]

_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
_OOR = (
    'xmlns:oor="http://openoffice.org/2001/registry" '
    'xmlns:xs="http://www.w3.org/2001/XMLSchema" oor:package="org.openoffice.Office"'
)
_MEDIA = "application/vnd.sun.star."

_TABLE = "sequence< sequence< any > >"


def _parameter(index: int) -> str:
    # Calc knows parameters by these names in the order of the alphabet until the component is
    # loaded. The argument's own name may hold underscores or be a word of IDL ("property").
    return f"a{index:02d}"


def _idl_type(argument: Argument) -> str:
    """What Calc may hand over for an argument; it converts or refuses (Err:504) by this type.

    A range with an error cell in it is refused unless the range itself is handed over, and that
    is possible for references only: arrays in the formula are refused then. Which loss is the
    smaller one depends on the kind:

    - Numbers: an error among them leaves no answer anyway, and Err:504 is an error like another
      for ISERROR, IFERROR and totals. But {0.5;0.5} and A1:A9*2 must work.
    - Raw cells (job lists, catalog columns): an error in one row must not take the others down,
      and nobody types such a table into a formula.

    Only ``any`` can be left out. Only ``string`` tells a blank cell from 0.
    """
    if argument.kind == "rest":
        return "sequence< any >"
    if comes_as_text(argument):
        return "string"
    if not argument.is_range or not argument.required:
        return "any"
    return "com::sun::star::table::XCellRange" if argument.kind == "cells" else _TABLE


def _idl_method(function: CellFunction) -> str:
    result = _TABLE if function.result.kind == "table" else "any"
    parameters = ", ".join(
        f"[in] {_idl_type(argument)} {_parameter(i)}"
        for i, argument in enumerate(function.arguments, 1)
    )
    return f"    {result} {function.name}( {parameters} );"


def _idl() -> str:
    module, _, interface = SERVICE.rpartition(".")
    opening = " ".join(f"module {name} {{" for name in module.split("."))
    closing = " ".join("};" for _ in module.split("."))
    methods = "\n".join(map(_idl_method, all_functions().values()))
    return f"{opening}\ninterface X{interface} {{\n{methods}\n}};\n{closing}\n"


def _node(name: str, inner: str) -> str:
    return f'<node oor:name={quoteattr(name)} oor:op="replace">{inner}</node>\n'


def _text(name: str, value: str) -> str:
    return f'<prop oor:name="{name}"><value xml:lang="en-US">{escape(value)}</value></prop>'


def _shown_name(argument: Argument) -> str:
    """An argument's name as the wizard labels its field."""
    # On GTK a label takes an underscore for "the next letter is the shortcut" and drops it.
    return argument.name.replace("_", " ")


def _shown_text(argument: Argument) -> str:
    """What the wizard says about an argument."""
    # Calc calls every argument of type "any" optional, in the line above this text.
    is_shown_optional = argument.required and _idl_type(argument) == "any"
    return f"Required. {argument.text}" if is_shown_optional else argument.text


def _function_node(function: CellFunction) -> str:
    parameters = "".join(
        _node(
            _parameter(i),
            _text("DisplayName", _shown_name(argument))
            + _text("Description", _shown_text(argument)),
        )
        for i, argument in enumerate(function.arguments, 1)
    )
    return _node(
        function.name,
        _text("DisplayName", function.name)
        + _text("Description", function.summary)
        + f'<prop oor:name="Category"><value>{escape(CATEGORY)}</value></prop>'
        # Newer offices read and write .xlsx files under this name.
        + _text("CompatibilityName", function.name)
        + f'<node oor:name="Parameters">\n{parameters}</node>',
    )


def _calc_add_ins() -> str:
    functions = "".join(map(_function_node, all_functions().values()))
    service = _node(SERVICE, f'<node oor:name="AddInFunctions">\n{functions}</node>')
    return (
        f'{_HEAD}<oor:component-data oor:name="CalcAddIns" {_OOR}>\n'
        f'<node oor:name="AddInInfo">\n{service}</node>\n</oor:component-data>\n'
    )


def _jobs() -> str:
    return (
        f'{_HEAD}<oor:component-data oor:name="Jobs" {_OOR}>\n'
        f'<node oor:name="Jobs"><node oor:name={quoteattr(JOB)} oor:op="replace">'
        f'<prop oor:name="Service" oor:type="xs:string"><value>{JOB}</value></prop></node></node>\n'
        # OnLoad does not fire for hidden documents; OnLoadFinished does.
        '<node oor:name="Events"><node oor:name="OnLoadFinished" oor:op="fuse">'
        f'<node oor:name="JobList"><node oor:name={quoteattr(JOB)} oor:op="replace"/></node>'
        "</node></node>\n</oor:component-data>\n"
    )


def _components() -> str:
    def component(file: str, *services: str) -> str:
        inner = "".join(f'<service name="{service}"/>' for service in services)
        return (
            f'<component loader="com.sun.star.loader.Python" uri="{file}">'
            f'<implementation name="{services[0]}">{inner}</implementation></component>\n'
        )

    # Only its own service: with com.sun.star.sheet.AddIn Calc would ignore the names above.
    return (
        f'{_HEAD}<components xmlns="http://openoffice.org/2010/uno-components">\n'
        + component("component.py", SERVICE)
        + component("load_job.py", JOB, "com.sun.star.task.Job")
        + "</components>\n"
    )


def _description() -> str:
    return (
        f'{_HEAD}<description xmlns="http://openoffice.org/extensions/description/2006" '
        'xmlns:lo="http://libreoffice.org/extensions/description/2011">\n'
        f'<identifier value="{EXTENSION}"/>\n<version value="{__version__}"/>\n'
        '<dependencies><lo:LibreOffice-minimal-version value="7.4" '
        'lo:name="LibreOffice 7.4"/></dependencies>\n'
        '<display-name><name lang="en">hoppersheet: drying hopper functions</name></display-name>\n'
        "</description>\n"
    )


def _manifest() -> str:
    entries = {
        "functions.idl": "uno-typelibrary;type=RDB",
        "hoppersheet.components": "uno-components",
        "CalcAddIns.xcu": "configuration-data",
        "Jobs.xcu": "configuration-data",
    }
    listed = "".join(
        f'<manifest:file-entry manifest:full-path="{path}" manifest:media-type="{_MEDIA}{kind}"/>\n'
        for path, kind in entries.items()
    )
    return (
        f'{_HEAD}<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">\n'
        f"{listed}</manifest:manifest>\n"
    )


def files() -> dict[str, str]:
    """Path inside the extension -> text of every declaration."""
    return {
        "META-INF/manifest.xml": _manifest(),
        "description.xml": _description(),
        "functions.idl": _idl(),
        "hoppersheet.components": _components(),
        "CalcAddIns.xcu": _calc_add_ins(),
        "Jobs.xcu": _jobs(),
    }
