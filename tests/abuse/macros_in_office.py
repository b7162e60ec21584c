"""The control of the macro test: ``compute`` as it is, but for who may run macros and fetch.

Started with a Python that has ``uno``::

    python3 macros_in_office.py CALC_FOLDER SOFFICE PROFILE BOOK MARKS MACROS LINKS

``CALC_FOLDER`` holds ``worker.py``, ``MARKS`` is a folder where each macro that runs leaves a file.
``MACROS`` and ``LINKS`` are the MacroExecutionMode and the UpdateDocMode, numbers of
``com.sun.star.document``. The book's folder is made a trusted one, from which alone Calc fetches.

Printed as JSON: the marks after a ``compute`` in which only MacroExecutionMode is changed, and the
marks after an opening with both, which the book is told of as if a window showed it. A headless
office has no window that would tell it, but it has the receiver, which then looks for the macros of
opening.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, sys.argv[1])

import uno
import worker

_WORKBOOK_OPEN = "com.sun.star.script.vba.VBAEventId.WORKBOOK_OPEN"
_RECEIVER = "com.sun.star.script.vba.VBASpreadsheetEventProcessor"

properties = worker._properties


def changed(**changes: int) -> Any:
    """The worker's ``_properties`` with some of them changed, where they are given at all."""
    return lambda **given: properties(
        **{**given, **{n: value for n, value in changes.items() if n in given}}
    )


def taken(marks: Path) -> list[str]:
    """The names of the files in the folder, which is empty afterwards."""
    found = sorted(marks.iterdir())
    for file in found:
        file.unlink()
    return [file.name for file in found]


def trust(office: worker.Office, folder: Path) -> None:
    provider = office._service("com.sun.star.configuration.ConfigurationProvider")
    settings = provider.createInstanceWithArguments(
        "com.sun.star.configuration.ConfigurationUpdateAccess",
        properties(nodepath="/org.openoffice.Office.Common/Security/Scripting"),
    )
    folders = uno.Any("[]string", (folder.as_uri(),))
    uno.invoke(settings, "setPropertyValue", ("SecureURL", folders))
    settings.commitChanges()


def shown(office: worker.Office, book: str) -> None:
    """Open the book and tell it that a window shows it."""
    document = office._open_file(book)
    try:
        receiver = office.services.createInstanceWithArgumentsAndContext(
            _RECEIVER, (document,), office.context
        )
        # True: it found macros of opening in the book and handed them over to be run.
        assert receiver.processVbaEvent(uno.getConstantByName(_WORKBOOK_OPEN), ())
    finally:
        document.close(True)


soffice, profile, book, marks, macros, links = sys.argv[2:]
office = worker.Office(soffice, profile, 60)
try:
    trust(office, Path(book).parent)
    worker._properties = changed(MacroExecutionMode=int(macros))
    office.do_compute(book, None, None)
    seen = [taken(Path(marks))]
    worker._properties = changed(MacroExecutionMode=int(macros), UpdateDocMode=int(links))
    shown(office, book)
    seen.append(taken(Path(marks)))
    print(json.dumps(seen))
finally:
    office.close()
