"""Builds the add-in file (.xlam) from the one that the installed xlwings ships. No Excel needed.

Of that file the frame stays; its VBA is ours alone: what starts Python (:mod:`.bootstrap`) and the
functions (:mod:`.vba_text`). The first names xlwings' DLL by version and every path, so the file
is built on the user's machine, and built again after an upgrade of xlwings.
"""

from __future__ import annotations

import zipfile
from io import BytesIO
from pathlib import Path

from ...errors import HostError
from . import bootstrap, descriptions
from .bootstrap import Paths
from .folders import PROJECT
from .vba_project import VbaProject
from .vba_text import MODULE_NAME, module_text

__all__ = ["PROJECT_NAME", "VBA_PART", "build", "modules", "modules_in", "template"]

#: Name of its VBA project.
PROJECT_NAME = PROJECT.capitalize()

_TEMPLATE = "quickstart_addin.xlam"
#: Where the VBA project lies in an add-in file.
VBA_PART = "xl/vbaProject.bin"
#: What stays of the template's project: modules that belong to the workbook and to its sheet.
_DOCUMENTS = ("ThisWorkbook", "Sheet2")
_RELATIONS = "xl/_rels/workbook.xml.rels"
_TOOLTIPS = "customXml/item1.xml"
_CUSTOM_XML = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/customXml"


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


def modules(paths: Paths) -> dict[str, str]:
    """Name -> text of the VBA modules of the add-in."""
    return {bootstrap.MODULE_NAME: bootstrap.module_text(paths), MODULE_NAME: module_text()}


def _our_project(data: bytes, paths: Paths) -> bytes:
    """The template's VBA project with our modules and name, and nothing else."""
    project = VbaProject(data)
    for name in _DOCUMENTS:
        if name not in project.names:
            raise HostError(f"{_TEMPLATE} of the installed xlwings has no module {name}")
    for name in [name for name in project.names if name not in _DOCUMENTS]:
        project.drop(name)
    project.drop_references()
    for name, text in modules(paths).items():
        project.add(name, text)
    project.rename(PROJECT_NAME)
    return project.to_bytes()


def _with_tooltips(relations: bytes) -> bytes:
    text = relations.decode("utf-8")
    entry = f'<Relationship Id="rIdTooltips" Type="{_CUSTOM_XML}" Target="../{_TOOLTIPS}"/>'
    changed = text.replace("</Relationships>", f"{entry}</Relationships>")
    if changed.count(entry) != 1:
        raise HostError(f"{_TEMPLATE} of the installed xlwings has unexpected {_RELATIONS}")
    return changed.encode("utf-8")


def build(paths: Paths) -> bytes:
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
                content = _our_project(content, paths)
            elif info.filename == _RELATIONS:
                content = _with_tooltips(content)
            new.writestr(info, content, zipfile.ZIP_DEFLATED)
        # A fixed date: the same registry and the same xlwings give the same file.
        tooltips = zipfile.ZipInfo(_TOOLTIPS, date_time=(1980, 1, 1, 0, 0, 0))
        new.writestr(tooltips, descriptions.tooltips_xml(), zipfile.ZIP_DEFLATED)
    return out.getvalue()


def modules_in(path: Path) -> dict[str, str]:
    """Name -> text of our VBA modules in the add-in file ``path``.

    Raises:
        HostError: it is no add-in file.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            project = VbaProject(archive.read(VBA_PART))
    except (OSError, KeyError, zipfile.BadZipFile):
        raise HostError(f"{path} is not an add-in file that hoppersheet has built") from None
    ours = (bootstrap.MODULE_NAME, MODULE_NAME)
    return {name: project.source(name) for name in project.names if name in ours}
