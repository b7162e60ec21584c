"""The functions that the workbook brings along: whether each is ours."""

from __future__ import annotations

from collections.abc import Iterator

from ..._version import __version__
from ...carried.examination import bring_along
from ...workbook.formulas import Call, address
from ..context import Context
from ..findings import Finding

_AGAIN = "store the functions again with hoppersheet handoff --with-functions"
_SHOWN = 200  # characters of a formula


def _first_call(context: Context, name: str = "") -> tuple[str, str]:
    """(sheet, cell) of the first call of a function, or of any; ("", name) where there is none."""
    for cell in context.book.sizing_cells:
        assert cell.tree is not None
        for node in context.book.nodes(cell.tree):
            if isinstance(node, Call) and node.sizes and name in ("", node.name):
                return cell.place[0], address(*cell.place[1:])
    return "", name


def check(context: Context) -> Iterator[Finding]:
    """``redefined``, ``version``, ``not carried``."""
    brought = bring_along(context.book.package)
    if brought.older:
        written_by = f"hoppersheet {brought.version}" if brought.version else "an unknown version"
        yield Finding(
            "version", "warning", *_first_call(context),
            f"The functions stored in this workbook were written by {written_by}; this is "
            f"{__version__}, which knows only its own; {_AGAIN}.",
        )  # fmt: skip
    for place, formula in brought.redefined.items():
        name = place.rpartition("!")[2]
        where = "" if place == name else f" on the sheet {place.rpartition('!')[0]!r}"
        yield Finding(
            "redefined", "error", *_first_call(context, name.upper()),
            f"This workbook redefines {name}{where}: its formula is not the one that hoppersheet "
            "writes, so without the add-in the cells show what that formula gives; find out who "
            f"changed it, then {_AGAIN}.",
            f"={formula[:_SHOWN]}",
        )  # fmt: skip
    for name in brought.missing:
        yield Finding(
            "not carried", "warning", *_first_call(context, name),
            f"This workbook brings functions along, but not {name}, which its formulas call: those "
            f"cells show #NAME? without the add-in; {_AGAIN}.",
        )  # fmt: skip
