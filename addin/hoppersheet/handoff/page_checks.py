"""Whether a page may go to a customer: errors on it, the workbook's own flag, invented rows.

A workbook says so itself, if it does, by defined names and a heading:

========================= ======================================================================
``quote_ready``           TRUE or "ready"; anything else keeps the page a draft, a text says why
``checks_flag``           a text that says why it is not ready
``demonstration``         TRUE or "yes": a demonstration, which may show invented rows and says so
a heading *invented*      a row of a catalog that is marked there, with anything but "no", and
                          whose model stands on the page
========================= ======================================================================

Of a workbook without them only the errors are looked at, and that is said.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..cells.values import is_error
from ..cells.wording import counted
from ..errors import InputFileError
from ..tables.headings import plain_name
from ..workbook.addresses import area_of, reference, row_column
from ..workbook.book import Book, Cell
from ..workbook.formulas import Literal

__all__ = ["PageState", "Values", "examine_page", "value_of_name"]

READY, WHY, DEMONSTRATION = "quote_ready", "checks_flag", "demonstration"
INVENTED, MODEL = "invented", "model"
_NO = ("", "no", "n", "false", "0")
_MOST_NAMED = 8
_NEAR = 2  # rows between the headings of one table
_AREA = re.compile(r"(?:'((?:[^']|'')+)'|([^'!,]+))!\$?([A-Z]+)\$?(\d+):\$?([A-Z]+)\$?(\d+)")

#: sheet -> address -> value, of all cells
Values = Mapping[str, Mapping[str, Any]]


@dataclass
class PageState:
    """What was found on a page.

    Attributes:
        stops: why it must not go out as a finished page, one sentence each.
        looked_at: what was looked at and found well.
        missing: what the workbook does not say, so that nobody could look.
        demonstration: whether the workbook is marked as a demonstration.
        says_so: whether the page says that it is one.
    """

    stops: list[str] = field(default_factory=list)
    looked_at: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    demonstration: bool = False
    says_so: bool = False


def examine_page(book: Book, values: Values, sheet: str, not_computed: list[str]) -> PageState:
    """Look at one sheet as it is about to be printed.

    Args:
        book: the workbook.
        values: its values, computed afresh.
        sheet: the sheet's name.
        not_computed: addresses on the sheet whose value could not be computed, or follows from
            one that could not be.
    """
    state = PageState()
    shown = {ref: values[sheet][ref] for ref in _printed(book, sheet, values[sheet])}
    errors = [f"{ref} {value}" for ref, value in shown.items() if is_error(value)]
    if errors:
        shows = "shows" if len(errors) == 1 else "show"
        state.stops.append(f"{counted(len(errors), 'cell')} {shows} an error: {_named(errors)}")
    else:
        filled = sum(value not in ("", None) for value in shown.values())
        state.looked_at.append(f"{counted(filled, 'filled cell')} of the page, none an error")
    stale = [ref for ref in not_computed if ref in shown]
    if stale:
        state.stops.append(f"not computed, or depends on a cell that was not: {_named(stale)}")
    texts = [value for value in shown.values() if isinstance(value, str)]
    _demonstration(book, values, texts, state)
    _ready(book, values, state)
    _invented(book, values, texts, state)
    return state


def _named(cells: list[str]) -> str:
    more = f" and {len(cells) - _MOST_NAMED} more" if len(cells) > _MOST_NAMED else ""
    return ", ".join(cells[:_MOST_NAMED]) + more


def _printed(book: Book, name: str, refs: Iterable[str]) -> Iterator[str]:
    """The cells that are printed: in the sheet's print area, in no hidden row or column."""
    sheet = book.sheets[name]
    areas = [
        area_of("{}{}:{}{}".format(*match.groups()[2:]))
        for defined in book.package.defined_names
        if defined.name.lower() == "_xlnm.print_area" and defined.sheet == name
        for match in _AREA.finditer(defined.formula)
    ]
    for row, column in sorted(row_column(ref) for ref in refs):
        if row in sheet.hidden_rows or column in sheet.settings.hidden_columns:
            continue
        if not areas or any(t <= row <= b and le <= column <= r for t, le, b, r in areas):
            yield reference(row, column)


def value_of_name(book: Book, values: Values, name: str) -> tuple[bool, Any]:
    """(whether there is such a name, the value of the cell that it stands for)."""
    node = book.names.get(name)
    if node is None:
        return False, None
    if isinstance(node, Literal):
        return True, node.value
    text = book.name_texts.get(name, "").lstrip("=")
    sheet, _, ref = text.rpartition("!")
    try:
        row, column, *_ = area_of(ref.replace("$", ""))
    except InputFileError:
        return True, text  # a formula: no plain answer
    return True, values.get(sheet.strip("'").replace("''", "'"), {}).get(reference(row, column))


