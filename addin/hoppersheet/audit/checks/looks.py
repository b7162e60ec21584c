"""Cells that show other numbers than they hold, comments that contradict, jobs that stand twice.

The limits are judgments (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

from ...cells.numbers_in_text import split_number
from ...cells.units import factor
from ...cells.wording import counted
from ...errors import CellError
from ...workbook.book import Cell
from ...workbook.formulas import Place
from ..context import Context, cell_name
from ..currency_words import CURRENCY_CODES
from ..find_total import number_in
from ..findings import Finding, finding, in_ranges
from ..line_cells import Worked
from .values import value_text

__all__ = ["NUMBERS", "by_role", "check", "other_numbers"]

_HIDDEN_BY_ROUNDING = 0.04  # of a typed figure; what a format shows otherwise
_ALIKE = 0.01  # of a number in a comment
_AS_SHOWN = re.compile(r'(#,##)?0(?:\.(0+))?(%?)(?:\s?"[^"]*"|_.|\\.)*')
#: Roles whose cells hold numbers.
NUMBERS = frozenset(
    ("throughput", "hours", "density", "virgin density", "regrind density", "virgin share",
     "regrind share", "reserve", "quantity", "discount", "list price", "chosen size", "size",
     "net price")
)  # fmt: skip


def by_role(cells: Iterable[tuple[str, Cell]]) -> Iterator[tuple[Cell, list[Place]]]:
    """(first cell, places) of the cells of one role on one sheet: one finding each."""
    groups: dict[tuple[str, str], list[Cell]] = {}
    for role, cell in cells:
        groups.setdefault((cell.place[0], role), []).append(cell)
    for members in groups.values():
        yield min(members, key=lambda cell: cell.place), [cell.place for cell in members]


def _as_shown(cell: Cell, value: float) -> float | None:
    """The number that a plain format shows, None for any other format."""
    found = _AS_SHOWN.fullmatch(cell.style.number_format.partition(";")[0].strip())
    if found is None:
        return None
    digits = len(found[2] or "") + (2 if found[3] else 0)
    return float(f"{value:.{digits}f}")


def _rounded(context: Context) -> Iterator[Finding]:
    for _, role, cell in context.feeding:
        value = cell.value
        if not cell.typed or not isinstance(value, float) or not value or role == "list price":
            continue
        shown = _as_shown(cell, value)
        if shown is None or abs(shown - value) <= _HIDDEN_BY_ROUNDING * abs(value):
            continue
        percent = "%" in cell.style.number_format
        says = f"{shown * 100:g} %" if percent else f"{shown:g}"
        holds = f"{value * 100:g} %" if percent else f"{value:g}"
        yield finding(
            "shown rounded",
            "warning",
            cell.place,
            f"{holds} is shown as {says}: whoever checks the sheet by hand gets another answer; "
            "show the digits that count.",
            value=value,
            expected=shown,
        )


def _as_text(context: Context) -> Iterator[Finding]:
    texts = []
    for record, role, cell in context.feeding:
        if record is None or role not in NUMBERS or not cell.typed:
            continue
        # our functions read "70 %" as it is meant
        read = cell.place in context.range_uses and str(cell.value).strip().endswith("%")
        if isinstance(cell.value, str) and not read and _plain_number(cell.value) is not None:
            texts.append((role, cell))
    for cell in _listed_as_text(context):
        takers = [
            record.cells["list price"] for record in context.records
            if "list price" in record.cells
            and context.value(record.cells["list price"]) == cell.value
        ]  # fmt: skip
        yield finding(
            "number as text",
            "error" if takers else "warning",
            cell.place,
            f"The catalog price {cell.value!r} is stored as text, not as a number: "
            f"{f'{in_ranges(takers)} takes it, and ' if takers else ''}no amount can be worked "
            "out with it in every program; type the number again in a cell that is not formatted "
            "as text.",
            value=cell.value,
            cells=[cell.place, *takers] if takers else (),
        )
    for first, places in by_role(texts):
        yield finding(
            "number as text",
            "warning",
            first.place,
            f"{first.value!r} in {in_ranges(places)} is stored as text, not as a number: SUM and "
            "comparisons skip it, and another program may read its decimal sign differently; type "
            "the number again in a cell that is not formatted as text.",
            value=first.value,
            cells=places if len(places) > 1 else (),
        )


_CURRENCY = re.compile(rf"[$\u20ac\u00a3]|\b(?:{CURRENCY_CODES})\b")


def _listed_as_text(context: Context) -> Iterator[Cell]:
    """Prices of a catalog that are texts: whichever line takes one has no amount, or another."""
    for listed in context.catalogs.all:
        for row in listed.rows if listed.prices else ():
            cell = context.book.cell(listed.beside(row, listed.prices))
            if cell is not None and cell.typed and isinstance(cell.value, str):
                bare = _CURRENCY.sub("", cell.value).strip()
                if number_in(bare) is not None or _plain_number(bare) is not None:
                    yield cell


def _plain_number(text: str) -> float | None:
    try:
        number, unit = split_number(text)
    except CellError:
        return None
    return None if unit else number  # "30 %" is read as a percentage wherever a share is typed


_IN_COMMENT = re.compile(
    r"(?<![\w.,/-])(\d{1,3}(?:[,.' ]\d{3})+(?:[.,]\d{1,2})?(?!\d)|\d+(?:[.,]\d+)?)\s*"
    r"([A-Za-z%][\w%/.#]*(?:/\w+)?)?"
)
_GROUPED = re.compile(r"\d{1,3}((?:[,.' ]\d{3})+)([.,]\d{1,2})?")


def _comments(context: Context) -> Iterator[Finding]:
    for record, role, cell in context.feeding:
        sheet = context.book.sheets[cell.place[0]]
        text = sheet.settings.comments.get(cell.place[1:])
        value = context.value(cell.place)
        if not text or record is None or role not in NUMBERS:
            continue
        number, unit = _of_cell(context, cell, value)
        if number is None:
            continue
        others = list(other_numbers(text, number, unit))
        others += _counts_and_percentages(text, role, number)
        if others:
            yield finding(
                "comment",
                "warning",
                cell.place,
                f"The comment says {' '.join(text.split())[:80]!r}, the cell holds "
                f"{value_text(value)}: one of the two is out of date; ask which one, and correct "
                "the other.",
                formula=cell.formula,
                value=value,
            )


_COUNTED = re.compile(r"(?<![\w.,/-])(\d+)\s*(?:pieces|pcs?|hoppers?|units?|off)\b", re.IGNORECASE)
_PERCENTAGE = re.compile(r"(?<![\w.,/-])(\d+(?:[.,]\d+)?)\s*%")


def _counts_and_percentages(text: str, role: str, number: float) -> list[float]:
    """``"4 pieces"`` beside a quantity of 1, ``"10 %"`` beside a discount of 0.05."""
    pattern = {"quantity": _COUNTED, "discount": _PERCENTAGE}.get(role)
    if pattern is None:
        return []
    scale = 0.01 if role == "discount" and abs(number) <= 1 else 1.0
    found = [float(digits.replace(",", ".")) * scale for digits in pattern.findall(text)]
    return [] if any(abs(x - number) <= _ALIKE * abs(number) for x in found) else found


def _of_cell(context: Context, cell: Cell, value: Any) -> tuple[float | None, str]:
    """(number, unit) of a cell."""
    stated = context.labels.unit(cell.place)
    unit = stated.spelling if stated is not None else ""
    if isinstance(value, float):
        return value, unit
    if isinstance(value, str):
        try:
            number, own = split_number(value)
        except CellError:
            return None, ""
        return number, own or unit
    return None, ""


def other_numbers(text: str, number: float, unit: str) -> Iterator[float]:
    """Numbers of a comment that are meant for the cell, where none of them is its own."""
    meant: list[float] = []
    for digits, word in _IN_COMMENT.findall(text):
        other = _read(digits, number)
        scale = _scale(word, unit)
        if scale is None:
            continue
        if word and scale:
            meant.append(other * scale)
        elif 0.3 * abs(number) <= other <= 3 * abs(number) and not 1990 <= other <= 2100:
            meant.append(other)
    if meant and not any(abs(x - number) <= _ALIKE * abs(number) for x in meant):
        yield from meant


def _read(digits: str, number: float) -> float:
    """A number in a comment; ``3,940`` beside 3540 has its thousands apart."""
    grouped = _GROUPED.fullmatch(digits)
    if grouped and (abs(number) >= 1000 or not re.fullmatch(r"\d+[.,]\d+", digits)):
        whole = re.sub(r"\D", "", digits[: len(digits) - len(grouped[2] or "")])
        return float(whole + (grouped[2] or "").replace(",", "."))
    return float(digits.replace(",", "."))


def _scale(word: str, unit: str) -> float | None:
    """How a number with this word reads in the cell's unit; 0 for a word that is no unit.

    None where the word is a unit of something else: the number is about something else.
    """
    if not word or not unit:
        return 0.0
    try:
        scale, _ = factor(word.rstrip("."), unit)
    except CellError:
        from ..label_words import is_unit

        return None if is_unit(word.rstrip(".")) and len(word) > 1 else 0.0
    return scale


_NAMED_OR_SOLD = frozenset(("job", "list price", "net price", "quantity"))


def _plainly(value: Any) -> Any:
    """A name or a resin without what people write differently: case and blanks."""
    return " ".join(value.split()).casefold() if isinstance(value, str) else value


def _twice(context: Context) -> Iterator[Finding]:
    roles = ("job", "resin", "throughput", "hours", "virgin density", "virgin share", "density")
    known: dict[tuple[Any, ...], list[Worked]] = {}
    for worked in context.worked:
        if not context.is_quoted(worked.line):
            continue
        record = worked.record
        job = record.line.job
        if job is None and not _NAMED_OR_SOLD & record.cells.keys():
            continue  # a trial beside the quote: nobody pays for it
        key: tuple[Any, ...]
        if job is not None:
            key = (_plainly(job.name), *map(_plainly, job.values))
        else:
            key = (
                _plainly(worked.name),
                *(
                    _plainly(context.value(record.cells[role])) if role in record.cells else None
                    for role in roles
                ),
            )
        if worked.name and any(key[1:]):
            known.setdefault(key, []).append(worked)
    for same in known.values():
        if len(same) < 2:
            continue
        name, records = same[0].name, [worked.record for worked in same]
        places = [record.cells.get("job") or record.line.place for record in records]
        places += [record.line.place for record in records]
        yield finding(
            "same job twice",
            "warning",
            records[1].cells.get("job") or records[1].line.place,
            f"The job {name!r} stands {counted(len(records), 'time')} with the same figures, in "
            f"{' and '.join(cell_name(record.line.place) for record in records[:3])}; the customer "
            "would pay for each; see whether two hoppers are meant, or take one out.",
            value=name,
            cells=places,
            money=same[1].net or 0.0,
        )


def check(context: Context) -> Iterator[Finding]:
    """``shown rounded``, ``number as text``, ``comment``, ``same job twice``."""
    yield from _rounded(context)
    yield from _as_text(context)
    yield from _comments(context)
    yield from _twice(context)
