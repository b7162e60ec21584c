"""Names that the add-in's parts agree on."""

from __future__ import annotations

__all__ = ["EXTENSION", "JOB", "SERVICE", "programmatic_name"]

#: Identifier of the extension.
EXTENSION = "org.hoppersheet.calc"
#: UNO service (and implementation) that holds the functions; Calc 7.4 writes it into files.
SERVICE = "org.hoppersheet.Functions"
#: UNO service of the job that runs when a document has been loaded.
JOB = "org.hoppersheet.LoadJob"


def programmatic_name(function: str) -> str:
    """What Calc calls the function internally, and in files that Calc 7.4 saves."""
    return f"{SERVICE}.{function}".upper()
