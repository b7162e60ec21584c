"""What the resin table warns of, where a workbook does it: notes for whoever signs.

The words and the resins come from the resin table; see :mod:`hoppersheet.tables.hazards`.
"""

from __future__ import annotations

from collections.abc import Iterator

from ...errors import CellError
from ...tables.hazards import never_together
from ...tables.usual import check_words, outside
from ...workbook.formulas import Place
from ..context import Context, cell_name
from ..findings import Finding, finding
from ..line_cells import share_in
from ..records import Record
from .resins import hours_of, own_table, resin_of

__all__ = ["check"]

_MOST_NAMED = 200  # resins of a workbook; more are the rows of a long job list


def _resin_place(record: Record) -> Place | None:
    job = record.line.job
    return record.cells.get("resin") if job is None else job.places.get("resin")


def _has_regrind(context: Context, record: Record) -> bool:
    """Whether a line says that it has regrind in it."""
    job = record.line.job
    for role, whole in (("regrind share", 0.0), ("virgin share", 1.0)):
        place = record.cells.get(role) if job is None else job.places.get(role)
        share = share_in(context.value(place)) if place is not None else None
        if share is not None and share != whole:
            return True
    return False


def _over_long(context: Context) -> Iterator[Finding]:
    own = own_table(context)
    reported: set[Place] = set()
    for record in context.records:
        resin, (place, seconds) = resin_of(context, record), hours_of(context, record)
        if not resin or place is None or seconds is None or place in reported:
            continue
        try:
            found = outside(resin, "drying hours", seconds, own)
            words = check_words(resin, drying_hours=seconds, own=own)[0] if found else ""
        except CellError:
            continue
        if found is not None and found.side == "above":
            reported.add(place)
            yield finding(
                "caution",
                "note",
                place,
                f"{words[:1].upper()}{words[1:]}; {context.where(record.line)} follows from it; "
                "ask the resin maker for the longest time at drying temperature.",
                value=context.value(place),
            )


def _softening(context: Context) -> Iterator[Finding]:
    own = own_table(context)
    by_resin: dict[str, tuple[Place, list[Place]]] = {}
    words: dict[str, str] = {}
    for record in context.records:
        resin, place = resin_of(context, record), _resin_place(record)
        if not resin or place is None:
            continue
        try:
            texts = check_words(resin, regrind_share=float(_has_regrind(context, record)), own=own)
        except CellError:
            continue
        for text in texts:
            words.setdefault(resin, text)
            by_resin.setdefault(resin, (place, []))[1].append(place)
    for resin, (place, places) in by_resin.items():
        yield finding(
            "caution",
            "note",
            place,
            f"{words[resin]}; make sure the customer knows, and what form the resin comes in.",
            value=context.value(place),
            cells=places if len(places) > 1 else (),
        )


def _apart(context: Context) -> Iterator[Finding]:
    first: dict[str, Place] = {}
    for record in context.records:
        resin, place = resin_of(context, record), _resin_place(record)
        if resin and place is not None and len(first) < _MOST_NAMED:
            first.setdefault(resin, place)
    for one, other, hazard in never_together(first).meetings:
        yield finding(
            "caution",
            "note",
            first[other],
            f"{other!r} here and {one!r} in {cell_name(first[one])} stand in one workbook. "
            f"{hazard.text}",
            value=other,
            cells=(first[one], first[other]),
        )


def check(context: Context) -> Iterator[Finding]:
    """``caution``: dried longer than usual, softens, must never meet another resin."""
    yield from _over_long(context)
    yield from _softening(context)
    yield from _apart(context)
