"""What comments and titles say is not settled, or no longer holds: a guess, an old price list."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from ...cells.wording import counted
from ...workbook.book import Cell
from ...workbook.formulas import Place
from ..context import Context, cell_name
from ..findings import Finding, finding
from .values import value_text

__all__ = ["check", "last_day"]

#: Words by which somebody says that a figure is not settled.
_OPEN = re.compile(
    r"\b(guess\w*|ask|tbc|tbd|unconfirmed|unsure|unclear|placeholder|dummy|provisional|preliminary)\b"
    r"|\b(to be|not( yet)?) (confirmed|checked|decided|clarified)\b|\bnot sure\b|\bcheck with\b"
    r"|\bwaiting for\b|\?\?",
    re.IGNORECASE,
)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = rf"({'|'.join(_MONTHS)})[a-z]*\.?"
#: The last day on which something holds: an ISO date, a day and a month, a month, or a year.
_DAY = (
    rf"(?P<iso>(?:19|20)\d\d-\d\d-\d\d)|(?:(?P<day>\d{{1,2}})\.? )?(?P<month>{_MONTH}) "
    r"(?P<of>(?:19|20)\d\d)|(?P<year>(?:19|20)\d\d)\b"
)
_UNTIL = re.compile(
    rf"\b(valid|good|effective|g\u00fcltig|v\u00e1lid\w*|valable|expire[sd]?|ended)\b[^.;]{{0,40}}?"
    rf"(?:{_DAY})",
    re.IGNORECASE,
)
_FROM = re.compile(r"\b(from|since|as of|ab|desde|depuis)\b", re.IGNORECASE)
_OFFER = re.compile(r"\b(offer|quot\w+|proposal|angebot|oferta|offre)\b", re.IGNORECASE)


def last_day(text: str) -> date | None:
    """The last day on which a text says that something holds, None where it says none."""
    found = _UNTIL.search(text)
    if found is None or _FROM.search(found[0]):
        return None
    try:
        if found["iso"]:
            return date.fromisoformat(found["iso"])
        if found["year"]:
            return date(int(found["year"]), 12, 31)
        month = _MONTHS.index(found["month"][:3].lower()) + 1
        year = int(found["of"])
        if found["day"]:
            return date(year, month, int(found["day"]))
        return date(year + month // 12, month % 12 + 1, 1)
    except ValueError:
        return None


def _not_settled(context: Context) -> Iterator[Finding]:
    """Figures that the lines follow from, with a comment that says they are open."""
    for record, _, cell in context.feeding:
        sheet = context.book.sheets[cell.place[0]]
        text = sheet.settings.comments.get(cell.place[1:], "")
        if record is None or not _OPEN.search(text):
            continue
        yield finding(
            "comment",
            "warning",
            cell.place,
            f"The comment says {' '.join(text.split())[:80]!r}: nobody has settled "
            f"{value_text(context.value(cell.place))}, and {context.where(record.line)} follows "
            "from it; settle it before the quote goes out, and take the comment away.",
            formula=cell.formula,
            value=context.value(cell.place),
        )


def _crossed_out(context: Context) -> Iterator[Finding]:
    """What somebody has struck through and the quote still takes; one finding for each row."""
    rows: dict[tuple[str, int], list[Cell]] = {}
    for _, _, cell in context.feeding:
        if cell.typed and cell.style.struck and context.value(cell.place) not in (None, ""):
            rows.setdefault(cell.place[:2], []).append(cell)
    for cells in rows.values():
        first, *others = sorted(cells, key=lambda cell: cell.place)
        more = f", and {counted(len(others), 'cell')} beside it" if others else ""
        yield finding(
            "crossed out",
            "warning",
            first.place,
            f"{value_text(context.value(first.place))} in {cell_name(first.place)} is crossed out"
            f"{more}, and the quote still counts with it; clear it if it no longer holds, or take "
            "the line through it away.",
            value=context.value(first.place),
            cells=[cell.place for cell in cells],
        )


def _texts(context: Context) -> Iterator[tuple[Place, str]]:
    """Comments, and the titles of the sheets that hold catalogs."""
    lists = {listed.sizes[0] for listed in context.catalogs.all}
    for name, sheet in context.book.sheets.items():
        for at, text in sheet.settings.comments.items():
            yield (name, *at), text
        for cell in sheet.cells.values() if name in lists else ():
            if cell.typed and isinstance(cell.value, str):
                yield cell.place, cell.value


def _run_out(context: Context) -> Iterator[Finding]:
    """Prices that say themselves that they no longer hold."""
    for place, text in _texts(context):
        ends = last_day(text)
        if ends is None or ends >= date.today() or _OFFER.search(text):
            continue
        yield finding(
            "comment",
            "warning",
            place,
            f"{' '.join(text.split())[:80]!r} in {cell_name(place)}: that was up to "
            f"{ends.isoformat()}; ask for the prices that hold now.",
        )


def check(context: Context) -> Iterator[Finding]:
    """``comment``, ``crossed out``: what is not settled, and what no longer holds."""
    yield from _not_settled(context)
    yield from _crossed_out(context)
    yield from _run_out(context)
