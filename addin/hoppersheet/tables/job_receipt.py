"""How a list was read, in words: the same for the terminal, the files and HOPPER_EXPLAIN."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from ..cells.numbers_in_text import shown
from .job_columns import EARLIER_RESULT, JOB_COLUMNS, NOT_STATED
from .jobreading.reading import Column, Reading

__all__ = ["column_rows", "in_one_line", "not_used", "plain_line", "sign_words"]

_LONGEST = 60


def plain_line(text: str) -> str:
    """A heading on one line, with nothing that a terminal would obey."""
    plain = " ".join(text.split())
    plain = "".join(sign if sign.isprintable() else "\ufffd" for sign in plain)
    return plain if len(plain) <= _LONGEST else shown(plain, _LONGEST).strip("'")


def _how(column: Column) -> str:
    """The unit and where it comes from, the reading of shares, whatever else is to be said."""
    parts = []
    if column.unit_at is not None:
        parts.append(f"each row's own unit, {column.unit_from}")
    elif column.unit_from:
        cells = column.unit_from.startswith("cells")
        parts.append(column.unit_from if cells else f"{column.unit}, {column.unit_from}")
    if column.note:
        parts.append(column.note)
    return "; ".join(parts)


def column_rows(reading: Reading) -> list[tuple[str, str, str]]:
    """(column, heading, how it was read), and what was taken where the list is silent."""
    order = [*JOB_COLUMNS, *(n for n in reading.columns if n not in JOB_COLUMNS)]
    rows = [
        (name, plain_line(reading.columns[name].typed), _how(reading.columns[name]))
        for name in order
        if name in reading.columns
    ]
    shares = any(name.endswith(" share") or name == "recipe" for name in reading.columns)
    if not shares:
        rows.append(("shares", "none", "every row is sized as 100 % virgin, and says so"))
    elif reading.basis != NOT_STATED:
        rows.append(("share basis", f"by {reading.basis}", reading.basis_from))
    elif "blend density" in reading.columns and "virgin density" not in reading.columns:
        rows.append(("share basis", "not needed", "where the blend density is given"))
    elif "share basis" not in reading.columns:
        rows.append(("share basis", "not stated: by volume", "assumed on every row with regrind"))
    rows.extend(("assumed", text, "on every row") for text in reading.assumed)
    return rows


def not_used(reading: Reading) -> list[str]:
    """The headings that are not read, each with a reason where there is one.

    Neighbors with the same reason are named by the first and the last of them.
    """
    texts = []
    for why, run in groupby(reading.not_used, lambda pair: pair[1]):
        headings = [plain_line(heading) for heading, _ in run]
        if why == EARLIER_RESULT and len(headings) > 1:
            texts.append(f"{headings[0]} to {headings[-1]} ({why})")
        else:
            texts += [f"{heading} ({why})" if why else heading for heading in headings]
    return texts


def sign_words(reading: Reading) -> str:
    """What was found of the decimal sign, "" where nothing needed one."""
    if reading.sign:
        sign = "comma" if reading.sign == "," else "point"
        return f"numbers typed as text have a decimal {sign}, {reading.sign_proof}"
    return f"the decimal sign is {reading.sign_proof}" if reading.sign_proof else ""


def in_one_line(reading: Reading, not_jobs: Sequence[str] = ()) -> str:
    """The whole receipt as one line, for a function, which is given what cells hold and no more."""
    unused = not_used(reading)
    parts = [f"not read: {', '.join(unused)}" if unused else "every column is read"]
    parts.append("not seen: number formats, merged or crossed-out cells, comments")
    for name, heading, how in column_rows(reading):
        parts.append(f"{name} = {heading}" + (f" ({how})" if how else ""))
    if sign_words(reading):
        parts.append(sign_words(reading))
    if not_jobs:
        parts.append(f"not jobs: {', '.join(not_jobs)}")
    return "; ".join(parts)
