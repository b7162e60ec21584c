"""Where the rows of a list come from, whatever the file is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

__all__ = ["SUMMARY_TITLE", "Source"]

#: First cell of the sheet that sums a sized list up: no list of jobs, whatever it looks like.
SUMMARY_TITLE = "Summary of the list"


@dataclass
class Source:
    """A table whose rows can be read as often as needed.

    Attributes:
        name: for messages: the file, and the sheet.
        rows: gives the rows from the beginning.
        separator: of a text file, "" for a workbook; " " where blanks align the columns.
        encoding: of a text file.
        sheet: its name, "" for a text file.
        groups: (row, column) -> columns spanned by merged cells there, both from 0; None where the
            source cannot tell.
        formats: column -> the number format of its cells, of a workbook.
        blank_is: what else a blank cell may be, "" where a blank is a blank.
        shared: (first row number, last row number, column from 0) of a cell merged over rows.
        struck: number of a row -> columns from 0 of its cells that are crossed out.
        comments: number of a row -> column from 0 -> the comment of the cell there.
        notes: what the receipt says of the file itself.
        other_sheets: sheets that are not read -> (rows that look like jobs, state).
        position, total: bytes read so far and in all, of a text file.
    """

    name: str
    rows: Callable[[], Iterator[list[Any]]]
    separator: str = ""
    encoding: str = ""
    sheet: str = ""
    groups: dict[tuple[int, int], int] | None = None
    formats: dict[int, str] = field(default_factory=dict)
    blank_is: str = ""
    shared: list[tuple[int, int, int]] = field(default_factory=list)
    struck: dict[int, set[int]] = field(default_factory=dict)
    comments: dict[int, dict[int, str]] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    other_sheets: dict[str, tuple[int, str]] = field(default_factory=dict)
    position: Callable[[], int] | None = None
    total: int = 0
    close: Callable[[], None] = lambda: None

    @property
    def is_text(self) -> bool:
        """Whether cells were told apart by a separator, which a stray one can upset."""
        return bool(self.separator)
