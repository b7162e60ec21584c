"""The receipt: how a list was read, column by column, and what in it was not."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from ..job_receipt import column_rows, not_used, plain_line, sign_words
from .sizing import SizedList

__all__ = ["receipt", "receipt_head", "receipt_rows", "row_list", "unread_sheets"]

_MOST_ROWS = 8


def row_list(numbers: Sequence[int], most: int = 40) -> str:
    """``"rows 3, 5 to 9"`` for row numbers in ascending order."""
    runs = [
        [number for _, number in run]
        for _, run in groupby(enumerate(numbers), lambda pair: pair[1] - pair[0])
    ]
    texts = [f"{r[0]} to {r[-1]}" if len(r) > 2 else ", ".join(map(str, r)) for r in runs]
    if len(texts) > most:
        texts = [*texts[:most], f"and {len(runs) - most} more"]
    return f"{'row' if len(numbers) == 1 else 'rows'} {', '.join(texts)}"


def receipt_head(sized: SizedList) -> str:
    """Where the list was read from, and its decimal sign."""
    reading, source = sized.file.reading, sized.file.source
    name = source.name.replace(", sheet ", ", sheet '") + ("'" if source.sheet else "")
    head = f"Read from {name}"
    if source.encoding and source.notes:
        head += f", {source.notes[0]}"
    sign = sign_words(reading)
    return f"{head}; {sign}:" if sign else f"{head}:"


def receipt_rows(
    sized: SizedList, unused_are: str = "copied as they are"
) -> list[tuple[str, str, str]]:
    """(what, heading, how) for each column, and for what was not used or not read.

    Args:
        sized: the list.
        unused_are: what becomes of the columns that sizing does not read.
    """
    reading, source = sized.file.reading, sized.file.source
    rows = column_rows(reading)
    rows.extend(("note", text, "") for text in source.notes[bool(source.encoding) :])
    unknown = list(sized.sizer.unknown_resins)
    if unknown:
        names = ", ".join(plain_line(name) for name in unknown[:8])
        more = f" and {len(unknown) - 8} more" if len(unknown) > 8 else ""
        rows.append(("not compared", names + more, "not in the resin table under this name"))
    catalog = sized.sizer.catalog
    rows.append(("catalog sizes", catalog.usable_words, ""))
    if catalog.left_out:
        rows.append(("not sizes", _counted(catalog.left_out), "left out of the catalog"))
    unused = not_used(reading)
    if unused:
        rows.append(("not used", ", ".join(unused), unused_are))
    if sized.not_jobs:
        not_jobs = [f"row {number} {why}" for number, why in sized.not_jobs]
        rows.append(("not jobs", _counted(not_jobs), ""))
    for sheet, (jobs, state) in source.other_sheets.items():
        looks = f"{jobs} rows that look like jobs" if jobs else "no list of jobs"
        hidden = "" if state == "visible" else f", {state}"
        how = f"--sheet '{sheet}', or --sheet all" if jobs else ""
        rows.append(("not read", f"sheet '{sheet}'{hidden} ({looks})", how))
    return rows


def unread_sheets(sized: SizedList) -> list[str]:
    """Sheets that look like job lists and were not read."""
    return [sheet for sheet, (jobs, _) in sized.file.source.other_sheets.items() if jobs]


def _counted(texts: Sequence[str]) -> str:
    more = [f"and {len(texts) - _MOST_ROWS} more"] if len(texts) > _MOST_ROWS else []
    return ", ".join([*texts[:_MOST_ROWS], *more])


def receipt(sized: SizedList, unused_are: str = "copied as they are") -> Iterable[str]:
    """The receipt as lines of text, see :func:`receipt_rows`."""
    rows = receipt_rows(sized, unused_are)
    first = max((len(what) for what, _, _ in rows), default=0)
    second = min(max((len(heading) for _, heading, how in rows if how), default=0), 34)
    lines = [receipt_head(sized)]
    for what, heading, how in rows:
        lines.append(f"  {what:<{first}}  {heading:<{second}}  {how}".rstrip())
    return lines
