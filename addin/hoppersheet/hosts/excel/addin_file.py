"""Builds the add-in file (.xlam) from the one that the installed xlwings ships. No Excel needed.

The VBA that xlwings ships names its DLL by version, so the file is built on the user's machine
and built again after an upgrade of xlwings; :func:`xlwings_version_in` tells which one a file
was built for.
"""

from __future__ import annotations

import re
import zipfile
from io import BytesIO
from pathlib import Path

from ...errors import HostError
from . import descriptions
from .vba_project import VbaProject
from .vba_text import MODULE_NAME, module_text

__all__ = [
    "PROJECT",
    "PROJECT_NAME",
    "SAMPLE_MODULE",
    "VBA_PART",
    "build",
    "template",
    "text_in",
    "xlwings_text",
    "xlwings_version_in",
]

#: Name of the add-in: its file, its configuration and its VBA project.
PROJECT = "hoppersheet"

#: Name of its VBA project.
PROJECT_NAME = PROJECT.capitalize()
#: The module with a sample macro that the template brings and the add-in drops.
SAMPLE_MODULE = "Module1"

_TEMPLATE = "quickstart_addin.xlam"
#: Where the VBA project lies in an add-in file.
VBA_PART = "xl/vbaProject.bin"
_RELATIONS = "xl/_rels/workbook.xml.rels"
_TOOLTIPS = "customXml/item1.xml"
_CUSTOM_XML = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/customXml"
# What is changed in the module of xlwings: text, what takes its place, and why.
_CHANGES = (
    # Which configuration file is read.
    (r'^(Public Const PROJECT_NAME As String = )"\w*"$', rf'\1"{PROJECT}"'),
    # Its procedures are for our module only; without this Excel lists them as cell functions.
    (r'\AAttribute VB_Name = "xlwings"$', r"\g<0>\nOption Private Module"),
    # A sheet in a workbook that somebody sends, or a file beside it, must not say which program
    # this add-in starts. Only the user's own configuration may.
    (r'If source = "" Or source = "sheet" Then$', 'If source = "sheet" Then'),
    (r'If source = "" Or source = "directory" Then$', 'If source = "directory" Then'),
    # Nor may the name of the workbook become part of the command, ...
    (
        r'(PYTHONPATH = AddExcelDir) & ";" & ActiveWorkbook\.FullName & ";" & '
        r'ThisWorkbook\.FullName & ";" & ',
        r'\1 & ";;;" & ',
    ),
    # ... or the folder in which Excel happens to be a place that Python imports from.
    (r'^(\s*tail = ") -B -c', r"\1 -P -B -c"),
)
_VERSION = re.compile(r'^Public Const XLWINGS_VERSION As String = "([^"]+)"', re.MULTILINE)


def template() -> Path:
    """The add-in file that the installed xlwings ships, the one without a ribbon.

    Raises:
        HostError: it is not there.
    """
    import xlwings

    path = Path(xlwings.__file__).with_name(_TEMPLATE)
    if not path.is_file():
        raise HostError(f"the installed xlwings {xlwings.__version__} ships no {_TEMPLATE}")
    return path


def xlwings_text(text: str) -> str:
    """The module of xlwings as the add-in holds it.

    Raises:
        HostError: one of the places to change is not there exactly once.
    """
    for pattern, by in _CHANGES:
        text, count = re.subn(pattern, by, text, flags=re.MULTILINE)
        if count != 1:
            raise HostError(
                f"the VBA of the installed xlwings is another than expected: {count} places like "
                f"{pattern}; install an xlwings that hoppersheet supports"
            )
    return text


def _our_project(data: bytes, module: str) -> bytes:
    """The template's VBA project with our module and name, and without its sample macro."""
    project = VbaProject(data)
    if "xlwings" not in project.names or SAMPLE_MODULE not in project.names:
        raise HostError(f"{_TEMPLATE} of the installed xlwings holds other modules than expected")
    project.replace("xlwings", xlwings_text(project.source("xlwings")))
    project.drop(SAMPLE_MODULE)
    project.add(MODULE_NAME, module)
    project.rename(PROJECT_NAME)
    return project.to_bytes()


def _with_tooltips(relations: bytes) -> bytes:
    text = relations.decode("utf-8")
    entry = f'<Relationship Id="rIdTooltips" Type="{_CUSTOM_XML}" Target="../{_TOOLTIPS}"/>'
    changed = text.replace("</Relationships>", f"{entry}</Relationships>")
    if changed.count(entry) != 1:
        raise HostError(f"{_TEMPLATE} of the installed xlwings has unexpected {_RELATIONS}")
    return changed.encode("utf-8")


def build() -> bytes:
    """The add-in file. Every part that is not named here stays as xlwings ships it.

    Raises:
        HostError: the installed xlwings ships something else than expected.
    """
    source = template()
    out = BytesIO()
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            content = old.read(info)
            if info.filename == VBA_PART:
                content = _our_project(content, module_text())
            elif info.filename == _RELATIONS:
                content = _with_tooltips(content)
            new.writestr(info, content, zipfile.ZIP_DEFLATED)
        # A fixed date: the same registry and the same xlwings give the same file.
        tooltips = zipfile.ZipInfo(_TOOLTIPS, date_time=(1980, 1, 1, 0, 0, 0))
        new.writestr(tooltips, descriptions.tooltips_xml(), zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _project_in(path: Path) -> VbaProject:
    try:
        with zipfile.ZipFile(path) as archive:
            return VbaProject(archive.read(VBA_PART))
    except (OSError, KeyError, zipfile.BadZipFile):
        raise HostError(f"{path} is not an add-in file that hoppersheet has built") from None


def text_in(path: Path) -> str:
    """Our VBA module in the add-in file ``path``; ``""`` if it is not there."""
    project = _project_in(path)
    return project.source(MODULE_NAME) if MODULE_NAME in project.names else ""


def xlwings_version_in(path: Path) -> str:
    """The version of xlwings that the add-in file ``path`` was built for; ``""`` if unknown."""
    project = _project_in(path)
    found = _VERSION.search(project.source("xlwings")) if "xlwings" in project.names else None
    return found[1] if found else ""
