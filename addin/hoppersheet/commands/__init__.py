"""One file per command of the command line, each with a click command called ``command``.

They are imported only when used, so that ``hoppersheet --version`` stays quick.
"""

from __future__ import annotations

import click

__all__ = ["FORCE"]

#: Every command that writes a file takes it; see :func:`hoppersheet.existing.may_write`.
FORCE = click.option("--force", is_flag=True, help="Overwrite an output file that exists.")
