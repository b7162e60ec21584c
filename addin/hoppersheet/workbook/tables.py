"""The tables of a workbook, and which cells ``Table[Column]`` means in a formula."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..errors import InputFileError
from .addresses import area_of
from .package import Package

__all__ = ["Table", "tables_of"]


def _plain_heading(text: str) -> str:
    """A table's heading as formula and table spell it alike; a file writes line breaks _x000a_."""
    text = re.sub(r"_x([0-9a-f]{4})_", lambda m: chr(int(m[1], 16)), text, flags=re.IGNORECASE)
    return " ".join(text.split()).lower()


@dataclass(frozen=True)
class Table:
    """A table of a sheet: where its lines are and what its columns are called.

    Attributes:
        first_row, last_row: of the lines, without headings and totals.
        above, below: rows of headings and of totals, 0 or 1.
    """

    sheet: str
    first_row: int
    first_column: int
    last_row: int
    columns: tuple[str, ...]
    above: int = 0
    below: int = 0

    def area(self, inside: str, row: int) -> tuple[str, int, int, int, int] | None:
        """The cells that ``Table[inside]`` means in a formula of ``row``, None if unknown.

        ``""``, ``Column``, ``@Column``, ``#All``, ``[#This Row],[Column]``, ``[One]:[Other]``.
        """
        parts = re.findall(r"\[((?:[^\[\]']|'.)*)\]", inside, re.DOTALL)
        # Without inner brackets all of it is one heading, escaped brackets included.
        if not parts or re.match(r"@?\s*\[", inside) is None:
            parts = [inside]
        words = [_plain_heading(re.sub(r"'(.)", r"\1", part, flags=re.DOTALL)) for part in parts]
        this_row = inside.startswith("@") or "#this row" in words
        known = [_plain_heading(column) for column in self.columns]
        named = [w.lstrip("@").strip() for w in words if not w.startswith("#")]
        columns = [known.index(w) for w in named if w in known]
        if len(columns) != len([w for w in named if w]) or len(columns) > 2:
            return None
        ends = columns or [0, len(known) - 1]
        first, last = self.first_row, self.last_row
        if this_row:
            first = last = row
        elif "#all" in words:
            first, last = first - self.above, last + self.below
        elif "#headers" in words:
            first = last = first - self.above
        elif "#totals" in words:
            first = last = last + self.below
        at = self.first_column
        return (self.sheet, first, at + min(ends), last, at + max(ends))


def tables_of(package: Package) -> dict[str, Table]:
    """Every table of a workbook by its name in lower case."""
    found = {}
    for sheet in package.sheets:
        for kind, part in package.relations(sheet.part).values():
            if kind == "table":
                found.update(_table(package, sheet.name, part))
    return found


def _table(package: Package, sheet: str, part: str) -> dict[str, Table]:
    listed = package.elements(part)
    values = listed[0].attributes
    try:
        r1, c1, r2, _ = area_of(values.get("ref", ""))
    except InputFileError:
        return {}  # a table that is nowhere; formulas with its name are not followed
    headings = int(values.get("headerRowCount") != "0")
    totals = int(values.get("totalsRowCount", "0") not in ("", "0"))
    columns = tuple(
        e.attributes.get("name", "")
        for e in listed
        if e.tag == "tableColumn" and e.inside == ("table", "tableColumns")
    )
    name = values.get("displayName") or values.get("name") or part
    return {name.lower(): Table(sheet, r1 + headings, c1, r2 - totals, columns, headings, totals)}
