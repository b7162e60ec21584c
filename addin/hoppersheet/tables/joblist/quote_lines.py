"""Chosen jobs of a list as lines for the quote workbook, with what was assumed kept."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, NamedTuple

from ...cells.wording import in_system, rounded
from ...errors import InputFileError
from ..job_blends import Blend
from ..job_columns import NOT_STATED, job_name
from ..job_rows import JobSizer
from ..sized_job import SizedJob
from .sizing import SizedList

__all__ = ["QuoteLines", "chosen_rows", "quote_lines"]

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

    Each line has the keys of ``templates.quote.typing_in.fill``; figures are plain numbers of the
    list's unit system.
    """

    lines: list[dict[str, Any]]
    left_out: list[tuple[int, str]]


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
    found: dict[int, dict[str, Any]] = {}
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
            found[number] = _line(sized.sizer, number, cells, job)
    missing = [number for number in wanted or () if number not in seen]
    if missing:
        raise InputFileError(f"{sized.file.name} has no row {missing[0]}")
    order = found if wanted is None else [number for number in wanted if number in found]
    return QuoteLines([found[number] for number in order], left_out)


def _line(sizer: JobSizer, number: int, cells: Sequence[Any], job: SizedJob) -> dict[str, Any]:
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
        **_blend(blend, notes, system),
    }
    reserve = sizer.reserve_of(cells)
    if reserve:
        line["reserve"] = reserve
    line["note"] = "; ".join([f"row {number} of the job list", *notes])
    return {key: value for key, value in line.items() if value != ""}


def _blend(blend: Blend, notes: list[str], system: str) -> dict[str, Any]:
    """The blend by the workbook's columns: virgin and regrind, or one density of all."""
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
    line: dict[str, Any] = {"virgin": density.get("virgin", "")}
    if "virgin" in names and blend.virgin is None:
        line["virgin_from"] = "estimated"
    if "regrind" in names:
        line["regrind"] = blend.regrind_share
        line["ground"] = density["regrind"]
        line["basis"] = "volume" if blend.basis == NOT_STATED else blend.basis
        if blend.regrind is None:
            line["ground_from"] = "estimated"
        if "virgin" not in names:  # all regrind: the workbook still asks for a virgin density
            line["virgin"] = density["regrind"]
            line["virgin_from"] = "estimated"
    return line
