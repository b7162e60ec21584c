"""Save a workbook so that the same content gives the same bytes, and never half a file.

openpyxl stamps the time of saving into the file; a committed workbook would then differ after
every rebuild and a test could not compare it. Here the time is fixed, in the document's
properties and in the archive.
"""

from __future__ import annotations

import re
import zipfile
from io import BytesIO
from pathlib import Path
from typing import Any

from ..files import replacing

__all__ = ["save_workbook", "workbook_bytes"]

_STAMP = "2026-01-01T00:00:00Z"
_ZIP_STAMP = (2026, 1, 1, 0, 0, 0)
# openpyxl calls a blank cell a number without a value, which some engines read as 0.
_BLANK = re.compile(
    rb'(<c r="[A-Z]+[0-9]+"(?: s="[0-9]+")?) t="n" ?(?:/>|></c>|><v ?/></c>|><v></v></c>)'
)
_TIMES = re.compile(rb"(<dcterms:(created|modified)[^>]*>)[^<]*(</dcterms:\2>)")


def workbook_bytes(workbook: Any) -> bytes:
    """An openpyxl workbook as the bytes of an .xlsx file, the same for the same content."""
    raw = BytesIO()
    workbook.save(raw)
    out = BytesIO()
    with zipfile.ZipFile(raw) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            content = source.read(name)
            if name == "docProps/core.xml":
                content = _TIMES.sub(rb"\g<1>" + _STAMP.encode() + rb"\g<3>", content)
            elif name.startswith("xl/worksheets/"):
                content = _BLANK.sub(rb"\1/>", content)
            entry = zipfile.ZipInfo(name, _ZIP_STAMP)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o600 << 16
            target.writestr(entry, content)
    return out.getvalue()


def save_workbook(workbook: Any, path: Path, live: bool = True) -> None:
    """Write the workbook to ``path``, which keeps its old content until the new one is complete.

    Args:
        workbook: an openpyxl workbook.
        path: the file.
        live: False: it reports on files of others, and what looks like a formula in it, such as
            the name of a sheet that begins with "=", is text.

    Raises:
        InputFileError: the folder is missing, or the file cannot be replaced.
    """
    if not live:
        for cell in (cell for sheet in workbook for line in sheet.iter_rows() for cell in line):
            if cell.data_type == "f":
                cell.data_type = "s"
    with replacing(path) as temporary:
        temporary.write_bytes(workbook_bytes(workbook))
