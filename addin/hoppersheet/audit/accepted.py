"""Findings that somebody has accepted: by whom, why and when.

They stand in the sheet *Findings* of a report, in the columns "accepted by", "why" and "when" that
people fill in, or in a .csv with the same headings. The next audit takes them with ``--accepted``:
a finding that is still the same counts as accepted; one that has changed since is open again and
says so. An acceptance without a name, a reason or a date does not count.
"""

from __future__ import annotations

import csv
import datetime
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from ..errors import InputFileError
from .findings import Finding

__all__ = ["ACCEPTED_HEADINGS", "Acceptance", "apply", "gone", "read_accepted"]

#: What a person fills in.
ACCEPTED_HEADINGS = ("accepted by", "why", "when")
_KIND, _CELL, _MESSAGE = "kind", "cell", "what is wrong, what it does, what to do"
_CONTENT = ("value", "formula")  # of the cell, as the report had them
_SHEET = "Findings"


@dataclass(frozen=True)
class Acceptance:
    """One finding that somebody accepted; ``cell`` as ``"Sheet!A1"``.

    Attributes:
        content: the cell's value and formula as texts, ``""`` where the file does not say them.
    """

    kind: str
    cell: str
    message: str
    by: str
    why: str
    when: str
    content: tuple[str, str] = ("", "")

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)

    @property
    def complete(self) -> bool:
        """Whether it says by whom, why and when."""
        return bool(self.by and self.why and self.when)

    @property
    def note(self) -> str:
        """``"accepted by A. Sample on 2026-11-20: agreed with the customer"``."""
        return f"accepted by {self.by} on {self.when}: {self.why}"


def _text(value: Any) -> str:
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    return "" if value is None else " ".join(str(value).split())


def _rows_of(path: Path) -> list[list[str]]:
    if path.suffix.lower() == ".csv":
        try:
            with path.open(encoding="utf-8-sig", newline="") as file:
                return [[_text(cell) for cell in row] for row in csv.reader(file)]
        except (OSError, UnicodeDecodeError, csv.Error) as problem:
            raise InputFileError(f"{path} cannot be read: {problem}") from None
    from ..workbook.book import read_book

    book = read_book(path)
    if _SHEET not in book.sheets:
        raise InputFileError(f"{path}: there is no sheet {_SHEET!r}; give a report of the audit")
    sheet = book.sheets[_SHEET]
    width = sheet.max_column
    found = []
    for row in range(1, sheet.max_row + 1):
        cells = [sheet.cells.get((row, column)) for column in range(1, width + 1)]
        found.append([_date(cell.value, cell.style) if cell else "" for cell in cells])
    return found


def _date(value: Any, style: Any) -> str:
    """A cell as text; a date as people write it."""
    if isinstance(value, float) and any(sign in style.number_format.lower() for sign in "ymd"):
        from openpyxl.utils.datetime import from_excel

        return _text(from_excel(value))
    return f"{value:g}" if isinstance(value, float) else _text(value)


def read_accepted(path: str | Path) -> list[Acceptance]:
    """The acceptances in a report of an audit, or in a .csv with its headings.

    Raises:
        InputFileError: it cannot be read, or has no such headings.
    """
    path = Path(path)
    if not path.exists():
        raise InputFileError(f"{path}: there is no such file")
    rows = _rows_of(path)
    needed = (_KIND, _CELL, *ACCEPTED_HEADINGS)
    lower = [[cell.lower() for cell in row] for row in rows]
    at = next((i for i, row in enumerate(lower) if all(name in row for name in needed)), None)
    if at is None:
        raise InputFileError(f"{path} has no row with the headings {', '.join(needed)}")
    headings = lower[at]
    column = {name: headings.index(name) for name in needed}
    content = [headings.index(name) if name in headings else None for name in _CONTENT]
    message = headings.index(_MESSAGE) if _MESSAGE in headings else None
    found = []
    for row in rows[at + 1 :]:
        cells = [*row, *[""] * (len(headings) - len(row))]
        by, why, when = (cells[column[name]] for name in ACCEPTED_HEADINGS)
        if by or why or when:
            found.append(
                Acceptance(
                    cells[column[_KIND]], cells[column[_CELL]].replace("'", ""),
                    cells[message] if message is not None else "", by, why, when,
                    (_content(cells, content[0]), _content(cells, content[1])),
                )
            )  # fmt: skip
    return found


def _content(cells: list[str], at: int | None) -> str:
    return "" if at is None else cells[at]


def _same_content(one: Acceptance, found: Finding) -> bool:
    """Whether the cell holds what it held when the finding was accepted, as far as that is known.

    A number that no digits of the report show apart is the same.
    """
    if not any(one.content):
        return True
    value = found.value
    shown = f"{value:g}" if isinstance(value, float) else _text(value)
    return (shown, _text(found.formula)) == one.content


def gone(findings: Iterable[Finding], accepted: Iterable[Acceptance]) -> list[Acceptance]:
    """The acceptances whose finding is no longer there."""
    known = {(found.kind, _where(found)) for found in findings}
    return [one for one in accepted if one.complete and (one.kind, one.cell) not in known]


def _where(found: Finding) -> str:
    return f"{found.sheet}!{found.cell}" if found.sheet else found.cell


def apply(findings: Iterable[Finding], accepted: Iterable[Acceptance]) -> list[Finding]:
    """The findings, each that was accepted marked so; one that has changed since says it."""
    known: dict[tuple[str, str], list[Acceptance]] = {}
    for one in accepted:
        known.setdefault((one.kind, one.cell), []).append(one)
    found = []
    for finding in findings:
        marked = finding
        for one in known.get((finding.kind, _where(finding)), ()):
            if not one.complete:
                missing = "name, reason or date"
                marked = replace(
                    marked, message=f"{finding.message} (Accepted without a {missing}.)"
                )
            elif not _same_content(one, finding):
                was = ", ".join(filter(None, one.content))
                marked = replace(
                    marked,
                    message=f"{finding.message} ({one.note}; the cell has changed since, it held "
                    f"{was}.)",
                )
            elif not one.message or one.message == " ".join(finding.message.split()):
                marked = replace(finding, accepted=one.note)
                break
            else:
                marked = replace(
                    marked, message=f"{finding.message} ({one.note}; it has changed since.)"
                )
        found.append(marked)
    return found
