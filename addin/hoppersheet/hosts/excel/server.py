"""The process that computes the cells of Excel.

``pythonw -I -B -m hoppersheet.hosts.excel.server CLSID`` serves Excel until it closes; ``CLSID`` is
given by xlwings' DLL. With ``--try`` it does everything but serve, and ends.
"""

from __future__ import annotations

import sys

__all__ = ["TRY", "main"]

#: Instead of the id: import everything, compute one cell, and end with status 0.
TRY = "--try"


def main(arguments: list[str]) -> int:
    """Serve, or try. Whatever fails ends the process at once, and Excel's wait with it."""
    if len(arguments) != 1:
        return 2
    # First, so that what is missing is missed before Excel is told that Python is there.
    from . import functions

    answer = functions.__dict__["HOPPER_VERSION"]()
    from xlwings import com_server

    if arguments[0] == TRY:
        return 0 if answer.startswith("hoppersheet ") else 1
    com_server.serve(arguments[0])
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
