"""Write the committed workbooks anew: run it after a change of a template or of a test vector.

    .venv/bin/python workbooks/rebuild.py            write them
    .venv/bin/python workbooks/rebuild.py --check    name those that are out of date; exit status 1

The same content gives the same bytes, so git shows a workbook as changed only when it changed.
"""

from __future__ import annotations

import sys
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

from hoppersheet.books import check, joblist
from hoppersheet.books.saving import workbook_bytes
from hoppersheet.files import replacing

FOLDER = Path(__file__).parent

#: File name -> how its workbook is built.
WORKBOOKS: dict[str, Callable[[], Any]] = {
    "function_check.xlsx": check.build,
    "joblist_template.xlsx": joblist.build,
}


def _parts(content: bytes) -> dict[str, bytes]:
    """The parts of a workbook; how well they are compressed depends on the machine's zlib."""
    with zipfile.ZipFile(BytesIO(content)) as package:
        return {name: package.read(name) for name in package.namelist()}


def is_current(name: str) -> bool:
    """Whether the committed workbook holds what it would hold if it were built now."""
    path = FOLDER / name
    built = workbook_bytes(WORKBOOKS[name]())
    return path.is_file() and _parts(path.read_bytes()) == _parts(built)


def main() -> int:
    """Rebuild what is out of date, or only name it."""
    out_of_date = [name for name in WORKBOOKS if not is_current(name)]
    for name in out_of_date:
        if "--check" not in sys.argv[1:]:
            with replacing(FOLDER / name) as temporary:
                temporary.write_bytes(workbook_bytes(WORKBOOKS[name]()))
        print(name)
    return 1 if out_of_date and "--check" in sys.argv[1:] else 0


if __name__ == "__main__":
    sys.exit(main())
