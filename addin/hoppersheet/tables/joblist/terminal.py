"""Show a sized job list on the terminal: at 80 columns the model is never cut."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

from ...cells.numbers_in_text import number_in_text, shown
from ...cells.quantities import QUANTITIES, SYSTEMS
from ...cells.values import is_blank
from ...cells.wording import counted, in_system, rounded
from ...errors import CellError
from ..catalog import CatalogTable
from ..job_columns import job_name, reason_of
from .receipt import row_list
from .sizing import Row, SizedList

#: A currency before or behind a price: "$", "EUR".
_CURRENCY = re.compile(r"^\s*(?:[$\u20ac\u00a3]|[A-Z]{3}(?=[\s0-9]|$))\s*")

__all__ = ["by_model", "grouped", "plain", "price_of", "result_lines", "totals_line"]

_JOB_WIDTH = 26
_GAP = "  "


def plain(text: Any) -> str:
    """A text on one line, with nothing that a terminal would obey."""
    line = " ".join(str("" if text is None else text).split())
    return "".join(sign if sign.isprintable() else "\ufffd" for sign in line)


def _number(si: float | None, quantity: str, system: str, digits: int) -> str:
    return "-" if si is None else rounded(in_system(si, quantity, system), digits)


def _apart(si: float | None, beside: Sequence[float | None], system: str) -> str:
    """A volume with as many digits as it takes to tell it from the sizes beside it."""
    if si is None:
        return "-"
    for digits in (4, 5, 6, 8):
        text = _number(si, "volume", system, digits)
        if all(
            other is None
            or abs(other - si) <= 1e-9 * si
            or float(text) != float(_number(other, "volume", system, digits))
            for other in beside
        ):
            return text
    return text


def result_lines(
    rows: Sequence[Row], job_at: int | None, system: str, width: int = 80
) -> list[str]:
    """A table of sized rows that fits ``width``, as lines.

    What comes after the model ("look at") is cut to fit; everything before it is whole, apart from
    a job's name, which gives way first.
    """
    other = SYSTEMS[1] if system == SYSTEMS[0] else SYSTEMS[0]
    volume, density = (QUANTITIES[q].unit(system) for q in ("volume", "bulk density"))
    head = (
        ("row", ""), ("job", ""), ("blend", density), ("needs", volume),
        ("", QUANTITIES["volume"].unit(other)), ("below", volume), ("holds", "h"),
        ("next", volume), ("holds", "h"), ("model", ""), ("look at", ""),
    )  # fmt: skip
    table: list[list[str]] = []
    for number, cells, job in rows:
        if not job.is_job:
            continue
        name = cells[job_at] if job_at is not None and job_at < len(cells) else ""
        look = job.check or job.assumed
        if job.problem is not None:
            look = "PROBLEM: " + reason_of(job.problem)
        elif job.check:
            look = "CHECK: " + job.check
        sizes = (job.size_below, job.next_size)
        table.append([
            str(number), plain(job_name(name)),
            _number(job.blend_density, "bulk density", system, 4),
            _apart(job.required_volume, sizes, system),
            f"({_number(job.required_volume, 'volume', other, 4)})" if job.required_volume else "",
            _number(job.size_below, "volume", system, 4), _hours(job.hours_at_size_below),
            _number(job.next_size, "volume", system, 4), _hours(job.hours_at_next_size),
            plain(job.model), plain(look),
        ])  # fmt: skip
    return _laid_out(head, table, width)


def _hours(seconds: float | None) -> str:
    return "-" if seconds is None else rounded(seconds / 3600, 3)


_RIGHT = frozenset((0, 2, 3, 4, 5, 6, 7, 8))


def _laid_out(
    head: Sequence[tuple[str, str]], table: Sequence[Sequence[str]], width: int
) -> list[str]:
    lines = [[first for first, _ in head], [second for _, second in head], *map(list, table)]
    widths = [max(len(line[at]) for line in lines) for at in range(len(head))]
    gaps = len(_GAP) * (len(head) - 2)
    left = width - sum(widths[:-1]) - gaps
    if left < 0:  # the job's name gives way, and then the other system's volume
        cut = min(-left, max(0, widths[1] - 8))
        widths[1] -= cut
        left += cut
        if left < 0:
            for line in lines:
                line[4] = ""
            left += widths[4] + len(_GAP)
            widths[4] = 0
    widths[1] = min(widths[1], max(_JOB_WIDTH, width - 70))
    shown = []
    for line in lines:
        parts = []
        for at, cell in enumerate(line[:-1]):
            if at == 4 and not widths[4]:
                continue
            text = cell if len(cell) <= widths[at] or at != 1 else cell[: widths[at] - 1] + "\u2026"
            parts.append(f"{text:>{widths[at]}}" if at in _RIGHT else f"{text:<{widths[at]}}")
        row = _GAP.join(parts)
        room = width - len(row) - len(_GAP)
        look = line[-1]
        if look and room >= 8:
            row += _GAP + (look if len(look) <= room else look[: room - 1] + "\u2026")
        elif look and lines.index(line) > 1:
            row = row.rstrip() + " *"
        shown.append(row.rstrip())
    return shown


def grouped(found: Sequence[tuple[int, str]], most: int) -> list[str]:
    """Reasons with the rows that have them, the same ones together, the most frequent first.

    Figures differ from row to row; reasons that differ in nothing else belong together.
    """
    by_shape: dict[str, list[tuple[int, str]]] = {}
    for number, reason in found:
        by_shape.setdefault(_shape(reason), []).append((number, reason))
    groups = sorted(by_shape.values(), key=lambda group: (-len(group), group[0][0]))
    lines = []
    for group in groups[:most]:
        numbers, reason = [number for number, _ in group], group[0][1]
        if len(group) == 1:
            lines.append(f"row {numbers[0]}: {reason}")
            continue
        same = all(other == reason for _, other in group)
        example = "" if same else f"such as in row {numbers[0]}: "
        lines.append(f"{counted(len(group), 'row')} ({row_list(numbers, 12)}): {example}{reason}")
    if len(groups) > most:
        rest = sum(len(group) for group in groups[most:])
        lines.append(f"and {counted(rest, 'row')} for {len(groups) - most} other reasons")
    return lines


def _shape(reason: str) -> str:
    """A reason without its figures and quoted texts."""
    out, quoted = [], False
    for sign in reason:
        if sign == "'":
            quoted = not quoted
            out.append(sign)
        elif not quoted and not sign.isdigit() and sign not in ".,":
            out.append(sign)
    return "".join(out)


def totals_line(sized: SizedList, rows: int) -> str:
    """``"14 rows: 11 jobs sized, 1 to look at, 2 with a problem, 1 not a job."``"""
    problems = len(sized.problems)
    done = sized.jobs - problems
    parts = [f"{counted(done, 'job')} sized"]
    if sized.marked:
        parts.append(f"{sized.marked} of them to check")
    parts.append(f"{problems} with a problem")
    if sized.not_jobs:
        parts.append(f"{counted(len(sized.not_jobs), 'row')} not a job")
    return f"{counted(rows, 'row')}: {', '.join(parts)}."


def by_model(models: Counter[str], catalog: CatalogTable, name: str) -> str:
    """``"By model: EXAMPLE-20 x 4, ...; list price 41,930 (invented catalog)."``"""
    if not models or set(models) == {""}:
        return ""
    parts = [
        f"{plain(model) or 'no model name'} x {count:,}" for model, count in models.most_common(12)
    ]
    if len(models) > 12:
        parts.append(f"and {len(models) - 12} more models")
    total, known, unread = 0.0, True, ""
    price = {size.model: size.price for size in catalog.sizes}
    read: Callable[[Any], float | None] = price_of
    for model, count in models.items():
        value = read(price.get(model))
        known = known and value is not None
        if value is None and not is_blank(price.get(model)):
            unread = f"; {plain(shown(price[model]))}, the price of {plain(model)}, is no number"
        total += (value or 0.0) * count
    money = (
        f"; list price {total:,.2f}".removesuffix(".00") + f" ({name})" if known and total else ""
    )
    return f"By model: {', '.join(parts)}{money or unread}."


def price_of(cell: Any) -> float | None:
    """A price as a number, None where it is none.

    ``4,200`` and ``4.200`` are 4200: a hopper's price has no third decimal, common practice.
    """
    if isinstance(cell, (int, float)) and not isinstance(cell, bool):
        return float(cell)
    if isinstance(cell, str):
        try:
            found = number_in_text(_CURRENCY.sub("", cell, count=1))
        except CellError:
            return None
        if found.rest and not _CURRENCY.fullmatch(found.rest):
            return None
        return found.decimal if found.grouped is None else found.grouped
    return None
