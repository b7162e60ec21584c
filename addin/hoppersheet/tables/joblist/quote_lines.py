"""Chosen jobs of a list as lines for the quote workbook, with what was assumed kept."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, NamedTuple

from ...cells.wording import in_system, rounded
from ...errors import InputFileError
from ..job_blends import Blend
from ..job_columns import NOT_STATED, job_name
from ..resin_table import called, name_key, stored_value, synonyms, without_color
from ..sized_job import SizedJob
from .quote_extras import QuoteExtras, quote_extras
from .sizing import SizedList

__all__ = ["QuoteLines", "chosen_rows", "quote_lines"]

_LONGEST_NOTE = 400  # signs that the note of a line holds
_LEAST_OF_COLUMNS = 80  # of them for what the list says beside the sizing
_RANGE = re.compile(r"([0-9]{1,7})(?:\s*-\s*([0-9]{1,7}))?")


def chosen_rows(text: str) -> list[int]:
    """[3, 5, 6, 7, 8] from "3,5-8".

    Raises:
        InputFileError: it cannot be read.
    """
    rows: dict[int, None] = {}
    for part in text.split(","):
        match = _RANGE.fullmatch(part.strip())
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (1, 0)
        if not 0 < first <= last or last - first > 100_000:
            raise InputFileError(f"--lines {text!r}: type row numbers of the list, such as 3,5-8")
        rows.update(dict.fromkeys(range(first, last + 1)))
    return list(rows)


class QuoteLines(NamedTuple):
    """Lines for the quote workbook, and the chosen rows that give none, each with the reason.

    Attributes:
        lines: each has the keys of ``templates.quote.typing_in.fill``; figures are plain numbers
            of the list's unit system.
        rows: the number of each line's row.
        left_out: (row number, why it gives no line).
        messages: what was taken from columns that sizing does not read.
    """

    lines: list[dict[str, Any]]
    rows: list[int]
    left_out: list[tuple[int, str]]
    messages: tuple[str, ...]


def quote_lines(sized: SizedList, rows: Sequence[int] | None = None) -> QuoteLines:
    """Make lines of the chosen rows; reads ``sized.rows`` through.

    Args:
        sized: the list.
        rows: row numbers, as ``size`` shows them; None for every job.

    Raises:
        InputFileError: the list has no such row.
    """
    wanted = None if rows is None else dict.fromkeys(rows)
    seen: set[int] = set()
    found: dict[int, tuple[Sequence[Any], SizedJob]] = {}
    left_out: list[tuple[int, str]] = []
    for number, cells, job in sized.rows:
        if wanted is not None and number not in wanted:
            continue
        seen.add(number)
        if not job.is_job:
            if wanted is not None:
                left_out.append((number, f"is no job: {job.not_job}"))
        elif job.required_volume is None:
            left_out.append((number, "; ".join(reason for _, reason in job.faults)))
        else:
            found[number] = cells, job
    missing = [number for number in wanted or () if number not in seen]
    if missing:
        raise InputFileError(f"{sized.file.name} has no row {missing[0]}")
    order = list(found) if wanted is None else [number for number in wanted if number in found]
    extras = quote_extras(sized.file.reading, {number: found[number][0] for number in order})
    lines = [_line(sized, number, *found[number], extras) for number in order]
    return QuoteLines(lines, order, left_out, extras.messages)


def _line(
    sized: SizedList, number: int, cells: Sequence[Any], job: SizedJob, extras: QuoteExtras
) -> dict[str, Any]:
    sizer, sheet = sized.sizer, sized.file.source.sheet
    system = sizer.system
    blend = sizer.blend_of(cells)

    def cell(name: str) -> str:
        column = sizer.columns.get(name)
        inside = column is not None and column.at < len(cells)
        return job_name(cells[column.at]) if column is not None and inside else ""

    notes = [note for note in (job.assumed, job.check) if note]
    line: dict[str, Any] = {
        "job": cell("job") or f"row {number}",
        "resin": cell("resin"),
        "stated": in_system(job.throughput or 0.0, "throughput", system),
        "hours": in_system(job.drying_hours or 0.0, "drying hours", system),
        **_blend(blend, cell("resin"), notes, system),
    }
    reserve = sizer.reserve_of(cells)
    if reserve:
        line["reserve"] = reserve
    if number in extras.quantity:
        line["quantity"] = extras.quantity[number]
        if line["quantity"] > 1:
            notes.append(f"quantity {line['quantity']} is the list's")
    sharing = extras.sharing.get(number)
    if sharing is not None:
        line["shared"], line["turn"] = sharing.shared, sharing.turn
        notes.append(sharing.why)
    where = f"row {number} of the job list" + (f", sheet {sheet}" if sheet else "")
    # The workbook asks for a look where something was assumed, and says what.
    assumed = [f"assumed: {'; '.join(notes)}"] if notes else []
    line["note"] = _note([where, *assumed], extras.notes.get(number, ""))
    return {key: value for key, value in line.items() if value != ""}


def _note(first: Sequence[str], columns: str) -> str:
    """What was assumed, and then what else the list says, as far as there is room."""
    text = "; ".join(first)
    if not columns:
        return text
    room = max(_LONGEST_NOTE - len(text) - 2, _LEAST_OF_COLUMNS)
    return f"{text}; {columns if len(columns) <= room else columns[: room - 4] + ' ...'}"


def _blend(blend: Blend, resin: str, notes: list[str], system: str) -> dict[str, Any]:
    """The blend by the workbook's columns: virgin and regrind, or one density of all.

    A density that the list states goes in without an origin, which is not stated either. One that
    the workbook finds in its own resin table stays out, so that it is called the table's there.
    """
    density = {name: in_system(si, "bulk density", system) for name, _, si in blend.parts}
    names = set(density)
    if names == {"blend"}:
        notes.insert(0, "virgin density is the blend's, as the list states it")
        return {"virgin": density["blend"]}
    if not names <= {"virgin", "regrind"}:
        shares = ", ".join(f"{name} {rounded(share * 100)} %" for name, share, _ in blend.parts)
        basis = "volume" if blend.basis == NOT_STATED else blend.basis
        notes.insert(0, f"virgin density is that of the whole blend ({shares}, by {basis})")
        return {
            "virgin": in_system(blend.density, "bulk density", system),
            "virgin_from": "estimated",
        }
    by_table = _is_known_in_workbook(resin)
    line: dict[str, Any] = {}
    if "virgin" in names:
        if blend.virgin is not None:
            line["virgin"] = density["virgin"]
        elif not by_table:
            line["virgin"], line["virgin_from"] = density["virgin"], "estimated"
    if "regrind" in names:
        line["regrind"] = blend.regrind_share
        if "virgin" in names:
            line["basis"] = "volume" if blend.basis == NOT_STATED else blend.basis
        if blend.regrind is not None:
            line["ground"] = density["regrind"]
        elif not (by_table and _is_tables(resin, blend)):
            line["ground"], line["ground_from"] = density["regrind"], "estimated"
    return line


def _is_known_in_workbook(resin: str) -> bool:
    """Whether the workbook finds a resin of this name: without signs, and without its color."""
    found = called(resin) if resin.isascii() else ()
    names = {name_key(resin), name_key(without_color(resin))}
    return len(found) == 1 and bool(names & {name_key(found[0]), *synonyms(found[0])})


def _is_tables(resin: str, blend: Blend) -> bool:
    """Whether a density of regrind that the list does not state is the resin table's own."""
    found = stored_value(called(resin)[0], "regrind density")
    (ground,) = (si for name, _, si in blend.parts if name == "regrind")
    return found is not None and abs(ground / found.si - 1.0) < 1e-9
