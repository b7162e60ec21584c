"""Headings of a table that somebody made: case and spacing free, a unit in square brackets."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..errors import NotThisQuantity, WrongKind
from ..numbers_in_text import shown
from ..quantities import QUANTITIES
from ..units import factor

__all__ = ["Heading", "plain_name", "read_headings"]

_WITH_UNIT = re.compile(r"(.*?)\[([^\]]*)\]\s*")


@dataclass(frozen=True)
class Heading:
    """A recognized column: its name, its place (0 is the first), the unit of its numbers or ""."""

    name: str
    index: int
    unit: str = ""


def plain_name(text: str) -> str:
    """A heading in lower case, with single blanks for any run of blanks, ``_`` and ``-``."""
    return " ".join(re.sub(r"[_\-]", " ", text).casefold().split())


def read_headings(cells: Sequence[Any], columns: Mapping[str, str]) -> dict[str, Heading]:
    """Find the known columns in a heading row.

    Args:
        cells: the heading row as raw cells; cells that are not text are passed over.
        columns: known name -> quantity of its numbers, ``""`` for text.

    Returns:
        Known name -> where it was found. Unknown headings are simply not in it.

    Raises:
        WrongKind: a known heading stands twice, or its unit is unknown or measures something else.
    """
    found: dict[str, Heading] = {}
    for index, cell in enumerate(cells):
        if not isinstance(cell, str):
            continue
        match = _WITH_UNIT.fullmatch(cell)
        name = plain_name(match[1] if match else cell)
        if name not in columns:
            continue
        if name in found:
            columns_at = f"{found[name].index + 1} and {index + 1}"
            raise WrongKind(f"the heading {name!r} stands twice, in columns {columns_at}")
        unit = match[2].strip() if match else ""
        quantity = columns[name]
        if unit and quantity:
            try:
                factor(unit, QUANTITIES[quantity].si)
            except NotThisQuantity:
                measure = QUANTITIES[quantity]
                units = " or ".join(dict.fromkeys((measure.us, measure.metric))).replace("1", "%")
                raise WrongKind(
                    f"heading {shown(cell)}: not a unit of {measure.said}, such as {units}"
                ) from None
            except WrongKind as problem:
                raise WrongKind(f"heading {shown(cell)}: {problem.reason}") from None
        found[name] = Heading(name, index, unit)
    return found
