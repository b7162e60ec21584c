"""What a job list says that sizing does not read and a quote needs.

How many hoppers, which jobs share one, and what else names a job: part, tool, machine. What is
taken is told; a column that may mean something else ("Qty" of parts) goes into the note alone.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from ...cells.numbers_in_text import shown
from ...cells.values import is_blank
from ..heading_words import in_english, plain_text
from ..job_cells import ClockTime, Percent, ShownWithUnit
from ..job_columns import job_name
from ..job_receipt import plain_line
from ..jobreading.chosen_headings import earlier_results
from ..jobreading.reading import Reading
from ..jobwords.titles import title_of

__all__ = ["QuoteExtras", "Sharing", "quote_extras"]

#: The names of shared hoppers and of how they run: ``templates.quote.line_columns``.
_NAMES = tuple(f"H{number}" for number in range(1, 9))
_IN_TURN, _AT_ONCE = "in turn", "at once"
#: More hoppers of one job are rather parts, common practice, no source.
_MOST_HOPPERS = 50
_LONGEST_VALUE = 60
_NUMBERING = frozenset(("no", "nr", "number", "name", "id", "tag", "code", "position", "pos"))
_MACHINES = frozenset(("machine", "press", "line", "cell", "imm", "extruder"))
_SHARING = frozenset(
    ("shared", "shares", "share", "common", "gemeinsam", "gemeinsamer", "commun", "comun")
)
_COUNTING = frozenset(
    (
        "qty",
        "quantity",
        "count",
        "number",
        "no",
        "of",
        "hoppers",
        "hopper",
        "needed",
        "units",
        "ordered",
    )
)
#: Of parts, whatever the heading in English would be.
_OF_PARTS = re.compile(r"stu[ec]|stuck|stk|part|teile|piece|pcs|pieza|lot|batch|annual|order|jahr")
_HOPPER_NAME = re.compile(
    r"(?:(?:shared|common|drying|hopper|dryer|trichter|tremie|tolva|no|nr|h|t|dh|d|th)"
    r"[\s.\-_#]*){0,3}#?\s*(?:[0-9]{1,3}[a-z]?|[a-z])"
)


class Sharing(NamedTuple):
    """One line's hopper, in the words of the sheet *Sizing*.

    Attributes:
        shared: H1 to H8.
        turn: "in turn" or "at once".
        why: for the note.
    """

    shared: str
    turn: str
    why: str


class QuoteExtras(NamedTuple):
    """What a list says beside the sizing.

    Attributes:
        quantity: row -> number of hoppers.
        sharing: row -> the hopper that it shares.
        notes: row -> what its note says of the columns that no cell of a line holds.
        messages: what the command says of it all.
    """

    quantity: Mapping[int, int]
    sharing: Mapping[int, Sharing]
    notes: Mapping[int, str]
    messages: tuple[str, ...]


class _Column(NamedTuple):
    at: int
    heading: str
    words: frozenset[str]
    cells: dict[int, str]


def quote_extras(reading: Reading, rows: Mapping[int, Sequence[Any]]) -> QuoteExtras:
    """What the unread columns of a list say about the rows that become lines.

    Args:
        reading: how the list is read.
        rows: row number -> cells.
    """
    columns = _unread(reading, rows)
    messages: list[str] = []
    quantity: dict[int, int] = {}
    taken: set[int] = set()
    for column in columns:
        if quantity or not _counts_hoppers(column):
            continue
        found = {row: _whole(cell) for row, cell in column.cells.items()}
        if all(0 < count <= _MOST_HOPPERS for count in found.values()):
            quantity = found
            taken.add(column.at)
            messages.append(f"quantity: {shown(column.heading)} taken for the number of hoppers")
        else:
            messages.append(
                f"quantity: {shown(column.heading)} is not taken for a number of hoppers; it is in "
                "the notes"
            )
    sharing = _sharing(reading, columns, rows, messages)
    kept = [column for column in columns if column.at not in taken]
    if kept:
        messages.append(f"in the notes: {', '.join(shown(column.heading) for column in kept)}")
    notes = {
        row: "; ".join(f"{c.heading}: {c.cells[row]}" for c in kept if row in c.cells)
        for row in rows
    }
    return QuoteExtras(quantity, sharing, notes, tuple(messages))


def _unread(reading: Reading, rows: Mapping[int, Sequence[Any]]) -> list[_Column]:
    read = {column.at for column in reading.columns.values()}
    read |= earlier_results(reading.headings)
    read |= {column.unit_at for column in reading.columns.values() if column.unit_at is not None}
    found = []
    for at, heading in enumerate(reading.headings):
        if at in read or is_blank(heading):
            continue
        cells = {
            row: _text(cells[at])
            for row, cells in rows.items()
            if at < len(cells) and not is_blank(cells[at])
        }
        if cells:
            words = re.findall(r"[^\W_]+", plain_text(in_english(str(heading))).replace("_", " "))
            found.append(_Column(at, plain_line(str(heading)), frozenset(words), cells))
    return found


def _text(cell: Any) -> str:
    if isinstance(cell, Percent):
        return f"{cell * 100:.13g} %"
    if isinstance(cell, ClockTime):
        return f"{cell * 24:.6g} h"
    text = job_name(cell.text if isinstance(cell, ShownWithUnit) else cell)
    return text if len(text) <= _LONGEST_VALUE else f"{text[: _LONGEST_VALUE - 3]}..."


def _whole(text: str) -> int:
    """A count; 0 for what is none."""
    match = re.fullmatch(r"\+?([0-9]{1,7})(?:[.,]0+)?\s*(?:x|pcs?\.?|ea\.?)?", text.strip())
    return int(match[1]) if match else 0


# --- how many -----------------------------------------------------------------------------


def _counts_hoppers(column: _Column) -> bool:
    title = title_of(column.heading)
    if title.unit or title.percent or not column.words <= _COUNTING:
        return False
    if column.words & {"qty", "quantity", "count"}:
        return not _OF_PARTS.search(plain_text(column.heading))
    return "hoppers" in column.words


# --- which hopper -------------------------------------------------------------------------


def _sharing(
    reading: Reading, columns: Sequence[_Column], rows: Mapping[int, Sequence[Any]],
    messages: list[str],
) -> dict[int, Sharing]:  # fmt: skip
    groups: dict[str, list[int]] = {}
    heading = ""
    for column in columns:
        rest = column.words - {"hopper", "dryer"} - _NUMBERING - _SHARING - {"with"}
        if groups or "hopper" not in column.words or rest or title_of(column.heading).unit:
            continue
        shared = bool(column.words & _SHARING)
        with_whom = "with" in column.words
        heading = column.heading
        groups = _with_other_jobs(reading, column, rows) if with_whom else _by_name(column, shared)
    found: dict[int, Sharing] = {}
    alike = {name: members for name, members in groups.items() if len(members) > 1}
    # A hopper keeps the name that the list gives it, where the workbook has that name.
    own = {name: name.upper() for name in alike if name.upper() in _NAMES}
    free = iter([name for name in _NAMES if name not in own.values()])
    for called, members in alike.items():
        name = own.get(called) or next(free, "")
        if not name:
            messages.append(
                f"rows {', '.join(map(str, members))} share one hopper, says {shown(heading)}; a "
                f"quote has names for {len(_NAMES)} shared hoppers: these rows have one each"
            )
            continue
        turn, why = _turn(reading, columns, rows, members)
        who = ", ".join(map(str, members))
        says = f"rows {who} share one hopper, says {shown(heading)}; {turn}: {why}"
        found.update(dict.fromkeys(members, Sharing(name, turn, says)))
        messages.append(f"shared hopper {name}: {says}")
    return found


def _by_name(column: _Column, shared: bool) -> dict[str, list[int]]:
    """The rows of each hopper that the column names; none where its cells are no names."""
    groups: dict[str, list[int]] = {}
    for row, cell in column.cells.items():
        groups.setdefault(plain_text(cell), []).append(row)
    repeated = [name for name, members in groups.items() if len(members) > 1]
    if all(_HOPPER_NAME.fullmatch(name) for name in repeated):
        return groups
    answers = {"yes", "no", "ja", "nein", "oui", "non", "si", "x", "y", "n", "true", "false"}
    return groups if shared and not answers & set(repeated) else {}


def _with_other_jobs(
    reading: Reading, column: _Column, rows: Mapping[int, Sequence[Any]]
) -> dict[str, list[int]]:
    """Groups of jobs, where a cell names the other job or its row."""
    job = reading.columns.get("job")
    names = {} if job is None else {plain_text(job_name(c[job.at])): r for r, c in rows.items()}
    group = {row: row for row in rows}
    for row, cell in column.cells.items():
        match = re.fullmatch(r"row\s*([0-9]{1,7})", plain_text(cell))
        other = int(match[1]) if match else names.get(plain_text(cell))
        if other in group:
            one, two = group[row], group[other]
            group = {member: one if of == two else of for member, of in group.items()}
    groups: dict[str, list[int]] = {}
    for row, of in group.items():
        groups.setdefault(str(of), []).append(row)
    return groups


def _turn(
    reading: Reading, columns: Sequence[_Column], rows: Mapping[int, Sequence[Any]],
    members: Sequence[int],
) -> tuple[str, str]:  # fmt: skip
    """How the jobs of one hopper run, and why that was taken."""
    resin = reading.columns.get("resin")
    if resin is not None:
        resins = {plain_text(job_name(rows[row][resin.at])) for row in members} - {""}
        if len(resins) > 1:
            return _IN_TURN, "they are of different resins"
    for column in columns:
        if not column.words & _MACHINES or column.words - _MACHINES - _NUMBERING:
            continue
        machines = [column.cells.get(row, "") for row in members]
        if "" not in machines and len(set(machines)) == 1:
            return _IN_TURN, f"they run on one machine, {machines[0]}"
        if len(set(machines)) == len(machines):
            return _AT_ONCE, "taken because they run on different machines; check it"
    return _AT_ONCE, "taken because it needs more; type in turn if they never run together"