def _is_yes(value: Any, *words: str) -> bool:
    # A TRUE that is shown as a number comes as 1.
    if isinstance(value, str):
        return value.strip().casefold() in words
    return value is True or (isinstance(value, float) and value == 1.0)


def _ready(book: Book, values: Values, state: PageState) -> None:
    known, value = value_of_name(book, values, READY)
    if not known:
        state.missing.append(f"no flag {READY}")
    elif _is_yes(value, "ready"):
        state.looked_at.append(f"the workbook's own checks: {READY} says ready")
    else:
        if not isinstance(value, str) or not value.strip():
            value = value_of_name(book, values, WHY)[1]
        why = f": {value.strip()}" if isinstance(value, str) and value.strip() else ""
        state.stops.append(f"the workbook says that it is not ready ({READY}){why}")


def _demonstration(book: Book, values: Values, texts: list[str], state: PageState) -> None:
    known, value = value_of_name(book, values, DEMONSTRATION)
    if not known:
        state.missing.append(f"no mark {DEMONSTRATION}")
        return
    state.demonstration = _is_yes(value, "yes", "demonstration")
    state.says_so = any("DEMONSTRATION" in text.upper() for text in texts)
    answer = "is one" if state.demonstration else "is none"
    state.looked_at.append(f"whether the workbook is a demonstration: it {answer}")


def _invented(book: Book, values: Values, texts: list[str], state: PageState) -> None:
    """Rows marked as invented whose model stands on the page."""
    columns = list(_marked_columns(book))
    if not columns:
        state.missing.append(f"no column {INVENTED}")
        return
    words = set(re.findall(r"[^\s,;()]+", "\n".join(texts))) | {text.strip() for text in texts}
    used, sheets = [], set()
    for name, top, column, model_at in columns:
        for row, cell in _below(values[name], top, column):
            if str(cell).strip().casefold() in _NO:
                continue
            model = values[name].get(reference(row, model_at)) if model_at else None
            if model_at is None:
                used.append(f"{name} row {row}")
            elif str(model).strip() in words:
                used.append(str(model).strip())
            else:
                continue
            sheets.add(name)
    used = list(dict.fromkeys(used))
    if used and not state.demonstration:
        state.stops.append(
            f"invented rows of {_named(sorted(sheets))}: "
            f"{_named(used)}; a demonstration is marked by the name {DEMONSTRATION}"
        )
    else:
        what = f"{_named(used)}, in a demonstration" if used else "none"
        state.looked_at.append(f"invented models on the page: {what}")


def _marked_columns(book: Book) -> Iterator[tuple[str, int, int, int | None]]:
    """(sheet, row of the heading *invented*, its column, the column of models) of each table.

    The word may stand in a row of the table too, as a note: the heading is the one that stands
    nearest to a heading of models, or else the first of its column.
    """
    for name, sheet in book.sheets.items():
        found: list[tuple[int, int, int, int | None]] = []
        for (row, column), cell in sorted(sheet.cells.items()):
            if _heading(cell) == INVENTED:
                away, model_at = _column_of_models(book, name, row)
                found.append((away, row, column, model_at))
        nearest = min((away for away, *_ in found), default=0)
        seen: set[int] = set()
        for away, row, column, model_at in found:
            if away == nearest and column not in seen:
                seen.add(column)
                yield name, row, column, model_at


def _heading(cell: Cell) -> str:
    """A typed text as a heading is compared, without its unit; "" for anything else."""
    if cell.formula is not None or not isinstance(cell.value, str):
        return ""
    return plain_name(cell.value.partition("[")[0].partition("(")[0])


def _column_of_models(book: Book, sheet: str, row: int) -> tuple[int, int | None]:
    """(rows away, the column) of models beside a heading; a row that is far away without one."""
    near = sorted(
        (abs(at - row), column)
        for (at, column), cell in book.sheets[sheet].cells.items()
        if abs(at - row) <= _NEAR and MODEL in _heading(cell).split()
    )
    return near[0] if near else (_NEAR + 1, None)


def _below(values: Mapping[str, Any], top: int, column: int) -> Iterator[tuple[int, Any]]:
    for ref, value in values.items():
        row, at, *_ = area_of(ref)
        if at == column and row > top and value is not None:
            yield row, value
